/**
 * The legs of a road test as a table: what each is for, how it is driven, when it counts. Which apply, the profile says. A
 * leg that serves a finding counts by what the finding wants, and says the finding's own numbers.
 */
import type { Profile } from '../core/profile.ts';
import type { Says } from '../core/says.ts';
import { ACT_STRETCHES, LIGHT_DEMAND, LIGHT_RPM, LIGHT_STRETCH_S } from './boost/clutch.ts';
import { LIGHT_ASK } from './boost/clutch-finding.ts';
import { GOOD_PULLS, SPREAD_PULLS } from './boost/evidence.ts';
import { ASK_STOPPED_S, STOPPED_READINGS, STOPPED_S } from './boost/map-sensor.ts';
import { TAUGHT_PULLS } from './boost/needs.ts';
import { askedRpm, hasClutch, type Region, regionsOf } from './boost/regions.ts';
import { LONE_PULL_S } from './boost/scan.ts';
import { GOOD_FROM_C } from './boost/witness.ts';
import { NEED_MOVING_S, NEED_SETTLED_S } from './coolant/climb-finding.ts';
import { ABOVE_C, FAN_BACK_C, UNASKED_S } from './coolant/fan.ts';
import { WIND_KMH } from './coolant/settled.ts';
import { NEED_ASKED_S } from './coolant/too-cold-finding.ts';
import { COLD_C, TO_C } from './coolant/warm-up-meter.ts';
import { say } from './leg-says.ts';

/** A thermostat has opened, or is about to (common practice, no source): from here an idle is a warm one. */
export const WARMED_UP_C = 78;
/** Heater check: seconds of warm idle, then of raised idle, in which a hand feels it (common practice, no source). */
export const HEATER_IDLE_S = 15;
export const HEATER_RAISED_S = 8;
/** Raised idle as the person is asked for it, and what counts as that (common practice, no source). */
export const RAISED_IDLE_RPM = 2000;
export const RAISED_RPM: readonly [number, number] = [1700, 2500];
/** Driven from this speed on (common practice, no source). */
export const DRIVEN_KMH = 40;
/** So soon after driving an idle is an idle after load (common practice, no source). */
export const AFTER_LOAD_S = 300;
/** A stop of this length soaks heat into the coolant (common practice, no source). */
export const HOT_STOP_S = 60;
/** How much of a leg counts, s (common practice, no source). */
const IDLE_AFTER_S = 90;
const RESTART_S = 60;

/** When a leg can be driven at all; what to name next depends on it. */
type LegKind = 'key-on' | 'cold' | 'moving' | 'pull' | 'standing';

export interface LegSpec {
  readonly leg: string;
  readonly kind: LegKind;
  readonly title: Says;
  readonly why: Says;
  /** One short sentence. */
  readonly how: Says;
  readonly counts: Says;
  /** What decides: the finding that it serves, by its id, or else how much counts: seconds, or a share. */
  readonly by: string | number;
  /** Left out of "next" while anything else is open. */
  readonly optional?: boolean;
}

const KEY_ON: LegSpec = {
  leg: 'key-on-check',
  kind: 'key-on',
  title: say('leg.key-on-check'),
  why: say('leg.key-on-check.why'),
  how: say('leg.key-on-check.how', { stopS: ASK_STOPPED_S }),
  counts: say('leg.key-on-check.counts', { readings: STOPPED_READINGS, afterS: STOPPED_S }),
  by: 'sensor.map_kpa',
};

const WARM_UP: LegSpec = {
  leg: 'warm-up',
  kind: 'cold',
  title: say('leg.warm-up'),
  why: say('leg.warm-up.why'),
  how: say('leg.warm-up.how'),
  counts: say('leg.warm-up.counts', { fromC: COLD_C, toC: TO_C }),
  by: 'coolant.warm-up',
};

const STANDING: readonly LegSpec[] = [
  {
    leg: 'hot-idle',
    kind: 'standing',
    title: say('leg.hot-idle'),
    why: say('leg.hot-idle.why'),
    how: say('leg.hot-idle.how'),
    counts: say('leg.hot-idle.counts', { aboveC: ABOVE_C, backC: FAN_BACK_C, unaskedS: UNASKED_S }),
    by: 'coolant.fan',
  },
  {
    leg: 'heater-check',
    kind: 'standing',
    title: say('leg.heater-check'),
    why: say('leg.heater-check.why'),
    how: say('leg.heater-check.how', { raisedRpm: RAISED_IDLE_RPM }),
    counts: say('leg.heater-check.counts', {
      idleS: HEATER_IDLE_S,
      raisedS: HEATER_RAISED_S,
      fromRpm: RAISED_RPM[0],
      toRpm: RAISED_RPM[1],
    }),
    by: 1,
  },
];

