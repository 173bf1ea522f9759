/** The legs of the road test: which there are for this vehicle, how far each is driven, and which comes next. */
import type { Profile } from '../run/profile.ts';
import type { CleanSample, Leg, Pull } from './types.ts';

/** Defaults for a twin-charged petrol engine (ANALYSIS §2: common practice, no source). */
const HAND_OVER_RPM = 3500;
const LOWEST_RPM = 1000;
const TURBO_FROM_RPM = 1250;
const TURBO_TO_RPM = 4000;
const WARM_C = 78;
const COLD_C = 50;
const STALE_S = 10;
const HOLE_S = 5;

interface State {
  readonly leg: string;
  readonly title: string;
  readonly how: string;
  readonly counts: string;
  /** Left out of "next": done only when it happens. */
  readonly optional?: boolean;
  /** How much counts: seconds, degrees or pulls. */
  readonly enough: number;
  done: number;
  fromS: number | null;
  toS: number | null;
}

type LegSpec = Pick<State, 'leg' | 'title' | 'how' | 'counts' | 'enough'> & { readonly optional?: boolean };

/** Part of the engine-speed range, driven by pulls. */
interface Region {
  readonly leg: string;
  readonly rpm: readonly [number, number];
  /** Only pulls in which the clutch must be closed. */
  readonly engaged: boolean;
}

export class LegTracker {
  readonly #legs: State[];
  readonly #byId: ReadonlyMap<string, State>;
  readonly #regions: readonly Region[];
  readonly #engageDemand: number;
  readonly #latest = new Map<string, { tS: number; value: number }>();
  #lastS = Number.NaN;
  #startEct: number | null = null;
  #movedS = 0;
  #movedAtS = Number.NEGATIVE_INFINITY;
  #stoppedHotS = 0;
  #restarted = false;
  #restartArmed = false;

  constructor(profile: Profile) {
    const { specs, regions } = legsOf(profile);
    this.#legs = specs.map((spec): State => ({ ...spec, done: 0, fromS: null, toS: null }));
    this.#byId = new Map(this.#legs.map((l) => [l.leg, l]));
    this.#regions = regions;
    this.#engageDemand = profile.engagementDemandPct?.value ?? 60;
  }

