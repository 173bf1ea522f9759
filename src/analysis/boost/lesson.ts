/** What healthy drives of the same vehicle teach: absolute pressure over engine speed and demand, and how well it repeats. */
import { median } from 'simple-statistics';
import type { Profile } from '../../core/profile.ts';
import type { CleanSample } from '../types.ts';
import { Barometer, UNKNOWN_BARO } from './barometer.ts';
import {
  AIR_LONE_SD,
  AIR_PULL_SD,
  AIR_RUN_SD,
  heldNoise,
  LONE_POWER,
  noiseAt,
  PRIOR_SCALE2,
  SLOW_RPM,
} from './noise.ts';
import { isClipped, type OperatingPoint, PointAligner } from './points.ts';
import { type Stretch, Stretcher, TURBO_LAGS } from './stretches.ts';
import {
  type AirTemp,
  ANY_CAR,
  airOf,
  type CellDrives,
  learnSlope,
  meanAir,
  onDay,
  type PerDegree,
} from './warmth.ts';

/** A bound, and the grid: from 900 to 6950 rpm, from 45 to 105 % demand. Chosen by hand, not measured. */
const MAX_TAUGHT_PULLS = 400;
const RPM0 = 900;
const GRID_RPM = 50;
const RPM_N = 122; // to 6950
const D0 = 45;
const D_STEP = 2.5;
const D_N = 25;
const D_TOP = 105;
/** Boost that is less, kPa, says nothing as a share. Chosen by hand, not measured. */
export const LEAST_EXPECTED_KPA = 15;
export const CELLS = RPM_N * D_N;
/** Kernel widths: about what one gear pull covers in a second, and the pedal jitter. Chosen by hand on KIT. */
const H_RPM = 150;
const H_D = 4;
/** Samples of one run beyond this many near a cell are the same witness again. Chosen by hand, not measured. */
const RUN_CAP = 12;
const LEAST_WEIGHT = 1.5;
/** So many kernel widths away a sample weighs a twentieth and is left out; by definition of the bell curve. */
const REACH = 2.5;
/**
 * The line has the spread of one kernel width at half a sample's weight, so that a lone sample makes no slope. Not
 * known how chosen.
 */
const SPREAD_WEIGHT = 0.5;
/** A look-up stands on cells of so much weight of the four around it. Not known how chosen. */
const LOOKED_UP_WEIGHT = 0.5;
/** Samples nearer together than this repeat the same moment. Not known how chosen. */
const THINNED_US = 250_000;
/** Colder, °C, the engine may be given less boost (as `FULL_BOOST_C`): it teaches nothing. Chosen on one drive of KIT. */
const TEACHES_FROM_C = 60;
/**
 * Gauge pressure must repeat this much better, mean squares, to be taken: absolute is what a charger is controlled
 * to. Not known how chosen.
 */
const CLEARLY_BETTER = 0.8;
/** No residual counts for more than this squared, so that one odd pull does not decide. Not known how chosen. */
const MOST_CHI2 = 16;
const MOST_SCALE_CHI2 = 100;
/**
 * The scatter of KIT counts as so many pulls; own pulls move it between the limits. Not known how chosen.
 */
const PRIOR_PULLS = 6;
const LEAST_SCALE = 0.7;
const MOST_SCALE = 8;
/**
 * Of two runs' variances: that of the one held out and about half as much of the others' mean. Not known how chosen.
 */
const RUN_VARIANCES = 1.5;
/**
 * Another lag than KIT's is taken where the pulls are likelier by it than by KIT's, by so much as a logarithm. Chosen on 1,260 draws
 * of 1 to 13 of KIT's drives, where it reaches 11.3 at the most, and ten simulated turbo-diesels, where three drives mostly reach 17 to 50 (docs/analysis.md).
 */
