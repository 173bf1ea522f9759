import { readFileSync } from 'node:fs';
import { resolve } from 'node:path';
import { isDeepStrictEqual } from 'node:util';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import type { WireEvent } from '../../src/adapter/adapter.ts';
import { WireReader } from '../../src/j1979/reader.ts';
import { DigestChain } from '../../src/run/capture/chain.ts';
import {
  type CaptureRecord,
  linesOf,
  MAX_LINE_BYTES,
  readLine,
  VERSION_LINE,
} from '../../src/run/capture/format.ts';
import { type CaptureItem, CaptureParser, type CaptureSink } from '../../src/run/capture/parser.ts';

const bytes = (...b: number[]) => Uint8Array.from(b);

const RECORDS: CaptureRecord[] = [
  { kind: 'anchor', tUs: 0, why: 'start', wallMs: Date.UTC(2026, 0, 5, 8) },
  { kind: 'link', tUs: 3, state: 'opened', text: 'practice vehicle, "at" front\n2nd line' },
  { kind: 'dialect', tUs: 9, dialect: { family: 'at', bus: 'can11', headers: true, bitrate: 500_000 } },
  { kind: 'request', tUs: 10, payload: bytes(1, 0x0c), ecu: null },
  { kind: 'tx', tUs: 11, bytes: bytes(0x30, 0x31, 13) },
  { kind: 'rx', tUs: 40_012, bytes: bytes(0, 255, 62) },
  { kind: 'done', tUs: 40_013, outcome: 'no data' },
  { kind: 'request', tUs: 50_000, payload: bytes(1, 5), ecu: '7E8' },
  { kind: 'mark', tUs: 60_000, key: 'N', text: 'Geräusch weg ✓' },
  { kind: 'note', tUs: 70_000, text: 'something odd' },
  { kind: 'sample', tUs: 80_000, signal: 'lambda_cmd', value: 1e-7, sentUs: 79_000 },
  { kind: 'sample', tUs: 80_000, signal: 'ect_c', value: -39.5, sentUs: 80_000 },
];

/** A capture with a digest after every `every` records. */
function captureOf(records: readonly CaptureRecord[], every: number): Buffer {
  const chain = new DigestChain();
  let text = '';
  const add = (line: string) => {
    text += `${line}\n`;
    chain.update(Buffer.from(`${line}\n`));
  };
  add(VERSION_LINE);
  for (const [i, r] of records.entries()) {
    for (const line of linesOf(r)) add(line);
    if (i % every === every - 1) text += `${chain.seal(r.tUs)}\n`;
  }
  if (!chain.empty) text += `${chain.seal(records.at(-1)?.tUs ?? 0)}\n`;
  return Buffer.from(text);
}

function parse(parts: Iterable<Uint8Array>): CaptureItem[] {
  const parser = new CaptureParser();
  const items: CaptureItem[] = [];
  for (const part of parts) items.push(...parser.push(part));
  items.push(...parser.end());
  return items;
}

const recordsOf = (items: readonly CaptureItem[]) =>
  items.flatMap((i) => (i.is === 'record' && i.record.kind !== 'digest' ? [i.record] : []));
const troublesOf = (items: readonly CaptureItem[]) => items.filter((i) => i.is !== 'record');