const LOAD: LegSpec = {
  leg: 'steady-load',
  kind: 'moving',
  title: say('leg.steady-load'),
  why: say('leg.steady-load.why'),
  how: say('leg.steady-load.how', { kmh: WIND_KMH }),
  counts: say('leg.steady-load.counts', {
    enoughS: NEED_SETTLED_S,
    movingS: NEED_MOVING_S,
    kmh: WIND_KMH,
    askedS: NEED_ASKED_S,
  }),
  by: 'coolant.climb',
};

const AFTER: readonly LegSpec[] = [
  {
    leg: 'idle-after-load',
    kind: 'standing',
    title: say('leg.idle-after-load'),
    why: say('leg.idle-after-load.why'),
    how: say('leg.idle-after-load.how'),
    counts: say('leg.idle-after-load.counts', { enoughS: IDLE_AFTER_S, withinS: AFTER_LOAD_S }),
    by: IDLE_AFTER_S,
  },
  {
    leg: 'hot-restart',
    kind: 'standing',
    title: say('leg.hot-restart'),
    why: say('leg.hot-restart.why'),
    how: say('leg.hot-restart.how', { stopS: HOT_STOP_S }),
    counts: say('leg.hot-restart.counts', { enoughS: RESTART_S, stopS: HOT_STOP_S }),
    by: RESTART_S,
    optional: true,
  },
];

const LIGHT: LegSpec = {
  leg: 'light-demand',
  kind: 'moving',
  title: say('leg.light-demand'),
  why: say('leg.light-demand.why'),
  how: say('leg.light-demand.how', { fromRpm: LIGHT_ASK.fromRpm, toRpm: LIGHT_ASK.toRpm }),
  counts: say('leg.light-demand.counts', {
    enoughS: ACT_STRETCHES * LIGHT_STRETCH_S,
    fromDemandPct: LIGHT_DEMAND[0],
    toDemandPct: LIGHT_DEMAND[1],
    fromRpm: LIGHT_RPM[0],
    toRpm: LIGHT_RPM[1],
  }),
  by: 'boost.clutch-open',
};

export function legsOf(profile: Profile): readonly LegSpec[] {
  // Where nothing says how the engine is charged that is to be entered first.
  const regions = profile.induction === undefined ? [] : regionsOf(profile);
  return [
    KEY_ON,
    WARM_UP,
    ...STANDING,
    ...regions.map((r) => pullLeg(r, profile)),
    ...(hasClutch(profile) ? [LIGHT] : []),
    LOAD,
    ...AFTER,
  ];
}

type PullLeg = 'clutch-band' | 'changeover' | 'above-hand-over' | 'pull' | 'pull-low' | 'pull-high';

function pullLegOf({ key }: Region, profile: Profile): PullLeg {
  if (key === 'middle') return 'changeover';
  if (key === 'low' && hasClutch(profile)) return 'clutch-band';
  if (profile.induction === 'supercharger') return 'pull';
  if (key === 'high' && profile.induction === 'twin-charged') return 'above-hand-over';
  return `pull-${key}`;
}

function pullLeg(region: Region, profile: Profile): LegSpec {
  const leg = pullLegOf(region, profile);
  const why =
    leg === 'clutch-band' || leg === 'changeover' || leg === 'above-hand-over'
      ? (`leg.${leg}.why` as const)
      : 'leg.pull.why';
  return {
    leg,
    kind: 'pull',
    title: say(`leg.${leg}`),
    why: say(why),
    how: say('leg.pull.how', askedRpm(region)),
    counts:
      region.spread === true
        ? say('leg.pull.counts-spread', { pulls: SPREAD_PULLS, warmC: GOOD_FROM_C })
        : say('leg.pull.counts', {
            pulls: GOOD_PULLS,
            lastingS: LONE_PULL_S,
            taught: TAUGHT_PULLS,
            warmC: GOOD_FROM_C,
          }),
    by: region.id,
    // The system's verdict does not wait for what a changeover shows.
    ...(region.key === 'middle' ? { optional: true } : {}),
  };
}
