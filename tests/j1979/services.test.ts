/** Codes, readiness, freeze frames, monitor tests, vehicle information, negative responses: by hand, both ways, fuzzed. */
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { fromHex, toHex } from '../../src/core/hex.ts';
import { decodeCodes, encodeCodes } from '../../src/j1979/codes.ts';
import { encodePid } from '../../src/j1979/decode.ts';
import { codeBytes, codeMeaning, codeText } from '../../src/j1979/dtc.ts';
import { CODE_NAMES } from '../../src/j1979/dtc-names.ts';
import { decodeFreeze, encodeFreeze, encodeFreezeCode } from '../../src/j1979/freeze.ts';
import {
  decodeInfo,
  encodeCounters,
  encodeInfo,
  INFO,
  type VehicleInfo,
  vinOf,
} from '../../src/j1979/info.ts';
import { explainRequest, explainResponse } from '../../src/j1979/message.ts';
import { decodeNegative, encodeNegative, NEGATIVE } from '../../src/j1979/negative.ts';
import { decodeMonitors, encodeMonitors, monitorNames } from '../../src/j1979/readiness.ts';
import { decodeTests, encodeTests } from '../../src/j1979/tests.ts';
import { UNIT_IDS } from '../../src/j1979/tests-table.ts';

const hex = (text: string): Uint8Array => fromHex(text.replaceAll(' ', ''))!;

describe('trouble codes', () => {
  it('two bytes and text, both ways', () => {
    const pairs: [string, string][] = [
      ['0133', 'P0133'],
      ['1F42', 'P1F42'],
      ['1F41', 'P1F41'],
      ['2262', 'P2262'],
      ['3FFF', 'P3FFF'],
      ['4123', 'C0123'],
      ['8001', 'B0001'],
      ['C100', 'U0100'],
      ['FFFF', 'U3FFF'],
      ['0000', 'P0000'],
    ];
    for (const [bytes, text] of pairs) {
      const [high, low] = hex(bytes) as unknown as [number, number];
      expect(codeText(high, low)).toBe(text);
      expect(codeBytes(text)).toEqual([high, low]);
    }
    for (let n = 0; n < 65536; n++) {
      const back = codeBytes(codeText(n >> 8, n & 0xff))!;
      if (back[0] * 256 + back[1] !== n) throw new Error(`${n}`);
    }
    for (const text of ['', 'P', 'P013', 'P01333', 'P4000', 'X0100', 'P01G0'])
      expect(codeBytes(text)).toBeNull();
  });
  it('says what is known and guesses nothing', () => {
    expect(codeMeaning('P0299').source).toBe('from memory of SAE J2012');
    for (const code of ['P1F41', 'P1FFF'])
      expect(codeMeaning(code)).toEqual({
        text: "maker's own code: see the maker's handbook",
        source: null,
      });
    for (const code of ['P3000', 'C1234', 'B2000', 'U1000'])
      expect(codeMeaning(code).text).toContain('maker');
    for (const code of ['P0FFF', 'P3400', 'C0FFF', 'U0FFF'])
      expect(codeMeaning(code).text).toContain('look it up');
    expect(codeMeaning('hello').text).toBe('not a trouble code');
  });
  it('every described code is a code, and those from J2012 are common codes', () => {
    for (const code of Object.keys(CODE_NAMES)) {
      expect(codeBytes(code), code).not.toBeNull();
      expect(code, 'from J2012 only common codes').not.toMatch(/^(P1|P3[0-3]|[CBU][12])/);
    }
  });
});

