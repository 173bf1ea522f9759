/** Pulls of all runs cut into operating points: engine speed × demand × gear, each pull one value at each. */

import type { ComparedPoint } from './contrast.ts';
import type { Gathered, GatheredPull } from './gather.ts';
import { stretchesOf } from './same-road.ts';
import type { Role } from './types.ts';

/** Cells in which pulls are compared, rpm and %. Chosen by hand, not measured. */
export const BIN_RPM = 250;
/** Weight of a slope of none beside the points, so that a lone point makes no slope. Not known how chosen. */
const RIDGE = 0.25;
export const DEMAND_BINS: readonly (readonly [number, number])[] = [
  [60, 70],
  [70, 85],
  [85, 105],
];
/** Ratios of engine to vehicle speed this near (logarithm) are one gear (KIT: spread < 0.8 %, neighbours ≥ 20 %). */
const SAME_GEAR = 0.06;
/** Reach of the plane that brings a sample to the middle of its cell. Chosen by hand, not measured. */
const REACH_RPM = 400;
const REACH_DEMAND = 15;

/** A run as the boost comparison sees it. */
export interface BoostRun {
  readonly role: Role;
  readonly day: string;
  readonly gathered: Gathered;
  /** Divides the measured pressure: barometric of the run over the reference. */
  readonly airFactor: number;
}

/** One pull at one cell: the logarithm of the pressure at reference air, or W/kg, brought to the middle of the cell. */
export interface CellValue {
  readonly rpmBin: number;
  readonly demandBin: number;
  readonly gear: number | null;
  readonly role: Role;
  readonly day: string;
  readonly pull: number;
  /** Number of the stretch of road that it was driven on; null where its place is not known. */
  readonly stretch: number | null;
  readonly value: number;
}

interface PullPoint {
  readonly rpm: number;
  readonly demand: number;
  readonly y: number;
}

interface Piece {
  readonly role: Role;
  readonly day: string;
  readonly pull: number;
  readonly gear: number | null;
  readonly stretch: number | null;
  readonly points: PullPoint[];
}

/** What is compared at a point; null where it is not known there. */
export type Measured = (q: GatheredPull['points'][number], airFactor: number) => number | null;

const lnPressure: Measured = (q, airFactor) => (q.mapKpa > 0 ? Math.log(q.mapKpa / airFactor) : null);

export function cellValues(runs: readonly BoostRun[], measured: Measured = lnPressure): CellValue[] {
  const pulls = runs.flatMap((r) => r.gathered.pulls);
  const gearOf = gearsAcross(pulls);
  const placed = pulls.filter((p) => p.way !== null);
  const numbers = stretchesOf(placed.map((p) => p.way!));
  const stretches = new Map(placed.map((p, i) => [p, numbers[i]!]));
  const cells = new Map<string, { rpmBin: number; demandBin: number; pieces: Piece[] }>();
  const points: Record<Role, PullPoint[]> = { before: [], after: [] };
  let pull = 0;
  for (const { role, day, gathered, airFactor } of runs)
    for (const p of gathered.pulls) {
      pull++;
      const factor = airFactor * (airOfPull(gathered, p) / (gathered.baro?.kpa ?? 1));
      for (const q of p.points) {
        const demandBin = DEMAND_BINS.findIndex(([low, high]) => q.demand >= low && q.demand < high);
        const y = measured(q, factor);
        if (demandBin < 0 || y === null) continue;
        const point = { rpm: q.rpm, demand: q.demand, y };
        points[role].push(point);
        const rpmBin = Math.floor(q.rpm / BIN_RPM);
        const key = `${rpmBin} ${demandBin}`;
        const cell = cells.get(key) ?? { rpmBin, demandBin, pieces: [] };
        cells.set(key, cell);
        const last = cell.pieces.at(-1);
        if (last?.pull === pull) last.points.push(point);
        else {
          const stretch = stretches.get(p) ?? null;
          cell.pieces.push({ role, day, pull, gear: gearOf(p), stretch, points: [point] });
        }
      }
    }
  return [...cells.values()].flatMap(({ rpmBin, demandBin, pieces }) => {
    const all = pieces.flatMap((p) => p.points);
    const rpm = mean(all.map((p) => p.rpm));
    const demand = mean(all.map((p) => p.demand));
    const slope = {
      before: planeAt(points.before, rpm, demand),
      after: planeAt(points.after, rpm, demand),
    };
    return pieces.map(({ role, day, pull: number, gear, stretch, points: own }) => {
      const { perRpm, perDemand } = slope[role];
      const value =
        mean(own.map((p) => p.y)) -
        perRpm * (mean(own.map((p) => p.rpm)) - rpm) -
        perDemand * (mean(own.map((p) => p.demand)) - demand);
      return { rpmBin, demandBin, gear, role, day, pull: number, stretch, value };
    });
  });
}

