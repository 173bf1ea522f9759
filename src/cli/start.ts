/** `handback start`: what a click does. The page opens in the browser; where Handback runs already, that one's page. */
import { mkdtemp, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { pathToFileURL } from 'node:url';
import { Command } from 'commander';
import { HandbackError, toldOf } from '../core/errors.ts';
import { addressOf } from '../desk/address.ts';
import { openBrowser } from './browser.ts';
import { ioOf, wordsOf } from './io.ts';
import { type Options, serve, withServing } from './serve.ts';

/** Two clicks at once: the first holds the library a moment before it answers. */
const TRIES = 40;
const BETWEEN_MS = 250;

export function startCommand(): Command {
  return withServing(new Command('start'))
    .description('starts Handback and opens its page; where it runs already, opens the page of that one')
    .option('--no-browser', 'only print the address')
    .action(async (options: Options & { readonly browser: boolean }, command: Command) => {
      const show = async (url: string): Promise<void> => {
        if (options.browser && !(await openBrowser(url))) ioOf(command).say(`Open ${url} in a browser.`);
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
  for (let tries = TRIES; ; tries--) {
    const running = await addressOf(options.library);
    if (running !== null) {
      const io = ioOf(command);
      io.result({ url: running, running: true });
      io.print(`Handback runs already, at ${running}`);
      return show(running);
    }
    try {
      return await serveSomewhere(options, command, show);
    } catch (thrown) {
      if (!(thrown instanceof HandbackError && thrown.code === 'run.busy' && tries > 0)) throw thrown;
      await new Promise((resolve) => setTimeout(resolve, BETWEEN_MS));
    }
  }
}

/** A port that another program holds is no reason not to start, unless it was asked for. */
async function serveSomewhere(
  options: Options,
  command: Command,
  show: (url: string) => Promise<void>,
): Promise<void> {
  const listening = (url: string): void => void show(url);
  try {
    await serve(options, command, listening);
  } catch (thrown) {
    const { code } = ((thrown as Error).cause ?? {}) as NodeJS.ErrnoException;
    const asked = command.getOptionValueSource('port') !== 'default';
    if (asked || (code !== 'EADDRINUSE' && code !== 'EACCES')) throw thrown;
    await serve({ ...options, port: 0 }, command, listening);
  }
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
