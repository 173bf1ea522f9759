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

const drive = [...driveSamples({ hz: 5 })];
const length = (drive.at(-1)?.tUs ?? 0) + 1e6;
function twoHours(): Sample[] {
  const out: Sample[] = [];
  const total = 2 * 3600 * 30;
  for (let lap = 0; out.length < total; lap++)
    for (const s of drive) {
      if (out.length >= total) break;
      out.push({ ...s, tUs: s.tUs + lap * length, sentUs: s.sentUs + lap * length });
    }
  return out;
}
const samples = twoHours();
const judge = (n: number): number =>
  secondsOf(() => {
    const j = new Judge({ induction: 'twin-charged', fuel: 'petrol' }, null);
    for (let i = 0; i < n; i++) j.push(samples[i]!);
    j.finish('bench');
  });
judge(20_000);
const half = judge(samples.length / 2);
const whole = judge(samples.length);
row(`judging ${samples.length} samples (two hours at 30 a second)`, `${whole.toFixed(2)} s`);
row('growth of judging from one hour to two (2 is linear)', (whole / half).toFixed(2));
row('judging, a sample', `${((1e6 * whole) / samples.length).toFixed(1)} µs`);

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
