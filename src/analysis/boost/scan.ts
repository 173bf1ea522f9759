/**
 * Seeks a shortfall over windows of engine speed × demand, so that a loss at 3,000 rpm is not averaged away by sound
 * pulls at 2,100. A pull is one witness for each window that it passes through: its samples are not independent.
 */
import { errorFunction } from 'simple-statistics';
import { Z_FAULT, Z95 } from '../spread.ts';
import { isShortOfAir, type PullAir } from './air.ts';
import { LONE_POWER, SCATTER_PULLS } from './noise.ts';
import { chargeAlike } from './warmth.ts';

/** Edges of the smallest windows. Demand is the lagged one, 0 to 100. Chosen by hand, not measured. */
const RPM_EDGES = [
  ...[1000, 1250, 1500, 1750, 2000, 2250, 2500, 2750, 3000, 3500, 4000, 4500, 5000, 5500, 6000, 9999],
] as const;
const DEMAND_EDGES = [45, 60, 70, 80, 90, 999] as const;
export const FULL_DEMAND_PCT = 100;
/** More than there are edges, so that four of them make one number. By definition. */
const KEY_BASE = 32;
const RPMS = RPM_EDGES.length - 1;
const DEMAND_STEPS = DEMAND_EDGES.length - 1;

/**
 * One sample alone may be off by this, as a share of the boost: speed, demand and pressure are read at different
 * times. Chosen by hand, not measured.
 */
const LONE_SD = 0.05;
/** Samples that must carry a fault, and a pull that carries one by itself lasts. Chosen by hand, not measured. */
export const LEAST_SAMPLES = 4;
export const LONE_PULL_S = 1.2;
/** Or so many that last as long, each of them short, where the pull's air mass rules out by itself that all boost was there: two sensors. Chosen by hand (docs/analysis.md). */
export const BORNE_OUT_SAMPLES = 3;
/**
 * Pulls of a sample each count from this many on, if by their weights they make so many as the second (Kish's effective number,
 * from memory): where the others' pressure was still to come, one pull is one pull. Chosen by hand, not measured.
 */
export const LONE_PULLS = 3;
const LONE_PULLS_LEFT = 1.5;
/** Or if so many of them are short by more than the limit with their whole interval: what was still to come is in it. By definition of more than one. */
const ALONE_PULLS = 2;
/**
 * Up to this engine speed a turbocharger is still on its way up (KIT: t90 3.3 s at 1,000 to 1,250 rpm), so what one pull
 * misses there may be to come: two that last must miss it. Seen on a healthy drive cut short, 27 % at 1,300 rpm in the highest gear.
 */
export const SPOOLING_TO_RPM = 1500;
export const SPOOLING_PULLS = 2;
/**
 * At least this share of the samples must be short by more than the limit on its own: a spike is not. Chosen by
 * hand, not measured.
 */
const SHORT_SHARE = 0.5;

/** Samples of a pull that scatter by more than so many of their standard deviations contradict each other. Chosen by hand (docs/analysis.md). */
const SPOILT_SD = 4;

/** What is summed over the samples of a pull in one smallest window: weighed by `w`, but for those at the end. */
export const SUMMED = [
  'w',
  'deviation',
  'square',
  // Variances of pull, sample and run.
  'pull',
  'point',
  'run',
  // Of `run`, for air warmer or colder than what taught, and how far below any healthy car may lie for that.
  'warm',
  'warmBelow',
  // Of `warm`, for temperatures that were not read, and what hangs on the charge (`OnDay`).
  'warmUnread',
  'warmCharge',
  'warmColder',
  'limit',
  // One over the expected, 1/kPa: so weighed, deviation times expected is the mean of what is lacking in kPa.
  'perKpa',
  // Samples, and moments that are not repeats of each other.
  'n',
  'moments',
  // Samples short by more than the limit, and above by more; those at which the pedal itself, seen not through the lag, was in the cell.
  'short',
  'over',
  'there',
] as const;
type Summed = (typeof SUMMED)[number];

/** What one pull says about one smallest window. */
export interface Patch extends Record<Summed, number> {
  readonly at: number;
  fromUs: number;
  toUs: number;
}

