/** Service 01 against an outside decoder: its table of 89 PIDs always, the decoder itself where it is installed. */
import { execFileSync } from 'node:child_process';
import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { expect } from 'vitest';
import { fromHex, toHex } from '../../src/core/hex.ts';
import { seededRandom } from '../../src/core/random.ts';
import { Sender } from '../../src/isotp/sender.ts';
import { decodeBitmap, decodePid, encodeBitmap, encodePid } from '../../src/j1979/decode.ts';
import { FrameDecoder } from '../../src/j1979/decode-frames.ts';
import { valueOfRaw } from '../../src/j1979/fields.ts';
import { encodeInfo, INFO } from '../../src/j1979/info.ts';
import { PIDS, pidText } from '../../src/j1979/pids.ts';
import { hasShared, needs, onPath, SHARED } from '../require.ts';

interface Row {
  readonly pid: string;
  readonly bytes: string;
  readonly values: readonly {
    readonly label: string;
    readonly value: number | string | readonly string[];
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

/** What the outside table covers: a PID that drops out there or here must be seen. */
const COVERED = [
  ...['00', '20', '40', '60', '80', 'A0', 'C0', '03', '12', '1C', '51', '1F', '52', '53'],
  ...range(0x04, 0x11),
  ...range(0x14, 0x1b),
  ...range(0x21, 0x3f),
  ...range(0x42, 0x4e),
  ...range(0x59, 0x5e),
  ...range(0x61, 0x63),
].sort();

const withTable = needs(hasShared('oracle/mode01-table.json'), 'shared/oracle/mode01-table.json');

/** Differences of one row, as text; empty when both agree. */
function differences(row: Row): string[] {
  const data = fromHex(row.bytes)!;
  const pid = Number.parseInt(row.pid, 16);
  const at = `${row.pid} ${row.bytes}`;
  const bitmap = row.values[0]?.value;
  if (Array.isArray(bitmap)) {
    const ours = decodeBitmap(pid, data)!.map(pidText);
    return JSON.stringify(ours) === JSON.stringify(bitmap) ? [] : [`${at}: ${ours}, outside ${bitmap}`];
  }
  const found = decodePid(pid, data).readings.filter((r) => typeof r.value === 'number');
  const theirs = row.values.filter((v) => v.label !== 'Oxygen Sensor ID');
  // 14-1B: byte B, the trim, is not decoded outside (its README).
  const ours = /^1[4-9AB]$/.test(row.pid) ? found.slice(0, 1) : found;
  if (ours.length !== theirs.length) return [`${at}: ${ours.length} values, outside ${theirs.length}`];
  const wrong: string[] = [];
  for (const [i, v] of theirs.entries()) {
    const mine = ours[i]!;
    const a = mine.value as number;
    const b = v.value as number;
    const tolerance = isRatio(row.pid) ? 2e-5 : 1e-9;
    if (Math.abs(a - b) > tolerance * Math.max(Math.abs(a), Math.abs(b)) + 1e-12)
      wrong.push(`${at} ${mine.signal}: ${a}, outside ${b}`);
    // 32: the outside unit is wrong by its own README; counts and codes have no unit there.
    const unit = v.unit === null ? null : (UNITS[v.unit] ?? v.unit);
    let same = unit === mine.unit;
    if (row.pid === '32') same = mine.unit === 'Pa';
    else if (unit === null) same = mine.unit === '1' || mine.unit === 'count';
    if (!same) wrong.push(`${at} ${mine.signal}: unit ${mine.unit}, outside ${v.unit}`);
    // A code has a name here if and only if it has one there; its README says where that one errs.
    const deviates = (row.pid === '03' && b === 0) || (row.pid === '1C' && b > 0x20);
    if (v.text !== undefined && !deviates) {
      const named = v.text !== 'Unknown' && v.text !== 'Reserved';
      if (named === mine.text!.startsWith('code ')) wrong.push(`${at}: ${mine.text}, outside ${v.text}`);
    }
  }
  return wrong;
}

withTable('service 01 agrees with the outside table, row by row', () => {
  const { rows } = JSON.parse(readFileSync(join(SHARED, 'oracle/mode01-table.json'), 'utf8')) as {
    rows: readonly Row[];
  };
  const wrong = rows.flatMap(differences);
  expect(wrong.slice(0, 20)).toEqual([]);
  expect(rows.length).toBeGreaterThan(2400);
  expect([...new Set(rows.map((r) => r.pid))].sort()).toEqual(COVERED);
});

interface OutsideMessage {
  readonly line: number;
  readonly payload?: string;
  readonly pid?: string;
  readonly raw?: string;
  readonly values?: Row['values'];
}

/** Frames of a message as lines, all at once: the outside decoder needs no flow control. */
function frames(id: string, payload: Uint8Array): string[] {
  const sender = new Sender(payload);
  const events = [
    ...sender.start(0),
    ...(payload.length > 7 ? sender.push(Uint8Array.of(0x30, 0, 0), 0) : []),
  ];
  return events.flatMap((e) => (e.kind === 'frame' ? [`${id}#${toHex(e.bytes)}`] : []));
}

const live = needs(
  hasShared('oracle/decode.py') && onPath('tshark') && onPath('python3'),
  'tshark, python3 and shared/oracle/decode.py',
);

live('frames of our own encoders, several PIDs in one and over several frames, read the same outside', () => {
  const random = seededRandom('oracle');
  const dataOf = (pid: number): Uint8Array => {
    const def = PIDS[pid]!;
    if (def.kind === 'bitmap')
      return encodeBitmap(
        pid,
        Array.from({ length: 12 }, () => Math.floor(random.between(pid + 1, 256))),
      );
    const wanted = new Map(
      def.fields.map((field) => {
        const span = 2 ** (8 * field.size) - 1;
        const raw = Math.floor(random.between(0, span)) - (field.signed ? 2 ** (8 * field.size - 1) : 0);
        return [field.signal as string, valueOfRaw(field, raw, new Map())];
      }),
    );
    // Banks 3 and 4 in the trims cannot be told apart by length outside (README).
    return encodePid(pid, (s) => (/^[sl]tft[34]_/.test(s) ? null : (wanted.get(s) ?? null)))!;
  };
  const lines: string[] = [];
  const ids = ['7E8', '7EF', '18DAF110', '18DAF1A5'];
  const covered = COVERED.map((text) => Number.parseInt(text, 16));
  for (const [i, pid] of covered.entries()) {
    lines.push(...frames(ids[i % 4]!, Uint8Array.from([0x41, pid, ...dataOf(pid)])));
    // And together with up to five others, in one answer over several frames.
    const others = new Set([
      pid,
      ...Array.from({ length: 5 }, () => covered[Math.floor(random.next() * covered.length)]!),
    ]);
    lines.push(
      ...frames(ids[(i + 1) % 4]!, Uint8Array.from([0x41, ...[...others].flatMap((p) => [p, ...dataOf(p)])])),
    );
  }
  lines.push(...frames('7E8', encodeInfo(INFO.vin, ['XXHBDEM0000000001'])));

  const script = join(SHARED, 'oracle/decode.py');
  const out = execFileSync('python3', [script, '--split-multi'], {
    input: `${lines.join('\n')}\n`,
    encoding: 'utf8',
  });
  const theirs = out
    .trim()
    .split('\n')
    .map((l) => JSON.parse(l) as OutsideMessage)
    .filter((m) => m.pid !== undefined && m.raw !== undefined);

  const decoder = new FrameDecoder();
  const ours: string[] = [];
  for (const text of lines) {
    const result = decoder.line(text);
    if (!result.ok) throw new Error(result.why);
    for (const m of result.messages) {
      expect(m.problem, text).toBeNull();
      ours.push(...new Set(m.values.map((v) => `${v.pid} ${v.raw}`)));
    }
  }
  // The vehicle number has a count of items in front in our raw bytes.
  const outside = theirs.map((m) => `${m.pid} ${m.pid === '02' && m.raw!.length === 34 ? '01' : ''}${m.raw}`);
  expect(outside.length).toBeGreaterThan(400);
  expect(outside.toSorted()).toEqual(ours.toSorted());
  const wrong = theirs
    .filter((m) => m.raw!.length !== 34)
    .flatMap((m) => differences({ pid: m.pid!, bytes: m.raw!, values: m.values ?? [] }));
  expect(wrong.slice(0, 20)).toEqual([]);
  expect(theirs.at(-1)!.values![0]!.value).toBe('XXHBDEM0000000001');
});

/** Reading answers wrongly must show: a decoder that errs by one count anywhere would be caught. */
withTable('the comparison can fail', () => {
  expect(
    differences({ pid: '0C', bytes: '1AF8', values: [{ label: 'x', value: 1726.25, unit: 'rpm' }] }),
  ).toHaveLength(1);
  expect(
    differences({ pid: '0C', bytes: '1AF8', values: [{ label: 'x', value: 1726, unit: 'km/h' }] }),
  ).toHaveLength(1);
  expect(
    differences({ pid: '51', bytes: '04', values: [{ label: 'x', value: 4, unit: null, text: 'Unknown' }] }),
  ).toHaveLength(1);
});
