/** How far each leg of the road test is driven, which is the most useful next, and what a person must be asked now. */
import type { AskId } from '../core/answers.ts';
import type { Profile } from '../core/profile.ts';
import { demandSignals } from './boost/points.ts';
import { GOOD_FROM_C } from './boost/witness.ts';
import { say } from './leg-says.ts';
import {
  AFTER_LOAD_S,
  COLD_START_C,
  DRIVEN_KMH,
  HEATER_IDLE_S,
  HEATER_RAISED_S,
  type LegSpec,
  type LegTable,
  LIGHT_SHARE,
  legsOf,
  RAISED_IDLE_RPM,
  RAISED_RPM,
  SOAK_S,
  WARMED_UP_C,
} from './leg-table.ts';
import type { Ask, CleanSample, Leg, Pull } from './types.ts';

/** A reading older than this is not of the present (common practice, no source). */
const STALE_S = 10;
/** Time beyond a silence this long was not seen (as in link-gaps). Chosen by hand, not measured. */
const HOLE_S = 5;
/** A coolant reading holds so long for a pull (as in the points of boost). */
const ECT_HOLDS_S = 60;
/** Shorter halts (a junction) do not change what is named next (common practice, no source). */
const HALT_S = 8;
/** So much driving makes an idle an idle after load, and the noise worth asking for (common practice, no source). */
const DRIVEN_S = 120;
/** Faster the engine runs by itself (common practice, no source). */
const RUNNING_RPM = 400;
/** Slower is idle (common practice, no source). */
const IDLE_BELOW_RPM = 1300;
/** Faster than this the car moves (common practice, no source). */
const MOVES_KMH = 3;
/** A pull counts for a range when it covers half of it, or this much (common practice, no source). */
const COVERS_RPM = 300;
const COVERS_SHARE = 0.5;
/** When fan and noise are worth asking for: seconds of warm idle (common practice, no source). */
const FAN_ASK_S = 60;
const NOISE_ASK_S = 5;
/** Closes a clutch where the profile says nothing (ANALYSIS §2: common practice, no source). */
const ENGAGE_PCT = 60;
/**
 * Legs that need a person's answers as well, and what part of them is the driving. Half: chosen by hand, not
 * measured.
 */
const ANSWERS: Readonly<Record<string, readonly AskId[]>> = {
  'heater-check': ['cabin heat idle', 'cabin heat 2000 rpm'],
};
const DRIVING_SHARE = 0.5;

interface State {
  readonly spec: LegSpec;
  done: number;
  fromS: number | null;
  toS: number | null;
}

export class LegTracker {
  readonly #legs: readonly State[];
  readonly #byId: ReadonlyMap<string, State>;
  readonly #table: LegTable;
  readonly #demandSignals: readonly string[];
  readonly #engageDemand: number;
  readonly #latest = new Map<string, { tS: number; value: number }>();
  #lastS = Number.NaN;
  #startEct: number | null = null;
  /** Since when, without a hole, the coolant is as warm as a pull must be to count. */
  #goodSinceS: number | null = null;
  #ectAtS = Number.NEGATIVE_INFINITY;
  #ranOnce = false;
  #movedS = 0;
  #movedAtS = Number.NEGATIVE_INFINITY;
  #stoppedHotS = 0;
  #restarted = false;
  #restartArmed = false;
  /** Standing warm, in seconds without a break: at idle, and at raised engine speed. */
  #idleS = 0;
  #raisedS = 0;
  /** The best of these so far: what the heater check has had. */
  #heater = { idleS: 0, raisedS: 0 };
  #answers: ReadonlySet<AskId> = new Set();

  constructor(profile: Profile) {
    this.#table = legsOf(profile);
    this.#legs = this.#table.specs.map((spec): State => ({ spec, done: 0, fromS: null, toS: null }));
    this.#byId = new Map(this.#legs.map((l) => [l.spec.leg, l]));
    this.#demandSignals = demandSignals(profile);
    this.#engageDemand = profile.engagementDemandPct?.value ?? ENGAGE_PCT;
  }

