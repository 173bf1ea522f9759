/** What is said about boost, without the words: shares as fractions of 1, boost as gauge kPa. */
import { type Says, sayer } from '../../core/says.ts';

type None = Record<never, never>;

interface Where {
  fromRpm: number;
  toRpm: number;
  fromDemandPct: number;
}

/** How a pull is to be driven. */
interface Drive extends Where {
  pulls: number;
  holdS: number;
  warmC: number;
}

interface OfKind {
  cars: number;
  within: number;
}

export interface BoostSays {
  'boost.rule.region': {
    confidence: number;
    side: number;
    z: number;
    looks: number;
    samples: number;
    lastingS: number;
    pulls: number;
    spoolingRpm: number;
    slowRpm: number;
    spoolingPulls: number;
    borneOut: number;
    air: number;
    goodLoss: number;
    carryRpm: number;
    carry: number;
  };
  'boost.rule.dip': { limit: number };
  'boost.rule.intermittent': { gone: number; surely: number; times: number; pulls: number };
  'boost.rule.leak': { confidence: number; z: number };
  'boost.rule.surplus': { confidence: number; z: number; limits: number };
  'boost.rule.late': { share: number; confidence: number; goodTips: number; z: number; faultTips: number };
  'boost.rule.clutch-open': { z: number; mapStretches: number; actStretches: number };
  'boost.rule.map': { offKpa: number; frozenS: number };
  /** Behind another rule: how the engine is charged is not entered. */
  'boost.rule.no-induction': None;
  'boost.rule.guessed': { guess: Says };
  'boost.guess.belt': { afterS: number; belowRpm: number; topKpa: number };
  'boost.guess.turbo': { topKpa: number };
  'boost.guess.none': { pulls: number };
  /** `from`: what the profile says of its value. */
  'boost.source.profile': { from: string };
  'boost.source.commanded': None;
  'boost.source.baseline': None;
  /** Other cars of the kind, and by how much a healthy one may differ from what they taught (95 %), however many pulls. */
  'boost.source.kind': OfKind;
  'boost.source.baseline-and-kind': OfKind;
  'boost.source.air': None;
  'boost.source.air-kind': { cars: number; within: number };
  'boost.source.default': None;
  'boost.points.clutch': None;
  'boost.points.clutch-or-late': None;
  'boost.points.clutch-or-slip': None;
  'boost.points.belt': None;
  'boost.points.changeover': None;
  'boost.points.turbo': None;
  'boost.points.turbo-slow': None;
  'boost.points.turbo-slow-or-leak': None;
  'boost.points.turbo-or-leak': None;
  'boost.points.leak': None;
  'boost.points.leak-air': None;
  'boost.points.leak-everywhere': None;
  'boost.points.leak-or-sensor': None;
  'boost.points.slip': None;
  'boost.points.slip-or-late': None;
  'boost.points.slip-or-leak-alone': None;
  'boost.points.slip-late-or-leak': { fromRpm: number; toRpm: number };
  'boost.points.slip-or-leak': { fromRpm: number; toRpm: number };
  'boost.points.contact': None;
  'boost.points.hangs': None;
  'boost.points.control': None;
  'boost.points.control-or-teacher': None;
  'boost.points.closes-late': None;
  'boost.points.does-not-open': None;
  'boost.points.map': None;
  'boost.points.map-or-baro': None;
  'boost.seen.range': { fromRpm: number; toRpm: number };
  /** `kmh`: what the gear makes at 1000 rpm. */
  'boost.seen.range-in-gear': { fromRpm: number; toRpm: number; kmh: number; atRpm: number };
  'boost.seen.pull': { range: Says; boostKpa: number };
  'boost.seen.pull-due': { range: Says; boostKpa: number; leastKpa: number };
  /** So much, and from this demand on more: in the mean of the pull `leastKpa`. */
  'boost.seen.pull-due-by-demand': {
    range: Says;
    boostKpa: number;
    lowKpa: number;
    highKpa: number;
    highFromPct: number;
    leastKpa: number;
  };
  'boost.seen.pull-expected': { range: Says; boostKpa: number; expectedKpa: number; deviation: number };
  /** Boost in one band of engine speed as a share of that in the band below, with its interval. */
  'boost.seen.shape': {
    fromRpm: number;
    toRpm: number;
    belowRpm: number;
    belowToRpm: number;
    share: number;
    low: number;
    high: number;
    usual: number;
    usualSd: number;
  };
  'boost.seen.kind': OfKind;
  'boost.seen.baseline-and-kind': OfKind;
  'boost.seen.surest': Where & { byKpa: number; expectedKpa: number; deviation: number; pulls: number };
  'boost.seen.onset': { afterS: number };
  'boost.seen.light-manifold': { gaugeKpa: number };
  'boost.seen.light-charge': { gaugeKpa: number };
  'boost.seen.map-frozen': { mapKpa: number; fromRpm: number; toRpm: number };
  'boost.seen.map-above': { byKpa: number };
  'boost.seen.map-below': { byKpa: number };
  /** What a region is shown good for. */
  'boost.good-range': Where & { toDemandPct: number; loss: number };
  'boost.need.pulls': Drive;
  /** No number of pulls nor of baselines settles it: it must be compared on one day. */
  'boost.need.one-day': Drive;
  /** Other cars of the kind differ more than is to be told apart: only own drives help. */
  'boost.need.own-baseline': Drive & OfKind;
  /** Warmth may move boost by as much as is to be told apart: what its air was, and that of the drives that teach. */
  'boost.need.like-air': { airC: number; taughtC: number };
  'boost.need.air-unread': None;
  'boost.need.untaught': Where;
  'boost.need.above': Where;
  /** Driven, but the readings there were not believed. */
  'boost.need.left-out': Where & { holdS: number };
  /** The pulls are there, and nothing to hold them against. */
  'boost.need.baseline': None;
  'boost.need.baseline-pulls': Drive;
  'boost.need.baseline-engagements': Drive;
  'boost.need.full-pulls': { pulls: number; fromRpm: number; toRpm: number };
  'boost.need.map': None;
  'boost.need.rpm': None;
  'boost.need.demand': None;
  'boost.need.demand-quicker': { everyS: number };
  'boost.need.repair-first': None;
  /** A pull that plainly brought too little, but for too short a time to be sure of it. */
  'boost.need.again': {
    atS: number;
    fromRpm: number;
    toRpm: number;
    boostKpa: number;
    expectedKpa: number;
  };
  'boost.need.elsewhere': None;
  /** Spoken of as a fault at the time, run seconds, which the whole drive does not show. */
  'boost.need.taken-back': { atS: number };
  /** Behind what else a finding needs: the whole drive shows another fault than was spoken of. */
  'boost.need.told-otherwise': { atS: number; needs: Says };
  'boost.need.sensor': None;
  /** Spoken of as a fault while the pressure reading stood still. */
  'boost.need.sensor-said': { atS: number };
  'boost.need.press-test': None;
  'boost.need.tip-ins': { tips: number; holdS: number };
  'boost.need.light': { holdS: number; fromRpm: number; toRpm: number; pulls: number };
  'boost.need.stopped': { stopS: number };
  'boost.need.baro': None;
  'boost.need.map-moves': None;
  'boost.need.map-near': None;
  'boost.need.induction': None;
  'boost.need.induction-guessed': { guess: Says };
  'boost.spoken.clutch-band': None;
  'boost.spoken.changeover': None;
  'boost.spoken.above-changeover': None;
  'boost.spoken.low-speed': None;
  'boost.spoken.intermittent': None;
  'boost.spoken.leak': None;
  'boost.spoken.surplus': None;
  'boost.spoken.late': None;
  'boost.spoken.clutch-open': None;
  'boost.spoken.map': None;
  'boost.spoken.check': { points: Says };
  'boost.view.no-charger': None;
  'boost.view.no-pull': None;
  /** Of a pull that is still being driven. */
  'boost.view.missing-now': None;
  /** `kind`: engagement or pull. */
  'boost.last.missed': { kind: string; boostKpa: number };
  'boost.last.held': { kind: string };
  'boost.last.short': { kind: string; shortfall: number };
  'boost.last.open': { kind: string };
}

export const say = sayer<BoostSays>();
