/** What the judge makes of findings and of single readings, made by hand. */
import { describe, expect, it } from 'vitest';
import { mergeLessons } from '../../src/analysis/boost/lesson.ts';
import { mergeCoolant } from '../../src/analysis/coolant/baseline.ts';
import { besideKind, Judge, judgeTable, learnFromKind, withFinding } from '../../src/analysis/judge.ts';
import type { Finding } from '../../src/analysis/types.ts';
import type { Sample } from '../../src/core/signals.ts';

const TWIN = { induction: 'twin-charged', fuel: 'petrol' } as const;
const at = (signal: string, tS: number, value: number): Sample => ({
  ...{ signal, tUs: tS * 1e6, sentUs: tS * 1e6, value },
});

describe('a system', () => {
  const base = judgeTable([], TWIN, null, 'none');
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

it('sends nobody to pulls with an engine that gets too hot: by no need, no leg, and no next one', () => {
  const drive = (hotC: number, endS: number) => {
    const judge = new Judge({ induction: 'turbocharger', fuel: 'diesel' }, null);
    for (let t = 0; t < endS; t++)
      for (const [signal, value] of Object.entries({
        ...{ ambient_c: 20, baro_kpa: 100, maf_gps: 20, map_kpa: 120, pedal_d_pct: 20 + (t % 5), rpm: 2000 },
        ...{ speed_kmh: 80, ect_c: t < 600 ? 90 + Math.sin(t / 40) : Math.min(hotC, 90 + (t - 600) / 8) },
      }).sort())
        judge.push(at(signal, t, value));
    const view = judge.view();
    return { view, j: judge.finish('') };
  };
  const pulls = (legs: ReturnType<Judge['view']>['legs']) =>
    legs.filter((l) => l.leg.startsWith('pull')).map((l) => [l.over, l.left?.id]);
  const boost = (j: ReturnType<typeof drive>['j']) =>
    new Set(j.findings.flatMap((f) => (f.system === 'boost' ? [f.needs?.id] : [])));
  const sound = drive(90, 700);
  expect(sound.view.nextLeg).not.toBeNull();
  expect(pulls(sound.view.legs).map(([, left]) => left)).not.toContain('leg.left.repair');
  expect(boost(sound.j)).not.toContain('coolant.needs.climb-first');
  const climbs = drive(104, 760);
  expect(climbs.j.findings.find((f) => f.id === 'coolant.climb')!.verdict).toBe('fault shown');
  expect(climbs.view).toMatchObject({ nextLeg: null, coolant: { tooHot: true } });
  expect(new Set(pulls(climbs.view.legs).map((l) => l.join()))).toEqual(new Set(['true,leg.left.repair']));
  expect(boost(climbs.j)).toEqual(new Set(['coolant.needs.climb-first']));
  expect(climbs.j.systems.boost.needs!.id).toBe('coolant.needs.climb-first');
});

it('asks nobody anything who stands with an engine that is too hot', () => {
  const stands = (hotC: number) => {
    const judge = new Judge({ induction: 'turbocharger', fuel: 'diesel' }, null);
    for (let t = 0; t < 900; t++)
      for (const [signal, value] of Object.entries({
        ...{ ambient_c: 20, baro_kpa: 100, maf_gps: 20, map_kpa: 120, pedal_d_pct: 20 + (t % 5) },
        ...{ rpm: t < 780 ? 2000 : 800, speed_kmh: t < 780 ? 80 : 0 },
        ect_c: t < 600 ? 90 + Math.sin(t / 40) : Math.min(hotC, 90 + (t - 600) / 8),
      }).sort())
        judge.push(at(signal, t, value));
    return judge.view();
  };
  expect(stands(91).asks.map((a) => a.id)).toContain('noise');
  expect(stands(104)).toMatchObject({ asks: [], coolant: { tooHot: true } });
});

describe('the cooling beside its sensor', () => {
  /** Settled at 90 °C and 80 km/h for half an hour; an end stop from 1200 s on for so long. */
  const judged = (stopS: number) =>
    judgeTable(
      Array.from({ length: 1800 }, (_, t) =>
        Object.entries({
          ...{ ambient_c: 20, maf_gps: 20, rpm: 2000, speed_kmh: 80 },
          ect_c: t >= 1200 && t < 1200 + stopS ? -40 : 90 + Math.sin(t / 40),
        })
          .sort()
          .map(([signal, value]) => at(signal, t, value)),
      ).flat(),
      TWIN,
      null,
      'drive',
    );
  const climb = (j: ReturnType<typeof judged>) => j.findings.find((f) => f.id === 'coolant.climb')!;
  it('is good by readings that are believed, and says how many were not', () => {
    const seen = (stopS: number) => climb(judged(stopS)).evidence.map(({ text }) => text);
    expect(seen(2).map((s) => s.id)).toEqual(['coolant.seen.settled']);
    expect(seen(3)[1]).toEqual({ id: 'coolant.seen.left-out', args: { n: 3, of: 1800 } });
    expect(judged(3).systems.coolant.verdict).toBe('shown good');
  });
  it('is not shown good by a sensor that is at fault, which comes first', () => {
    const j = judged(70);
    expect(j.findings.find((f) => f.id === 'sensor.ect_c')!.verdict).toBe('fault shown');
    const needs = { id: 'coolant.needs.sensor-first', args: {} };
    expect(j.systems.coolant).toEqual({ verdict: 'not shown', saidAtS: null, needs });
    expect(j.systems.fan).toMatchObject({ verdict: 'not shown', needs });
  });
});

it('counts each signal from its first to its last reading; the end is that of the car’s own', () => {
  const j = judgeTable(
    [
      at('speed_kmh', 1, 50),
      at('rpm', 2, 900),
      at('rpm', 3, 900),
      at('rpm', 4, 1e6),
      at('gnss_speed_kmh', 9, 50),
    ],
    TWIN,
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

describe('what was said', () => {
  /** Ten minutes settled, then hot by turns: an alarm comes 80 s after it got hot, is said each minute while it is, and ends a minute after it cooled. */
  const byTurns = (coolS: number) => {
    const judge = new Judge({ induction: 'turbocharger', fuel: 'diesel' }, null);
    const said = [];
    for (let t = 0; t < 1800 + coolS; t++) {
      const hot = (t >= 600 && t < 1000) || (t >= 1000 + coolS && t < 1400 + coolS);
      for (const s of [at('ect_c', t, hot ? 112 : 90), at('rpm', t, 2000), at('speed_kmh', t, 60)])
        said.push(...judge.push(s));
    }
    const of = (list: readonly { readonly atS: number; readonly finding: string | Finding }[]) =>
      list.flatMap(({ atS, finding }) =>
        (typeof finding === 'string' ? finding : finding.id) === 'coolant.climb' ? [atS] : [],
      );
    return { said: of(said), noted: of(judge.finish('').spoken) };
  };
  it('is noted once as long as it goes on: within a minute of cool it does, later it begins anew', () => {
    const goesOn = byTurns(40);
    expect(goesOn.said.slice(0, 9)).toEqual([680, 740, 800, 860, 920, 980, 1055, 1115, 1175]);
    expect(goesOn.noted).toEqual([680]);
    const anew = byTurns(85);
    expect(anew.said.slice(5, 8)).toEqual([980, 1165, 1225]);
    expect(anew.noted).toEqual([680, 1165]);
  });
});

it('hears a person’s answers, at the end and on the way', () => {
  const standing = (rpm: number, fromS: number, s: number): Sample[] =>
    Array.from({ length: s }, (_, t) => [
      ...[at('ect_c', fromS + t, 90), at('rpm', fromS + t, rpm), at('speed_kmh', fromS + t, 0)],
    ]).flat();
  const drive = [...standing(800, 0, 18), ...standing(2000, 18, 10)];
  const marks = ['Cabin heat idle: hot', 'Cabin heat 2000 rpm: lukewarm', 'rattles'];
  const heater = (said: readonly string[]) =>
    judgeTable(drive, TWIN, null, '', said).legs.find((l) => l.leg === 'heater-check')!.covered;
  expect([heater(marks), heater(marks.slice(1)), heater([])]).toEqual([true, false, false]);
  const judge = new Judge(TWIN, null);
  for (const s of drive) judge.push(s);
  judge.marked(marks);
  const view = judge.view();
  expect(view.legs.find((l) => l.leg === 'heater-check')!.covered).toBe(true);
  // The readings of the last moment wait for the next.
  expect(view.tS).toBe(26);
  expect([view.asks.map((a) => a.id), view.nextLeg!.leg]).toEqual([
    ['cabin heat 2000 rpm'],
    'idle-after-load',
  ]);
});
