/** What a comparison says. Shares are fractions of 1; a run is named by its part in the visit and its date, or by its file. */
import { type Says, sayer } from '../core/says.ts';

interface How {
  fromRpm: number;
  toRpm: number;
}
interface RoadEffect {
  region: Says;
  effect: number;
  low: number;
  high: number;
}
interface More {
  pulls: number;
  how: Says;
}

export interface CompareSays {
  'compare.rule': { confidence: number; margin: number };
  'compare.run': { role: string; at: string };
  // where
  'compare.region.all': Record<never, never>;
  'compare.region.supercharger': Record<never, never>;
  'compare.region.clutch-band': Record<never, never>;
  'compare.region.changeover': Record<never, never>;
  'compare.region.above-changeover': Record<never, never>;
  'compare.region.turbocharger-low': { rpm: number };
  'compare.region.turbocharger-high': { rpm: number };
  // days and air
  'compare.day.said': Record<never, never>;
  'compare.day.shared': Record<never, never>;
  'compare.day.other': { sd: number };
  'compare.day.unknown': { sd: number };
  'compare.baro.same': { kpa: number };
  'compare.baro.brought': { fromKpa: number; toKpa: number; change: number };
  'compare.air': { beforeC: number; afterC: number; density: number };
  'compare.air-unread': Record<never, never>;
  'compare.gears': { regions: Says; allowed: number };
  // the same road
  'compare.road.matched': {
    stretches: number;
    before: number;
    ofBefore: number;
    after: number;
    ofAfter: number;
  };
  'compare.road.none': { before: number; after: number };
  'compare.road.few': Record<never, never>;
  'compare.road.effect': RoadEffect & { allLow: number; allHigh: number };
  'compare.road.effect-alone': RoadEffect;
  /** W/kg. */
  'compare.power.effect': {
    region: Says;
    before: number;
    after: number;
    difference: number;
    low: number;
    high: number;
    pullsBefore: number;
    pullsAfter: number;
  };
  /** Grades as shares. */
  'compare.power.rests': { before: number; after: number; sd: number };
  // what cannot be compared
  'compare.no-run': { role: string };
  'compare.nothing': Record<never, never>;
  'compare.vehicles': { which: readonly Says[] };
  'compare.vehicle': { vin: string; run: Says };
  'compare.inductions': { which: readonly Says[] };
  'compare.induction': { induction: string; run: Says };
  'compare.no-charger': Record<never, never>;
  'compare.missing': { run: Says; signal: string };
  'compare.unread': { run: Says; pulls: number };
  'compare.no-baro': { run: Says; allowedKpa: number };
  // what to drive
  'compare.how': How;
  'compare.how-gear': How & { kmh: number; atRpm: number };
  'compare.need.no-pull-before': More;
  'compare.need.after': More;
  'compare.need.no-common': More;
  'compare.need.few-before': More;
  /** by: pulls, days or air */
  'compare.need.hidden': More & { by: string };
  'compare.need.too-few': More;
  'compare.need.too-few-both': More & { after: number };
  'compare.need.past': Record<never, never>;
  'compare.need.tip-ins': { holdS: number; rpm: number };
  'compare.need.settle': { role: string; minutes: number };
  'compare.need.another-run': Record<never, never>;
  'compare.need.cold': { role: string; fromC: number; toC: number };
  'compare.need.heat-signals': Record<never, never>;
  'compare.need.air-unknown': Record<never, never>;
  'compare.need.air-apart': { byC: number };
  'compare.need.tip-air-apart': { byC: number };
  'compare.need.cold-starts': { sd: number };
}

export const say = sayer<CompareSays>();
