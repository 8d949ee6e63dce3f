// A stand-in for the editor: as much of its programming interface as the shipped bundle needs to start the real
// server, open and edit a text, and take findings, hints, fixes and the canonical form from it.
"use strict";
const Module = require("node:module");
const { pathToFileURL, fileURLToPath } = require("node:url");

class Disposable {
  constructor(call = () => {}) {
    this.dispose = call;
  }
  static from(...all) {
    return new Disposable(() => all.forEach((each) => each.dispose()));
  }
}

class EventEmitter {
  listeners = new Set();
  event = (listener, self, bag) => {
    const bound = self ? listener.bind(self) : listener;
    this.listeners.add(bound);
    const end = new Disposable(() => this.listeners.delete(bound));
    bag?.push(end);
    return end;
  };
  fire(value) {
    return Promise.all([...this.listeners].map((listener) => listener(value)));
  }
  dispose() {
    this.listeners.clear();
  }
}

class Position {
  constructor(line, character) {
    Object.assign(this, { line, character });
  }
}
class Range {
  constructor(...at) {
    const [start, end] = at.length === 4 ? [new Position(at[0], at[1]), new Position(at[2], at[3])] : at;
    Object.assign(this, { start, end });
  }
}
class Diagnostic {
  constructor(range, message, severity) {
    Object.assign(this, { range, message, severity });
  }
}
class Uri {
  constructor(url) {
    const parts = new URL(url);
    this.scheme = parts.protocol.slice(0, -1);
    this.fsPath = this.scheme === "file" ? fileURLToPath(parts) : parts.pathname;
    Object.assign(this, { text: parts.href, path: parts.pathname, authority: parts.host, query: "", fragment: "" });
  }
  toString() {
    return this.text;
  }
  static parse(text) {
    return new Uri(text);
  }
  static file(path) {
    return new Uri(pathToFileURL(path).href);
  }
}
class CancellationTokenSource {
  constructor() {
    this.cancelled = new EventEmitter();
    this.token = { isCancellationRequested: false, onCancellationRequested: this.cancelled.event };
  }
  cancel() {
    this.token.isCancellationRequested = true;
    void this.cancelled.fire();
  }
  dispose() {}
}

const settings = {};
const providers = {};
const collections = [];
const shown = [];
const led = []; // the places that the editor was asked to go to
const events = {};
const on = (name) => (events[name] ??= new EventEmitter()).event;
const deaf = () => new Disposable();
const log = [];
const channel = () =>
  new Proxy(
    { name: "log", logLevel: 2 },
    { get: (own, key) => own[key] ?? (String(key).startsWith("on") ? deaf : (...said) => void log.push(said.join(" "))) },
  );
// What is not spelt out below: events that never come, registrations that are kept, calls that do nothing.
const open = (own) =>
  new Proxy(own, {
    get(target, key) {
      const name = String(key);
      if (name in target || typeof key === "symbol") return target[key];
      if (name.startsWith("on")) return on(name);
      if (!name.startsWith("register")) return (target[name] = async () => undefined);
      return (target[name] = (...given) => {
        (providers[name] ??= []).push(given[1]);
        return new Disposable();
      });
    },
  });

