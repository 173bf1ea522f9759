/** The services of ISO 14229 as SAE J1979-2 uses them: by hand (from memory of the standards), both ways, fuzzed. */
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { fromHex, toHex } from '../../src/core/hex.ts';
import { encodePid } from '../../src/j1979/decode.ts';
import { codeMeaning, codeSays, typedCodeBytes, typedCodeText } from '../../src/j1979/dtc.ts';
import { decodeInfo, vinOf } from '../../src/j1979/info.ts';
import { explainRequest, explainResponse } from '../../src/j1979/message.ts';
import { classicAnswer, classicRequest, newerRecords, newerRequest } from '../../src/j1979/newer.ts';
import {
  decodeFrame,
  decodeReport,
  encodeFrame,
  encodeReport,
  frameRequest,
  REPORTS,
  standsIn,
} from '../../src/j1979/newer-codes.ts';
import { PIDS } from '../../src/j1979/pids.ts';
import { SampleDecoder } from '../../src/j1979/samples.ts';
import { decodeTests } from '../../src/j1979/tests.ts';
import { inWords } from '../in-words.ts';

const hex = (text: string): Uint8Array => fromHex(text.replaceAll(' ', ''))!;

describe('requests', () => {
  it.each([
    ['01 0C', '22 F40C'],
    ['01 00 20', '22 F400 F420'],
    ['01 0C 0D 05', '22 F40C F40D F405'],
    ['06 A1', '22 F6A1'],
    ['09 02', '22 F802'],
    ['04', '14 FFFF33'],
  ])('%s is %s, both ways', (classic, newer) => {
    expect(toHex(newerRequest(hex(classic)))).toBe(newer.replaceAll(' ', ''));
    expect(toHex(classicRequest(hex(newer)))).toBe(classic.replaceAll(' ', ''));
  });

  it.each([
    '03',
    '07',
    '0A',
    '02 0C 00',
    '01',
    '22',
    '22 F4',
    '22 F40C F8',
    '22 F40C F802',
    '22 F190',
    '14 FFFFFF',
  ])('%s has no other form', (text) => {
    expect(toHex(classicRequest(newerRequest(hex(text))))).toBe(toHex(hex(text)));
  });
});

describe('answers', () => {
  it('of several identifiers become those of service 01, and samples with the same values', () => {
    const asked = hex('22 F40C F40D F405');
    const answer = hex('62 F40C 1AF8 F40D 32 F405 7B');
    expect(toHex(classicAnswer(asked, answer))).toBe('410C1AF80D32057B');
    const samples = new SampleDecoder().samples(asked, [{ ecu: '7E8', payload: answer, tUs: 5 }], 1);
    expect(samples.map((s) => [s.signal, s.value])).toEqual([
      ['rpm', 1726],
      ['speed_kmh', 50],
      ['ect_c', 83],
    ]);
  });

  it('each PID that carries a quantity gives over service 22 what it gives over service 01', () => {
    let compared = 0;
    for (const key of Object.keys(PIDS)) {
      const pid = Number(key);
      const data = encodePid(pid, () => 1);
      if (data === null) continue;
      const tell = (request: number[], payload: number[]) =>
        new SampleDecoder().samples(
          Uint8Array.from(request),
          [{ ecu: '7E8', payload: Uint8Array.from(payload), tUs: 0 }],
          0,
        );
      const classic = tell([0x01, pid], [0x41, pid, ...data]);
      expect(tell([0x22, 0xf4, pid], [0x62, 0xf4, pid, ...data])).toEqual(classic);
      compared += classic.length;
    }
    expect(compared).toBeGreaterThan(150);
  });

  it('an answer to another identifier, another range or another request gives nothing', () => {
    const decoder = new SampleDecoder();
    const ask = (request: string, payload: string) =>
      decoder.samples(hex(request), [{ ecu: '7E8', payload: hex(payload), tUs: 0 }], 0);
    expect(ask('22 F40D', '62 F40C 1AF8')).toEqual([]);
    expect(ask('22 F40C', '62 F80C 1AF8')).toEqual([]);
    expect(ask('22 F40C', '41 0C 1AF8')).not.toEqual([]); // what it says is not in doubt
    expect(ask('22 F80C', '62 F80C 1AF8')).toEqual([]);
    expect(ask('22 F40C', '7F 22 78')).toEqual([]);
  });

  it('vehicle number, calibrations with and without a count in front', () => {
    const vin = Buffer.from('1HBTESTP0XX000001', 'latin1');
    for (const count of [[], [1]]) {
      const answer = classicAnswer(hex('22 F802'), Uint8Array.of(0x62, 0xf8, 0x02, ...count, ...vin));
      const info = decodeInfo([answer]);
      expect(info.ok && [vinOf(info.info), info.info.problem]).toEqual(['1HBTESTP0XX000001', null]);
    }
    const two = classicAnswer(hex('22 F806'), hex('62 F806 11223344 55667788'));
    const info = decodeInfo([two]);
    expect(info.ok && [info.info.items, info.info.problem]).toEqual([['11223344', '55667788'], null]);
    const map = decodeInfo([classicAnswer(hex('22 F800'), hex('62 F800 54400000'))]);
    expect(map.ok && map.info.supported).toEqual([2, 4, 6, 10]);
  });

  it('monitor results, the monitor named once or before each', () => {
    const once = classicAnswer(hex('22 F685'), hex('62 F685 801A000400000 00F 0A1A000100000002'));
    const each = classicAnswer(hex('22 F685'), hex('62 F685 801A000400000 00F 850A1A000100000002'));
    expect(toHex(once)).toBe(toHex(each));
    const tests = decodeTests(once);
    expect(tests.ok && tests.results.map((r) => [r.monitor, r.test, r.value, r.high])).toEqual([
      [0x85, 0x80, 4, 15],
      [0x85, 0x0a, 1, 2],
    ]);
  });

  it('a refusal is one of the service that it stands for', () => {
    expect(toHex(classicAnswer(hex('22 F40C'), hex('7F 22 31')))).toBe('7F0131');
    expect(toHex(classicAnswer(hex('14 FFFF33'), hex('7F 14 22')))).toBe('7F0422');
    expect(toHex(classicAnswer(hex('14 FFFF33'), hex('54')))).toBe('44');
    expect(toHex(classicAnswer(hex('01 0C'), hex('7F 01 11')))).toBe('7F0111');
  });

  it('what is made of an answer of SAE J1979 comes back as it was', () => {
    for (const [request, answer] of [
      ['01 0C', '41 0C1AF8'],
      ['01 00', '41 00 BE3FA813'],
      ['06 A1', '46 A10C24000200000258 A10B24000100000258'],
      ['06 00', '46 00 C0000001'],
      ['09 00', '49 00 54400000'],
      ['09 06', '49 06 02 11223344 55667788'],
    ] as const) {
      const newer = Uint8Array.of(0x62, ...newerRecords(hex(answer)));
      expect(toHex(classicAnswer(newerRequest(hex(request)), newer))).toBe(toHex(hex(answer)));
    }
  });
});