const ANOTHER_LAG = 15;
/** The index is in g/s, rpm and kPa; the factor makes it a number about 15. By definition. */
const INDEX_FACTOR = 1e5;
/** Below this pressure, kPa, the index is division by next to nothing. Not known how chosen. */
const INDEX_FROM_KPA = 20;
/** Air is learned by engine speed: from, step, and how many. Not known how chosen. */
const AIR_RPM0 = 1000;
const AIR_STEP_RPM = 500;
const AIR_BINS = 12;
/** Standard deviations in a median absolute deviation, rounded. Normal distribution, by definition. */
const MAD_SD = 1.48;

/** The pulls of one drive, thinned, with demand seen through the lag of a turbocharger. */
type TaughtPulls = readonly {
  readonly rpm: readonly number[];
  readonly demand: readonly number[];
  /** Absolute, kPa. */
  readonly map: readonly number[];
  /** Air mass over engine speed and pressure (`airIndex`); null without an air mass signal. */
  readonly air: readonly (number | null)[];
}[];

/** What one drive teaches; JSON-serialisable. */
export interface BoostLesson {
  readonly schema: 'handback.boost-lesson/2';
  readonly baroKpa: number;
  readonly baroKnown: boolean;
  /** Temperature of the air, °C; null where none was read. */
  readonly airC: number | null;
  /** By KIT's lag. */
  readonly pulls: TaughtPulls;
  /** The same pulls by slower ones (`TURBO_LAGS`); none without a turbocharger. */
  readonly slower: readonly { readonly turboLag: number; readonly pulls: TaughtPulls }[];
}

/** Several drives of one car on one grid (row: engine speed, column: lagged demand); JSON-serialisable. */
export interface BoostBaseline {
  readonly schema: 'handback.boost-baseline/2';
  readonly runs: number;
  readonly pulls: number;
  readonly baroKpa: number;
  /** Which pressure repeats better on this vehicle: many engines regulate the absolute one. */
  readonly reference: 'absolute' | 'gauge';
  /** Lag of its turbocharger over KIT's, by which its pulls agree with each other. */
  readonly turboLag: number;
  /** Pressure by cell, kPa in `reference`; null where nothing was driven. */
  readonly kpa: readonly (number | null)[];
  /** Runs that carry a cell, effective number. */
  readonly runsAt: readonly number[];
  /** Pulls that carry a cell, effective number. */
  readonly pullsAt: readonly number[];
  /** Air that the drives which carry a cell were driven in. */
  readonly airAt: readonly (AirTemp | null)[];
  /** And all of them. */
  readonly airC: AirTemp;
  /** Boost by the temperature of the air below and from 2000 rpm, and the air index. */
  readonly warmth: { readonly slow: PerDegree; readonly fast: PerDegree; readonly air: PerDegree };
  /** This vehicle's scatter over the default's, below and from 2000 rpm. */
  readonly noiseScale: { readonly slow: number; readonly fast: number };
  /** Air index by 500 rpm from 1000 rpm on, with its scatter between pulls as a share; null where not driven. */
  readonly air: readonly ({ readonly mean: number; readonly sd: number; readonly airC: AirTemp } | null)[];
  /** What other cars of the kind teach; all else may then be of no drive at all. */
  readonly kind?: BoostKind;
}

/** Other cars of a kind on the same grid (`kind.ts`); JSON-serialisable. */
export interface BoostKind {
  readonly schema: 'handback.boost-kind/1';
  readonly cars: number;
  readonly baroKpa: number;
  readonly airC: AirTemp;
  /** Which pressure their engines regulate, by majority. */
  readonly reference: BoostBaseline['reference'];
  readonly turboLag: BoostBaseline['turboLag'];
  /** By cell; null where none of them drove. */
  readonly cells: readonly (KindCell | null)[];
  /** Air index as in `BoostBaseline.air`; null where none of them drove. */
  readonly air: readonly (KindCell | null)[];
  readonly noiseScale: BoostBaseline['noiseScale'];
}

/** Pressure, kPa in the kind's reference, or air index; cars; and as shares of boost or index what `OfKind` calls `sd` and `far`. */
export type KindCell = readonly [value: number, cars: number, sd: number, far: number];