describe('lines', () => {
  it.each(RECORDS.map((r) => [r.kind, r] as const))('%s comes back as it was', (_, record) => {
    const lines = linesOf(record);
    expect(lines).toHaveLength(1);
    expect(lines[0]).not.toMatch(/[\r\n]/);
    expect(readLine(lines[0]!)).toEqual({ ok: true, record });
  });

  it('parts many bytes into lines of the same time, none too long', () => {
    const rx = { kind: 'rx', tUs: 7, bytes: Buffer.alloc(5000, 0xa5) } as const;
    const back = linesOf(rx).map((line) => {
      expect(line.length).toBeLessThan(MAX_LINE_BYTES);
      const r = readLine(line);
      return r.ok && r.record.kind === 'rx' ? r.record.bytes : bytes();
    });
    expect(Buffer.concat(back).equals(rx.bytes)).toBe(true);
    const long = { kind: 'mark', tUs: 1, key: 'M', text: '\u0001'.repeat(100_000) } as const;
    expect(linesOf(long)[0]!.length).toBeLessThan(MAX_LINE_BYTES);
  });

  it.each([
    'x rx 00',
    '-1 rx 00',
    '1.5 rx 00',
    '1e3 rx 00',
    '99999999999999999 rx 00',
    '01 rx 00',
    ' 1 rx 00',
    'NaN rx 00',
    '1 rx 0',
    '1 rx',
    '1 rx 0g',
    '1 rx ',
    '1 rx 00 ',
    '1 quux 00',
    '1',
    '',
    '1 done maybe',
    '1 request 01',
    '1 request 01 7E8',
    '1 request 0 null',
    '1 dialect {}',
    '1 dialect {',
    '1 dialect {"family":"at","bus":"x"}',
    '1 link gone "x"',
    '1 link lost x',
    '1 anchor start',
    '1 anchor start yesterday',
    '1 anchor never 2026-01-05T08:00:00.000Z',
    '1 mark {"key":1}',
    '1 mark null',
    '1 note 5',
    '1 sample a NaN 1',
    '1 sample a Infinity 1',
    '1 sample a 1e999 1',
    '1 sample a 1',
    '1 sample a 0x10 1',
    '1 sample a 1 -1',
    '1 digest 1 abc',
    '1 digest -1 '.padEnd(76, '0'),
  ])('damage is told, not thrown: %j', (line) => {
    const r = readLine(line);
    expect(r.ok).toBe(false);
    if (!r.ok) expect(r.why.length).toBeGreaterThan(5);
  });
});