describe('codes of three bytes', () => {
  it('show their failure type where there is one', () => {
    expect(typedCodeText(0x02, 0x99, 0x77)).toBe('P0299-77');
    expect(typedCodeText(0xc1, 0x00, 0x87)).toBe('U0100-87');
    expect(typedCodeText(0x02, 0x99, 0x00)).toBe('P0299');
    expect(codeMeaning('P0299-77').text).toBe(
      `${codeMeaning('P0299').text}; commanded position not reachable`,
    );
    expect(codeMeaning('P0299-F3').text).toBe(`${codeMeaning('P0299').text}; failure type F3`);
    expect(inWords(codeSays('P0299-13'))).toBe(`${codeMeaning('P0299').text}; circuit open`);
    expect(inWords(codeSays('P0299-F3'))).toBe(codeMeaning('P0299-F3').text);
    expect(codeMeaning('P1F41-13').text).toContain('maker');
    for (const bad of ['P0299-', 'P0299-7', 'P0299-77-1', 'P0299-G0', '-77'])
      expect(typedCodeBytes(bad)).toBeNull();
    for (let type = 0; type < 256; type++)
      expect(typedCodeBytes(typedCodeText(0x22, 0x62, type))).toEqual([0x22, 0x62, type]);
  });

  it.each([
    ['59 42 33 FF FF 04 02 029977 2F 02 011813 08', 'severity in front of each'],
    ['59 02 FF 029977 2F 011813 08', 'without'],
  ])('are listed with their status: %s, %s', (bytes) => {
    const report = decodeReport(hex(bytes));
    if (!report.ok) throw new Error(report.why);
    expect(report).toMatchObject({ permanent: false, problem: null });
    const listed = (state: 'stored' | 'pending') =>
      report.codes.filter((c) => standsIn(state, c)).map((c) => c.code);
    expect(listed('stored')).toEqual(['P0299-77', 'P0118-13']);
    expect(listed('pending')).toEqual(['P0299-77']);
  });

  it('permanent ones have a list of their own; none is an answer, too', () => {
    expect(decodeReport(hex('59 55 33 FF 04 029977 0C'))).toMatchObject({
      permanent: true,
      codes: [{ code: 'P0299-77' }],
    });
    expect(decodeReport(hex('59 15 FF 029977 0C'))).toMatchObject({
      permanent: true,
      codes: [{ status: 12 }],
    });
    expect(decodeReport(hex('59 42 33 FF FF 04'))).toEqual({
      ok: true,
      permanent: false,
      codes: [],
      problem: null,
    });
    expect(decodeReport(hex('59 02 FF 0299'))).toMatchObject({
      ok: true,
      codes: [],
      problem: '2 bytes behind the last code',
    });
    for (const bad of ['', '59', '59 42', '58 02 FF', '59 0B FF'])
      expect(decodeReport(hex(bad)).ok).toBe(false);
  });

  it('the freeze frame of a code is read with the same table', () => {
    expect(toHex(Uint8Array.from(frameRequest('P0299-77')))).toBe('1904029977FF');
    const one = hex('59 04 029977 2F 00 03 F405 7B F40C 1AF8 F40B 64');
    const frame = decodeFrame(one);
    expect(frame.ok && [frame.code, frame.frame, frame.parts.map((p) => [p.pid, toHex(p.data)])]).toEqual([
      'P0299-77',
      0,
      [
        [5, '7B'],
        [12, '1AF8'],
        [11, '64'],
      ],
    ]);
    const two = decodeFrame(hex('59 04 029977 2F 00 02 F405 7B F40C 1AF8 01 02 F405 7C F40C 1AF9'));
    expect(two.ok && two.parts.map((p) => toHex(p.data))).toEqual(['7B', '1AF8']);
    expect(decodeFrame(hex('59 04 029977 2F'))).toEqual({
      ok: true,
      code: 'P0299-77',
      frame: null,
      parts: [],
    });
    for (const bad of ['59 04', '59 06 029977 2F', '59 04 029977 2F 00 03 F405 7B'])
      expect(decodeFrame(hex(bad)).ok).toBe(false);
  });
});

