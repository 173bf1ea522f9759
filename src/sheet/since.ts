/** A car that came back: what is the same, better, worse or new against the end of the visit before. Pure: judged and read already. */
import type { Finding, Judgement, SystemName, Verdict } from '../analysis/types.ts';
import type { Comparison } from '../compare/types.ts';
import { OBSERVATIONS } from '../core/observations.ts';
import { inTurn, type Says } from '../core/says.ts';
import { SINCE_CHANGES, type SinceChange, type SinceRow, say } from '../core/visit-says.ts';
import { codeChanges } from '../j1979/code-changes.ts';
import { lampOn } from '../job/fault-memory.ts';
import type { Job, Measurement, Observation } from '../job/job.ts';
import { titleId } from '../words/finding-text.ts';
import type { DatedSnapshot } from './types.ts';
import { systemVerdict } from './whole.ts';

/** Runs of the visit before and of the come-back; null where none was driven. */
export interface SinceRuns {
  readonly before: Judgement | null;
  readonly now: Judgement | null;
  /** When the first run of the come-back began, ISO 8601. */
  readonly backAt: string | null;
  /** Ids of all runs of the come-back. */
  readonly backIds: ReadonlySet<string>;
  readonly comparison: Comparison | null;
}

/** Empty where the car did not come back. @param read of the fault memory, in order of time */
export function sinceVisit(job: Job, runs: SinceRuns, read: readonly DatedSnapshot[]): SinceRow[] {
  const measured = job.measurements.some((m) => m.when === 'come-back');
  const returned = runs.backAt !== null || measured || read.some((s) => s.when === 'come-back');
  if (!returned && !job.comeBack.complaint) return [];
  const rows = [...ofDrives(runs), ...ofCodes(read), ...ofNotes(job, runs, read), ...ofMeasures(job)];
  return SINCE_CHANGES.flatMap((change) => rows.filter((r) => r.change === change));
}

const titled = (id: string, among: readonly Finding[]): Says => ({ id: titleId(id, among), args: {} });
const named = (group: string, id: string): Says => ({ id: `${group}.${id}`, args: {} });

// ---- drives ---------------------------------------------------------------------------------------------------

function ofDrives({ before, now, comparison }: SinceRuns): SinceRow[] {
  if (now === null) return [];
  return (['boost', 'coolant', 'charging', 'sensor'] as const).flatMap((system) => {
    const own = (j: Judgement | null) => (j?.findings ?? []).filter((f) => f.system === system);
    const [was, is] = [own(before), own(now)];
    const faulty = [...was, ...is].filter((f) => f.verdict === 'fault shown').map((f) => f.id);
    if (faulty.length > 0) return [...new Set(faulty)].map((id) => ofFinding(id, was, is));
    return system === 'sensor' ? [] : ofSystem(system, before, now, comparison);
  });
}

function ofFinding(id: string, was: readonly Finding[], is: readonly Finding[]): SinceRow {
  const verdictIn = (findings: readonly Finding[]) => findings.find((f) => f.id === id)?.verdict ?? null;
  const [before, now] = [verdictIn(was), verdictIn(is)];
  const change =
    now === 'fault shown' && before !== 'shown good' && before !== now ? 'new' : ofVerdicts(before, now);
  const [sensor, signal] = id.split('.');
  const what =
    sensor === 'sensor' ? say('since.sensor', { signal: signal ?? id }) : titled(id, [...was, ...is]);
  return { what, before: verdictOf(before), now: verdictOf(now), change };
}

function ofSystem(
  system: SystemName,
  before: Judgement | null,
  now: Judgement,
  comparison: Comparison | null,
): SinceRow[] {
  const of = (j: Judgement | null) => j && systemVerdict(system, { judgement: j, findings: j.findings });
  const [was, is] = [of(before), of(now)];
  if (is === null) return [];
  const row = { what: named('system', system), before: verdictOf(was), now: verdictOf(is) };
  const change = ofVerdicts(was, is);
  // Verdicts are coarse: of pulls at the same operating points a loss can be seen within what is still good.
  const told = system === 'boost' ? comparison?.overall : undefined;
  const moved = told?.find((r) => r.verdict === 'worse') ?? told?.find((r) => r.verdict === 'better');
  if (change !== 'same' || !moved) return [{ ...row, change }];
  const effect = moved.verdict === 'worse' ? 'worse' : 'better';
  const compared = say('since.compared', { effect, region: moved.region });
  return [{ ...row, now: inTurn([say('since.and', { verdict: is }), compared]), change: effect }];
}

function ofVerdicts(before: Verdict | null, now: Verdict | null): SinceChange {
  if (before === null || now === null || before === 'not shown' || now === 'not shown') return 'not told';
  if (before === now) return 'same';
  return now === 'shown good' ? 'better' : 'worse';
}

