/** Received bytes → messages: hand-written vectors of both dialects, cut at every place, and fuzz. */
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import type { Dialect } from '../../src/adapter/adapter.ts';
import { answersTo } from '../../src/adapter/answers.ts';
import { crcJ1850, sum8 } from '../../src/adapter/at/read.ts';
import { interpret } from '../../src/adapter/interpret.ts';
import { fromHex, toHex } from '../../src/core/hex.ts';

const hex = (t: string) => fromHex(t.replaceAll(' ', '')) ?? new Uint8Array();
const ascii = (t: string) => Uint8Array.from(t, (c) => c.charCodeAt(0));
const can11: Dialect = { family: 'at', bus: 'can11', headers: true, autoFormat: true };
const can29: Dialect = { ...can11, bus: 'can29' };
const bare: Dialect = { family: 'at', bus: 'can11', headers: false, autoFormat: true };
const kline: Dialect = { family: 'at', bus: 'kline', headers: true };
const slcan: Dialect = { family: 'slcan', bus: 'can11' };

interface Vector {
  readonly name: string;
  readonly dialect: Dialect;
  readonly ask: string;
  readonly ecu?: string;
  readonly rx: string;
  /** "ecu:payload" of each message, in order. */
  readonly says: readonly string[];
  readonly whys?: readonly RegExp[];
}

const withSum = (h: string) => `${h} ${toHex(Uint8Array.of(sum8(hex(h))))}`;
const withCrc = (h: string) => `${h} ${toHex(Uint8Array.of(crcJ1850(hex(h))))}`;
const VIN = '49 02 01 54 45 53 54 30 30 30 30 30 30 30 30 30 30 30 30 30'; // 20 bytes

