/**
 * How far each leg of the road test is driven, which is the most useful next, and what a person must be asked now. A leg that
 * serves a finding shows what the drive has given that finding.
 */
import type { AskId } from '../core/answers.ts';
import type { Profile } from '../core/profile.ts';
import type { Says } from '../core/says.ts';
import { GOOD_FROM_C } from './boost/witness.ts';
import { type Given, type GivenBy, later } from './given.ts';
import { say } from './leg-says.ts';
import {
  AFTER_LOAD_S,
  DRIVEN_KMH,
  HEATER_IDLE_S,
  HEATER_RAISED_S,
  HOT_STOP_S,
  type LegSpec,
  legsOf,
  RAISED_IDLE_RPM,
  RAISED_RPM,
  WARMED_UP_C,
} from './leg-table.ts';
import { type CarSilence, CarSilences, SILENT_S } from './silence.ts';
import type { Ask, CleanSample, Leg } from './types.ts';

/** A reading older than this is not of the present (common practice, no source). */
const LEG_STALE_S = 10;
/** A coolant reading holds so long for a pull and before a silence, as in the points of boost (common practice, no source). */
const ECT_HOLDS_S = 60;
/** Shorter halts (a junction) do not change what is named next (common practice, no source). */
const HALT_S = 8;
/** So much driving makes an idle an idle after load, and the noise worth asking for (common practice, no source). */
const DRIVEN_S = 120;
/** Faster the engine runs by itself (common practice, no source). */
const RUNS_RPM = 400;
/** Slower is idle (common practice, no source). */
const IDLE_BELOW_RPM = 1300;
/** Faster than this the car moves (common practice, no source). */
const MOVES_KMH = 3;
/** When fan and noise are worth asking for: seconds of warm idle (common practice, no source). */
const FAN_ASK_S = 60;
const NOISE_ASK_S = 5;
/**
 * Legs that need a person's answers as well, and what part of them is the driving. Half: chosen by hand, not
 * measured.
 */
const ANSWERS: Readonly<Record<string, readonly AskId[]>> = {
  'heater-check': ['cabin heat idle', 'cabin heat 2000 rpm'],
};
const DRIVING_SHARE = 0.5;

const NOTHING: Given = { share: 0, left: null, fromS: null, toS: null };

/** Of a leg that serves no finding. */
interface State {
  readonly enough: number;
  done: number;
  fromS: number | null;
  toS: number | null;
}

interface Now {
  readonly spec: LegSpec;
  readonly given: Given;
  readonly leg: Leg;
}

export class LegTracker {
  readonly #specs: readonly LegSpec[];
  readonly #own: ReadonlyMap<string, State>;
  readonly #given: () => GivenBy;
  readonly #waits: () => Says | null;
  readonly #latest = new Map<string, { tS: number; value: number }>();
  #lastS = Number.NaN;
  #ranOnce = false;
  #movedS = 0;
  #movedAtS = Number.NEGATIVE_INFINITY;
  #stoppedHotS = 0;
  readonly #silences = new CarSilences();
  /** The newest silence that began with warm coolant, until it was told to be a stop. */
  #hotSilence: CarSilence | null = null;
  #restarted = false;
  #restartArmed = false;
  /** Standing warm, in seconds without a break: at idle, and at raised engine speed. */
  #idleS = 0;
  #raisedS = 0;
  /** The best of these so far: what the heater check has had. */
  #heater = { idleS: 0, raisedS: 0 };
  #answers: ReadonlySet<AskId> = new Set();