export function learnBoost(samples: Iterable<CleanSample>, profile: Profile): BoostLesson {
  const aligner = new PointAligner(profile);
  const turbo = profile.induction !== 'supercharger' && profile.induction !== 'naturally aspirated';
  const [own, ...slower] = (turbo ? TURBO_LAGS : [1]).map((turboLag) => ({
    turboLag,
    stretcher: new Stretcher(profile, turboLag),
    stretches: [] as Stretch[],
  }));
  const barometer = new Barometer(profile, null);
  let endUs = 0;
  const step = (points: readonly OperatingPoint[]): void => {
    for (const p of points) for (const of of [own!, ...slower]) of.stretches.push(...of.stretcher.step(p));
  };
  for (const s of samples) {
    endUs = Math.max(endUs, s.tUs);
    barometer.step(s);
    step(aligner.step(s));
  }
  step(aligner.finish());
  for (const of of [own!, ...slower]) of.stretches.push(...of.stretcher.finish(endUs));
  const baro = barometer.now;
  const { pulls, airC } = taughtBy(own!.stretches);
  return {
    schema: 'handback.boost-lesson/2',
    baroKpa: (baro ?? UNKNOWN_BARO).kpa,
    baroKnown: baro !== null,
    airC: airC.length === 0 ? null : Math.round(10 * median(airC)) / 10,
    pulls,
    slower: slower.map(({ turboLag, stretches }) => ({ turboLag, pulls: taughtBy(stretches).pulls })),
  };
}

function taughtBy(stretches: readonly Stretch[]): { pulls: TaughtPulls; airC: number[] } {
  const airC: number[] = [];
  const pulls: { rpm: number[]; demand: number[]; map: number[]; air: (number | null)[] }[] = [];
  for (const s of stretches) {
    const pull = {
      rpm: [] as number[],
      demand: [] as number[],
      map: [] as number[],
      air: [] as (number | null)[],
    };
    let lastUs = Number.NEGATIVE_INFINITY;
    for (const p of s.points) {
      if (
        !p.settled ||
        p.frozen ||
        p.still ||
        p.echo ||
        (p.ect !== null && p.ect < TEACHES_FROM_C) ||
        isClipped(p.map)
      )
        continue;
      if (p.tUs - lastUs < THINNED_US) continue;
      lastUs = p.tUs;
      pull.rpm.push(Math.round(p.rpm));
      pull.demand.push(Math.round(p.lagged * 10) / 10);
      pull.map.push(p.map);
      pull.air.push(airIndex(p));
      if (p.airC !== null) airC.push(p.airC);
    }
    if (pull.rpm.length > 0 && pulls.length < MAX_TAUGHT_PULLS) pulls.push(pull);
  }
  return { pulls, airC };
}

/**
 * One run's pressure around each cell, fitted as a line in demand (a plain average would lean towards where the
 * driver happened to be): kernel-weighted count, and sums over d (demand offset) and y (pressure).
 */
interface Grid {
  readonly w: Float64Array;
  readonly d: Float64Array;
  readonly dd: Float64Array;
  readonly y: Float64Array;
  readonly dy: Float64Array;
}