const VECTORS: readonly Vector[] = [
  {
    name: 'short answer, headers, no spaces',
    dialect: can11,
    ask: '010C',
    rx: '7E804410C1AF8\r\r>',
    says: ['7E8:410C1AF8'],
  },
  {
    name: 'padded, spaces',
    dialect: can11,
    ask: '010C',
    rx: '7E8 04 41 0C 1A F8 55 55 55 \r\r>',
    says: ['7E8:410C1AF8'],
  },
  {
    name: 'echo, CRLF, NULs',
    dialect: can11,
    ask: '010C',
    rx: '010C1\r\n7E8 04 41\0 0C 1A F8 \r\n\r\n\0>',
    says: ['7E8:410C1AF8'],
  },
  { name: 'lower case', dialect: can11, ask: '010C', rx: '7e804410c1af8\r\r>', says: ['7E8:410C1AF8'] },
  {
    name: 'two control units',
    dialect: can11,
    ask: '0100',
    rx: '7E8064100BE3FA813\r7E906410088180000\r\r>',
    says: ['7E8:4100BE3FA813', '7E9:410088180000'],
  },
  {
    name: 'searching chatter in front',
    dialect: can11,
    ask: '0100',
    rx: 'SEARCHING...\r7E8064100BE3FA813\r\r>',
    says: ['7E8:4100BE3FA813'],
  },
  {
    name: 'searching chatter on the same line',
    dialect: bare,
    ask: '0100',
    rx: 'SEARCHING...41 00 BE 3F A8 13 \r\r>',
    says: ['?:4100BE3FA813'],
  },
  { name: 'echo, bare', dialect: bare, ask: '0105', rx: '0105\r4105 7B\r>', says: ['?:41057B'] },
  {
    name: '29 bit',
    dialect: can29,
    ask: '010C',
    rx: '18DAF110 04 41 0C 1A F8\r\r>',
    says: ['18DAF110:410C1AF8'],
  },
  {
    name: '29 bit spaced',
    dialect: can29,
    ask: '010C',
    rx: '18 DA F1 10 04 41 0C 1A F8\r\r>',
    says: ['18DAF110:410C1AF8'],
  },
  {
    name: 'bus not known yet',
    dialect: { family: 'at', bus: 'unknown', headers: true },
    ask: '0100',
    rx: '7E8064100BE3FA813\r\r>',
    says: ['7E8:4100BE3FA813'],
  },
  {
    name: 'long answer with ISO-TP bytes',
    dialect: can11,
    ask: '0902',
    rx: '7E8 10 14 49 02 01 54 45 53\r7E8 21 54 30 30 30 30 30 30\r7E8 22 30 30 30 30 30 30 30\r\r>',
    says: [`7E8:${VIN}`],
  },
  {
    name: 'long answers of two control units interleaved',
    dialect: can11,
    ask: '090A',
    rx: '7E810 09 49 0A 01 01 02 03\r7E910 0A 49 0A 01 41 42 43\r7E8 21 04 05 06\r7E9 21 44 45 46 47\r\r>',
    says: ['7E8:490A0101 0203 040506', '7E9:490A01414243 44454647'],
  },
  {
    name: 'long answer bare',
    dialect: bare,
    ask: '0902',
    rx: '014\r0: 49 02 01 54 45 53 \r1: 54 30 30 30 30 30 30 \r2: 30 30 30 30 30 30 30\r\r>',
    says: [`?:${VIN}`],
  },
  {
    name: 'long answer bare, padding trimmed',
    dialect: bare,
    ask: '010C0B',
    rx: '008 \r0:410C1AF80B64\r1:0D20AAAAAAAAAA\r\r>',
    says: ['?:410C1AF80B640D20'],
  },
  {
    name: 'short answer of one unit between the long lines of another',
    dialect: bare,
    ask: '010C0B',
    rx: '008\r410C1AF8\r0:410C1AF80B64\r1:0D20\r\r>',
    says: ['?:410C1AF8', '?:410C1AF80B640D20'],
  },
  {
    name: 'two long answers mixed',
    dialect: bare,
    ask: '0902',
    rx: '014\r014\r0:490201544553\r0:490201544553\r1:54303030303030\r1:54303030303030\r2:30303030303030\r2:30303030303030\r>',
    says: [],
    whys: Array(8).fill(/mixed|another was due/),
  },
  {
    name: 'two long answers one after the other',
    dialect: bare,
    ask: '0902',
    rx: '009\r0:490201010203\r1:040506\r009\r0:490201010203\r1:040506\r>',
    says: ['?:490201010203040506', '?:490201010203040506'],
  },
  { name: 'no data', dialect: can11, ask: '010C', rx: 'NO DATA\r\r>', says: [] },
  {
    name: 'answer, then buffer full',
    dialect: can11,
    ask: '010C',
    rx: '7E804410C1AF8\rBUFFER FULL\r\r>',
    says: ['7E8:410C1AF8'],
  },
  {
    name: 'bus init with answer',
    dialect: kline,
    ask: '0100',
    rx: `BUS INIT: ...OK\r${withSum('48 6B 10 41 00 BE 3E B8 11')}\r\r>`,
    says: ['10:4100BE3EB811'],
  },
  { name: 'bus init error', dialect: kline, ask: '0100', rx: 'BUS INIT: ...ERROR\r\r>', says: [] },
  {
    name: 'K-line, length in the format byte',
    dialect: kline,
    ask: '010C',
    rx: `${withSum('84 F1 11 41 0C 1A F8')}\r\r>`,
    says: ['11:410C1AF8'],
  },
  {
    name: 'K-line, length byte of its own',
    dialect: kline,
    ask: '010C',
    rx: `${withSum('80 F1 11 04 41 0C 1A F8')}\r\r>`,
    says: ['11:410C1AF8'],
  },
  {
    name: 'K-line, wrong checksum',
    dialect: kline,
    ask: '010C',
    rx: '84 F1 11 41 0C 1A F8 00\r\r>',
    says: [],
    whys: [/checksum/],
  },
  {
    name: 'J1850',
    dialect: { family: 'at', bus: 'j1850', headers: true },
    ask: '010C',
    rx: `${withCrc('48 6B 10 41 0C 1A F8')}\r\r>`,
    says: ['10:410C1AF8'],
  },
  {
    name: 'damaged line marked',
    dialect: can11,
    ask: '010C',
    rx: '7E804410C1AF8<DATA ERROR\r\r>',
    says: [],
    whys: [/damaged/],
  },
  { name: 'lost digit', dialect: can11, ask: '010C', rx: '7E80441C1AF8\r\r>', says: [], whys: [/digits/] },
  {
    name: 'lost byte of a padded frame',
    dialect: can11,
    ask: '010C',
    rx: '7E8044 10C F8 00 00 00\r\r>',
    says: [],
    whys: [/./],
  },
  {
    name: 'wrong count',
    dialect: bare,
    ask: '0902',
    rx: '014\r0:490201544553\r1:54303030303030\r\r>',
    says: [],
    whys: [/not finished/, /not finished/, /not finished/],
  },
  {
    name: 'line missing in a long answer',
    dialect: can11,
    ask: '0902',
    rx: '7E8 10 14 49 02 01 54 45 53\r7E8 22 30 30 30 30 30 30 30\r\r>',
    says: [],
    whys: [/where 1 was due/, /where 1 was due/],
  },
  {
    name: 'late answer to another PID',
    dialect: can11,
    ask: '010C',
    rx: '7E803410D20\r7E804410C1AF8\r\r>',
    says: ['7E8:410C1AF8'],
    whys: [/another request/],
  },
  {
    name: 'answer of another control unit',
    dialect: can11,
    ask: '010C',
    ecu: '7E8',
    rx: '7E904410C1AF8\r7E804410C1AF8\r\r>',
    says: ['7E8:410C1AF8'],
    whys: [/from 7E9/],
  },
  {
    name: 'negative answer',
    dialect: can11,
    ask: '0902',
    rx: '7E8037F0978\r7E8037F0131\r\r>',
    says: ['7E8:7F0978'],
    whys: [/another request/],
  },
  {
    name: 'cut off without prompt',
    dialect: can11,
    ask: '010C',
    rx: '7E804410C1A',
    says: [],
    whys: [/cut off/],
  },
  {
    name: 'not a diagnostic address',
    dialect: can11,
    ask: '010C',
    rx: '3E804410C1AF8\r\r>',
    says: [],
    whys: [/not the address/],
  },
  {
    name: 'slcan short',
    dialect: slcan,
    ask: '010C',
    rx: '\rz\rt7E8804410C1AF8555555\r',
    says: ['7E8:410C1AF8'],
  },
  {
    name: 'slcan time stamp, other traffic, BEL',
    dialect: slcan,
    ask: '010C',
    rx: 't1238000102030405060711AA\r\x07t7E8804410C1AF855555512F0\rr1230\r',
    says: ['7E8:410C1AF8'],
  },
  {
    name: 'slcan 29 bit long answer',
    dialect: { family: 'slcan', bus: 'can29' },
    ask: '090A',
    rx: 'T18DAF110810094A0A0\rT18DAF11081009490A01010203\rT18DAF1108210405060000 0000\rT18DAF11082104050600000000\r',
    says: ['18DAF110:490A0101020304 0506'],
    whys: [/./, /./],
  },
  {
    name: 'slcan wrong length',
    dialect: slcan,
    ask: '010C',
    rx: 't7E8804410C1AF8\r',
    says: [],
    whys: [/says 8 bytes/],
  },
];

