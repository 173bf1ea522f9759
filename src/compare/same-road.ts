/**
 * Which pulls were driven on the same stretch of road in the same direction, where a satellite receiver told the places.
 * Only the numbers of pulls and stretches leave this module; places go nowhere.
 */
import type { Place, Places } from '../nmea/places.ts';

/** The way of one pull, from its beginning to its end. */
export type Way = readonly Place[];

/** Places from this long before a pull to as long after it, and nearer to each other than the hole, make its way, µs. Chosen by hand. */
const AROUND_US = 1_200_000;
const WAY_HOLE_US = 3_500_000;
/**
 * A place and its counterpart on another drive lie this near to each other, m: a receiver without correction is off by
 * about 5 m (common practice, no source), each of two; the rest is lanes and the bends between two places.
 */
const SAME_ROAD_M = 25;
/** And their directions differ by no more than this, degrees. Chosen by hand, not measured. */
const SAME_WAY_DEG = 45;
/** So much of the shorter of two ways lies on the other one. Chosen by hand, not measured. */
const SAME_ROAD_SHARE = 0.5;
/** Ways are followed in steps of this, m; one shorter than it tells no direction. Not known how chosen. */
const STEP_M = 10;
/** Mean radius of the Earth (IUGG 1980): 6,371,009 m. Degrees by definition. */
const HALF_TURN_DEG = 180;
const TURN_DEG = 2 * HALF_TURN_DEG;
const M_PER_DEG = (6_371_009 * Math.PI) / HALF_TURN_DEG;

/** Null where the receiver was not heard throughout. */
export function wayOf(places: Places, fromUs: number, toUs: number): Way | null {
  const way = places.between(fromUs - AROUND_US, toUs + AROUND_US);
  const [first, last] = [way[0], way.at(-1)];
  if (first === undefined || last === undefined || way.length < 2) return null;
  if (first.tUs > fromUs + AROUND_US || last.tUs < toUs - AROUND_US) return null;
  return way.some((p, i) => i > 0 && p.tUs - way[i - 1]!.tUs > WAY_HOLE_US) ? null : way;
}

/**
 * Stretches by number, one for each way. The longest way is a stretch; what lies on it by half of itself belongs to it; the
 * longest of the rest is the next. Nothing but the ways decides it.
 */
export function stretchesOf(ways: readonly Way[]): readonly number[] {
  const origin = ways[0]?.[0];
  if (origin === undefined) return [];
  const lines = ways.map((way, i) => ({ i, line: lineOf(way, origin) }));
  const stretch = ways.map(() => -1);
  const byLength = lines.toSorted((a, b) => b.line.lengthM - a.line.lengthM || a.i - b.i);
  let count = 0;
  for (const { i, line: longest } of byLength) {
    if (stretch[i] !== -1) continue;
    for (const { i: k, line } of byLength)
      if (stretch[k] === -1 && (k === i || shareOn(line, longest) >= SAME_ROAD_SHARE)) stretch[k] = count;
    count++;
  }
  return stretch;
}

/** A piece of a way, in metres from the origin, with its direction as a unit vector. */
interface Piece {
  readonly x: number;
  readonly y: number;
  readonly lengthM: number;
  readonly ux: number;
  readonly uy: number;
}

interface Line {
  readonly pieces: readonly Piece[];
  readonly lengthM: number;
  readonly box: readonly [west: number, south: number, east: number, north: number];
}

function lineOf(way: Way, origin: Place): Line {
  const perLon = M_PER_DEG * Math.cos((origin.latDeg * Math.PI) / HALF_TURN_DEG);
  const points = way.map((p) => {
    // Across the date line the shorter way round.
    const east = ((p.lonDeg - origin.lonDeg + TURN_DEG + HALF_TURN_DEG) % TURN_DEG) - HALF_TURN_DEG;
    return [east * perLon, (p.latDeg - origin.latDeg) * M_PER_DEG] as const;
  });
  const pieces: Piece[] = [];
  let [x, y] = points[0]!;
  for (const [toX, toY] of points.slice(1)) {
    const lengthM = Math.hypot(toX - x, toY - y);
    if (lengthM < STEP_M) continue;
    pieces.push({ x, y, lengthM, ux: (toX - x) / lengthM, uy: (toY - y) / lengthM });
    [x, y] = [toX, toY];
  }
  const xs = points.map((p) => p[0]);
  const ys = points.map((p) => p[1]);
  return {
    pieces,
    lengthM: pieces.reduce((a, p) => a + p.lengthM, 0),
    box: [
      Math.min(...xs) - SAME_ROAD_M,
      Math.min(...ys) - SAME_ROAD_M,
      Math.max(...xs) + SAME_ROAD_M,
      Math.max(...ys) + SAME_ROAD_M,
    ],
  };
}

/** How much of `a` lies on `b` in the same direction, 0 to 1. */
function shareOn(a: Line, b: Line): number {
  if (a.box[0] > b.box[2] || b.box[0] > a.box[2] || a.box[1] > b.box[3] || b.box[1] > a.box[3]) return 0;
  let steps = 0;
  let on = 0;
  for (const { x, y, lengthM, ux, uy } of a.pieces) {
    for (let at = STEP_M / 2; at < lengthM; at += STEP_M) {
      steps++;
      if (b.pieces.some((piece) => liesOn(x + at * ux, y + at * uy, ux, uy, piece))) on++;
    }
  }
  return steps === 0 ? 0 : on / steps;
}

/** By definition. */
const SAME_WAY = Math.cos((SAME_WAY_DEG * Math.PI) / 180);

function liesOn(x: number, y: number, ux: number, uy: number, p: Piece): boolean {
  if (ux * p.ux + uy * p.uy < SAME_WAY) return false;
  const along = Math.max(0, Math.min(p.lengthM, (x - p.x) * p.ux + (y - p.y) * p.uy));
  return Math.hypot(x - p.x - along * p.ux, y - p.y - along * p.uy) <= SAME_ROAD_M;
}
