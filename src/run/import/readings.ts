/**
 * Which values of a table are readings. Programs that export on a grid of time carry the last reading forward, also
 * through a hole, or draw straight lines between readings. Evidence counts readings.
 */
import { quantile } from 'simple-statistics';
import { saying } from '../../core/error-says.ts';
import type { Says } from '../../core/says.ts';
import { SampleTable } from '../../signal/table.ts';

/** Signals fine enough to differ from reading to reading while they move. */
const FINE = ['rpm', 'maf_gps'] as const;
/** So many values on either side tell how fast a signal moves, and so many steps of it from value to value are fast (chosen by hand, not measured). */
const VALUES_BESIDE = 12;
const FAST_STEPS = 3;
const FEWEST_FAST = 30;
/** The step of a signal: so many of its changes are smaller. Chosen by hand, not measured. */
const STEP_QUANTILE = 0.05;
/**
 * Of values that move fast fewer differ from the one before than this: carried forward. Of the 45 diesel trips 0.84 and
 * more differ as they were read, 0.57 and fewer carried forward on a grid of half a second; the petrol drives of the open
 * data come carried forward, 0.27 to 0.28. Chosen on trip-26 and trip-60 and all drives as they are.
 */
const DIFFERING = 0.7;
/** More of them than this on a straight line: drawn in between. As read at most 0.12, drawn every 0.1 s 0.75 and more (same drives). */
const ON_A_LINE = 0.4;
/**
 * Control units answer speed, temperatures and pressure in whole numbers (SAE J1979), at which a signal also rests. Of the values that
 * it passes on its way up or down fewer than this are no whole numbers and none at which it rests; more: drawn on lines that no longer
 * show. Of speed, in every eighth of the 80 open drives (chosen on), 0.29 at most as read, 0.37 as means of a second, 0.88 and more drawn.
 */
const STEPPED = ['speed_kmh', 'ect_c', 'iat_c', 'map_kpa'] as const;
const BETWEEN_STEPS = 0.6;
/** So many values passed tell, of speed and of one signal more (chosen by hand, not measured). */
const FEWEST_PASSED = 50;
/** A signal rests at whole numbers where so many of the values that stand still are whole; others may be as fine as they are written (chosen by hand, not measured). */
const RESTS_WHOLE = 0.8;
/** A line bends by less than so many steps, of what it rises by in two values; rounding allows one. Chosen by hand, not measured. */
const BEND_SHARE = 1 / 6;
/** Of equal values one in so many times the mean distance of readings is taken for one: they jitter (chosen by hand on trip-26). */
const READINGS_APART = 1.2;
/**
 * Longer than this no running engine holds its speed, air mass, load and pressure to the last digit: of the 80 open drives
 * 8.3 s at most, but where the recording has a hole. The limit chosen with all of them in view.
 */
const STILL_US = 15e6;
/** With fewer values of engine speed in it, it is a hole as it is (chosen by hand, not measured). */
const FEWEST_REPEATED = 10;

interface Series {
  readonly signal: string;
  readonly tUs: number[];
  readonly value: number[];
}

/**
 * @returns the table without what was certainly no reading, and what is said of it; the same table where all are; `none` where none is:
 * drawn on lines so short that they cannot be told from one another; `carried` where rows are closer than readings
 */
export function readingsOf(table: SampleTable): {
  readonly table: SampleTable;
  readonly said: Says | null;
  readonly none: boolean;
  readonly carried: boolean;
} {
  const all = seriesOf(table);
  const moving = FINE.flatMap((name) => all.find((s) => s.signal === name) ?? [])
    .map((s) => fastMoves(s.value))
    .find((m) => m.pairs >= FEWEST_FAST);
  const carried = moving !== undefined && moving.differing < DIFFERING;
  const drawn = moving !== undefined && !carried && moving.onLine > ON_A_LINE;
  const holes = drawn ? [] : holesOf(all);
  if (!carried && !drawn && isBetweenSteps(all)) return { table, said: null, none: true, carried };
  if (!carried && !drawn && holes.length === 0) return { table, said: null, none: false, carried };
  const out = new SampleTable();
  for (const { signal, tUs, value } of all) {
    const places = carried
      ? notCarried(value, Math.round(READINGS_APART / Math.max(moving.differing, 1e-3)))
      : drawn
        ? bends(value, Math.round(2 / (1 - moving.onLine))) // a reading between two points of the grid bends at both
        : value.keys();
    for (const i of places) {
      const t = tUs[i]!;
      if (!holes.some(([from, to]) => t > from && t < to))
        out.push({ signal, tUs: t, sentUs: t, value: value[i]! });
    }
  }
  out.sort();
  const id = drawn ? 'warn.drawn' : 'warn.carried';
  return {
    table: out,
    said: out.length < table.length ? saying(id, { n: out.length, of: table.length }) : null,
    none: false,
    carried,
  };
}

function seriesOf(table: SampleTable): Series[] {
  const by = new Map<string, Series>(table.names.map((signal) => [signal, { signal, tUs: [], value: [] }]));
  for (const { signal, tUs, value } of table) {
    const s = by.get(signal)!;
    s.tUs.push(tUs);
    s.value.push(value);
  }
  return [...by.values()];
}

