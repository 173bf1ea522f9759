/** Whole comparisons of simulated drives, and of runs that cannot be compared. */
import { describe, expect, it } from 'vitest';
import { compareRuns } from '../../src/compare/compare.ts';
import type { ComparedRun } from '../../src/compare/runs.ts';
import { profileSchema } from '../../src/core/profile.ts';
import type { Says } from '../../src/core/says.ts';
import type { Sample } from '../../src/core/signals.ts';
import { english } from '../../src/words/spelled.ts';
import { driveSamples } from '../analysis/vehicle.ts';

const twin = profileSchema.parse({ induction: 'twin-charged', fuel: 'petrol' });
const drives = new Map<string, Sample[]>();

function drive(options: Parameters<typeof driveSamples>[0]): Sample[] {
  const key = JSON.stringify(options);
  let samples = drives.get(key);
  if (!samples) {
    samples = [...driveSamples(options)];
    drives.set(key, samples);
  }
  return samples;
}

const run = (role: ComparedRun['role'], samples: Iterable<Sample>, more: Partial<ComparedRun> = {}) => ({
  id: `${role} ${more.startedAt ?? ''}`,
  label: role,
  role,
  startedAt: role === 'before' ? '2026-03-02T08:00:00Z' : '2026-03-05T08:00:00Z',
  vin: null,
  profile: twin,
  samples,
  ...more,
});

const told = (says: readonly Says[]) => says.map((s) => english.say(s)).join(' ');
const region = (c: ReturnType<typeof compareRuns>, name: string) =>
  c.overall.find((r) => english.say(r.region) === name)!;
const only = (samples: Iterable<Sample>, keep: (s: Sample) => boolean) => [...samples].filter(keep);

const healthy = () => drive({ seed: 2 });
const broken = () => drive({ seed: 1, fault: 'clutch-never-closes' });

describe('a clutch that did not close and does now', () => {
  it('is better in the clutch band, by what it was short, with the interval around it', () => {
    const c = compareRuns([run('before', broken()), run('after', healthy())]);
    const band = region(c, 'clutch band');
    expect(band.verdict).toBe('better');
    expect(band.effectPct!).toBeGreaterThan(40);
    expect(band.interval![0]).toBeLessThan(band.effectPct!);
    expect(band.interval![1]).toBeGreaterThan(band.effectPct!);
    expect(band.effectKpa!).toBeCloseTo((band.before.mean! * band.effectPct!) / 100, 0);
    expect(band.needs).toBeNull();
    expect(c.problems.map((p) => p.id)).not.toContain('compare.vehicles');
    expect(c.points.some((p) => p.verdict === 'better' && p.rpm[1] <= 2500)).toBe(true);
    expect(c.points.every((p) => p.verdict !== 'worse')).toBe(true);
    expect(c.days.relation).toBe('other day');
    expect(c.difference!.rpm.length).toBeGreaterThan(3);
    expect(c.runs.map((r) => r.pulls.length > 3)).toEqual([true, true]);
  });

  it('is the same told by runs at different rates, slow against fast', () => {
    const slow = drive({ seed: 1, fault: 'clutch-never-closes', hz: 1 });
    const fast = drive({ seed: 2, hz: 12 });
    const c = compareRuns([run('before', slow), run('after', fast)]);
    expect(region(c, 'clutch band').verdict).toBe('better');
    const [b, a] = c.runs;
    expect(a!.samplesPerS / b!.samplesPerS).toBeGreaterThan(10);
  });

  it('turned around is worse, and the come-back is held against after', () => {
    const c = compareRuns([
      run('before', broken()),
      run('after', healthy()),
      run('come-back', broken(), { startedAt: '2026-06-05T08:00:00Z' }),
    ]);
    expect(region(c, 'clutch band').verdict).toBe('better');
    expect(region(c.comeBack!, 'clutch band').verdict).toBe('worse');
    expect(c.comeBack!.runs.map((r) => r.role)).toEqual(['before', 'after']);
  });
});

