/** `handback start`: what a click does. The page opens in the browser; where Handback runs already, that one's page. */
import { mkdtemp, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { pathToFileURL } from 'node:url';
import { Command } from 'commander';
import { HandbackError, toldOf } from '../core/errors.ts';
import { addressOf } from '../desk/address.ts';
import { openBrowser } from './browser.ts';
import { freePort, isHandback } from './free-port.ts';
import { ioOf, say, wordsOf } from './io.ts';
import { type Options, serve, withServing } from './serve.ts';

/** Two clicks at once: the first holds the library a moment before it answers. After this long it is stuck. */
const STUCK_MS = 10_000;
const BETWEEN_MS = 250;

export function startCommand(): Command {
  return withServing(new Command('start'))
    .description('starts Handback and opens its page; where it runs already, opens the page of that one')
    .option('--no-browser', 'only print the address')
    .action(async (options: Options & { readonly browser: boolean }, command: Command) => {
      const show = async (url: string): Promise<void> => {
        if (options.browser && !(await openBrowser(url))) ioOf(command).say(say('cli.open', { url }));
      };
      try {
        await start(options, command, show);
      } catch (thrown) {
        if (options.browser && !process.stdout.isTTY) await openBrowser(await troublePage(thrown));
        throw thrown;
      }
    });
}

async function start(
  options: Options,
  command: Command,
  show: (url: string) => Promise<void>,
): Promise<void> {
  const endMs = performance.now() + STUCK_MS;
  for (;;) {
    const running = await addressOf(options.library);
    if (running !== null) {
      const io = ioOf(command);
      io.result({ url: running, running: true });
      io.print(say('cli.runs-already', { url: running }));
      return show(running);
    }
    try {
      return await serveSomewhere(options, command, show);
    } catch (thrown) {
      if (!(thrown instanceof HandbackError && thrown.code === 'run.busy' && performance.now() < endMs))
        throw thrown;
      await new Promise((resolve) => setTimeout(resolve, BETWEEN_MS));
    }
  }
}

/** A port that another program holds, or a Handback with another library, is no reason not to start, unless it was asked for. */
async function serveSomewhere(
  options: Options,
  command: Command,
  show: (url: string) => Promise<void>,
): Promise<void> {
  const { host, port: wanted } = options;
  const asked = command.getOptionValueSource('port') !== 'default';
  const port = asked ? wanted : await freePort(host, wanted);
  if (port !== wanted) {
    const who = (await isHandback(host, wanted)) ? 'handback' : 'other';
    ioOf(command).say(say('cli.port-taken', { port: String(wanted), who }));
  }
  await serve({ ...options, port }, command, (url) => void show(url));
}

/** Who clicked sees no terminal: what went wrong is shown where the page would have been. */
async function troublePage(thrown: unknown): Promise<string> {
  const told = thrown instanceof HandbackError ? thrown.told : { message: toldOf(thrown), hint: null };
  const words = wordsOf();
  const lines = [told.message, told.hint].flatMap((what) => (what === null ? [] : [words.say(what)]));
  const safe = lines.map((line) => `<p>${line.replace(/[&<>]/g, (c) => `&#${c.charCodeAt(0)};`)}</p>`);
  const page = `<!doctype html><html lang="en"><meta charset="utf-8"><title>Handback</title>
<h1>Handback could not start</h1>${safe.join('')}</html>\n`;
  const file = join(await mkdtemp(join(tmpdir(), 'handback-')), 'trouble.html');
  await writeFile(file, page);
  return pathToFileURL(file).href;
}
