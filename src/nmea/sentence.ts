/**
 * One line of a satellite receiver → one sentence of NMEA 0183. Pure; a line comes from outside and may be anything:
 * reading it returns a result and never throws. Layouts of GGA, RMC, VTG and GSA are from memory of NMEA 0183 (2.0 to
 * 4.1); published example sentences and a decoder from elsewhere are the checks (tests/nmea, tests/outside).
 */

/** The standard's 82 characters, and room for receivers that give more decimals. Longer lines are not read. */
const MAX_SENTENCE = 120;
const KMH_PER_KNOT = 1.852;

export interface Position {
  /** Degrees, north and east positive. */
  readonly latDeg: number;
  readonly lonDeg: number;
}

export type Sentence =
  /** A fix with its height. */
  | {
      readonly is: 'GGA';
      readonly talker: string;
      /** Seconds of the day, UTC. */
      readonly utcS: number | null;
      readonly position: Position | null;
      /** 0 none, 1 autonomous, 2 differential, 4 and 5 with carrier phase, 6 estimated, 7 typed in, 8 simulated. */
      readonly quality: number;
      readonly satellites: number | null;
      readonly hdop: number | null;
      /** Above mean sea level, m. */
      readonly heightM: number | null;
    }
  /** Speed and course over ground with position. */
  | {
      readonly is: 'RMC';
      readonly talker: string;
      readonly utcS: number | null;
      readonly position: Position | null;
      /** The receiver itself stands by it, and it measured rather than estimated. */
      readonly valid: boolean;
      readonly speedKmh: number | null;
      readonly courseDeg: number | null;
    }
  | {
      readonly is: 'VTG';
      readonly talker: string;
      readonly valid: boolean;
      readonly speedKmh: number | null;
      readonly courseDeg: number | null;
    }
  /** How many dimensions the fix has, and how the satellites' places dilute it. */
  | {
      readonly is: 'GSA';
      readonly talker: string;
      /** 1 no fix, 2 without height, 3 with height. */
      readonly fix: 1 | 2 | 3;
      readonly hdop: number | null;
      readonly vdop: number | null;
    };

export type Unread =
  /** No sentence at all: noise, or another protocol. */
  | 'no sentence'
  | 'no checksum'
  | 'wrong checksum'
  /** A field that the standard does not allow there. */
  | 'malformed'
  /** Right, but not one of those that are used. */
  | 'other';

export type Read =
  | { readonly ok: true; readonly sentence: Sentence }
  | { readonly ok: false; readonly why: Unread };

const no = (why: Unread): Read => ({ ok: false, why });

/** @param line without its line end */
export function readSentence(line: string): Read {
  if (line.length > MAX_SENTENCE) return no('no sentence');
  const match = /^\$([A-Z0-9]{5}),([\x20-\x29\x2b-\x7e]*)(?:\*([0-9A-Fa-f]{2}))?$/.exec(line);
  if (!match) return no('no sentence');
  const [, address = '', body = '', sum] = match;
  if (sum === undefined) return no('no checksum');
  if (checksum(`${address},${body}`) !== Number.parseInt(sum, 16)) return no('wrong checksum');
  const talker = address.slice(0, 2);
  const reader = READERS[address.slice(2)];
  if (!reader || talker.startsWith('P')) return no('other');
  const fields = new Fields(body.split(','));
  const sentence = reader(talker, fields);
  return fields.wrong || sentence === null ? no('malformed') : { ok: true, sentence };
}

/** Exclusive or of all characters between `$` and `*`. */
export function checksum(text: string): number {
  let sum = 0;
  for (let i = 0; i < text.length; i++) sum ^= text.charCodeAt(i);
  return sum & 0xff;
}

/** Where a sentence that is used tells its place: first of the four fields, the address counted. */
const PLACE_FROM: Readonly<Record<Sentence['is'], number | null>> = { GGA: 2, RMC: 3, VTG: null, GSA: null };

/** The same line without its place, its checksum made anew; null for one that may tell a place in another way. */
export function withoutPlace(line: string): string | null {
  const read = readSentence(line);
  if (!read.ok) return null;
  const from = PLACE_FROM[read.sentence.is];
  if (from === null) return line;
  const fields = line.slice(1, line.indexOf('*')).split(',');
  const body = fields.map((f, i) => (i >= from && i < from + 4 ? '' : f)).join(',');
  return `$${body}*${checksum(body).toString(16).toUpperCase().padStart(2, '0')}`;
}

