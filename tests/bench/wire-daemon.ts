/** What one version's daemon and command line do where the wire is not the trouble: ports, signals, an hour's run opened. */
import { type ChildProcess, spawn } from 'node:child_process';
import { once } from 'node:events';
import { mkdirSync } from 'node:fs';
import { request } from 'node:http';
import { createServer } from 'node:net';
import { join } from 'node:path';
import { createInterface } from 'node:readline';
import { readMeta } from '../../src/run/meta.ts';
import { anHour } from './hour.ts';

/** Longer than any of this may take: what has not ended by then hangs. */
const HANGS_S = 20;
const QUIET_S = 20;
const LOOK_MS = 20;

export class Program {
  readonly #root: string;
  readonly #home: string;
  readonly #children: ChildProcess[] = [];

  /** @param root a folder with the compiled program @param home for its configuration and library */
  constructor(root: string, home: string) {
    this.#root = root;
    this.#home = home;
    mkdirSync(home, { recursive: true });
  }

  get home(): string {
    return this.#home;
  }

  start(...args: readonly string[]): ChildProcess {
    const env = {
      ...process.env,
      XDG_CONFIG_HOME: join(this.#home, 'config'),
      XDG_DATA_HOME: join(this.#home, 'data'),
    };
    const main = join(this.#root, 'src/cli/main.js');
    const child = spawn(process.execPath, [main, '--json', ...args], {
      stdio: ['ignore', 'pipe', 'pipe'],
      env,
    });
    this.#children.push(child);
    child.stderr.resume();
    return child;
  }

  /** Its first line; @throws Error when it ends without one. */
  async said(child: ChildProcess): Promise<Record<string, string>> {
    const lines = createInterface({ input: child.stdout! });
    const line = new Promise<string>((done) => lines.once('line', done));
    const ended = once(child, 'exit').then(() => null);
    const first = await Promise.race([line, ended]);
    if (first === null) throw new Error(`ended with ${child.exitCode}`);
    return JSON.parse(first) as Record<string, string>;
  }

  close(): void {
    for (const child of this.#children) child.kill('SIGKILL');
  }
}

/** Seconds until it ended; null where it hangs, and was killed. */
async function endedAfterS(child: ChildProcess): Promise<number | null> {
  const from = performance.now();
  const timer = setTimeout(() => child.kill('SIGKILL'), 1000 * HANGS_S);
  if (child.exitCode === null && child.signalCode === null) await once(child, 'exit');
  clearTimeout(timer);
  return child.signalCode === 'SIGKILL' ? null : (performance.now() - from) / 1000;
}

/** A daemon that cannot listen: after how many seconds it has ended. */
export async function cannotListen(program: Program, how: 'busy port' | 'bad host'): Promise<number | null> {
  const busy = createServer();
  await new Promise<void>((done) => busy.listen(0, '127.0.0.1', done));
  const { port } = busy.address() as { port: number };
  const library = join(program.home, how.replace(' ', '-'));
  const where = how === 'busy port' ? ['--port', String(port)] : ['--port', '0', '--host', '203.0.113.1'];
  const s = await endedAfterS(program.start('serve', '--library', library, ...where));
  busy.close();
  return s;
}

/** Recording, and the session ends: two signals at once. Is the run closed, and with which status? */
export async function twoSignals(program: Program, port: string): Promise<string> {
  const folder = join(program.home, 'signalled');
  const child = program.start('record', '--link', port, '--adapter', 'slcan', '--out', folder);
  child.stdout!.resume();
  const from = performance.now();
  // It records from the time on that its folder tells so.
  while ((await readMeta(folder).catch(() => null)) === null) {
    if (performance.now() - from > 60_000) throw new Error('does not record');
    await new Promise((done) => setTimeout(done, 200));
  }
  await new Promise((done) => setTimeout(done, 2000));
  child.kill('SIGTERM');
  child.kill('SIGHUP');
  await endedAfterS(child);
  const { sha256 } = await readMeta(folder);
  return `${sha256 ? 'closed' : 'left open'}, status ${child.exitCode ?? child.signalCode}`;
}

/** Another page asks for the stream by an address in capitals: HTTP status. */
function crossSite(url: string): Promise<number> {
  return new Promise((done, failed) => {
    const headers = { 'sec-fetch-site': 'cross-site' };
    const call = request(new URL('API/stream', url), { headers }, (answer) => {
      answer.destroy();
      done(answer.statusCode ?? 0);
    });
    call.on('error', failed);
    call.end();
  });
}

export interface Opened {
  /** Values a second while nobody looks, and while an hour's run is opened. */
  readonly quiet: number;
  readonly busy: number;
  /** How late the daemon says how it is meanwhile: 99 of 100 looks, and the longest, ms. */
  readonly p99Ms: number;
  readonly longestMs: number;
  readonly openedS: number;
  readonly crossSite: number;
}

/** Recording over a port, and an hour's run is opened that was never judged. */
export async function opensAnHour(program: Program, port: string): Promise<Opened> {
  const library = join(program.home, 'library');
  mkdirSync(library);
  const run = await anHour(library, 'an-hour');
  const { url } = await program.said(program.start('serve', '--port', '0', '--library', library));
  const api = `${url}api`;
  const ask = (path: string) => fetch(`${api}${path}`).then((r) => r.text());
  const post = async (path: string, body: object): Promise<void> => {
    const headers = { 'content-type': 'application/json', 'x-handback': '1', origin: new URL(url!).origin };
    const answer = await fetch(`${api}${path}`, { method: 'POST', headers, body: JSON.stringify(body) });
    if (!answer.ok) throw new Error(`${path}: ${await answer.text()}`);
  };
  await post('/connect', { link: port, adapter: 'slcan' });
  await post('/run', { purpose: 'other' });
  const samples = async (): Promise<number> => JSON.parse(await ask('/state')).run.samples;
  const watched = async (until: Promise<unknown>) => {
    let going = true;
    const over = until.finally(() => {
      going = false;
    });
    const [from, before] = [performance.now(), await samples()];
    const late: number[] = [];
    while (going) {
      const asked = performance.now();
      await samples();
      late.push(performance.now() - asked);
      await new Promise((done) => setTimeout(done, LOOK_MS));
    }
    await over;
    late.sort((a, b) => a - b);
    return { pace: (1000 * ((await samples()) - before)) / (performance.now() - from), late };
  };
  const quiet = await watched(new Promise((done) => setTimeout(done, 1000 * QUIET_S)));
  const from = performance.now();
  const busy = await watched(
    Promise.all([`/runs/${run}`, `/runs/${run}/series?points=4000`].map((path) => ask(path))),
  );
  const openedS = (performance.now() - from) / 1000;
  const status = await crossSite(url!);
  await post('/run/stop', {});
  await post('/disconnect', {});
  return {
    quiet: quiet.pace,
    busy: busy.pace,
    p99Ms: busy.late[Math.floor(0.99 * (busy.late.length - 1))]!,
    longestMs: busy.late.at(-1)!,
    openedS,
    crossSite: status,
  };
}
