/** Whether the coolant climbed out of what the road explains, or past its limit. */

import { tenth } from '../../core/rounded.ts';
import type { Says } from '../../core/says.ts';
import { WORTH_TELLING } from '../sensors.ts';
import type { Evidence, Finding } from '../types.ts';
import {
  type Climb,
  FAULT_FROM_C,
  HELD_AGO_S,
  HELD_S,
  HILL_KMH,
  LEVEL,
  LEVEL_SHORT_C,
  NET_ABOVE_C,
  NET_FROM_C,
  NET_HOLD_S,
  READING_C,
  type Slope,
  STANDS_FROM_C,
} from './climb.ts';
import type { RegimeName } from './envelope.ts';
import { type CoolantFacts, type Draft, plain, rangeSays, reading, readingBeyond } from './facts.ts';
import { DUE_C } from './fan.ts';
import { ASKED_KMH, ASKED_S, HIGH_C } from './plateau.ts';
import { say } from './says.ts';
import { WIND_KMH } from './settled.ts';

/**
 * From reaching the plateau, the five minutes of settling included; of that under the climb test, and on the move.
 * Chosen by hand, not measured.
 */
export const NEED_SETTLED_S = 480;
export const NEED_WATCHED_S = 180;
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
/** So did one that ended while it rose further above its plateau than this, °C. Chosen by hand, on an open drive with a climb put in. */
const RISES_ABOVE_C = 5;
/** Where nothing says where this engine settles, one that settles for sure above this may be losing its flow (common practice: most thermostats open from 80 to 92 °C). */
const USUAL_C = 92;
/** A plateau of one car differs by this between healthy drives (open drives: 86 to 88, 89 to 91 °C). */
const ABOVE_KNOWN_C = 4;

