/** Lines of frames to what they say: every service, bad lines with their column, fuzz. */
import fc from 'fast-check';
import { expect, it } from 'vitest';
import { type DecodedMessage, FrameDecoder } from '../../src/j1979/decode-frames.ts';

const decode = (...lines: string[]): DecodedMessage[] => {
  const decoder = new FrameDecoder();
  const out = lines.flatMap((l) => {
    const r = decoder.line(l);
    if (!r.ok) throw new Error(`${r.why} at ${r.column}`);
    return r.messages;
  });
  return [...out, ...decoder.finish()];
};
const bad = (line: string): string => {
  const r = new FrameDecoder().line(line);
  return r.ok ? 'ok' : `${r.column}: ${r.why}`;
};

it('a value as the contract prints it', () => {
  expect(decode('7E8#04410C1AF8')).toEqual([
    {
      id: '7E8',
      direction: 'response',
      service: '01',
      values: [{ pid: '0C', signal: 'rpm', value: 1726, unit: 'rpm', raw: '1AF8' }],
      codes: [],
      text: null,
      problem: null,
    },
  ]);
});

it('named values, absent values, unknown PIDs', () => {
  expect(decode('7E8#0441030200AAAAAA')[0]!.values.map((v) => v.value)).toEqual([
    'closed loop',
    'off or not fitted',
  ]);
  expect(decode('18DAF110#054167017B00')[0]!.values).toEqual([
    { pid: '67', signal: 'ect_c', value: 83, unit: 'degC', raw: '017B00' },
    { pid: '67', signal: 'ect2_c', value: null, unit: 'degC', raw: '017B00', absent: 'unsupported' },
  ]);
  expect(decode('7E8#0441960102')[0]!.values).toEqual([
    { pid: '96', signal: null, value: null, unit: null, raw: '0102' },
  ]);
});

it('the request before settles how an answer is cut', () => {
  const answer = ['7E8#1008410670000B65', '7E8#210C4C'];
  const wide = decode('7DF#0401060B0C', '7E8#100841060B0B650C', '7E8#211AF8');
  expect(wide.at(-1)!.values.map((v) => [v.signal, v.value])).toEqual([
    ['stft1_pct', -91.40625],
    ['stft3_pct', null],
    ['map_kpa', 101],
    ['rpm', 1726],
  ]);
  expect(decode('7E0#02010D', ...answer).at(-1)!.problem).toContain('is no data of PID');
  // An answer that the request did not ask for is read all the same, and said so.
  expect(decode('7DF#02010D', '7E8#04410C1AF8').at(-1)).toMatchObject({
    values: [{ signal: 'rpm', value: 1726 }],
    problem: expect.stringContaining('does not fit the request before it'),
  });
});

it('long messages, with flow control and other control units in between', () => {
  const out = decode(
    '7DF#0209020000000000',
    '7E8#1014490201585848',
    '7E0#3000000000000000',
    '7E9#037F0978',
    '7E8#214244454D303030',
    '7E9#037F0911',
    '7E8#2230303030303031',
  );
  expect(out.map((m) => [m.id, m.service, m.text])).toEqual([
    ['7DF', '09', 'Asks for vehicle information: 02'],
    ['7E9', '7F', 'Service 09 refused: request received, answer pending (78)'],
    ['7E9', '7F', 'Service 09 refused: service not supported (11)'],
    ['7E8', '09', 'Vehicle identification number: XXHBDEM0000000001'],
  ]);
});

it('codes with what is known of them', () => {
  const out = decode('7E8#0643021F42029900');
  expect(out[0]!.codes).toEqual(['P1F42', 'P0299']);
  expect(out[0]!.text).toBe(
    "Stored codes: P1F42 maker's own code: see the maker's handbook; " +
      'P0299 Turbocharger or supercharger under-boost (from memory of SAE J2012)',
  );
  expect(decode('7E8#024700')[0]!.text).toBe('No pending codes');
  expect(decode('7E8#054202001000')[0]).toMatchObject({ service: '02', codes: ['P1000'] });
  expect(decode('7E8#0441021 F42'.replace(' ', ''))[0]).toMatchObject({ codes: ['P1F42'] });
});

