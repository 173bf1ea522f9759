/** From what the watches saw to the coolant findings, by the decision rule of JCGM 106:2012. */
import { tenth } from '../../core/rounded.ts';
import type { Says } from '../../core/says.ts';
import type { Given } from '../given.ts';
import { say as sayLeg } from '../leg-says.ts';
import { CONFIDENCE, Z_BOTH, Z95 } from '../spread.ts';
import type { Evidence, Finding } from '../types.ts';
import type { CoolantBaseline } from './baseline.ts';
import type { Bin, HeatSource } from './bins.ts';
import {
  type Climb,
  type ClimbWatch,
  FAULT_FROM_C,
  LEVEL,
  NET_ABOVE_C,
  NET_HOLD_S,
  READING_C,
  type Slope,
} from './climb.ts';
import type { RegimeName } from './envelope.ts';
import * as fan from './fan.ts';
import * as jumps from './jumps.ts';
import { fanOf, type KindRange } from './kind.ts';
import { COOL_AIR_C, HIGH_C, type Plateau } from './plateau.ts';
import { say } from './says.ts';
import { type Settled, WIND_KMH } from './settled.ts';
import * as cold from './too-cold.ts';
import { COLD_C, expectedHeat, FROM_C, SCATTER, TO_C, type WarmUp } from './warm-up-meter.ts';

/** A temperature that is held to be so, and who says it. */
export interface Known {
  readonly value: number;
  readonly source: Says;
}

export interface CoolantFacts {
  readonly limit: Known;
  /** Plateau known before the run. */
  readonly known: Known | null;
  /** Where other cars of the kind settle; null where this one's plateau is known. */
  readonly kind: KindRange | null;
  readonly baseline: CoolantBaseline | null;
  readonly plateau: Plateau;
  readonly climb: ClimbWatch;
  readonly cold: cold.TooColdWatch;
  readonly jumps: jumps.JumpWatch;
  readonly settled: Settled;
  readonly fan: fan.FanWatch;
  readonly warmUp: WarmUp | null;
  readonly heatSource: HeatSource | null;
  readonly firstC: number | null;
  readonly last: Bin | null;
  readonly signals: readonly string[];
}

/** A steady speed at which a healthy car holds its plateau (common practice, no source). */
const HOLDS_PLATEAU_KMH = 60;
/**
 * From reaching the plateau, the five minutes of settling included; of that under the climb test, and on the move.
 * Chosen by hand, not measured.
 */
export const NEED_SETTLED_S = 480;
const NEED_WATCHED_S = 180;
export const NEED_MOVING_S = 180;
/** Settled this long without a single change of reading is no measurement. Chosen by hand, not measured. */
const UNCHANGED_S = 900;
/** Steps to which the reading leapt by more than coolant can. Chosen by hand, not measured. */
const RESTLESS = 3;
/**
 * A drive that ended with the coolant nearer to the envelope than this ended on a question. Chosen by hand, not
 * measured.
 */
const END_BELOW_C = 0.5;
/** A plateau of one car differs by this between healthy drives (open drives: 86 to 88, 89 to 91 °C). */
const ABOVE_KNOWN_C = 4;
const BELOW_KNOWN_C = 5;
/**
 * With no known plateau, one below this may still be an open thermostat in warm air. Chosen by hand, not measured.
 */
const SURE_WARM_C = 84;
/**
 * A plateau is held when, while it is asked, one reading in twenty at most lies further below it. Chosen by hand,
 * not measured.
 */
export const NEED_ASKED_S = 120;
const WANDERS_C = 4;
/** Bubbles pass in seconds: slower readings cannot show their absence. Chosen by hand, not measured. */
const QUICK_S = 2.5;
/**
 * The whole interval of the heat must lie above SLOW times the expected to be a fault; chosen by hand, not measured. Below
 * EXCLUDED to be good: chosen on the open drives, both halves in view (one half alone says 1.75), from 39 cold starts with
 * twice the heat put in, 60 draws each of 1 to 13 drives that teach: 8 of 8,976 called good, at 2 times 3 in 100.
 */
const SLOW_WARM_UP = 1.3;
const EXCLUDED = 1.7;
/** From halfway to twice the heat (as a ratio) on, the system's verdict waits. Chosen by hand, not measured. */
const WAITS = Math.SQRT2;

type Draft = Pick<Finding, 'id' | 'rule'>;