/** Counted from 0, the address left out. */
const READERS: Readonly<Record<string, (talker: string, f: Fields) => Sentence | null>> = {
  // time, latitude, N/S, longitude, E/W, quality, satellites, HDOP, height, M, geoid, M, age, station
  GGA: (talker, f) => {
    const quality = f.whole(5, 9);
    if (f.count < 9 || quality === null) return null;
    return {
      is: 'GGA',
      talker,
      utcS: f.time(0),
      position: f.position(1),
      quality,
      satellites: f.whole(6, 99),
      hdop: f.number(7, 0, 100),
      heightM: f.letter(9) === 'M' ? f.number(8, -1000, 100_000) : null,
    };
  },
  // time, status, latitude, N/S, longitude, E/W, knots, course, date, variation, E/W, mode (2.3), status (4.1)
  RMC: (talker, f) => {
    const status = f.letter(1);
    if (f.count < 9 || (status !== 'A' && status !== 'V')) return null;
    const knots = f.number(6, 0, 10_000);
    return {
      is: 'RMC',
      talker,
      utcS: f.time(0),
      position: f.position(2),
      valid: status === 'A' && measured(f.letter(11)),
      speedKmh: knots === null ? null : knots * KMH_PER_KNOT,
      courseDeg: f.number(7, 0, 360),
    };
  },
  // course, T, magnetic course, M, knots, N, km/h, K, mode (2.3)
  VTG: (talker, f) => {
    if (f.count < 8 || (f.letter(1) ?? 'T') !== 'T') return null;
    const knots = (f.letter(5) ?? 'N') === 'N' ? f.number(4, 0, 10_000) : null;
    const kmh = (f.letter(7) ?? 'K') === 'K' ? f.number(6, 0, 20_000) : null;
    return {
      is: 'VTG',
      talker,
      valid: measured(f.letter(8)),
      speedKmh: kmh ?? (knots === null ? null : knots * KMH_PER_KNOT),
      courseDeg: f.number(0, 0, 360),
    };
  },
  // selection, fix, twelve satellites, PDOP, HDOP, VDOP, system (4.1)
  GSA: (talker, f) => {
    const fix = f.whole(1, 3);
    if (f.count < 17 || (fix !== 1 && fix !== 2 && fix !== 3)) return null;
    return { is: 'GSA', talker, fix, hdop: f.number(15, 0, 100), vdop: f.number(16, 0, 100) };
  },
};

/** The mode of 2.3 and later: estimated, typed in, simulated and none are no measurement. Absent before 2.3. */
const measured = (mode: string | null): boolean => mode === null || /^[ADPRF]$/.test(mode);

/** Empty fields are null; a field that breaks its form sets `wrong`. */
class Fields {
  wrong = false;
  readonly #fields: readonly string[];

  constructor(fields: readonly string[]) {
    this.#fields = fields;
  }

  get count(): number {
    return this.#fields.length;
  }

  letter(i: number): string | null {
    const text = this.#fields[i] ?? '';
    if (text === '') return null;
    return /^[A-Z]$/.test(text) ? text : this.#bad();
  }

  whole(i: number, most: number): number | null {
    const text = this.#fields[i] ?? '';
    if (text === '') return null;
    return /^\d{1,2}$/.test(text) && Number(text) <= most ? Number(text) : this.#bad();
  }

  number(i: number, low: number, high: number): number | null {
    const text = this.#fields[i] ?? '';
    if (text === '') return null;
    const value = /^-?\d{1,6}(?:\.\d{0,9})?$/.test(text) ? Number(text) : Number.NaN;
    return value >= low && value <= high ? value : this.#bad();
  }

  /** hhmmss, with any decimals. */
  time(i: number): number | null {
    const text = this.#fields[i] ?? '';
    if (text === '') return null;
    const [, h, m, s] = /^(\d\d)(\d\d)(\d\d(?:\.\d{0,9})?)$/.exec(text) ?? [];
    if (s === undefined || Number(h) > 23 || Number(m) > 59 || Number(s) >= 61) return this.#bad();
    return Number(h) * 3600 + Number(m) * 60 + Number(s);
  }

  /** ddmm.mmm,N,dddmm.mmm,E from field `i` on. */
  position(i: number): Position | null {
    const latDeg = this.#angle(i, 2, 'N', 'S', 90);
    const lonDeg = this.#angle(i + 2, 3, 'E', 'W', 180);
    return latDeg === null || lonDeg === null ? null : { latDeg, lonDeg };
  }

  #angle(i: number, digits: 2 | 3, plus: string, minus: string, most: number): number | null {
    const text = this.#fields[i] ?? '';
    const side = this.letter(i + 1);
    if (text === '') return null;
    const form = digits === 2 ? /^(\d\d)(\d\d(?:\.\d{0,9})?)$/ : /^(\d\d\d)(\d\d(?:\.\d{0,9})?)$/;
    const [, deg, min] = form.exec(text) ?? [];
    if (min === undefined || (side !== plus && side !== minus)) return this.#bad();
    const value = Number(deg) + Number(min) / 60;
    if (Number(min) >= 60 || value > most) return this.#bad();
    return side === plus ? value : -value;
  }

  #bad(): null {
    this.wrong = true;
    return null;
  }
}