export function mergeLessons(lessons: readonly BoostLesson[]): BoostBaseline {
  const { turboLag, useful, absolute, z: zAbsolute } = byOwnLag(lessons);
  const gauge = smoothAll(useful, 'gauge');
  const alone = useful.length === 1;
  const zGauge = alone ? zAbsolute : leaveOneOut(useful, gauge, 'gauge');
  const reference =
    meanSquare(zGauge.fast) < CLEARLY_BETTER * meanSquare(zAbsolute.fast) ? 'gauge' : 'absolute';
  const grids = reference === 'gauge' ? gauge : absolute;
  const z = reference === 'gauge' ? zGauge : zAbsolute;
  const kpa: (number | null)[] = [];
  const runsAt: number[] = [];
  const airAt: (AirTemp | null)[] = [];
  const pulls = pullsNear(useful);
  for (let c = 0; c < CELLS; c++) {
    const shares = grids.map((g) => Math.min(g.w[c]!, RUN_CAP));
    const w = shares.reduce((x, y) => x + y, 0);
    const w2 = shares.reduce((x, y) => x + y * y, 0);
    const at = w < LEAST_WEIGHT ? null : lineAt(grids, shares, c);
    kpa.push(at === null ? null : Math.round(at * 100) / 100);
    runsAt.push(at === null ? 0 : Math.round(((w * w) / w2) * 100) / 100);
    airAt.push(at === null ? null : airOfRuns(useful, shares));
  }
  const scale = (side: 'slow' | 'fast'): number => {
    const prior = PRIOR_SCALE2[side];
    return scaleOf(z[side], prior, alone ? Math.sqrt(prior) : LEAST_SCALE);
  };
  const noiseScale = { slow: scale('slow'), fast: scale('fast') };
  const { air, slope } = learnAir(useful);
  return {
    schema: 'handback.boost-baseline/2',
    runs: useful.length,
    pulls: useful.reduce((a, l) => a + l.pulls.length, 0),
    baroKpa: mean(useful.map((l) => l.baroKpa)) ?? UNKNOWN_BARO.kpa,
    reference,
    turboLag,
    kpa,
    runsAt,
    pullsAt: kpa.map((at, c) => (at === null ? 0 : Math.max(1, Math.round(pulls[c]! * 100) / 100))),
    airAt,
    airC: meanAir(useful.map((l) => ({ weight: 1, air: airOf(l.airC) }))),
    warmth: { ...slopesOf(useful, grids, reference, noiseScale), air: slope },
    noiseScale,
    air,
  };
}

interface ByLag {
  readonly turboLag: number;
  readonly useful: readonly BoostLesson[];
  readonly absolute: readonly Grid[];
  readonly z: Residuals;
}

/** The lessons by the lag at which their pulls agree with each other: KIT's, unless a slower one is clearly likelier. */
function byOwnLag(lessons: readonly BoostLesson[]): ByLag {
  const by = (turboLag: number): ByLag => {
    const useful = lessons
      .map((l) => ({ ...l, pulls: turboLag === 1 ? l.pulls : pullsBy(l, turboLag) }))
      .filter((l) => l.pulls.length > 0);
    const absolute = smoothAll(useful, 'absolute');
    const z = useful.length === 1 ? amongItself(useful[0]!) : leaveOneOut(useful, absolute, 'absolute');
    return { turboLag, useful, absolute, z };
  };
  const kit = by(1);
  if (kit.useful.length === 0) return kit;
  const slower = TURBO_LAGS.filter((lag) => lag !== 1).map((lag) => by(lag));
  return slower.find(({ z }) => likelier(z, kit.z) > ANOTHER_LAG) ?? kit;
}

const pullsBy = (l: BoostLesson, turboLag: number): TaughtPulls =>
  l.slower.find((o) => o.turboLag === turboLag)?.pulls ?? [];

/** By how much, as a logarithm, pulls that scatter as `a` are likelier than as `b`: normal about none, each scatter its own. */
function likelier(a: Residuals, b: Residuals): number {
  return SIDES.reduce((sum, side) => {
    const [scaleA, scaleB] = [a, b].map((z) => scaleOf(z[side], PRIOR_SCALE2[side], 0));
    return sum + Math.min(a[side].length, b[side].length) * Math.log(scaleB! / scaleA!);
  }, 0);
}

export interface Learned {
  readonly kpa: number;
  readonly runs: number;
  readonly pulls: number;
  readonly airC: AirTemp;
}

