/** `npm run bench`: speed as ratios measured in one run; nothing here passes or fails. */
import { Judge } from '../../src/analysis/judge.ts';
import { systemClock } from '../../src/core/clock.ts';
import type { Sample } from '../../src/core/signals.ts';
import { VehicleSession } from '../../src/poll/session.ts';
import { simLinkFactory } from '../../src/sim/bench.ts';
import { createVehicle } from '../../src/sim/vehicle/vehicle.ts';
import { driveSamples } from '../analysis/vehicle.ts';

const row = (what: string, figure: string): void => console.log(`${what.padEnd(58)} ${figure}`);
const secondsOf = (fn: () => void): number => {
  const from = performance.now();
  fn();
  return (performance.now() - from) / 1000;
};

const car = createVehicle({});
row('simulated seconds per second of one core', (600 / secondsOf(() => car.advance(600))).toFixed(0));

// Judging: one simulated road test, driven over and over without a break; laps are made as they are needed.
const drive = [...driveSamples({ hz: 5 })];
const lapUs = (drive.at(-1)?.tUs ?? 0) + 1e6;
function* laps(n: number): Generator<Sample> {
  for (let i = 0; i < n; i++) {
    const s = drive[i % drive.length]!;
    const byUs = Math.floor(i / drive.length) * lapUs;
    yield { ...s, tUs: s.tUs + byUs, sentUs: s.sentUs + byUs };
  }
}
/** Processor seconds of judging alone, so that a loaded machine does not show. */
function judge(samples: Iterable<Sample>): number {
  const j = new Judge({ induction: 'twin-charged', fuel: 'petrol' }, null);
  const from = process.cpuUsage();
  for (const s of samples) j.push(s);
  j.finish('bench');
  const { user, system } = process.cpuUsage(from);
  return (user + system) / 1e6;
}
const TWO_HOURS = 2 * 3600 * 30;
const twoHours = [...laps(TWO_HOURS)];
judge(twoHours.slice(0, 20_000));
const two = judge(twoHours);
row(`judging ${TWO_HOURS} samples (two hours at 30 a second), processor time`, `${two.toFixed(2)} s`);
row('judging, a sample', `${((1e6 * two) / TWO_HOURS).toFixed(1)} µs`);
const making = (n: number): number => {
  const from = process.cpuUsage();
  for (const _ of laps(n));
  const { user, system } = process.cpuUsage(from);
  return (user + system) / 1e6;
};
for (const times of [1, 5, 25]) {
  const n = TWO_HOURS * times;
  const each = (1e6 * (judge(laps(n)) - making(n))) / n;
  row(`judging ${2 * times} h at 30 a second, a sample (level is linear)`, `${each.toFixed(1)} µs`);
}

for (const [front, pace] of [
  ['at', 38_400],
  ['at', 115_200],
  ['at', 500_000],
  ['slcan', 1_000_000],
] as const) {
  const factory = simLinkFactory({
    vehicle: createVehicle({ route: 'motorway' }),
    clock: systemClock,
    front,
    pace,
  });
  const session = new VehicleSession({ factory, family: 'auto', clock: systemClock, tap: () => undefined });
  await session.start();
  await new Promise((r) => setTimeout(r, 3000));
  const cpu = process.cpuUsage();
  const before = session.counters().samples;
  await new Promise((r) => setTimeout(r, 8000));
  const used = process.cpuUsage(cpu);
  const c = session.counters();
  const n = c.samples - before;
  row(
    `${front} at ${pace}: samples a second, share of the link's limit`,
    `${(n / 8).toFixed(0)}, ${(n / 8 / (c.linkLimitPerSecond ?? Number.NaN)).toFixed(2)}`,
  );
  row(
    '  processor time per thousand samples (car, adapter, recorder)',
    `${((used.user + used.system) / n).toFixed(0)} ms`,
  );
  await session.stop();
  factory.close();
}
