/** What the whole judge says of simulated drives. The simulated car knows no detector, and no detector knows it. */
import { describe, expect, it } from 'vitest';
import { judgeTable } from '../../src/analysis/judge.ts';
import { profileSchema } from '../../src/core/profile.ts';
import { english } from '../../src/words/spelled.ts';
import { driveSamples } from './vehicle.ts';

const twin = profileSchema.parse({ induction: 'twin-charged', fuel: 'petrol' });

type Judged = ReturnType<typeof judgeTable>;
const known = new Map<string, Judged>();

/** Each drive is judged once. */
function judged({ seed = 1, ...options }: Parameters<typeof driveSamples>[0]): Judged {
  const key = JSON.stringify([seed, options]);
  const j = known.get(key) ?? judgeTable(driveSamples({ seed, ...options }), twin, null, 'drive');
  known.set(key, j);
  return j;
}

const faultsOf = (j: Judged) => j.findings.filter((f) => f.verdict === 'fault shown').map((f) => f.id);

describe('a healthy twin-charged car', () => {
  it.each([1, 2, 3])('is accused of nothing, seed %i', (seed) => {
    const j = judged({ seed });
    expect(faultsOf(j)).toEqual([]);
    expect(j.pulls.length).toBeGreaterThanOrEqual(8);
  });

  it('is not called good after a short drive, and is told what to drive', () => {
    const j = judged({ route: 'short' });
    expect(faultsOf(j)).toEqual([]);
    for (const system of Object.values(j.systems)) {
      expect(system.verdict).toBe('not shown');
      expect(english.say(system.needs!)).toMatch(/[Dd]rive|settle|idle/);
    }
  });
});

describe('a faulty car', () => {
  it.each([
    ['clutch-never-closes', 'boost', 'boost.clutch-band', /clutch does not close/],
    ['weak-turbo', 'boost', 'boost.above-hand-over', /turbocharger/],
    ['no-circulation', 'coolant', 'coolant.climb', /circulation|pump/],
    ['thermostat-open', 'coolant', 'coolant.too-cold', /thermostat/],
    ['air-in-system', 'coolant', 'coolant.jumps', /air/],
  ] as const)('%s is shown in %s, with evidence and cause', (fault, system, id, cause) => {
    const j = judged({ fault });
    expect(j.systems[system].verdict).toBe('fault shown');
    const finding = j.findings.find((f) => f.id === id && f.verdict === 'fault shown');
    expect(english.say(finding!.pointsTo!)).toMatch(cause);
    expect(finding?.saidAtS).not.toBeNull();
    expect(finding?.evidence.length).toBeGreaterThan(0);
    expect(finding?.limit?.source).toBeTruthy();
    expect(finding?.rule).toBeTruthy();
  });

  it('whose boost is missing in the clutch band is spoken of at one of the first engagements', () => {
    const j = judged({ fault: 'clutch-never-closes' });
    const said = j.systems.boost.saidAtS ?? Number.POSITIVE_INFINITY;
    const before = j.pulls.filter((p) => p.engagement && p.fromS < said);
    expect(before.length).toBeLessThanOrEqual(3);
  });

  it.each([
    'clutch-never-closes',
    'clutch-sometimes',
    'clutch-slips',
    'weak-turbo',
    'boost-leak',
    'map-frozen',
  ])('%s never ends as boost shown good', (fault) => {
    for (const seed of [1, 2]) expect(judged({ fault, seed }).systems.boost.verdict).not.toBe('shown good');
  });
});

it('counts single changed digits, uses none of them as evidence, and says the same as without', () => {
  const drive = [...driveSamples({ seed: 4 })];
  let n = 0;
  let put = 0;
  const spoilt = drive.map((s) => {
    // 0x40 of engine speed's first byte, where neighbours are near: 4096 of its quarter turns.
    if (s.signal !== 'rpm' || n++ % 97 !== 50 || s.value > 4000) return s;
    put++;
    return { ...s, value: s.value + 4096 };
  });
  const clean = judgeTable(drive, twin, null, 'drive');
  const judged = judgeTable(spoilt, twin, null, 'drive');
  const rpm = judged.signals.find((s) => s.name === 'rpm');
  expect(put).toBeGreaterThan(20);
  expect(rpm?.spikes).toBe(put);
  expect(rpm?.flagged).toBe(put);
  expect(clean.signals.every((s) => s.spikes === undefined)).toBe(true);
  const verdicts = (j: typeof clean) => j.findings.map((f) => [f.id, f.verdict]);
  expect(verdicts(judged)).toEqual(verdicts(clean));
});
