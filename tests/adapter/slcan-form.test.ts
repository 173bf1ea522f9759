/** Each reading request has a form that the gate lets through, or none at all: the driver never meets the gate. */
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { formOf } from '../../src/adapter/slcan/form.ts';
import { readSlcanLine, SlcanSplitter, tellsOfWritten } from '../../src/adapter/slcan/read.ts';
import { FrameWatch } from '../../src/adapter/slcan/watch.ts';
import { isResponseId } from '../../src/isotp/address.ts';
import { onlyReads } from '../../src/poll/wire-gate.ts';

const READS = [1, 2, 3, 6, 7, 9, 10, 0x19, 0x22];
const ADDRESSES = ['t7DF', 't7E0', 't7E7', 'T18DB33F1', 'T18DA10F1', 'T18DA18F1'];
const passes = (form: Uint8Array): boolean =>
  ADDRESSES.every((address) => {
    const watch = new FrameWatch({
      ask: (payload) => (onlyReads(payload) ? 'yes' : 'no'),
      reads: (service) => READS.includes(service),
    });
    const data = Buffer.from([form.length, ...form])
      .toString('hex')
      .toUpperCase()
      .padEnd(16, '0');
    return watch.mayPass(Buffer.from(`${address}8${data}\r`));
  });

const bytes = Array.from({ length: 256 }, (_, n) => n);

describe('the form of a request over serial-line CAN', () => {
  it('of codes and values passes, whatever is asked for', () => {
    const requests = [[3], [7], [10], ...bytes.map((id) => [1, id])];
    const refused = requests.filter((r) => {
      const form = formOf(Uint8Array.from(r));
      return form === null || !passes(form);
    });
    expect(refused).toEqual([]);
  });

  it.each([
    ['a frozen value', (id: number) => [2, id, 0]],
    ['a test result', (id: number) => [6, id]],
    ['vehicle information', (id: number) => [9, id]],
  ])('of %s passes; 11 to 1F have none, as a length could be read out of them', (_, request) => {
    const none = bytes.filter((pid) => {
      const form = formOf(Uint8Array.from(request(pid)));
      if (form !== null) expect([pid, passes(form)]).toEqual([pid, true]);
      return form === null;
    });
    expect(none).toEqual(Array.from({ length: 15 }, (_, n) => 0x11 + n));
  });

  it('over the newer services passes, one value or three, whatever is asked for', () => {
    const safe = (payload: number[]) => {
      const form = formOf(Uint8Array.from(payload));
      return form !== null && passes(form) && payload.slice(1).every((b) => form.includes(b));
    };
    for (const range of [0xf4, 0xf6, 0xf8])
      expect(bytes.filter((id) => !safe([0x22, range, id]))).toEqual([]);
    fc.assert(
      fc.property(fc.uniqueArray(fc.integer({ min: 1, max: 255 }), { minLength: 2, maxLength: 3 }), (ids) => {
        const form = formOf(Uint8Array.of(0x22, ...ids.flatMap((id) => [0xf4, id])));
        expect(form === null || passes(form)).toBe(true);
      }),
      { numRuns: 2000, seed: 6 },
    );
    for (const codes of [
      [0x19, 0x42, 0x33, 0x8c, 0xff],
      [0x19, 0x55, 0x33],
      [0x19, 0x15],
    ])
      expect(safe(codes)).toBe(true);
  });

  it('of the freeze frame of a code: some codes have none, and those that have one pass', () => {
    const withForm = bytes.filter((high) => {
      const form = formOf(Uint8Array.of(0x19, 0x04, high, 0x62, 0x00, 0xff));
      if (form !== null) expect([high, passes(form)]).toEqual([high, true]);
      return form !== null;
    });
    expect(withForm).toEqual([0x00, 0x06, 0x07, 0x09, 0x0a, 0x19, 0x22]);
  });

  it('of several values at once passes, or there is none', () => {
    fc.assert(
      fc.property(
        fc.uniqueArray(fc.integer({ min: 1, max: 255 }), { minLength: 2, maxLength: 6 }),
        (pids) => {
          const form = formOf(Uint8Array.of(1, ...pids));
          expect(form === null || passes(form)).toBe(true);
        },
      ),
      { numRuns: 2000, seed: 5 },
    );
  });
});

it('what a line tells of those written before is what it means', () => {
  const digits = fc.string({ unit: fc.constantFrom(...'0123456789abcdefABCDEF'), maxLength: 24 });
  const start = fc.constantFrom(
    't7E8',
    't7e8',
    't7E0',
    't123',
    'T18DAF110',
    'T18daf1ff',
    'T00000123',
    't',
    'r7E8',
    'V1',
    'z',
    '',
  );
  const end = fc.constantFrom('\r', '\x07', '');
  const told = new Map<string | null, number>();
  fc.assert(
    fc.property(
      start,
      fc.integer({ min: 0, max: 9 }),
      digits,
      fc.boolean(),
      end,
      (from, n, rest, whole, to) => {
        const length = whole ? `${n}${rest.padEnd(2 * n, '5').slice(0, 2 * n)}` : rest;
        for (const line of new SlcanSplitter().push({
          tUs: 0,
          bytes: Buffer.from(`${from}${length}${to}\r`),
        })) {
          const meaning = readSlcanLine(line);
          const expected =
            meaning.kind === 'reply' || meaning.kind === 'error'
              ? 'acknowledged'
              : meaning.kind === 'frame' && isResponseId(meaning.id)
                ? 'answer'
                : null;
          expect(tellsOfWritten(line)).toBe(expected);
          told.set(expected, (told.get(expected) ?? 0) + 1);
        }
      },
    ),
    { numRuns: 5000, seed: 11 },
  );
  expect(Math.min(...['acknowledged', 'answer', null].map((t) => told.get(t) ?? 0))).toBeGreaterThan(300);
});