/** Places of the sums in a row. */
const AT = Object.fromEntries(SUMMED.map((k, i) => [k, i])) as Readonly<Record<Summed, number>>;
const WIDTH = SUMMED.length;

export interface Window {
  readonly fromRpm: number;
  readonly toRpm: number;
  readonly fromDemandPct: number;
  readonly toDemandPct: number;
}

/** Mean relative deviation over a window with its standard error. */
export interface Estimate extends Window {
  readonly deviation: number;
  readonly se: number;
  readonly limit: number;
  readonly expectedKpa: number;
  readonly pulls: number;
  readonly samples: number;
  /** Of these, those at which the pedal itself was there. */
  readonly there: number;
  /** Pulls and samples enough, and most of them short on their own, for the shortfall to be believed. */
  readonly carried: boolean;
  /** Most of its samples are above the expected by more than the limit on their own. */
  readonly mostOver: boolean;
  /** Parts of the variance: what more pulls shrink, and what they do not. */
  readonly pullVariance: number;
  readonly runVariance: number;
  /** Of the latter, for air warmer or colder than what taught, and how far below any healthy car may lie for that. */
  readonly warmVariance: number;
  readonly warmBelow: number;
  /** Of the variance, for temperatures that were not read. */
  readonly warmUnread: number;
  /** Smallest windows that were driven: among so many it is sought. */
  readonly looks: number;
}

/** Index of the smallest window; −1 below the lowest demand. */
export function patchAt(rpm: number, demandPct: number): number {
  let d = DEMAND_STEPS - 1;
  while (d >= 0 && demandPct < DEMAND_EDGES[d]!) d--;
  if (d < 0) return -1;
  let r = RPMS - 1;
  while (r > 0 && rpm < RPM_EDGES[r]!) r--;
  return r * DEMAND_STEPS + d;
}

/** @param at index of a smallest window */
export function inWindow(at: number, w: Window): boolean {
  const r = Math.floor(at / DEMAND_STEPS);
  const d = at % DEMAND_STEPS;
  const toDemandPct = Math.min(FULL_DEMAND_PCT, DEMAND_EDGES[d + 1]!);
  return (
    w.fromRpm <= RPM_EDGES[r]! &&
    RPM_EDGES[r + 1]! <= w.toRpm &&
    w.fromDemandPct <= DEMAND_EDGES[d]! &&
    toDemandPct <= w.toDemandPct
  );
}

/** Mean relative deviation of a pull where it passed these engine speeds; null where it did not. */
export function deviationIn(patches: readonly Patch[], [from, to]: readonly [number, number]): number | null {
  const there = patches.filter((p) => {
    const r = Math.floor(p.at / DEMAND_STEPS);
    return RPM_EDGES[r]! <= to && RPM_EDGES[r + 1]! > from;
  });
  const w = there.reduce((a, p) => a + p.w, 0);
  return w === 0 ? null : there.reduce((a, p) => a + p.deviation, 0) / w;
}

interface Span {
  readonly r0: number;
  readonly r1: number;
  readonly d0: number;
  readonly d1: number;
}
const SPANS: readonly Span[] = spans();
const SPAN_AT = new Map(SPANS.map((s, i) => [keyOf(s.r0, s.r1, s.d0, s.d1), i]));

function spans(): Span[] {
  const out: Span[] = [];
  for (let r0 = 0; r0 < RPMS; r0++)
    for (let r1 = r0 + 1; r1 <= RPMS; r1++)
      for (let d0 = 0; d0 < DEMAND_STEPS; d0++)
        for (let d1 = d0 + 1; d1 <= DEMAND_STEPS; d1++) out.push({ r0, r1, d0, d1 });
  return out;
}

function keyOf(r0: number, r1: number, d0: number, d1: number): number {
  return ((r0 * KEY_BASE + r1) * KEY_BASE + d0) * KEY_BASE + d1;
}

/** Behind the sums, of which each pull counts for its mean: weights, their squares, squared deviations, pulls, those that carry a fault. By definition. */
const K = WIDTH;
const KK = WIDTH + 1;
const KDD = WIDTH + 2;
const NPULLS = WIDTH + 3;
const NSTRONG = WIDTH + 4;
const NALONE = WIDTH + 5;
const COLUMNS = WIDTH + 6;

