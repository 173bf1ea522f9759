/** Service 01 against an outside decoder's table: 89 PIDs that nobody here decoded. */
import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { expect } from 'vitest';
import { fromHex } from '../../src/core/hex.ts';
import { decodeBitmap, decodePid } from '../../src/j1979/decode.ts';
import { pidText } from '../../src/j1979/pids.ts';
import { hasShared, needs, SHARED } from '../require.ts';

interface Row {
  readonly pid: string;
  readonly bytes: string;
  readonly values: readonly {
    readonly label: string;
    readonly value: number | readonly string[];
    readonly unit: string | null;
    readonly text?: string;
  }[];
}

const UNITS: Readonly<Record<string, string>> = {
  '°C': 'degC',
  '°BTDC': 'deg',
  degrees: 'deg',
  minutes: 'min',
};
/** The outside decoder takes 2/65536 or 2/65535 (its README): everything else must agree to rounding. */
const isRatio = (pid: string): boolean => /^(2[4-9AB]|3[4-9AB]|44)$/.test(pid);
const range = (from: number, to: number): string[] =>
  Array.from({ length: to - from + 1 }, (_, i) => pidText(from + i));

const withTable = needs(hasShared('oracle/mode01-table.json'), 'shared/oracle/mode01-table.json');

withTable('service 01 agrees with the outside table, row by row', () => {
  const { rows } = JSON.parse(readFileSync(join(SHARED, 'oracle/mode01-table.json'), 'utf8')) as {
    rows: readonly Row[];
  };
  const compared = new Map<string, number>();
  const wrong: string[] = [];
  for (const row of rows) {
    const pid = Number.parseInt(row.pid, 16);
    const data = fromHex(row.bytes)!;
    const at = `${row.pid} ${row.bytes}`;
    const found = decodePid(pid, data).readings.filter((r) => typeof r.value === 'number');
    const bitmap = row.values[0]?.value;
    if (Array.isArray(bitmap)) {
      const ours = decodeBitmap(pid, data)!.map(pidText);
      if (JSON.stringify(ours) !== JSON.stringify(bitmap)) wrong.push(`${at}: ${ours} not ${bitmap}`);
      compared.set(row.pid, (compared.get(row.pid) ?? 0) + 1);
      continue;
    }
    const theirs = row.values.filter((v) => v.label !== 'Oxygen Sensor ID');
    // 14-1B: byte B, the trim, is not decoded outside (README); 06-09 have no byte B in the table.
    const ours = /^1[4-9AB]$/.test(row.pid) ? found.slice(0, 1) : found;
    if (ours.length !== theirs.length) {
      wrong.push(`${at}: ${ours.length} values, outside ${theirs.length}`);
      continue;
    }
    for (const [i, v] of theirs.entries()) {
      const mine = ours[i]!;
      const a = mine.value as number;
      const b = v.value as number;
      const tolerance = isRatio(row.pid) ? 2e-5 : 1e-9;
      if (Math.abs(a - b) > tolerance * Math.max(Math.abs(a), Math.abs(b)) + 1e-12)
        wrong.push(`${at} ${mine.signal}: ${a}, outside ${b}`);
      // 32: the outside unit is wrong by its own README; counts and codes have no unit there.
      const unit = v.unit === null ? null : (UNITS[v.unit] ?? v.unit);
      const same =
        row.pid === '32'
          ? mine.unit === 'Pa'
          : unit === null
            ? /^(1|count)$/.test(mine.unit!)
            : unit === mine.unit;
      if (!same) wrong.push(`${at} ${mine.signal}: unit ${mine.unit}, outside ${v.unit}`);
    }
    compared.set(row.pid, (compared.get(row.pid) ?? 0) + 1);
  }
  expect(wrong.slice(0, 20)).toEqual([]);
  const expected = [
    ...['00', '20', '40', '60', '80', 'A0', 'C0', '03', '12', '1C', '51', '1F', '52', '53'],
    ...range(0x04, 0x11),
    ...range(0x14, 0x1b),
    ...range(0x21, 0x3f),
    ...range(0x42, 0x4e),
    ...range(0x59, 0x5e),
    ...range(0x61, 0x63),
  ];
  expect([...compared.keys()].sort()).toEqual(expected.sort());
  expect([...compared.values()].reduce((a, b) => a + b, 0)).toBe(rows.length);
});
