/**
 * A daemon as a technician has it, in real time: `handback serve` as a program of its own, the adapter behind a
 * pseudo-terminal in another process, pages that watch in a third. Its memory and processor time as Linux counts them.
 */
import { type ChildProcess, spawn } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { get } from 'node:http';
import { loadavg, tmpdir } from 'node:os';
import { join } from 'node:path';
import { createInterface } from 'node:readline';

export interface Watched {
  readonly flags: readonly string[];
  readonly pages: number;
  readonly minutes: number;
  /** Resident MB, mean of each five minutes. */
  readonly rssMb: readonly number[];
  readonly highestMb: number;
  /** Share of one core behind the first minute. */
  readonly cpuPct: number;
  /** Values that were recorded meanwhile. */
  readonly samples: number;
  /** What ran or wanted to run on the machine, as means of a minute: the lowest and the highest of the time measured. */
  readonly load?: readonly [lowest: number, highest: number];
}

export interface Watching {
  /** Folder with the compiled program, `src/cli/main.js` in it. */
  readonly program: string;
  /** What starts steady-port-child, for Node.js. */
  readonly car: readonly string[];
  /** For the daemon's Node.js. */
  readonly flags: readonly string[];
  readonly minutes: number;
  readonly pages: number;
}

export const BLOCK_MIN = 5;
const LOOK_MS = 5000;
const WARM_UP_MS = 60_000;
/** The first minute does not count: shorter there is nothing to tell. */
export const LEAST_MIN = 2;
/** Clock ticks a second of /proc, as Linux tells programs. */
const TICKS = 100;
const PAGE_BYTES = 4096;

export async function watched({ program, car, flags, minutes, pages }: Watching): Promise<Watched> {
  if (!(minutes >= LEAST_MIN))
    throw new Error(`watched for ${minutes} min, of which the first does not count`);
  const home = mkdtempSync(join(tmpdir(), 'handback-watched-'));
  const children: ChildProcess[] = [];
  const started = async (...args: string[]): Promise<Record<string, string>> => {
    const env = { ...process.env, XDG_CONFIG_HOME: home, XDG_DATA_HOME: home };
    const child = spawn(process.execPath, args, { stdio: ['ignore', 'pipe', 'inherit'], env });
    children.push(child);
    return new Promise((done, failed) => {
      createInterface({ input: child.stdout! }).once('line', (line) => done(JSON.parse(line)));
      child.once('exit', (status) => failed(new Error(`${args.at(-1)} ended with ${status}`)));
    });
  };
  try {
    const { port } = await started(...car);
    const main = join(program, 'src/cli/main.js');
    const { url } = await started(...flags, main, '--json', 'serve', '--port', '0', '--library', home);
    const pid = children[1]!.pid!;
    const post = async (path: string, body: object): Promise<void> => {
      const headers = { 'content-type': 'application/json', 'x-handback': '1', origin: new URL(url!).origin };
      const answer = await fetch(`${url}api${path}`, { method: 'POST', headers, body: JSON.stringify(body) });
      if (!answer.ok) throw new Error(`${path}: ${await answer.text()}`);
    };
    const samples = async (): Promise<number> => {
      const state = (await (await fetch(`${url}api/state`)).json()) as { run: { samples: number } | null };
      if (!state.run) throw new Error('it no longer records');
      return state.run.samples;
    };
    await post('/connect', { link: port, adapter: 'slcan' });
    await post('/run', { purpose: 'other' });
    for (let i = 0; i < pages; i++)
      get(`${url}api/stream`, { headers: { 'sec-fetch-site': 'same-origin' } }, (res) => res.resume());
    const from = performance.now();
    const blocks: number[][] = [];
    const loads: number[] = [];
    let warm: { readonly ticks: number; readonly atMs: number } | null = null;
    while (performance.now() - from < 60_000 * minutes) {
      await new Promise((done) => setTimeout(done, LOOK_MS));
      const passedMs = performance.now() - from;
      if (passedMs >= WARM_UP_MS) {
        warm ??= { ticks: ticksOf(pid), atMs: passedMs };
        loads.push(loadavg()[0]!);
      }
      const block = Math.floor(passedMs / 60_000 / BLOCK_MIN);
      blocks[block] ??= [];
      blocks[block].push(residentMb(pid));
    }
    if (!warm) throw new Error('the computer was too busy to look');
    const cpuPct =
      (100 * (ticksOf(pid) - warm.ticks)) / TICKS / ((performance.now() - from - warm.atMs) / 1000);
    const recorded = await samples();
    await post('/run/stop', {});
    return {
      flags,
      pages,
      minutes,
      rssMb: blocks.map((b) => b.reduce((a, v) => a + v, 0) / b.length),
      highestMb: Math.max(...blocks.flat()),
      cpuPct,
      samples: recorded,
      load: [Math.min(...loads), Math.max(...loads)],
    };
  } finally {
    for (const child of children) child.kill('SIGKILL');
    rmSync(home, { recursive: true, force: true, maxRetries: 5 });
  }
}

const residentMb = (pid: number): number =>
  (Number(readFileSync(`/proc/${pid}/statm`, 'utf8').split(' ')[1]) * PAGE_BYTES) / 1e6;

/** User and system time; the name in front of them may hold spaces. */
function ticksOf(pid: number): number {
  const stat = readFileSync(`/proc/${pid}/stat`, 'utf8');
  const fields = stat.slice(stat.lastIndexOf(')') + 2).split(' ');
  return Number(fields[11]) + Number(fields[12]);
}
