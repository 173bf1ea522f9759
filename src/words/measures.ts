/** How numbers, quantities and times are written: one choice of units and one locale for the whole sheet. */
import type { Unit } from '../core/signals.ts';

export interface UnitChoice {
  readonly temperature: 'C' | 'F';
  readonly pressure: 'kPa' | 'bar' | 'psi';
  /** Distances follow: km or miles. */
  readonly speed: 'km/h' | 'mph';
}

export const METRIC: UnitChoice = { temperature: 'C', pressure: 'kPa', speed: 'km/h' };

const TOKENS: Readonly<Record<string, Partial<UnitChoice>>> = {
  metric: METRIC,
  imperial: { temperature: 'F', pressure: 'psi', speed: 'mph' },
  c: { temperature: 'C' },
  f: { temperature: 'F' },
  kpa: { pressure: 'kPa' },
  bar: { pressure: 'bar' },
  psi: { pressure: 'psi' },
  'km/h': { speed: 'km/h' },
  mph: { speed: 'mph' },
};

/** What `parseUnits` understands, for help and messages. */
export const UNIT_NAMES = Object.keys(TOKENS).join(', ');

/** "imperial", "bar", "F,psi,mph" → a choice, metric where nothing is said; or the word that is not understood. */
export function parseUnits(text: string): UnitChoice | { readonly unknown: string } {
  let choice = METRIC;
  for (const word of text.split(',').map((w) => w.trim().toLowerCase())) {
    const part = Object.hasOwn(TOKENS, word) ? TOKENS[word] : undefined;
    if (!part) return { unknown: word };
    choice = { ...choice, ...part };
  }
  return choice;
}

/** value × factor + offset, in `text`, with `digits` decimals where the sensor gives as much. */
export interface Conversion {
  readonly factor: number;
  readonly offset: number;
  readonly text: string;
  readonly digits: number;
}

const PLAIN_DIGITS: Partial<Record<Unit, number>> = { V: 1, 'g/s': 1, 'L/h': 1, '1': 2 };
const PLAIN_TEXT: Partial<Record<Unit, string>> = { deg: '°', '1': '', count: '' };
/** 1 lbf/in² = 6.894757 kPa, 1 mile = 1.609344 km, 1 foot = 0.3048 m: exact to the digits given (NIST SP 811, appendix B). */
const KPA_PER_PSI = 6.894757;
const KM_PER_MILE = 1.609344;
const M_PER_FOOT = 0.3048;

/** By the end of its name, for the page, which does not carry the catalogue; a test holds it to that. */
const SUFFIX_UNIT: Readonly<Record<string, Unit>> = {
  c: 'degC',
  kpa: 'kPa',
  pa: 'Pa',
  pct: '%',
  v: 'V',
  gps: 'g/s',
  kmh: 'km/h',
  rpm: 'rpm',
  deg: 'deg',
  s: 's',
  nm: 'Nm',
  m: 'm',
  km: 'km',
  min: 'min',
  ma: 'mA',
  lph: 'L/h',
  kgph: 'kg/h',
  mg: 'mg/stroke',
  ppm: 'ppm',
  mgm3: 'mg/m3',
  count: 'count',
  warmups: 'count',
  satellites: 'count',
};

/** The unit that a signal's name ends in. */
export const unitOfName = (id: string): Unit => SUFFIX_UNIT[id.split('_').at(-1)!] ?? '1';

export class Measures {
  readonly units: UnitChoice;
  readonly #locale: string;
  readonly #timeZone: string;
  readonly #formats = new Map<number, Intl.NumberFormat>();

  /** How the language writes "rpm". */
  readonly rpm: string;

  /** @param timeZone IANA name; an unknown one is taken as UTC */
  constructor(locale: string, units: UnitChoice, timeZone: string, rpm = 'rpm') {
    this.units = units;
    this.rpm = rpm;
    this.#locale = locale;
    this.#timeZone = knownZone(timeZone) ? timeZone : 'UTC';
  }

