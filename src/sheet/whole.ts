/** What a drive and the fault memory say together: each system's verdict, and one word for the whole. */
import type { Finding, Judgement, SystemName, Verdict } from '../analysis/types.ts';
import type { Whole } from '../core/visit-says.ts';
import type { Job } from '../job/job.ts';
import type { Purpose } from '../run/types.ts';

/** In the order in which a customer reads of them. */
export const SYSTEMS = ['boost', 'coolant', 'charging', 'codes'] as const;

/** The run whose findings count: the last after the work or of a come-back, else the last that is not of before it. */
export function provingRun<R>(runs: readonly R[], purposeOf: (run: R) => Purpose): R | null {
  return (
    runs.findLast((r) => ['verification', 'come-back'].includes(purposeOf(r))) ??
    runs.findLast((r) => purposeOf(r) !== 'baseline') ??
    null
  );
}

export interface ShownInWhole {
  readonly judgement: Judgement | null;
  /** Of the judgement, and of the fault memory. */
  readonly findings: readonly Finding[];
}

/** Verdict of a system by its findings, in the way the judgement sums them up. Null: the system has none. */
export function systemVerdict(system: SystemName, { judgement, findings }: ShownInWhole): Verdict | null {
  const own = findings.filter((f) => f.system === system);
  if (own.length === 0) return null;
  if (judgement && (system === 'boost' || system === 'coolant')) return judgement.systems[system].verdict;
  if (own.some((f) => f.verdict === 'fault shown')) return 'fault shown';
  return own.every((f) => f.verdict === 'shown good') ? 'shown good' : 'not shown';
}

/** A signal that comes late in a table is more often the recording's fault than the vehicle's: no fault that is handed over. */
const OF_THE_RECORDING = 'sensor.late';

/** Faults of what has a row only when it is faulty: sensors, and the fan, which most drives never ask. */
export const faultsBeside = (
  { findings }: ShownInWhole,
  ...systems: readonly ('sensor' | 'fan')[]
): readonly Finding[] =>
  findings.filter(
    (f) => systems.some((s) => s === f.system) && f.verdict === 'fault shown' && f.id !== OF_THE_RECORDING,
  );

/** By the last word on each thing measured by hand; what failed before the work is what was to be repaired. */
export function failedByHand({ measurements }: Pick<Job, 'measurements'>): boolean {
  const after = measurements.filter((m) => m.when === 'after' || m.when === 'come-back');
  const last = new Map(after.map((m) => [`${m.what} ${m.name}`, m.result]));
  return [...last.values()].includes('fail');
}

/** What a person noted that no measurement speaks against: the last word on each thing. */
const NOTICED: ReadonlySet<string> = new Set([
  'complaint still there',
  'noise gone no',
  'noise gone partly',
  'leaks found',
  'smell found',
  'cabin heat idle cold',
  'cabin heat 2000 rpm cold',
]);

/** Whether what was complained of, or noticed in the workshop, is still there by the last word on it. */
export function stillNoticed(observations: Job['observations']): boolean {
  const last = new Map(
    observations.map((o) => [o.kind === 'complaint' ? `${o.kind} ${o.text.trim()}` : o.kind, o]),
  );
  return [...last.values()].some((o) => NOTICED.has(`${o.kind} ${o.answer}`));
}

/** @param job null for a single run */
export function wholeOf(shown: ShownInWhole, job: Pick<Job, 'measurements'> | null): Whole {
  if (job && failedByHand(job)) return 'fault';
  const verdicts = SYSTEMS.flatMap((s) => systemVerdict(s, shown) ?? []);
  if (faultsBeside(shown, 'fan', 'sensor').length > 0 || verdicts.includes('fault shown')) return 'fault';
  if (verdicts.length > 0 && verdicts.every((v) => v === 'shown good')) return 'good';
  // Boost and cooling are what the drive is for: a charged battery alone does not make it half a proof.
  const proved = (['boost', 'coolant'] as const).some((s) => systemVerdict(s, shown) === 'shown good');
  return proved ? 'mixed' : 'open';
}
