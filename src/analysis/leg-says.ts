/** What is said about the legs of a road test and asked of the person in the car, without the words. */
import { type Says, sayer } from '../core/says.ts';

type None = Record<never, never>;
interface Range {
  fromRpm: number;
  toRpm: number;
}

export interface LegSays {
  'leg.key-on-check': None;
  'leg.key-on-check.why': None;
  'leg.key-on-check.how': { stopS: number };
  'leg.key-on-check.counts': { readings: number; afterS: number };
  'leg.warm-up': None;
  'leg.warm-up.why': None;
  'leg.warm-up.how': None;
  'leg.warm-up.counts': { fromC: number; toC: number };
  'leg.hot-idle': None;
  'leg.hot-idle.why': None;
  'leg.hot-idle.how': None;
  'leg.hot-idle.counts': { aboveC: number; backC: number; unaskedS: number };
  'leg.heater-check': None;
  'leg.heater-check.why': None;
  'leg.heater-check.how': { raisedRpm: number };
  'leg.heater-check.counts': Range & { idleS: number; raisedS: number };
  'leg.clutch-band': None;
  'leg.clutch-band.why': None;
  'leg.changeover': None;
  'leg.changeover.why': None;
  'leg.above-hand-over': None;
  'leg.above-hand-over.why': None;
  'leg.pull': None;
  'leg.pull-low': None;
  'leg.pull-high': None;
  'leg.pull.why': None;
  'leg.pull.how': Range;
  'leg.pull.counts': { pulls: number; lastingS: number; warmC: number; taught: number };
  'leg.pull.counts-spread': { pulls: number; warmC: number };
  'leg.light-demand': None;
  'leg.light-demand.why': None;
  'leg.light-demand.how': Range;
  'leg.light-demand.counts': Range & { enoughS: number; fromDemandPct: number; toDemandPct: number };
  'leg.steady-load': None;
  'leg.steady-load.why': None;
  'leg.steady-load.how': { kmh: number };
  'leg.steady-load.counts': { enoughS: number; movingS: number; kmh: number; askedS: number };
  'leg.idle-after-load': None;
  'leg.idle-after-load.why': None;
  'leg.idle-after-load.how': None;
  'leg.idle-after-load.counts': { enoughS: number; withinS: number };
  'leg.hot-restart': None;
  'leg.hot-restart.why': None;
  'leg.hot-restart.how': { stopS: number };
  'leg.hot-restart.counts': { enoughS: number; stopS: number };
  /** Before how a leg is driven that wants the car to stand. */
  'leg.stop-first': { how: Says };
  /** How much of a leg is there, or why no more of it will come. */
  'leg.left.readings': { n: number; of: number };
  'leg.left.pulls': { n: number; of: number };
  'leg.left.more': { moreS: number };
  'leg.left.degrees': { nowC: number; toC: number };
  'leg.left.settling': None;
  'leg.left.fan': None;
  'leg.left.fan-asked': None;
  'leg.left.fan-over': None;
  'leg.left.fan-unseen': None;
  'leg.left.cold-start': { fromC: number };
  'leg.left.signal': None;
  'leg.left.repair': None;
  'leg.left.cool': None;
  /** Of pulls that had been enough: why they are so no longer. */
  'leg.left.sensor': None;
  'leg.left.doubted': None;
  'leg.left.taken-back': None;
  'leg.left.untaught': None;
  'leg.left.differ': None;
  'leg.left.differ-pulls': { n: number; of: number };
  'leg.left.findings': None;
  'ask.cabin heat idle': None;
  'ask.cabin heat 2000 rpm': { raisedRpm: number };
  'ask.fan': None;
  'ask.noise': None;
  /** What stands before the answer in the list of marks. */
  'ask.mark.cabin heat idle': None;
  'ask.mark.cabin heat 2000 rpm': None;
  'ask.mark.fan': None;
  'ask.mark.noise': None;
  /** Of a system without a single finding. */
  'judge.nothing-recorded': None;
  'judge.no-charger': None;
}

export const say = sayer<LegSays>();
