/**
 * The difference of two sides at matched operating points, with its standard error. A pull is one witness: its one
 * deviation is judged against the other pulls of its side at the same points. With every pull at every point this is
 * Welch's t test to the last digit; docs/compare.md has the formulas.
 */
import tQuantile from '@stdlib/stats-base-dists-t-quantile';

/** One pull's mean at one operating point. */
export interface ComparedPoint {
  readonly side: 'before' | 'after';
  /** Pulls are counted by this: several observations of one pull are one witness. */
  readonly pull: number;
  /** Pulls of one day share what that day did to them. */
  readonly day: string;
  /** What may be compared with each other: engine speed, demand, gear. */
  readonly point: string;
  readonly value: number;
}

export interface Contrast {
  /** After less before, weighted over the points that both sides have. */
  readonly difference: number;
  readonly before: SideSum;
  readonly after: SideSum;
  /** Variance of `difference` by the scatter between pulls; null where a side has too few to tell. */
  readonly variance: number | null;
  /** Σ over days of (share of the after side − share of the before side)²: times the variance between days. */
  readonly dayFactor: number;
}

export interface SideSum {
  readonly pulls: number;
  /** Weighted over the shared points. */
  readonly mean: number;
  /** Standard deviation of one pull; null when it cannot be told. */
  readonly sd: number | null;
  readonly variance: number | null;
  readonly degreesOfFreedom: number;
}

/** Null when the sides share no point. */
export function contrastOf(all: readonly ComparedPoint[]): Contrast | null {
  const whole = weigh(all);
  if (whole === null) return null;
  const shared = all.filter((o) => whole.weights.has(o.point));
  const before = sideOf(shared, 'before', whole);
  const after = sideOf(shared, 'after', whole);
  return {
    difference: whole.after - whole.before,
    before,
    after,
    variance: before.variance === null || after.variance === null ? null : before.variance + after.variance,
    dayFactor: dayFactor(shared, whole.weights),
  };
}

/** Fewer pairs tell too little about how they differ. Chosen by hand, not measured. */
const LEAST_PAIRS = 3;

/**
 * The same from pairs: in each block the sides are contrasted at each point on their own, and how these differences scatter
 * between blocks is the error (with every block at every point Student's paired test). For blocks with one pull a side,
 * where nothing tells the scatter within. Null where fewer than three blocks share points. The sides' means stay those of all.
 * @param blockOf null: in none
 */
export function pairedContrast(
  all: readonly ComparedPoint[],
  blockOf: (o: ComparedPoint) => number | null,
): Contrast | null {
  const inBlocks = all.filter((o) => blockOf(o) !== null);
  const pairs = [...grouped(inBlocks, (o) => `${blockOf(o)} ${o.point}`).values()].flatMap(
    (own): ComparedPoint[] => {
      const value = weigh(own);
      const { point } = own[0]!;
      return value === null
        ? []
        : [{ side: 'after', pull: blockOf(own[0]!)!, day: 'pair', point, value: value.after - value.before }];
    },
  );
  const weights = new Map([...grouped(pairs, (o) => o.point)].map(([point, own]) => [point, own.length]));
  const difference = pairs.reduce((a, o) => a + o.value, 0) / pairs.length;
  const sum = sideOf(pairs, 'after', { weights, before: 0, after: difference });
  const used = new Set(pairs.map((o) => o.pull));
  const whole = contrastOf(inBlocks.filter((o) => used.has(blockOf(o)!)));
  if (whole === null || sum.variance === null || sum.pulls < LEAST_PAIRS) return null;
  return {
    ...whole,
    difference,
    variance: sum.variance,
    before: { ...whole.before, variance: sum.variance, degreesOfFreedom: sum.degreesOfFreedom },
    after: { ...whole.after, variance: 0, degreesOfFreedom: sum.degreesOfFreedom },
  };
}

export interface Interval {
  readonly low: number;
  readonly high: number;
  readonly degreesOfFreedom: number;
}

/**
 * Interval of a contrast when something else adds `extra` = [variance, degrees of freedom] each: the effective
 * degrees of freedom are Welch's and Satterthwaite's (JCGM 100:2008, G.4.1).
 */
export function intervalOf(
  c: Contrast,
  extra: readonly (readonly [variance: number, degreesOfFreedom: number])[],
  confidence: number,
): Interval | null {
  if (c.variance === null) return null;
  const parts: (readonly [number, number])[] = [
    [c.before.variance ?? 0, c.before.degreesOfFreedom],
    [c.after.variance ?? 0, c.after.degreesOfFreedom],
    ...extra,
  ];
  const variance = parts.reduce((a, [v]) => a + v, 0);
  const weight = parts.reduce((a, [v, df]) => a + v ** 2 / df, 0);
  const degreesOfFreedom = weight > 0 ? variance ** 2 / weight : Number.POSITIVE_INFINITY;
  const half = studentT((1 + confidence) / 2, degreesOfFreedom) * Math.sqrt(variance);
  return { low: c.difference - half, high: c.difference + half, degreesOfFreedom };
}

