/**
 * Whether signals that move together do so at one time: a table that carries old values on, or a logger that asks for one signal
 * too seldom, gives it late, and boost judged by it is another moment's.
 */
import type { Profile } from '../../core/profile.ts';
import { hundredth } from '../../core/rounded.ts';
import { BLANK } from '../blank.ts';
import { say } from '../says.ts';
import { Z_BOTH } from '../spread.ts';
import type { CleanSample, Finding } from '../types.ts';
import { demandSignals } from './points.ts';

/** Signals are compared on steps of this, by their changes over a second, a block of half a minute at a time. Chosen by hand, not measured. */
const STEP_US = 250_000;
const OVER = 4;
const BLOCK = 120;
/** A change is told across gaps up to this. Chosen by hand, not measured. */
const ACROSS_US = 2_500_000;
/** Shifts that are tried, either way, steps. Chosen by hand, not measured. */
const FURTHEST = 24;
/** Blocks go in turn into so many parts, each of which is left out once (jackknife); fewer tell no interval. Chosen by hand, not measured. */
const JACK_PARTS = 32;
const LEAST_PARTS = 6;
/** Late: by more than this with the whole interval, s. Half a second late accused none of the open drives; a second did (docs/analysis.md). */
const LATE_S = 0.5;
/** At its best shift a pair agrees so well (correlation), and by so much better than where it should. Chosen by hand, not measured. */
const AGREES = 0.25;
const BETTER = 0.05;

type Role = 'demand' | 'map_kpa' | 'maf_gps' | 'rpm' | 'speed' | 'throttle_pct';

interface Pair {
  readonly first: Role;
  readonly second: Role;
  /** The second follows the first by this, give or take, s. */
  readonly followsS: number;
  readonly withinS: number;
  /** The second is held by how fast it changes. */
  readonly rate?: true;
  /** Tells of the first alone: with few gear changes engine speed follows what goes in. */
  readonly ofFirst?: true;
}
/** How signals follow each other on 45 open diesel trips and on simulated cars (docs/analysis.md). */
const PAIRS: readonly Pair[] = [
  { first: 'map_kpa', second: 'maf_gps', followsS: 0, withinS: 0.25 },
  { first: 'rpm', second: 'maf_gps', followsS: -0.1, withinS: 0.25, ofFirst: true },
  { first: 'throttle_pct', second: 'map_kpa', followsS: 0.1, withinS: 0.25 },
  { first: 'demand', second: 'map_kpa', followsS: 0.4, withinS: 0.4 },
  { first: 'demand', second: 'maf_gps', followsS: 0.5, withinS: 0.35 },
  { first: 'demand', second: 'speed', followsS: 0.2, withinS: 0.25, rate: true },
  { first: 'rpm', second: 'speed', followsS: 0.2, withinS: 0.45 },
];
/** Of vehicle speed boost asks nothing but the gear, of a throttle nothing: they only tell of the others. */
const JUDGED: readonly Role[] = ['map_kpa', 'maf_gps', 'demand', 'rpm'];

/** The one of these without which boost is judged as well. */
export const AIR_MASS = 'maf_gps';

/** How late a signal comes, against the one that tells it surest. */
export interface LateSignal {
  readonly signal: string;
  readonly against: string;
  readonly s: number;
  readonly interval: readonly [number, number];
  /** Correlation of their changes at that shift, and as they should lie. */
  readonly agrees: number;
  readonly asIs: number;
}

/** One signal on the grid of the block. */
class OnGrid {
  readonly at = new Float64Array(BLOCK).fill(Number.NaN);
  #lastUs = Number.NEGATIVE_INFINITY;
  #last = Number.NaN;

