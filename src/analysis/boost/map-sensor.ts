/** The pressure sensor itself: equal to barometric with the engine stopped, and moving when the engine works. */

import { median } from 'simple-statistics';
import type { Says } from '../../core/says.ts';
import { BLANK } from '../blank.ts';
import type { Given } from '../given.ts';
import { say as sayLeg } from '../leg-says.ts';
import type { CleanSample, Evidence, Finding } from '../types.ts';
import { atRestKpa } from './absence.ts';
import { type Baro, STANDS_BELOW_RPM, UNKNOWN_BARO } from './barometer.ts';
import { say } from './says.ts';

/** Further from the barometric sensor than both sensors' tolerances together (common practice, no source). */
const OFF_LIMIT_KPA = 8;
/**
 * Shorter freezes may be the link; they are left out of the boost rules but not called a fault. Chosen by hand, not
 * measured.
 */
const MAP_STUCK_S = 120;
/** A sensor that works moves by more than this over a drive. Chosen by hand, not measured. */
const MOVES_KPA = 30;
const KEEP_STOPPED = 30;
/** Compared are readings after so long with the engine stopped, and so many of them. Chosen by hand, not measured. */
export const STOPPED_S = 4;
export const STOPPED_READINGS = 5;
/**
 * To stand with key on and engine stopped: as long as it takes at a reading a second. By definition of the two above.
 */
export const ASK_STOPPED_S = 10;
/**
 * Readings further apart than this are no freeze, and an engine speed older than this is none. Not known how chosen.
 */
const FREEZE_HOLE_US = 5e6;
const RPM_FRESH_US = 2e6;
/**
 * A freeze counts while the engine runs faster, has so many readings, and engine speed grows by so much. Not known
 * how chosen.
 */
const RUNNING_FROM_RPM = 500;
const STUCK_READINGS = 40;
const STUCK_RPM_RATIO = 1.8;
/** Bound of the difference of two sensors that read whole kPa, kPa. Not known how chosen. */
const DIFFERENCE_KPA = 2;