describe('the parser', () => {
  const whole = captureOf(RECORDS, 5);

  it('gives all records and no trouble', () => {
    const items = parse([whole]);
    expect(recordsOf(items)).toEqual(RECORDS);
    expect(troublesOf(items)).toEqual([]);
    expect(items.filter((i) => i.is === 'record' && i.record.kind === 'digest')).toHaveLength(3);
  });

  it('gives the same a byte at a time and split at each offset', () => {
    const want = parse([whole]);
    expect(parse([...whole].map((b) => Uint8Array.of(b)))).toEqual(want);
    for (let at = 0; at <= whole.length; at++)
      expect(parse([whole.subarray(0, at), whole.subarray(at)])).toEqual(want);
  });

  it('drops a torn tail and keeps the rest, wherever it is torn', () => {
    for (let at = VERSION_LINE.length + 1; at < whole.length; at++) {
      const items = parse([whole.subarray(0, at)]);
      const complete = whole.subarray(0, at).lastIndexOf(10) + 1 === at;
      expect(troublesOf(items).map((i) => i.is)).toEqual(complete ? [] : ['torn']);
      const kept = recordsOf(items);
      expect(kept).toEqual(RECORDS.slice(0, kept.length));
    }
  });

  it('finds and places every flipped byte', () => {
    const lineAt = (at: number) => whole.subarray(0, at).filter((b) => b === 10).length + 1;
    for (let at = VERSION_LINE.length + 1; at < whole.length - 1; at++) {
      const hurt = Buffer.from(whole);
      hurt[at]! ^= 0x01;
      const troubles = troublesOf(parse([hurt]));
      expect(troubles.length, `byte ${at}`).toBeGreaterThan(0);
      const line = lineAt(at);
      const near = troubles.some((t) =>
        t.is === 'mismatch' ? t.fromLine - 1 <= line && line <= t.line + 1 : Math.abs(t.line - line) <= 1,
      );
      expect(near, `byte ${at} in line ${line}: ${JSON.stringify(troubles)}`).toBe(true);
    }
  });

  it('places a change in the block it is in, and later blocks still hold', () => {
    const text = whole.toString().replace('40012 rx 00FF3E', '40012 rx 00FF3F');
    expect(troublesOf(parse([Buffer.from(text)]))).toEqual([{ is: 'mismatch', fromLine: 8, line: 13 }]);
  });

  it('sees a line taken out, put in, or moved', () => {
    const lines = whole.toString().trimEnd().split('\n');
    const seen = (changed: string[]) => troublesOf(parse([Buffer.from(`${changed.join('\n')}\n`)])).length;
    expect(seen(lines)).toBe(0);
    expect(seen(lines.toSpliced(3, 1))).toBe(1);
    expect(seen(lines.toSpliced(3, 0, '4 note "x"'))).toBe(1);
    expect(seen([...lines.slice(0, 2), lines[3]!, lines[2]!, ...lines.slice(4)])).toBe(1);
    expect(seen(lines.toSpliced(7, 5))).toBeGreaterThan(0); // a whole block with its digest
  });

  it('reads on after an endless line, in bounded memory', () => {
    const parser = new CaptureParser();
    const items = [...parser.push(Buffer.from(`${VERSION_LINE}\n`))];
    for (let i = 0; i < 1000; i++) items.push(...parser.push(Buffer.alloc(4096, 65)));
    items.push(...parser.push(Buffer.from('\n5 note "after"\n')));
    expect(items.map((i) => (i.is === 'record' ? i.record.kind : `${i.is} ${i.line}`))).toEqual([
      'damage 2',
      'note',
    ]);
  });

  it('takes line ends of another system', () => {
    const items = parse([Buffer.from(whole.toString().replaceAll('\n', '\r\n'))]);
    expect(recordsOf(items)).toEqual(RECORDS);
  });

  it('never throws and never repeats a line, whatever the bytes', () => {
    fc.assert(
      fc.property(
        fc.array(fc.tuple(fc.nat(whole.length - 1), fc.nat(255)), { minLength: 1, maxLength: 8 }),
        fc.nat(whole.length),
        fc.uint8Array({ maxLength: 60 }),
        (edits, at, tail) => {
          const hurt = Buffer.concat([whole, tail]);
          for (const [i, to] of edits) hurt[i] = to;
          const want = parse([hurt]);
          expect(parse([hurt.subarray(0, at), hurt.subarray(at)])).toEqual(want);
          for (const i of want)
            if (i.is === 'record') expect(Number.isSafeInteger(i.record.tUs) && i.record.tUs >= 0).toBe(true);
        },
      ),
      { numRuns: 500, seed: 11 },
    );
  });

  it('any wire event survives', () => {
    const event = fc.oneof(
      fc.record({
        kind: fc.constantFrom('rx' as const, 'tx' as const),
        tUs: fc.nat(),
        bytes: fc.uint8Array({ minLength: 1, maxLength: 900 }),
      }),
      fc.record({
        kind: fc.constant('link' as const),
        tUs: fc.nat(),
        state: fc.constantFrom('lost' as const, 'opened' as const),
        text: fc.string({ unit: 'binary', maxLength: 300 }),
      }),
    );
    fc.assert(
      fc.property(fc.array(event, { maxLength: 20 }), (events) => {
        const back = recordsOf(parse([captureOf(events as WireEvent[], 3)]));
        expect(back.map((r) => linesOf(r))).toEqual(events.map((e) => linesOf(e as WireEvent)));
      }),
      { numRuns: 200, seed: 5 },
    );
  });
});

