/** What is said of a visit: where its job stands, its fault memory, and what speaks against handing the car over. */
import { type Says, sayer } from './says.ts';

/** What was seen when the car was handed over: all good, a fault, some of it, too little. */
export const WHOLES = ['good', 'fault', 'mixed', 'open'] as const;
export type Whole = (typeof WHOLES)[number];

/** What speaks against handing the car over: whoever does it nevertheless writes down why. */
export const DOUBTS = [
  'no-drive',
  'fault-boost',
  'fault-coolant',
  'fault-charging',
  'fault-sensor',
  'fault-codes',
  'coolant-alarm',
  'codes-not-read',
  'complaint',
  'measured-fail',
] as const;
export type Doubt = (typeof DOUBTS)[number];

/** What became of a thing from the end of one visit to the car's return. */
export const SINCE_CHANGES = ['worse', 'new', 'better', 'same', 'not told'] as const;
export type SinceChange = (typeof SINCE_CHANGES)[number];

export interface SinceRow {
  readonly what: Says;
  /** At the end of the visit before, and now; null: nothing was noted or driven then. */
  readonly before: Says | null;
  readonly now: Says | null;
  readonly change: SinceChange;
}

export type VisitSays = {
  'visit.opened': Record<never, never>;
  'visit.unfiled': Record<never, never>;
  'visit.before': Record<never, never>;
  'visit.after': Record<never, never>;
  'visit.both': Record<never, never>;
  'visit.back': Record<never, never>;
  'visit.back-driven': Record<never, never>;
  'visit.handed': Record<never, never>;
  'visit.handed-as': { whole: Whole };
  'visit.reason': { reason: string };
  'visit.reason-needed': { doubts: readonly Says[] };
  // one reading of the fault memory
  'memory.lamp': { lamp: 'on' | 'off' | 'unknown' };
  'memory.readiness-unknown': Record<never, never>;
  'memory.readiness-complete': { of: number };
  'memory.readiness-open': { complete: number; of: number; open: readonly Says[] };
  'memory.monitor': { monitor: string };
  'memory.cleared-unknown': Record<never, never>;
  'memory.cleared-km': { km: number };
  /** None: less than a drive ago. */
  'memory.cleared-warm-ups': { warmUps: number };
  'memory.cleared': { km: number; warmUps: number };
  'memory.unanswered': { what: readonly Says[] };
  'memory.service': { service: string };
  /** `reason`: unasked, refused, no answer. */
  'memory.frame': { reason: string; why: Says };
  // a come-back against the visit before
  'since.sensor': { signal: string };
  'since.and': { verdict: string };
  'since.compared': { effect: 'better' | 'worse'; region: Says };
  'since.absent': Record<never, never>;
  'since.lists': { lists: readonly Says[] };
  'since.list': { list: string };
  'since.lamp': Record<never, never>;
  'since.code': { code: string; meaning: Says };
  'since.own': { what: Says; text: string };
} & Record<`since.change.${SinceChange}`, Record<never, never>> &
  Record<`visit.doubt.${Doubt}`, Record<never, never>>;

export const say = sayer<VisitSays>();
