/** Readings of one signal at one time: the same row written twice, or times told more coarsely than the rows came. */
import type { Sample } from '../../core/signals.ts';
import { SampleTable } from '../../signal/table.ts';

/** Further than this no time is shared out: what comes next is after a hole. One second is what clocks are cut to. */
const MOST_STEP_US = 1e6;
/** More readings of a signal at one time than this have no time at all (chosen by hand, not measured). */
const MOST_SHARING = 1000;

export interface Apart {
  readonly table: SampleTable;
  /** Readings that stood twice and count once. */
  readonly repeated: number;
  /** Readings that were given a time of their own. */
  readonly spread: number;
}

/**
 * Equal rows that follow each other at one time count once; where a signal was then still read more than once, the rows lie
 * evenly between that time and the next, in the order in which they stood.
 * @param table in order of time; comes back as it is where no signal was read twice at one time
 * @param backwards the table was written from its end
 */
export function setApart(table: SampleTable, backwards: boolean): Apart {
  if (!sharesTimes(table)) return { table, repeated: 0, spread: 0 };
  const out = new SampleTable();
  let repeated = 0;
  let spread = 0;
  let stepUs = MOST_STEP_US;
  for (let from = 0, to = 0; from < table.length; from = to) {
    const tUs = table.tUs(from);
    const group: Sample[] = [];
    for (to = from; to < table.length && table.tUs(to) === tUs; to++) group.push(table.at(to));
    if (to < table.length) stepUs = Math.min(MOST_STEP_US, table.tUs(to) - tUs);
    const rows = rowsOf(group, backwards);
    const once = [...rows.entries()].filter(([k, row]) => k === 0 || !equal(row, rows[k - 1]!));
    repeated += (rows.length - once.length) * rows[0]!.length;
    const each = once.length > 1 && rows.length <= MOST_SHARING && twice(once.flatMap(([, row]) => row));
    for (const [k, row] of once) {
      const by = each ? Math.round((k * stepUs) / rows.length) : 0;
      if (by > 0) spread += row.length;
      for (const s of row) out.push(by === 0 ? s : { ...s, tUs: tUs + by, sentUs: s.sentUs + by });
    }
  }
  return { table: out, repeated, spread };
}

function sharesTimes(table: SampleTable): boolean {
  let at = Number.NaN;
  const seen = new Set<string>();
  for (const s of table) {
    if (s.tUs !== at) {
      at = s.tUs;
      seen.clear();
    }
    if (seen.has(s.signal)) return true;
    seen.add(s.signal);
  }
  return false;
}

/** What was read together: rows that hold the same signals; else each reading by itself. */
function rowsOf(group: readonly Sample[], backwards: boolean): Sample[][] {
  const rows: Sample[][] = [];
  const names = new Set<string>();
  for (const s of group) {
    if (rows.length === 0 || names.has(s.signal)) {
      rows.push([]);
      names.clear();
    }
    names.add(s.signal);
    rows.at(-1)!.push(s);
  }
  const even = rows.every((row) => row.length === rows[0]!.length);
  const parted = even ? rows : group.map((s) => [s]);
  return backwards ? parted.reverse() : parted;
}

const equal = (a: readonly Sample[], b: readonly Sample[]): boolean =>
  a.length === b.length && a.every((s, k) => s.signal === b[k]!.signal && s.value === b[k]!.value);

/** Whether any signal was read more than once. */
const twice = (group: readonly Sample[]): boolean => new Set(group.map((s) => s.signal)).size < group.length;