export function climbFinding(f: CoolantFacts): Finding {
  const draft: Draft = {
    id: 'coolant.climb',
    rule: say('coolant.rule.climb', {
      hours: LEVEL.hours,
      limitC: f.limit.value,
      holdS: NET_HOLD_S,
      aboveC: NET_ABOVE_C,
      farC: NET_FROM_C,
      fromC: FAULT_FROM_C,
      standsC: STANDS_FROM_C,
      shortC: LEVEL_SHORT_C,
      aboveHeldC: f.climb.leastC,
      heldKmh: HILL_KMH[0],
      heldS: HELD_S,
      heldAgoS: HELD_AGO_S,
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
  const [, highC] = s.range;
  // While it still settles nobody is told that it has.
  const seen = f.plateau.learnedC !== null && s.settledS > 0;
  return {
    ...plain(f, draft),
    verdict: needs === null ? 'shown good' : 'not shown',
    fromS: seen ? s.fromS : null,
    toS: seen ? s.toS : null,
    measured: seen ? reading(highC) : null,
    limit: { ...f.limit, unit: 'degC' },
    evidence: seen
      ? [
          {
            fromS: s.fromS ?? 0,
            toS: s.toS,
            text: settledSays(s),
          },
          ...leftOut(f),
        ]
      : [],
    needs,
  };
}

/** A stand before the fan cuts in is no coolant that settled so high: it is told apart. */
function settledSays({ settledS, movingS, range, movingRange }: CoolantFacts['settled']): Says {
  const over = { overS: settledS, movingS };
  const [lowC, highC] = movingRange;
  if (!(lowC <= highC) || Math.round(highC) >= Math.round(range[1]))
    return say('coolant.seen.settled', { ...over, lowC: range[0], highC: range[1] });
  return say('coolant.seen.settled-stood', { ...over, lowC, highC, stoodC: range[1] });
}

/** A verdict beside readings that are not believed says that it rests on the others. */
function leftOut({ leftOut, settled }: CoolantFacts): Evidence[] {
  if (leftOut.n < WORTH_TELLING) return [];
  return [{ fromS: settled.fromS ?? 0, toS: settled.toS, text: say('coolant.seen.left-out', leftOut) }];
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
  // A kind whose cars differ by more than a failing flow raises says nothing of a high one.
  const told = f.known !== null || (f.kind !== null && f.kind.withinC <= ABOVE_KNOWN_C);
  if (!told && p - READING_C > USUAL_C)
    return say('coolant.needs.above-usual', { plateauC: p, usualC: USUAL_C });
  // What it was held against may be higher by far than where it settled.
  if (!told && !f.plateau.proved && s.moved.lessC - READING_C > Math.max(p, USUAL_C))
    return say('coolant.needs.unproved', {
      highC: s.moved.ectC,
      plateauC: p,
      overS: ASKED_S,
      kmh: ASKED_KMH,
    });
  if (f.fan.unanswered)
    return f.fan.dueBack
      ? say('coolant.needs.fan-hot-back', { highC: f.fan.dueC ?? DUE_C })
      : say('coolant.needs.fan-unanswered', { highC: DUE_C });
  const rises = f.climb.rises && (f.last.ect ?? 0) > p + RISES_ABOVE_C;
  if (rises || f.climb.suspicion > 0 || f.climb.watch !== null || s.endC > -END_BELOW_C)
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
        ? say(first.assumed ? 'coolant.source.envelope-assumed' : 'coolant.source.envelope', {
            plateauC,
            allowC: allowed(first),
          })
        : say(first.assumed ? 'coolant.source.above-assumed' : 'coolant.source.above', {
            plateauC,
            aboveC: allowed(first),
          });
  return {
    ...plain(f, draft),
    verdict: 'fault shown',
    pointsTo: pointsTo(f, first),
    saidAtS: first.saidAtS,
    fromS: first.fromS,
    toS: f.climb.climbs[f.climb.climbs.length - 1]!.toS,
    measured: beyond(first, worst.peakC),
    limit: { value: tenth(first.limitC), unit: 'degC', source },
    evidence: f.climb.climbs.map(climbEvidence),
    needs: null,
  };
}

/** What driving explains above the plateau, °C, so that both as they are printed make the limit. */
const allowed = (c: Climb): number => tenth(tenth(c.limitC) - tenth(c.plateauC ?? 0));

/** Over a limit that was held none of that time lay below it. */
const beyond = ({ by, limitC }: Climb, peakC: number): Finding['measured'] =>
  by === 'test' ? reading(peakC) : readingBeyond(peakC, limitC, 'above');

function climbEvidence(c: Climb): Evidence {
  const slope = slopeSays(c.slope);
  const { peakC, saidC, limitC } = c;
  const plateauC = c.plateauC ?? 0;
  const text =
    c.by === 'limit'
      ? say('coolant.seen.limit', { limitC, peakC, slope })
      : c.by === 'test'
        ? say(c.assumed ? 'coolant.seen.climb-assumed' : 'coolant.seen.climb', {
            plateauC,
            allowC: allowed(c),
            saidC,
            peakC,
            slope,
          })
        : say(c.assumed ? 'coolant.seen.far-assumed' : 'coolant.seen.far', { plateauC, peakC, slope });
  return { fromS: c.fromS, toS: c.toS, text };
}

const slopeSays = ({ perMin, interval: [lowC, highC] }: Slope) =>
  say('coolant.seen.slope', { perMinC: perMin, lowC, highC });

/** @param rises for certain: an alarm goes on while the coolant stands or falls, and is not called a climb then */
export function climbSentence(
  nowC: number,
  minutesToLimit: readonly [number, number] | null,
  limitC: number,
  rises: boolean,
): Says {
  // Whole degrees are said: what reads as the limit does not climb to it.
  if (Math.round(nowC) >= Math.round(limitC) || !rises) return say('coolant.spoken.limit', { nowC });
  if (minutesToLimit === null) return say('coolant.spoken.climb', { nowC });
  const fromMin = Math.floor(minutesToLimit[0]);
  const toMin = Math.max(1, Math.ceil(minutesToLimit[1]));
  if (fromMin < 1 || fromMin >= toMin) return say('coolant.spoken.climb-within', { nowC, limitC, toMin });
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

/** In which regime it rose and in which it fell, whether a plateau was reached before, and whether it came back. */
export function pointsTo(f: CoolantFacts, c: Climb): Says {
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
  const underLoad =
    load.s >= SEEN_S && load.perMin >= CLIMBS_C_PER_MIN && light.s >= SEEN_LIGHT_S && light.perMin <= 0;
  // Without a plateau the thermostat was never seen to let coolant pass; one that was guessed high says little.
  if (c.plateauC === null && !underLoad) return say('coolant.points.no-circulation');
  const levelled = c.plateauC !== null && c.plateauC <= HIGH_C;
  const flows = c.plateauC !== null && c.cameBack;
  return say(flows || (levelled && underLoad) ? 'coolant.points.flow' : 'coolant.points.flow-or-none');
}
