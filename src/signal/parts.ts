/** A table whose time jumps by hours holds several drives: they are judged apart, for nothing is known of between. */
import { SampleTable } from './table.ts';

/** An engine cools, a car is refuelled, driven, worked on: longer than any halt of a road test (common practice, no source). */
export const JUMP_S = 3600;

export interface TablePart {
  /** Times begin at zero. */
  readonly table: SampleTable;
  /** Where in the whole table's time it begins, seconds. */
  readonly startsAtS: number;
}

export const isJump = (fromUs: number, toUs: number): boolean => toUs - fromUs >= JUMP_S * 1e6;

/** @param table in order of time */
export function hasJump(table: SampleTable): boolean {
  for (let i = 1; i < table.length; i++) if (isJump(table.tUs(i - 1), table.tUs(i))) return true;
  return false;
}

/** @param table in order of time. A table without a jump comes back as it is. */
export function partsOf(table: SampleTable): TablePart[] {
  const starts = [0];
  for (let i = 1; i < table.length; i++) if (isJump(table.tUs(i - 1), table.tUs(i))) starts.push(i);
  if (starts.length === 1) return [{ table, startsAtS: 0 }];
  return starts.map((from, k) => {
    const part = new SampleTable();
    const by = k === 0 ? 0 : table.tUs(from);
    const to = starts[k + 1] ?? table.length;
    for (let i = from; i < to; i++) {
      const s = table.at(i);
      part.push({ ...s, tUs: s.tUs - by, sentUs: s.sentUs - by });
    }
    return { table: part, startsAtS: by / 1e6 };
  });
}