describe('in words', () => {
  it.each([
    ['22 F40C F40D', 'Asks for current data: 0C Engine speed, 0D Vehicle speed'],
    ['14 FFFF33', 'Asks for clear codes'],
  ])('%s', (request, text) => {
    expect(explainRequest(hex(request)).text).toContain(text);
  });

  it('answers', () => {
    const data = explainResponse(hex('62 F40C 1AF8'), hex('22 F40C'));
    expect([data.service, data.values[0]]).toMatchObject(['22', { pid: '0C', signal: 'rpm', value: 1726 }]);
    const codes = explainResponse(hex('59 02 FF 029977 2F'), hex('19 02 8C'));
    expect([codes.service, codes.codes, codes.problem]).toEqual(['19', ['P0299-77'], null]);
    expect(codes.text).toContain('stored, pending, status 2F');
    const frame = explainResponse(hex('59 04 029977 2F 00 01 F405 7B'), null);
    expect(frame.values.map((v) => v.value)).toEqual(['P0299-77', 83]);
  });
});

const status = fc.integer({ min: 0, max: 255 });
const code = fc
  .tuple(fc.integer({ min: 1, max: 0xffff }), status)
  .map(([n, type]) => typedCodeText(n >> 8, n & 0xff, type));

describe('hostile bytes', () => {
  it('nothing throws, and nothing is read out of bounds', () => {
    const start = fc.constantFrom<number[]>(
      [],
      [0x62],
      [0x62, 0xf4],
      [0x62, 0xf8, 2],
      [0x59, 4],
      [0x59, 0x42],
      [0x59, 2],
      [0x7f],
    );
    fc.assert(
      fc.property(
        start,
        fc.uint8Array({ maxLength: 40 }),
        fc.uint8Array({ maxLength: 7 }),
        (head, tail, request) => {
          const payload = Uint8Array.of(...head, ...tail);
          const asked = Uint8Array.of(0x22, ...request);
          classicRequest(request);
          for (const r of [asked, request, new Uint8Array()]) {
            const same = classicAnswer(r, payload);
            expect(same.length).toBeLessThanOrEqual(2 * payload.length + 3);
            explainResponse(payload, r);
            new SampleDecoder().samples(r, [{ ecu: '7E8', payload, tUs: 0 }], 0);
          }
          explainRequest(payload);
          for (const c of [decodeReport(payload)])
            if (c.ok) expect(4 * c.codes.length).toBeLessThanOrEqual(payload.length);
          decodeFrame(payload);
        },
      ),
      { numRuns: 3000, seed: 31 },
    );
  });

  it('lists and frames come back as they were, and no beginning of a frame is taken for the whole', () => {
    const entry = fc.record({ code, status });
    const data = (pid: number) => encodePid(pid, () => 1)!;
    fc.assert(
      fc.property(fc.array(entry, { maxLength: 20 }), fc.constantFrom(2, 0x15, 0x42, 0x55), (codes, sub) => {
        const report = decodeReport(encodeReport(sub, codes));
        expect(report.ok && report.codes).toEqual(codes);
        expect(report.ok && report.permanent).toBe(
          sub === REPORTS.permanent || sub === REPORTS.emissionsPermanent,
        );
      }),
      { numRuns: 500, seed: 32 },
    );
    fc.assert(
      fc.property(
        entry,
        fc.uniqueArray(fc.constantFrom(4, 5, 0x0b, 0x0c, 0x0d, 0x0f), { minLength: 1 }),
        (c, pids) => {
          const whole = encodeFrame(
            c,
            pids.map((pid) => ({ pid, data: data(pid) })),
          );
          const frame = decodeFrame(whole);
          expect(frame.ok && [frame.code, ...frame.parts.map((p) => p.pid)]).toEqual([c.code, ...pids]);
          for (let n = 8; n < whole.length; n++) expect(decodeFrame(whole.subarray(0, n)).ok).toBe(false);
        },
      ),
      { numRuns: 300, seed: 33 },
    );
  });
});
