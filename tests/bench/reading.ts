/**
 * `npx tsx tests/bench/reading.ts [MINUTES]`: what looking at old runs costs a recording. A simulated car behind a
 * pseudo-terminal in a process of its own, recorded by the daemon as built (`npm run build` first); while it records,
 * long runs are opened, compared and made into sheets over HTTP, and compressed by the command in another process. Prints lateness of the daemon's answers and the pace,
 * quiet and busy, and how long a run takes to open that was never judged, and judged before.
 */
import { type ChildProcess, spawn } from 'node:child_process';
import { once } from 'node:events';
import { cpSync, mkdirSync, mkdtempSync, rmSync, statSync } from 'node:fs';
import { cpus, loadavg, tmpdir } from 'node:os';
import { join } from 'node:path';
import { createInterface } from 'node:readline';
import { CAPTURE_FILE } from '../../src/run/meta.ts';
import { anHour } from './hour.ts';
import { ROOT } from './versions.ts';

const MAIN = join(ROOT, 'dist/src/program/main.js');
const seconds = 60 * Number(process.argv[2] ?? 1);
const home = mkdtempSync(join(tmpdir(), 'handback-reading-'));
const library = join(home, 'library');
const children: ChildProcess[] = [];

/** The command as built; resolves with its first line. */
function started(...args: string[]): Promise<Record<string, string>> {
  const env = { ...process.env, XDG_CONFIG_HOME: join(home, 'config') };
  const child = spawn(process.execPath, [MAIN, '--json', ...args], {
    stdio: ['ignore', 'pipe', 'inherit'],
    env,
  });
  children.push(child);
  return new Promise((done, failed) => {
    createInterface({ input: child.stdout! }).once('line', (line) => done(JSON.parse(line)));
    child.once('exit', (status) => failed(new Error(`${args[0]} ended with ${status}`)));
  });
}

const row = (what: string, figure: string): void => console.log(`${what.padEnd(64)} ${figure}`);
const at = (sorted: readonly number[], share: number): number =>
  sorted[Math.floor(share * (sorted.length - 1))]!;

try {
  mkdirSync(library);
  const [before, after] = [await anHour(library, 'before'), await anHour(library, 'after')];
  const bytes = statSync(join(library, before, CAPTURE_FILE)).size;
  const { port } = await started('sim', '--front', 'slcan');
  const { url } = await started('serve', '--port', '0', '--library', library);
  const api = `${url}api`;
  const ask = (path: string) =>
    fetch(`${api}${path}`).then(async (r) => ({ ok: r.ok, text: await r.text() }));
  const post = async (path: string, body: object) => {
    const headers = { 'content-type': 'application/json', 'x-handback': '1', origin: new URL(url!).origin };
    const answer = await fetch(`${api}${path}`, { method: 'POST', headers, body: JSON.stringify(body) });
    if (!answer.ok) throw new Error(`${path}: ${await answer.text()}`);
  };
  const timed = async (path: string): Promise<number> => {
    const from = performance.now();
    const answer = await ask(path);
    if (!answer.ok) throw new Error(`${path}: ${answer.text}`);
    return (performance.now() - from) / 1000;
  };

  await post('/connect', { link: port, adapter: 'slcan' });
  await post('/run', { purpose: 'other' });
  /** Values a second that the recorder got, and how late the daemon answers a look at its state. */
  const watched = async (busy: (() => Promise<void>) | null) => {
    let going = true;
    const rounds = (async () => {
      let n = 0;
      for (; busy && going; n++) await busy();
      return n;
    })();
    const samples = async (): Promise<number> => JSON.parse((await ask('/state')).text).run.samples;
    const [from, n0] = [performance.now(), await samples()];
    const late: number[] = [];
    while (performance.now() - from < 1000 * seconds) {
      const asked = performance.now();
      await samples();
      late.push(performance.now() - asked);
      await new Promise((done) => setTimeout(done, 20));
    }
    const pace = (1000 * ((await samples()) - n0)) / (performance.now() - from);
    going = false;
    return { pace, rounds: await rounds, late: late.sort((a, b) => a - b) };
  };
  const quiet = await watched(null);
  row('opened the first time, judged from its bytes', `${(await timed(`/runs/${before}`)).toFixed(2)} s`);
  const busy = await watched(async () => {
    await Promise.all([
      ask(`/runs/${before}/series?points=4000`),
      ask(`/runs/${after}`),
      ask(`/compare?before=${before}&after=${after}&margin=${(1 + 10 * Math.random()).toFixed(4)}`),
      ask(`/runs/${before}/sheet`),
    ]);
  });
  const elsewhere = join(home, 'elsewhere');
  const compressing = await watched(async () => {
    rmSync(elsewhere, { recursive: true, force: true });
    cpSync(join(library, after), elsewhere, { recursive: true });
    const child = spawn(process.execPath, [MAIN, 'compress', elsewhere], { stdio: 'ignore' });
    const [status] = (await once(child, 'exit')) as [number];
    if (status !== 0) throw new Error(`compress ended with ${status}`);
  });
  for (const [what, w] of [
    ['nobody looking', quiet],
    [`an hour compressed again and again (${compressing.rounds} times)`, compressing],
    [`runs opened, compared, printed all the time (${busy.rounds} rounds)`, busy],
  ] as const) {
    row(`${what}: values a second`, w.pace.toFixed(1));
    const [p50, p99] = [at(w.late, 0.5), at(w.late, 0.99)];
    row(
      '  its state answered after, ms (p50, p99, longest)',
      [p50, p99, w.late.at(-1)!].map((x) => x.toFixed(1)).join(', '),
    );
  }
  row('pace lost', `${(100 * (1 - busy.pace / quiet.pace)).toFixed(2)} %`);
  await post('/run/stop', {});
  children[1]!.kill();
  await new Promise((ended) => children[1]!.once('exit', ended));
  const second = await started('serve', '--port', '0', '--library', library);
  await fetch(`${second.url}api/runs/none/series`); // its thread is running
  const from = performance.now();
  await Promise.all(
    [`/runs/${before}`, `/runs/${before}/series?points=4000`].map((p) =>
      fetch(`${second.url}api${p}`).then((r) => r.text()),
    ),
  );
  row(
    'judged before, opened by a daemon just started: view and series',
    `${((performance.now() - from) / 1000).toFixed(2)} s`,
  );
  console.log(
    `(runs of ${(bytes / 1e6).toFixed(1)} MB; ${cpus().length} cores, load ${loadavg()[0]!.toFixed(1)})`,
  );
} finally {
  for (const child of children) child.kill();
  rmSync(home, { recursive: true, force: true });
}