interface Freeze {
  /** Where it first stood still. */
  readonly sinceS: number;
  readonly fromS: number;
  readonly toS: number;
  readonly saidAtS: number;
  readonly value: number;
  readonly rpm: readonly [number, number];
  /** The one that was spoken of, where it moved again since; null where that is this one. */
  readonly first: Freeze | null;
}

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
  /** Readings with the engine stopped, and from when to when, s. */
  #stopped: { n: number; fromS: number; toS: number } | null = null;
  #ran = false;
  #offFromS = 0;
  #offToS = 0;
  /** Still at another pressure than barometric, and at barometric, where it would stand for want of boost, too. */
  #frozen: Freeze | null = null;
  #resting: Freeze | null = null;
  /** No boost at all is shown, and what the engine drew in bears it out: then that is what keeps a reading at barometric still. */
  borneOut = false;
  #offSaidAtS: number | null = null;

  step(s: CleanSample, baro: Baro | null): void {
    if (s.signal === 'rpm' && s.flag === null) {
      this.#nowRpm = s.value;
      this.#rpmUs = s.tUs;
      if (s.value >= STANDS_BELOW_RPM) {
        this.#stoppedUs = null;
        this.#ran = true;
      } else this.#stoppedUs ??= s.tUs;
      return;
    }
    if (s.signal !== 'map_kpa' || (s.flag !== null && s.flag !== 'stuck')) return;
    const hole = this.#lastUs === null || s.tUs - this.#lastUs > FREEZE_HOLE_US;
    this.#lastUs = s.tUs;
    this.#low = Math.min(this.#low, s.value);
    this.#high = Math.max(this.#high, s.value);
    this.#watchFreeze(s, hole, baro);
    const rpmFresh = s.tUs - this.#rpmUs < RPM_FRESH_US;
    if (rpmFresh && this.#stoppedUs !== null && s.tUs - this.#stoppedUs > STOPPED_S * 1e6)
      this.#compare(s, baro, this.#stoppedUs);
  }

  /** A reading that stands still and is not borne out. */
  get #stuck(): Freeze | null {
    return this.#frozen ?? (this.borneOut ? null : this.#resting);
  }

  /** From when on the reading stood still, s; null while it is not known to, or is borne out. */
  get frozenFromS(): number | null {
    return this.#stuck?.sinceS ?? null;
  }

  /** True once `finding` shows a fault; cheap enough to ask at each sample. */
  get faulty(): boolean {
    return this.#stuck !== null || this.#offSaidAtS !== null;
  }

  finding(): Finding {
    const base = {
      id: 'sensor.map_kpa',
      system: 'sensor' as const,
      signals: ['map_kpa', 'rpm', 'baro_kpa'],
      rule: say('boost.rule.map', { offKpa: OFF_LIMIT_KPA, frozenS: MAP_STUCK_S }),
      ...BLANK,
    };
    const f = this.#stuck;
    if (f !== null) {
      return {
        ...base,
        verdict: 'fault shown',
        pointsTo: say('boost.points.map'),
        saidAtS: f.saidAtS,
        fromS: f.fromS,
        toS: f.toS,
        evidence: [...(f.first === null ? [] : [frozenIn(f.first)]), frozenIn(f)],
      };
    }
    const difference = this.#off.length >= STOPPED_READINGS ? median(this.#off) : null;
    if (difference !== null) {
      const measured = {
        value: Math.round(difference * 10) / 10,
        unit: 'kPa' as const,
        interval: [
          Math.round((difference - DIFFERENCE_KPA) * 10) / 10,
          Math.round((difference + DIFFERENCE_KPA) * 10) / 10,
        ] as [number, number],
      };
      const limit = {
        value: OFF_LIMIT_KPA,
        unit: 'kPa' as const,
        source: say('boost.source.default'),
      };
      if (this.#offSaidAtS !== null)
        return {
          ...base,
          verdict: 'fault shown',
          pointsTo: say('boost.points.map-or-baro'),
          saidAtS: this.#offSaidAtS,
          fromS: this.#offFromS,
          toS: this.#offToS,
          measured,
          limit,
          evidence: [
            {
              fromS: this.#offFromS,
              toS: this.#offToS,
              text: say(difference > 0 ? 'boost.seen.map-above' : 'boost.seen.map-below', {
                byKpa: Math.abs(difference),
              }),
            },
          ],
        };
      if (Math.abs(difference) + DIFFERENCE_KPA < OFF_LIMIT_KPA && this.#high - this.#low > MOVES_KPA)
        return { ...base, verdict: 'shown good', fromS: this.#offFromS, toS: this.#offToS, measured, limit };
    }
    return {
      ...base,
      verdict: 'not shown',
      needs: this.#needs(difference !== null),
    };
  }

  #watchFreeze(s: CleanSample, hole: boolean, baro: Baro | null): void {
    const running = this.#nowRpm > RUNNING_FROM_RPM;
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
    if (
      lastedS < MAP_STUCK_S ||
      this.#count < STUCK_READINGS ||
      this.#rpm[1] < STUCK_RPM_RATIO * this.#rpm[0]
    )
      return;
    const { kpa } = baro ?? UNKNOWN_BARO;
    const atRest = Math.abs(s.value - kpa) <= atRestKpa(baro ?? UNKNOWN_BARO);
    const before = atRest ? this.#resting : this.#frozen;
    const fromS = this.#sinceUs / 1e6;
    const toS = s.tUs / 1e6;
    const first =
      before === null || before.fromS === fromS ? (before?.first ?? null) : (before.first ?? before);
    const freeze: Freeze = {
      first,
      ...{ sinceS: before?.sinceS ?? fromS, fromS, toS, saidAtS: before?.saidAtS ?? toS },
      ...{ value: s.value, rpm: [...this.#rpm] },
    };
    if (atRest) this.#resting = freeze;
    else this.#frozen = freeze;
  }

  /** Standing longer brings no barometric sensor, and no other difference from it. */
  #needs(compared: boolean): Says {
    if (this.#lastUs === null) return say('boost.need.map');
    if (this.given().share < 1) return say('boost.need.stopped', { stopS: ASK_STOPPED_S });
    if (!compared) return say('boost.need.baro');
    return this.#high - this.#low > MOVES_KPA ? say('boost.need.map-near') : say('boost.need.map-moves');
  }

  /** What it has of the stand with the engine stopped. */
  given(): Given {
    if (this.#lastUs === null)
      return {
        share: 0,
        left: this.#ran ? sayLeg('leg.left.signal') : null,
        over: this.#ran,
        fromS: null,
        toS: null,
      };
    const { n, fromS, toS } = this.#stopped ?? { n: 0, fromS: null, toS: null };
    const left = n === 0 ? null : sayLeg('leg.left.readings', { n, of: STOPPED_READINGS });
    return { share: this.faulty ? 1 : Math.min(1, n / STOPPED_READINGS), left, fromS, toS };
  }

  #compare(s: CleanSample, baro: Baro | null, stoppedUs: number): void {
    if (s.flag !== null) return;
    const sensor = baro?.source === 'barometric sensor';
    // A barometric sensor that comes later begins anew: only what it can be held against counts.
    const before = sensor && this.#off.length === 0 ? null : this.#stopped;
    const { n, fromS } = before ?? { n: 0, fromS: stoppedUs / 1e6 };
    if (n < STOPPED_READINGS) this.#stopped = { n: n + 1, fromS, toS: s.tUs / 1e6 };
    if (!sensor) return;
    if (this.#off.length === 0) this.#offFromS = s.tUs / 1e6;
    this.#offToS = s.tUs / 1e6;
    this.#off.push(s.value - baro.kpa);
    if (this.#off.length > KEEP_STOPPED) this.#off.shift();
    if (this.#off.length >= STOPPED_READINGS && Math.abs(median(this.#off)) - DIFFERENCE_KPA > OFF_LIMIT_KPA)
      this.#offSaidAtS ??= s.tUs / 1e6;
  }
}

const frozenIn = ({ fromS, toS, value, rpm }: Freeze): Evidence => ({
  fromS,
  toS,
  text: say('boost.seen.map-frozen', { mapKpa: value, fromRpm: rpm[0], toRpm: rpm[1] }),
});
