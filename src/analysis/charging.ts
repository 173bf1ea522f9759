/** Charging, which hangs on the same belt run as the pump: judges only that there is a charge at all. */
import type { CleanSample, Detector, Finding, Spoken } from './types.ts';

/** Common practice, no source; smart charging may leave the band, so it is reported and not judged. */
const BAND_V: readonly [number, number] = [13.2, 14.9];
/**
 * A full lead-acid battery rests at about 12.7 V (handbook value, from memory): what charges it lies above. Smart
 * charging rests too, but not for this long without once lifting the voltage (common practice, no source).
 */
const NO_CHARGE_V = 12.7;
const NO_CHARGE_S = 600;
const CHARGED_S = 300;
const RUNNING_RPM = 500;
const HOLE_S = 30;
const READING_V = 0.1;
const NONE: readonly Spoken[] = [];

export class ChargingDetector implements Detector {
  #running = false;
  #lastS = Number.NaN;
  #sum = 0;
  #n = 0;
  #runningS = 0;
  #bandS = 0;
  #low = Number.POSITIVE_INFINITY;
  #high = Number.NEGATIVE_INFINITY;
  #fromS: number | null = null;
  #toS = 0;
  #flatFromS: number | null = null;
  #flatHigh = Number.NEGATIVE_INFINITY;
  #flatLow = Number.POSITIVE_INFINITY;
  #fault: { fromS: number; saidAtS: number; low: number; high: number } | null = null;

  step(s: CleanSample): readonly Spoken[] {
    if (s.flag !== null) return NONE;
    if (s.signal === 'rpm') this.#running = s.value > RUNNING_RPM;
    if (s.signal !== 'voltage_v') return NONE;
    const tS = s.tUs / 1e6;
    const dtS = tS - this.#lastS;
    this.#lastS = tS;
    if (!this.#running || !(dtS <= HOLE_S)) {
      this.#flatFromS = null;
      return NONE;
    }
    this.#fromS ??= tS;
    this.#toS = tS;
    this.#sum += s.value * dtS;
    this.#n++;
    this.#runningS += dtS;
    if (s.value >= BAND_V[0] && s.value <= BAND_V[1]) this.#bandS += dtS;
    this.#low = Math.min(this.#low, s.value);
    this.#high = Math.max(this.#high, s.value);
    if (s.value >= NO_CHARGE_V) {
      this.#flatFromS = null;
      return NONE;
    }
    if (this.#flatFromS === null) {
      this.#flatFromS = tS;
      this.#flatHigh = Number.NEGATIVE_INFINITY;
      this.#flatLow = Number.POSITIVE_INFINITY;
    }
    this.#flatHigh = Math.max(this.#flatHigh, s.value);
    this.#flatLow = Math.min(this.#flatLow, s.value);
    if (this.#fault || tS - this.#flatFromS < NO_CHARGE_S) return NONE;
    this.#fault = { fromS: this.#flatFromS, saidAtS: tS, low: this.#flatLow, high: this.#flatHigh };
    return [
      {
        atS: tS,
        finding: this.#finding(),
        sentence: 'No charge: the belt may be off, and the coolant pump with it. Stop when safe and look.',
      },
    ];
  }

  finish(): readonly Finding[] {
    return [this.#finding()];
  }

  #finding(): Finding {
    const mean = this.#runningS > 0 ? this.#sum / this.#runningS : null;
    const base: Finding = {
      id: 'charging.voltage',
      system: 'charging',
      verdict: 'not shown',
      pointsTo: null,
      saidAtS: null,
      fromS: this.#fromS,
      toS: this.#fromS === null ? null : this.#toS,
      measured: mean === null ? null : { value: round2(mean), unit: 'V', interval: [this.#low, this.#high] },
      limit: { value: NO_CHARGE_V, unit: 'V', source: 'rest voltage of a full battery (from memory)' },
      evidence:
        mean === null
          ? []
          : [
              {
                fromS: this.#fromS ?? 0,
                toS: this.#toS,
                text: `Engine running: ${this.#low} to ${this.#high} V, mean ${round2(mean)} V; ${Math.round((100 * this.#bandS) / this.#runningS)} % of the time between ${BAND_V[0]} and ${BAND_V[1]} V, where most systems charge. Smart charging may leave that band.`,
              },
            ],
      needs: null,
      rule: `Fault shown: engine running and every reading below ${NO_CHARGE_V} V for ${NO_CHARGE_S / 60} minutes. Shown good: ${CHARGED_S / 60} minutes of running, more than half of them in the band. The interval is the range of readings.`,
      signals: ['rpm', 'voltage_v'],
    };
    const fault = this.#fault;
    if (fault)
      return {
        ...base,
        verdict: 'fault shown',
        pointsTo: 'no charge: belt, alternator or its wiring',
        saidAtS: fault.saidAtS,
        fromS: fault.fromS,
        measured: {
          value: fault.high,
          unit: 'V',
          interval: [fault.low, Math.min(fault.high, NO_CHARGE_V - READING_V / 2)],
        },
      };
    if (this.#n === 0)
      return { ...base, needs: 'Record the supply voltage and engine speed with the engine running.' };
    if (this.#runningS < CHARGED_S) return { ...base, needs: 'Let the engine run for 5 minutes.' };
    if (this.#bandS <= this.#runningS / 2)
      return {
        ...base,
        needs: 'Measure the charging voltage at the battery: this drive does not settle it.',
      };
    return { ...base, verdict: 'shown good' };
  }
}

function round2(x: number): number {
  return Math.round(x * 100) / 100;
}
