/** The pressure sensor itself: equal to barometric with the engine stopped, and moving when the engine works. */
import { median } from 'simple-statistics';
import type { CleanSample, Finding } from '../types.ts';
import type { Baro } from './barometer.ts';

/** Further from the barometric sensor than both sensors' tolerances together (common practice, no source). */
const OFF_LIMIT_KPA = 8;
/** Shorter freezes may be the link; they are left out of the boost rules but not called a fault. */
const FROZEN_S = 120;
const KEEP = 30;

export class MapSensorWatch {
  #value = Number.NaN;
  #sinceUs = 0;
  #count = 0;
  #rpm: [number, number] = [0, 0];
  #nowRpm = Number.NaN;
  #rpmUs = Number.NEGATIVE_INFINITY;
  #stoppedUs: number | null = null;
  #lastUs: number | null = null;
  #low = Number.POSITIVE_INFINITY;
  #high = Number.NEGATIVE_INFINITY;
  #off: number[] = [];
  #offFromS = 0;
  #offToS = 0;
  #frozen: { fromS: number; toS: number; saidAtS: number; value: number; rpm: [number, number] } | null =
    null;
  #offSaidAtS: number | null = null;

  step(s: CleanSample, baro: Baro | null): void {
    if (s.signal === 'rpm' && s.flag === null) {
      this.#nowRpm = s.value;
      this.#rpmUs = s.tUs;
      if (s.value >= 50) this.#stoppedUs = null;
      else this.#stoppedUs ??= s.tUs;
      return;
    }
    if (s.signal !== 'map_kpa' || (s.flag !== null && s.flag !== 'stuck')) return;
    const hole = this.#lastUs === null || s.tUs - this.#lastUs > 5e6;
    this.#lastUs = s.tUs;
    this.#low = Math.min(this.#low, s.value);
    this.#high = Math.max(this.#high, s.value);
    this.#watchFreeze(s, hole);
    const rpmFresh = s.tUs - this.#rpmUs < 2e6;
    if (rpmFresh && this.#stoppedUs !== null && s.tUs - this.#stoppedUs > 4e6) this.#compare(s, baro);
  }

  /** True once `finding` shows a fault; cheap enough to ask at each sample. */
  get faulty(): boolean {
    return this.#frozen !== null || this.#offSaidAtS !== null;
  }

  finding(): Finding {
    const base = {
      id: 'sensor.map_kpa',
      system: 'sensor' as const,
      signals: ['map_kpa', 'rpm', 'baro_kpa'],
      rule: `With the engine stopped MAP equals barometric pressure within ${OFF_LIMIT_KPA} kPa; with the engine at work it never repeats one value for ${FROZEN_S} s.`,
      pointsTo: null,
      saidAtS: null,
      fromS: null,
      toS: null,
      measured: null,
      limit: null,
      evidence: [],
      needs: null,
    };
    if (this.#frozen !== null) {
      const f = this.#frozen;
      return {
        ...base,
        verdict: 'fault shown',
        pointsTo: 'MAP sensor, its wiring or its hose',
        saidAtS: f.saidAtS,
        fromS: f.fromS,
        toS: f.toS,
        evidence: [
          {
            fromS: f.fromS,
            toS: f.toS,
            text: `MAP stayed at ${f.value} kPa while engine speed went from ${Math.round(f.rpm[0])} to ${Math.round(f.rpm[1])} rpm. Check the sensor before judging boost.`,
          },
        ],
      };
    }
    const difference = this.#off.length >= 5 ? median(this.#off) : null;
    if (difference !== null) {
      const measured = {
        value: Math.round(difference * 10) / 10,
        unit: 'kPa' as const,
        interval: [Math.round((difference - 2) * 10) / 10, Math.round((difference + 2) * 10) / 10] as [
          number,
          number,
        ],
      };
      const limit = {
        value: OFF_LIMIT_KPA,
        unit: 'kPa' as const,
        source: 'default (common practice, no source)',
      };
      if (this.#offSaidAtS !== null)
        return {
          ...base,
          verdict: 'fault shown',
          pointsTo: 'MAP sensor or barometric sensor',
          saidAtS: this.#offSaidAtS,
          fromS: this.#offFromS,
          toS: this.#offToS,
          measured,
          limit,
          evidence: [
            {
              fromS: this.#offFromS,
              toS: this.#offToS,
              text: `Engine stopped: MAP is ${Math.abs(measured.value)} kPa ${difference > 0 ? 'above' : 'below'} barometric. Check the sensor before judging boost.`,
            },
          ],
        };
      if (Math.abs(difference) + 2 < OFF_LIMIT_KPA && this.#high - this.#low > 30)
        return { ...base, verdict: 'shown good', fromS: this.#offFromS, toS: this.#offToS, measured, limit };
    }
    return {
      ...base,
      verdict: 'not shown',
      needs:
        this.#lastUs === null
          ? 'The vehicle gives no MAP: measure boost with a gauge.'
          : 'Stay with key on and engine stopped for ten seconds, with barometric pressure recorded, then drive.',
    };
  }

  #watchFreeze(s: CleanSample, hole: boolean): void {
    const running = this.#nowRpm > 500;
    if (hole || s.value !== this.#value || !running) {
      this.#value = s.value;
      this.#sinceUs = s.tUs;
      this.#count = 0;
      this.#rpm = [this.#nowRpm, this.#nowRpm];
      return;
    }
    this.#count++;
    this.#rpm = [Math.min(this.#rpm[0], this.#nowRpm), Math.max(this.#rpm[1], this.#nowRpm)];
    const lastedS = (s.tUs - this.#sinceUs) / 1e6;
    if (lastedS < FROZEN_S || this.#count < 40 || this.#rpm[1] < 1.8 * this.#rpm[0]) return;
    this.#frozen = {
      fromS: this.#sinceUs / 1e6,
      toS: s.tUs / 1e6,
      saidAtS: this.#frozen?.saidAtS ?? s.tUs / 1e6,
      value: s.value,
      rpm: [...this.#rpm],
    };
  }

  #compare(s: CleanSample, baro: Baro | null): void {
    if (s.flag !== null || baro?.source !== 'barometric sensor') return;
    if (this.#off.length === 0) this.#offFromS = s.tUs / 1e6;
    this.#offToS = s.tUs / 1e6;
    this.#off.push(s.value - baro.kpa);
    if (this.#off.length > KEEP) this.#off.shift();
    if (this.#off.length >= 5 && Math.abs(median(this.#off)) - 2 > OFF_LIMIT_KPA)
      this.#offSaidAtS ??= s.tUs / 1e6;
  }
}