const api = {
  version: "1.82.0",
  Disposable,
  EventEmitter,
  Position,
  Range,
  Diagnostic,
  Uri,
  CancellationTokenSource,
  CancellationError: class extends Error {},
  DiagnosticSeverity: { Error: 0, Warning: 1, Information: 2, Hint: 3 },
  LogLevel: { Off: 0, Trace: 1, Debug: 2, Info: 3, Warning: 4, Error: 5 },
  Location: class {
    constructor(uri, range) {
      Object.assign(this, { uri, range });
    }
  },
  DiagnosticRelatedInformation: class {
    constructor(location, message) {
      Object.assign(this, { location, message });
    }
  },
  InlayHint: class {
    constructor(position, label, kind) {
      Object.assign(this, { position, label, kind });
    }
  },
  CodeAction: class {
    constructor(title, kind) {
      Object.assign(this, { title, kind });
    }
  },
  TextEdit: class {
    constructor(range, newText) {
      Object.assign(this, { range, newText });
    }
  },
  WorkspaceEdit: class {
    changes = [];
    set(uri, edits) {
      this.changes.push([uri.toString(), edits]);
    }
  },
  CodeActionKind: { Empty: { append: (value) => ({ value, append: () => ({}) }), value: "" } },
  env: open({ appName: "stand-in", language: "en", machineId: "none" }),
  l10n: { t: (text) => text },
  commands: open({ registerCommand: (name, call) => ((providers[name] = call), new Disposable()) }),
  extensions: open({ all: [], getExtension: () => undefined }),
  window: open({
    createOutputChannel: channel,
    visibleTextEditors: [],
    visibleNotebookEditors: [],
    tabGroups: open({ all: [] }),
    showTextDocument: async (uri, { selection }) => void led.push({ uri: uri.toString(), selection }),
    showErrorMessage: async (text) => void shown.push(text),
    showWarningMessage: async (text) => void shown.push(text),
    withProgress: (_, work) => work({ report() {} }, new CancellationTokenSource().token),
  }),
  workspace: open({
    workspaceFolders: undefined,
    textDocuments: [],
    notebookDocuments: [],
    getWorkspaceFolder: () => undefined,
    createFileSystemWatcher: () => open({ dispose() {} }),
    getConfiguration: (section) => ({
      get: (key, otherwise) => settings[[section, key].filter(Boolean).join(".")] ?? otherwise,
      has: () => false,
      inspect: () => undefined,
    }),
  }),
  languages: open({
    match: (selector, text) =>
      selector.some((each) => each.language === text.languageId && each.scheme === text.uri.scheme) ? 10 : 0,
    createDiagnosticCollection() {
      const held = new Map();
      collections.push(held);
      return {
        set: (uri, all) => held.set(uri.toString(), all ?? []),
        get: (uri) => held.get(uri.toString()),
        has: (uri) => held.has(uri.toString()),
        delete: (uri) => held.delete(uri.toString()),
        forEach: (call) => held.forEach((all, uri) => call(Uri.parse(uri), all)),
        clear: () => held.clear(),
        dispose: () => held.clear(),
      };
    },
  }),
};
// Classes and lists of names that are only inherited from or looked up.
const vscode = new Proxy(api, { get: (own, key) => (key in own || typeof key === "symbol" ? own[key] : (own[key] = class {})) });
const load = Module._load;
Module._load = (name, ...more) => (name === "vscode" ? vscode : load(name, ...more));

class Text {
  constructor(path, text, uri) {
    Object.assign(this, { uri, fileName: path, languageId: "rig", version: 1, text, isClosed: false });
  }
  getText() {
    return this.text;
  }
  get lineCount() {
    return this.text.split("\n").length;
  }
}

async function openText(path, text, uri = Uri.file(path)) {
  const document = new Text(path, text, uri);
  api.workspace.textDocuments.push(document);
  await events.onDidOpenTextDocument?.fire(document);
  return document;
}

/** Replace what stands between two places; lines and UTF-16 columns from 0. */
async function edit(document, range, text) {
  const lines = document.text.split("\n");
  const offset = (at) => lines.slice(0, at.line).reduce((sum, line) => sum + line.length + 1, 0) + at.character;
  const [from, to] = [offset(range.start), offset(range.end)];
  document.text = document.text.slice(0, from) + text + document.text.slice(to);
  document.version += 1;
  const change = { range, rangeOffset: from, rangeLength: to - from, text };
  await events.onDidChangeTextDocument.fire({ document, contentChanges: [change] });
}

async function closeText(document) {
  document.isClosed = true;
  api.workspace.textDocuments = api.workspace.textDocuments.filter((each) => each !== document);
  await events.onDidCloseTextDocument.fire(document);
}

/** Settings were changed, of which `key` is one. */
async function configure(changes, key) {
  Object.assign(settings, changes);
  await events.onDidChangeConfiguration.fire({ affectsConfiguration: (asked) => key.startsWith(asked) });
}

const findings = (document) => collections.flatMap((held) => held.get(document.uri.toString()) ?? []);

module.exports = { vscode, settings, providers, collections, shown, led, log, openText, edit, closeText, configure, findings };
