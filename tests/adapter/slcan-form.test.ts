/** Each reading request has a form that the gate lets through, or none at all: the driver never meets the gate. */
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { formOf } from '../../src/adapter/slcan/form.ts';
import { FrameWatch } from '../../src/adapter/slcan/watch.ts';
import { onlyReads } from '../../src/poll/wire-gate.ts';

const READS = [1, 2, 3, 6, 7, 9, 10];
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
