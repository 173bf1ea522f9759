/** Watches for coolant that climbs: the sequential test on the settled circuit, and plain limits as a safety net. */
import { leastSquares } from '../../signal/line.ts';
import { BIN_S, type Bin } from './bins.ts';
import type { Regime, RegimeName } from './regime.ts';
import { SequentialTest } from './sequential.ts';

/** The rise test looks at steps of five seconds: it catches a quick climb while it is still low. */
export const RISE = { sigma: 0.6, lambdas: [0.8, 1.6, 3], block: 1, hours: 4000 };
/** The level test looks at minutes: it catches a slow climb once driving no longer explains where it stands. */
export const LEVEL = { sigma: 0.3, lambdas: [3, 6, 12, 24], block: 60 / BIN_S, hours: 500 };
/** Held this long the plain limits count: long enough for a contact fault to show itself. */
const NET_HOLD_S = 10;
/** Above the plateau a healthy drive never stood this long (open drives, ANALYSIS: 0 of 41 h + 24 h). */
const NET_ABOVE_C = 13;
/** After a stop longer than this the block heats the standing coolant; the gauge is let be for a while. */
const SOAK_AFTER_S = 60;
const SOAK_S = 240;
/** Meanwhile only a reading this far beyond the limit counts. */
const SOAK_BEYOND_C = 7;
/** After an impossible jump to another level that level is not trusted at once: contacts fail for a minute, too. */
const DISTRUST_S = 60;
const OTHER_LEVEL_C = 4;
/** A reading that has not changed at all for this long says nothing about a climb. */
const FROZEN_S = 150;
/** Nor is a climb told from one that has stood still for this long: it may have got stuck high. */
const STILL_S = 60;
/** Readings further apart than this many steps say nothing about the rise between them. */
const MOST_STEPS = 6;
/** A climb is one that still climbs: falling faster than this is a recovery. */
const FALLING_C_PER_MIN = -0.6;
/** The alarm ends when the coolant was back within this of its allowance for a minute. */
const CLEAR_S = 60;
const WINDOW = 180 / BIN_S;

interface Point {
  readonly tS: number;
  readonly ect: number;
}

export interface Climb {
  readonly saidAtS: number;
  readonly by: 'test' | 'limit' | 'far above plateau';
  readonly plateauC: number | null;
  readonly limitC: number;
  /** What the driving of the moment explains above the plateau, °C. */
  readonly allowC: number;
  /** Where the rise began, as far as the last minutes tell. */
  fromS: number;
  toS: number;
  peakC: number;
  /** °C per minute when it was said. */
  readonly slope: Slope;
  /** Rise and time by regime since `fromS`. */
  readonly byRegime: Map<RegimeName, { riseC: number; s: number }>;
}

export interface Slope {
  readonly perMin: number;
  readonly interval: readonly [number, number];
}

export class ClimbWatch {
  readonly #limitC: number;
  readonly #rise = new SequentialTest(RISE);
  readonly #level = new SequentialTest(LEVEL);
  readonly #recent: (Point & { regime: RegimeName })[] = [];
  #last: Point | null = null;
  #stoppedS = 0;
  #runS = 0;
  #soakUntilS = Number.NEGATIVE_INFINITY;
  #unsure = false;
  #changedS = 0;
  #distrustUntilS = Number.NEGATIVE_INFINITY;
  #overS = 0;
  #farS = 0;
  #wellS = 0;
  #now: Climb | null = null;
  /** Every climb that was said, oldest first; bounded. */
  readonly climbs: Climb[] = [];

  constructor(limitC: number) {
    this.#limitC = limitC;
  }

  /** The climb that is on now. */
  get now(): Climb | null {
    return this.#now;
  }

