/** A car that gives fewer signals: the same findings, and legs of the road test that stay open only where a finding does. */
import { beforeAll, describe, expect, test } from 'vitest';
import { type Baseline, judgeTable, learnBaseline } from '../../src/analysis/judge.ts';
import { legsOf as legTable } from '../../src/analysis/leg-table.ts';
import type { Profile } from '../../src/core/profile.ts';
import type { Sample } from '../../src/core/signals.ts';
import { driveSamples } from './vehicle.ts';

const PROFILE: Profile = { induction: 'twin-charged', fuel: 'petrol' };
const without = (drive: readonly Sample[], ...signals: string[]) =>
  drive.filter((s) => !signals.includes(s.signal));
const CARS: Readonly<Record<string, (drive: readonly Sample[]) => Sample[]>> = {
  'pedal E alone': (drive) =>
    without(drive, 'pedal_e_pct', 'throttle_pct', 'rel_throttle_pct').map((s) =>
      s.signal === 'pedal_d_pct' ? { ...s, signal: 'pedal_e_pct' } : s,
    ),
  'throttle alone': (drive) => without(drive, 'pedal_d_pct', 'pedal_e_pct', 'rel_throttle_pct'),
  'manifold pressure without barometer, air mass or commanded boost': (drive) =>
    without(drive, 'baro_kpa', 'maf_gps', 'boost_cmd_kpa', 'boost_act_kpa'),
};
/** Fault put in, and the finding that must show it. */
const FAULTS = [
  [undefined, null],
  ['clutch-never-closes', 'boost.clutch-band'],
  ['weak-turbo', 'boost.above-hand-over'],
] as const;

const drives = new Map<string, readonly Sample[]>();
function drive(seed: number, fault?: string): readonly Sample[] {
  const key = `${seed} ${fault}`;
  const made = drives.get(key) ?? [
    ...driveSamples({ seed, hz: 4, ...(fault === undefined ? {} : { fault }) }),
  ];
  drives.set(key, made);
  return made;
}

/** Judged with every signal; the same for all cars. */
const whole = new Map<string | undefined, ReturnType<typeof judgeTable>>();
beforeAll(() => {
  const taught = learnBaseline(
    [21, 22].map((seed) => drive(seed)),
    PROFILE,
  );
  for (const [fault] of FAULTS) whole.set(fault, judgeTable(drive(23, fault), PROFILE, taught, ''));
});

const servedBy = (leg: string) => legTable(PROFILE).find((l) => l.leg === leg)?.by;
const legsOf = (j: ReturnType<typeof judgeTable>) => j.legs.filter((l) => l.covered).map((l) => l.leg);

describe.each(Object.entries(CARS))('%s', (_, car) => {
  let taught: Baseline;
  beforeAll(() => {
    taught = learnBaseline(
      [21, 22].map((seed) => car(drive(seed))),
      PROFILE,
    );
  });

  test.each([33, 110, 113])('a healthy drive, seed %i, is not accused', (seed) => {
    const { findings } = judgeTable(car(drive(seed)), PROFILE, taught, '');
    expect(findings.filter((f) => f.verdict === 'fault shown').map((f) => f.id)).toEqual([]);
  });

  test.each(FAULTS)('fault %s', (fault, id) => {
    const all = whole.get(fault)!;
    const few = judgeTable(car(drive(23, fault)), PROFILE, taught, '');
    const shown = few.findings.filter((f) => f.verdict === 'fault shown').map((f) => f.id);
    if (id === null) expect(shown).toEqual([]);
    else expect(shown.filter((f) => f.startsWith('boost'))).toContain(id);
    expect(few.systems.boost.verdict).toBe(all.systems.boost.verdict);
    expect(legsOf(all)).toEqual(expect.arrayContaining(legsOf(few)));
    const verdicts = ({ findings }: typeof few, leg: string) =>
      findings.find((f) => f.id === servedBy(leg))?.verdict;
    for (const leg of legsOf(all).filter((l) => !legsOf(few).includes(l)))
      expect([leg, verdicts(all, leg), verdicts(few, leg)]).toEqual([leg, 'shown good', 'not shown']);
  });
});
