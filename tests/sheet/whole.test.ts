/** One word for the whole of a visit, from what was found: never more than the systems that the drive is for carry. */
import { expect, it } from 'vitest';
import type { Finding, SystemName, Verdict } from '../../src/analysis/types.ts';
import { asIs } from '../../src/core/says.ts';
import { wholeOf } from '../../src/sheet/whole.ts';

const finding = (system: SystemName, verdict: Verdict): Finding => ({
  id: `${system}.x`,
  system,
  verdict,
  pointsTo: null,
  saidAtS: null,
  fromS: null,
  toS: null,
  measured: null,
  limit: null,
  evidence: [],
  needs: null,
  rule: asIs('x'),
  signals: [],
});
const of = (verdicts: Partial<Record<SystemName, Verdict>>) =>
  wholeOf(
    {
      judgement: null,
      findings: Object.entries(verdicts).map(([s, v]) => finding(s as SystemName, v)),
    },
    null,
  );

it('is good only where every system is', () => {
  expect(of({ boost: 'shown good', coolant: 'shown good', charging: 'shown good' })).toBe('good');
  expect(of({ boost: 'shown good', coolant: 'not shown', charging: 'shown good' })).toBe('mixed');
  expect(of({ boost: 'shown good', coolant: 'fault shown' })).toBe('fault');
  expect(of({ coolant: 'shown good', sensor: 'fault shown' })).toBe('fault');
  expect(of({})).toBe('open');
});

it('is faulty by a fan that did not come, also where the coolant stayed below its limit', () => {
  const rest = {
    boost: 'shown good',
    coolant: 'shown good',
    charging: 'shown good',
    codes: 'shown good',
  } as const;
  expect(of({ ...rest, fan: 'fault shown' })).toBe('fault');
  // Most drives never ask for it.
  expect(of({ ...rest, fan: 'not shown' })).toBe('good');
});

it('is open where neither boost nor cooling is shown good, on an engine without a charger too', () => {
  expect(of({ boost: 'not shown', coolant: 'not shown', charging: 'shown good' })).toBe('open');
  expect(of({ coolant: 'not shown', charging: 'shown good', codes: 'shown good' })).toBe('open');
});