/** Pressure (in the baseline's reference), carrying runs and pulls at an operating point; null where nothing was learned. */
export function lookUp(b: BoostBaseline, rpm: number, demand: number): Learned | null {
  const at = interpolate(
    (c) => {
      const kpa = b.kpa[c];
      if (kpa === null || kpa === undefined) return null;
      return [kpa, b.runsAt[c] ?? 1, b.pullsAt[c] ?? 1, ...(b.airAt[c] ?? b.airC)];
    },
    rpm,
    demand,
  );
  return at === null ? null : { kpa: at[0]!, runs: at[1]!, pulls: at[2]!, airC: [at[3]!, at[4]!] };
}

/** Between the four cells around an operating point, number by number; null where most of it was not learned. */
export function interpolate(
  cell: (c: number) => readonly number[] | null,
  rpm: number,
  demand: number,
): number[] | null {
  const x = (rpm - RPM0) / GRID_RPM;
  const y = (Math.min(demand, D_TOP) - D0) / D_STEP;
  const i = Math.max(0, Math.min(RPM_N - 2, Math.floor(x)));
  const j = Math.max(0, Math.min(D_N - 2, Math.floor(y)));
  if (x < 0 || x > RPM_N - 1 || y < 0) return null;
  let w = 0;
  const sums: number[] = [];
  for (const [di, dj] of [
    [0, 0],
    [1, 0],
    [0, 1],
    [1, 1],
  ] as const) {
    const at = cell((i + di) * D_N + j + dj);
    if (at === null) continue;
    const wc = Math.abs(1 - di - (x - i)) * Math.abs(1 - dj - (y - j));
    w += wc;
    for (let k = 0; k < at.length; k++) sums[k] = (sums[k] ?? 0) + wc * at[k]!;
  }
  return w < LOOKED_UP_WEIGHT ? null : sums.map((sum) => sum / w);
}

/** Engine speed and lagged demand of a cell. */
export const centreOf = (cell: number): { readonly rpm: number; readonly demand: number } => ({
  rpm: RPM0 + Math.floor(cell / D_N) * GRID_RPM,
  demand: D0 + (cell % D_N) * D_STEP,
});

/** How many pulls came near each cell, each counting for the nearest of its samples. */
function pullsNear(lessons: readonly BoostLesson[]): Float64Array {
  const out = new Float64Array(CELLS);
  const rows = Math.ceil((REACH * H_RPM) / GRID_RPM);
  const columns = Math.ceil((REACH * H_D) / D_STEP);
  for (const p of lessons.flatMap((l) => l.pulls)) {
    const near = new Map<number, number>();
    p.rpm.forEach((rpm, k) => {
      const i = Math.round((rpm - RPM0) / GRID_RPM);
      const j = Math.round((Math.min(p.demand[k]!, D_TOP) - D0) / D_STEP);
      for (let a = Math.max(0, i - rows); a <= Math.min(RPM_N - 1, i + rows); a++)
        for (let b = Math.max(0, j - columns); b <= Math.min(D_N - 1, j + columns); b++) {
          const u = ((a - i) * GRID_RPM) / H_RPM;
          const v = ((b - j) * D_STEP) / H_D;
          const c = a * D_N + b;
          near.set(c, Math.max(near.get(c) ?? 0, Math.exp(-0.5 * (u * u + v * v))));
        }
    });
    for (const [c, weight] of near) out[c]! += weight;
  }
  return out;
}

/** Pressure at a cell from runs weighted by `shares` (samples each may count for); null where nothing was driven. */
function lineAt(grids: readonly Grid[], shares: readonly number[], c: number): number | null {
  let [w, d, dd, y, dy] = [0, 0, 0, 0, 0];
  grids.forEach((g, i) => {
    if (shares[i]! <= 0) return;
    const k = shares[i]! / g.w[c]!;
    w += k * g.w[c]!;
    d += k * g.d[c]!;
    dd += k * g.dd[c]!;
    y += k * g.y[c]!;
    dy += k * g.dy[c]!;
  });
  if (w <= 0) return null;
  const sxx = dd - (d * d) / w + SPREAD_WEIGHT * H_D * H_D;
  const slope = (dy - (d * y) / w) / sxx;
  return (y - slope * d) / w;
}