/** What one pull adds to the sums of a window in which it left these patches; null where it left none. */
function partOf(patches: readonly Patch[], air: PullAir | null): Float64Array | null {
  if (patches.length === 0) return null;
  const sum = (key: Summed, of = patches): number => of.reduce((a, p) => a + p[key], 0);
  const [n, w] = [sum('n'), sum('w')];
  const mean = sum('deviation') / w;
  const own = sum('square') / w - mean * mean;
  const variance = pullVariance(sum('pull') / w, sum('point') / w, sum('moments'), own);
  const k = 1 / variance;
  const part = new Float64Array(COLUMNS);
  SUMMED.forEach((key, c) => {
    part[c] = (k * sum(key)) / w;
  });
  part[AT.n] = n;
  part[AT.there] = sum('there');
  part[AT.short] = (k * sum('short')) / n;
  part[AT.over] = (k * sum('over')) / n;
  part[K] = k;
  part[KK] = k * k;
  part[KDD] = k * mean * mean;
  part[NPULLS] = 1;
  part[NALONE] = mean + Z95 * Math.sqrt(variance + sum('run') / w) < -sum('limit') / w ? 1 : 0;
  const borneOut = air !== null && n >= Math.max(BORNE_OUT_SAMPLES, air.n) && sum('short') === n;
  const enough = n >= LEAST_SAMPLES || (borneOut && air.n >= BORNE_OUT_SAMPLES && isShortOfAir(air, mean));
  const s = (Math.max(...patches.map((p) => p.toUs)) - Math.min(...patches.map((p) => p.fromUs))) / 1e6;
  if (!enough || s < LONE_PULL_S) return part;
  const spooling = patches.filter((p) => RPM_EDGES[Math.floor(p.at / DEMAND_STEPS) + 1]! <= SPOOLING_TO_RPM);
  part[NSTRONG] = sum('n', spooling) > n / 2 ? 1 / SPOOLING_PULLS : 1;
  return part;
}

export class ShortfallScan {
  readonly #sums = new Float64Array(SPANS.length * COLUMNS);
  readonly #driven = new Set<number>();
  #strongest: Estimate | null | undefined = null;
  #alike = chargeAlike(1);

  /** By what share of what any car's does the warmth of the charge has moved (`chargeMoved`). */
  set moved(share: number) {
    this.#alike = chargeAlike(share);
    this.#strongest = undefined;
  }

  /** One pull, with what its air says where own drives taught it. */
  add(patches: readonly Patch[], air: PullAir | null = null): void {
    if (patches.length === 0) return;
    this.#strongest = undefined;
    for (const { at } of patches) this.#driven.add(at);
    const rows = patches.map(({ at }) => Math.floor(at / DEMAND_STEPS));
    const columns = patches.map(({ at }) => at % DEMAND_STEPS);
    const [lowR, highR] = [Math.min(...rows), Math.max(...rows) + 1];
    const [lowD, highD] = [Math.min(...columns), Math.max(...columns) + 1];
    // Most windows differ only where the pull did not go.
    const parts = new Map<number, Float64Array | null>();
    for (let i = 0; i < SPANS.length; i++) {
      const s = SPANS[i]!;
      if (s.r0 >= highR || s.r1 <= lowR || s.d0 >= highD || s.d1 <= lowD) continue;
      const r0 = Math.max(s.r0, lowR);
      const r1 = Math.min(s.r1, highR);
      const d0 = Math.max(s.d0, lowD);
      const d1 = Math.min(s.d1, highD);
      const key = keyOf(r0, r1, d0, d1);
      let part = parts.get(key);
      if (part === undefined) {
        const inside = (_: Patch, k: number): boolean =>
          rows[k]! >= r0 && rows[k]! < r1 && columns[k]! >= d0 && columns[k]! < d1;
        part = partOf(patches.filter(inside), air);
        parts.set(key, part);
      }
      if (part === null) continue;
      const at = i * COLUMNS;
      for (let c = 0; c < COLUMNS; c++) this.#sums[at + c]! += part[c]!;
    }
  }