  /**
   * @param given what the drive has given the findings by now
   * @param waits why nothing is driven or idled for by now; null where nothing forbids it
   */
  constructor(profile: Profile, given: () => GivenBy, waits: () => Says | null) {
    this.#specs = legsOf(profile);
    this.#own = new Map(
      this.#specs.flatMap(({ leg, by }) =>
        typeof by === 'number' ? [[leg, { enough: by, done: 0, fromS: null, toS: null }]] : [],
      ),
    );
    this.#given = given;
    this.#waits = waits;
  }

  step(s: CleanSample): void {
    const silence = this.#silences.step(s);
    if (silence !== null) this.#hotSilence = this.#isWarm(ECT_HOLDS_S) ? silence : null;
    if (this.#hotSilence?.keyOff) this.#hotStop(this.#hotSilence);
    if (s.flag !== null) return;
    const tS = s.tUs / 1e6;
    const held = this.#latest.get(s.signal);
    if (held) {
      held.tS = tS;
      held.value = s.value;
    } else this.#latest.set(s.signal, { tS, value: s.value });
    const dtS = Number.isNaN(this.#lastS) ? 0 : tS - this.#lastS;
    this.#lastS = tS;
    if (dtS > 0 && dtS <= SILENT_S) this.#pass(tS, dtS);
  }

  /** What a person has answered so far, all of it; taken back answers are left out. */
  answered(answers: ReadonlySet<AskId>): void {
    this.#answers = answers;
  }

  view(): Leg[] {
    return this.#now().map(({ leg }) => leg);
  }

  /**
   * The open leg that this moment of the drive serves best; null when all are driven or left open. While the car moves no
   * leg is named that wants it standing, unless nothing else is left; and a pull only when its evidence would count.
   */
  next(): Leg | null {
    const open = this.#now().filter(({ leg }) => !leg.covered && !leg.over);
    const must = open.filter(({ spec }) => spec.optional !== true);
    const some = must.length > 0 ? must : open.filter(({ leg }) => leg.progress > 0);
    const timely = some.filter(({ given }) => given.early !== true);
    const order = this.#order();
    const rank = ({ spec }: Now) => order.indexOf(spec.kind);
    const [first] = [...(timely.length > 0 ? timely : some)].sort((a, b) => rank(a) - rank(b));
    if (!first) return null;
    const { leg, spec } = first;
    const moves = this.#lastS - this.#movedAtS < HALT_S;
    const stands = spec.kind === 'standing' || spec.kind === 'key-on';
    return moves && stands ? { ...leg, how: say('leg.stop-first', { how: leg.how }) } : leg;
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

  #now(): Now[] {
    const byFinding = this.#given();
    const waits = this.#waits();
    return this.#specs.map((spec) => {
      const { leg, title, why, counts, by } = spec;
      const gave = typeof by === 'number' ? this.#ownGiven(leg) : (byFinding.get(by) ?? NOTHING);
      const given = waits === null || spec.kind === 'key-on' ? gave : later(gave, waits);
      const { share: progress, how = spec.how, fromS, toS } = given;
      const covered = progress >= 1;
      const left = covered ? null : given.left;
      const over = !covered && given.over === true;
      return {
        spec,
        given,
        leg: { leg, title, why, how, counts, covered, over, progress, left, fromS, toS },
      };
    });
  }

  /** What was driven, and what was answered where answers are needed. */
  #ownGiven(leg: string): Given {
    const { enough, done, fromS, toS } = this.#own.get(leg)!;
    const driven = Math.min(1, done / enough);
    const asked = ANSWERS[leg];
    if (!asked) return { share: driven, left: null, fromS, toS };
    const answered = asked.filter((id) => this.#answers.has(id)).length / asked.length;
    const both = driven === 1 && answered === 1;
    return {
      share: both ? 1 : DRIVING_SHARE * driven + (1 - DRIVING_SHARE) * answered,
      left: null,
      fromS,
      toS,
    };
  }

  #order(): readonly LegSpec['kind'][] {
    const ect = this.#fresh('ect_c');
    // Whether a pull would count now, by its coolant; without a reading it does not.
    const forPull = this.#fresh('ect_c', ECT_HOLDS_S);
    const halted = this.#lastS - this.#movedAtS >= HALT_S;
    const order: readonly LegSpec['kind'][] =
      halted && ect !== null && ect >= WARMED_UP_C
        ? ['cold', 'standing', 'pull', 'moving']
        : forPull !== null && forPull >= GOOD_FROM_C
          ? ['cold', 'pull', 'moving', 'standing']
          : ['cold', 'moving', 'pull', 'standing'];
    // Once the engine has run it is not stopped before the rest is driven.
    return this.#ranOnce ? [...order, 'key-on'] : ['key-on', ...order];
  }

  /** Time that passed under the latest readings. */
  #pass(tS: number, dtS: number): void {
    const rpm = this.#fresh('rpm');
    const speed = this.#fresh('speed_kmh');
    const warm = this.#isWarm();
    const from = tS - dtS;
    if (rpm !== null && rpm > RUNS_RPM) this.#ranOnce = true;
    if (rpm === null || speed === null) return;
    const running = rpm > RUNS_RPM;
    if (running && speed >= MOVES_KMH) this.#movedAtS = tS;
    if (running && speed >= DRIVEN_KMH) this.#movedS += dtS;
    this.#standing(running && speed === 0 && warm, rpm, dtS, from, tS);
    this.#hotRestart(running, warm, dtS, from, tS);
  }

  #standing(warm: boolean, rpm: number, dtS: number, fromS: number, tS: number): void {
    const idle = warm && rpm < IDLE_BELOW_RPM;
    const raised = warm && rpm >= RAISED_RPM[0] && rpm <= RAISED_RPM[1];
    this.#idleS = idle ? this.#idleS + dtS : 0;
    this.#raisedS = raised ? this.#raisedS + dtS : 0;
    if (idle) {
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
    const check = this.#own.get('heater-check');
    // Shares of a second do not add up to a whole exactly.
    if (check && h.idleS === HEATER_IDLE_S && h.raisedS === HEATER_RAISED_S && this.#waits() === null)
      check.done = 1;
  }

  #hotRestart(running: boolean, warm: boolean, dtS: number, fromS: number, tS: number): void {
    if (!running) {
      this.#stoppedHotS = warm ? this.#stoppedHotS + dtS : 0;
      if (this.#stoppedHotS >= HOT_STOP_S) this.#restartArmed = true;
      this.#restarted = false;
      return;
    }
    this.#stoppedHotS = 0;
    if (this.#restartArmed) this.#restarted = true;
    if (this.#restarted) this.#add('hot-restart', dtS, fromS, tS);
  }

  /** With the key off nothing is read, and the stop goes on. */
  #hotStop({ fromS, toS }: CarSilence): void {
    this.#hotSilence = null;
    this.#stoppedHotS += toS - fromS;
    if (this.#stoppedHotS >= HOT_STOP_S) this.#restartArmed = true;
  }

  #isWarm(holdsS = LEG_STALE_S): boolean {
    const ect = this.#fresh('ect_c', holdsS);
    return ect !== null && ect >= WARMED_UP_C;
  }

  #add(leg: string, amount: number, fromS: number, toS: number): void {
    const state = this.#own.get(leg);
    // A leg that was left open does not tick of itself, least of all in an alarm.
    if (!state || state.done >= state.enough || this.#waits() !== null) return;
    state.fromS ??= fromS;
    state.toS = toS;
    state.done += amount;
  }

  #fresh(signal: string, holdsS = LEG_STALE_S): number | null {
    const held = this.#latest.get(signal);
    return held && this.#lastS - held.tS <= holdsS ? held.value : null;
  }
}