function smoothAll(lessons: readonly BoostLesson[], reference: 'absolute' | 'gauge'): Grid[] {
  return lessons.map((l) => {
    const n = new Float64Array(CELLS);
    const sum = new Float64Array(CELLS);
    for (const p of l.pulls)
      p.rpm.forEach((rpm, k) => {
        const i = Math.round((rpm - RPM0) / GRID_RPM);
        const j = Math.round((Math.min(p.demand[k]!, D_TOP) - D0) / D_STEP);
        if (i < 0 || i >= RPM_N || j < 0 || j >= D_N) return;
        n[i * D_N + j]! += 1;
        sum[i * D_N + j]! += p.map[k]! - (reference === 'gauge' ? l.baroKpa : 0);
      });
    const wide = (g: Float64Array): Float64Array => {
      const out = new Float64Array(CELLS);
      const reach = Math.ceil((REACH * H_RPM) / GRID_RPM);
      for (let c = 0; c < CELLS; c++) {
        if (g[c] === 0) continue;
        const i = Math.floor(c / D_N);
        for (let k = Math.max(-reach, -i); k <= reach && i + k < RPM_N; k++)
          out[c + k * D_N]! += g[c]! * Math.exp(-0.5 * ((k * GRID_RPM) / H_RPM) ** 2);
      }
      return out;
    };
    const wn = wide(n);
    const wsum = wide(sum);
    const empty = (): Float64Array => new Float64Array(CELLS);
    const out: Grid = { w: empty(), d: empty(), dd: empty(), y: empty(), dy: empty() };
    const reach = Math.ceil((REACH * H_D) / D_STEP);
    for (let c = 0; c < CELLS; c++) {
      if (wn[c] === 0) continue;
      const j = c % D_N;
      for (let k = Math.max(-reach, -j); k <= reach && j + k < D_N; k++) {
        const weight = Math.exp(-0.5 * ((k * D_STEP) / H_D) ** 2);
        const offset = -k * D_STEP;
        out.w[c + k]! += weight * wn[c]!;
        out.d[c + k]! += weight * wn[c]! * offset;
        out.dd[c + k]! += weight * wn[c]! * offset * offset;
        out.y[c + k]! += weight * wsum[c]!;
        out.dy[c + k]! += weight * wsum[c]! * offset;
      }
    }
    return out;
  });
}

const airOfRuns = (lessons: readonly BoostLesson[], shares: readonly number[]): AirTemp =>
  meanAir(lessons.map((l, k) => ({ weight: shares[k]!, air: airOf(l.airC) })));

/** From this demand on drives are held against each other; below it boost scatters more than any weather moves it. Chosen by hand, not measured. */
const WARMTH_FROM_PCT = 60;

function slopesOf(
  lessons: readonly BoostLesson[],
  grids: readonly Grid[],
  reference: 'absolute' | 'gauge',
  noiseScale: BoostBaseline['noiseScale'],
): { slow: PerDegree; fast: PerDegree } {
  const read = lessons.flatMap((l, drive) =>
    l.airC === null ? [] : [{ drive, airC: l.airC, baroKpa: l.baroKpa }],
  );
  const learn = (slow: boolean): PerDegree => {
    const cells: CellDrives[] = [];
    for (let c = 0; c < CELLS; c++) {
      const { rpm, demand } = centreOf(c);
      if (rpm < SLOW_RPM !== slow || demand < WARMTH_FROM_PCT) continue;
      const gave = read.flatMap(({ drive, airC, baroKpa }) => {
        const weight = Math.min(grids[drive]!.w[c]!, RUN_CAP);
        const kpa = weight < LEAST_WEIGHT ? null : lineAt([grids[drive]!], [weight], c);
        return kpa === null
          ? []
          : [{ drive, weight, airC, gauge: kpa - (reference === 'absolute' ? baroKpa : 0) }];
      });
      const boost = mean(gave.map((g) => g.gauge)) ?? 0;
      if (gave.length < 2 || boost < LEAST_EXPECTED_KPA) continue;
      cells.push({
        noise: heldNoise(rpm, demand, noiseScale),
        drives: gave.map(({ gauge, ...g }) => ({ ...g, x: gauge / boost })),
      });
    }
    const counts = (l: BoostLesson): number =>
      l.pulls.filter((p) =>
        p.rpm.some((rpm, k) => rpm < SLOW_RPM === slow && p.demand[k]! >= WARMTH_FROM_PCT),
      ).length;
    return learnSlope(cells, lessons.map(counts), slow ? ANY_CAR.slow : ANY_CAR.fast);
  };
  return { slow: learn(true), fast: learn(false) };
}

