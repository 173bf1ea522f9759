/** Two or more runs at the same operating points, with their uncertainty; what cannot be compared is said, the rest is. */
import type { Profile } from '../core/profile.ts';
import type { Says } from '../core/says.ts';
import type { Sample } from '../core/signals.ts';
import type { CodeChange } from '../core/snapshot.ts';
import type { Places } from '../nmea/places.ts';
import { type Air, airOf } from './air.ts';
import { ALL_RPM, type BoostComparison, compareBoost } from './boost.ts';
import { Gathering } from './gather.ts';
import { asksForBefore } from './needs.ts';
import { powerSays, roadSays } from './observed.ts';
import type { BoostRun } from './points.ts';
import {
  type ComparedRun,
  daysOf,
  daysSentence,
  type GatheredRun,
  missingSignals,
  type SidedRun,
  strangers,
} from './runs.ts';
import { say } from './says.ts';
import { plateauShift, tipInShift, warmUpShift } from './shifts.ts';
import { tracesOf } from './traces.ts';
import type { Comparison, RegionComparison } from './types.ts';
import { ruleOf } from './verdict.ts';

/** What counts as no worse unless another margin is chosen, %. Common practice, no source. */
export const DEFAULT_MARGIN_PCT = 5;
export interface CompareOptions {
  /** How much worse is no worse, %. Default 5. */
  readonly marginPct?: number;
  /** Instead of the runs' own. */
  readonly profile?: Profile | null;
  /** Said by a person, for runs without a date. Default: told by the runs' dates, else not known. */
  readonly sameDay?: boolean;
  /** What became of trouble codes, from the snapshot before to the one after; null without two snapshots. */
  readonly codes?: readonly CodeChange[] | null;
}

/** Whole recordings at once. Pure; never throws on odd runs: what is wrong with them is in `problems`. */
export function compareRuns(
  runs: readonly (ComparedRun & {
    /** In order of time. */
    readonly samples: Iterable<Sample>;
    /** Where they were driven, as far as that is known. */
    readonly places?: Places;
  })[],
  options: CompareOptions = {},
): Comparison {
  const profile = profileFor(runs, options);
  const read = runs.map((run) => {
    const gathering = new Gathering(profile);
    for (const sample of run.samples) gathering.push(sample);
    return { run, gathered: gathering.finish(run.places ?? null) };
  });
  return compareGathered(read, options);
}

export function compareGathered(read: readonly GatheredRun[], options: CompareOptions = {}): Comparison {
  const profile = profileFor(
    read.map((r) => r.run),
    options,
  );
  const first = between(read, ['before', 'after'], profile, options);
  if (!read.some((r) => r.run.role === 'come-back')) return first;
  return { ...first, comeBack: ofReturn(between(read, ['after', 'come-back'], profile, options)) };
}

/** One profile for all the runs: the one given, else that of a run that says what the car is, best one after. */
export function profileFor(runs: readonly ComparedRun[], options: CompareOptions): Profile {
  if (options.profile) return options.profile;
  const known = runs.filter((r) => r.profile !== null && r.profile.induction !== undefined);
  return (
    known.find((r) => r.role === 'after')?.profile ??
    known[0]?.profile ??
    runs.find((r) => r.profile !== null)?.profile ??
    {}
  );
}

/** Nobody can drive the visit before again: where it holds too little, that is said instead of asked for. */
function ofReturn(c: Comparison): Comparison {
  const able = <T extends { readonly needs: Says | null }>(row: T): T =>
    row.needs !== null && asksForBefore(row.needs) ? { ...row, needs: say('compare.need.past') } : row;
  const { plateau, warmUp } = c.coolant;
  return {
    ...c,
    overall: c.overall.map(able),
    tipIn: able(c.tipIn),
    coolant: { plateau: able(plateau), warmUp: able(warmUp) },
  };
}

function between(
  all: readonly GatheredRun[],
  [from, to]: readonly [ComparedRun['role'], ComparedRun['role']],
  profile: Profile,
  options: CompareOptions,
): Comparison {
  const marginPct = options.marginPct ?? DEFAULT_MARGIN_PCT;
  const chosen = all.filter(({ run }) => run.role === from || run.role === to);
  const dayOf = daysOf(
    chosen.map(({ run }) => run),
    options.sameDay === true,
  );
  const sided: SidedRun[] = chosen.map((r) => ({
    ...r,
    role: r.run.role === to ? 'after' : 'before',
    day: dayOf(r.run),
  }));
  const problems: Says[] = [];
  const barrier = strangers(sided, options.profile ?? null, problems);
  const comparable = barrier === 'vehicle' ? [] : sided;
  const air = airOf(comparable);
  problems.push(...air.problems);
  const boost = barrier === null ? boostOf(comparable, profile, marginPct, air) : null;
  if (boost !== null) problems.push(...missingSignals(comparable));
  return {
    schema: 'handback.comparison/1',
    marginPct,
    charged: !problems.some((p) => p.id === 'compare.no-charger'),
    points: boost?.points ?? [],
    overall: boost?.overall ?? [notCompared(problems)],
    tipIn: tipInShift(
      boost === null
        ? []
        : comparable.flatMap((r) =>
            r.gathered.baro === null ? [] : [{ ...r, baroKpa: r.gathered.baro.kpa }],
          ),
    ),
    coolant: { plateau: plateauShift(comparable), warmUp: warmUpShift(comparable) },
    codes: barrier === 'vehicle' ? null : (options.codes ?? null),
    difference: boost?.difference ?? null,
    sameRoad: boost?.sameRoad ?? null,
    power: boost?.power ?? null,
    observations: boost === null ? [] : [...roadSays(boost), ...powerSays(boost)],
    runs: sided.map(({ run, role, gathered }) => tracesOf(run, role, gathered)),
    days: daysSentence(sided, options.sameDay === true),
    corrections: [...air.corrections, ...(boost?.notes ?? [])],
    problems,
    rule: ruleOf(marginPct),
    comeBack: null,
  };
}

function boostOf(runs: readonly SidedRun[], profile: Profile, marginPct: number, air: Air): BoostComparison {
  const boostRuns = runs.map(
    ({ role, day, gathered }): BoostRun => ({ role, day, gathered, airFactor: air.factorOf(gathered) }),
  );
  return compareBoost(boostRuns, profile, marginPct, air.doubt);
}

function notCompared(problems: readonly Says[]): RegionComparison {
  const none = { pulls: 0, mean: null, scatterPct: null };
  return {
    region: say('compare.region.all'),
    rpm: ALL_RPM,
    comparedRpm: null,
    before: none,
    after: none,
    effectPct: null,
    interval: null,
    effectKpa: null,
    intervalKpa: null,
    degreesOfFreedom: null,
    sameRoad: null,
    power: null,
    verdict: 'not shown',
    needs: problems[0] ?? say('compare.nothing'),
  };
}