  /** 1 and above is an alarm. */
  get suspicion(): number {
    return Math.max(this.#rise.share(), this.#level.share());
  }

  /** True while readings are not trusted or the block may be giving back heat. */
  doubtful(tS: number): boolean {
    return tS < this.#distrustUntilS || tS < this.#soakUntilS;
  }

  /**
   * @param plateau °C, null while none is known
   * @param watched the circuit is settled, so the test may run
   * @returns the climb, when this step starts one
   */
  step(bin: Bin, regime: Regime, plateau: number | null, watched: boolean): Climb | null {
    this.#engine(bin);
    const { ect, tS } = bin;
    if (bin.unsure) this.#unsure = true;
    if (ect === null || bin.unsure) return null;
    if (this.#unsure && this.#last !== null && Math.abs(ect - this.#last.ect) > OTHER_LEVEL_C) {
      this.#distrustUntilS = tS + DISTRUST_S;
      this.#last = null;
    }
    this.#unsure = false;
    if (bin.low !== bin.high || ect !== this.#last?.ect) this.#changedS = tS;
    this.#recent.push({ tS, ect, regime: regime.name });
    if (this.#recent.length > WINDOW) this.#recent.shift();
    const soaking = tS < this.#soakUntilS;
    const trusted = tS >= this.#distrustUntilS;
    if (!trusted) this.#forget();
    else if (bin.fresh && watched && bin.running && plateau !== null && !soaking)
      this.#advance(tS, ect, plateau, regime);
    if (bin.fresh) this.#last = { tS, ect };
    this.#nets(bin, ect, plateau, soaking, trusted);
    return this.#decide(bin, ect, regime, plateau, watched && !soaking && trusted);
  }

  /** Slope over the last `overS` seconds with its 95 % interval; null without enough of them. */
  slope(overS = 90): Slope | null {
    const last = this.#recent[this.#recent.length - 1];
    if (!last) return null;
    const points = this.#recent.filter((p) => last.tS - p.tS <= overS);
    return points.length >= 4 ? fitted(points) : null;
  }

  /** Minutes until `limitC` at the present rate, as a range; null when it does not rise for sure. */
  minutesTo(limitC: number): readonly [number, number] | null {
    const slope = this.slope(60) ?? this.slope();
    const last = this.#last;
    if (!slope || !last || slope.perMin <= 0.3 || last.ect >= limitC) return null;
    const left = limitC - last.ect;
    const fastest = left / Math.max(slope.interval[1], 0.1);
    const slowest = left / Math.max(slope.interval[0], 0.1);
    return fastest > 60 ? null : [fastest, Math.min(60, slowest)];
  }

  /** One step of both tests for each step of time since the last reading. */
  #advance(tS: number, ect: number, plateau: number, regime: Regime): void {
    if (tS - this.#changedS >= FROZEN_S) return;
    const d = ect - plateau;
    const last = this.#last;
    const steps =
      last && tS - last.tS <= MOST_STEPS * BIN_S ? Math.max(1, Math.round((tS - last.tS) / BIN_S)) : 1;
    const rise = last && tS - last.tS <= MOST_STEPS * BIN_S ? (ect - last.ect) / steps : 0;
    const pull = regime.pullPerMin * (BIN_S / 60);
    for (let i = 0; i < steps; i++) {
      // A fall is worth what it is; far below the plateau there is nothing more to say for the circuit.
      this.#rise.step(Math.max(-2, rise + pull * Math.max(-4, d - regime.allowC)), regime.riseStake);
      this.#level.step(Math.max(-4, d - regime.levelC), regime.stake);
    }
  }

  #forget(): void {
    this.#rise.reset();
    this.#level.reset();
  }

  #engine(bin: Bin): void {
    if (bin.running && bin.holeS < SOAK_AFTER_S) {
      if (this.#stoppedS >= SOAK_AFTER_S) {
        this.#soakUntilS = bin.tS + SOAK_S;
        this.#forget();
      }
      this.#stoppedS = 0;
      this.#runS += BIN_S;
      return;
    }
    // A hole may hide a stop.
    this.#stoppedS += BIN_S;
    if (bin.holeS >= SOAK_AFTER_S) this.#stoppedS += bin.holeS;
    if (bin.running) {
      this.#soakUntilS = bin.tS + SOAK_S;
      this.#stoppedS = 0;
      this.#forget();
    }
  }

  #nets(bin: Bin, ect: number, plateau: number | null, soaking: boolean, trusted: boolean): void {
    const limit = this.#limitC + (soaking || !bin.running ? SOAK_BEYOND_C : 0);
    const over = trusted && this.#runS > 0 && ect >= limit;
    this.#overS = over ? this.#overS + BIN_S : 0;
    const far = trusted && bin.running && !soaking && plateau !== null && ect >= plateau + NET_ABOVE_C;
    this.#farS = far ? this.#farS + BIN_S : 0;
  }