  step(s: CleanSample): void {
    if (s.flag !== null) return;
    const tS = s.tUs / 1e6;
    const held = this.#latest.get(s.signal);
    if (held) {
      held.tS = tS;
      held.value = s.value;
    } else this.#latest.set(s.signal, { tS, value: s.value });
    if (s.signal === 'ect_c') this.#warmUp(tS, s.value);
    const dtS = Number.isNaN(this.#lastS) ? 0 : tS - this.#lastS;
    this.#lastS = tS;
    if (dtS > 0 && dtS <= HOLE_S) this.#pass(tS, dtS);
  }

  pull(p: Pull): void {
    for (const region of this.#regions) {
      if (region.engaged && !p.engagement) continue;
      const [low, high] = region.rpm;
      const overlap = Math.min(high, p.rpmTo) - Math.max(low, p.rpmFrom);
      if (overlap >= Math.min(300, 0.5 * (high - low))) this.#add(region.leg, 1, p.fromS, p.toS);
    }
  }

  view(): Leg[] {
    return this.#legs.map(shown);
  }

  /** The first leg still open, in the order in which a visit goes; null when all are driven. */
  next(): Leg | null {
    const open = this.#legs.filter((l) => l.done < l.enough && !l.optional);
    // Once the engine turns or is warm, the legs before that belong to the next visit.
    const over = (l: State) =>
      (l.leg === 'key-on-check' && (this.#fresh('rpm') ?? 0) > 0) ||
      (l.leg === 'warm-up' && (this.#startEct ?? 0) >= COLD_C);
    const first = open.find((l) => !over(l));
    return first ? shown(first) : null;
  }

  finish(endUs: number): void {
    this.#lastS = endUs / 1e6;
  }

  /** Time that passed under the latest readings. */
  #pass(tS: number, dtS: number): void {
    const rpm = this.#fresh('rpm');
    const speed = this.#fresh('speed_kmh');
    const ect = this.#fresh('ect_c');
    const demand =
      this.#fresh('pedal_d_pct') ?? this.#fresh('rel_throttle_pct') ?? this.#fresh('throttle_pct');
    const warm = ect !== null && ect >= WARM_C;
    const from = tS - dtS;
    if (rpm === 0 && !this.#restartArmed && this.#movedS === 0) this.#add('key-on-check', dtS, from, tS);
    if (rpm === null || speed === null) return;
    const running = rpm > 400;
    if (running && speed >= 40) {
      this.#movedS += dtS;
      this.#movedAtS = tS;
      if (warm) this.#add('steady-load', dtS, from, tS);
      if (demand !== null && demand < this.#engageDemand / 2) this.#add('light-demand', dtS, from, tS);
    }
    if (warm && running && speed === 0 && rpm < 1300) {
      this.#add('hot-idle', dtS, from, tS);
      if (this.#movedS >= 120 && tS - this.#movedAtS <= 300) this.#add('idle-after-load', dtS, from, tS);
    }
    this.#hotRestart(running, warm, dtS, from, tS);
  }

  #hotRestart(running: boolean, warm: boolean, dtS: number, fromS: number, tS: number): void {
    if (!running) {
      this.#stoppedHotS = warm ? this.#stoppedHotS + dtS : 0;
      if (this.#stoppedHotS >= 60) this.#restartArmed = true;
      this.#restarted = false;
      return;
    }
    this.#stoppedHotS = 0;
    if (this.#restartArmed) this.#restarted = true;
    if (this.#restarted) this.#add('hot-restart', dtS, fromS, tS);
  }

  #warmUp(tS: number, ect: number): void {
    const state = this.#byId.get('warm-up')!;
    if (this.#startEct === null) {
      this.#startEct = ect;
      if (ect < COLD_C) state.fromS = tS;
    }
    // A warm start shows no warm-up, and none can be driven before the engine is cold again.
    if (this.#startEct >= COLD_C || state.done >= 1) return;
    state.done = Math.min(1, Math.max(0, (ect - this.#startEct) / (WARM_C - this.#startEct)));
    state.toS = tS;
  }

  #add(leg: string, amount: number, fromS: number, toS: number): void {
    const state = this.#byId.get(leg);
    if (!state || state.done >= state.enough) return;
    state.fromS ??= fromS;
    state.toS = toS;
    state.done += amount;
  }

  #fresh(signal: string): number | null {
    const held = this.#latest.get(signal);
    return held && this.#lastS - held.tS <= STALE_S ? held.value : null;
  }
}

function shown(l: State): Leg {
  return {
    leg: l.leg,
    title: l.title,
    how: l.how,
    counts: l.counts,
    covered: l.done >= l.enough,
    progress: Math.min(1, l.done / l.enough),
    fromS: l.fromS,
    toS: l.toS,
  };
}

const BEFORE: readonly LegSpec[] = [
  {
    leg: 'key-on-check',
    title: 'Key on, engine off',
    how: 'Switch the ignition on and wait five seconds before you start the engine.',
    counts: 'Counts when 3 s were recorded with the engine standing.',
    enough: 3,
  },
  {
    leg: 'warm-up',
    title: 'Warm-up',
    how: 'Start cold and drive gently until the coolant settles.',
    counts: `Counts when the coolant went from below ${COLD_C} °C to ${WARM_C} °C.`,
    enough: 1,
  },
  {
    leg: 'hot-idle',
    title: 'Hot idle',
    how: 'Let the warm engine idle, hands and cables clear of belt and fan.',
    counts: 'Counts when it idled 2 minutes with warm coolant.',
    enough: 120,
  },
];

const AFTER: readonly LegSpec[] = [
  {
    leg: 'steady-load',
    title: 'Steady load',
    how: 'Hold 40 km/h or more with the coolant warm, uphill if you can.',
    counts: 'Counts when 5 minutes were driven.',
    enough: 300,
  },
  {
    leg: 'idle-after-load',
    title: 'Idle after load',
    how: 'Stop where it is safe straight after the drive and let it idle; watch the coolant.',
    counts: 'Counts when it idled 90 s within 5 minutes of driving.',
    enough: 90,
  },
  {
    leg: 'hot-restart',
    title: 'Hot restart',
    how: 'Stop the warm engine for a minute, then start it and let it run.',
    counts: 'Counts when it ran a minute after a hot stop of a minute. Optional.',
    enough: 60,
    optional: true,
  },
];

const pullLeg = (leg: string, title: string, rpm: readonly [number, number], enough = 1): LegSpec => ({
  leg,
  title,
  how: `Where it is legal and safe: one gear, from ${rpm[0]} rpm with full pedal to ${rpm[1]} rpm.`,
  counts:
    enough === 1
      ? 'Counts when one pull ran through this range.'
      : `Counts when ${enough} pulls ran through this range.`,
  enough,
});

function legsOf(profile: Profile): { specs: LegSpec[]; regions: Region[] } {
  const boost = boostLegs(profile);
  return {
    specs: [...BEFORE, ...boost.map((b) => b.spec), ...lightDemand(profile), ...AFTER],
    regions: boost.map((b) => ({ leg: b.spec.leg, rpm: b.rpm, engaged: b.engaged })),
  };
}

function hasClutch(profile: Profile): boolean {
  return profile.induction === 'twin-charged' || profile.induction === 'supercharger'
    ? (profile.clutch ?? true)
    : false;
}

function boostLegs(profile: Profile): { spec: LegSpec; rpm: readonly [number, number]; engaged: boolean }[] {
  if (profile.induction === undefined || profile.induction === 'naturally aspirated') return [];
  const clutch = hasClutch(profile);
  const [from, to] = clutch
    ? [LOWEST_RPM, profile.handOverRpm?.value ?? HAND_OVER_RPM]
    : [TURBO_FROM_RPM, TURBO_TO_RPM];
  const third = (k: number) => Math.round((from + ((to - from) * k) / 3) / 50) * 50;
  const names = ['low', 'middle', 'high'];
  const legs = names.map((name, k) => {
    const rpm: readonly [number, number] = [third(k), third(k + 1)];
    const spec = clutch
      ? pullLeg(`clutch-band-${name}`, `Clutch band, ${name}`, rpm)
      : pullLeg(`pull-${name}`, `Pull, ${name} engine speed`, rpm);
    return { spec, rpm, engaged: clutch };
  });
  if (!clutch || profile.induction !== 'twin-charged') return legs;
  const above: readonly [number, number] = [to, to + 1500];
  return [
    ...legs,
    { spec: pullLeg('above-hand-over', 'Above the hand-over', above), rpm: above, engaged: false },
  ];
}

function lightDemand(profile: Profile): LegSpec[] {
  if (!hasClutch(profile)) return [];
  return [
    {
      leg: 'light-demand',
      title: 'Light demand',
      how: 'Cruise with light pedal: the clutch must stay open.',
      counts:
        'Counts when 1 minute was driven at 40 km/h or more with less than half the pedal that closes the clutch.',
      enough: 60,
    },
  ];
}
