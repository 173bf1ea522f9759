/** Rows of a table from elsewhere become samples: layout found from the headers, troubles counted and located. */

import { saying } from '../../core/error-says.ts';
import { HandbackError } from '../../core/errors.ts';
import { asIs, inTurn, listed, type Says } from '../../core/says.ts';
import type { SampleTable } from '../../signal/table.ts';
import { type Cell, isHole, NumberReader } from './cells.ts';
import { Collected } from './collect.ts';
import {
  headerMeaning,
  isKnownSignal,
  isSignalName,
  type Meaning,
  mappedMeaning,
  timeMeaning,
  USUAL_SIGNALS,
} from './headers.ts';
import { readingsOf } from './readings.ts';
import { setApart } from './shared-times.ts';
import { absolute, refusal, type Stated, type StatedUnit, statedUnits, unitRemark } from './stated.ts';
import { TimeReader } from './times.ts';
import { setDrivesApart } from './touching.ts';
import { checkUnits } from './unit-check.ts';
import { isTimeUnit } from './units.ts';

export interface ImportOptions extends Stated {
  /** Header text → signal name; a unit may follow in brackets: "ect_c[°F]". Wins over recognition. */
  readonly map?: Readonly<Record<string, string>>;
  /** Header text of the time column. Wins over recognition. */
  readonly time?: string;
}

interface Column {
  readonly at: number;
  readonly header: string;
  readonly signal: string;
  readonly convert: ((value: number) => number) | null;
  /** The unit is the table's own word or the caller's, not only the name's. */
  readonly stated: boolean;
}

type Layout =
  | {
      readonly form: 'long';
      readonly time: number;
      readonly signal: number;
      readonly value: number;
      readonly unit: number | null;
    }
  | { readonly form: 'wide'; readonly time: number; readonly columns: readonly Column[] };

/** Headers of a table with a row a value: signal, value, unit. */
const LONG_HEADERS: readonly (readonly string[])[] = [
  ['signal', 'messgröße'],
  ['value', 'wert', 'messwert'],
  ['unit', 'einheit'],
];
const MAX_SAMPLES = 20_000_000;
const MAX_TABLE_SIGNALS = 1000;
/** Longer than this, the unit of the times is more likely wrong than the drive long. */
const LONGEST_DRIVE_S = 86_400;
/** So many rows with more cells than headers are no slip: the cells do not stand under their headers. */
const TOO_WIDE_SHARE = 0.1;
/** A row below the headers of which so many filled cells are headers is headers again (chosen by hand, not measured). */
const HEADERS_KNOWN_SHARE = 0.5;
/** So many cells of a column, and this share of them, that have digits and are no numbers: the column is not understood (chosen by hand, not measured). */
const FEWEST_UNREAD = 20;
const UNREAD_SHARE = 0.05;
/** So many times, each one more than the one before, may be numbers of rows (chosen by hand, not measured). */
const FEWEST_COUNTED = 100;

/** Signals that are not zero between two readings of a running engine. */
const NEVER_ZERO = ['map_kpa', 'ect_c', 'iat_c', 'baro_kpa', 'voltage_v'] as const;
/** Zeros stand for holes where a signal is this often zero, and so many times came back to within this of where it was (chosen by hand, not measured). */
const ZERO_SHARE = 0.3;
const FEWEST_ZERO_HOLES = 30;
const LIKE_BEFORE = 0.2;
/** From as low as this air and coolant may come to zero by themselves, in the unit of each (chosen by hand, not measured). */
const FALLS_FROM = 10;