it('monitors, bitmaps, tests, clearing', () => {
  expect(decode('7E8#0641018127650400')[0]!.text).toContain(
    'Lamp on, codes: 1; spark ignition; 5 of 7 monitors complete',
  );
  expect(decode('7E8#064100BE1FA813')[0]!.values[0]!.value).toBe(
    '01 03 04 05 06 07 0C 0D 0E 0F 10 11 13 15 1C 1F 20',
  );
  expect(decode('7E8#100A468580170 4B0'.replace(' ', ''), '7E8#2103E80BB8')[0]).toMatchObject({
    values: [{ pid: '85', value: 12, unit: 'kPa' }],
    text: 'Boost pressure control, bank 1, test 80: 12 kPa, least 10, most 30: within limits',
  });
  expect(decode('7E8#0144')[0]!.text).toBe('Codes and freeze frames cleared');
  expect(decode('7DF#0104')[0]!.text).toBe('Asks for clear codes and freeze frames');
});

it('what makes no message says so', () => {
  const problems = (...lines: string[]) => decode(...lines).map((m) => m.problem);
  expect(problems('7E8#2142444546474849')).toEqual(['consecutive frame without a first frame']);
  expect(problems('7E8#1014490201585848')).toEqual(['message not finished']);
  expect(problems('7E8#1014490201585848', '7E8#2230303030303030')).toEqual(['frame 2 where 1 was due']);
  expect(problems('123#0011')).toEqual(['123 is no diagnostic address of ISO 15765-4']);
  expect(problems('7E8#04410C1A')).toEqual(['single frame says 4 bytes, 3 came']);
  expect(problems('7E8#03410C1A')[0]).toContain('PID 0C');
  expect(problems('7E8#03010C00')[0]).toBe('01 is no response');
  expect(problems('7E0#300000', '7E8#300000')).toEqual([]);
});

it('bad lines: what was expected, and the column', () => {
  expect(bad('7E8 04410C1AF8')).toBe('1: no # between address and data, expected ID#HEX');
  expect(bad('  7G8#04')).toBe('4: "G" is no hex digit of the address');
  expect(bad('7E#04')).toBe('1: address of 2 digits, expected 3 (11-bit) or 8 (29-bit)');
  expect(bad('FFF#04')).toBe('1: address FFF is larger than 7FF');
  expect(bad('28DAF110#04')).toBe('1: address 28DAF110 is larger than 1FFFFFFF');
  expect(bad('7E8#0441XC')).toBe('9: "X" is no hex digit of the data');
  expect(bad('7E8#044')).toBe('8: an odd number of hex digits');
  expect(bad('7E8#')).toBe('5: 0 data bytes, expected 1 to 8');
  expect(bad('7E8#001122334455667788')).toBe('5: 9 data bytes, expected 1 to 8');
  expect(bad('x'.repeat(201))).toBe('201: a line of 201 characters, at most 200');
  for (const fine of ['', '   ', '\t', '7e8#0144\r', ' 18daf110#0144 ']) expect(bad(fine)).toBe('ok');
});

it('any lines: a result for each, never a throw, JSON all the way', () => {
  const digits = fc.string({ unit: fc.constantFrom(...'0123456789ABCDEFabcdefG#% '), maxLength: 22 });
  const near = fc
    .tuple(
      fc.constantFrom('7E8', '7E9', '7DF', '7E0', '18DAF110', '18DB33F1', '123'),
      fc.uint8Array({ minLength: 1, maxLength: 8 }),
    )
    .map(([id, data]) => `${id}#${Buffer.from(data).toString('hex')}`);
  fc.assert(
    fc.property(fc.array(fc.oneof(digits, near, near, fc.string()), { maxLength: 40 }), (lines) => {
      const decoder = new FrameDecoder();
      for (const line of lines) {
        const r = decoder.line(line);
        if (r.ok) for (const m of r.messages) expect(JSON.parse(JSON.stringify(m))).toEqual(m);
        else {
          expect(r.column).toBeGreaterThan(0);
          expect(r.column).toBeLessThanOrEqual(line.length + 1);
        }
      }
      decoder.finish();
    }),
    { numRuns: 1500, seed: 31 },
  );
});
