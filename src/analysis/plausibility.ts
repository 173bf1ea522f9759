/** The plausibility front: flags what the sensor or the link made up, drops nothing, and fixes the order. */
import { type Sample, type SignalDef, signalDef } from '../core/signals.ts';
import { comesBack, jumps, NEIGHBOURS_S } from './spikes.ts';
import type { CleanSample } from './types.ts';

type Flag = NonNullable<CleanSample['flag']>;

/** A step within one second is held against the rate as if it took one: quantised sensors move in jumps. Not known how chosen. */
const RATE_FLOOR_S = 1;
/**
 * A level reached by an impossible jump is believed after this long, or once the rate could have led there. Chosen
 * by hand, not measured.
 */
const NEW_LEVEL_S = 10;
const NEW_LEVEL_SAMPLES = 3;
/** After a hole longer than this nothing is known about how the value moved. Chosen by hand, not measured. */
const STILL_HOLE_S = 5;

/**
 * A signal that stays bit-identical while what drives it moves is stuck. All `moves` must have happened since
 * its value last changed, for at least `forS` seconds and `samples` readings. Thresholds lie well above what the
 * healthy open drives show (docs/analysis.md). Coolant is not here: a good thermostat holds it still.
 */
const STUCK_RULES: readonly {
  readonly signal: string;
  readonly forS: number;
  readonly samples: number;
  readonly moves: Readonly<Record<string, number>>;
}[] = [
  { signal: 'map_kpa', forS: 4, samples: 4, moves: { rpm: 500, pedal_d_pct: 25 } },
  { signal: 'map_kpa', forS: 4, samples: 4, moves: { rpm: 500, throttle_pct: 25, speed_kmh: 8 } },
  { signal: 'maf_gps', forS: 6, samples: 5, moves: { rpm: 500 } },
  { signal: 'rpm', forS: 8, samples: 6, moves: { speed_kmh: 20 } },
  { signal: 'speed_kmh', forS: 15, samples: 8, moves: { rpm: 1800 } },
];
/**
 * Read in steps as coarse as this an idling engine shows one value for minutes while the car coasts; from so fast on it
 * does not. Chosen on a healthy open drive (KIT) whose engine speed was rounded to 50 rpm.
 */
const COARSE_RPM = 10;
const IDLES_TO_RPM = 1200;

interface Track {
  readonly def: SignalDef;
  readonly range: readonly [number, number];
  /** Last believed value. */
  goodS: number;
  good: number;
  /** A level reached by a jump, waiting to be believed. */
  candidateFromS: number;
  candidateS: number;
  candidate: number;
  candidates: number;
  watches: Watch[];
  counts: Record<Flag, number>;
  /** The last reading, and the least change between two. */
  last: number;
  leastStep: number;
}

interface Watch {
  readonly signal: string;
  readonly forS: number;
  readonly samples: number;
  readonly low: number[];
  readonly high: number[];
  readonly span: readonly number[];
  value: number;
  sinceS: number;
  lastS: number;
  seen: number;
  stuck: boolean;
}

/**
 * Push raw samples in the order they arrive; comes back ordered by time, samples of one time by signal name, so
 * that a live run, its replay and a wide table of the same samples are the same stream. Holds samples back only
 * until a later time is seen; and all of them, for at most `NEIGHBOURS_S`, while one that jumped waits for the next of its
 * signal, which says whether it is flagged "spike". A sample older than its predecessor is flagged "time" and given the present time;
 * a second value of one signal at one time likewise. Never throws; memory is bounded by the number of signals.
 */
export class Plausibility {
  readonly #tracks = new Map<string, Track>();
  readonly #drives = new Map<string, { watch: Watch; k: number }[]>();
  #pending: { sample: Sample; late: boolean }[] = [];
  #nowUs = Number.NEGATIVE_INFINITY;
  /** In order, waiting behind the first, which jumped; empty where none did. */
  #held: Ordered[] = [];
  #looked = 0;
  #rpm: number | null = null;

  push(sample: Sample): CleanSample[] {
    if (!Number.isFinite(sample.tUs)) return [];
    const late = sample.tUs < this.#nowUs;
    const out = sample.tUs > this.#nowUs ? this.#release() : [];
    if (!late) this.#nowUs = sample.tUs;
    this.#pending.push({ sample, late });
    return out;
  }

