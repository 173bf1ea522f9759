/** The runs that are compared: on which side and day each stands, and whether they are of one car. */
import type { Profile } from '../core/profile.ts';
import type { Says } from '../core/says.ts';
import { DAY_SD } from './boost.ts';
import type { Gathered } from './gather.ts';
import { say } from './says.ts';
import type { Comparison, Role } from './types.ts';

/** Runs begun within this of each other share a day. Chosen by hand, not measured. */
const SAME_DAY_MS = 12 * 3_600_000;

export interface ComparedRun {
  /** Unique among the runs. */
  readonly id: string;
  readonly label: string;
  readonly role: Role | 'come-back';
  /** ISO 8601; null for tables. */
  readonly startedAt: string | null;
  readonly vin: string | null;
  readonly profile: Profile | null;
}

export interface GatheredRun {
  readonly run: ComparedRun;
  /** Gathered with the profile that `profileFor` gives for all the runs. */
  readonly gathered: Gathered;
}

export interface SidedRun extends GatheredRun {
  readonly role: Role;
  readonly day: string;
}

/** Runs that are not of one car, or not of one kind of engine. @returns what must not be compared */
export function strangers(
  runs: readonly SidedRun[],
  given: Profile | null,
  problems: Says[],
): 'vehicle' | 'boost' | null {
  for (const role of ['before', 'after'] as const)
    if (!runs.some((r) => r.role === role)) problems.push(say('compare.no-run', { role }));
  const vins = distinct(runs, ({ run }) => run.vin);
  if (vins.length > 1) {
    problems.push(
      say('compare.vehicles', {
        which: vins.map(([vin, run]) => say('compare.vehicle', { vin, run: named(run) })),
      }),
    );
    return 'vehicle';
  }
  const inductions = given === null ? distinct(runs, ({ run }) => run.profile?.induction ?? null) : [];
  if (inductions.length > 1) {
    problems.push(
      say('compare.inductions', {
        which: inductions.map(([induction, run]) => say('compare.induction', { induction, run: named(run) })),
      }),
    );
    return 'boost';
  }
  const kind = given?.induction ?? inductions[0]?.[0];
  if (kind === 'naturally aspirated') problems.push(say('compare.no-charger'));
  return null;
}

function distinct(
  runs: readonly SidedRun[],
  of: (r: SidedRun) => string | null,
): (readonly [string, ComparedRun])[] {
  const seen = new Map<string, ComparedRun>();
  for (const r of runs) {
    const value = of(r);
    if (value !== null && !seen.has(value)) seen.set(value, r.run);
  }
  return [...seen];
}

export function missingSignals(runs: readonly SidedRun[]): Says[] {
  return runs.flatMap(({ run, gathered }) => [
    ...[
      ...['map_kpa', 'rpm', 'ect_c'].filter((name) => !gathered.signals.has(name)),
      ...(gathered.demandName === null ? ['demand'] : []),
    ].map((signal) => say('compare.missing', { run: named(run), signal })),
    ...(gathered.unreadPulls > 0 && gathered.signals.has('map_kpa')
      ? [say('compare.unread', { run: named(run), pulls: gathered.unreadPulls })]
      : []),
  ]);
}

/** A run as sentences name it: by its part and its date, else by its label, the name of a file. */
export const named = (run: ComparedRun): Says =>
  run.startedAt === null
    ? { id: 'text', args: { text: run.label } }
    : say('compare.run', { role: run.role, at: run.startedAt });

/** Runs without a date each have a day of their own, unless a person says otherwise. */
export function daysOf(runs: readonly ComparedRun[], sameDay: boolean): (run: ComparedRun) => string {
  if (sameDay) return () => 'one day';
  const dated = runs
    .flatMap((run) => (run.startedAt === null ? [] : [{ run, ms: Date.parse(run.startedAt) }]))
    .sort((a, b) => a.ms - b.ms);
  const days = new Map<ComparedRun, string>();
  let startMs = Number.NEGATIVE_INFINITY;
  for (const { run, ms } of dated) {
    if (ms - startMs > SAME_DAY_MS) startMs = ms;
    days.set(run, `day ${startMs}`);
  }
  return (run) => days.get(run) ?? `run ${run.id}`;
}

export function daysSentence(runs: readonly SidedRun[], said: boolean): Comparison['days'] {
  const sdPct = 100 * DAY_SD;
  const own = (role: Role) => new Set(runs.filter((r) => r.role === role).map((r) => r.day));
  const before = own('before');
  const shared = [...own('after')].some((d) => before.has(d));
  if (shared)
    return {
      relation: 'same day',
      sdPct,
      sentence: say(said ? 'compare.day.said' : 'compare.day.shared'),
    };
  const dated = runs.every(({ run }) => run.startedAt !== null);
  return {
    relation: dated ? 'other day' : 'not known',
    sdPct,
    sentence: say(dated ? 'compare.day.other' : 'compare.day.unknown', { sd: DAY_SD }),
  };
}
