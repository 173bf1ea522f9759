/** What the strips draw: one run's samples, gaps, marks and trail, live or read back. No verdicts are made here. */
import type { ExpectedBand, MarkView, RunTrail, SeriesView } from '../src/desk/api.ts';
import { Columns } from './columns.ts';

/** A hole in the link shorter than this is not worth a hatch. */
const HATCHED_S = 2;
/** Why of a hole that the page found itself; the daemon's own name the cause. */
export const NO_DATA = 'no data';
const BIN_S = 0.5;
const MAX_BINS = 4 * 3600 * 8; // 16 hours
const MAX_TRAIL = 2000;

export interface Gap {
  readonly fromS: number;
  readonly toS: number;
  readonly why: string;
}

const PRESSURE = ['map_kpa', 'boost_act_kpa'];

export class Tape {
  readonly columns = new Map<string, Columns>();
  runId: string | null = null;
  live = false;
  /** Rises with every change, so that the strips know when to draw. */
  version = 0;
  lastS = 0;
  /** How long the run is, once it has ended; null before that is known. */
  lengthS: number | null = null;
  /**
   * When the newest sample came, by the page's own clock (ms); 0 before the first. One that lay on the line for longer
   * than the quickest of the run counts as come when it was due: it is no newer than that.
   */
  arrivedMs = 0;
  #quickestMs = Number.POSITIVE_INFINITY;
  marks: MarkView[] = [];
  engagements: RunTrail['engagements'][number][] = [];
  expected: ExpectedBand[] = [];
  /** Top of all expected bands: a missed engagement is only seen as missed when its band is on the strip. */
  expectedTopKpa = 0;
  corridor: RunTrail['corridor'][number][] = [];
  limitC: number | null = null;
  /** Barometric pressure as the judge knew it, each until the next; what gauge pressures stand on. */
  readonly baro = new Columns();
  /** The signal that stands for the driver's demand, as the judge takes it. */
  demand: string | null = null;
  /** Where the daemon has its points. */
  path = '/api/run';
  /** Before this the columns hold thinned points, `thinStepS` apart; 0 where all are there. */
  thinUntilS = 0;
  #thinStepS = 0;
  #fine: { readonly fromS: number; readonly toS: number; readonly columns: Map<string, Columns> } | null =
    null;
  #known: Gap[] | null = null;
  #bins = new Uint8Array(7200);

  add(samples: SeriesView, nowMs: number): void {
    for (const [name, { t, v }] of Object.entries(samples)) {
      let column = this.columns.get(name);
      if (!column) {
        if (this.columns.size >= 64) continue;
        column = new Columns();
        this.columns.set(name, column);
      }
      for (let i = 0; i < t.length; i++) {
        const at = t[i]!;
        column.push(at, v[i] ?? null);
        this.#cover(at);
        if (at > this.lastS) this.lastS = at;
      }
    }
    this.#quickestMs = Math.min(this.#quickestMs, nowMs - 1000 * this.lastS);
    this.arrivedMs = this.#quickestMs + 1000 * this.lastS;
    this.version++;
  }

  /** The points of a run as a whole, `most` of each signal: where one has so many, they were thinned. */
  addWhole(samples: SeriesView, most: number, nowMs: number): void {
    this.add(samples, nowMs);
    const longest = Math.max(0, ...Object.values(samples).map(({ t }) => t.length));
    if (longest < most * 0.9) return;
    this.thinUntilS = this.lastS;
    this.#thinStepS = (2 * this.lastS) / most;
  }

  /** Finer points of some seconds, in place of those fetched before. */
  addFine(samples: SeriesView, fromS: number, toS: number): void {
    const columns = new Map<string, Columns>();
    for (const [name, { t, v }] of Object.entries(samples)) {
      const column = new Columns();
      for (let i = 0; i < t.length; i++) {
        column.push(t[i]!, v[i] ?? null);
        this.#cover(t[i]!);
      }
      columns.set(name, column);
    }
    this.#fine = { fromS, toS: Math.min(toS, this.lastS), columns };
    this.version++;
  }

  /** Whether finer points of these seconds are there, fetched for no more than so many seconds. */
  isFine(fromS: number, toS: number, atMostS = Number.POSITIVE_INFINITY): boolean {
    const fine = this.#fine;
    return fine !== null && fine.fromS <= fromS && fine.toS >= toS && fine.toS - fine.fromS <= atMostS;
  }