  /** Between two readings a signal is taken to go straight. */
  push(tUs: number, value: number, fromUs: number): void {
    const dUs = tUs - this.#lastUs;
    if (dUs > 0 && dUs <= ACROSS_US) {
      const first = Math.max(0, Math.floor((this.#lastUs - fromUs) / STEP_US) + 1);
      for (let i = first; i < BLOCK && fromUs + i * STEP_US <= tUs; i++)
        this.at[i] = this.#last + ((value - this.#last) * (fromUs + i * STEP_US - this.#lastUs)) / dUs;
    }
    this.#lastUs = tUs;
    this.#last = value;
  }
}

/** Sums of products at each shift. */
class Sums {
  readonly xy = new Float64Array(2 * FURTHEST + 1);
  readonly xx = new Float64Array(2 * FURTHEST + 1);
  readonly yy = new Float64Array(2 * FURTHEST + 1);

  add(o: Sums, times = 1): void {
    for (let k = 0; k < this.xy.length; k++) {
      this.xy[k]! += times * o.xy[k]!;
      this.xx[k]! += times * o.xx[k]!;
      this.yy[k]! += times * o.yy[k]!;
    }
  }

  /** `y` late by each shift against `x`; what is not known there is NaN. */
  pair(x: Float64Array, y: Float64Array): void {
    for (let i = 0; i < BLOCK; i++) {
      const u = x[i]!;
      if (Number.isNaN(u)) continue;
      const from = Math.max(0, i - FURTHEST);
      const to = Math.min(BLOCK - 1, i + FURTHEST);
      for (let j = from; j <= to; j++) {
        const v = y[j]!;
        if (Number.isNaN(v)) continue;
        const k = j - i + FURTHEST;
        this.xy[k]! += u * v;
        this.xx[k]! += u * u;
        this.yy[k]! += v * v;
      }
    }
  }

  correlation(k: number): number {
    const scale = Math.sqrt(this.xx[k]! * this.yy[k]!);
    return scale > 0 ? this.xy[k]! / scale : 0;
  }

  /** Where the two agree best, s: the top of a parabola through the best shift and its neighbours. */
  get best(): { readonly s: number; readonly agrees: number } {
    let k = 0;
    for (let o = 1; o < this.xy.length; o++) if (this.correlation(o) > this.correlation(k)) k = o;
    const [a, b, c] = [this.correlation(k - 1), this.correlation(k), this.correlation(k + 1)];
    const inside = k > 0 && k < this.xy.length - 1 && 2 * b > a + c;
    const top = inside ? (0.5 * (a - c)) / (a - 2 * b + c) : 0;
    return { s: ((k + top - FURTHEST) * STEP_US) / 1e6, agrees: b };
  }
}

const changes = (x: Float64Array): Float64Array =>
  x.map((_, i) => (i >= OVER / 2 && i + OVER / 2 < BLOCK ? x[i + OVER / 2]! - x[i - OVER / 2]! : Number.NaN));

export class TimingWatch {
  readonly #roles = new Map<string, Role>([
    ...(['map_kpa', 'maf_gps', 'rpm'] as const).map((s) => [s, s] as const),
    ['speed_kmh', 'speed'],
  ]);
  readonly #demand: readonly string[];
  /** The signal that stands for demand. */
  #demandName: string | null = null;
  #grids = new Map<Role, OnGrid>();
  #fromUs: number | null = null;
  #blocks = 0;
  readonly #parts: Sums[][] = PAIRS.map(() => []);
  #late: LateSignal | null = null;
  #firstS = 0;
  #lastS = 0;

  constructor(profile: Profile) {
    this.#demand = demandSignals(profile);
    // What a diesel calls so is a flap.
    if (profile.fuel === 'petrol') this.#roles.set('throttle_pct', 'throttle_pct');
  }

  /** True when what is known of it changed. */
  step(s: CleanSample): boolean {
    if (s.flag !== null) return false;
    const roles = [this.#roles.get(s.signal) ?? null, this.#demandOf(s.signal)].filter((r) => r !== null);
    if (roles.length === 0) return false;
    this.#fromUs ??= s.tUs;
    let changed = false;
    if (s.tUs - this.#fromUs > BLOCK * STEP_US + ACROSS_US) {
      changed = this.#close();
      this.#fromUs = s.tUs;
      this.#grids.clear();
    }
    for (const role of roles) this.#grid(role).push(s.tUs, s.value, this.#fromUs);
    return changed;
  }

  #grid(role: Role): OnGrid {
    const grid = this.#grids.get(role) ?? new OnGrid();
    this.#grids.set(role, grid);
    return grid;
  }

  /** The signal that comes late; null while none is known to. */
  get late(): LateSignal | null {
    return this.#late;
  }

  /** None where nothing comes late. */
  findings(): Finding[] {
    const late = this.#late;
    if (late === null) return [];
    const { signal, against, s, interval, agrees, asIs } = late;
    const [lowS, highS] = interval;
    const over = { fromS: this.#firstS, toS: this.#lastS };
    const found: Finding = {
      ...{ id: 'sensor.late', system: 'sensor', verdict: 'fault shown', ...BLANK, ...over },
      pointsTo: say('sensor.late.points'),
      measured: {
        value: hundredth(s),
        unit: 's',
        interval: [hundredth(lowS), hundredth(highS)],
      },
      limit: { value: LATE_S, unit: 's', source: say('sensor.source.late') },
      evidence: [
        { ...over, text: say('sensor.late.seen', { signal, against, lateS: s, lowS, highS, agrees, asIs }) },
        ...(signal === AIR_MASS ? [{ ...over, text: say('sensor.late.without', { signal }) }] : []),
      ],
      rule: say('sensor.late.rule', { lateS: LATE_S, agrees: AGREES, better: BETTER }),
      signals: [signal, against].sort(),
    };
    return [found];
  }

  /** The best of those that came. */
  #demandOf(signal: string): Role | null {
    const rank = this.#demand.indexOf(signal);
    if (rank < 0) return null;
    const now = this.#demandName === null ? this.#demand.length : this.#demand.indexOf(this.#demandName);
    if (rank > now) return null;
    if (rank < now) {
      this.#demandName = signal;
      this.#grids.delete('demand');
      // What was compared with the other is no evidence of this one.
      PAIRS.forEach((p, i) => {
        if (p.first === 'demand' || p.second === 'demand') this.#parts[i]!.length = 0;
      });
    }
    return 'demand';
  }

  #close(): boolean {
    const fromS = this.#fromUs! / 1e6;
    const moved = new Map<Role, Float64Array>();
    for (const [role, grid] of this.#grids) moved.set(role, changes(grid.at));
    const rate = moved.get('speed');
    const speedUp = rate && changes(rate);
    const part = this.#blocks % JACK_PARTS;
    let told = false;
    PAIRS.forEach((p, i) => {
      const x = moved.get(p.first);
      const y = p.rate ? speedUp : moved.get(p.second);
      if (x === undefined || y === undefined) return;
      const parts = this.#parts[i]!;
      while (parts.length <= part) parts.push(new Sums());
      parts[part]!.pair(x, y);
      told = true;
    });
    if (!told) return false;
    if (this.#blocks === 0) this.#firstS = fromS;
    this.#lastS = fromS + (BLOCK * STEP_US) / 1e6;
    this.#blocks++;
    const before = this.#late;
    this.#late = this.#latest();
    return this.#late?.signal !== before?.signal;
  }

  /** Where the air mass is late the others are held against each other: boost is judged without it. */
  #latest(): LateSignal | null {
    const pairs = PAIRS.map((p, i) => ({ ...p, ...shiftOf(p, this.#parts[i]!) }));
    const late = this.#latestBy(pairs);
    if (late?.signal !== AIR_MASS) return late;
    return this.#latestBy(pairs.filter((p) => p.second !== AIR_MASS)) ?? late;
  }

  /** A signal is late where all that it moves with say so, and alike. */
  #latestBy(pairs: readonly (Pair & ReturnType<typeof shiftOf>)[]): LateSignal | null {
    let latest: LateSignal | null = null;
    for (const role of JUDGED) {
      const own = pairs.flatMap((p) => {
        const told = p.first === role || (p.second === role && p.ofFirst !== true);
        if (p.told === null || !told) return [];
        const sign = p.second === role ? 1 : -1;
        return [{ ...p.told, s: sign * p.told.s, other: p.second === role ? p.first : p.second }];
      });
      if (own.length === 0) continue;
      const surest = own.reduce((a, b) => (b.half < a.half ? b : a));
      const alike = (o: typeof surest): boolean =>
        o.s > LATE_S && Math.abs(o.s - surest.s) <= Math.hypot(o.half, surest.half);
      if (!own.every(alike)) continue;
      if (surest.s - surest.half <= LATE_S || surest.agrees - surest.asIs < BETTER) continue;
      const { s, half, agrees, asIs } = surest;
      if (latest !== null && latest.s >= s) continue;
      latest = {
        ...{ signal: this.#nameOf(role), against: this.#nameOf(surest.other) },
        ...{ s, interval: [s - half, s + half], agrees, asIs },
      };
    }
    return latest;
  }

  #nameOf(role: Role): string {
    if (role === 'demand') return this.#demandName!;
    return role === 'speed' ? 'speed_kmh' : role;
  }
}

/** By how much the second comes later than it should, with half its interval; null where the two do not tell. */
function shiftOf(
  { followsS, withinS }: Pair,
  parts: readonly Sums[],
): { told: { s: number; half: number; agrees: number; asIs: number } | null } {
  const moving = parts.filter((p) => p.xx[FURTHEST]! > 0 && p.yy[FURTHEST]! > 0);
  if (moving.length < LEAST_PARTS) return { told: null };
  const all = new Sums();
  for (const p of parts) all.add(p);
  const { s, agrees } = all.best;
  if (agrees < AGREES) return { told: null };
  const asIs = all.correlation(FURTHEST + Math.round((followsS * 1e6) / STEP_US));
  // Where it lies as it should nobody asks how surely.
  if (Math.abs(s - followsS) <= LATE_S) return { told: { s: s - followsS, half: withinS, agrees, asIs } };
  const without = moving.map((p) => {
    const rest = new Sums();
    rest.add(all);
    rest.add(p, -1);
    return rest.best.s;
  });
  const n = without.length;
  const mean = without.reduce((a, b) => a + b, 0) / n;
  // M. H. Quenouille (1956), J. W. Tukey (1958): each part left out once.
  const se = Math.sqrt(((n - 1) / n) * without.reduce((a, b) => a + (b - mean) ** 2, 0));
  return { told: { s: s - followsS, half: Math.hypot(Z_BOTH * se, withinS), agrees, asIs } };
}