const reading = (c: number): Finding['measured'] => ({
  value: tenth(c),
  unit: 'degC',
  interval: [tenth(c - READING_C), tenth(c + READING_C)],
});

export function climbFinding(f: CoolantFacts): Finding {
  const draft: Draft = {
    id: 'coolant.climb',
    rule: say('coolant.rule.climb', {
      hours: LEVEL.hours,
      limitC: f.limit.value,
      holdS: NET_HOLD_S,
      aboveC: NET_ABOVE_C,
      fromC: FAULT_FROM_C,
      settledS: NEED_SETTLED_S,
      watchedS: NEED_WATCHED_S,
      movingS: NEED_MOVING_S,
      movingKmh: WIND_KMH,
      readingC: READING_C,
    }),
  };
  const first = f.climb.climbs[0];
  if (first) return climbFault(f, draft, first);
  const s = f.settled;
  const needs = climbNeeds(f);
  const [lowC, highC] = s.range;
  const seen = s.settledS > 0;
  return {
    ...plain(f, draft),
    verdict: needs === null ? 'shown good' : 'not shown',
    fromS: s.fromS,
    toS: seen ? s.toS : null,
    measured: seen ? reading(highC) : null,
    limit: { ...f.limit, unit: 'degC' },
    evidence: seen
      ? [
          {
            fromS: s.fromS ?? 0,
            toS: s.toS,
            text: say('coolant.seen.settled', { overS: s.settledS, lowC, highC, movingS: s.movingS }),
          },
        ]
      : [],
    needs,
  };
}

function climbNeeds(f: CoolantFacts): Says | null {
  const s = f.settled;
  const p = f.plateau.learnedC;
  if (!f.last || f.firstC === null) return say('coolant.needs.signal');
  if (p === null) {
    const now = f.last.ect ?? 0;
    return now >= HIGH_C
      ? say('coolant.needs.no-plateau', { nowC: now })
      : say('coolant.needs.settle', { moreS: NEED_WATCHED_S, kmh: WIND_KMH });
  }
  const [low, high] = s.range;
  const moreS = Math.max(NEED_SETTLED_S - s.settledS, NEED_WATCHED_S - s.watchedS);
  if (moreS > 0) return say('coolant.needs.more', { moreS });
  if (s.restless >= RESTLESS) return say('coolant.needs.restless');
  if (low === high && s.settledS >= UNCHANGED_S) return say('coolant.needs.frozen');
  if (s.movingS < NEED_MOVING_S)
    return say('coolant.needs.moving', { moreS: NEED_MOVING_S - s.movingS, kmh: WIND_KMH });
  if (high + READING_C >= f.limit.value) return say('coolant.needs.near-limit', { readingC: READING_C });
  if (f.known && p > f.known.value + ABOVE_KNOWN_C)
    return say('coolant.needs.high-plateau', { plateauC: p, knownC: f.known.value });
  if (f.kind && p > f.kind.valueC + Math.max(ABOVE_KNOWN_C, f.kind.withinC))
    return say('coolant.needs.above-kind', { plateauC: p, ...rangeSays(f.kind) });
  if (f.climb.suspicion > 0 || f.climb.watch !== null || s.endC > -END_BELOW_C)
    return say('coolant.needs.high-at-end');
  return null;
}

function climbFault(f: CoolantFacts, draft: Draft, first: Climb): Finding {
  const worst = f.climb.climbs.reduce((a, b) => (b.peakC > a.peakC ? b : a));
  const plateauC = first.plateauC ?? 0;
  const source =
    first.by === 'limit'
      ? f.limit.source
      : first.by === 'test'
        ? say('coolant.source.envelope', { plateauC, allowC: first.limitC - plateauC })
        : say('coolant.source.above', { plateauC, aboveC: NET_ABOVE_C });
  return {
    ...plain(f, draft),
    verdict: 'fault shown',
    pointsTo: pointsTo(f, first),
    saidAtS: first.saidAtS,
    fromS: first.fromS,
    toS: f.climb.climbs[f.climb.climbs.length - 1]!.toS,
    measured: reading(worst.peakC),
    limit: { value: tenth(first.limitC), unit: 'degC', source },
    evidence: f.climb.climbs.map(climbEvidence),
    needs: null,
  };
}