export class TableBuilder {
  readonly #path: string;
  readonly #options: ImportOptions;
  readonly #numbers: NumberReader;
  readonly #samples = new Collected();
  readonly #stated: ReadonlyMap<string, StatedUnit>;
  /** Signals whose unit only their name says. */
  readonly #assumed = new Set<string>();
  readonly #warnings: Says[] = [];
  readonly #troubles = new Map<string, { where: Says; count: number; places: Says[] }>();
  readonly #longSignals = new Map<string, Column | null>();
  #layout: Layout | null = null;
  #headers: readonly string[] = [];
  #times = new TimeReader(null);
  #timeUnit: string | null = null;
  /** The row before was headers again, in the middle of the table: units may stand below them. */
  #headersAgain = false;
  /** Cells by column: numbers, and those that have digits and are none. */
  readonly #read = new Map<string, { numbers: number; others: number; first: Says }>();
  #rows = 0;
  #lastRowUs = Number.NEGATIVE_INFINITY;
  #stepsBack = 0;
  #stepsOn = 0;
  #firstStepBack = 0;
  #tooWide = 0;
  #firstTooWide = { line: 0, cells: 0, headers: 0 };
  #full = false;

  constructor(path: string, options: ImportOptions, commaSeparates: boolean) {
    this.#path = path;
    this.#options = options;
    this.#numbers = new NumberReader(commaSeparates);
    this.#stated = statedUnits(options);
  }

  /** Takes the row as headers when a time and at least one signal are in it. */
  takeHeaders(cells: readonly string[], line: number): boolean {
    const headers = cells.map((c) => c.trim());
    const meanings = this.#meanings(headers);
    const time = meanings.findIndex((m) => m.is === 'time');
    if (time < 0) return false;
    const lower = headers.map((h) => h.toLowerCase());
    const [signal, value, unit] = LONG_HEADERS.map((of) => lower.findIndex((h) => of.includes(h)));
    if (signal! >= 0 && value! >= 0) {
      this.#layout = { form: 'long', time, signal: signal!, value: value!, unit: unit! >= 0 ? unit! : null };
    } else {
      const columns = this.#columns(headers, meanings, time, line);
      if (columns.length === 0) return false;
      this.#layout = { form: 'wide', time, columns };
    }
    const meaning = meanings[time]!;
    this.#readTimesIn(meaning.is === 'time' ? meaning.unit : null);
    this.#headers = headers;
    return true;
  }

  /** A second header row that only names units is worth having: returns whether this is one, and uses it. */
  takeUnits(cells: readonly string[], line: number): boolean {
    if (this.#layout?.form !== 'wide') return false;
    const units = cells.map((c) => c.trim().replace(/^[[(](.*)[\])]$/, '$1'));
    if (!units.some((u) => u !== '') || units.some((u) => /^[-+]?[\d.,:]+$/.test(u))) return false;
    const withUnits = this.#headers.map((h, i) => (units[i] ? `${h} [${units[i]}]` : h));
    const meanings = withUnits.map((h) => headerMeaning(h));
    const unitOfTime = units[this.#layout.time] ?? '';
    if (unitOfTime !== '' && !isTimeUnit(unitOfTime)) return false;
    if (meanings.every((m) => m.is !== 'signal' || m.remark !== null)) return false;
    const columns = this.#layout.columns.flatMap((column) => {
      const meaning = mappedMeaning(withUnits[column.at]!, column.signal);
      if (meaning.is === 'signal')
        return this.#stated.has(column.signal)
          ? [column]
          : [
              {
                ...column,
                convert: meaning.convert ?? column.convert,
                stated: meaning.stated || column.stated,
              },
            ];
      const why = meaning.is === 'unknown' ? meaning.why : saying('column.second-time');
      this.#warn(saying('warn.column-not-used', { line, header: column.header, why }));
      return [];
    });
    this.#layout = { ...this.#layout, columns };
    if (unitOfTime !== '') this.#readTimesIn(unitOfTime);
    return true;
  }

  /** Times go on as they were read before, unless they are in another unit from here on. */
  #readTimesIn(ofHeader: string | null): void {
    const unit = this.#options.timeUnit ?? ofHeader;
    if (this.#rows > 0 && unit === this.#timeUnit) return;
    this.#times = new TimeReader(unit);
    this.#timeUnit = unit;
  }

  /** Headers in the middle of a table, as of files joined: columns may stand in another order below them. */
  #takesHeadersAgain(cells: readonly Cell[], line: number): boolean {
    const texts = cells.map((c) => (typeof c === 'string' ? c.trim() : ''));
    const filled = texts.filter((t) => t !== '');
    const known = filled.filter((t) => this.#headers.includes(t)).length;
    if (known < 2 || known < filled.length * HEADERS_KNOWN_SHARE) return false;
    if (texts.join('\n') !== this.#headers.join('\n')) {
      if (!this.takeHeaders(texts, line)) return false;
      this.#warn(saying('warn.headers-again', { line }));
    }
    this.#headersAgain = true;
    return true;
  }