  /** Over the whole of what was driven; null before the first pull. */
  get whole(): Estimate | null {
    return this.#estimate(SPAN_AT.get(keyOf(0, RPMS, 0, DEMAND_STEPS))!);
  }

  /** Over the smallest windows that lie wholly inside `w`; null where nothing was driven. */
  over(w: Window): Estimate | null {
    const r0 = RPM_EDGES.findIndex((e) => e >= w.fromRpm);
    const r1 = RPM_EDGES.findLastIndex((e) => e <= w.toRpm);
    const d0 = DEMAND_EDGES.findIndex((e) => e >= w.fromDemandPct);
    const d1 =
      w.toDemandPct >= FULL_DEMAND_PCT ? DEMAND_STEPS : DEMAND_EDGES.findLastIndex((e) => e <= w.toDemandPct);
    const i = SPAN_AT.get(keyOf(r0, r1, d0, d1));
    return i === undefined ? null : this.#estimate(i);
  }

  /** The window where the shortfall is surest, if it is sure anywhere; null else. */
  get strongest(): Estimate | null {
    if (this.#strongest === undefined) this.#strongest = this.#seek();
    return this.#strongest;
  }

  #seek(): Estimate | null {
    let best: Estimate | null = null;
    for (let i = 0; i < SPANS.length; i++) {
      const at = i * COLUMNS;
      const t = this.#sums;
      const k = t[at + K]!;
      if (k === 0 || t[at + AT.deviation]! >= 0) continue;
      const e = this.#estimate(i, true)!;
      if (e.carried && isShort(e) && (best === null || e.deviation / e.se < best.deviation / best.se))
        best = e;
    }
    return best;
  }

  /** @param sought for a shortfall: what can only have lifted boost is no excuse for it */
  #estimate(i: number, sought = false): Estimate | null {
    const at = i * COLUMNS;
    const t = this.#sums;
    const k = t[at + K]!;
    if (k === 0) return null;
    const s = SPANS[i]!;
    const deviation = t[at + AT.deviation]! / k;
    const pulls = t[at + NPULLS]!;
    // Pulls that contradict each other, as when a link spoils some, make the mean less sure (Birge ratio squared).
    const chi2 = t[at + KDD]! - k * deviation * deviation;
    const scatter = pulls < SCATTER_PULLS ? 1 : Math.max(1, chi2 / (pulls - 1));
    const { charge, colder } = this.#alike;
    const gone = (charge * t[at + AT.warmCharge]! + (sought ? colder * t[at + AT.warmColder]! : 0)) / k;
    const runVariance = t[at + AT.run]! / k - gone;
    return {
      fromRpm: RPM_EDGES[s.r0]!,
      toRpm: RPM_EDGES[s.r1]!,
      fromDemandPct: DEMAND_EDGES[s.d0]!,
      toDemandPct: Math.min(FULL_DEMAND_PCT, DEMAND_EDGES[s.d1]!),
      deviation,
      se: Math.sqrt(scatter / k + runVariance),
      limit: t[at + AT.limit]! / k,
      expectedKpa: k / t[at + AT.perKpa]!,
      pulls,
      samples: t[at + AT.n]!,
      there: t[at + AT.there]!,
      carried:
        (t[at + NSTRONG]! >= 1 ||
          (t[at + AT.n]! >= LEAST_SAMPLES &&
            pulls >= LONE_PULLS &&
            (k * k >= LONE_PULLS_LEFT * t[at + KK]! || t[at + NALONE]! >= ALONE_PULLS))) &&
        t[at + AT.short]! >= SHORT_SHARE * k,
      mostOver: t[at + AT.over]! >= SHORT_SHARE * k,
      pullVariance: scatter / k,
      runVariance,
      warmVariance: t[at + AT.warm]! / k - gone,
      warmBelow: t[at + AT.warmBelow]! / k,
      warmUnread: t[at + AT.warmUnread]! / k,
      looks: this.#driven.size,
    };
  }
}

const normal = (z: number): number => 0.5 * (1 + errorFunction(z * Math.SQRT1_2));
/** Steps of the sums over what the air may do, and how many of its standard errors either way. Chosen by hand, not measured. */
const AIR_STEPS = 48;
const AIR_SE = 4;