/** From here on a normal distribution for all that is printed. Not known how chosen. */
const MOST_DF = 1e6;

export function studentT(p: number, degreesOfFreedom: number): number {
  return tQuantile(p, Math.min(degreesOfFreedom, MOST_DF));
}

interface Weighed {
  readonly weights: ReadonlyMap<string, number>;
  readonly before: number;
  readonly after: number;
}

/** Points weigh by the harmonic number of pulls. */
function weigh(all: readonly ComparedPoint[]): Weighed | null {
  const points = new Map<string, { n: [number, number]; sum: [number, number] }>();
  for (const o of all) {
    let p = points.get(o.point);
    if (p === undefined) {
      p = { n: [0, 0], sum: [0, 0] };
      points.set(o.point, p);
    }
    const k = o.side === 'before' ? 0 : 1;
    p.n[k]++;
    p.sum[k] += o.value;
  }
  const weights = new Map<string, number>();
  let [total, before, after] = [0, 0, 0];
  for (const [name, { n, sum }] of points) {
    if (n[0] === 0 || n[1] === 0) continue;
    const w = (n[0] * n[1]) / (n[0] + n[1]);
    weights.set(name, w);
    total += w;
    before += (w * sum[0]) / n[0];
    after += (w * sum[1]) / n[1];
  }
  return total === 0 ? null : { weights, before: before / total, after: after / total };
}

/** Below this the pulls share too little for their scatter to be told. Chosen by hand, not measured. */
const LEAST_TRACE = 0.9;

function sideOf(shared: readonly ComparedPoint[], side: ComparedPoint['side'], whole: Weighed): SideSum {
  const own = shared.filter((o) => o.side === side);
  const dayOf = new Map(own.map((o) => [o.pull, o.day]));
  const n = dayOf.size;
  // Days are allowed for on their own: with pulls enough, scatter is counted within them.
  const within = n >= 2 * new Set(dayOf.values()).size;
  const groups = grouped(own, (o) => (within ? `${o.point} ${o.day}` : o.point));
  const scatter = scatterOf([...dayOf.keys()], [...groups.values()], whole.weights);
  const mean = whole[side];
  if (scatter === null)
    return { pulls: n, mean, sd: null, variance: null, degreesOfFreedom: Math.max(0, n - 1) };
  // Each pull's share in the mean: with every pull at every point one in n.
  const byPoint = grouped(own, (o) => o.point);
  const share = new Map<number, number>();
  let total = 0;
  for (const w of whole.weights.values()) total += w;
  for (const [point, pulls] of byPoint)
    for (const o of pulls)
      share.set(o.pull, (share.get(o.pull) ?? 0) + whole.weights.get(point)! / total / pulls.length);
  const squares = [...share.values()].reduce((a, x) => a + x * x, 0);
  return {
    pulls: n,
    mean,
    sd: Math.sqrt(scatter.variance),
    variance: squares * scatter.variance,
    degreesOfFreedom: scatter.degreesOfFreedom,
  };
}

/**
 * Variance of one pull about the others. d = (I − M) e are the pulls' mean deviations from the means of their
 * groups, e their errors of equal variance; E Σd² = σ² tr G with G = (I − M)ᵀ(I − M), and (tr G)² / tr G² are the
 * degrees of freedom (Satterthwaite). Null when the pulls do not share points.
 */