describe('services 03, 07, 0A', () => {
  const codesOf = (payload: string) => decodeCodes(hex(payload));
  it('with a count, as on CAN', () => {
    expect(codesOf('43 00')).toEqual({ ok: true, state: 'stored', codes: [], problem: null, short: false });
    expect(codesOf('43 02 0133 1F42')).toMatchObject({ codes: ['P0133', 'P1F42'], problem: null });
    expect(codesOf('47 01 0299')).toMatchObject({ state: 'pending', codes: ['P0299'] });
    expect(codesOf('4A 01 0299')).toMatchObject({ state: 'permanent', codes: ['P0299'] });
  });
  it('without, filled up with zeros, as elsewhere', () => {
    expect(codesOf('43 0133 0000 0000')).toMatchObject({ codes: ['P0133'], problem: null });
    expect(codesOf('43 0000 0000 0000')).toMatchObject({ codes: [], problem: null, short: false });
    expect(codesOf('43 0133 0299 1F42')).toMatchObject({ codes: ['P0133', 'P0299', 'P1F42'] });
  });
  it('names a count that lies', () => {
    expect(codesOf('43 03 0133')).toMatchObject({
      codes: ['P0133'],
      problem: 'says 3 codes, carries 1',
      short: true,
    });
    expect(codesOf('43 00 0133')).toMatchObject({ codes: ['P0133'], problem: 'says 0 codes, carries 1' });
    expect(codesOf('43')).toMatchObject({ ok: true, codes: [], problem: expect.any(String), short: true });
    expect(codesOf('41 0C')).toMatchObject({ ok: false });
    expect(codesOf('')).toMatchObject({ ok: false });
  });
  it('both ways for any codes', () => {
    const code = fc.integer({ min: 1, max: 65535 }).map((n) => codeText(n >> 8, n & 0xff));
    fc.assert(
      fc.property(
        fc.array(code, { maxLength: 60 }),
        fc.constantFrom('stored', 'pending', 'permanent'),
        fc.boolean(),
        (codes, state, counted) => {
          const messages = encodeCodes(state, codes, counted);
          if (!counted) for (const m of messages) expect(m.length).toBe(7);
          const back = messages.map((m) => decodeCodes(m));
          expect(
            back.flatMap((b) => (b.ok && b.problem === null && b.state === state ? b.codes : ['bad'])),
          ).toEqual(codes);
        },
      ),
      { numRuns: 500, seed: 21 },
    );
    expect(() => encodeCodes('stored', ['P0x'], true)).toThrow(RangeError);
  });
});

describe('readiness', () => {
  it('spark ignition by hand', () => {
    // Lamp on, 3 codes; misfire, fuel and components fitted, fuel not complete; catalyst, evaporative, oxygen
    // sensor and heater fitted, evaporative not complete.
    const status = decodeMonitors(0x01, hex('83 27 65 04'))!;
    expect(status).toMatchObject({ mil: true, codes: 3, ignition: 'spark' });
    expect(status.monitors.filter((m) => m.supported).map((m) => `${m.name} ${m.complete}`)).toEqual([
      'Misfire true',
      'Fuel system false',
      'Comprehensive components true',
      'Catalyst true',
      'Evaporative system false',
      'Oxygen sensor true',
      'Oxygen sensor heater true',
    ]);
  });
  it('compression ignition by hand', () => {
    const status = decodeMonitors(0x01, hex('00 0F EB 48'))!;
    expect(status).toMatchObject({ mil: false, codes: 0, ignition: 'compression' });
    expect(status.monitors.filter((m) => m.supported && !m.complete).map((m) => m.name)).toEqual([
      'Boost pressure',
      'Particle filter',
    ]);
    expect(status.monitors.filter((m) => m.supported).length).toBe(9);
  });
  it('PID 41 has neither lamp nor codes', () => {
    expect(decodeMonitors(0x41, hex('83 27 65 04'))).toMatchObject({ mil: false, codes: 0 });
    expect(decodeMonitors(0x01, hex('83 27 65'))).toBeNull();
  });
  it('both ways', () => {
    for (const ignition of ['spark', 'compression'] as const)
      fc.assert(
        fc.property(fc.boolean(), fc.nat(127), fc.infiniteStream(fc.boolean()), (mil, codes, coin) => {
          const monitors = monitorNames(ignition).map((name, i) => ({
            name,
            continuous: i < 3,
            supported: coin.next().value as boolean,
            complete: coin.next().value as boolean,
          }));
          const status = { mil, codes, ignition, monitors };
          expect(decodeMonitors(0x01, encodeMonitors(0x01, status))).toEqual(status);
        }),
        { numRuns: 200, seed: 22 },
      );
  });
});

describe('freeze frames', () => {
  it('by hand', () => {
    const answer = decodeFreeze(hex('02 02 00 0C 00 05 00'), hex('42 02 00 1F42 0C 00 1AF8 05 00 7B'));
    expect(answer.ok && answer.parts.map((p) => [p.frame, p.code, p.reading.readings[0]?.value])).toEqual([
      [0, 'P1F42', undefined],
      [0, undefined, 1726],
      [0, undefined, 83],
    ]);
    const none = decodeFreeze(hex('020200'), hex('42 02 00 0000'));
    expect(none.ok && none.parts[0]!.code).toBeNull();
    expect(decodeFreeze(hex('020200'), hex('42 02 00')).ok).toBe(false);
  });
  it('both ways', () => {
    const parts = [
      { pid: 0x02, data: encodeFreezeCode('P0299') },
      { pid: 0x0b, data: encodePid(0x0b, () => 95)! },
      { pid: 0x0c, data: encodePid(0x0c, () => 2500)! },
    ];
    const answer = decodeFreeze(Uint8Array.of(0x02, 0x02, 0x00, 0x0b, 0x00, 0x0c, 0x00), encodeFreeze(parts));
    expect(answer.ok && answer.parts.map((p) => p.code ?? p.reading.readings[0]?.value)).toEqual([
      'P0299',
      95,
      2500,
    ]);
    expect(encodeFreezeCode(null)).toEqual(Uint8Array.of(0, 0));
    expect(() => encodeFreezeCode('nonsense')).toThrow(RangeError);
  });
});

