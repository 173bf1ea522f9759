/**
 * `npx tsx tests/bench/compress.ts [MINUTES]`: what keeping ended captures compressed saves and costs. The simulated car
 * driven so long with each kind of adapter, its clock run as fast as it goes; then, in turn in one process and for both
 * forms: the digest (what opening a run judged before takes of its capture), and everything read. Processor seconds of
 * this process, its helper threads included, so that a busy machine shows less; scaled to an hour.
 */
import { cpSync, mkdtempSync, rmSync, statSync } from 'node:fs';
import { loadavg, tmpdir } from 'node:os';
import { join } from 'node:path';
import { ManualClock } from '../../src/core/clock.ts';
import { Daemon } from '../../src/desk/daemon.ts';
import { compressRun } from '../../src/run/compress.ts';
import { COMPRESSED_FILE, captureOf } from '../../src/run/meta.ts';
import { readRun } from '../../src/run/recording.ts';
import { plainDigest } from '../../src/run/unpack.ts';
import { type SimulationOptions, simLinkFactory } from '../../src/sim/bench.ts';
import { createVehicle } from '../../src/sim/vehicle/vehicle.ts';

const minutes = Number(process.argv[2] ?? 10);
const ROUNDS = 3;
const IN_FULL = { signal: new AbortController().signal, progress: () => undefined };
const DRIVES: readonly (readonly [name: string, options: Partial<SimulationOptions>])[] = [
  ['text adapter, 38,400 bit/s', { pace: 38_400 }],
  ['text adapter, 500,000 bit/s', { pace: 500_000 }],
  ['serial-line CAN', { front: 'slcan', pace: 1_000_000 }],
];

async function driven(folder: string, options: Partial<SimulationOptions>): Promise<void> {
  const clock = new ManualClock();
  const daemon = new Daemon({
    clock,
    library: join(folder, '.library'),
    linkFactory: () =>
      simLinkFactory({
        vehicle: createVehicle({ route: 'warm-road-test' }),
        seed: 'bench',
        ...options,
        clock,
      }),
  });
  await clock.until(daemon.connect({ link: 'sim' }));
  await clock.until(daemon.startRunIn(folder, { purpose: 'other' }));
  await clock.advance(minutes * 60_000);
  await clock.until(daemon.stopRun());
  await clock.until(daemon.close());
}

async function cpuS(work: () => Promise<unknown>): Promise<number> {
  const from = process.cpuUsage();
  await work();
  const { user, system } = process.cpuUsage(from);
  return (user + system) / 1e6;
}

const median = (times: readonly number[]): number => times.toSorted((a, b) => a - b)[times.length >> 1]!;
const home = mkdtempSync(join(tmpdir(), 'handback-compress-'));
try {
  for (const [name, options] of DRIVES) {
    const plain = join(home, 'plain');
    await driven(plain, options);
    const bytes = statSync((await captureOf(plain))!).size;
    const times: Record<string, number[]> = {};
    const timed = async (what: string, work: () => Promise<unknown>): Promise<void> => {
      times[what] = [...(times[what] ?? []), (await cpuS(work)) * (60 / minutes)];
    };
    const packed = join(home, 'packed');
    let packedBytes = 0;
    for (let round = 0; round < ROUNDS; round++) {
      rmSync(packed, { recursive: true, force: true });
      cpSync(plain, packed, { recursive: true });
      await timed('compressed and verified', () => compressRun(packed, IN_FULL));
      packedBytes = statSync(join(packed, COMPRESSED_FILE)).size;
      for (const [form, folder] of [
        ['plain', plain],
        ['compressed', packed],
      ] as const) {
        await timed(`digest, ${form}`, async () => plainDigest((await captureOf(folder))!));
        await timed(`read whole, ${form}`, () => readRun(folder, () => undefined));
      }
    }
    const hour = 60 / minutes / 1e6;
    console.log(
      `${name}: ${(bytes * hour).toFixed(1)} MB an hour, compressed ${(packedBytes * hour).toFixed(1)} MB (${(bytes / packedBytes).toFixed(1)} times smaller)`,
    );
    for (const [what, all] of Object.entries(times))
      console.log(
        `  ${what.padEnd(30)} ${median(all).toFixed(2)} s of a core (${all.map((s) => s.toFixed(2)).join(', ')})`,
      );
    rmSync(plain, { recursive: true, force: true });
  }
  console.log(`(${minutes} minutes driven, figures for an hour; load ${loadavg()[0]!.toFixed(1)})`);
} finally {
  rmSync(home, { recursive: true, force: true });
}