function climbEvidence(c: Climb): Evidence {
  const slope = slopeSays(c.slope);
  const { peakC, saidC, limitC } = c;
  const plateauC = c.plateauC ?? 0;
  const text =
    c.by === 'limit'
      ? say('coolant.seen.limit', { limitC, peakC, slope })
      : c.by === 'test'
        ? say('coolant.seen.climb', { plateauC, allowC: limitC - plateauC, saidC, peakC, slope })
        : say('coolant.seen.far', { plateauC, peakC, slope });
  return { fromS: c.fromS, toS: c.toS, text };
}

const slopeSays = ({ perMin, interval: [lowC, highC] }: Slope) =>
  say('coolant.seen.slope', { perMinC: perMin, lowC, highC });

export function climbSentence(
  nowC: number,
  minutesToLimit: readonly [number, number] | null,
  limitC: number,
): Says {
  if (nowC >= limitC) return say('coolant.spoken.limit', { nowC });
  if (minutesToLimit === null) return say('coolant.spoken.climb', { nowC });
  const fromMin = Math.max(1, Math.floor(minutesToLimit[0]));
  const toMin = Math.max(fromMin, Math.ceil(minutesToLimit[1]));
  return say('coolant.spoken.climb-soon', { nowC, limitC, fromMin, toMin });
}

/**
 * Rising by so much, °C/min, in a regime watched for so long, s, is climbing there; falling by so much is not.
 * Chosen by hand, not measured.
 */
const CLIMBS_C_PER_MIN = 1;
const FALLS_C_PER_MIN = -0.5;
const SEEN_S = 20;
const SEEN_LIGHT_S = 30;
const HARDLY_MOVED_S = 60;

/** ANALYSIS §4: in which regime it rose, and in which it fell. */
function pointsTo(f: CoolantFacts, c: Climb): Says {
  const of = (...names: RegimeName[]) => {
    let riseC = 0;
    let s = 0;
    for (const n of names) {
      riseC += c.byRegime.get(n)?.riseC ?? 0;
      s += c.byRegime.get(n)?.s ?? 0;
    }
    return { s, perMin: s > 0 ? (riseC / s) * 60 : 0 };
  };
  const slow = of('standing');
  const moving = of('town', 'load at speed', 'light at speed');
  const load = of('load at speed');
  const light = of('light at speed', 'standing', 'town');
  if (slow.s >= SEEN_S && moving.s < SEEN_S && f.settled.movingS < HARDLY_MOVED_S)
    return say('coolant.points.fan-or-flow');
  if (
    slow.s >= SEEN_S &&
    slow.perMin >= CLIMBS_C_PER_MIN &&
    (moving.s < SEEN_S || moving.perMin <= FALLS_C_PER_MIN)
  )
    return say('coolant.points.fan');
  if (load.s >= SEEN_S && load.perMin >= CLIMBS_C_PER_MIN && light.s >= SEEN_LIGHT_S && light.perMin <= 0)
    return say('coolant.points.flow');
  return say('coolant.points.no-circulation');
}

export function tooColdFinding(f: CoolantFacts): Finding {
  const draft: Draft = {
    id: 'coolant.too-cold',
    rule: say('coolant.rule.too-cold', {
      earlyC: f.cold.earlyC,
      lateC: f.cold.lowC,
      firstS: cold.FIRST_S,
      longS: cold.LONG_S,
      windowS: cold.RISE_OVER_S,
      riseC: f.cold.riseC,
      lateRiseC: cold.LONG_RISE_C,
      holdS: cold.COLD_HELD_S,
      sagC: cold.SAG_C,
      sagS: cold.SAG_S,
      coolAirC: COOL_AIR_C,
      coolLoad: cold.COOL_LOAD,
      askedS: NEED_ASKED_S,
      wanderC: WANDERS_C,
    }),
  };
  const source = f.cold.source ?? say('coolant.source.default');
  const found = f.cold.found;
  if (found) {
    const { activeS, ectC, overS, riseC } = found;
    return {
      ...plain(f, draft),
      verdict: 'fault shown',
      pointsTo: say(found.frozen ? 'coolant.points.open-or-sensor' : 'coolant.points.open'),
      saidAtS: found.saidAtS,
      fromS: found.fromS,
      toS: found.toS,
      measured: reading(ectC),
      limit: {
        value: found.limitC + READING_C,
        unit: 'degC',
        source: found.by === 'sag' ? say('coolant.source.run') : source,
      },
      evidence: [
        {
          fromS: found.fromS,
          toS: found.saidAtS,
          text: say('coolant.seen.too-cold', { activeS, ectC, overS, riseC }),
        },
      ],
      needs: null,
    };
  }
  const low = belowKind(f, draft);
  if (low) return low;
  const needs = tooColdNeeds(f);
  const s = f.settled;
  const p = f.plateau.learnedC;
  return {
    ...plain(f, draft),
    verdict: needs === null ? 'shown good' : 'not shown',
    fromS: s.fromS,
    toS: s.settledS > 0 ? s.toS : null,
    measured:
      p === null || s.askedS === 0
        ? null
        : { value: s.quantile(0.5), unit: 'degC', interval: [s.quantile(0.025), s.quantile(0.975)] },
    limit: { value: f.cold.lowC, unit: 'degC', source },
    evidence:
      p === null
        ? []
        : [
            { fromS: s.fromS ?? 0, toS: s.toS, text: say('coolant.seen.plateau', { plateauC: p }) },
            ...besideKind(f),
          ],
    needs,
  };
}

