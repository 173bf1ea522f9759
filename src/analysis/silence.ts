/** Silence of every signal: a hole in the recording, unless the vehicle stood with its engine off. */
import type { CleanSample } from './types.ts';

/** Silence of every signal longer than this is a hole (common practice, no source; docs/analysis.md). */
export const SILENT_S = 5;
/** A reading so near to a silence is of its edge (common practice, no source). */
const EDGE_S = 15;
/** The engine turning slower stands, or is being started (common practice, no source). */
const STANDS_RPM = 400;

export interface CarSilence {
  /** Run seconds: the last reading before it and the first after. */
  readonly fromS: number;
  readonly toS: number;
  /** The key was off: the vehicle stood before and after, and the engine stood on one side of it at least. */
  keyOff: boolean;
}

interface Reading {
  tS: number;
  value: number;
}

/** Finds silences, and tells a stop with the key off from a link that was lost. */
export class CarSilences {
  readonly #before = new Map<string, Reading>();
  #lastS = Number.NaN;
  /** The newest silence while the readings behind it may still tell that it was a stop; what stood before it. */
  #open: { readonly silence: CarSilence; readonly engineStood: boolean; stands: boolean } | null = null;

  /** The silence that this sample ends: a hole until `told` says otherwise. */
  step(s: CleanSample): CarSilence | null {
    const tS = s.tUs / 1e6;
    const ended = tS - this.#lastS > SILENT_S ? this.#end(tS) : null;
    this.#lastS = tS;
    if (s.flag === null && (s.signal === 'rpm' || s.signal === 'speed_kmh')) {
      this.#tell(s.signal, s.value, tS);
      this.#before.set(s.signal, { tS, value: s.value });
    }
    return ended;
  }

  #end(toS: number): CarSilence {
    const silence: CarSilence = { fromS: this.#lastS, toS, keyOff: false };
    const edge = (signal: string): number | null => {
      const r = this.#before.get(signal);
      return r && silence.fromS - r.tS <= EDGE_S ? r.value : null;
    };
    const rpm = edge('rpm');
    const engineStood = rpm !== null && rpm < STANDS_RPM;
    this.#open = edge('speed_kmh') === 0 ? { silence, engineStood, stands: false } : null;
    return silence;
  }

  #tell(signal: 'rpm' | 'speed_kmh', value: number, tS: number): void {
    const open = this.#open;
    if (open === null) return;
    const moved = signal === 'speed_kmh' && value > 0;
    if (moved || tS - open.silence.toS > EDGE_S) {
      this.#open = null;
      return;
    }
    if (signal === 'speed_kmh') open.stands = true;
    else if (!open.engineStood) {
      if (value >= STANDS_RPM) this.#open = null;
      else this.#open = { ...open, engineStood: true };
    }
    if (this.#open?.stands && this.#open.engineStood) {
      open.silence.keyOff = true;
      this.#open = null;
    }
  }
}