/** Standardised, one a pull, below and from 2000 rpm. */
interface Residuals {
  readonly slow: readonly number[];
  readonly fast: readonly number[];
}
const SIDES = ['slow', 'fast'] as const;

/**
 * One drive alone is held against itself, each of its pulls against its others. That other days repeat as well it cannot say, only
 * that they hardly repeat better: on simulated diesels whose boost below 2,000 rpm hangs on how it was reached, one drive that taught
 * made 32 of 204 healthy judgements accuse.
 */
function amongItself(lesson: BoostLesson): Residuals {
  const pulls = lesson.pulls.map((p) => ({ ...lesson, pulls: [p] }));
  return leaveOneOut(pulls, smoothAll(pulls, 'absolute'), 'absolute');
}

/** Standardised residual of each pull against the other runs: how true the default scatter is for this vehicle. */
function leaveOneOut(lessons: readonly BoostLesson[], grids: readonly Grid[], reference: string): Residuals {
  const out = { slow: [] as number[], fast: [] as number[] };
  lessons.forEach((l, run) => {
    const known = new Map<number, readonly number[] | null>();
    const others = (c: number): readonly number[] | null => {
      let at = known.get(c);
      if (at === undefined) {
        const shares = grids.map((g, k) => (k === run ? 0 : Math.min(g.w[c]!, RUN_CAP)));
        const kpa = shares.reduce((x, y) => x + y, 0) < LEAST_WEIGHT ? null : lineAt(grids, shares, c);
        at = kpa === null ? null : [kpa];
        known.set(c, at);
      }
      return at;
    };
    for (const p of l.pulls)
      for (const slow of [true, false]) {
        const scored = p.rpm.flatMap((rpm, k) => {
          if (rpm < SLOW_RPM !== slow) return [];
          const [expected] = interpolate(others, rpm, p.demand[k]!) ?? [];
          if (expected === undefined) return [];
          const gauge = expected - (reference === 'absolute' ? l.baroKpa : 0);
          if (gauge < LEAST_EXPECTED_KPA) return [];
          const measured = p.map[k]! - (reference === 'gauge' ? l.baroKpa : 0);
          return [{ r: (measured - expected) / gauge, noise: noiseAt(rpm, p.demand[k]!) }];
        });
        if (scored.length < 2) continue;
        let [w, wr, wv] = [0, 0, 0];
        for (const { r, noise } of scored) {
          const k = 1 / noise.pull ** 2;
          w += k;
          wr += k * r;
          wv += k * (noise.pull ** 2 + RUN_VARIANCES * noise.run ** 2 + noise.point ** 2 / scored.length);
        }
        out[slow ? 'slow' : 'fast'].push(wr / Math.sqrt(w * wv));
      }
  });
  return out;
}

/** The default scatter counts as six pulls of its own, widened by `prior`: only many drives can claim to repeat better. */
function scaleOf(z: readonly number[], prior: number, least: number): number {
  const squares = z.reduce((a, x) => a + Math.min(x * x, MOST_SCALE_CHI2), 0);
  return Math.max(
    least,
    Math.min(MOST_SCALE, Math.sqrt((PRIOR_PULLS * prior + squares) / (PRIOR_PULLS + z.length))),
  );
}

