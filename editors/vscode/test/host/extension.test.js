// The shipped bundle against the real server: RIGSPEC is its path, RIG a rig with findings, FINDINGS what `rigspec check
// --as json` says of it, WITHOUT a path at which there is no server.
"use strict";
const assert = require("node:assert");
const { readFileSync } = require("node:fs");
const path = require("node:path");
const { test } = require("node:test");
const host = require("./host");

const extension = require(path.resolve(__dirname, "../../dist/extension.js"));
const { RIGSPEC, RIG, FINDINGS, WITHOUT } = process.env;
const context = { subscriptions: [] };
const token = { isCancellationRequested: false, onCancellationRequested: () => ({ dispose() {} }) };
const severities = ["error", "warning", "advice"];

process.on("exit", (code) => code && console.error(host.log.join("\n")));

async function until(what, holds) {
  const end = Date.now() + 15000;
  while (!holds()) {
    assert.ok(Date.now() < end, what);
    await new Promise((done) => setTimeout(done, 10));
  }
}

/** What the editor does when it closes. */
async function leave() {
  await extension.deactivate();
  context.subscriptions.splice(0).forEach((each) => each.dispose());
}

test("where there is no server, it is said how to get one", { timeout: 20000 }, async () => {
  host.settings["rigspec.command"] = [WITHOUT, "serve"];
  await extension.activate(context);
  assert.match(host.shown.at(-1), /Install it with `pip install 'rigspec\[serve\]'`, or say in `rigspec.command` where/);
  await leave();
});

test("findings are those of check, and a fix makes one go", { timeout: 40000 }, async () => {
  host.settings["rigspec.command"] = [RIGSPEC, "serve"];
  await extension.activate(context);
  const text = await host.openText(RIG, readFileSync(RIG, "utf8"));
  const wanted = JSON.parse(readFileSync(FINDINGS, "utf8")).findings;
  assert.ok(wanted.length > 5);
  await until("all findings came", () => host.findings(text).length === wanted.length);
  const place = (at) => [at.line - 1, at.utf16_column - 1];
  const key = (each) => JSON.stringify(each);
  assert.deepStrictEqual(
    host.findings(text).map((each) => [
      [each.range.start.line, each.range.start.character],
      [each.range.end.line, each.range.end.character],
      severities[each.severity],
      each.code,
      each.message,
    ]).map(key).sort(),
    wanted.map((each) => [place(each.start), place(each.end), each.severity, each.rule, each.message]).map(key).sort(),
  );

  const hints = host.providers.registerInlayHintsProvider.at(-1);
  const whole = new host.vscode.Range(0, 0, text.lineCount, 0);
  const seen = await hints.provideInlayHints(text, whole, token);
  assert.ok(seen.some((hint) => String(hint.label).includes("ohm")), "a load in the text");

  const slip = host.findings(text).find((each) => each.code === "name-unknown");
  const bulb = host.providers.registerCodeActionsProvider.at(-1);
  const asked = { diagnostics: [slip], only: undefined, triggerKind: 1 };
  const actions = await bulb.provideCodeActions(text, slip.range, asked, token);
  const fix = actions.find((each) => each.isPreferred);
  const [[uri, [change]]] = fix.edit.changes;
  assert.strictEqual(uri, text.uri.toString());
  await host.edit(text, change.range, change.newText);
  await until("the finding went", () => !host.findings(text).some((each) => each.code === "name-unknown"));

  const loss = host.findings(text).find((each) => each.code === "lead-loss-high");
  const offered = await bulb.provideCodeActions(text, loss.range, { ...asked, diagnostics: [loss] }, token);
  const excuse = offered.find((each) => each.title === "allow lead-loss-high on top_left, and say why");
  const [[, [added]]] = excuse.edit.changes;
  await host.edit(text, added.range, added.newText);
  await until("its reason is missed", () => host.findings(text).some((each) => each.code === "allow-unknown"));
  await host.providers[excuse.command.command](...excuse.command.arguments);
  await until("the editor was led to the reason", () => host.led.length > 0);
  const [{ uri: where, selection }] = host.led;
  assert.strictEqual(where, text.uri.toString());
  assert.match(text.getText().split("\n")[selection.start.line].slice(selection.start.character - 9), /^because ""$/);
  await host.edit(text, selection, "one night only");
  await until("the exception holds", () => !host.findings(text).some((each) => /^(allow|lead-loss)/.test(each.code)));

  await host.edit(text, new host.vscode.Range(0, 0, 0, 0), "# 🔊 Ω\n   ");
  const formatter = host.providers.registerDocumentFormattingEditProvider.at(-1);
  const edits = await formatter.provideDocumentFormattingEdits(text, { tabSize: 2, insertSpaces: true }, token);
  assert.ok(edits.length > 0, "the blanks that were put in front go");

  await host.closeText(text);
  await until("nothing is left when it is closed", () => host.findings(text).length === 0);
  await leave();
});

const labels = async (text) => {
  const hints = host.providers.registerInlayHintsProvider.at(-1);
  const seen = await hints.provideInlayHints(text, new host.vscode.Range(0, 0, text.lineCount, 0), token);
  return seen.map((hint) => String(hint.label)).join("; ");
};

test("figures that are turned off do not come, at the start and later", { timeout: 40000 }, async () => {
  host.settings["rigspec.hints"] = { load: false, margin: false };
  await extension.activate(context);
  const text = await host.openText(RIG, readFileSync(RIG, "utf8"));
  await until("findings came", () => host.findings(text).length > 0);
  assert.match(await labels(text), /0\.21 dB/);
  assert.doesNotMatch(await labels(text), / ohm/);
  await host.configure({ rigspec: { hints: { loss: false } } }, "rigspec.hints.loss");
  assert.match(await labels(text), / ohm/);
  assert.doesNotMatch(await labels(text), /0\.21 dB/);
  await host.closeText(text);
  await leave();
});

test("a text that has no file yet is checked", { timeout: 40000 }, async () => {
  await extension.activate(context);
  const text = await host.openText("Untitled-1", "rig 5\n", host.vscode.Uri.parse("untitled:Untitled-1"));
  await until("a finding came", () => host.findings(text).some((each) => each.code === "syntax"));
  await host.closeText(text);
  await leave();
});

test("another command, and a restart, start another server", { timeout: 60000 }, async () => {
  await extension.activate(context);
  const text = await host.openText(RIG, readFileSync(RIG, "utf8"));
  await until("findings came", () => host.findings(text).length > 0);
  const before = host.collections.length;
  await host.providers["rigspec.restart"]();
  assert.strictEqual(host.collections.length, before + 1, "a new client");
  await until("findings came again", () => host.findings(text).length > 0);
  const said = host.shown.length;
  await host.configure({ "rigspec.command": [WITHOUT, "serve"] }, "rigspec.command");
  await until("the other one is not there", () => host.shown.slice(said).some((each) => each.includes("pip install")));
  assert.deepStrictEqual(host.findings(text), []);
  await host.configure({ "rigspec.command": [RIGSPEC, "serve"] }, "rigspec.command");
  await until("the first one is", () => host.findings(text).length > 0);
  await host.configure({ "rigspec.server": false }, "rigspec.server");
  assert.deepStrictEqual(host.findings(text), []);
  host.settings["rigspec.server"] = true;
  await host.closeText(text);
  await leave();
});

test("without a server there are none", { timeout: 20000 }, async () => {
  host.settings["rigspec.server"] = false;
  await extension.activate(context);
  const text = await host.openText(RIG, "rig 5\n");
  await new Promise((done) => setTimeout(done, 300));
  assert.deepStrictEqual(host.findings(text), []);
  await leave();
});
