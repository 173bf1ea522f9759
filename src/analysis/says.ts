/** What charging, sensors, the recording and the fault memory say. */
import { sayer } from '../core/says.ts';

type None = Record<never, never>;

export interface OwnSays {
  // charging
  'charging.rule': { noChargeV: number; noChargeS: number; chargedS: number; share: number; stepV: number };
  'charging.source.rest': None;
  'charging.seen': {
    lowV: number;
    highV: number;
    middleV: number;
    share: number;
    bandShare: number;
    fromV: number;
    toV: number;
  };
  'charging.flat': { lowV: number; highV: number; lastedS: number };
  'charging.points': None;
  'charging.spoken': None;
  'charging.need.record': None;
  'charging.need.run': { runS: number };
  'charging.need.battery': None;
  // sensors
  'sensor.rule': { stretchS: number; belowC: number; unchangedS: number; apartC: number; readC: number };
  'sensor.source.practice': None;
  'sensor.source.late': None;
  'sensor.seen': { n: number; kind: string };
  'sensor.unchanged': { c: number; lastedS: number };
  'sensor.start': { ectC: number; airC: number };
  'sensor.start-both': { ectC: number; intakeC: number; outsideC: number };
  'sensor.points.circuit': None;
  'sensor.points.wiring': None;
  'sensor.spoken': { signal: string };
  'sensor.need.left-out': { n: number; of: number };
  'sensor.need.stand': None;
  'sensor.need.night': None;
  // a signal that comes late
  'sensor.late.rule': { lateS: number; agrees: number; better: number };
  'sensor.late.points': None;
  'sensor.late.seen': {
    signal: string;
    against: string;
    lateS: number;
    lowS: number;
    highS: number;
    agrees: number;
    asIs: number;
  };
  /** Of the air mass: what else is known of boost. */
  'sensor.late.without': { signal: string };
  'sensor.late.need': { signal: string; lateS: number };
  'sensor.late.need-said': { signal: string; lateS: number; atS: number };
  // the road, by a satellite receiver
  'road.speed.rule': { fromKmh: number; steadyS: number; stepKmh: number; usualPct: number };
  'road.speed.seen': { pct: number; lowPct: number; highPct: number; stretches: number; kmh: number };
  'road.speed.need.look': None;
  'road.speed.need.more': None;
  // recording
  'link.rule': { holeS: number; mostS: number; share: number };
  'link.source.default': None;
  'link.hole': { lastedS: number };
  'link.key-off': { lastedS: number };
  'link.need.again': { lostS: number; holes: number };
  'link.need.nothing': None;
  // fault memory
  'codes.rule': None;
  'codes.points': None;
  'codes.need.read': None;
  'codes.need.unanswered': None;
  'codes.need.permanent': None;
  'codes.need.cleared': None;
  'codes.need.monitors': { n: number };
}

export const say = sayer<OwnSays>();