  finish(): CleanSample[] {
    return [...this.#release(), ...this.#letGo(true)];
  }

  /** How many samples of a signal were flagged, by reason. */
  counts(signal: string): Readonly<Record<Flag, number>> {
    return this.#tracks.get(signal)?.counts ?? noCounts();
  }

  /** How many samples of a signal were flagged in all. */
  flagged(signal: string): number {
    return Object.values(this.counts(signal)).reduce((sum, n) => sum + n, 0);
  }

  #release(): CleanSample[] {
    const group = this.#pending;
    const only = group[0];
    if (only === undefined) return NONE;
    const tUs = this.#nowUs;
    if (group.length === 1) {
      group.length = 0;
      return this.#inTurn([{ ...only, tUs }]);
    }
    this.#pending = [];
    group.sort((a, b) =>
      a.sample.signal < b.sample.signal
        ? -1
        : a.sample.signal > b.sample.signal
          ? 1
          : Number(a.late) - Number(b.late),
    );
    return this.#inTurn(group.map(({ sample, late }) => ({ sample, late, tUs })));
  }

  #inTurn(group: readonly Ordered[]): CleanSample[] {
    const out: CleanSample[] = [];
    for (const next of group)
      if (this.#held.length > 0 || this.#jumps(next)) this.#held.push(next);
      else out.push(this.#judge(next, false));
    return this.#held.length > 0 ? [...out, ...this.#letGo(false)] : out;
  }

  /** Away from the last one believed, and possible by itself. */
  #jumps({ sample: { signal, value }, late, tUs }: Ordered): boolean {
    const track = this.#trackOf(signal);
    const dtS = tUs / 1e6 - track.goodS;
    return !late && dtS > 0 && jumps(signal, track.good, value, dtS);
  }

  /** As many of those held as the next one of the signal that jumped decides, or its staying away. */
  #letGo(all: boolean): CleanSample[] {
    const out: CleanSample[] = [];
    while (this.#held.length > 0) {
      const [first] = this.#held as [Ordered];
      let spike = false;
      if (this.#jumps(first)) {
        const { signal, value } = first.sample;
        let k = Math.max(1, this.#looked);
        while (k < this.#held.length && !isNext(this.#held[k]!, first)) k++;
        const next = this.#held[k];
        const waitedUs = (this.#held.at(-1)?.tUs ?? first.tUs) - first.tUs;
        if (!next && !all && waitedUs <= NEIGHBOURS_S * 1e6 && k < MOST_HELD_BACK) {
          this.#looked = k;
          return out;
        }
        const before = this.#trackOf(signal).good;
        spike =
          next !== undefined &&
          comesBack(signal, before, value, next.sample.value, (next.tUs - first.tUs) / 1e6);
      }
      this.#looked = 0;
      this.#held.shift();
      out.push(this.#judge(first, spike));
    }
    return out;
  }

  #judge({ sample, late, tUs }: Ordered, spike: boolean): CleanSample {
    const { signal, value } = sample;
    const track = this.#trackOf(signal);
    const tS = tUs / 1e6;
    const flag =
      late || track.goodS === tS || track.candidateS === tS ? 'time' : flagOf(track, tS, value, spike);
    const stuck = flag === null && this.#isStuck(track, tS, value);
    const final = stuck ? 'stuck' : flag;
    if (final) track.counts[final]++;
    else {
      if (signal === 'rpm') this.#rpm = value;
      this.#move(signal, value);
    }
    return { signal, tUs, value, flag: final };
  }

  /** Tells the watches that wait on this signal how far it has moved. */
  #move(signal: string, value: number): void {
    for (const { watch, k } of this.#drives.get(signal) ?? NO_DRIVES) {
      if (value < watch.low[k]!) watch.low[k] = value;
      if (value > watch.high[k]!) watch.high[k] = value;
    }
  }

  #isStuck(track: Track, tS: number, value: number): boolean {
    let stuck = false;
    if (value !== track.last && !Number.isNaN(track.last))
      track.leastStep = Math.min(track.leastStep, Math.abs(value - track.last));
    track.last = value;
    const { leastStep } = track;
    const coarse = leastStep >= COARSE_RPM && leastStep < Number.POSITIVE_INFINITY && value <= IDLES_TO_RPM;
    for (const w of track.watches) {
      // A standing engine or vehicle drives nothing, and its signals may rightly stand still.
      const idle =
        this.#rpm === 0 ||
        ((w.signal === 'speed_kmh' || w.signal === 'rpm') && value === 0) ||
        (w.signal === 'rpm' && coarse);
      if (value !== w.value || tS - w.lastS > STILL_HOLE_S || idle) {
        w.value = value;
        w.sinceS = tS;
        w.seen = 0;
        w.stuck = false;
        w.low.fill(Number.POSITIVE_INFINITY);
        w.high.fill(Number.NEGATIVE_INFINITY);
      }
      w.lastS = tS;
      w.seen++;
      if (!w.stuck && w.seen >= w.samples && tS - w.sinceS >= w.forS)
        w.stuck = w.span.every((span, k) => w.high[k]! - w.low[k]! >= span);
      stuck ||= w.stuck;
    }
    return stuck;
  }