describe('monitor tests', () => {
  it('by hand, CAN', () => {
    // Boost pressure control bank 1, maker's test 80, kPa by hundredths: 12.00 between 10.00 and 30.00
    const answer = decodeTests(hex('46 85 80 17 04B0 03E8 0BB8 A2 0B 24 0003 0000 0002'));
    expect(answer).toMatchObject({
      ok: true,
      results: [
        {
          monitorName: 'Boost pressure control, bank 1',
          testName: null,
          unit: 'kPa',
          value: 12,
          low: 10,
          high: 30,
          passed: true,
        },
        {
          monitorName: 'Misfire, cylinder 1',
          testName: 'Misfires, mean of the last ten drives',
          value: 3,
          high: 2,
          passed: false,
        },
      ],
    });
    // Signed: -1.00 kPa
    expect(decodeTests(hex('46 85 80 FC FF9C FF00 0064'))).toMatchObject({
      results: [{ value: -1, low: -2.56, high: 1, passed: true }],
    });
    // Not run yet; unknown scaling stays a number without unit.
    expect(decodeTests(hex('46 21 80 01 0000 0000 0000'))).toMatchObject({ results: [{ passed: null }] });
    expect(decodeTests(hex('46 21 80 7E 0102 0000 FFFF'))).toMatchObject({
      results: [{ unit: null, value: 258 }],
    });
    expect(decodeTests(hex('46 00 C0000001 20 80000000'))).toMatchObject({
      supported: [1, 2, 0x20, 0x21],
      results: [],
    });
  });
  it('by hand, elsewhere', () => {
    expect(decodeTests(hex('46 05 81 0010 0020'))).toMatchObject({
      results: [{ monitor: 5, test: 1, value: 16, low: 32, high: null, passed: false }],
    });
    expect(decodeTests(hex('46 05 01 0010 0020'))).toMatchObject({
      results: [{ low: null, high: 32, passed: true }],
    });
    expect(decodeTests(hex('46 00 FF 80000000'))).toMatchObject({ supported: [1] });
    for (const bad of ['46', '46 85 80 17 04', '41 00', '']) expect(decodeTests(hex(bad)).ok).toBe(false);
  });
  it('both ways for every scaling of the table', () => {
    for (const id of Object.keys(UNIT_IDS).map(Number)) {
      const { mul, div, zero = 0 } = UNIT_IDS[id]!;
      const of = (count: number) => ((count - zero) * mul) / div;
      const one = {
        monitor: 0x21,
        test: 0x80,
        scaling: id,
        value: of(300),
        low: of(id >= 0x80 ? -5 : 5),
        high: of(2000),
      };
      expect(decodeTests(encodeTests([one]))).toMatchObject({
        ok: true,
        results: [{ ...one, passed: true }],
      });
    }
    expect(() => encodeTests([{ monitor: 1, test: 1, scaling: 0x7e, value: 0, low: 0, high: 0 }])).toThrow(
      RangeError,
    );
  });
});

