/** Samples of one drive as five-second steps: the common clock of everything that judges coolant. */
import type { CleanSample } from '../types.ts';

/** One step of the coolant rules. Chosen by hand, not measured. */
export const BIN_S = 5;
/** A value older than this is not used. Chosen by hand, not measured. */
export const BIN_STALE_S = 30;
/** An engine turning slower than this does not run. Common practice, no source. */
const RUNNING_RPM = 300;
/** With more than one in so many of a step's readings flagged it is not believed. Not known how chosen. */
const UNSURE_ONE_IN = 3;
/** Pedal this close to its rest is released; with the engine above this speed no fuel is burnt (common practice). */
const PEDAL_REST_PCT = 1.5;
const OVERRUN_RPM = 1200;
/** Unless the manifold stands this far above its lowest: then a speed control holds the load (KIT: 15 to 90 kPa). */
const OVERRUN_MAP_KPA = 12;
/** Above this speed the intake draws outside air (common practice). */
const AIRED_KMH = 30;

/**
 * A reading that repeats itself to the bit for so long had been stuck when the next one, at most LEAP_GAP_S later, lies
 * further off than the steepest invented climb goes in between (+25 °C with 60 s: 0.42 °C/s) and a degree of rounding:
 * coolant has inertia (80 open drives, 44 h: no healthy reading did so by 2 °C).
 */
const STUCK_S = 60;
const STOOD_LEAP_C = 1;
const STOOD_LEAP_C_PER_S = 25 / 60;
const LEAP_GAP_S = 10;
/** A step up to this, °C, that the reading made so often while it did not stand still is the sensor's own, and no leap. Chosen by hand. */
const OWN_STEP_C = 2;
const OWN_STEPS = 3;
/** rpm × kPa in this are about a gram of air a second; heat is only held against heat of one source. Chosen by hand. */
const HEAT_BY_PRESSURE = 1e4;

export interface Bin {
  /** End of the step, run seconds. */
  readonly tS: number;
  /** Mean coolant temperature, °C; the last one when the step brought none but it is fresh enough. */
  readonly ect: number | null;
  /** The step brought a coolant reading of its own. */
  readonly fresh: boolean;
  /** Highest and lowest coolant reading of the step. */
  readonly high: number;
  readonly low: number;
  readonly speed: number | null;
  readonly rpm: number | null;
  /** Air around the vehicle, °C: ambient temperature, else the lowest intake temperature seen while it moved. */
  readonly air: number | null;
  /**
   * Heat put in, in the unit of `heatSource`: proportional to the fuel burnt, never comparable between sources.
   * Zero while the vehicle pushes the engine.
   */
  readonly heat: number | null;
  readonly heatSource: HeatSource | null;
  /** False with the engine stopped; true as well when nothing tells. */
  readonly running: boolean;
  /** More than one in `UNSURE_ONE_IN` of the step's coolant readings were flagged. */
  readonly unsure: boolean;
  /** What the coolant read before this step had been stuck: it leapt as no coolant does. */
  readonly unstuck: boolean;
  /** Seconds without coolant before this step, beyond the step itself. */
  readonly holeS: number;
}

export type HeatSource = 'maf_gps' | 'map_kpa' | 'load_pct';
export const HEAT_SOURCES: readonly HeatSource[] = ['maf_gps', 'map_kpa', 'load_pct'];

interface Held {
  tS: number;
  value: number;
}

export class BinMaker {
  #index = -1;
  #sum = 0;
  #n = 0;
  #high = Number.NEGATIVE_INFINITY;
  #low = Number.POSITIVE_INFINITY;
  #flagged = 0;
  #heatSum = 0;
  #heatN = 0;
  #ectS = Number.NaN;
  #ectC = Number.NaN;
  /** Since when it has repeated itself, run seconds. */
  #sameS = Number.NaN;
  /** The largest steps that it made while it did not stand still, largest first, °C. */
  #steps: number[] = [];
  #unstuck = false;
  #pedalRest = Number.POSITIVE_INFINITY;
  #pedal: string | null = null;
  #lowestMap = Number.POSITIVE_INFINITY;
  #lowestIat = Number.POSITIVE_INFINITY;
  readonly #held = new Map<string, Held>();
  readonly #used = new Set<string>();
  #source: HeatSource | null = null;

  /** The step that this sample closes, or null. Time may leap; empty steps are not made. */
  push(s: CleanSample): Bin | null {
    const tS = s.tUs / 1e6;
    const index = Math.floor(tS / BIN_S);
    const closed = index !== this.#index && this.#index >= 0 ? this.close() : null;
    this.#index = index;
    this.#take(s, tS);
    return closed;
  }