  row(cells: readonly Cell[], line: number): void {
    const layout = this.#layout;
    if (!layout) throw new Error('row before headers');
    const below = this.#headersAgain;
    this.#headersAgain = false;
    if (
      below &&
      this.takeUnits(
        cells.map((c) => (typeof c === 'string' ? c : '')),
        line,
      )
    )
      return;
    this.#rows++;
    if (cells.length > this.#headers.length) this.#wide(cells, line);
    this.#numbers.learn(cells);
    const tUs = this.#times.read(cells[layout.time] ?? null, this.#numbers);
    if (tUs === null) {
      if (this.#takesHeadersAgain(cells, line)) return;
      this.#trouble(
        saying('where.time', { header: this.#headers[layout.time] ?? '' }),
        line,
        layout.time,
        cells,
      );
      return;
    }
    if (tUs > this.#lastRowUs) this.#stepsOn++;
    if (tUs < this.#lastRowUs && this.#stepsBack++ === 0) this.#firstStepBack = line;
    this.#lastRowUs = tUs;
    if (layout.form === 'wide')
      for (const column of layout.columns) this.#cell(column, cells, column.at, tUs, line);
    else {
      const column = this.#longColumn(layout, cells, line);
      if (column) this.#cell(column, cells, layout.value, tUs, line);
    }
  }

  /** Positions of the cells that `row` looks at. */
  neededColumns(): number[] {
    const layout = this.#layout;
    if (!layout) return [];
    if (layout.form === 'wide') return [layout.time, ...layout.columns.map((c) => c.at)];
    return [layout.time, layout.signal, layout.value, ...(layout.unit === null ? [] : [layout.unit])];
  }

  /** True once no more samples are taken. */
  get full(): boolean {
    return this.#full;
  }

  warn(text: Says): void {
    this.#warn(text);
  }

  /** @throws HandbackError input.format when there is nothing to judge in the table. */
  finish(): { table: SampleTable; warnings: readonly Says[] } {
    if (this.#rows === 0) throw this.#error(saying('import.no-rows'), saying('import.no-rows-hint'));
    if (this.#tooWide > TOO_WIDE_SHARE * this.#rows)
      throw this.#error(
        saying('import.too-wide', { n: this.#tooWide, ...this.#firstTooWide }),
        saying('import.too-wide-hint'),
      );
    const troubles = [...this.#troubles.values()].map((t) =>
      saying('warn.cells', { n: t.count, where: t.where, places: listed(t.places) }),
    );
    if (this.#samples.length === 0)
      throw this.#error(
        inTurn([saying('import.no-number', { rows: this.#rows }), ...troubles, ...this.#warnings]),
        saying('import.no-number-hint'),
      );
    for (const [header, { numbers, others, first }] of this.#read)
      if (others >= FEWEST_UNREAD && others > UNREAD_SHARE * (numbers + others))
        throw this.#error(
          saying('import.unread', { header, n: others, of: numbers + others, first }),
          saying('import.unread-hint'),
        );
    for (const t of troubles) this.#warn(t);
    if (this.#stepsBack > 0) {
      this.#warn(saying('warn.back', { n: this.#stepsBack, line: this.#firstStepBack }));
    }
    if (this.#full) this.#warn(saying('warn.first-samples', { most: MAX_SAMPLES }));
    const { table, restarts, beganUs } = this.#samples.finish();
    if (beganUs < 0) this.#warn(saying('warn.begin', { s: beganUs / 1e6 }));
    if (restarts > 0) this.#warn(saying('warn.restarts', { n: restarts }));
    const spanS = (table.tUs(table.length - 1) - table.tUs(0)) / 1e6;
    if (this.#options.timeUnit === undefined && this.#times.isPlain && spanS > LONGEST_DRIVE_S)
      this.#warn(saying('warn.span', { h: spanS / 3600 }));
    const counted = this.#times.isBare && countsRows(table);
    if (counted) this.#warn(saying('warn.row-numbers'));
    const gauge = [...this.#stated].filter(([, unit]) => unit.gauge).map(([signal]) => signal);
    const found = new Set(gauge.filter((signal) => table.names.includes(signal)));
    const zeros = zerosForHoles(table, found);
    if (zeros) throw this.#error(saying('import.zeros', zeros), saying('import.zeros-hint'));
    const whole = absolute(table, found, this.#options.baroKpa ?? null, this.#path);
    this.#checkUnits(whole);
    const apart = setApart(whole, this.#stepsBack > this.#stepsOn);
    if (apart.repeated > 0) this.#warn(saying('warn.repeated', { n: apart.repeated }));
    if (apart.spread > 0) this.#warn(saying('warn.spread', { n: apart.spread }));
    const readings = readingsOf(apart.table);
    if (counted && readings.carried)
      throw this.#error(saying('import.row-numbers'), saying('import.row-numbers-hint'));
    if (readings.none) throw this.#error(saying('import.between'), saying('import.between-hint'));
    if (readings.said) this.#warn(readings.said);
    const drives = setDrivesApart(readings.table);
    if (drives.more > 0) this.#warn(saying('warn.another-drive', { n: drives.more }));
    return { table: drives.table, warnings: this.#warnings };
  }

  /** Why the rows tried as headers would not do, told by the first of them. */
  headerError(cells: readonly string[], line: number): HandbackError {
    const meanings = this.#meanings(cells.map((c) => c.trim()));
    const known = cells.filter((_, i) => meanings[i]!.is !== 'unknown').map((c) => `"${short(c)}"`);
    const unknown = cells.filter((_, i) => meanings[i]!.is === 'unknown').map((c) => `"${short(c)}"`);
    const missing = meanings.some((m) => m.is === 'time') ? 'signal' : 'time';
    return this.#error(
      saying('import.headers', { line, missing, known: list(known), unknown: list(unknown) }),
      saying('import.headers-hint', { signals: USUAL_SIGNALS }),
    );
  }

  /** @param line in which the quote opens */
  unclosedError(line: number): HandbackError {
    return this.#error(saying('import.unclosed', { line }), saying('import.unclosed-hint'));
  }

  #meanings(headers: readonly string[]): Meaning[] {
    const at = (wanted: string): number => {
      const exact = headers.indexOf(wanted.trim());
      if (exact >= 0) return exact;
      return headers.findIndex((h) => h.toLowerCase() === wanted.trim().toLowerCase());
    };
    const meanings = headers.map((h) => headerMeaning(h));
    const { time, map = {} } = this.#options;
    if (time !== undefined) {
      for (const [i, m] of meanings.entries())
        if (m.is === 'time') meanings[i] = { is: 'unknown', why: saying('column.named') };
      const i = at(time);
      if (i >= 0) meanings[i] = timeMeaning(headers[i]!);
    }
    for (const [header, target] of Object.entries(map)) {
      const m = /^([^[]*)(\[.*\])?$/.exec(target.trim());
      const signal = m?.[1]?.trim() ?? '';
      if (!isKnownSignal(signal))
        throw new HandbackError('input.usage', saying('import.no-signal-mapped', { signal, header }), {
          hint: saying('import.signals', { signals: USUAL_SIGNALS }),
        });
      const i = at(header);
      if (i >= 0) meanings[i] = mappedMeaning(m?.[2] ?? headers[i]!, signal);
    }
    return meanings;
  }

  /** To be called once the headers are known. @throws HandbackError input.format naming columns that are not there */
  refuseMissingOverrides(): void {
    const lower = new Set(this.#headers.map((h) => h.toLowerCase()));
    const { map = {}, time } = this.#options;
    const named = [...(this.#layout?.form === 'wide' ? Object.keys(map) : []), ...(time ? [time] : [])];
    const missing = named.filter((h) => !lower.has(h.trim().toLowerCase()));
    if (missing.length > 0)
      throw this.#error(
        saying('import.no-column', {
          missing: list(missing.map((h) => `"${short(h)}"`)),
          headers: list(this.#headers.map((h) => `"${short(h)}"`)),
        }),
        saying('import.no-column-hint'),
      );
  }

  #columns(headers: readonly string[], meanings: readonly Meaning[], time: number, line: number): Column[] {
    const columns: Column[] = [];
    const warnings: Says[] = [];
    const ignored: Says[] = [];
    for (const [at, m] of meanings.entries()) {
      const header = headers[at]!;
      if (at === time) continue;
      if (m.is === 'signal') {
        const earlier = columns.find((c) => c.signal === m.signal);
        if (earlier) {
          warnings.push(saying('warn.both', { first: earlier.header, second: header, signal: m.signal }));
          continue;
        }
        if (m.remark) warnings.push(saying('warn.column', { header, why: m.remark }));
        columns.push(this.#column(at, header, m));
      } else if (header !== '') {
        const why = m.is === 'time' ? saying('column.second-time') : m.why;
        ignored.push(
          why.id === 'column.not-known'
            ? asIs(`"${short(header)}"`)
            : saying('warn.because', { header: short(header), why }),
        );
      }
    }
    if (columns.length > 0) {
      if (ignored.length > 0)
        warnings.push(saying('warn.not-used', { line, columns: listed(ignored.slice(0, 30)) }));
      for (const w of warnings) this.#warn(w);
    }
    return columns;
  }

  #column(at: number, header: string, { signal, convert, stated }: Meaning & { is: 'signal' }): Column {
    const unit = this.#stated.get(signal);
    return unit
      ? { at, header, signal, convert: unit.convert, stated: true }
      : { at, header, signal, convert, stated };
  }

  #longColumn(layout: Layout & { form: 'long' }, cells: readonly Cell[], line: number): Column | null {
    const name = String(cells[layout.signal] ?? '').trim();
    const unit = layout.unit === null ? '' : String(cells[layout.unit] ?? '').trim();
    const key = unit === '' ? name : `${name} [${unit}]`;
    const seen = this.#longSignals.get(key);
    if (seen !== undefined) {
      if (seen === null) this.#trouble(saying('where.unknown'), line, layout.signal, cells);
      return seen;
    }
    if (this.#longSignals.size >= MAX_TABLE_SIGNALS) {
      this.#trouble(saying('where.beyond', { most: MAX_TABLE_SIGNALS }), line, layout.signal, cells);
      return null;
    }
    const mapped = this.#options.map?.[name];
    const meaning = mapped === undefined ? headerMeaning(key) : this.#meanings([name])[0]!;
    let column: Column | null = null;
    if (meaning.is === 'signal') {
      column = this.#column(layout.value, name, meaning);
      if (meaning.remark) this.#warn(saying('warn.signal', { line, name, why: meaning.remark }));
    } else if (isSignalName(name) && !(meaning.is === 'unknown' && meaning.why.id === 'column.not-from')) {
      column = { at: layout.value, header: name, signal: name, convert: null, stated: true };
      this.#warn(saying('warn.kept', { line, name }));
    } else if (meaning.is === 'unknown')
      this.#warn(saying('warn.signal-not-used', { line, name: short(name), why: meaning.why }));
    if (column === null) this.#trouble(saying('where.unknown'), line, layout.signal, cells);
    this.#longSignals.set(key, column);
    return column;
  }

  #cell(column: Column, cells: readonly Cell[], at: number, tUs: number, line: number): void {
    const cell = cells[at] ?? null;
    let value: number | null;
    if (typeof cell === 'string') {
      const text = cell.trim();
      value = this.#numbers.read(text);
      if (value === null && isHole(text)) return;
      this.#countRead(column, text, value !== null, line, at);
    } else {
      if (cell === null || Number.isNaN(cell)) return;
      value = typeof cell === 'number' && Number.isFinite(cell) ? cell : null;
    }
    if (value !== null && column.convert) value = column.convert(value);
    if (value === null || !Number.isFinite(value)) {
      this.#trouble(saying('where.column', { header: this.#headers[at] ?? column.header }), line, at, cells);
      return;
    }
    if (this.#samples.length >= MAX_SAMPLES) {
      this.#full = true;
      return;
    }
    if (!column.stated) this.#assumed.add(column.signal);
    this.#samples.push(
      { signal: column.signal, tUs, value },
      this.#layout?.form === 'long' ? column.signal : '',
    );
  }

  #countRead(column: Column, text: string, isNumber: boolean, line: number, at: number): void {
    const read = this.#read.get(column.header) ?? { numbers: 0, others: 0, first: asIs('') };
    this.#read.set(column.header, read);
    if (isNumber) read.numbers++;
    else if (/\d/.test(text) && read.others++ === 0)
      read.first = saying('where.place', { line, column: at + 1, text: `"${short(text)}"` });
  }

  #trouble(where: Says, line: number, at: number, cells: readonly Cell[]): void {
    const key = JSON.stringify(where);
    const t = this.#troubles.get(key) ?? { where, count: 0, places: [] };
    this.#troubles.set(key, t);
    t.count++;
    if (t.places.length < 3) {
      const cell = cells[at];
      const text = cell === undefined || cell === null ? '""' : `"${short(String(cell))}"`;
      t.places.push(saying('where.place', { line, column: at + 1, text }));
    }
  }

  #warn(text: Says): void {
    if (this.#warnings.length < 100) this.#warnings.push(text);
  }

  /** @throws HandbackError input.format naming signals that are not in the unit of their name, and the likely unit */
  #checkUnits(table: SampleTable): void {
    for (const signal of this.#stated.keys())
      if (!table.names.includes(signal)) this.#warn(saying('warn.stated-for-nothing', { signal }));
    const check = checkUnits(
      table,
      this.#assumed,
      this.#options.timeUnit === undefined ? this.#times.plainUnit : null,
    );
    const refused = refusal(this.#path, check);
    if (refused) throw refused;
    const remark = unitRemark(check);
    if (remark) this.#warn(remark);
  }

  /** More cells than headers: with a decimal comma among commas each number is two cells. */
  #wide(cells: readonly Cell[], line: number): void {
    const extra = cells.slice(this.#headers.length);
    if (extra.every((c) => c === null || (typeof c === 'string' && c.trim() === ''))) return;
    if (this.#tooWide++ === 0)
      this.#firstTooWide = { line, cells: cells.length, headers: this.#headers.length };
  }

  #error(why: Says, hint: Says): HandbackError {
    return new HandbackError('input.format', saying('error.of-file', { path: this.#path, why }), { hint });
  }
}

const short = (text: string): string =>
  (text.length > 40 ? `${text.slice(0, 39)}…` : text).replace(/\s+/g, ' ');

function list(items: readonly string[]): string {
  if (items.length === 0) return 'none';
  const shown = items.slice(0, 30).join(', ');
  return items.length > 30 ? `${shown} and ${items.length - 30} more` : shown;
}

/** Times that rise by exactly one from row to row. */
function countsRows(table: SampleTable): boolean {
  let times = 1;
  for (let i = 1; i < table.length; i++) {
    const step = table.tUs(i) - table.tUs(i - 1);
    if (step === 0) continue;
    if (step !== 1e6) return false;
    times++;
  }
  return times >= FEWEST_COUNTED;
}

/** The first signal that drops to nothing and comes back to where it was too often for an engine; null when none does. */
function zerosForHoles(
  table: SampleTable,
  gauge: ReadonlySet<string>,
): { signal: string; n: number; of: number } | null {
  for (const signal of NEVER_ZERO) {
    if (gauge.has(signal)) continue;
    const { value } = table.series(signal);
    let [zeros, holes, before] = [0, 0, 0];
    let back = true;
    for (const v of value) {
      if (v === 0) {
        zeros++;
        back = false;
      } else {
        if (!back && before > FALLS_FROM && Math.abs(v - before) <= LIKE_BEFORE * before) holes++;
        before = v;
        back = true;
      }
    }
    if (holes >= FEWEST_ZERO_HOLES && zeros > ZERO_SHARE * value.length)
      return { signal, n: zeros, of: value.length };
  }
  return null;
}
