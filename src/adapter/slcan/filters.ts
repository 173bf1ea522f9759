/**
 * Acceptance filters and status flags of serial-line CAN adapters. Neither is the same everywhere: filters are tried
 * and checked, and what the adapter passes on is looked at here all the same. Common practice, from memory.
 */
import type { Says } from '../../core/says.ts';
import { say } from '../../core/wire-says.ts';

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
  { bit: 0x01, says: say('flag.receive-full') },
  { bit: 0x02, says: say('flag.send-full') },
  { bit: 0x04, says: say('flag.errors') },
  { bit: 0x08, says: say('flag.lost') },
  { bit: 0x20, says: say('flag.passive') },
  { bit: 0x40, says: say('flag.arbitration') },
  { bit: 0x80, says: say('flag.bus-errors') },
] as const;

/** "F84" → what its flags mean; null when that is no status. */
export function readStatus(text: string): readonly Says[] | null {
  const m = /^F([0-9A-Fa-f]{2})$/.exec(text.trim());
  if (!m) return null;
  const flags = Number.parseInt(m[1] ?? '', 16);
  return FLAGS.filter((f) => (flags & f.bit) !== 0).map((f) => f.says);
}