describe('poured', () => {
  /** What goes to `wire` put back into the items that `push` would have made of it. */
  function poured(parts: Iterable<Uint8Array>): CaptureItem[] {
    const parser = new CaptureParser();
    const items: CaptureItem[] = [];
    const sink: CaptureSink = {
      item: (item) => items.push(item),
      wire: (kind, tUs, all, n) =>
        items.push({ is: 'record', line: parser.lines, record: { kind, tUs, bytes: all.slice(0, n) } }),
    };
    for (const part of parts) parser.feed(part, sink);
    return [...items, ...parser.end()];
  }

  it('gives what push gives, split at each offset', () => {
    const whole = captureOf(RECORDS, 2);
    for (let at = 0; at <= whole.length; at++) {
      const parts = [whole.subarray(0, at), whole.subarray(at)];
      expect(poured(parts)).toEqual(parse(parts));
    }
  });

  it('takes the lines that push takes and damages those that it damages', () => {
    const time = fc.oneof(
      fc.constantFrom('', '0', '00', '07', '1000000000000000', '1000000000000001', '99999999999999999', '5x'),
      fc.nat().map(String),
    );
    const kind = fc.constantFrom('rx', 'tx', 'RX', 'rxx', 'r', 'done', 'note');
    const hex = fc.oneof(
      fc.stringMatching(/^[0-9A-F]{0,8}$/),
      fc.stringMatching(/^[0-9A-Fa-g \r]{0,6}$/),
      fc.constantFrom(0, 1, 2, 3).map((d) => 'AB'.repeat(MAX_LINE_BYTES / 2 - 4 + d)),
      fc.constantFrom('é', '\xff', '"text"', 'answered'),
    );
    const line = fc
      .tuple(time, fc.constantFrom(' ', '  ', ''), kind, fc.constantFrom(' ', ''), hex)
      .map((x) => x.join(''));
    fc.assert(
      fc.property(fc.array(line, { maxLength: 6 }), fc.constantFrom('utf8', 'latin1'), (lines, encoding) => {
        const parts = [Buffer.from([VERSION_LINE, ...lines, ''].join('\n'), encoding as BufferEncoding)];
        expect(poured(parts)).toEqual(parse(parts));
      }),
      { numRuns: 2000, seed: 3 },
    );
  });
});

describe('lines that say what others said', () => {
  const units = ['null', '"7E8"', '"18DAF110"', '"é"', '7', '"7E8'];
  // More kinds of requests than are remembered, so that some take the place of others; each comes again and again.
  const rests = Array.from({ length: 3000 }, (_, n) => {
    const request = `01${n.toString(16).toUpperCase().padStart(4, '0')}${n % 3 === 0 ? 'AB'.repeat(n % 40) : ''}`;
    return n % 7 === 0 ? `done ${n % 2 ? 'answered' : 'unheard'}` : `request ${request} ${units[n % 6]}`;
  });
  const lines = fc
    .array(fc.tuple(fc.nat(), fc.nat({ max: 60 }), fc.constantFrom('', '', '', '\r', ' ')), {
      minLength: 4000,
      maxLength: 4000,
    })
    .map((all) =>
      all.map(([n, tUs, end], k) => `${tUs} ${rests[(k % 4 ? n % 50 : n) % rests.length]}${end}\n`),
    );

  it('are read as each by itself, the memory they came in used again', () => {
    fc.assert(
      fc.property(lines, (all) => {
        const whole = Buffer.from([`${VERSION_LINE}\n`, ...all].join(''));
        const [parser, items] = [new CaptureParser(), [] as CaptureItem[]];
        const buffer = Buffer.alloc(5000);
        for (let at = 0; at < whole.length; at += buffer.length) {
          const n = whole.copy(buffer, 0, at);
          parser.feed(buffer.subarray(0, n), { item: (item) => items.push(item), wire: () => undefined });
        }
        expect(isDeepStrictEqual(items, parse([whole]))).toBe(true);
      }),
      { numRuns: 5, seed: 2 },
    );
  });
});

describe('docs/capture-format.md', () => {
  const doc = readFileSync(resolve(import.meta.dirname, '../../docs/capture-format.md'), 'utf8');

  it('has an example that is a whole and undamaged capture, and means what it says', () => {
    const example = doc.slice(doc.indexOf(`\n${VERSION_LINE}\n`) + 1).split('```')[0]!;
    const items = parse([Buffer.from(example)]);
    expect(troublesOf(items)).toEqual([]);
    const events = recordsOf(items) as WireEvent[];
    const reader = new WireReader();
    expect(events.flatMap((event) => reader.read(event).samples)).toEqual([
      { signal: 'rpm', tUs: 38_990, sentUs: 1250, value: 1726 },
      { signal: 'ect_c', tUs: 38_990, sentUs: 1250, value: 90 },
    ]);
  });

  it('names every kind of record', () => {
    const kinds = [...doc.matchAll(/^\| `([a-z]+)` \|/gm)].map((m) => m[1]);
    for (const { kind } of RECORDS) expect(kinds).toContain(kind);
    expect(kinds).toContain('digest');
  });
});
