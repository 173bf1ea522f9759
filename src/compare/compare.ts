/** Two or more runs at the same operating points, with their uncertainty; what cannot be compared is said, the rest is. */
import { UNKNOWN_BARO } from '../analysis/boost/barometer.ts';
import type { Profile } from '../core/profile.ts';
import type { Says } from '../core/says.ts';
import type { Sample } from '../core/signals.ts';
import { type CodesOfUnits, codeChanges } from '../j1979/code-changes.ts';
import type { Places } from '../nmea/places.ts';
import { type AirDoubt, ALL_RPM, type BoostComparison, compareBoost, DAY_SD } from './boost.ts';
import { type Gathered, Gathering } from './gather.ts';
import { asksForBefore } from './needs.ts';
import type { BoostRun } from './points.ts';
import { say } from './says.ts';
import { plateauShift, tipInShift, warmUpShift } from './shifts.ts';
import { tracesOf } from './traces.ts';
import type { Comparison, RegionComparison, Role } from './types.ts';
import { ruleOf } from './verdict.ts';

/** What counts as no worse unless another margin is chosen, %. Common practice, no source. */
export const DEFAULT_MARGIN_PCT = 5;
/** Runs begun within this of each other share a day. Chosen by hand, not measured. */
const DAY_MS = 12 * 3_600_000;
/**
 * Readings of one sensor in steps of 1 kPa: the difference of two is known to this, kPa. By definition: 1 kPa ·
 * √(2/12).
 */
const STEP_SD_KPA = 0.41;
/**
 * Barometric pressures this near to each other are called the same, kPa. Half of a step of the printed tenth, by
 * definition.
 */
const SAME_KPA = 0.05;
/** Zero of the Celsius scale, K, by definition; and air of 15 °C, rounded (ISO 2533), where nothing tells. */
const ZERO_C_K = 273.15;
const STANDARD_AIR_K = 288;
/** Two drives of one workshop whose air is not known: weather and the lie of the land, kPa (common practice, no source). */
const UNKNOWN_SD_KPA = 2.5;

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