const verdictOf = (verdict: Verdict | null): Says | null => verdict && named('verdict', verdict);

// ---- fault memory ---------------------------------------------------------------------------------------------

const OF_CODES = { gone: 'better', new: 'new', back: 'new', still: 'same', 'not told': 'not told' } as const;

function ofCodes(read: readonly DatedSnapshot[]): SinceRow[] {
  const before = read.findLast((s) => s.when === 'after') ?? read.findLast((s) => s.when !== 'come-back');
  const now = read.findLast((s) => s.when === 'come-back');
  if (!before || !now) return [];
  const lists = (ids: readonly string[]) =>
    ids.length === 0
      ? say('since.absent')
      : say('since.lists', { lists: ids.map((list) => say('since.list', { list })) });
  const lamp = (s: DatedSnapshot) => lampOn(s.snapshot);
  const [was, is] = [lamp(before), lamp(now)];
  const lampRow = (): SinceRow => ({
    what: say('since.lamp'),
    before: say('memory.lamp', { lamp: was === null ? 'unknown' : was ? 'on' : 'off' }),
    now: say('memory.lamp', { lamp: is === null ? 'unknown' : is ? 'on' : 'off' }),
    change: was === null || is === null ? 'not told' : was === is ? 'same' : is ? 'worse' : 'better',
  });
  return [
    lampRow(),
    ...codeChanges([before.snapshot, now.snapshot]).map(
      (c): SinceRow => ({
        what: say('since.code', { code: c.code, meaning: c.text }),
        before: lists(c.before),
        now: lists(c.after),
        change: OF_CODES[c.change],
      }),
    ),
  ];
}

// ---- what a person noted ----------------------------------------------------------------------------------------

/** Whether something was noted at the come-back: during its drives, or since the first of them or of its readings. */
export function notedBack(
  runs: SinceRuns,
  read: readonly DatedSnapshot[],
): (o: Pick<Observation, 'runId' | 'at'>) => boolean {
  const firstRead = read.find((s) => s.when === 'come-back')?.at ?? null;
  const begun = [runs.backAt, firstRead].filter((at) => at !== null).sort()[0];
  return (o) => (o.runId === null ? begun !== undefined && o.at >= begun : runs.backIds.has(o.runId));
}

/** From good to bad; none where it was only noted. */
const answersOf = ({ kind }: Observation): readonly string[] => (kind === 'other' ? [] : OBSERVATIONS[kind]);

function ofNotes({ observations }: Job, runs: SinceRuns, read: readonly DatedSnapshot[]): SinceRow[] {
  const isBack = notedBack(runs, read);
  const last = new Map<string, { before?: Observation; now?: Observation }>();
  for (const o of observations) {
    if (!answersOf(o).includes(o.answer)) continue;
    const key = o.kind === 'complaint' ? `complaint ${o.text.trim()}` : o.kind;
    last.set(key, { ...last.get(key), [isBack(o) ? 'now' : 'before']: o });
  }
  return [...last.values()].flatMap(({ before, now }): SinceRow[] => {
    if (!now) return [];
    const rank = (o: Observation) => answersOf(o).indexOf(o.answer);
    const kind = named('observation', now.kind);
    const own = now.kind === 'complaint' && now.text.trim() !== '';
    return [
      {
        what: own ? say('since.own', { what: kind, text: now.text.trim() }) : kind,
        before: before ? named('answer', before.answer) : null,
        now: named('answer', now.answer),
        change: before ? ranked(rank(before), rank(now)) : rank(now) > 0 ? 'new' : 'not told',
      },
    ];
  });
}

const ranked = (before: number, now: number): SinceChange =>
  before === now ? 'same' : now > before ? 'worse' : 'better';

function ofMeasures({ measurements }: Job): SinceRow[] {
  const last = new Map<string, { before?: Measurement; now?: Measurement }>();
  for (const m of measurements) {
    const key = `${m.what} ${m.name}`;
    last.set(key, { ...last.get(key), [m.when === 'come-back' ? 'now' : 'before']: m });
  }
  const RESULTS = ['pass', 'fail'];
  return [...last.values()].flatMap(({ before, now }): SinceRow[] => {
    if (!now) return [];
    const [was, is] = [before ? RESULTS.indexOf(before.result) : -1, RESULTS.indexOf(now.result)];
    const told = was >= 0 && is >= 0;
    const what = named('measure', now.what);
    return [
      {
        what: now.name ? say('since.own', { what, text: now.name }) : what,
        before: before ? named('measure-result', before.result) : null,
        now: named('measure-result', now.result),
        change: told ? ranked(was, is) : !before && is === 1 ? 'new' : 'not told',
      },
    ];
  });
}
