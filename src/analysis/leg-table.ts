/** The legs of a road test as a table: what each is for, how it is driven, when it counts. Which apply, the profile says. */
import type { Profile } from '../core/profile.ts';
import type { Says } from '../core/says.ts';
import { GOOD_FROM_C } from './boost/witness.ts';
import { NEED_SETTLED_S } from './coolant/findings.ts';
import { say } from './leg-says.ts';

/** Defaults for a twin-charged petrol engine (ANALYSIS §2: common practice, no source). */
const CHANGEOVER_RPM = 3500;
const LOWEST_RPM = 1000;
const TURBO_FROM_RPM = 1250;
const TURBO_TO_RPM = 4000;

/** A thermostat has opened, or is about to (common practice, no source): what wants warm coolant counts from here. */
export const WARMED_UP_C = 78;
/** A start below this shows a warm-up (common practice, no source). */
export const COLD_START_C = 50;
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
export const SOAK_S = 60;
/** Below this share of the demand that closes the clutch the pedal is light (common practice, no source). */
export const LIGHT_SHARE = 0.5;
/** How much of a leg counts, s (common practice, no source). */
const KEY_ON_S = 2;
const HOT_IDLE_S = 120;
const IDLE_AFTER_S = 90;
const RESTART_S = 60;
const LIGHT_S = 60;

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
  /** How much counts: seconds, a share, or pulls. */
  readonly enough: number;
  /** Left out of "next" while anything else is open. */
  readonly optional?: boolean;
}

/** Part of the engine-speed range, driven by pulls. */
export interface Region {
  readonly leg: string;
  readonly rpm: readonly [number, number];
  /** Only pulls in which the clutch must be closed. */
  readonly engaged: boolean;
}

export interface LegTable {
  readonly specs: readonly LegSpec[];
  readonly regions: readonly Region[];
  /** Engine speeds in which light demand must leave the clutch open; null without a clutch. */
  readonly band: readonly [number, number] | null;
}

const KEY_ON: LegSpec = {
  leg: 'key-on-check',
  kind: 'key-on',
  title: say('leg.key-on-check'),
  why: say('leg.key-on-check.why'),
  how: say('leg.key-on-check.how'),
  counts: say('leg.key-on-check.counts', { enoughS: KEY_ON_S }),
  enough: KEY_ON_S,
};

const WARM_UP: LegSpec = {
  leg: 'warm-up',
  kind: 'cold',
  title: say('leg.warm-up'),
  why: say('leg.warm-up.why'),
  how: say('leg.warm-up.how'),
  counts: say('leg.warm-up.counts', { fromC: COLD_START_C, toC: WARMED_UP_C }),
  enough: 1,
};

const STANDING: readonly LegSpec[] = [
  {
    leg: 'hot-idle',
    kind: 'standing',
    title: say('leg.hot-idle'),
    why: say('leg.hot-idle.why'),
    how: say('leg.hot-idle.how'),
    counts: say('leg.hot-idle.counts', { enoughS: HOT_IDLE_S }),
    enough: HOT_IDLE_S,
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
    enough: 1,
  },
];

/** As long as coolant asks for on its plateau, so that whoever has driven this leg is not sent on by that finding. */
const LOAD: LegSpec = {
  leg: 'steady-load',
  kind: 'moving',
  title: say('leg.steady-load'),
  why: say('leg.steady-load.why'),
  how: say('leg.steady-load.how', { kmh: DRIVEN_KMH }),
  counts: say('leg.steady-load.counts', { enoughS: NEED_SETTLED_S, kmh: DRIVEN_KMH, warmC: WARMED_UP_C }),
  enough: NEED_SETTLED_S,
};

const AFTER: readonly LegSpec[] = [
  {
    leg: 'idle-after-load',
    kind: 'standing',
    title: say('leg.idle-after-load'),
    why: say('leg.idle-after-load.why'),
    how: say('leg.idle-after-load.how'),
    counts: say('leg.idle-after-load.counts', { enoughS: IDLE_AFTER_S, withinS: AFTER_LOAD_S }),
    enough: IDLE_AFTER_S,
  },
  {
    leg: 'hot-restart',
    kind: 'standing',
    title: say('leg.hot-restart'),
    why: say('leg.hot-restart.why'),
    how: say('leg.hot-restart.how', { stopS: SOAK_S }),
    counts: say('leg.hot-restart.counts', { enoughS: RESTART_S, stopS: SOAK_S }),
    enough: RESTART_S,
    optional: true,
  },
];

const LIGHT: LegSpec = {
  leg: 'light-demand',
  kind: 'moving',
  title: say('leg.light-demand'),
  why: say('leg.light-demand.why'),
  how: say('leg.light-demand.how'),
  counts: say('leg.light-demand.counts', { enoughS: LIGHT_S, share: LIGHT_SHARE }),
  enough: LIGHT_S,
};

export function legsOf(profile: Profile): LegTable {
  const boost = boostLegs(profile);
  const clutch = hasClutch(profile);
  return {
    specs: [
      KEY_ON,
      WARM_UP,
      ...STANDING,
      ...boost.map((b) => b.spec),
      ...(clutch ? [LIGHT] : []),
      LOAD,
      ...AFTER,
    ],
    regions: boost.map((b) => ({ leg: b.spec.leg, rpm: b.rpm, engaged: b.engaged })),
    band: clutch ? [LOWEST_RPM, changeover(profile)] : null,
  };
}

const changeover = (profile: Profile): number => profile.handOverRpm?.value ?? CHANGEOVER_RPM;

function hasClutch(profile: Profile): boolean {
  return profile.induction === 'twin-charged' || profile.induction === 'supercharger'
    ? (profile.clutch ?? true)
    : false;
}

function boostLegs(profile: Profile): { spec: LegSpec; rpm: readonly [number, number]; engaged: boolean }[] {
  if (profile.induction === undefined || profile.induction === 'naturally aspirated') return [];
  const clutch = hasClutch(profile);
  const [from, to] = clutch ? [LOWEST_RPM, changeover(profile)] : [TURBO_FROM_RPM, TURBO_TO_RPM];
  const third = (k: number) => Math.round((from + ((to - from) * k) / 3) / 50) * 50;
  const twin = profile.induction === 'twin-charged';
  const legs = (['low', 'middle', 'high'] as const).map((part, k) => {
    const rpm: readonly [number, number] = [third(k), third(k + 1)];
    const leg = clutch ? (`clutch-band-${part}` as const) : (`pull-${part}` as const);
    const title = say(leg === 'clutch-band-high' && twin ? 'leg.clutch-band-changeover' : `leg.${leg}`);
    const why = say(clutch ? 'leg.clutch-band.why' : 'leg.pull.why');
    return { spec: pullLeg(leg, title, rpm, why), rpm, engaged: clutch };
  });
  if (!clutch || !twin) return legs;
  const above: readonly [number, number] = [to, to + 1500];
  const [title, why] = [say('leg.above-changeover'), say('leg.above-changeover.why')];
  return [...legs, { spec: pullLeg('above-hand-over', title, above, why), rpm: above, engaged: false }];
}

function pullLeg(leg: string, title: Says, [fromRpm, toRpm]: readonly [number, number], why: Says): LegSpec {
  return {
    leg,
    kind: 'pull',
    title,
    why,
    how: say('leg.pull.how', { fromRpm, toRpm }),
    counts: say('leg.pull.counts', { warmC: GOOD_FROM_C }),
    enough: 1,
  };
}