function scatterOf(
  pulls: readonly number[],
  groups: readonly (readonly ComparedPoint[])[],
  weights: ReadonlyMap<string, number>,
): { variance: number; degreesOfFreedom: number } | null {
  const index = new Map(pulls.map((pull, i) => [pull, i]));
  const n = pulls.length;
  const total = new Float64Array(n);
  const d = new Float64Array(n);
  const parts = partsOf(n, groups, (o) => index.get(o.pull)!);
  const rows = parts.map((part) => new Float64Array(part.members.length));
  for (const group of groups) {
    if (group.length < 2) continue;
    const w = weights.get(group[0]!.point)!;
    const mean = group.reduce((a, o) => a + o.value, 0) / group.length;
    const share = w / group.length;
    const at = group.map((o) => index.get(o.pull)!);
    // they are of one part
    const { placeOf } = parts[at[0]!]!;
    const places = Int32Array.from(at, (i) => placeOf.get(i)!);
    for (const [k, i] of at.entries()) {
      total[i]! += w;
      d[i]! += w * (group[k]!.value - mean);
      const row = rows[i]!;
      for (const place of places) row[place]! -= share;
    }
  }
  let squares = 0;
  for (let i = 0; i < n; i++) {
    if (total[i] === 0) continue;
    squares += (d[i]! / total[i]!) ** 2;
    const row = rows[i]!;
    for (let j = 0; j < row.length; j++) row[j]! /= total[i]!;
    row[parts[i]!.placeOf.get(i)!]! += 1;
  }
  // tr G is the sum of squares of I − M; tr G² that of (I − M)(I − M)ᵀ, which has the same trace of its square.
  let trace = 0;
  let traceOfSquare = 0;
  for (const [i, a] of rows.entries()) {
    const { members, placeOf } = parts[i]!;
    const own = placeOf.get(i)!;
    // It is symmetric: what lies before the diagonal was found at the earlier row, in whose place it stands by now.
    const products = new Float64Array(members.length);
    for (let at = 0; at < own; at++) products[at] = rows[members[at]!]![own]!;
    dotsOf(
      a,
      members.slice(own).map((k) => rows[k]!),
      products.subarray(own),
    );
    rows[i] = products;
    trace += products[own]!;
    for (const dot of products) traceOfSquare += dot * dot;
  }
  if (trace < LEAST_TRACE) return null;
  return { variance: squares / trace, degreesOfFreedom: trace ** 2 / traceOfSquare };
}

/** As many as `dotsOf` writes out. By definition. */
const ROWS_AT_ONCE = 4;

/**
 * Of `a` with each of `rows`, four at a time: each sum is added up in order, and a processor need not wait for one to go
 * on with the next.
 */
function dotsOf(a: Float64Array, rows: readonly Float64Array[], into: Float64Array): void {
  const whole = rows.length - (rows.length % ROWS_AT_ONCE);
  for (let k = 0; k < whole; k += ROWS_AT_ONCE) {
    const [p, q, r, s] = [rows[k]!, rows[k + 1]!, rows[k + 2]!, rows[k + 3]!];
    let [dp, dq, dr, ds] = [0, 0, 0, 0];
    for (let j = 0; j < a.length; j++) {
      const x = a[j]!;
      dp += x * p[j]!;
      dq += x * q[j]!;
      dr += x * r[j]!;
      ds += x * s[j]!;
    }
    into[k] = dp;
    into[k + 1] = dq;
    into[k + 2] = dr;
    into[k + 3] = ds;
  }
  for (let k = whole; k < rows.length; k++) {
    const row = rows[k]!;
    let dot = 0;
    for (let j = 0; j < a.length; j++) dot += a[j]! * row[j]!;
    into[k] = dot;
  }
}

interface Part {
  /** Ascending. */
  readonly members: readonly number[];
  /** Member to its place among them. */
  readonly placeOf: ReadonlyMap<number, number>;
}

/** Pulls that groups join, each pull's part: of others its row of M holds nothing but zeros. */
function partsOf(
  n: number,
  groups: readonly (readonly ComparedPoint[])[],
  indexOf: (o: ComparedPoint) => number,
): Part[] {
  const above = Int32Array.from({ length: n }, (_, i) => i);
  const top = (i: number): number => {
    while (above[i] !== i) {
      above[i] = above[above[i]!]!;
      i = above[i]!;
    }
    return i;
  };
  for (const group of groups) for (const o of group) above[top(indexOf(o))] = top(indexOf(group[0]!));
  const members = [...grouped([...above.keys()], (i) => String(top(i)))].map(([, own]) => own);
  const parts: Part[] = [];
  for (const own of members) {
    const part = { members: own, placeOf: new Map(own.map((i, k) => [i, k])) };
    for (const i of own) parts[i] = part;
  }
  return parts;
}

function dayFactor(shared: readonly ComparedPoint[], weights: ReadonlyMap<string, number>): number {
  const counts = new Map<string, number>();
  const key = (o: ComparedPoint): string => `${o.side} ${o.point}`;
  for (const o of shared) counts.set(key(o), (counts.get(key(o)) ?? 0) + 1);
  const shares = new Map<string, number>();
  let total = 0;
  for (const w of weights.values()) total += w;
  for (const o of shared) {
    const share = (weights.get(o.point) ?? 0) / total / (counts.get(key(o)) ?? 1);
    shares.set(o.day, (shares.get(o.day) ?? 0) + (o.side === 'after' ? share : -share));
  }
  return [...shares.values()].reduce((a, s) => a + s * s, 0);
}

function grouped<T>(list: readonly T[], keyOf: (item: T) => string): Map<string, T[]> {
  const groups = new Map<string, T[]>();
  for (const item of list) {
    const key = keyOf(item);
    const group = groups.get(key);
    if (group) group.push(item);
    else groups.set(key, [item]);
  }
  return groups;
}