const rangeSays = ({ cars, valueC, withinC }: KindRange): { cars: number; lowC: number; highC: number } => ({
  cars,
  lowC: valueC - withinC,
  highC: valueC + withinC,
});

function besideKind(f: CoolantFacts): Evidence[] {
  if (f.kind === null) return [];
  const text = say('coolant.seen.plateau-kind', rangeSays(f.kind));
  return [{ fromS: f.settled.fromS ?? 0, toS: f.settled.toS, text }];
}

/** Settled for sure, and nearly all that it held while it was asked lies below where any healthy car of the kind does. */
function belowKind(f: CoolantFacts, draft: Draft): Finding | null {
  const { kind, settled: s } = f;
  const p = f.plateau.learnedC;
  if (kind === null || p === null || !f.plateau.proved || s.askedS < NEED_ASKED_S) return null;
  const limitC = kind.valueC - Math.max(BELOW_KNOWN_C, kind.farC);
  const [low, mid, high] = [s.quantile(0.025), s.quantile(0.5), s.quantile(0.975)];
  if (Math.max(p, high) + READING_C >= limitC) return null;
  const over = { fromS: s.fromS ?? 0, toS: s.toS };
  return {
    ...plain(f, draft),
    verdict: 'fault shown',
    pointsTo: say('coolant.points.open-or-sensor'),
    saidAtS: s.toS,
    ...over,
    measured: { value: mid, unit: 'degC', interval: [low - READING_C, high + READING_C] },
    limit: {
      value: tenth(limitC),
      unit: 'degC',
      source: say('coolant.source.kind', { cars: kind.cars }),
    },
    evidence: [{ ...over, text: say('coolant.seen.plateau', { plateauC: p }) }, ...besideKind(f)],
  };
}

function tooColdNeeds(f: CoolantFacts): Says | null {
  const s = f.settled;
  const p = f.plateau.learnedC;
  if (p === null) return say('coolant.needs.settle', { moreS: NEED_ASKED_S, kmh: WIND_KMH });
  const { kind } = f;
  // A kind whose cars differ by more than an open thermostat takes says nothing of a low one.
  const told = f.known !== null || (kind !== null && kind.withinC <= BELOW_KNOWN_C);
  if (!told && p < SURE_WARM_C) return say('coolant.needs.low-plateau', { plateauC: p });
  const below = p < SURE_WARM_C ? 0 : BELOW_KNOWN_C;
  if (kind !== null && p < kind.valueC - Math.max(below, kind.withinC))
    return say('coolant.needs.below-kind', { plateauC: p, ...rangeSays(kind), kmh: HOLDS_PLATEAU_KMH });
  if (f.known !== null && p < f.known.value - BELOW_KNOWN_C)
    return say('coolant.needs.below-known', { plateauC: p, knownC: f.known.value, kmh: HOLDS_PLATEAU_KMH });
  if (s.askedS < NEED_ASKED_S)
    return say('coolant.needs.asked', { moreS: NEED_ASKED_S - s.askedS, kmh: WIND_KMH });
  if (s.quantile(0.05) < p - WANDERS_C || s.quantile(0.025) <= f.cold.lowC)
    return say('coolant.needs.sagged', { kmh: WIND_KMH });
  return null;
}