  #decide(bin: Bin, ect: number, regime: Regime, plateau: number | null, testing: boolean): Climb | null {
    const { tS } = bin;
    if (this.#now) {
      const climb = this.#now;
      climb.toS = tS;
      if (ect > climb.peakC) climb.peakC = ect;
      this.#attribute(climb, regime.name);
      const well =
        ect < this.#limitC - 3 && (plateau === null || ect <= plateau + Math.min(regime.allowC, 4));
      this.#wellS = well ? this.#wellS + BIN_S : 0;
      if (this.#wellS >= CLEAR_S) {
        this.#now = null;
        this.#forget();
      }
      return null;
    }
    const slope = this.slope() ?? { perMin: 0, interval: [0, 0] as const };
    const recent = this.slope(30)?.perMin ?? 0;
    const by =
      this.#overS >= NET_HOLD_S
        ? 'limit'
        : this.#farS >= NET_HOLD_S
          ? 'far above plateau'
          : testing && this.suspicion >= 1 && recent > FALLING_C_PER_MIN && tS - this.#changedS < STILL_S
            ? 'test'
            : null;
    if (by === null) return null;
    const climb: Climb = {
      saidAtS: tS,
      by,
      plateauC: plateau,
      limitC: this.#limitC,
      allowC: regime.allowC,
      fromS: this.#recent[0]!.tS,
      toS: tS,
      peakC: ect,
      slope,
      byRegime: new Map(),
    };
    this.#start(climb);
    this.#now = climb;
    this.#wellS = 0;
    if (this.climbs.length < 20) this.climbs.push(climb);
    return climb;
  }

  /** The rise began at the last low of the remembered minutes. */
  #start(climb: Climb): void {
    let k = 0;
    for (let i = 1; i < this.#recent.length; i++) if (this.#recent[i]!.ect <= this.#recent[k]!.ect) k = i;
    climb.fromS = this.#recent[k]!.tS;
    for (let i = k + 1; i < this.#recent.length; i++)
      addRise(climb, this.#recent[i]!.regime, this.#recent[i]!.ect - this.#recent[i - 1]!.ect);
  }

  #attribute(climb: Climb, name: RegimeName): void {
    const n = this.#recent.length;
    if (n >= 2) addRise(climb, name, this.#recent[n - 1]!.ect - this.#recent[n - 2]!.ect);
  }
}

function addRise(climb: Climb, name: RegimeName, riseC: number): void {
  const entry = climb.byRegime.get(name);
  if (entry) {
    entry.riseC += riseC;
    entry.s += BIN_S;
  } else climb.byRegime.set(name, { riseC, s: BIN_S });
}

/** Least squares. The interval takes steps as half independent: coolant readings are rounded and smooth. */
function fitted(points: readonly Point[]): Slope {
  const { slope, sse, sxx } = leastSquares(
    points.map((p) => p.tS),
    points.map((p) => p.ect),
  );
  const sd = Math.sqrt(sse / Math.max(1, points.length - 2) + 0.3 ** 2 / 3);
  const half = 2 * Math.SQRT2 * (sd / Math.sqrt(Math.max(sxx, 1))) * 60;
  return { perMin: slope * 60, interval: [slope * 60 - half, slope * 60 + half] };
}
