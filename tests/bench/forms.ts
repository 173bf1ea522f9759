/**
 * `npx tsx tests/bench/forms.ts CAPTURE…`: how small captures would be in other forms. Of recordings in real time: on a
 * clock that does not wait times repeat, and everything is packed three times smaller than it ever will be. The tighter line: time as the difference to the line before, one letter for
 * the kind, bytes as the characters they mostly are, the request's control unit only where it changes. Its lines are read
 * back, and have to be the capture's, byte for byte.
 */
import { readFileSync } from 'node:fs';
import * as zlib from 'node:zlib';

const KINDS: readonly (readonly [kind: string, letter: string])[] = [
  ['rx', '<'],
  ['tx', '>'],
  ['request', '?'],
  ['done', '.'],
];
const LETTER = new Map(KINDS);
const KIND = new Map(KINDS.map(([kind, letter]) => [letter, kind]));

/** Printable ones as they are; a carriage return, which ends most, as `$`. */
const charactersOf = (hex: string): string =>
  Buffer.from(hex, 'hex').reduce(
    (text, b) =>
      text +
      (b === 13
        ? '$'
        : b > 31 && b < 127 && b !== 36 && b !== 92
          ? String.fromCharCode(b)
          : `\\${b.toString(16).padStart(2, '0')}`),
    '',
  );
const hexOf = (text: string): string =>
  text
    .replace(/\\([0-9a-f]{2})|./gs, (c, code: string | undefined) =>
      code !== undefined ? code : c === '$' ? '0d' : c.charCodeAt(0).toString(16).padStart(2, '0'),
    )
    .toUpperCase();

function tight(capture: string): string {
  let lastUs = 0;
  let ecu = '';
  return capture
    .split('\n')
    .map((line) => {
      const parts = /^(\d+) (rx|tx|request|done) (.*)$/.exec(line);
      if (!parts) return `=${line}`;
      const [, time, kind, rest] = parts as unknown as [string, string, string, string];
      const head = `${Number(time) - lastUs}${LETTER.get(kind)}`;
      lastUs = Number(time);
      if (kind === 'rx' || kind === 'tx') return head + charactersOf(rest);
      if (kind === 'done') return head + (rest === 'answered' ? '' : rest);
      const [payload, unit] = [rest.slice(0, rest.indexOf(' ')), rest.slice(rest.indexOf(' ') + 1)];
      const changed = unit === ecu ? '' : ` ${unit}`;
      ecu = unit;
      return head + payload + changed;
    })
    .join('\n');
}

function loose(text: string): string {
  let lastUs = 0;
  let ecu = '';
  return text
    .split('\n')
    .map((line) => {
      if (line.startsWith('=')) return line.slice(1);
      const parts = /^(-?\d+)([<>?.])(.*)$/.exec(line);
      if (!parts) throw new Error(`not a line of the tighter form: ${line}`);
      const [, by, letter, rest] = parts as unknown as [string, string, string, string];
      lastUs += Number(by);
      const head = `${lastUs} ${KIND.get(letter)} `;
      if (letter === '<' || letter === '>') return head + hexOf(rest);
      if (letter === '.') return head + (rest === '' ? 'answered' : rest);
      const [payload, ...unit] = rest.split(' ');
      if (unit.length > 0) ecu = unit.join(' ');
      return `${head}${payload} ${ecu}`;
    })
    .join('\n');
}

/** Form to bytes; what this Node.js does not have is left out. */
function formsOf(capture: Buffer): ReadonlyMap<string, number> {
  const lines = tight(capture.toString('utf8'));
  if (loose(lines) !== capture.toString('utf8')) throw new Error('the tighter form gives another capture');
  const { constants } = zlib;
  const brotli = (bytes: Buffer, quality: number): number =>
    zlib.brotliCompressSync(bytes, {
      params: { [constants.BROTLI_PARAM_QUALITY]: quality, [constants.BROTLI_PARAM_LGWIN]: 24 },
    }).length;
  const { zstdCompressSync } = zlib as { zstdCompressSync?: (bytes: Buffer) => Buffer };
  const sizes = new Map<string, number>();
  for (const [form, bytes] of [
    ['lines', capture],
    ['tighter lines', Buffer.from(lines, 'utf8')],
  ] as const) {
    sizes.set(form, bytes.length);
    sizes.set(`${form}, gzip`, zlib.gzipSync(bytes).length);
    sizes.set(`${form}, gzip at its best`, zlib.gzipSync(bytes, { level: 9 }).length);
    sizes.set(`${form}, brotli 5`, brotli(bytes, 5));
    sizes.set(`${form}, brotli 9`, brotli(bytes, 9));
    if (zstdCompressSync) sizes.set(`${form}, zstd`, zstdCompressSync(bytes).length);
  }
  return sizes;
}

for (const path of process.argv.slice(2)) {
  const capture = readFileSync(path);
  console.log(`${path}: ${(capture.length / 1e6).toFixed(2)} MB`);
  for (const [form, size] of formsOf(capture))
    console.log(
      `  ${form.padEnd(34)} ${(size / 1e6).toFixed(3)} MB, ${(capture.length / size).toFixed(1)} times smaller`,
    );
}