  /** Closes the step at hand. */
  close(): Bin | null {
    if (this.#index < 0) return null;
    const tS = (this.#index + 1) * BIN_S;
    const before = this.#held.get('ect_before');
    const ect = this.#n > 0 ? this.#sum / this.#n : this.#fresh('ect_c', tS);
    const rpm = this.#fresh('rpm', tS);
    const speed = this.#fresh('speed_kmh', tS);
    const bin: Bin = {
      tS,
      ect,
      fresh: this.#n > 0,
      high: this.#n > 0 ? this.#high : (ect ?? Number.NaN),
      low: this.#n > 0 ? this.#low : (ect ?? Number.NaN),
      speed,
      rpm,
      air:
        this.#fresh('ambient_c', tS) ??
        (speed !== null && Number.isFinite(this.#lowestIat) ? this.#lowestIat : null),
      heat: this.#heatN > 0 ? this.#heatSum / this.#heatN : null,
      heatSource: this.#source,
      running: rpm === null || rpm > RUNNING_RPM,
      unsure: this.#flagged * UNSURE_ONE_IN > this.#n,
      unstuck: this.#unstuck,
      holeS: this.#n > 0 && before ? Math.max(0, tS - BIN_S - before.tS) : 0,
    };
    if (this.#n > 0) this.#held.set('ect_before', { tS: this.#ectS, value: bin.ect ?? 0 });
    this.#sum = 0;
    this.#n = 0;
    this.#high = Number.NEGATIVE_INFINITY;
    this.#low = Number.POSITIVE_INFINITY;
    this.#flagged = 0;
    this.#unstuck = false;
    this.#heatSum = 0;
    this.#heatN = 0;
    return bin;
  }

  get heatSource(): HeatSource | null {
    return this.#source;
  }

  /** Signals that came and are used, in alphabetical order. */
  signals(): string[] {
    return [...this.#used].sort();
  }

  #take(s: CleanSample, tS: number): void {
    const { signal, value } = s;
    if (!READ.has(signal)) return;
    if (s.flag !== null) {
      if (signal === 'ect_c') this.#flagged++;
      return;
    }
    this.#used.add(signal);
    const held = this.#held.get(signal);
    if (held) {
      held.tS = tS;
      held.value = value;
    } else this.#held.set(signal, { tS, value });
    if (signal === 'ect_c') {
      if (value !== this.#ectC || !(tS - this.#ectS <= LEAP_GAP_S)) this.#change(value, tS);
      this.#ectC = value;
      this.#sum += value;
      this.#n++;
      this.#ectS = tS;
      if (value > this.#high) this.#high = value;
      if (value < this.#low) this.#low = value;
    } else if (signal === PEDALS[0] || signal === PEDALS[1]) {
      // Two sensors of one pedal: D is followed where there is one.
      if (this.#pedal === null || (signal === PEDALS[0] && this.#pedal !== signal)) {
        this.#pedal = signal;
        this.#pedalRest = Number.POSITIVE_INFINITY;
      }
      if (signal === this.#pedal && value < this.#pedalRest) this.#pedalRest = value;
    } else if (signal === 'iat_c') {
      // A standing engine heats the air before it is measured.
      if ((this.#fresh('speed_kmh', tS) ?? 0) > AIRED_KMH && (this.#fresh('rpm', tS) ?? 0) > RUNNING_RPM)
        this.#lowestIat = Math.min(this.#lowestIat, value);
    } else {
      if (signal === 'map_kpa' && value < this.#lowestMap && (this.#fresh('rpm', tS) ?? 0) > RUNNING_RPM)
        this.#lowestMap = value;
      this.#addHeat(signal, value, tS);
    }
  }

  /** Another reading than the last, or the first after a hole, in which nobody knows whether it stood still. */
  #change(value: number, tS: number): void {
    const gapS = tS - this.#ectS;
    const stepC = Math.abs(value - this.#ectC);
    const stood = this.#ectS - this.#sameS >= STUCK_S;
    this.#sameS = tS;
    if (!(gapS <= LEAP_GAP_S)) return;
    const ownC = this.#steps[OWN_STEPS - 1] ?? 0;
    if (stood) this.#unstuck ||= stepC > Math.max(STOOD_LEAP_C, ownC) + STOOD_LEAP_C_PER_S * gapS;
    else if (stepC <= OWN_STEP_C)
      this.#steps = [...this.#steps, stepC].sort((a, b) => b - a).slice(0, OWN_STEPS);
  }

  #addHeat(signal: string, value: number, tS: number): void {
    const rank = HEAT_SOURCES.indexOf(signal as HeatSource);
    if (rank < 0) return;
    // The best source that was ever seen stays: two units must not be mixed.
    if (this.#source === null || rank < HEAT_SOURCES.indexOf(this.#source)) {
      this.#source = signal as HeatSource;
      this.#heatSum = 0;
      this.#heatN = 0;
    }
    if (signal !== this.#source) return;
    const rpm = this.#fresh('rpm', tS);
    if (rpm === null && signal !== 'maf_gps') return;
    const pedal = this.#pedal === null ? null : this.#fresh(this.#pedal, tS);
    const map = this.#fresh('map_kpa', tS);
    const pushed =
      rpm !== null &&
      rpm > OVERRUN_RPM &&
      pedal !== null &&
      pedal <= this.#pedalRest + PEDAL_REST_PCT &&
      (map === null || map <= this.#lowestMap + OVERRUN_MAP_KPA);
    const stopped = rpm !== null && rpm <= RUNNING_RPM;
    if (!pushed && !stopped)
      this.#heatSum += signal === 'maf_gps' ? value : (value * rpm!) / HEAT_BY_PRESSURE;
    this.#heatN++;
  }

  #fresh(signal: string, tS: number): number | null {
    const held = this.#held.get(signal);
    return held && tS - held.tS <= BIN_STALE_S ? held.value : null;
  }
}

const PEDALS = ['pedal_d_pct', 'pedal_e_pct'] as const;
const READ: ReadonlySet<string> = new Set([
  'ect_c',
  'speed_kmh',
  'rpm',
  'ambient_c',
  'iat_c',
  ...PEDALS,
  ...HEAT_SOURCES,
]);
