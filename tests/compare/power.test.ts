/** What pulls leave for accelerating and climbing: the same on the flat and uphill, less with a fault, nothing without a receiver. */
import { beforeAll, expect, it } from 'vitest';
import { compareRuns } from '../../src/compare/compare.ts';
import type { ComparedRun } from '../../src/compare/runs.ts';
import { profileSchema } from '../../src/core/profile.ts';
import { isReceiverSignal, type Sample } from '../../src/core/signals.ts';
import { english } from '../../src/words/spelled.ts';
import { pullRoute } from './pull-route.ts';
import { type ReceiverDrive, receiverDrive } from './receiver-drive.ts';

const twin = profileSchema.parse({ induction: 'twin-charged', fuel: 'petrol' });

const air = { ambientC: 15, baroKpa: 99 };
let flat: ReceiverDrive;
let uphill: ReceiverDrive;
let broken: ReceiverDrive;
/** Of the simulated car that is driven here, kg. */
const MASS_KG = 1430;
/** Of the engine, W: what no receiver sees. */
const truth: { tUs: number; watts: number; mps: number }[] = [];
beforeAll(async () => {
  flat = await receiverDrive({
    ...air,
    route: pullRoute(0, 4),
    seed: 1,
    watch: ({ truth: t }, tUs) =>
      truth.push({ tUs, watts: (t.torqueNm * t.rpm * Math.PI) / 30, mps: t.vehicleMps }),
  });
  uphill = await receiverDrive({ ...air, route: pullRoute(5, 4), seed: 2, hz: 2 });
  broken = await receiverDrive({ ...air, route: pullRoute(5, 4), seed: 4, fault: 'clutch-never-closes' });
}, 60_000);

const run = (role: ComparedRun['role'], samples: readonly Sample[]) => ({
  id: role,
  label: role,
  role,
  startedAt: '2026-03-02T08:00:00Z',
  vin: null,
  profile: twin,
  samples,
});

it('is the same on the flat and at 5 % within its interval, where acceleration alone differs by more', () => {
  const c = compareRuns([run('before', flat.samples), run('after', uphill.samples)]);
  const { interval, before, after } = c.overall.at(-1)!.power!;
  expect(interval![0]).toBeLessThan(0);
  expect(interval![1]).toBeGreaterThan(0);
  expect(interval![1] - interval![0]).toBeLessThan(14);
  expect([before.pulls, after.pulls]).toEqual([4, 4]);
  expect(c.power!.before.pct).toBeCloseTo(0, 0);
  expect(Math.abs(c.power!.after.pct - 5)).toBeLessThan(2 * c.power!.after.sdPct);
  // The same heights made level: the hill is taken for less power.
  const level = uphill.samples.map((s) => (s.signal === 'gnss_height_m' ? { ...s, value: 300 } : s));
  const naive = compareRuns([run('before', flat.samples), run('after', level)]).overall.at(-1)!.power!;
  expect(naive.interval![1]).toBeLessThan(0);
  expect(naive.differenceWkg).toBeLessThan(-5);
});

it('is less than the engine gives a kilogram, by what rolling, air and the gears take', () => {
  const c = compareRuns([run('before', flat.samples), run('after', uphill.samples)]);
  const pull = c.runs[0]!.pulls[1]!;
  const within = truth.filter((p) => p.tUs / 1e6 >= pull.fromS + 3 && p.tUs / 1e6 <= pull.toS - 1);
  const engine = within.reduce((a, p) => a + p.watts, 0) / within.length;
  const { wkg } = c.overall.at(-1)!.power!.before;
  expect(wkg).toBeGreaterThan((0.6 * engine) / MASS_KG);
  expect(wkg).toBeLessThan(engine / MASS_KG);
});

it('rises where the clutch was repaired, and is said with what it rests on and without a verdict', () => {
  const c = compareRuns([run('before', broken.samples), run('after', flat.samples)]);
  const band = c.overall[0]!;
  expect(band.power!.interval![0]).toBeGreaterThan(5);
  const said = c.observations.map((o) => english.say(o)).join(' ');
  expect(said).toMatch(/Left for accelerating and climbing, clutch band: \d+\.\d W\/kg before/);
  expect(said).toMatch(/the mass is not known.*no verdict rests on it/);
});

it('is not there without a receiver, and nothing else differs', () => {
  const without = (drive: ReceiverDrive) => drive.samples.filter((s) => !isReceiverSignal(s.signal));
  const plain = compareRuns([run('before', without(broken)), run('after', without(flat))]);
  expect(plain.power).toBeNull();
  expect(plain.observations).toEqual([]);
  expect(plain.overall.every((r) => r.power === null)).toBe(true);
  const c = compareRuns([run('before', broken.samples), run('after', flat.samples)]);
  expect(c.overall.map((r) => ({ ...r, power: null }))).toEqual(plain.overall);
  expect(c.points).toEqual(plain.points);
  // One side alone says nothing.
  const half = compareRuns([run('before', without(broken)), run('after', flat.samples)]);
  expect(half.power).toBeNull();
});