describe('the same car twice', () => {
  it('is not called better or worse, and two runs a side narrow the interval', () => {
    const one = compareRuns([run('before', drive({ seed: 1 })), run('after', healthy())]);
    for (const r of one.overall) expect(['no worse', 'not shown']).toContain(r.verdict);
    for (const p of one.points) expect(['no worse', 'not shown']).toContain(p.verdict);
    const two = compareRuns([
      run('before', drive({ seed: 1 })),
      run('before', drive({ seed: 3 }), { startedAt: '2026-03-03T08:00:00Z' }),
      run('after', healthy()),
      run('after', drive({ seed: 4 }), { startedAt: '2026-03-06T08:00:00Z' }),
    ]);
    const width = (c: typeof one) => {
      const [low, high] = region(c, 'all').interval!;
      return high - low;
    };
    expect(width(two)).toBeLessThan(width(one));
  });

  it('has a narrower interval on one day than on two', () => {
    const runs = [
      run('before', drive({ seed: 1 }), { startedAt: null }),
      run('after', healthy(), { startedAt: null }),
    ];
    const [unknown, same] = [compareRuns(runs), compareRuns(runs, { sameDay: true })];
    expect(unknown.days.relation).toBe('not known');
    expect(same.days.relation).toBe('same day');
    expect(region(same, 'all').interval![0]).toBeGreaterThan(region(unknown, 'all').interval![0]);
    expect(region(same, 'all').effectPct).toBe(region(unknown, 'all').effectPct);
  });

  it('at another altitude shows the same after correction', () => {
    const thin = healthy().map((s) =>
      s.signal === 'map_kpa' || s.signal === 'baro_kpa' ? { ...s, value: s.value * 0.9 } : s,
    );
    const level = compareRuns([run('before', drive({ seed: 1 })), run('after', healthy())]);
    const high = compareRuns([run('before', drive({ seed: 1 })), run('after', thin)]);
    expect(region(high, 'all').effectPct!).toBeCloseTo(region(level, 'all').effectPct!, 0);
    // the power with which pressure follows the air is known to 0.3 only: 10 % more or less air cost 3 %
    const half = (c: typeof level) => region(c, 'all').interval![1] - region(c, 'all').effectPct!;
    expect(half(high)).toBeGreaterThan(half(level) + 1);
    expect(told(high.corrections)).toMatch(/barometric/);
  });

  it('on a road that climbs through the whole drive shows the same: each pull stands on the air where it was driven', () => {
    const end = healthy().at(-1)!.tUs;
    const climbing = healthy().map((s) =>
      s.signal === 'map_kpa' || s.signal === 'baro_kpa'
        ? { ...s, value: s.value * (1 - 0.12 * (s.tUs / end)) }
        : s,
    );
    const level = compareRuns([run('before', drive({ seed: 1 })), run('after', healthy())]);
    const uphill = compareRuns([run('before', drive({ seed: 1 })), run('after', climbing)]);
    for (const name of ['clutch band', 'all'])
      expect(region(uphill, name).effectPct!).toBeCloseTo(region(level, name).effectPct!, 0);
    const rise = (c: typeof level) => c.tipIn.difference!;
    expect(Math.abs(rise(uphill) - rise(level))).toBeLessThan(6);
    // Of its pulls, not of its end.
    const last = climbing.findLast((s) => s.signal === 'baro_kpa')!.value;
    expect(uphill.runs.find((r) => r.role === 'after')!.baroKpa!).toBeGreaterThan(last + 2);
  });
});

