/** The legs of a road test as a table: what each is for, how it is driven, when it counts. Which apply, the profile says. */
import type { Profile } from '../core/profile.ts';

/** Defaults for a twin-charged petrol engine (ANALYSIS §2: common practice, no source). */
const HAND_OVER_RPM = 3500;
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

/** When a leg can be driven at all; what to name next depends on it. */
type LegKind = 'key-on' | 'cold' | 'moving' | 'pull' | 'standing';

export interface LegSpec {
  readonly leg: string;
  readonly kind: LegKind;
  readonly title: string;
  readonly why: string;
  /** One short sentence. */
  readonly how: string;
  readonly counts: string;
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
  title: 'Key on, engine off',
  why: 'Gives the barometric pressure and compares the sensors with each other.',
  how: 'Switch the ignition on and wait five seconds before you start the engine.',
  counts: 'Counts when 2 s were recorded with the engine standing.',
  enough: 2,
};

const WARM_UP: LegSpec = {
  leg: 'warm-up',
  kind: 'cold',
  title: 'Cold start and warm-up',
  why: 'Shows whether the thermostat closes and opens, and how fast the coolant warms.',
  how: 'Start cold and drive gently until the coolant settles.',
  counts: `Counts when the coolant went from below ${COLD_START_C} °C to ${WARMED_UP_C} °C.`,
  enough: 1,
};

const STANDING: readonly LegSpec[] = [
  {
    leg: 'hot-idle',
    kind: 'standing',
    title: 'Hot idle to fan-on',
    why: 'Without airflow only the fan and the pump keep the coolant down.',
    how: 'Stand with the warm engine idling until the fan has run; keep clear of belt and fan.',
    counts: 'Counts when it idled 2 minutes with warm coolant.',
    enough: 120,
  },
  {
    leg: 'heater-check',
    kind: 'standing',
    title: 'Heater check',
    why: 'A cold heater with a hot engine points to air in the system or to coolant that does not flow.',
    how: 'Standing, heater at full: feel the air at idle, then at 2000 rpm.',
    counts: `Counts after ${HEATER_IDLE_S} s of warm idle and ${HEATER_RAISED_S} s at 1700 to 2500 rpm, standing, with both questions answered.`,
    enough: 1,
  },
];

const LOAD: LegSpec = {
  leg: 'steady-load',
  kind: 'moving',
  title: 'Steady cruise with load',
  why: 'The most heat for the longest time: a weak pump or a blocked radiator shows here.',
  how: 'Hold 40 km/h or more with the coolant warm, uphill if you can.',
  counts: 'Counts when 5 minutes were driven.',
  enough: 300,
};

const AFTER: readonly LegSpec[] = [
  {
    leg: 'idle-after-load',
    kind: 'standing',
    title: 'Idle after load',
    why: 'The heat of the drive comes out when the airflow stops.',
    how: 'Stop where it is safe straight after the drive and let it idle.',
    counts: 'Counts when it idled 90 s within 5 minutes of driving.',
    enough: 90,
  },
  {
    leg: 'hot-restart',
    kind: 'standing',
    title: 'Hot restart',
    why: 'Heat soaks into the coolant while the pump stands; it must fall again at once.',
    how: 'Stop the warm engine for a minute, then start it and let it run.',
    counts: 'Counts when it ran a minute after a hot stop of a minute. Optional.',
    enough: 60,
    optional: true,
  },
];

const LIGHT: LegSpec = {
  leg: 'light-demand',
  kind: 'moving',
  title: 'Light demand in the band',
  why: 'The clutch must stay open here: boost would show that it sticks.',
  how: 'Cruise with light pedal at low engine speed.',
  counts: 'Counts when 1 minute was driven in the clutch band with less than half the pedal that closes it.',
  enough: 60,
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
    band: clutch ? [LOWEST_RPM, handOver(profile)] : null,
  };
}

const handOver = (profile: Profile): number => profile.handOverRpm?.value ?? HAND_OVER_RPM;

function hasClutch(profile: Profile): boolean {
  return profile.induction === 'twin-charged' || profile.induction === 'supercharger'
    ? (profile.clutch ?? true)
    : false;
}

function boostLegs(profile: Profile): { spec: LegSpec; rpm: readonly [number, number]; engaged: boolean }[] {
  if (profile.induction === undefined || profile.induction === 'naturally aspirated') return [];
  const clutch = hasClutch(profile);
  const [from, to] = clutch ? [LOWEST_RPM, handOver(profile)] : [TURBO_FROM_RPM, TURBO_TO_RPM];
  const third = (k: number) => Math.round((from + ((to - from) * k) / 3) / 50) * 50;
  const parts: readonly (readonly [string, string])[] = [
    ['low', 'low'],
    ['middle', 'middle'],
    ['high', profile.induction === 'twin-charged' ? 'near the hand-over' : 'high'],
  ];
  const legs = parts.map(([name, where], k) => {
    const rpm: readonly [number, number] = [third(k), third(k + 1)];
    const spec = clutch
      ? pullLeg(`clutch-band-${name}`, `Clutch band, ${where}`, rpm, 'Here the clutch must close.')
      : pullLeg(`pull-${name}`, `Pull, ${where} engine speed`, rpm, 'Shows what the charger gives here.');
    return { spec, rpm, engaged: clutch };
  });
  if (!clutch || profile.induction !== 'twin-charged') return legs;
  const above: readonly [number, number] = [to, to + 1500];
  const why = 'Here the turbocharger must give the boost alone.';
  return [
    ...legs,
    { spec: pullLeg('above-hand-over', 'Above the hand-over', above, why), rpm: above, engaged: false },
  ];
}

function pullLeg(leg: string, title: string, [from, to]: readonly [number, number], why: string): LegSpec {
  return {
    leg,
    kind: 'pull',
    title,
    why,
    how: `Where it is legal and safe: one gear, full pedal, from ${from} to ${to} rpm.`,
    counts: 'Counts when one pull ran through this range, warm.',
    enough: 1,
  };
}