/** Of values amid a fast move: how many, the share that differs from the next, and the share on a line with both beside it. */
function fastMoves(value: readonly number[]): { pairs: number; differing: number; onLine: number } {
  const step = stepOf(value);
  let [pairs, differing, onLine] = [0, 0, 0];
  if (step === null) return { pairs, differing, onLine };
  for (let i = VALUES_BESIDE; i + VALUES_BESIDE < value.length; i++) {
    const moved = Math.abs(value[i + VALUES_BESIDE]! - value[i - VALUES_BESIDE]!);
    if (moved < FAST_STEPS * 2 * VALUES_BESIDE * step) continue;
    pairs++;
    const [before, here, next] = [value[i - 1]!, value[i]!, value[i + 1]!];
    if (next !== here) differing++;
    if (before !== here && next !== here && isStraight(before, here, next, step)) onLine++;
  }
  return { pairs, differing: differing / pairs, onLine: onLine / pairs };
}

/** Whether values lie where a control unit gives none: speed's, and those of every other signal that shows it. */
function isBetweenSteps(all: readonly Series[]): boolean {
  const shares = STEPPED.map((name) => {
    const s = all.find(({ signal }) => signal === name);
    return s ? shareBetweenSteps(s.value) : null;
  });
  const told = shares.filter((share) => share !== null);
  return shares[0] !== null && told.length > 1 && told.every((share) => share > BETWEEN_STEPS);
}

/** Of values passed on the way up or down, the share at which the signal never rests; null where too few are, or it rests anywhere. */
function shareBetweenSteps(value: readonly number[]): number | null {
  const resting = value.filter((v, i) => v !== 0 && v === value[i - 1]);
  if (resting.filter(Number.isInteger).length < RESTS_WHOLE * resting.length) return null;
  const rests = new Set(resting);
  let [passed, never] = [0, 0];
  for (let i = 1; i + 1 < value.length; i++) {
    const here = value[i]!;
    if ((here - value[i - 1]!) * (value[i + 1]! - here) <= 0) continue;
    passed++;
    if (!Number.isInteger(here) && !rests.has(here)) never++;
  }
  return passed < FEWEST_PASSED || resting.length === 0 ? null : never / passed;
}

function stepOf(value: readonly number[]): number | null {
  const changes: number[] = [];
  for (let i = 1; i < value.length; i++) {
    const change = Math.abs(value[i]! - value[i - 1]!);
    if (change > 0) changes.push(change);
  }
  return changes.length < FEWEST_FAST ? null : quantile(changes, STEP_QUANTILE);
}

const isStraight = (before: number, here: number, next: number, step: number): boolean =>
  Math.abs(before - 2 * here + next) <= 1.01 * Math.min(step, Math.abs(next - before) * BEND_SHARE);

/** Places of readings: a value that differs from the one before is one; of those that do not, one in so many. */
function notCarried(value: readonly number[], every: number): number[] {
  const places: number[] = [];
  for (const [i, v] of value.entries())
    if (i === 0 || v !== value[i - 1] || i - places.at(-1)! >= every) places.push(i);
  return places;
}

/**
 * Where a running engine, or a vehicle on the move, stands still in all that moves for longer than it can, nothing was read: from, to,
 * microseconds; to the end where nothing moves any more. Engine and vehicle speed alone may stand still at idle.
 */
function holesOf(all: readonly Series[]): (readonly [number, number])[] {
  const of = (names: readonly string[]): Series[] => all.filter((s) => names.includes(s.signal));
  const turning = of(['rpm', 'speed_kmh']);
  const breathing = of(['map_kpa', 'maf_gps', 'load_pct']);
  const rpmUs = turning.find((s) => s.signal === 'rpm')?.tUs;
  if (!rpmUs || breathing.length === 0) return [];
  const changes = [...turning, ...breathing]
    .flatMap(({ tUs, value }) => tUs.filter((_, i) => i > 0 && value[i] !== value[i - 1]))
    .sort((a, b) => a - b);
  const endUs = Math.max(...all.map((s) => s.tUs.at(-1) ?? 0));
  const at = turning.map(() => 0);
  let k = 0;
  const holes: (readonly [number, number])[] = [];
  for (const [i, fromUs] of changes.entries()) {
    const toUs = changes[i + 1] ?? endUs;
    if (toUs - fromUs < STILL_US) continue;
    for (const [n, { tUs }] of turning.entries()) while (tUs[at[n]! + 1]! <= fromUs) at[n]!++;
    if (!turning.some((s, n) => s.value[at[n]!]! > 0)) continue;
    while (rpmUs[k]! <= fromUs) k++;
    const first = k;
    while (rpmUs[k]! < toUs) k++;
    if (k - first >= FEWEST_REPEATED)
      holes.push([fromUs, i + 1 < changes.length ? toUs : Number.POSITIVE_INFINITY]);
  }
  return holes;
}

/**
 * Places where lines bend, of two beside each other the first. On a line that neither rises nor falls readings may lie,
 * so one in so many is kept; on others only what was drawn.
 */
function bends(value: readonly number[], every: number): number[] {
  const step = stepOf(value) ?? 0;
  const places: number[] = [];
  for (const [i, here] of value.entries()) {
    const [before, next] = [value[i - 1], value[i + 1]];
    const last = places.at(-1) ?? Number.NEGATIVE_INFINITY;
    const end = before === undefined || next === undefined;
    const bent = end || (i - last > 1 && !isStraight(before, here, next, step));
    if (bent || (here === before && i - last >= every)) places.push(i);
  }
  return places;
}