export function jumpsFinding(f: CoolantFacts): Finding {
  const draft: Draft = {
    id: 'coolant.jumps',
    rule: say('coolant.rule.jumps', {
      swings: jumps.SWINGS,
      swingC: jumps.SWING_C,
      mostS: jumps.SWING_MOST_S,
      duringS: jumps.DURING_S,
      everyS: QUICK_S,
    }),
  };
  const j = f.jumps.found;
  if (j)
    return {
      ...plain(f, draft),
      verdict: 'fault shown',
      pointsTo: say('coolant.points.air'),
      saidAtS: j.saidAtS,
      fromS: j.fromS,
      toS: j.toS,
      measured: reading(j.largestC),
      limit: {
        value: jumps.SWING_C - READING_C,
        unit: 'degC',
        source: say('coolant.source.heat-capacity'),
      },
      evidence: [
        {
          fromS: j.fromS,
          toS: j.toS,
          text: say('coolant.seen.jumps', { swings: j.swings, largestC: j.largestC }),
        },
      ],
      needs: null,
    };
  const quick = f.jumps.everyS <= QUICK_S;
  const good = quick && f.plateau.settled && f.settled.settledS >= NEED_SETTLED_S;
  return {
    ...plain(f, draft),
    aside: !quick,
    verdict: good ? 'shown good' : 'not shown',
    needs: good
      ? null
      : quick
        ? say('coolant.needs.more', { moreS: Math.max(60, NEED_SETTLED_S - f.settled.settledS) })
        : say('coolant.needs.quicker', { everyS: QUICK_S }),
  };
}

/** The fan is a subject of its own: most drives never need it, and no other verdict waits for it. */
export function fanFinding(f: CoolantFacts): Finding {
  const { seenAtS, askedAtS, missing } = f.fan;
  const base: Finding = {
    ...plain(f, {
      id: 'coolant.fan',
      rule: say('coolant.rule.fan', {
        aboveC: fan.ABOVE_C,
        backC: fan.FAN_BACK_C,
        beyondC: fan.BEYOND_C,
        beyondS: fan.BEYOND_S,
      }),
    }),
    system: 'fan',
  };
  if (missing)
    return {
      ...base,
      verdict: 'fault shown',
      pointsTo: say('coolant.points.fan-wiring'),
      saidAtS: missing.saidAtS,
      fromS: missing.fromS,
      toS: missing.saidAtS,
      measured: reading(missing.ectC),
      limit: {
        value: tenth(missing.on.value + fan.BEYOND_C - READING_C),
        unit: 'degC',
        source: missing.on.source,
      },
      evidence: [
        {
          fromS: missing.fromS,
          toS: missing.saidAtS,
          text: noFanSays(missing),
        },
      ],
    };
  if (seenAtS !== null)
    return {
      ...base,
      verdict: 'shown good',
      fromS: seenAtS,
      toS: seenAtS,
      evidence: [{ fromS: seenAtS, toS: seenAtS, text: say('coolant.seen.fan') }],
    };
  const kind = fanOf(f.baseline?.kind);
  return {
    ...base,
    fromS: askedAtS,
    toS: askedAtS,
    evidence:
      askedAtS === null || kind === null
        ? []
        : [{ fromS: askedAtS, toS: askedAtS, text: say('coolant.seen.fan-kind', rangeSays(kind)) }],
    needs: say(askedAtS === null ? 'coolant.needs.fan' : 'coolant.needs.fan-asked'),
  };
}

function noFanSays({ ectC, on: { value, cars } }: fan.FanMissing): Says {
  return cars === undefined
    ? say('coolant.seen.no-fan', { ectC, onC: value })
    : say('coolant.seen.no-fan-kind', { ectC, cars, highC: value });
}

/** What the climb test and the plateau have of driving with the coolant settled, and in what their faults leave it. */
export function settledGiven(f: CoolantFacts): Given {
  const s = f.settled;
  const over = { fromS: s.fromS, toS: s.settledS > 0 ? s.toS : null };
  if (f.climb.climbs.length > 0 || tooColdFinding(f).verdict === 'fault shown')
    return { share: 1, left: null, ...over };
  if (f.plateau.learnedC === null)
    return { share: 0, left: s.settledS > 0 ? sayLeg('leg.left.settling') : null, ...over };
  const moreS = Math.max(
    NEED_SETTLED_S - s.settledS,
    NEED_WATCHED_S - s.watchedS,
    NEED_MOVING_S - s.movingS,
    NEED_ASKED_S - s.askedS,
  );
  if (moreS <= 0) return { share: 1, left: null, ...over };
  return { share: 1 - moreS / NEED_SETTLED_S, left: sayLeg('leg.left.more', { moreS }), ...over };
}