  /** The finest points of a signal that cover these seconds. */
  column(name: string, fromS: number, toS = fromS): Columns | undefined {
    const fine = this.isFine(Math.max(0, fromS), Math.min(toS, this.lastS));
    return (fine && this.#fine!.columns.get(name)) || this.columns.get(name);
  }

  /** Merges by start time: what is known already is replaced by the newer version of it. */
  addTrail(news: RunTrail): void {
    for (const e of news.engagements) upsert(this.engagements, e, (x) => x.fromS);
    for (const b of news.expected) {
      upsert(this.expected, b, (x) => x.t[0] ?? 0);
      for (const kpa of b.highKpa) this.expectedTopKpa = Math.max(this.expectedTopKpa, kpa);
    }
    for (const c of news.corridor) upsert(this.corridor, c, (x) => x.fromS);
    for (const b of news.baro)
      if (b.fromS > (this.baro.t[this.baro.length - 1] ?? -1)) this.baro.push(b.fromS, b.kpa);
    this.demand = news.demand ?? this.demand;
    this.version++;
  }

  setMarks(marks: readonly MarkView[]): void {
    this.marks = [...marks];
    this.version++;
  }

  /** For a run that is read back, where the link's own record says what was missing. */
  setGaps(gaps: readonly Gap[]): void {
    this.#known = [...gaps];
    this.version++;
  }

  /** The run's time now: runs on while nothing comes, so that silence is seen as it grows. */
  nowS(nowMs: number): number {
    if (!this.live || this.arrivedMs === 0) return this.lastS;
    return this.lastS + Math.max(0, nowMs - this.arrivedMs) / 1000;
  }

  pressure(): string | null {
    return PRESSURE.find((name) => this.columns.has(name)) ?? null;
  }

  /** Gauge pressure can be drawn: barometric pressure is known. */
  get hasGauge(): boolean {
    return this.baro.length > 0;
  }

  /** Gauge pressure at a time, where both pressures are known. */
  boostAt(tS: number): { t: number; v: number } | null {
    const name = this.pressure();
    const map = name === null ? null : this.column(name, tS)?.at(tS);
    if (!map || !this.hasGauge) return null;
    return { t: map.t, v: map.v - (this.baro.at(tS)?.v ?? this.baro.v[0]!) };
  }

  /** Expected boost at a time, kPa; null outside pulls. */
  expectedAt(tS: number): readonly [number, number] | null {
    for (const { t, lowKpa, highKpa } of this.expected) {
      const i = t.findLastIndex((at) => at <= tS);
      if (i >= 0 && tS <= t.at(-1)!) return [lowKpa[i]!, highKpa[i]!];
    }
    return null;
  }

  gapsIn(fromS: number, toS: number, nowS: number): Gap[] {
    if (this.#known) return this.#known.filter((g) => g.toS >= fromS && g.fromS <= toS);
    const gaps: Gap[] = [];
    // Between thinned points two of their steps may lie without anything having been silent.
    const thinned =
      fromS < this.thinUntilS && !this.isFine(Math.max(0, fromS), Math.min(toS, this.thinUntilS));
    const leastS = thinned ? Math.max(HATCHED_S, 2 * this.#thinStepS) : HATCHED_S;
    const first = Math.max(0, Math.floor(fromS / BIN_S) - HATCHED_S / BIN_S);
    const last = Math.min(this.#bins.length, Math.floor(Math.min(toS, nowS) / BIN_S));
    let start: number | null = null;
    for (let k = first; k <= last; k++) {
      if (k < last && this.#bins[k] === 0) start ??= k;
      else if (start !== null) {
        if ((k - start) * BIN_S >= leastS) gaps.push({ fromS: start * BIN_S, toS: k * BIN_S, why: NO_DATA });
        start = null;
      }
    }
    return gaps;
  }

  #cover(tS: number): void {
    const k = Math.floor(tS / BIN_S);
    if (k < 0 || k >= MAX_BINS) return;
    if (k >= this.#bins.length) {
      const bins = new Uint8Array(Math.min(MAX_BINS, Math.max(k + 1, this.#bins.length * 2)));
      bins.set(this.#bins);
      this.#bins = bins;
    }
    this.#bins[k] = 1;
  }
}

function upsert<T>(list: T[], item: T, keyOf: (item: T) => number): void {
  const key = keyOf(item);
  let i = list.length;
  while (i > 0 && keyOf(list[i - 1]!) > key) i--;
  if (i > 0 && keyOf(list[i - 1]!) === key) list[i - 1] = item;
  else list.splice(i, 0, item);
  if (list.length > MAX_TRAIL) list.shift();
}
