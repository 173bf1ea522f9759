/**
 * What happens to a recording on the road and on a laptop, each through the whole daemon with a simulated car, and
 * compared byte for byte with what reached the computer. Used by the tests (once each) and by `npm run torture`.
 */

import { execFileSync } from 'node:child_process';
import { mkdtempSync, readdirSync, readFileSync, renameSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { ManualClock } from '../../src/core/clock.ts';
import { HandbackError, reasonOf } from '../../src/core/errors.ts';
import { type Random, seededRandom } from '../../src/core/random.ts';
import { Daemon } from '../../src/desk/daemon.ts';
import { followedLinkFactory } from '../../src/link/follow.ts';
import { readCapture } from '../../src/run/capture/read.ts';
import { check } from '../../src/run/check.ts';
import { listRuns } from '../../src/run/library.ts';
import { openRecording, type Recording } from '../../src/run/recording.ts';
import type { SimulationOptions } from '../../src/sim/bench.ts';
import { english } from '../../src/words/spelled.ts';
import { inWords } from '../in-words.ts';
import { Cable } from './cable.ts';
import { FsTap } from './fs-tap.ts';
import type { Row } from './row.ts';
import { steadyCar } from './steady-car.ts';

/** What one trial came to. */
export interface Trial {
  /** Bytes that reached the computer while the run was open, and of these not in the capture. */
  readonly received: number;
  readonly lost: number;
  /** What was promised and is not so. */
  readonly wrong: string | null;
  /** For the table: how the gap is told, or what was said. */
  readonly told: string;
}

export interface Fault {
  readonly fault: string;
  readonly how: string;
  once(random: Random): Promise<Trial>;
}

type Options = Partial<SimulationOptions> & { readonly port?: string; readonly others?: readonly string[] };

/** A daemon on a car that costs nothing to simulate, with everything in reach that can go wrong. */
class Scene {
  readonly clock = new ManualClock();
  readonly home = mkdtempSync(join(tmpdir(), 'handback-fault-'));
  readonly library = join(this.home, 'library');
  readonly tap = new FsTap();
  readonly daemon: Daemon;
  readonly cable: Cable;
  ignition = true;
  asleepMs = 0;
  runId = '';
  #from = 0;
  #to = 0;

  constructor({ port = 'cable', others = [], ...options }: Options = {}) {
    const car = steadyCar(() => this.clock.nowUs() / 1e6);
    const vehicle = Object.defineProperty(car, 'ignition', { get: () => this.ignition });
    this.cable = new Cable(
      { vehicle, clock: this.clock, front: 'slcan', pace: null, responseMs: 16, jitterMs: 4, ...options },
      port,
    );
    this.daemon = new Daemon({
      clock: this.clock,
      library: this.library,
      sinceBootMs: () => this.clock.nowUs() / 1000 + this.asleepMs,
      linkFactory: (name, clock) => ({
        ...followedLinkFactory(name, {
          clock,
          factoryOf: (p) => this.cable.factory(p),
          list: async () => [
            ...others.map((path) => ({
              path,
              likelyAdapter: true,
              identity: `USB ffff:0001, serial ${path}`,
            })),
            ...(this.cable.pulled
              ? []
              : [{ path: this.cable.port, likelyAdapter: true, identity: 'USB ffff:0001, serial 7' }]),
          ],
        }),
        close: () => this.cable.factory().close(),
      }),
    });
    this.daemon.subscribe((event) => {
      const open = this.daemon.state().run !== null;
      if (event === 'state' && open && this.#from === 0) this.#from = this.cable.arrived.length;
    });
    this.tap.install();
  }

  async start(): Promise<void> {
    await this.until(this.daemon.open());
    await this.until(this.daemon.connect({ link: this.cable.port }));
    this.runId = (await this.until(this.daemon.startRun({ purpose: 'other' }))).id;
  }

  async drive(seconds: number): Promise<void> {
    for (let ms = 0; ms < seconds * 1000; ms += 100) {
      await this.clock.advance(100);
      await this.tap.quiet();
    }
  }

  until<T>(promise: Promise<T>): Promise<T> {
    return this.clock.until(promise, 20, 400_000);
  }

  async stop(): Promise<Awaited<ReturnType<Daemon['stopRun']>>> {
    this.#to = this.cable.arrived.length;
    return this.until(this.daemon.stopRun());
  }

  /** Compares the recording with what arrived, whatever else is asked of it. */
  async compared(
    judge: (recording: Recording) => { readonly wrong?: string | null; readonly told: string },
    mayLose = false,
  ): Promise<Trial> {
    const { runs, troubles } = await listRuns(this.library);
    if (runs.length !== 1)
      return failed(`${runs.length} runs in the library: ${troubles.map(inWords).join(' ')}`);
    const { folder } = runs[0]!;
    const kept: number[] = [];
    for await (const items of readCapture(join(folder, 'capture.txt')))
      for (const { is, ...item } of items)
        if (is === 'record' && 'record' in item && item.record.kind === 'rx' && item.record.tUs > 0)
          kept.push(...item.record.bytes);
    const arrived = this.cable.arrived.slice(this.#from);
    const received = this.#to - this.#from;
    const differs = kept.findIndex((byte, i) => byte !== arrived[i]);
    if (differs >= 0) return failed(`byte ${differs} of the recording is not what arrived`);
    const lost = Math.max(0, received - kept.length);
    const { wrong = null, told } = judge(await openRecording(folder));
    if (wrong) return failed(wrong);
    if (lost > 0 && !mayLose) return { ...failed(`${lost} bytes lost`), received, lost };
    const checked = await check(folder);
    if (!checked.ok)
      return failed(`check: ${checked.items[0]?.remarks.map((r) => english.say(r)).join(' ')}`);
    return { received, lost, wrong: null, told };
  }

  async end(): Promise<void> {
    try {
      await this.until(this.daemon.close());
    } finally {
      this.tap.uninstall();
      rmSync(this.home, { recursive: true, force: true });
    }
  }
}

const failed = (wrong: string): Trial => ({ received: 0, lost: 0, wrong, told: '' });

async function scene(options: Options, play: (s: Scene) => Promise<Trial>): Promise<Trial> {
  const s = new Scene(options);
  try {
    await s.start();
    return await play(s);
  } catch (thrown) {
    return failed(reasonOf(thrown));
  } finally {
    await s.end();
  }
}

/** One gap of about the length, told with its reason, and samples before and after it. */
function oneGap(r: Recording, seconds: readonly [number, number], why: RegExp) {
  const gaps = r.gaps.filter((g) => g.toUs - g.fromUs > 1e6);
  const [gap] = gaps;
  const told = gap?.why ?? 'no gap';
  const lengthS = gap ? (gap.toUs - gap.fromUs) / 1e6 : 0;
  const { tS } = r.table.series('rpm');
  const bridged = gap && tS.some((t) => t > gap.fromUs / 1e6 + 0.5 && t < gap.toUs / 1e6 - 0.5);
  if (gaps.length !== 1) return { wrong: `${gaps.length} gaps`, told };
  if (!why.test(told)) return { wrong: `the gap is told as "${told}"`, told };
  if (lengthS < seconds[0] || lengthS > seconds[1]) return { wrong: `a gap of ${lengthS} s`, told };
  if (bridged || !tS.some((t) => t > gap!.toUs / 1e6)) return { wrong: 'not gone on behind the gap', told };
  return { told };
}

const between = (random: Random, low: number, high: number): number => low + (high - low) * random.next();

function pulled(told: boolean): Fault['once'] {
  return (random) =>
    scene({}, async (s) => {
      await s.drive(between(random, 3, 6));
      s.cable.pull(told);
      await s.drive(8);
      if (s.daemon.state().connection.phase !== 'lost') return failed('the loss was not noticed');
      s.cable.plugIn();
      await s.drive(12);
      await s.stop();
      return s.compared((r) => oneGap(r, [7, 16], /link lost: ./));
    });
}

const codeOf = (promise: Promise<unknown>): Promise<string> =>
  promise.then(
    () => 'accepted',
    (e: unknown) => (e instanceof HandbackError ? e.code : String(e)),
  );

/** A disk that is really full: a small file system in memory, for whoever may mount one; else writes are refused. */
function fillable(s: Scene): { fill(): void; empty(): void; unmount(): void; real: boolean } {
  const space = join(s.library, 'filler');
  try {
    execFileSync('mount', ['-t', 'tmpfs', '-o', 'size=512k', 'tmpfs', s.library], { stdio: 'ignore' });
  } catch {
    const full = Object.assign(new Error('ENOSPC: no space left on device, write'), { code: 'ENOSPC' });
    return {
      real: false,
      fill: () => {
        s.tap.fail = (op) => (op === 'write' ? full : null);
      },
      empty: () => {
        s.tap.fail = () => null;
      },
      unmount: () => undefined,
    };
  }
  return {
    real: true,
    fill: () => {
      for (const bytes of [65_536, 4096, 1])
        try {
          for (;;) writeFileSync(space, Buffer.alloc(bytes), { flag: 'a' });
        } catch {
          // full
        }
    },
    empty: () => rmSync(space),
    unmount: () => execFileSync('umount', ['-l', s.library]),
  };
}

/** Records on a disk that becomes full. @param play begins with the disk full and recording going on */
async function onFullDisk(
  random: Random,
  play: (s: Scene, room: () => void) => Promise<Trial>,
): Promise<Trial> {
  const s = new Scene();
  let disk: ReturnType<typeof fillable> | null = null;
  try {
    rmSync(s.library, { recursive: true, force: true });
    execFileSync('mkdir', ['-p', s.library]);
    disk = fillable(s);
    const { empty } = disk;
    await s.start();
    await s.drive(between(random, 3, 6));
    disk.fill();
    await s.drive(8);
    if (!s.daemon.state().run?.trouble) return failed('nothing was said of the full disk');
    return await play(s, empty);
  } catch (thrown) {
    return failed(reasonOf(thrown));
  } finally {
    await s.end().catch(() => undefined);
    disk?.unmount();
    rmSync(s.home, { recursive: true, force: true });
  }
}

function later(change: (folder: string) => void): Fault['once'] {
  return (random) =>
    scene({}, async (s) => {
      await s.drive(between(random, 3, 5));
      await s.stop();
      const folder = join(s.library, s.runId);
      change(folder);
      const before = readdirSync(folder).map((f) => readFileSync(join(folder, f), 'latin1'));
      const said = await openRecording(folder).then(
        () => null,
        (e: unknown) => e as HandbackError,
      );
      const again = new Daemon({ clock: s.clock, library: s.library });
      await codeOf(again.open());
      await again.close();
      const after = readdirSync(folder).map((f) => readFileSync(join(folder, f), 'latin1'));
      if (said?.code !== 'input.version') return failed(`answered with ${said?.code ?? 'opening it'}`);
      if (JSON.stringify(before) !== JSON.stringify(after)) return failed('it was changed');
      return { received: 0, lost: 0, wrong: null, told: said.message.replace(/^\S*\//, '') };
    });
}

export const FAULTS: readonly Fault[] = [
  { fault: 'Cable pulled, the system tells', how: 'simulated link closes, gone for 8 s', once: pulled(true) },
  {
    fault: 'Cable pulled, the system tells nothing',
    how: 'simulated link falls silent without an event, gone for 8 s',
    once: pulled(false),
  },
  {
    fault: 'Adapter back under another port name',
    how: 'plugged in elsewhere after 4 s; another port of the same kind stands beside it; known by USB ids and serial number',
    once: (random) =>
      scene({ port: 'port-0', others: ['port-1', 'port-2'] }, async (s) => {
        await s.drive(between(random, 3, 6));
        s.cable.pull(random.next() < 0.5);
        await s.drive(4);
        s.cable.plugIn('port-3');
        await s.drive(15);
        await s.stop();
        return s.compared((r) => ({
          ...oneGap(r, [3.5, 16], /link lost: ./),
          ...(s.cable.names.at(-1) === 'port-3' ? {} : { wrong: 'not found again' }),
        }));
      }),
  },
  {
    fault: 'Adapter reset on the way',
    how: 'its power is taken and given back: all settings forgotten; text adapter and serial-line CAN in turn',
    once: (random) =>
      scene({ front: random.next() < 0.5 ? 'at' : 'slcan', quirks: ['restarts-after=9'] }, async (s) => {
        await s.drive(20);
        await s.stop();
        return s.compared((r) => {
          const { tS } = r.table.series('rpm');
          const longest = Math.max(...tS.map((t, i) => t - (tS[i - 1] ?? t)));
          const told = `link lost and found, at most ${longest.toFixed(0)} s without samples`;
          return longest < 8 && tS.at(-1)! > 15 ? { told } : { wrong: `${longest} s without samples`, told };
        });
      }),
  },
  {
    fault: 'Vehicle off and on again',
    how: 'the control units fall silent for 10 s, the adapter answers on',
    once: (random) =>
      scene({}, async (s) => {
        await s.drive(between(random, 3, 6));
        s.ignition = false;
        await s.drive(10);
        s.ignition = true;
        await s.drive(8);
        await s.stop();
        return s.compared((r) => oneGap(r, [9, 14], /vehicle did not answer/));
      }),
  },
  {
    fault: 'Disk full, room again later',
    how: 'a small file system filled to the last byte for 8 s (writes refused where none may be mounted); stopped and marked meanwhile',
    once: (random) =>
      onFullDisk(random, async (s, empty) => {
        const refused = await codeOf(s.stop());
        if (refused !== 'run.write') return failed(`the first stop was answered with ${refused}`);
        await s.daemon.mark({ key: 'N', text: 'after the refusal' });
        empty();
        await s.drive(3);
        if (s.daemon.state().run?.trouble) return failed('not written on when there was room');
        const { closed } = await s.stop();
        return s.compared((r) =>
          closed && r.marks.some((m) => m.text === 'after the refusal')
            ? { told: 'written on, the mark of meanwhile too' }
            : { wrong: 'the mark is missing', told: '' },
        );
      }),
  },
  {
    fault: 'Disk full to the end',
    how: 'the same without room: stopped twice',
    once: (random) =>
      onFullDisk(random, async (s) => {
        await codeOf(s.stop());
        await s.drive(1);
        const { missing } = await s.stop();
        if (s.daemon.state().run !== null || !missing)
          return failed('not ended with a word on what is missing');
        const trial = await s.compared((r) => {
          const said = r.warnings.map((w) => english.say(w)).find((w) => w.includes(missing));
          return said
            ? { told: missing }
            : { wrong: `the capture says ${r.warnings.map((w) => english.say(w)).join(' ')}`, told: '' };
        }, true);
        return trial.lost > 0 ? trial : { ...trial, wrong: trial.wrong ?? 'nothing was lost on a full disk' };
      }),
  },
  {
    fault: 'Library folder becomes read-only',
    how: 'every change refused with EROFS for 8 s',
    once: (random) =>
      scene({}, async (s) => {
        await s.drive(between(random, 3, 6));
        const changes = ['write', 'truncate', 'rename', 'link', 'remove', 'mkdir'];
        s.tap.fail = (op) =>
          changes.includes(op)
            ? Object.assign(new Error('EROFS: read-only file system'), { code: 'EROFS' })
            : null;
        await s.drive(8);
        const said = s.daemon.state().run?.trouble ?? '';
        s.tap.fail = () => null;
        await s.drive(3);
        await s.stop();
        return s.compared(() => ({
          wrong: /can only be read/.test(said) ? null : `said: ${said}`,
          told: 'said at once',
        }));
      }),
  },
  {
    fault: 'Library folder vanishes',
    how: 'deleted, or its stick pulled for 8 s',
    once: (random) =>
      scene({}, async (s) => {
        await s.drive(between(random, 3, 6));
        const stick = random.next() < 0.5;
        if (stick) {
          renameSync(s.library, `${s.library}-away`);
          writeFileSync(s.library, 'nothing can be made here');
        } else rmSync(s.library, { recursive: true });
        await s.drive(8);
        const said = s.daemon.state().run?.trouble ?? '';
        if (stick) {
          rmSync(s.library);
          renameSync(`${s.library}-away`, s.library);
          if (!/kept in memory/.test(said)) return failed(`said: ${said}`);
        }
        await s.drive(3);
        await s.stop();
        return s.compared(() => ({ told: 'made anew, or gone on with when it was back' }));
      }),
  },
  {
    fault: 'Laptop asleep for an hour',
    how: 'the time since its start goes on, the monotonic clock stands still, wall clock an hour on',
    once: (random) =>
      scene({}, async (s) => {
        await s.drive(between(random, 3, 6));
        s.asleepMs = 3_600_000;
        s.clock.jumpWall(3_600_000);
        await s.drive(8);
        await s.stop();
        return s.compared((r) => oneGap(r, [3599, 3602], /asleep/));
      }),
  },
  {
    fault: 'Wall clock set back or forward',
    how: 'by up to five hours, twice in a run',
    once: (random) =>
      scene({}, async (s) => {
        const first = Math.round(between(random, -18e6, 18e6));
        await s.drive(3);
        s.clock.jumpWall(first);
        await s.drive(4);
        s.clock.jumpWall(-2 * first);
        await s.drive(4);
        const { seconds } = await s.stop();
        const sinceS = s.clock.nowUs() / 1e6;
        return s.compared((r) => {
          const told = 'no gap, no jump in run time';
          const [gap] = r.gaps;
          if (gap) return { wrong: `a gap: ${gap.why}`, told };
          // the clock goes on while the disk is written to
          const right = seconds !== null && seconds > 10.9 && seconds < sinceS;
          return right ? { told } : { wrong: `${seconds} s long`, told };
        });
      }),
  },
  {
    fault: 'Two daemons on one library',
    how: 'a second one is started, connects to a car of its own and wants to record, while the first records',
    once: () =>
      scene({}, async (s) => {
        await s.drive(2);
        const second = new Daemon({ clock: s.clock, library: s.library });
        const said = await second.open().catch(reasonOf);
        await s.until(second.connect({ link: 'sim' }));
        const code = await codeOf(s.until(second.startRun({ purpose: 'other' })));
        await s.until(second.close());
        await s.drive(3);
        await s.stop();
        if (code !== 'run.busy' || typeof said !== 'string')
          return failed(`the second was answered: ${code}`);
        return s.compared(() => ({ told: `refused: ${said.replace(/ \/\S+/, '')}` }));
      }),
  },
  {
    fault: 'Run of a later version',
    how: 'run.json says so; opened, and the daemon started on it',
    once: later((folder) => replaceIn(join(folder, 'run.json'), 'handback.run/1', 'handback.run/2')),
  },
  {
    fault: 'Capture of a later version, left open',
    how: 'its first line says so; opened, and the daemon started on it',
    once: later((folder) => {
      replaceIn(join(folder, 'capture.txt'), 'handback-capture 1', 'handback-capture 3');
      replaceIn(join(folder, 'run.json'), /"sha256": "\w+"/, '"sha256": null');
    }),
  },
];

function replaceIn(path: string, what: string | RegExp, by: string): void {
  writeFileSync(path, readFileSync(path, 'utf8').replace(what, by));
}

export async function trials(fault: Fault, times: number): Promise<{ trials: Trial[]; broken: string[] }> {
  const random = seededRandom(fault.fault);
  const out: Trial[] = [];
  for (let i = 0; i < times; i++) out.push(await fault.once(random));
  return { trials: out, broken: out.flatMap((t) => (t.wrong === null ? [] : [t.wrong])) };
}

export async function faultRows(times: number): Promise<Row[]> {
  const rows: Row[] = [];
  for (const fault of FAULTS) {
    const { trials: all, broken } = await trials(fault, times);
    const sum = (of: (t: Trial) => number): number => all.reduce((n, t) => n + of(t), 0);
    const received = sum((t) => t.received);
    const lost = received > 0 ? `${sum((t) => t.lost)} of ${received} bytes that arrived; ` : '';
    const told = [...new Set(all.map((t) => t.told).filter((t) => t !== ''))].slice(0, 2).join(' / ');
    rows.push({
      fault: fault.fault,
      how: fault.how,
      times,
      lost: `${lost}${broken.length === 0 ? told : [...new Set(broken)].slice(0, 3).join('; ')}`,
      kept: broken.length === 0,
    });
  }
  return rows;
}
