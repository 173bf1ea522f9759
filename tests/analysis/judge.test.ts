/** What the whole judge says of simulated drives. The simulated car knows no detector, and no detector knows it. */
import { describe, expect, it } from 'vitest';
import { mergeLessons } from '../../src/analysis/boost/lesson.ts';
import { mergeCoolant } from '../../src/analysis/coolant/baseline.ts';
import { besideKind, judgeTable, learnFromKind, withFinding } from '../../src/analysis/judge.ts';
import type { Finding } from '../../src/analysis/types.ts';
import { profileSchema } from '../../src/core/profile.ts';
import type { Sample } from '../../src/core/signals.ts';
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

describe('a system', () => {
  const base = judgeTable([], twin, null, 'none');
  const finding = (more: Partial<Finding>): Finding => ({
    ...base.findings[0]!,
    ...{ id: 'coolant.x', system: 'coolant', verdict: 'not shown', saidAtS: null, needs: null, aside: false },
    ...more,
  });
  /** Of these findings alone. */
  const summed = (...list: Partial<Finding>[]) => {
    const [last, ...rest] = list.map(finding).reverse();
    return withFinding({ ...base, findings: rest.reverse() }, last!).systems.coolant;
  };
  const need = (pulls: number) => ({ id: 'boost.need.full-pulls', args: { pulls } }) as Finding['needs'];
  it('is faulty by any fault, from when the first was said', () => {
    const fault = (saidAtS: number | null) => ({ verdict: 'fault shown', saidAtS }) as const;
    expect(summed(fault(90), { verdict: 'shown good' }, fault(40), fault(null))).toEqual({
      ...{ verdict: 'fault shown', saidAtS: 40, needs: null },
    });
    expect(summed(fault(null)).saidAtS).toBeNull();
    expect(summed({ ...fault(9), system: 'boost' }, { verdict: 'shown good' }).verdict).toBe('shown good');
  });
  it('is good by all findings that it rests on', () => {
    const good = { verdict: 'shown good' } as const;
    expect(summed(good, good)).toEqual({ verdict: 'shown good', saidAtS: null, needs: null });
    expect(summed(good, { needs: need(1) }).verdict).toBe('not shown');
    expect(summed(good, { aside: true, needs: need(1) }).verdict).toBe('shown good');
    expect(summed({ aside: true, verdict: 'fault shown' }).verdict).toBe('fault shown');
  });
  it('asks once for what two findings need, and says where nothing was recorded', () => {
    expect(summed({ needs: need(1) }, { needs: need(1) }).needs).toEqual(need(1));
    expect(JSON.stringify(summed({ needs: need(1) }, { needs: need(2) }).needs)).toContain('"pulls":2');
    expect(summed({}).needs!.id).toBe('judge.nothing-recorded');
    expect(summed({ system: 'boost' })).toMatchObject({
      ...{ verdict: 'not shown', needs: { id: 'judge.nothing-recorded' } },
    });
  });
});

it('counts each signal from its first to its last reading; the end is that of the car’s own', () => {
  const at = (signal: string, tS: number, value: number): Sample => ({
    ...{ signal, tUs: tS * 1e6, sentUs: tS * 1e6, value },
  });
  const j = judgeTable(
    [
      at('speed_kmh', 1, 50),
      at('rpm', 2, 900),
      at('rpm', 3, 900),
      at('rpm', 4, 1e6),
      at('gnss_speed_kmh', 9, 50),
    ],
    twin,
    null,
    'drive',
  );
  expect(j.signals).toEqual([
    { name: 'gnss_speed_kmh', unit: 'km/h', count: 1, fromS: 9, toS: 9, flagged: 0 },
    { name: 'rpm', unit: 'rpm', count: 3, fromS: 2, toS: 4, flagged: 1 },
    { name: 'speed_kmh', unit: 'km/h', count: 1, fromS: 1, toS: 1, flagged: 0 },
  ]);
  expect([j.spanS, j.path, j.schema]).toEqual([4, 'drive', 'handback.judgement/1']);
});

describe('cars of a kind', () => {
  const [boost, coolant] = [mergeLessons([]), mergeCoolant([])];
  const drives = mergeCoolant([{ plateauC: 90, beyondC: 0, warmUp: null, fanC: null }]);
  it('teach where any taught', () => {
    expect(learnFromKind([])).toBeNull();
    expect(learnFromKind([{ boost, coolant }])).toBeNull();
    expect(learnFromKind([{ boost, coolant: drives }])).toMatchObject({ boost: null, coolant: { cars: 1 } });
  });
  it('stand beside a car’s own drives, and change nothing where there are none', () => {
    const own = { boost, coolant: drives };
    expect(besideKind(own, null)).toBe(own);
    expect(besideKind(null, null)).toBeNull();
    const kind = learnFromKind([{ boost, coolant: drives }]);
    expect(besideKind(own, kind)).toMatchObject({ coolant: { plateauC: 90, kind: { cars: 1 } } });
    expect(besideKind(null, kind)).toMatchObject({ boost: null, coolant: { drives: 0, kind: { cars: 1 } } });
  });
});
