/**
 * The car's own speed against speed over ground: an observation about wheel size, tyres or speed sensor, never a fault.
 * Only where a satellite receiver was heard.
 */

import { median } from 'simple-statistics';
import { tenth } from '../../core/rounded.ts';
import { BLANK } from '../blank.ts';
import { say } from '../says.ts';
import { SD_PER_MAD, Z_BOTH } from '../spread.ts';
import type { CleanSample, Finding } from '../types.ts';

/** Slower, the whole km/h of the car's own speed is too coarse (common practice, no source). */
const FROM_KMH = 50;
/**
 * Steady: so long within so little of both, which takes out whichever comes later. Chosen by hand, not measured.
 */
const STEADY_S = 5;
const STEADY_WITHIN_KMH = 2;
/** Readings further apart than this are no stretch. Chosen by hand, not measured. */
const SPEED_CHECK_HOLE_S = 1.5;
/** So many steady stretches make a statement. Chosen by hand, not measured. */
const LEAST = 12;
/** Standard error of a median over that of a mean, √(π/2). Normal distribution, by definition. */
const MEDIAN_SE = 1.2533;
const MOST_CHECKS = 2000;
/** The car's own speed comes in whole km/h (SAE J1979, from memory), rounded or cut off: it was up to one more, or half of one less. */
const STEP_KMH = 1;
/** Tyres of other make and wear lie within this, % (common practice, no source). */
const USUAL_PCT = 5;

interface Stretch {
  readonly fromS: number;
  readonly car: number[];
  readonly ground: number[];
}

export class SpeedCheck {
  readonly #pct: number[] = [];
  #sumKmh = 0;
  #fromS: number | null = null;
  #toS = 0;
  #car = { tS: Number.NEGATIVE_INFINITY, kmh: Number.NaN };
  #lastS = Number.NEGATIVE_INFINITY;
  #stretch: Stretch | null = null;

  step(s: CleanSample): void {
    if (s.flag !== null) return;
    const tS = s.tUs / 1e6;
    if (s.signal === 'speed_kmh') this.#car = { tS, kmh: s.value };
    else if (s.signal === 'gnss_speed_kmh') this.#ground(tS, s.value);
  }

  /** Null without a receiver, or too little steady driving with one. */
  finding(): Finding | null {
    const n = this.#pct.length;
    if (n < LEAST) return null;
    const value = median(this.#pct);
    const meanKmh = this.#sumKmh / n;
    const scatter = SD_PER_MAD * median(this.#pct.map((p) => Math.abs(p - value)));
    // Of a median of n values, and what the car's own step leaves open whatever their number.
    const half = (Z_BOTH * MEDIAN_SE * scatter) / Math.sqrt(n);
    const stepPct = (100 * STEP_KMH) / meanKmh;
    const interval: [number, number] = [value - half - stepPct / 2, value + half + stepPct];
    const usual = interval[0] >= -USUAL_PCT && interval[1] <= USUAL_PCT;
    const odd = interval[0] > USUAL_PCT || interval[1] < -USUAL_PCT;
    return {
      id: 'road.speed',
      system: 'sensor',
      verdict: usual ? 'shown good' : 'not shown',
      ...BLANK,
      fromS: this.#fromS,
      toS: this.#toS,
      measured: { value: tenth(value), unit: '%', interval: [tenth(interval[0]), tenth(interval[1])] },
      limit: { value: USUAL_PCT, unit: '%', source: say('sensor.source.practice') },
      evidence: [
        {
          fromS: this.#fromS ?? 0,
          toS: this.#toS,
          text: say('road.speed.seen', {
            pct: value,
            lowPct: interval[0],
            highPct: interval[1],
            stretches: n,
            kmh: meanKmh,
          }),
        },
      ],
      needs: usual ? null : odd ? say('road.speed.need.look') : say('road.speed.need.more'),
      rule: say('road.speed.rule', {
        fromKmh: FROM_KMH,
        steadyS: STEADY_S,
        stepKmh: STEP_KMH,
        usualPct: USUAL_PCT,
      }),
      signals: ['gnss_speed_kmh', 'speed_kmh'],
      aside: true,
    };
  }

  #ground(tS: number, ground: number): void {
    const hole = tS - this.#lastS > SPEED_CHECK_HOLE_S || tS - this.#car.tS > SPEED_CHECK_HOLE_S;
    this.#lastS = tS;
    const { kmh } = this.#car;
    const now = this.#stretch;
    if (hole || ground < FROM_KMH) {
      this.#stretch = null;
      return;
    }
    const steady =
      now !== null &&
      Math.abs(ground - now.ground[0]!) <= STEADY_WITHIN_KMH &&
      Math.abs(kmh - now.car[0]!) <= STEADY_WITHIN_KMH;
    if (!steady) {
      this.#stretch = { fromS: tS, car: [kmh], ground: [ground] };
      return;
    }
    now.car.push(kmh);
    now.ground.push(ground);
    if (tS - now.fromS < STEADY_S) return;
    this.#stretch = null;
    if (this.#pct.length >= MOST_CHECKS) return;
    const meanGround = mean(now.ground);
    this.#pct.push(100 * (mean(now.car) / meanGround - 1));
    this.#sumKmh += meanGround;
    this.#fromS ??= now.fromS;
    this.#toS = tS;
  }
}

const mean = (values: readonly number[]): number => values.reduce((s, v) => s + v, 0) / values.length;
