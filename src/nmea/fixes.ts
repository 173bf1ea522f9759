/** Sentences → samples: live and in replay the same. One source a quantity, no sample without a measurement. */
import type { Sample } from '../core/signals.ts';
import type { Places } from './places.ts';
import { readSentence, type Sentence, type Unread } from './sentence.ts';

/**
 * What one unit of dilution stands for, m (one standard deviation): about that of a receiver without correction under
 * open sky. Common practice, no source.
 */
const RANGE_ERROR_M = 5;
/** Height is the less certain: where no vertical dilution is told it is taken as so much of the horizontal one. */
const VERTICAL_BY_HORIZONTAL = 1.5;
/** A place with a larger error is not kept, m. Chosen by hand, not measured. */
const PLACE_ERROR_M = 12;
/** What another sentence said holds so long. */
const HOLDS_US = 5e6;
/** Autonomous, differential, precise, carrier phase fixed and float: those that measure. */
const MEASURING = new Set([1, 2, 3, 4, 5]);

export interface Fix {
  readonly tUs: number;
  /** GGA's number; 0 without a fix. */
  readonly quality: number;
  readonly satellites: number | null;
  /** One standard deviation, m; null where the receiver tells no dilution. */
  readonly errorM: number | null;
}

export class FixReader {
  /** How many lines could not be used, by reason. */
  readonly unread: Record<Unread, number> = {
    'no sentence': 0,
    'no checksum': 0,
    'wrong checksum': 0,
    malformed: 0,
    other: 0,
  };
  /** The newest fix or its absence; null before the first. */
  fix: Fix | null = null;
  /** Which talker is followed for each kind: receivers of several systems may repeat themselves under other names. */
  readonly #talkers = new Map<Sentence['is'], { talker: string; tUs: number }>();
  #dimensions: { readonly fix: 1 | 2 | 3; readonly vdop: number | null; readonly tUs: number } | null = null;
  /** When RMC last told a speed: VTG of the same moment repeats it. */
  #rmcUs = Number.NEGATIVE_INFINITY;
  /** When RMC or GGA last said that nothing is measured: VTG before 2.3 has no word for it. */
  #noneUs = Number.NEGATIVE_INFINITY;
  readonly #places: Places | null;

  /** @param places takes where it was; places are no samples */
  constructor(places: Places | null = null) {
    this.#places = places;
  }

  /** @param tUs when the line's end arrived; every sample of it has this time */
  read(line: string, tUs: number): readonly Sample[] {
    const read = readSentence(line);
    if (!read.ok) {
      this.unread[read.why]++;
      return [];
    }
    const { sentence } = read;
    if (!this.#follows(sentence, tUs)) return [];
    switch (sentence.is) {
      case 'GGA':
        return this.#position(sentence, tUs);
      case 'RMC':
        this.#noneUs = sentence.valid ? Number.NEGATIVE_INFINITY : tUs;
        if (sentence.valid && sentence.speedKmh !== null) this.#rmcUs = tUs;
        // GGA tells how good a place is; without one it is taken as it comes.
        if (sentence.valid && sentence.position !== null && !(tUs - (this.fix?.tUs ?? -HOLDS_US) < HOLDS_US))
          this.#places?.push({ tUs, ...sentence.position });
        return motion(sentence, tUs);
      case 'VTG':
        return tUs - Math.max(this.#rmcUs, this.#noneUs) <= HOLDS_US ? [] : motion(sentence, tUs);
      case 'GSA':
        this.#dimensions = { fix: sentence.fix, vdop: sentence.vdop, tUs };
        return [];
    }
  }

  #follows({ is, talker }: Sentence, tUs: number): boolean {
    // Several GSA, one for each system, belong together and tell the same.
    if (is === 'GSA') return true;
    const now = this.#talkers.get(is);
    if (now && now.talker !== talker && talker !== 'GN' && tUs - now.tUs <= HOLDS_US) return false;
    this.#talkers.set(is, { talker, tUs });
    return true;
  }

  #position(gga: Sentence & { readonly is: 'GGA' }, tUs: number): Sample[] {
    const { quality, satellites, hdop, heightM, position } = gga;
    const known = this.#dimensions && tUs - this.#dimensions.tUs <= HOLDS_US ? this.#dimensions : null;
    const measures = MEASURING.has(quality) && known?.fix !== 1;
    this.#noneUs = measures ? Number.NEGATIVE_INFINITY : tUs;
    const errorM = measures && hdop !== null && hdop > 0 ? hdop * RANGE_ERROR_M : null;
    this.fix = { tUs, quality: measures ? quality : 0, satellites, errorM };
    // A place that may be off by more than a road is wide tells no road.
    if (measures && position !== null && (errorM ?? 0) <= PLACE_ERROR_M)
      this.#places?.push({ tUs, ...position });
    const out = [sample('gnss_quality', quality, tUs)];
    if (satellites !== null) out.push(sample('gnss_satellites', satellites, tUs));
    if (errorM !== null) out.push(sample('gnss_error_m', errorM, tUs));
    if (!measures || heightM === null || known?.fix === 2) return out;
    out.push(sample('gnss_height_m', heightM, tUs));
    const vertical = known?.vdop ? known.vdop * RANGE_ERROR_M : errorM && errorM * VERTICAL_BY_HORIZONTAL;
    if (vertical !== null) out.push(sample('gnss_height_error_m', vertical, tUs));
    return out;
  }
}

function motion(
  { valid, speedKmh, courseDeg }: Sentence & { readonly is: 'RMC' | 'VTG' },
  tUs: number,
): Sample[] {
  if (!valid || speedKmh === null) return [];
  const speed = sample('gnss_speed_kmh', speedKmh, tUs);
  return courseDeg === null ? [speed] : [speed, sample('gnss_course_deg', courseDeg, tUs)];
}

const sample = (signal: string, value: number, tUs: number): Sample => ({ signal, tUs, sentUs: tUs, value });