const plain = (v: Vector, chunks: readonly Uint8Array[]) => {
  const { messages, discards } = interpret(
    v.dialect,
    { payload: hex(v.ask), ecu: v.ecu ?? null },
    chunks.map((bytes, i) => ({ tUs: i, bytes })),
  );
  return {
    says: messages.map((m) => `${m.ecu}:${toHex(m.payload)}`),
    whys: discards.map((d) => d.why),
  };
};

describe('interpret', () => {
  for (const v of VECTORS)
    it(v.name, () => {
      const whole = plain(v, [ascii(v.rx)]);
      expect(whole.says).toEqual(v.says.map((s) => s.replaceAll(' ', '')));
      expect(whole.whys).toHaveLength(v.whys?.length ?? 0);
      v.whys?.forEach((why, i) => {
        expect(whole.whys[i]).toMatch(why);
      });
      const all = ascii(v.rx);
      expect(
        plain(
          v,
          Array.from(all, (b) => Uint8Array.of(b)),
        ),
      ).toEqual(whole);
      for (let i = 0; i <= all.length; i++) expect(plain(v, [all.slice(0, i), all.slice(i)])).toEqual(whole);
    });

  it('gives each message the time of its last byte', () => {
    const rx = ['7E8064100BE3', 'FA813', '\r7E90641008818', '0000', '\r\r>'];
    const { messages } = interpret(
      can11,
      { payload: hex('0100'), ecu: null },
      rx.map((t, i) => ({ tUs: 100 * (i + 1), bytes: ascii(t) })),
    );
    expect(messages.map((m) => m.tUs)).toEqual([200, 400]);
  });

  it('never throws and never invents an answer from noise', () => {
    const dialects = fc.record(
      {
        family: fc.constantFrom('at' as const, 'slcan' as const),
        bus: fc.constantFrom(
          'can11' as const,
          'can29' as const,
          'kline' as const,
          'j1850' as const,
          'unknown' as const,
        ),
        headers: fc.boolean(),
        autoFormat: fc.boolean(),
      },
      { requiredKeys: ['family', 'bus'] },
    );
    const bytes = fc.oneof(
      fc.uint8Array({ maxLength: 300 }),
      fc
        .array(fc.constantFrom(...'0123456789ABCDEF:\r\n> tT7E8\x07SEARCHING.'), { maxLength: 300 })
        .map((c) => ascii(c.join(''))),
    );
    fc.assert(
      fc.property(dialects, fc.uint8Array({ maxLength: 8 }), bytes, (dialect, payload, rx) => {
        const { messages, discards } = interpret(dialect, { payload, ecu: null }, [{ tUs: 1, bytes: rx }]);
        for (const m of messages) expect(answersTo(payload, m.payload)).toBe(true);
        for (const d of discards) expect(d.why).not.toBe('');
      }),
      { numRuns: 1000, seed: 1 },
    );
  });

  it('reads any long answer however it was cut into frames, and loses it whole when a line is lost', () => {
    fc.assert(
      fc.property(fc.uint8Array({ minLength: 6, maxLength: 400 }), fc.nat(), (rest, pick) => {
        const payload = Uint8Array.from([0x49, 0x0a, ...rest]);
        const lines: string[] = [];
        const n = payload.length;
        lines.push(`7E81${n.toString(16).padStart(3, '0')}${toHex(payload.subarray(0, 6))}`);
        for (let i = 6, k = 1; i < n; i += 7, k++)
          lines.push(`7E82${(k & 15).toString(16)}${toHex(payload.subarray(i, i + 7))}`);
        const ask = { payload: hex('090A'), ecu: null };
        const rx = (ls: string[]) => [{ tUs: 1, bytes: ascii(`${ls.join('\r')}\r\r>`) }];
        expect(interpret(can11, ask, rx(lines)).messages.map((m) => toHex(m.payload))).toEqual([
          toHex(payload),
        ]);
        const gone = pick % lines.length;
        const short = interpret(can11, ask, rx(lines.filter((_, i) => i !== gone)));
        expect(short.messages).toEqual([]);
        expect(short.discards.length).toBeGreaterThanOrEqual(lines.length - 1);
      }),
      { numRuns: 200, seed: 2 },
    );
  });
});
