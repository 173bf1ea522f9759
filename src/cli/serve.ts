/** `handback serve`: the daemon and the page, on this computer only unless told otherwise. */

import { spawn } from 'node:child_process';
import { randomBytes } from 'node:crypto';
import { existsSync } from 'node:fs';
import { constants as osConstants, setPriority } from 'node:os';
import { createInterface } from 'node:readline';
import { fileURLToPath } from 'node:url';
import { Command } from 'commander';
import pino from 'pino';
import { systemClock } from '../core/clock.ts';
import { saying } from '../core/error-says.ts';
import { EXIT, HandbackError, inEnglish, toldOf } from '../core/errors.ts';
import { inTurn, type Says } from '../core/says.ts';
import { tellAddress } from '../desk/address.ts';
import { Daemon } from '../desk/daemon.ts';
import { House } from '../desk/house.ts';
import { LogTail } from '../desk/report.ts';
import { defaultLibrary } from '../run/library.ts';
import type { During } from '../run/types.ts';
import { isLoopback } from '../server/guard.ts';
import { startServer } from '../server/server.ts';
import { behind } from '../words/spelled.ts';
import { type Io, ioOf, say } from './io.ts';
import { stopRequested } from './stop.ts';
import { numberIn } from './values.ts';

export interface Options {
  readonly host: string;
  readonly port: number;
  readonly library: string;
  readonly link?: string;
  readonly receiver?: string;
  readonly practice?: boolean;
}

const DEFAULT_PORT = 8017;

export function serveCommand(): Command {
  return withServing(new Command('serve'))
    .description('the daemon and its page; prints one line with the address')
    .action((options: Options, command: Command) => serve(options, command));
}

/** Adds where to listen, and on which library. */
export function withServing(command: Command): Command {
  return command
    .option(
      '--host <address>',
      'address to listen on; others than this computer need the token shown',
      '127.0.0.1',
    )
    .option('--port <n>', 'port, 0 for any free one', numberIn(0, 65_535), DEFAULT_PORT)
    .option('--library <dir>', 'folder with the runs', defaultLibrary())
    .option('--practice', 'an empty library begins with practice jobs, made in the background')
    .option('--link <port>', 'connect to this at once: serial port, tcp:HOST:PORT, or sim')
    .option(
      '--receiver <port>',
      'satellite receiver (NMEA 0183): serial port or tcp:HOST:PORT; may come and go',
    );
}

/** Asked for once, however often a start is tried. */
let stopped: Promise<void> | null = null;

/**
 * Until a signal or the page ends it.
 * @param listening told of the address once there is one
 * @throws HandbackError run.busy when another daemon holds the library, input.usage when the address is taken
 */
export async function serve(
  options: Options,
  command: Command,
  listening: (url: string) => void = () => undefined,
): Promise<void> {
  const io = ioOf(command);
  let end: () => void = () => undefined;
  const quit = new Promise<void>((resolve) => {
    end = resolve;
  });
  stopped ??= stopRequested();
  const stop = Promise.race([stopped, quit]);
  const daemon = new Daemon({ clock: systemClock, library: options.library, makePractice, keepJudged: true });
  const tail = new LogTail();
  const house = new House({
    daemon,
    log: () => tail.lines(),
    licences: fileURLToPath(new URL('../../../../LICENCES.txt', import.meta.url)), // in what technicians get
    library: options.library,
    changeable: command.getOptionValueSource('library') === 'default',
    end,
  });
  try {
    await attend(daemon, house, tail, options, io, stop, listening);
  } finally {
    // The library is free again, whatever happened.
    const run = await daemon.close();
    const missing = run && behind(run, 'missing');
    if (missing) {
      io.say(missing);
      process.exitCode = EXIT.stoppedEarly;
    }
  }
}

async function attend(
  daemon: Daemon,
  house: House,
  tail: LogTail,
  options: Options,
  io: Io,
  stop: Promise<void>,
  listening: (url: string) => void,
): Promise<void> {
  for (const sentence of await daemon.open()) {
    io.say(sentence);
    tail.write(inEnglish(sentence));
  }
  if (options.practice && (await daemon.jobs.list('')).total === 0 && (await daemon.runs()).length === 0)
    await daemon.jobs.makePractice();
  const log = pino(
    { name: 'handback', level: 'warn' },
    pino.multistream([{ stream: pino.destination(2) }, { stream: tail }]),
  );
  const server = await startServer({
    api: daemon,
    jobs: daemon.jobs,
    kinds: daemon.kinds,
    sheets: daemon,
    house,
    host: options.host,
    port: options.port,
    webRoot: webRoot(),
    onError: (error) => log.error(error),
    ...(isLoopback(options.host) ? {} : { token: randomBytes(16).toString('hex') }),
  });
  const forget = await tellAddress(options.library, server.url);
  io.result({ url: server.url });
  io.print(say('cli.at', { url: server.url }));
  for (const url of server.elsewhere) io.say(say('cli.elsewhere', { url }));
  listening(server.url);
  if (options.receiver !== undefined) await daemon.useReceiver({ port: options.receiver });
  if (options.link !== undefined)
    daemon.connect({ link: options.link }).catch((thrown: unknown) => {
      const hint = thrown instanceof HandbackError ? thrown.told.hint : null;
      io.say(inTurn(hint === null ? [toldOf(thrown)] : [toldOf(thrown), hint]));
    });
  await stop;
  await forget();
  await server.close();
}

/** In a process of its own, so that a drive recorded meanwhile is not disturbed; it stops when it is left alone. */
function makePractice(library: string, tell: (sentence: Says) => void, during: During): Promise<void> {
  const { signal, progress } = during;
  const args = [...process.execArgv, process.argv[1]!, '--json', 'practice', '--library', library];
  const child = spawn(process.execPath, args, { stdio: ['ignore', 'pipe', 'pipe', 'ipc'] });
  try {
    setPriority(child.pid!, osConstants.priority.PRIORITY_LOW);
  } catch {
    // then it is as quick as the daemon
  }
  const leave = (): void => {
    if (child.connected) child.disconnect();
  };
  signal.addEventListener('abort', leave, { once: true });
  let complaint = '';
  createInterface({ input: child.stdout! }).on('line', (line) => {
    if (!line.startsWith('{')) return;
    const told = behind(JSON.parse(line) as { readonly making: string }, 'making');
    if (told) tell(told);
  });
  child.on('message', (share) => progress(Number(share)));
  child.stderr!.on('data', (chunk: Buffer) => {
    complaint = (complaint + chunk).slice(-500);
  });
  return new Promise((resolve, reject) => {
    child.on('error', reject);
    child.on('close', (code) => {
      if (code === 0) resolve();
      else
        reject(
          signal.aborted ? signal.reason : new Error(complaint.trim() || `it ended with status ${code}`),
        );
    });
  });
}

/** The built page stands beside the built program, or in dist/ when run from source. */
function webRoot(): string {
  const candidates = ['../../web', '../../dist/web'].map((p) => fileURLToPath(new URL(p, import.meta.url)));
  const found = candidates.find((dir) => existsSync(`${dir}/index.html`) && existsSync(`${dir}/assets`));
  if (!found)
    throw new HandbackError('input.usage', saying('error.not-built'), {
      hint: saying('error.not-built-hint'),
    });
  return found;
}
