/** Whether the coolant reached and held its plateau: an open thermostat, or a kind of car that runs warmer. */

import { tenth } from '../../core/rounded.ts';
import type { Says } from '../../core/says.ts';
import type { Evidence, Finding } from '../types.ts';
import { READING_C } from './climb.ts';
import { type CoolantFacts, type Draft, plain, rangeSays, readingBeyond } from './facts.ts';
import { COOL_AIR_C } from './plateau.ts';
import { say } from './says.ts';
import { type Held, OUTSIDE, WIND_KMH } from './settled.ts';
import * as cold from './too-cold.ts';

/** A steady speed at which a healthy car holds its plateau (common practice, no source). */
const HOLDS_PLATEAU_KMH = 60;
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
const WANDERS_SHARE = 0.05;

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
      warmC: tenth(heldFromC(f)),
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
      measured: readingBeyond(ectC, found.limitC, 'below'),
      limit: {
        value: tenth(found.limitC),
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
  const s = f.settled;
  const base: Finding = { ...plain(f, draft), limit: { value: f.cold.lowC, unit: 'degC', source } };
  if (f.climb.climbs.length > 0)
    return { ...base, ...beforeClimb(f), needs: say('coolant.needs.climb-first') };
  const needs = tooColdNeeds(f);
  const p = f.plateau.learnedC;
  const held = s.askedS === 0 ? null : heldIn(s);
  return {
    ...base,
    verdict: needs === null ? 'shown good' : 'not shown',
    fromS: p === null ? null : s.fromS,
    toS: p !== null && s.settledS > 0 ? s.toS : null,
    measured: p === null || held === null ? null : asMeasured(held),
    evidence:
      p === null
        ? []
        : [
            {
              fromS: s.fromS ?? 0,
              toS: s.toS,
              text: say('coolant.seen.plateau', { plateauC: settledAt(p, held) }),
            },
            ...besideKind(f),
          ],
    needs,
  };
}

const heldIn = (s: CoolantFacts['settled']): Held => ({
  askedS: s.askedS,
  middleC: s.quantile(0.5),
  rangeC: [s.quantile(OUTSIDE), s.quantile(1 - OUTSIDE)],
});

/** Where it is said to have settled: what was learned early, unless the middle of all that it held, printed beside, is another reading. */
const settledAt = (learnedC: number, held: Held | null): number =>
  held === null || Math.abs(held.middleC - learnedC) <= READING_C ? learnedC : held.middleC;

const asMeasured = ({ middleC, rangeC: [low, high] }: Held): Finding['measured'] => ({
  value: middleC,
  unit: 'degC',
  interval: [low, high],
});

/** A coolant that climbed has not stayed at its plateau: what is told of that is from before. */
function beforeClimb(f: CoolantFacts): Pick<Finding, 'fromS' | 'toS' | 'measured' | 'evidence'> {
  const { learnedC: p, settledFromS } = f.plateau;
  const fromS = f.settled.fromS ?? 0;
  const nothing = { fromS: null, toS: null, measured: null, evidence: [] };
  if (p === null || settledFromS === null) return nothing;
  const left = f.climb.climbs.find((c) => c.saidAtS > settledFromS);
  const toS = left === undefined ? f.settled.toS : Math.max(fromS, left.fromS);
  const { before } = f.settled;
  const held = before === null || before.askedS < NEED_ASKED_S ? null : before;
  const plateauC = settledAt(p, held);
  const text =
    left === undefined
      ? say('coolant.seen.plateau', { plateauC })
      : say('coolant.seen.plateau-left', { plateauC });
  return {
    fromS,
    toS,
    measured: held === null ? null : asMeasured(held),
    evidence: [{ fromS, toS, text }],
  };
}

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
  const held = heldIn(s);
  const [low, high] = held.rangeC;
  if (Math.max(p, high) + READING_C >= limitC) return null;
  const over = { fromS: s.fromS ?? 0, toS: s.toS };
  return {
    ...plain(f, draft),
    verdict: 'fault shown',
    pointsTo: say('coolant.points.open-or-sensor'),
    saidAtS: s.toS,
    ...over,
    measured: { value: held.middleC, unit: 'degC', interval: [low - READING_C, high + READING_C] },
    limit: {
      value: tenth(limitC),
      unit: 'degC',
      source: say('coolant.source.kind', { cars: kind.cars }),
    },
    evidence: [
      { ...over, text: say('coolant.seen.plateau', { plateauC: settledAt(p, held) }) },
      ...besideKind(f),
    ],
  };
}

/** Other cars of the kind tell where this one settles: they do not differ by more than an open thermostat takes. */
const kindTells = ({ kind }: CoolantFacts): boolean => kind !== null && kind.withinC <= BELOW_KNOWN_C;

/**
 * Warm enough that it has not sagged, however high it settled, °C: where the car or its kind settles higher, so far below that. Chosen
 * by hand on two simulated hills (87 °C on the flat under 91 °C learned uphill).
 */
const HELD_C = 86;
function heldFromC(f: CoolantFacts): number {
  const toldC = f.known?.value ?? (kindTells(f) ? f.kind!.valueC : null);
  return Math.max(HELD_C, (toldC ?? 0) - WANDERS_C);
}

function tooColdNeeds(f: CoolantFacts): Says | null {
  const s = f.settled;
  const p = f.plateau.learnedC;
  if (p === null) return say('coolant.needs.settle', { moreS: NEED_ASKED_S, kmh: WIND_KMH });
  const { kind } = f;
  const told = f.known !== null || kindTells(f);
  if (!told && p < SURE_WARM_C) return say('coolant.needs.low-plateau', { plateauC: p });
  const below = p < SURE_WARM_C ? 0 : BELOW_KNOWN_C;
  if (kind !== null && p < kind.valueC - Math.max(below, kind.withinC))
    return say('coolant.needs.below-kind', { plateauC: p, ...rangeSays(kind), kmh: HOLDS_PLATEAU_KMH });
  if (f.known !== null && p < f.known.value - BELOW_KNOWN_C)
    return say('coolant.needs.below-known', { plateauC: p, knownC: f.known.value, kmh: HOLDS_PLATEAU_KMH });
  if (s.askedS < NEED_ASKED_S)
    return say('coolant.needs.asked', { moreS: NEED_ASKED_S - s.askedS, kmh: WIND_KMH });
  if (s.quantile(WANDERS_SHARE) < Math.min(p - WANDERS_C, heldFromC(f)) || s.quantile(OUTSIDE) <= f.cold.lowC)
    return say('coolant.needs.sagged', { kmh: WIND_KMH });
  if (s.quantile(1 - OUTSIDE) + READING_C >= f.limit.value)
    return say('coolant.needs.near-limit', { readingC: READING_C });
  return null;
}