describe('vehicle information', () => {
  const VIN = 'XXHBDEM0000000001';
  const vinHex = toHex(Uint8Array.from(VIN, (c) => c.charCodeAt(0)));
  const info = (...payloads: string[]): VehicleInfo => {
    const answer = decodeInfo(payloads.map(hex));
    if (!answer.ok) throw new Error(answer.why);
    return answer.info;
  };
  it('the number, with the paddings that are met', () => {
    for (const data of [vinHex, `000000${vinHex}`, `${vinHex}000000`, `${vinHex}FF`, `202020${vinHex}20`])
      expect(vinOf(info(`490201${data}`)), data).toBe(VIN);
    const four = (i: number) => `4902${`0${i + 1}`}${`000000${vinHex}`.slice(8 * i, 8 * i + 8)}`;
    expect(vinOf(info(...[0, 1, 2, 3, 4].map(four)))).toBe(VIN);
    expect(vinOf(info(...[3, 0, 4, 2, 1].map(four)))).toBe(VIN);
  });
  it('a number that is none is shown, not taken', () => {
    const short = info('490201 4142430000000000000000000000000000');
    expect([vinOf(short), short.items]).toEqual([null, ['ABC']]);
    expect(info('490201 414243').problem).toContain('3 bytes');
    expect(vinOf(info(`490201${vinHex.replace('42', '4F')}`))).toBe('XXHODEM0000000001'); // an O: shown, as not certain
    expect(vinOf(info(`490201${vinHex.replace('42', '2B')}`))).toBeNull(); // a +
    const four = (i: number) => `4902${`0${i + 1}`}${`000000${vinHex}`.slice(8 * i, 8 * i + 8)}`;
    expect(info(...[0, 1, 3, 4].map(four)).problem).toContain('message 3');
    expect(vinOf(info(...[0, 1, 3, 4].map(four)))).toBeNull();
    expect(vinOf(info('490401 41424344450000000000000000000000'))).toBeNull();
  });
  it('calibrations, name, counters, counts, bitmaps, unknown', () => {
    expect(info(toHex(encodeInfo(INFO.calibrationId, ['HB-ENGINE-01', 'HB-TRIM-02']))).items).toEqual([
      'HB-ENGINE-01',
      'HB-TRIM-02',
    ]);
    expect(info(toHex(encodeInfo(INFO.calibrationNumber, [hex('0102ABCD')])))).toMatchObject({
      items: ['0102ABCD'],
      problem: null,
    });
    expect(info('490602 0102ABCD')).toMatchObject({
      items: ['0102ABCD'],
      problem: 'says 2 items, carries 1',
    });
    expect(info('490A01 45434D00 2D 456E67696E65000000000000000000').items).toEqual(['ECM -Engine']);
    const counters = info(toHex(encodeCounters(INFO.countersCompression, [10, 20, ...Array(16).fill(3)])));
    expect(counters.counters.length).toBe(18);
    expect(counters.counters[0]).toEqual({ name: 'Drives with monitoring conditions', value: 10 });
    expect(counters.counters[14]!.name).toBe('Boost pressure: completed');
    expect(info(toHex(encodeCounters(INFO.countersSpark, Array(20).fill(1)))).counters.at(-1)!.name).toBe(
      'Secondary oxygen sensor, bank 2: conditions met',
    );
    expect(info('4901 05').items).toEqual(['5']);
    expect(info('4900 54400000').supported).toEqual([2, 4, 6, 10]);
    expect(info('4900 01 54400000').supported).toEqual([2, 4, 6, 10]);
    expect(info('4915 01 0203')).toMatchObject({ name: 'Unknown information type 15', items: ['0203'] });
    for (const bad of ['', '49', '4902', '4102', '4900 01'])
      expect(decodeInfo([hex(bad)]).ok, bad).toBe(false);
    expect(decodeInfo([]).ok).toBe(false);
  });
  it('both ways', () => {
    expect(vinOf(info(toHex(encodeInfo(INFO.vin, [VIN]))))).toBe(VIN);
    expect(toHex(encodeInfo(INFO.vin, [VIN]))).toBe(`490201${vinHex}`);
  });
});

it('negative responses', () => {
  expect(decodeNegative(hex('7F0178'))).toEqual({
    service: 1,
    code: 0x78,
    text: 'request received, answer pending',
  });
  expect(decodeNegative(encodeNegative(4, NEGATIVE.conditionsNotCorrect))!.text).toBe(
    'conditions not correct',
  );
  expect(decodeNegative(hex('7F01EE'))!.text).toBe('unknown reason EE');
  for (const bad of ['', '7F', '7F01', '410C']) expect(decodeNegative(hex(bad))).toBeNull();
});

it('any message of any service with any request: an explanation, never a throw', () => {
  fc.assert(
    fc.property(
      fc.constantFrom(0x41, 0x42, 0x43, 0x44, 0x46, 0x47, 0x49, 0x4a, 0x7f, null),
      fc.uint8Array({ maxLength: 80 }),
      fc.option(fc.uint8Array({ maxLength: 8 })),
      (service, tail, request) => {
        const payload = service === null ? tail : Uint8Array.from([service, ...tail]);
        const asked =
          request === null || service === null ? request : Uint8Array.from([service & 0xbf, ...request]);
        const said = explainResponse(payload, asked);
        for (const v of said.values)
          expect(v.value === null || typeof v.value === 'string' || Number.isFinite(v.value)).toBe(true);
        for (const code of said.codes) expect(codeBytes(code)).not.toBeNull();
        expect(JSON.parse(JSON.stringify(said))).toEqual(said);
        // Nothing that could be read means that it says why.
        if (said.values.length === 0 && said.text === null) expect(said.problem).not.toBeNull();
        expect(explainRequest(payload).direction).toBe('request');
      },
    ),
    { numRuns: 5000, seed: 23 },
  );
});