/** Where it was driven, else of the run; 1 where nothing is known. */
const airOfPull = ({ baro }: Gathered, { airKpa }: GatheredPull): number => airKpa ?? baro?.kpa ?? 1;

export interface Matching {
  /** By engine speed and demand alone. */
  readonly acrossGears: boolean;
  /** Only on the same stretch of road. */
  readonly onRoad: boolean;
}

export function observationsOf(values: readonly CellValue[], by: Matching): ComparedPoint[] {
  const chosen = by.onRoad ? values.filter((v) => v.stretch !== null) : values;
  return chosen.map((v) => ({
    side: v.role,
    pull: v.pull,
    day: v.day,
    point: `${v.rpmBin} ${v.demandBin} ${by.acrossGears ? '' : (v.gear ?? 'no gear')} ${by.onRoad ? v.stretch : ''}`,
    value: v.value,
  }));
}

/** Names gears by their ratio, the same in every run; null where a pull has none. */
function gearsAcross(pulls: readonly GatheredPull[]): (pull: GatheredPull) => number | null {
  const ratios = pulls.flatMap((p) => (p.ratio === null ? [] : [Math.log(p.ratio)])).sort((a, b) => a - b);
  const upTo: number[] = [];
  ratios.forEach((r, i) => {
    const next = ratios[i + 1];
    if (next === undefined || next - r > SAME_GEAR) upTo.push(r);
  });
  return (pull) => {
    if (pull.ratio === null) return null;
    const log = Math.log(pull.ratio);
    return upTo.findIndex((r) => log <= r);
  };
}

/**
 * Slopes of one side's samples about a point, by weighted least squares. The ridge of one reach keeps a side whose
 * samples all lie together from inventing a slope.
 */
function planeAt(
  points: readonly PullPoint[],
  rpm: number,
  demand: number,
): { perRpm: number; perDemand: number } {
  let [w, sx, sz, sy, sxx, szz, sxz, sxy, szy] = [0, 0, 0, 0, 0, 0, 0, 0, 0];
  for (const p of points) {
    const x = (p.rpm - rpm) / REACH_RPM;
    const z = (p.demand - demand) / REACH_DEMAND;
    if (Math.abs(x) > 1 || Math.abs(z) > 1) continue;
    const k = (1 - x * x) * (1 - z * z);
    w += k;
    sx += k * x;
    sz += k * z;
    sy += k * p.y;
    sxx += k * x * x;
    szz += k * z * z;
    sxz += k * x * z;
    sxy += k * x * p.y;
    szy += k * z * p.y;
  }
  if (w === 0) return { perRpm: 0, perDemand: 0 };
  const a = sxx - (sx * sx) / w + RIDGE;
  const b = sxz - (sx * sz) / w;
  const c = szz - (sz * sz) / w + RIDGE;
  const p = sxy - (sx * sy) / w;
  const q = szy - (sz * sy) / w;
  const det = a * c - b * b;
  return { perRpm: (c * p - b * q) / det / REACH_RPM, perDemand: (a * q - b * p) / det / REACH_DEMAND };
}

const mean = (list: readonly number[]): number => list.reduce((a, b) => a + b, 0) / list.length;
