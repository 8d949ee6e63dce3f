import { commands, ExtensionContext, window, workspace } from "vscode";
import { LanguageClient, LanguageClientOptions, ServerOptions } from "vscode-languageclient/node";

let client: LanguageClient | undefined;

export async function activate(context: ExtensionContext): Promise<void> {
  context.subscriptions.push(
    commands.registerCommand("rigspec.restart", async () => {
      await stop();
      await start();
    }),
    workspace.onDidChangeConfiguration(async (change) => {
      if (change.affectsConfiguration("rigspec.server") || change.affectsConfiguration("rigspec.command")) {
        await stop();
        await start();
      }
    }),
  );
  await start();
}

export async function deactivate(): Promise<void> {
  await stop();
}

async function stop(): Promise<void> {
  const running = client;
  client = undefined;
  await running?.dispose();
}

async function start(): Promise<void> {
  const settings = workspace.getConfiguration("rigspec");
  const [command, ...args] = settings.get<string[]>("command", ["rigspec", "serve"]);
  if (!settings.get<boolean>("server", true) || command === undefined) return;
  // No transport is named: with one the client would add an option of its own to the command.
  const server: ServerOptions = { command, args };
  const options: LanguageClientOptions = {
    documentSelector: [
      { language: "rig", scheme: "file" },
      { language: "rig", scheme: "untitled" },
    ],
    initializationOptions: { hints: settings.get("hints") },
    synchronize: { configurationSection: "rigspec" },
  };
  const started = new LanguageClient("rigspec", "rigspec", server, options);
  client = started;
  try {
    await started.start();
  } catch (error) {
    client = undefined;
    const reason = error instanceof Error ? error.message : String(error);
    void window.showErrorMessage(
      `rigspec cannot be started by \`${[command, ...args].join(" ")}\`: ${reason}. ` +
        "Install it with `pip install 'rigspec[serve]'`, or say in `rigspec.command` where it is.",
    );
  }
}