/** From this demand on no exhaust gas is let back in and the air index is constant (KIT: from 55 % on). */
export const AIR_FROM_PCT = 60;

/** Air through the engine for its speed and pressure: constant for a sound engine, higher when air is lost after the meter. */
export function airIndex(p: {
  readonly maf: number | null;
  readonly rpm: number;
  readonly map: number;
}): number | null {
  return p.maf === null || p.map < INDEX_FROM_KPA ? null : (INDEX_FACTOR * p.maf) / (p.rpm * p.map);
}

/** Fewer pulls teach no air index, nor do those that are worth less than one of many samples. Chosen by hand, not measured. */
export const LEAST_AIR_PULLS = 3;
const LEAST_AIR_WORTH = 1;

/** A pull's index, and how much of a pull of many samples it is worth: few alone may be off. */
interface TaughtAir {
  readonly index: number;
  readonly worth: number;
}

const worthOf = (pulls: readonly TaughtAir[]): number => pulls.reduce((a, p) => a + p.worth, 0);

function learnAir(lessons: readonly BoostLesson[]): { air: BoostBaseline['air']; slope: PerDegree } {
  const bins = Array.from({ length: AIR_BINS }, (_, bin) =>
    lessons.map((l) =>
      l.pulls.flatMap((p): TaughtAir[] => {
        const at = p.air.filter(
          (x, k): x is number => x !== null && airBin(p.rpm[k]!) === bin && p.demand[k]! >= AIR_FROM_PCT,
        );
        if (at.length === 0) return [];
        const lone = AIR_LONE_SD / at.length ** LONE_POWER;
        return [{ index: median(at), worth: AIR_PULL_SD ** 2 / (AIR_PULL_SD ** 2 + lone ** 2) }];
      }),
    ),
  );
  const cells = bins.map((drives): CellDrives => {
    const gave = drives.flatMap((pulls, drive) => {
      const { airC } = lessons[drive]!;
      return pulls.length === 0 || airC === null
        ? []
        : [
            {
              ...{ drive, airC, weight: Math.min(worthOf(pulls), LEAST_AIR_PULLS) },
              index: median(pulls.map((p) => p.index)),
            },
          ];
    });
    const middle = gave.length === 0 ? 1 : median(gave.map((g) => g.index));
    return {
      noise: { run: AIR_RUN_SD, pull: AIR_PULL_SD },
      drives: gave.map(({ index, ...g }) => ({ ...g, x: index / middle })),
    };
  });
  const counts = lessons.map((_, drive) => Math.max(...bins.map((drives) => worthOf(drives[drive]!))));
  const slope = learnSlope(cells, counts, ANY_CAR.air);
  const air = bins.map((drives) => {
    const all = drives.flat();
    if (all.length < LEAST_AIR_PULLS || worthOf(all) < LEAST_AIR_WORTH) return null;
    const airC = airOfRuns(
      lessons,
      drives.map((pulls) => pulls.length),
    );
    // As all of them would have been in air of one temperature.
    const pulls = drives.flatMap((of, k) => {
      const { airC: own } = lessons[k]!;
      const more = own === null ? 0 : onDay(slope, ANY_CAR.air, airC, airOf(own)).more;
      return of.map(({ index }) => index / (1 + more));
    });
    // Robust: in some pulls exhaust gas was still let back in, and then the index lies far below.
    const centre = median(pulls);
    const sd = (MAD_SD * median(pulls.map((x) => Math.abs(x - centre)))) / centre;
    return { mean: centre, sd: Math.max(AIR_PULL_SD, sd), airC };
  });
  return { air, slope };
}

export function airBin(rpm: number): number {
  return Math.floor((rpm - AIR_RPM0) / AIR_STEP_RPM);
}

function mean(list: readonly number[]): number | null {
  return list.length === 0 ? null : list.reduce((a, b) => a + b, 0) / list.length;
}

function meanSquare(z: readonly number[]): number {
  return mean(z.map((x) => Math.min(x * x, MOST_CHI2))) ?? 1;
}
