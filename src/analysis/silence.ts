/** Silence of every signal: a hole in the recording, unless the vehicle stood with its engine off. */
import type { CleanSample } from './types.ts';

/** Silence of every signal longer than this is a hole (common practice, no source; docs/analysis.md). */
export const SILENT_S = 5;
/** A reading so near to a silence is of its edge, or one as near as the next of its signal would come (common practice, no source). */
const EDGE_S = 15;
/** The engine turning slower stands, or is being started (common practice, no source). */
const STANDS_RPM = 400;
/**
 * What else tells that it stands by the time the key is back: a meter that told of air (g/s) tells of none, a supply that was charged (V)
 * no longer is. Read once a second in turn with ten others engine speed often comes only when the engine turns again. Common practice, no source.
 */
const WITNESSES: Readonly<Record<string, { readonly turned: number; readonly stands: number }>> = {
  maf_gps: { turned: 1, stands: 0.5 },
  voltage_v: { turned: 13.2, stands: 12.8 },
};
const SPEED = 'speed_kmh';
const RPM = 'rpm';

export interface CarSilence {
  /** Run seconds: the last reading before it and the first after. */
  readonly fromS: number;
  readonly toS: number;
  /** The key was off: the vehicle stood before and after, and the engine stood on one side of it at least. */
  keyOff: boolean;
}

interface Reading {
  readonly tS: number;
  readonly value: number;
  /** Of long silence before it, in all. */
  readonly silentS: number;
  /** Since the one before it without long silences, in which nothing was read, s; 0 for the first. */
  readonly everyS: number;
}

/** Finds silences, and tells a stop with the key off from a link that was lost. */
export class CarSilences {
  readonly #before = new Map<string, Reading>();
  #lastS = Number.NaN;
  /** Silences too long to be the pace at which signals come one after another, s in all. */
  #silentS = 0;
  /** The newest silence while the readings behind it may still tell that it was a stop; what stood before it. */
  #open: {
    readonly silence: CarSilence;
    readonly withinS: number;
    /** What tells below which value that the engine stands. */
    readonly standsBelow: ReadonlyMap<string, number>;
    engineStood: boolean;
    stands: boolean;
  } | null = null;

  /** The silence that this sample ends: a hole until `told` says otherwise. */
  step(s: CleanSample): CarSilence | null {
    const tS = s.tUs / 1e6;
    const ended = tS - this.#lastS > SILENT_S ? this.#end(tS) : null;
    if (tS - this.#lastS > EDGE_S) this.#silentS += tS - this.#lastS;
    this.#lastS = tS;
    if (s.flag === null && (s.signal === SPEED || s.signal === RPM || s.signal in WITNESSES)) {
      this.#tell(s.signal, s.value, tS);
      const before = this.#before.get(s.signal);
      const silentS = this.#silentS;
      const everyS = before ? tS - before.tS - (silentS - before.silentS) : 0;
      this.#before.set(s.signal, { tS, value: s.value, silentS, everyS });
    }
    return ended;
  }

  #end(toS: number): CarSilence {
    const silence: CarSilence = { fromS: this.#lastS, toS, keyOff: false };
    let withinS = EDGE_S;
    const edge = (signal: string): number | null => {
      const r = this.#before.get(signal);
      const nearS = Math.max(EDGE_S, r?.everyS ?? 0);
      withinS = Math.max(withinS, nearS);
      return r && silence.fromS - r.tS <= nearS ? r.value : null;
    };
    const rpm = edge(RPM);
    const engineStood = rpm !== null && rpm < STANDS_RPM;
    const turned = Object.entries(WITNESSES).filter(([name, w]) => (edge(name) ?? 0) >= w.turned);
    const standsBelow = new Map(turned.map(([name, w]) => [name, w.stands]));
    standsBelow.set(RPM, STANDS_RPM);
    const open = { silence, standsBelow, engineStood, stands: false };
    this.#open = edge(SPEED) === 0 ? { ...open, withinS } : null;
    return silence;
  }

  #tell(signal: string, value: number, tS: number): void {
    const open = this.#open;
    if (open === null) return;
    const standsBelow = open.standsBelow.get(signal);
    const stood = standsBelow !== undefined && value < standsBelow;
    const moved = signal === SPEED && value > 0;
    const turns = signal === RPM && !stood && !open.engineStood;
    if (moved || turns || tS - open.silence.toS > open.withinS) {
      this.#open = null;
      return;
    }
    if (signal === SPEED) open.stands = true;
    if (stood) open.engineStood = true;
    if (!open.stands || !open.engineStood) return;
    open.silence.keyOff = true;
    this.#open = null;
  }
}
