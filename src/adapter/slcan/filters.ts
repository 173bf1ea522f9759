/**
 * Acceptance filters and status flags of serial-line CAN adapters. Neither is the same everywhere: filters are tried
 * and checked, and what the adapter passes on is looked at here all the same. Common practice, from memory.
 */

/** What follows `M` (code) and `m` (mask), as eight hex digits. */
export interface FilterSetting {
  readonly code: string;
  readonly mask: string;
}

/** Everything passes, in the meaning most adapters start with: mask bits that are set do not count. */
export const ALL_PASS: FilterSetting = { code: '00000000', mask: 'FFFFFFFF' };

/**
 * For the addresses that control units answer from (7E8–7EF, 18DAF1xx), in the order worth trying.
 * First the registers of a classic controller with two filters of sixteen bits, address bits to the left, set mask
 * bits do not count: one for each kind of address. For short addresses the lowest four bits are part of the first
 * filter, and stand for data there: they are left open. From memory of that controller. Then plain address and mask, set mask bits count.
 */
export const ANSWERS_ONLY: readonly FilterSetting[] = [
  { code: 'FD00C6D7', mask: '00FF000F' },
  { code: '000007E8', mask: '000007F8' },
  { code: '18DAF100', mask: '1FFFFF00' },
];

const FLAGS = [
  { bit: 0x01, says: 'its receive queue ran over: the bus brings more than the line carries' },
  { bit: 0x02, says: 'its send queue is full' },
  { bit: 0x04, says: 'many errors on the bus' },
  { bit: 0x08, says: 'frames were lost in it' },
  { bit: 0x20, says: 'so many errors that it no longer disturbs the bus with them' },
  { bit: 0x40, says: 'another device spoke first' },
  { bit: 0x80, says: 'errors on the bus: bit rate, wiring, or nobody who acknowledges' },
] as const;

/** "F84" → what its flags mean; null when that is no status. */
export function readStatus(text: string): readonly string[] | null {
  const m = /^F([0-9A-Fa-f]{2})$/.exec(text.trim());
  if (!m) return null;
  const flags = Number.parseInt(m[1] ?? '', 16);
  return FLAGS.filter((f) => (flags & f.bit) !== 0).map((f) => f.says);
}