  /** True minus sign; never "−0". */
  number(value: number, digits = 0): string {
    let format = this.#formats.get(digits);
    if (!format) {
      format = new Intl.NumberFormat(this.#locale, {
        minimumFractionDigits: digits,
        maximumFractionDigits: digits,
        signDisplay: 'negative',
        useGrouping: 'min2',
      });
      this.#formats.set(digits, format);
    }
    return format.format(value).replace('-', '−');
  }

  /** @param difference a temperature difference has no zero to shift */
  conversion(unit: Unit, difference = false): Conversion {
    const { temperature, pressure, speed } = this.units;
    switch (unit) {
      case 'degC':
        return temperature === 'C'
          ? { factor: 1, offset: 0, text: '°C', digits: 0 }
          : { factor: 1.8, offset: difference ? 0 : 32, text: '°F', digits: 0 };
      case 'kPa':
        if (pressure === 'bar') return { factor: 0.01, offset: 0, text: 'bar', digits: 2 };
        if (pressure === 'psi') return { factor: 1 / KPA_PER_PSI, offset: 0, text: 'psi', digits: 1 };
        return { factor: 1, offset: 0, text: 'kPa', digits: 0 };
      case 'km/h':
        return speed === 'km/h'
          ? { factor: 1, offset: 0, text: 'km/h', digits: 0 }
          : { factor: 1 / KM_PER_MILE, offset: 0, text: 'mph', digits: 0 };
      case 'km':
        return speed === 'km/h'
          ? { factor: 1, offset: 0, text: 'km', digits: 1 }
          : { factor: 1 / KM_PER_MILE, offset: 0, text: 'mi', digits: 1 };
      case 'm':
        return speed === 'km/h'
          ? { factor: 1, offset: 0, text: 'm', digits: 0 }
          : { factor: 1 / M_PER_FOOT, offset: 0, text: 'ft', digits: 0 };
      case 'rpm':
        return { factor: 1, offset: 0, text: this.rpm, digits: 0 };
      default:
        return { factor: 1, offset: 0, text: PLAIN_TEXT[unit] ?? unit, digits: PLAIN_DIGITS[unit] ?? 0 };
    }
  }

  /** A quantity without its unit. `finer`: decimals beyond the usual, for what was averaged. */
  bare(value: number, unit: Unit, difference = false, finer = 0): string {
    const c = this.conversion(unit, difference);
    return this.number(value * c.factor + c.offset, c.digits + finer);
  }

  quantity(value: number, unit: Unit, difference = false, finer = 0): string {
    const { text } = this.conversion(unit, difference);
    return `${this.bare(value, unit, difference, finer)}${text === '' ? '' : `\u00a0${text}`}`;
  }

  /** "31 min", "45 s": a span of time for reading, not for reckoning. @param asked what is still to be done: never less than it */
  span(seconds: number, asked = false): string {
    const whole = asked ? (x: number) => Math.ceil(x - 1e-6) : Math.round;
    return seconds < 90
      ? `${this.number(whole(seconds))}\u00a0s`
      : `${this.number(whole(seconds / 60))}\u00a0min`;
  }

  /** "12:41", "1:02:03": time of the run. */
  clock(seconds: number): string {
    const s = Math.max(0, Math.floor(seconds));
    const two = (n: number) => String(n).padStart(2, '0');
    const h = Math.floor(s / 3600);
    const m = Math.floor(s / 60) % 60;
    return h > 0 ? `${h}:${two(m)}:${two(s % 60)}` : `${m}:${two(s % 60)}`;
  }

  date(iso: string): string {
    return this.#when(iso, { dateStyle: 'long' });
  }

  dateTime(iso: string): string {
    return this.#when(iso, { dateStyle: 'medium', timeStyle: 'short' });
  }

  #when(iso: string, style: Intl.DateTimeFormatOptions): string {
    const date = new Date(iso);
    if (Number.isNaN(date.getTime())) return iso;
    return new Intl.DateTimeFormat(this.#locale, { ...style, timeZone: this.#timeZone }).format(date);
  }
}

function knownZone(name: string): boolean {
  try {
    new Intl.DateTimeFormat('en', { timeZone: name });
    return true;
  } catch {
    return false;
  }
}