  step(s: CleanSample): void {
    if (s.flag !== null) return;
    const tS = s.tUs / 1e6;
    const held = this.#latest.get(s.signal);
    if (held) {
      held.tS = tS;
      held.value = s.value;
    } else this.#latest.set(s.signal, { tS, value: s.value });
    if (s.signal === 'ect_c') {
      this.#warmUp(tS, s.value);
      if (s.value < GOOD_FROM_C) this.#goodSinceS = null;
      else if (this.#goodSinceS === null || tS - this.#ectAtS > ECT_HOLDS_S) this.#goodSinceS = tS;
      this.#ectAtS = tS;
    }
    const dtS = Number.isNaN(this.#lastS) ? 0 : tS - this.#lastS;
    this.#lastS = tS;
    if (dtS > 0 && dtS <= HOLE_S) this.#pass(tS, dtS);
  }

  pull(p: Pull): void {
    if (!this.#goodAt(p.fromS)) return;
    for (const region of this.#table.regions) {
      if (region.engaged && !p.engagement) continue;
      const [low, high] = region.rpm;
      const overlap = Math.min(high, p.rpmTo) - Math.max(low, p.rpmFrom);
      if (overlap >= Math.min(COVERS_RPM, COVERS_SHARE * (high - low)))
        this.#add(region.leg, 1, p.fromS, p.toS);
    }
  }

  /** What a person has answered so far, all of it; taken back answers are left out. */
  answered(answers: ReadonlySet<AskId>): void {
    this.#answers = answers;
  }

  view(): Leg[] {
    return this.#legs.map((l) => this.#shown(l));
  }

  /**
   * The open leg that this moment of the drive serves best; null when all are driven. While the car moves no leg is
   * named that wants it standing, unless nothing else is left; and a pull only when its evidence would count.
   */
  next(): Leg | null {
    const open = this.#legs.filter((l) => this.#progress(l) < 1 && !this.#past(l.spec));
    const must = open.filter((l) => l.spec.optional !== true);
    const some = must.length > 0 ? must : open.filter((l) => l.done > 0);
    const order = this.#order();
    const rank = (l: State) => order.indexOf(l.spec.kind);
    const [first] = [...some].sort((a, b) => rank(a) - rank(b));
    if (!first) return null;
    const leg = this.#shown(first);
    const moves = this.#lastS - this.#movedAtS < HALT_S;
    return moves && first.spec.kind === 'standing'
      ? { ...leg, how: say('leg.stop-first', { how: first.spec.how }) }
      : leg;
  }

  /** What no signal tells and a person can feel or hear just now; the asker leaves out what is answered. */
  asks(): readonly Ask[] {
    const asks: Ask[] = [];
    if (this.#idleS >= HEATER_IDLE_S)
      asks.push({
        id: 'cabin heat idle',
        question: say('ask.cabin heat idle'),
        answers: ['hot', 'lukewarm', 'cold'],
      });
    if (this.#raisedS >= HEATER_RAISED_S)
      asks.push({
        id: 'cabin heat 2000 rpm',
        question: say('ask.cabin heat 2000 rpm', { raisedRpm: RAISED_IDLE_RPM }),
        answers: ['hot', 'lukewarm', 'cold'],
      });
    if (this.#idleS >= FAN_ASK_S)
      asks.push({ id: 'fan', question: say('ask.fan'), answers: ['yes', 'no', 'not heard'] });
    if (this.#idleS >= NOISE_ASK_S && this.#movedS >= DRIVEN_S)
      asks.push({
        id: 'noise',
        question: say('ask.noise'),
        answers: ['gone', 'still there', 'there was none'],
      });
    return asks;
  }

  finish(endUs: number): void {
    this.#lastS = endUs / 1e6;
  }

  #shown(state: State): Leg {
    const { spec, fromS, toS } = state;
    const { leg, title, why, how, counts } = spec;
    const progress = this.#progress(state);
    const covered = progress >= 1;
    const over = !covered && this.#past(spec);
    return { leg, title, why, how, counts, covered, over, progress, fromS, toS };
  }

  /** 0 to 1: what was driven, and what was answered where answers are needed. */
  #progress({ spec, done }: State): number {
    const driven = Math.min(1, done / spec.enough);
    const asked = ANSWERS[spec.leg];
    if (!asked) return driven;
    const given = asked.filter((id) => this.#answers.has(id)).length / asked.length;
    return driven === 1 && given === 1 ? 1 : DRIVING_SHARE * driven + (1 - DRIVING_SHARE) * given;
  }

  /** Legs whose moment has gone until the next visit: key-on once it ran, warm-up when it started warm. */
  #past(spec: LegSpec): boolean {
    return (
      (spec.kind === 'key-on' && this.#ranOnce) ||
      (spec.kind === 'cold' && (this.#startEct ?? 0) >= COLD_START_C)
    );
  }

  /** Whether a pull that began then counts, by its coolant; without a reading it does not. */
  #goodAt(tS: number): boolean {
    return this.#goodSinceS !== null && this.#goodSinceS <= tS && tS - this.#ectAtS <= ECT_HOLDS_S;
  }

  #order(): readonly LegSpec['kind'][] {
    const ect = this.#fresh('ect_c');
    const halted = this.#lastS - this.#movedAtS >= HALT_S;
    if (halted && ect !== null && ect >= WARMED_UP_C) return ['key-on', 'cold', 'standing', 'pull', 'moving'];
    if (this.#goodAt(this.#lastS)) return ['key-on', 'cold', 'pull', 'moving', 'standing'];
    return ['key-on', 'cold', 'moving', 'pull', 'standing'];
  }

  /** Time that passed under the latest readings. */
  #pass(tS: number, dtS: number): void {
    const rpm = this.#fresh('rpm');
    const speed = this.#fresh('speed_kmh');
    const ect = this.#fresh('ect_c');
    const warm = ect !== null && ect >= WARMED_UP_C;
    const from = tS - dtS;
    if (rpm === 0 && !this.#ranOnce) this.#add('key-on-check', dtS, from, tS);
    if (rpm !== null && rpm > RUNNING_RPM) this.#ranOnce = true;
    if (rpm === null || speed === null) return;
    const running = rpm > RUNNING_RPM;
    if (running && speed >= MOVES_KMH) this.#movedAtS = tS;
    if (running && speed >= DRIVEN_KMH) this.#moving(rpm, warm, dtS, from, tS);
    this.#standing(running && speed === 0 && warm, rpm, dtS, from, tS);
    this.#hotRestart(running, warm, dtS, from, tS);
  }

  #moving(rpm: number, warm: boolean, dtS: number, fromS: number, tS: number): void {
    this.#movedS += dtS;
    if (warm) this.#add('steady-load', dtS, fromS, tS);
    const demand = this.#demandSignals.reduce<number | null>(
      (found, signal) => found ?? this.#fresh(signal),
      null,
    );
    const [low, high] = this.#table.band ?? [0, 0];
    if (demand !== null && demand < LIGHT_SHARE * this.#engageDemand && rpm >= low && rpm <= high)
      this.#add('light-demand', dtS, fromS, tS);
  }

  #standing(warm: boolean, rpm: number, dtS: number, fromS: number, tS: number): void {
    const idle = warm && rpm < IDLE_BELOW_RPM;
    const raised = warm && rpm >= RAISED_RPM[0] && rpm <= RAISED_RPM[1];
    this.#idleS = idle ? this.#idleS + dtS : 0;
    this.#raisedS = raised ? this.#raisedS + dtS : 0;
    if (idle) {
      this.#add('hot-idle', dtS, fromS, tS);
      if (this.#movedS >= DRIVEN_S && tS - this.#movedAtS <= AFTER_LOAD_S)
        this.#add('idle-after-load', dtS, fromS, tS);
    }
    if (!idle && !raised) return;
    const h = this.#heater;
    const before = h.idleS + h.raisedS;
    h.idleS = Math.min(HEATER_IDLE_S, Math.max(h.idleS, this.#idleS));
    h.raisedS = Math.min(HEATER_RAISED_S, Math.max(h.raisedS, this.#raisedS));
    const gained = (h.idleS + h.raisedS - before) / (HEATER_IDLE_S + HEATER_RAISED_S);
    if (gained > 0) this.#add('heater-check', gained, fromS, tS);
    const check = this.#byId.get('heater-check');
    // Shares of a second do not add up to a whole exactly.
    if (check && h.idleS === HEATER_IDLE_S && h.raisedS === HEATER_RAISED_S) check.done = 1;
  }

  #hotRestart(running: boolean, warm: boolean, dtS: number, fromS: number, tS: number): void {
    if (!running) {
      this.#stoppedHotS = warm ? this.#stoppedHotS + dtS : 0;
      if (this.#stoppedHotS >= SOAK_S) this.#restartArmed = true;
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
      if (ect < COLD_START_C) state.fromS = tS;
    }
    // A warm start shows no warm-up, and none can be driven before the engine is cold again.
    if (this.#startEct >= COLD_START_C || state.done >= 1) return;
    state.done = Math.min(1, Math.max(0, (ect - this.#startEct) / (WARMED_UP_C - this.#startEct)));
    state.toS = tS;
  }

  #add(leg: string, amount: number, fromS: number, toS: number): void {
    const state = this.#byId.get(leg);
    if (!state || state.done >= state.spec.enough) return;
    state.fromS ??= fromS;
    state.toS = toS;
    state.done += amount;
  }

  #fresh(signal: string): number | null {
    const held = this.#latest.get(signal);
    return held && this.#lastS - held.tS <= STALE_S ? held.value : null;
  }
}