describe('too little driven', () => {
  it('is not shown, and following what it asks for gives the verdict', () => {
    const short = only(healthy(), (s) => s.tUs < 200e6);
    const c = compareRuns([run('before', broken()), run('after', short)]);
    const band = region(c, 'clutch band');
    expect(band.verdict).toBe('not shown');
    const asked = /(\d+|One) more pulls?: full pedal from (\d+) to (\d+)\srpm in the gear that makes (\d+)/;
    const [, , low, high] = asked.exec(english.say(band.needs!))!;
    expect(Number(low)).toBeGreaterThanOrEqual(1200);
    expect(Number(high)).toBeLessThanOrEqual(2400);
    // the same car, driven on through the route's pulls in that band
    const more = compareRuns([run('before', broken()), run('after', healthy())]);
    expect(region(more, 'clutch band').verdict).toBe('better');
  });

  it('asks for no drive of the visit before when the car came back', () => {
    const nothing = only(broken(), (s) => s.tUs < 100e6);
    const c = compareRuns([run('after', nothing), run('come-back', healthy())]).comeBack!;
    const needs = [...c.overall, c.coolant.plateau, c.coolant.warmUp].flatMap((r) => r.needs ?? []);
    expect(needs.map((n) => n.id)).toContain('compare.need.past');
    for (const n of needs) expect(english.say(n)).not.toMatch(/as it was|runs before/);
  });

  it('before cannot be made up for, and that is said', () => {
    const nothing = only(broken(), (s) => s.tUs < 100e6);
    const c = compareRuns([run('before', nothing), run('after', healthy())]);
    expect(english.say(region(c, 'clutch band').needs!)).toMatch(/only possible while the car is as it was/);
  });
});

describe('runs that cannot be compared', () => {
  it('of other vehicles are not, whatever they show', () => {
    const c = compareRuns([
      run('before', broken(), { vin: 'XHBVELM14TS000017' }),
      run('after', healthy(), { vin: 'XHBNRBY20TD000023' }),
    ]);
    expect(told(c.problems)).toMatch(/different vehicles.*XHBVELM14TS000017.*XHBNRBY20TD000023/);
    expect(c.points).toEqual([]);
    expect(c.overall.map((r) => r.verdict)).toEqual(['not shown']);
    expect(c.coolant.plateau.verdict).toBe('not shown');
    expect(c.tipIn.verdict).toBe('not shown');
  });

  it('of other induction keep their coolant', () => {
    const c = compareRuns([
      run('before', broken(), { profile: profileSchema.parse({ induction: 'turbocharger' }) }),
      run('after', healthy()),
    ]);
    expect(told(c.problems)).toMatch(/turbocharger in the run before.*twin-charged in the run after/);
    expect(c.overall[0]!.verdict).toBe('not shown');
    expect(c.coolant.plateau.verdict).not.toBe('not shown');
  });

  it('without pressure or pedal say which signal is missing, and compare the rest', () => {
    const blind = only(healthy(), (s) => s.signal !== 'map_kpa' && !/pedal|throttle/.test(s.signal));
    const c = compareRuns([run('before', broken()), run('after', blind)]);
    expect(told(c.problems)).toMatch(
      /after.*: no manifold absolute pressure,.*after.*: no pedal or throttle position,/,
    );
    expect(c.coolant.plateau.verdict).not.toBe('not shown');
  });

  it('with unknown altitude are compared with more doubt, and say so', () => {
    const sea = (s: Sample) => s.signal !== 'baro_kpa' && s.tUs > 15e6 && s.tUs < 700e6;
    const known = compareRuns([run('before', broken()), run('after', healthy())]);
    const c = compareRuns([run('before', broken()), run('after', only(healthy(), sea))]);
    expect(told(c.problems)).toMatch(/altitude is not known/);
    const half = (x: typeof c) => region(x, 'clutch band').interval![1] - region(x, 'clutch band').effectPct!;
    expect(half(c)).toBeGreaterThan(half(known));
  });

  it('when empty, or one side missing, are told so', () => {
    expect(told(compareRuns([]).problems)).toBe('There is no run before. There is no run after.');
    const c = compareRuns([run('before', broken()), run('after', [])]);
    for (const r of c.overall) expect(r.verdict).toBe('not shown');
  });
});
