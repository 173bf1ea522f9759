/** Charging, which hangs on the same belt run as the pump: judges only that there is a charge at all. */

import { hundredth } from '../core/rounded.ts';
import { BLANK } from './blank.ts';
import { say } from './says.ts';
import type { CleanSample, Detector, Evidence, Finding, Spoken } from './types.ts';

/** Common practice, no source; smart charging may leave the band, so it is reported and not judged. */
const BAND_V: readonly [number, number] = [13.2, 14.9];
/**
 * A full lead-acid battery rests at about 12.7 V (handbook value, from memory): what charges it lies above. Smart
 * charging rests too, but not for this long without once lifting the voltage (common practice, no source).
 */
const NO_CHARGE_V = 12.7;
const NO_CHARGE_S = 600;
/** So much running shows a charge (common practice, no source). */
const CHARGED_S = 300;
/** Slower the engine is being cranked (common practice, no source). */
const CHARGES_RPM = 500;
/** Readings further apart say nothing of between (common practice, no source). */
const CHARGING_HOLE_S = 30;
/** What tables and meters resolve (common practice, no source); PID 42 itself has 0.001 V (SAE J1979, from memory). */
const STEP_V = 0.1;
/**
 * The interval leaves out a fortieth of the running time on either side: 95 %, as everywhere. A convention; no
 * source.
 */
const CHARGING_SHARE = 0.95;
const NONE: readonly Spoken[] = [];

/** No vehicle's supply goes higher (common practice, no source); and hundredths of a volt, by definition. */
const TOP_V = 30;
const BINS_PER_V = 100;

/** Running time by voltage, to a hundredth of a volt. */
class Histogram {
  readonly #s = new Float64Array(TOP_V * BINS_PER_V);
  runS = 0;
  bandS = 0;

  add(v: number, dtS: number): void {
    const bin = Math.min(this.#s.length - 1, Math.max(0, Math.round(v * BINS_PER_V)));
    this.#s[bin]! += dtS;
    this.runS += dtS;
    if (v >= BAND_V[0] && v <= BAND_V[1]) this.bandS += dtS;
  }

  /** Voltage below which this share of the time lies. */
  quantile(share: number): number {
    let left = share * this.runS;
    for (const [bin, s] of this.#s.entries()) {
      left -= s;
      if (s > 0 && left <= 0) return bin / BINS_PER_V;
    }
    return Number.NaN;
  }
}

/** Readings in a row that no charge lifted. */
interface Flat {
  readonly fromS: number;
  toS: number;
  low: number;
  high: number;
}

export class ChargingDetector implements Detector {
  readonly #run = new Histogram();
  #running = false;
  #lastS = Number.NaN;
  #fromS: number | null = null;
  #toS = 0;
  #flat: Flat | null = null;
  #fault: (Flat & { readonly saidAtS: number }) | null = null;

  step(s: CleanSample): readonly Spoken[] {
    if (s.flag !== null) return NONE;
    if (s.signal === 'rpm') this.#running = s.value > CHARGES_RPM;
    if (s.signal !== 'voltage_v') return NONE;
    const tS = s.tUs / 1e6;
    const dtS = tS - this.#lastS;
    this.#lastS = tS;
    if (!this.#running || !(dtS <= CHARGING_HOLE_S)) {
      this.#flat = null;
      return NONE;
    }
    this.#fromS ??= tS;
    this.#toS = tS;
    this.#run.add(s.value, dtS);
    // Half a step of the sensor on either side: the whole interval must lie below.
    if (s.value + STEP_V / 2 >= NO_CHARGE_V) {
      this.#flat = null;
      return NONE;
    }
    this.#flat ??= { fromS: tS, toS: tS, low: s.value, high: s.value };
    const flat = this.#flat;
    flat.toS = tS;
    flat.low = Math.min(flat.low, s.value);
    flat.high = Math.max(flat.high, s.value);
    if (this.#fault || tS - flat.fromS < NO_CHARGE_S) return NONE;
    this.#fault = { ...flat, saidAtS: tS };
    return [{ atS: tS, finding: this.#finding(), sentence: say('charging.spoken') }];
  }

  finish(): readonly Finding[] {
    return [this.#finding()];
  }

  #finding(): Finding {
    const run = this.#run;
    const fromS = this.#fromS;
    const tail = (1 - CHARGING_SHARE) / 2;
    const interval: [number, number] = [run.quantile(tail), run.quantile(1 - tail)];
    const base: Finding = {
      id: 'charging.voltage',
      system: 'charging',
      verdict: 'not shown',
      ...BLANK,
      fromS,
      toS: fromS === null ? null : this.#toS,
      measured: fromS === null ? null : { value: run.quantile(0.5), unit: 'V', interval },
      limit: { value: NO_CHARGE_V, unit: 'V', source: say('charging.source.rest') },
      evidence: fromS === null ? [] : [this.#seen(fromS, interval)],
      rule: say('charging.rule', {
        noChargeV: NO_CHARGE_V,
        noChargeS: NO_CHARGE_S,
        chargedS: CHARGED_S,
        share: CHARGING_SHARE,
        stepV: STEP_V,
      }),
      signals: ['rpm', 'voltage_v'],
    };
    if (this.#fault) return faultOf(this.#fault, base);
    if (fromS === null) return { ...base, needs: say('charging.need.record') };
    if (run.runS < CHARGED_S) return { ...base, needs: say('charging.need.run', { runS: CHARGED_S }) };
    if (interval[0] <= NO_CHARGE_V) return { ...base, needs: say('charging.need.battery') };
    return { ...base, verdict: 'shown good' };
  }

  #seen(fromS: number, [lowV, highV]: readonly [number, number]): Evidence {
    return {
      fromS,
      toS: this.#toS,
      text: say('charging.seen', {
        lowV,
        highV,
        middleV: this.#run.quantile(0.5),
        share: CHARGING_SHARE,
        bandShare: this.#run.bandS / this.#run.runS,
        fromV: BAND_V[0],
        toV: BAND_V[1],
      }),
    };
  }
}

function faultOf(
  { fromS, toS, low, high, saidAtS }: Flat & { readonly saidAtS: number },
  base: Finding,
): Finding {
  return {
    ...base,
    verdict: 'fault shown',
    pointsTo: say('charging.points'),
    saidAtS,
    fromS,
    measured: {
      value: hundredth(high),
      unit: 'V',
      interval: [hundredth(low - STEP_V / 2), hundredth(high + STEP_V / 2)],
    },
    evidence: [
      { fromS, toS, text: say('charging.flat', { lowV: low, highV: high, lastedS: toS - fromS }) },
      ...base.evidence,
    ],
  };
}