export interface CompareOptions {
  /** How much worse is no worse, %. Default 5. */
  readonly marginPct?: number;
  /** Instead of the runs' own. */
  readonly profile?: Profile | null;
  /** Said by a person, for runs without a date. Default: told by the runs' dates, else not known. */
  readonly sameDay?: boolean;
  /** In order of time. */
  readonly snapshots?: readonly CodesOfUnits[];
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

export interface ReadRun {
  readonly run: ComparedRun;
  /** Gathered with the profile that `profileFor` gives for all the runs. */
  readonly gathered: Gathered;
}

export function compareGathered(read: readonly ReadRun[], options: CompareOptions = {}): Comparison {
  const profile = profileFor(
    read.map((r) => r.run),
    options,
  );
  const first = between(read, ['before', 'after'], profile, options);
  if (!read.some((r) => r.run.role === 'come-back')) return first;
  return { ...first, comeBack: ofReturn(between(read, ['after', 'come-back'], profile, options)) };
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

interface SidedRun extends ReadRun {
  readonly role: Role;
  readonly day: string;
}

function between(
  all: readonly ReadRun[],
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
    codes:
      options.snapshots && options.snapshots.length > 1 && barrier !== 'vehicle'
        ? codeChanges(options.snapshots)
        : null,
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

/** What came of the pulls on the same stretch, beside what came of all. */
function roadSays({ sameRoad, overall }: BoostComparison): Says[] {
  if (sameRoad === null) return [];
  const { stretches, before, after } = sameRoad;
  if (stretches === 0) return [say('compare.road.none', { before: before.pulls, after: after.pulls })];
  const told = overall.flatMap(({ region, interval, sameRoad: own }) => {
    if (own?.interval == null) return [];
    const args = {
      region,
      effect: own.effectPct / 100,
      low: own.interval[0] / 100,
      high: own.interval[1] / 100,
    };
    return interval === null
      ? [say('compare.road.effect-alone', args)]
      : [say('compare.road.effect', { ...args, allLow: interval[0] / 100, allHigh: interval[1] / 100 })];
  });
  return [
    say('compare.road.matched', {
      stretches,
      before: before.matched,
      ofBefore: before.pulls,
      after: after.matched,
      ofAfter: after.pulls,
    }),
    ...(told.length > 0 ? told : [say('compare.road.few')]),
  ];
}

/** What was left for accelerating and climbing, and what it rests on. */
function powerSays({ power, overall }: BoostComparison): Says[] {
  const told = overall.flatMap(({ region, power: own }) =>
    own?.interval == null
      ? []
      : say('compare.power.effect', {
          region,
          before: own.before.wkg,
          after: own.after.wkg,
          difference: own.differenceWkg,
          low: own.interval[0],
          high: own.interval[1],
          pullsBefore: own.before.pulls,
          pullsAfter: own.after.pulls,
        }),
  );
  if (power === null || told.length === 0) return [];
  const { before, after } = power;
  const sd = Math.hypot(before.sdPct, after.sdPct) / Math.SQRT2 / 100;
  return [...told, say('compare.power.rests', { before: before.pct / 100, after: after.pct / 100, sd })];
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

/** Runs that are not of one car, or not of one kind of engine. @returns what must not be compared */
function strangers(
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

function missingSignals(runs: readonly SidedRun[]): Says[] {
  return runs.flatMap(({ run, gathered }) =>
    [
      ...['map_kpa', 'rpm', 'ect_c'].filter((name) => !gathered.signals.has(name)),
      ...(gathered.demandName === null ? ['demand'] : []),
    ].map((signal) => say('compare.missing', { run: named(run), signal })),
  );
}

/** A run as sentences name it: by its part and its date, else by its label, the name of a file. */
const named = (run: ComparedRun): Says =>
  run.startedAt === null
    ? { id: 'text', args: { text: run.label } }
    : say('compare.run', { role: run.role, at: run.startedAt });

// ---- days ---------------------------------------------------------------------------------------------------

/** Runs without a date each have a day of their own, unless a person says otherwise. */
function daysOf(runs: readonly ComparedRun[], sameDay: boolean): (run: ComparedRun) => string {
  if (sameDay) return () => 'one day';
  const dated = runs
    .flatMap((run) => (run.startedAt === null ? [] : [{ run, ms: Date.parse(run.startedAt) }]))
    .sort((a, b) => a.ms - b.ms);
  const days = new Map<ComparedRun, string>();
  let startMs = Number.NEGATIVE_INFINITY;
  for (const { run, ms } of dated) {
    if (ms - startMs > DAY_MS) startMs = ms;
    days.set(run, `day ${startMs}`);
  }
  return (run) => days.get(run) ?? `run ${run.id}`;
}

function daysSentence(runs: readonly SidedRun[], said: boolean): Comparison['days'] {
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

// ---- air ----------------------------------------------------------------------------------------------------

interface Air {
  readonly doubt: AirDoubt;
  /** What the run's pressures are divided by. */
  factorOf(gathered: Gathered): number;
  readonly corrections: readonly Says[];
  readonly problems: readonly Says[];
}

/** Pressures are brought to the mean barometric pressure of the runs before. */
function airOf(runs: readonly SidedRun[]): Air {
  const of = (role: Role) => runs.filter((r) => r.role === role);
  const baros = (role: Role) => of(role).flatMap((r) => r.gathered.baro ?? []);
  const known = runs.every((r) => r.gathered.baro !== null);
  const reference = meanOr(
    baros('before').map((b) => b.kpa),
    meanOr(
      baros('after').map((b) => b.kpa),
      UNKNOWN_BARO.kpa,
    ),
  );
  const after = meanOr(
    baros('after').map((b) => b.kpa),
    reference,
  );
  const sensors = [...baros('before'), ...baros('after')];
  const sdKpa = known
    ? Math.max(
        STEP_SD_KPA,
        ...sensors.map((b) =>
          b.source === 'barometric sensor' || b.source === 'MAP with the engine stopped' ? 0 : b.sdKpa,
        ),
      )
    : UNKNOWN_SD_KPA;
  const kelvins = (role: Role) =>
    of(role).flatMap((r) => (r.gathered.air ? [r.gathered.air.c + ZERO_C_K] : []));
  const warmBefore = meanOr(kelvins('before'), STANDARD_AIR_K);
  const warmAfter = meanOr(kelvins('after'), warmBefore);
  const corrections: Says[] = [];
  if (known && runs.length > 0)
    corrections.push(
      Math.abs(after - reference) < SAME_KPA
        ? say('compare.baro.same', { kpa: reference })
        : say('compare.baro.brought', {
            fromKpa: after,
            toKpa: reference,
            change: reference / after - 1,
          }),
    );
  if (kelvins('before').length > 0 && kelvins('after').length > 0)
    corrections.push(
      say('compare.air', {
        beforeC: warmBefore - ZERO_C_K,
        afterC: warmAfter - ZERO_C_K,
        density: warmBefore / warmAfter - 1,
      }),
    );
  return {
    doubt: {
      lnBaro: Math.log(after / reference),
      lnKelvin: Math.log(warmAfter / warmBefore),
      baroSd: sdKpa / reference,
    },
    // Half the runs corrected would be worse than none.
    factorOf: (g) => (known && g.baro !== null ? g.baro.kpa / reference : 1),
    corrections,
    problems: runs
      .filter((r) => r.gathered.baro === null)
      .map(({ run }) => say('compare.no-baro', { run: named(run), allowedKpa: UNKNOWN_SD_KPA })),
  };
}

function meanOr(list: readonly number[], otherwise: number): number {
  return list.length === 0 ? otherwise : list.reduce((a, b) => a + b, 0) / list.length;
}