type Far = Pick<Estimate, 'deviation' | 'se' | 'warmVariance' | 'warmBelow' | 'warmUnread' | 'looks'>;

/**
 * So many smallest windows `Z_FAULT` pays for. Where fewer were driven less is looked for, and all of them together may
 * err as often (Bonferroni). Chosen on 45 open drives and simulated cars (docs/analysis.md).
 */
export const PAID_LOOKS = 16;

/** A shortfall is as unlikely as `Z_FAULT` standard errors among `PAID_LOOKS`, its share for warmer or colder air as it is likely to be. */
export function isFar(e: Far): boolean {
  const { deviation, se, warmVariance, warmBelow, warmUnread } = e;
  const chance = (normal(-Z_FAULT) * PAID_LOOKS) / Math.min(PAID_LOOKS, Math.max(1, e.looks));
  // A slope that is not known times a temperature that is not: no normal deviate, but one for each temperature.
  if (warmUnread > 0)
    return (
      chanceOf(-AIR_SE, (z) => deviation / Math.sqrt(se ** 2 - warmUnread + warmUnread * z ** 2)) < chance
    );
  if (normal(deviation / se) < chance) return true;
  if (warmVariance === 0 || warmBelow === Number.POSITIVE_INFINITY) return false;
  // It takes no more from any car than physics allows.
  const warm = Math.sqrt(warmVariance);
  const alike = Math.sqrt(se ** 2 - warmVariance);
  return chanceOf(-Math.min(AIR_SE, warmBelow / warm), (z) => (deviation - z * warm) / alike) < chance;
}

/** @param at how many standard errors away it is where the air is off by `z` of its own */
function chanceOf(fromZ: number, at: (z: number) => number): number {
  const step = (AIR_SE - fromZ) / AIR_STEPS;
  let [sum, chance] = [0, 0];
  for (let i = 0; i < AIR_STEPS; i++) {
    const z = fromZ + (i + 0.5) * step;
    const density = Math.exp(-0.5 * z * z);
    sum += density;
    chance += density * normal(at(z));
  }
  return chance / sum;
}

/** The whole interval beyond the limit, and too far from none to be chance. */
export function isShort(e: Far & Pick<Estimate, 'limit'>): boolean {
  return e.deviation + Z95 * e.se < -e.limit && isFar(e);
}

/** Nobody drives more than this to settle one region. Chosen by hand, not measured. */
const MANY_PULLS = 12;

/** So many more pulls like those driven until `holds`, were their mean to stay; null where more than anybody drives would not do. */
export function pullsUntil(e: Estimate, holds: (after: Estimate) => boolean): number | null {
  for (let n = 0; n <= MANY_PULLS; n++) {
    const variance = (e.pullVariance * e.pulls) / (e.pulls + n) + e.runVariance;
    if (holds({ ...e, pulls: e.pulls + n, se: Math.sqrt(variance) })) return n;
  }
  return null;
}

/**
 * Variance of a pull's mean: what the pull as a whole is off by, and its samples, of which few alone may be spoilt. Samples that
 * contradict each other as those of no pull do are held to their own scatter.
 * @param own variance of its samples about their mean
 */
export function pullVariance(pull: number, point: number, moments: number, own: number): number {
  const n = Math.max(1, moments);
  const scatter = n > 1 ? (own * n) / (n - 1) : 0;
  const sample = scatter > SPOILT_SD ** 2 * point ? scatter : point;
  return pull + sample / n + (LONE_SD / n ** LONE_POWER) ** 2;
}

/** A pull that crosses from one region to the next is one pull. */
export function joinPatches(lists: readonly (readonly Patch[])[]): Patch[] {
  const joined = new Map<number, Patch>();
  for (const p of lists.flat()) {
    const q = joined.get(p.at);
    if (q === undefined) {
      joined.set(p.at, { ...p });
      continue;
    }
    for (const k of SUMMED) q[k] += p[k];
    q.fromUs = Math.min(q.fromUs, p.fromUs);
    q.toUs = Math.max(q.toUs, p.toUs);
  }
  return [...joined.values()];
}