export const fromProfile = ({ source }: { readonly source: string }): Says =>
  say('coolant.source.profile', { from: source });

export function warmUpFinding(f: CoolantFacts): Finding {
  const draft: Draft = {
    id: 'coolant.warm-up',
    rule: say('coolant.rule.warm-up', {
      fromC: FROM_C,
      toC: TO_C,
      slow: SLOW_WARM_UP,
      excluded: EXCLUDED,
      waits: WAITS,
      confidence: CONFIDENCE,
    }),
  };
  const w = f.warmUp;
  const base: Finding = { ...plain(f, draft), aside: true };
  if (!w || !f.heatSource)
    return {
      ...base,
      needs:
        f.firstC !== null && f.firstC > COLD_C
          ? say('coolant.needs.cold-start', { fromC: COLD_C })
          : say('coolant.needs.warm-up', { toC: TO_C }),
    };
  const took: Evidence = {
    fromS: w.fromS,
    toS: w.toS,
    text: say('coolant.seen.warm-up', {
      fromC: FROM_C,
      toC: TO_C,
      overS: w.toS - w.fromS,
      startC: w.startC,
    }),
  };
  const drives = (f.baseline?.warmUps ?? []).filter((b) => b.source === f.heatSource);
  const kind = f.baseline?.kind?.warmUp[f.heatSource] ?? null;
  const expected = w.airC === null ? null : expectedHeat(drives, w.airC, f.heatSource, kind);
  if (expected === null || w.airC === null)
    return {
      ...base,
      fromS: w.fromS,
      toS: w.toS,
      evidence: [took],
      needs: say('coolant.needs.warm-up-baseline'),
    };
  const share = (z: number) => tenth(100 * Math.exp(Math.log(w.heatPerC) - expected.ln + z * expected.se));
  const measured = {
    value: share(0),
    unit: '%' as const,
    interval: [share(-Z95), share(Z95)] as [number, number],
  };
  const { cars } = expected;
  const heat = { perC: w.heatPerC, expected: Math.exp(expected.ln), airC: w.airC };
  const within = Math.expm1(Z_BOTH * expected.se);
  const seen =
    cars === 0
      ? say('coolant.seen.warm-up-air', { ...heat, drives: expected.drives })
      : expected.drives === 0
        ? say('coolant.seen.warm-up-kind', { ...heat, cars, within })
        : say('coolant.seen.warm-up-both', { ...heat, cars, within, drives: expected.drives });
  // By other cars alone the verdict on the cooling waits for what one healthy car in twenty takes.
  const slower = Math.max(WAITS, expected.drives === 0 ? Math.exp(Z95 * expected.se) : 0);
  const slow = Math.max(SLOW_WARM_UP, Math.exp(expected.far));
  const filled: Finding = {
    ...base,
    aside: measured.value < 100 * slower,
    fromS: w.fromS,
    toS: w.toS,
    measured,
    evidence: [took, { fromS: w.fromS, toS: w.toS, text: seen }],
  };
  const limit = (times: number) => ({
    value: tenth(100 * times),
    unit: '%' as const,
    source:
      cars === 0
        ? say('coolant.source.baseline')
        : say(expected.drives === 0 ? 'coolant.source.kind' : 'coolant.source.baseline-and-kind', { cars }),
  });
  if (measured.interval[0] > 100 * slow)
    return {
      ...filled,
      verdict: 'fault shown',
      pointsTo: say('coolant.points.weeping'),
      saidAtS: w.toS,
      limit: limit(slow),
    };
  if (measured.interval[1] < 100 * EXCLUDED)
    return { ...filled, verdict: 'shown good', limit: limit(EXCLUDED) };
  // Known as well as one drive of the car repeats, it would have been good: then what is taught is too little.
  const helped = Math.log(measured.value / 100) + Z95 * SCATTER[f.heatSource] < Math.log(EXCLUDED);
  return {
    ...filled,
    limit: limit(EXCLUDED),
    needs: helped
      ? say('coolant.needs.warm-up-more', { excluded: EXCLUDED, drives: expected.drives })
      : say('coolant.needs.warm-up-again'),
  };
}

function plain(f: CoolantFacts, draft: Draft): Finding {
  return {
    ...draft,
    system: 'coolant',
    verdict: 'not shown',
    pointsTo: null,
    saidAtS: null,
    fromS: null,
    toS: null,
    measured: null,
    limit: null,
    evidence: [],
    needs: null,
    signals: f.signals,
  };
}