  #trackOf(signal: string): Track {
    let track = this.#tracks.get(signal);
    if (!track) {
      const def = signalDef(signal);
      const watches = STUCK_RULES.filter((r) => r.signal === signal).map((r): Watch => {
        const drivers = Object.keys(r.moves);
        const watch: Watch = {
          signal,
          forS: r.forS,
          samples: r.samples,
          low: drivers.map(() => Number.POSITIVE_INFINITY),
          high: drivers.map(() => Number.NEGATIVE_INFINITY),
          span: Object.values(r.moves),
          value: Number.NaN,
          sinceS: 0,
          lastS: Number.NEGATIVE_INFINITY,
          seen: 0,
          stuck: false,
        };
        drivers.forEach((driver, k) => {
          const list = this.#drives.get(driver);
          if (list) list.push({ watch, k });
          else this.#drives.set(driver, [{ watch, k }]);
        });
        return watch;
      });
      track = {
        def,
        range: def.plausible,
        goodS: Number.NaN,
        good: Number.NaN,
        candidateFromS: Number.NaN,
        candidateS: Number.NaN,
        candidate: Number.NaN,
        candidates: 0,
        watches,
        counts: noCounts(),
        last: Number.NaN,
        leastStep: Number.POSITIVE_INFINITY,
      };
      this.#tracks.set(signal, track);
    }
    return track;
  }
}

/** Ten times what any link brings in that time. A bound, chosen by hand. */
const MOST_HELD_BACK = 10_000;

interface Ordered {
  readonly sample: Sample;
  readonly late: boolean;
  readonly tUs: number;
}

/** The next reading of the same signal, at a later time. */
const isNext = (next: Ordered, first: Ordered): boolean =>
  next.sample.signal === first.sample.signal && !next.late && next.tUs > first.tUs;

const NONE: CleanSample[] = [];
const NO_DRIVES: readonly { watch: Watch; k: number }[] = [];

function noCounts(): Record<Flag, number> {
  return { range: 0, rate: 0, 'end stop': 0, stuck: 0, time: 0, spike: 0 };
}

function flagOf(track: Track, tS: number, value: number, spike: boolean): Flag | null {
  if (track.def.endStops?.includes(value)) return 'end stop';
  // Written so that NaN is out of range.
  if (!(value >= track.range[0] && value <= track.range[1])) return 'range';
  if (spike) return 'spike';
  const rate = track.def.maxRatePerS;
  if (
    rate === undefined ||
    Number.isNaN(track.goodS) ||
    reaches(rate, tS - track.goodS, value - track.good)
  ) {
    track.goodS = tS;
    track.good = value;
    track.candidates = 0;
    return null;
  }
  const follows = track.candidates > 0 && reaches(rate, tS - track.candidateS, value - track.candidate);
  track.candidates = follows ? track.candidates + 1 : 1;
  if (!follows) track.candidateFromS = tS;
  track.candidateS = tS;
  track.candidate = value;
  if (track.candidates >= NEW_LEVEL_SAMPLES && tS - track.candidateFromS >= NEW_LEVEL_S) {
    track.goodS = tS;
    track.good = value;
    track.candidates = 0;
    return null;
  }
  return 'rate';
}

function reaches(ratePerS: number, dtS: number, step: number): boolean {
  return Math.abs(step) <= ratePerS * Math.max(dtS, RATE_FLOOR_S);
}
