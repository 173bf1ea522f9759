/** No driver, wherever it came from, gets anything but a reading request to the vehicle. */
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import type { Link } from '../../src/link/link.ts';
import { WireGate } from '../../src/poll/wire-gate.ts';

const READING = new Set([1, 2, 3, 6, 7, 9, 10]);

/** A wire, and what an adapter at its other end would make of it: requests that reach the vehicle. */
function wire(family: 'at' | 'slcan') {
  let sent = '';
  const link: Link = {
    name: 'wire',
    listen: () => undefined,
    close: async () => undefined,
    async write(bytes) {
      sent += String.fromCharCode(...bytes);
    },
  };
  const gate = new WireGate();
  const guarded = gate.guard(link, family);
  const write = (text: string): Promise<boolean> =>
    guarded.write(Uint8Array.from(text, (c) => c.charCodeAt(0) & 255)).then(
      () => true,
      () => false,
    );
  /** As liberal as adapters are: blanks, case and control characters do not count, any line end ends a line. */
  const services = (): number[] =>
    sent
      .toUpperCase()
      .split(/[\r\n]/)
      .map((l) => l.replace(/[^0-9A-Z@]/g, ''))
      .flatMap((line) => {
        if (family === 'at')
          return /^[0-9A-F]{2,}$/.test(line) ? [Number.parseInt(line.slice(0, 2), 16)] : [];
        const frame = /^[TR](?:[0-9A-F]{3}|[0-9A-F]{8})[0-8]([0-9A-F]*)$/.exec(line);
        if (!frame) return [];
        const pci = Number.parseInt(frame[1]!.slice(0, 2), 16) >> 4;
        if (pci === 3) return [];
        return [Number.parseInt(frame[1]!.slice(pci === 0 ? 2 : 4, pci === 0 ? 4 : 6), 16)];
      });
  return { gate, write, services, sent: () => sent };
}

const hexDigits = fc
  .array(fc.constantFrom(...'0123456789ABCDEFabcdef'), { maxLength: 20 })
  .map((d) => d.join(''));
const piece = fc.oneof(
  fc.string({ unit: 'binary-ascii', maxLength: 12 }),
  hexDigits,
  hexDigits.map((h) => `${h}\r`),
  fc.constantFrom(
    '\r',
    ' ',
    '\n',
    'AT',
    'ATI\r',
    'ATMA\r',
    'ATPP0CSV00\r',
    'ATSH123\r',
    'ATWM010203\r',
    '04\r',
    '04',
    '2F',
    '0100\r',
    '010C04\r',
    '0100\r04\r',
    '0104\u0000\r',
  ),
  fc
    .tuple(
      fc.constantFrom('t', 'T', 'r', 'R'),
      fc.constantFrom('7DF', '7E0', '18DB33F1', '123', '7E8'),
      fc.nat(8),
      hexDigits,
    )
    .map(([t, id, n, data]) => `${t}${id}${n}${data}\r`),
  fc.nat(255).map((s) => `t7DF802${s.toString(16).padStart(2, '0').toUpperCase()}0C0000000000\r`),
  fc.nat(255).map((s) => `t7DF81014${s.toString(16).padStart(2, '0').toUpperCase()}0000000000\r`),
);

describe.each(['at', 'slcan'] as const)('whatever a driver writes to %s', (family) => {
  it('reaches the vehicle only as a reading request', async () => {
    let passed = 0;
    await fc.assert(
      fc.asyncProperty(fc.array(piece, { maxLength: 12 }), async (pieces) => {
        const w = wire(family);
        for (const text of pieces) await w.write(text);
        for (const service of w.services()) {
          expect(READING.has(service)).toBe(true);
          passed++;
        }
        expect(w.sent()).not.toMatch(/MA|PP|WM|SH123|\n|^\r|\r\r/);
      }),
      { numRuns: 3000, seed: 17 },
    );
    expect(passed).toBeGreaterThan(20); // the reading ones did pass
  });

  it('for each service byte: exactly the reading ones, and 04 only while it is let through', async () => {
    for (let service = 0; service < 256; service++) {
      const hex = service.toString(16).padStart(2, '0').toUpperCase();
      const forms = ['', '0C', '0C00'].map((rest) =>
        family === 'at'
          ? `${hex}${rest}\r`
          : `t7DF8${`0${1 + rest.length / 2}${hex}${rest}`.padEnd(16, '0')}\r`,
      );
      const w = wire(family);
      const passed = await Promise.all(forms.map(w.write));
      expect(passed.some(Boolean)).toBe(READING.has(service));
    }
    const w = wire(family);
    const clear = family === 'at' ? '04\r' : 't7DF80104000000000000\r';
    expect(await w.write(clear)).toBe(false);
    expect(await w.gate.whileClearing(() => w.write(clear))).toBe(true);
    expect(await w.gate.whileClearing(() => w.write(clear.replace('04', '14')))).toBe(false);
    expect(await w.write(clear)).toBe(false);
  });
});

it('sends what was looked at, even when the driver changes its bytes meanwhile', async () => {
  let sent: Uint8Array = new Uint8Array(0);
  const gate = new WireGate().guard(
    {
      name: 'x',
      listen: () => undefined,
      close: async () => undefined,
      async write(bytes) {
        await Promise.resolve();
        sent = Uint8Array.from(bytes);
      },
    },
    'at',
  );
  const bytes = Buffer.from('0100\r');
  const done = gate.write(bytes);
  bytes[1] = 0x34;
  await done;
  expect(Buffer.from(sent).toString()).toBe('0100\r');
});

it('lets an empty line pass behind a change of line speed only, once: anywhere else it repeats the last command', async () => {
  const w = wire('at');
  expect(await w.write('\r')).toBe(false);
  for (const before of ['0100\r', 'ATI\r', 'ATBRT28\r', ' ']) {
    expect(await w.write(before)).toBe(true);
    expect(await w.write('\r')).toBe(false);
  }
  expect(await w.write('ATBRD08\r')).toBe(true);
  expect(await w.write('ATPP0CSV08\r')).toBe(false); // kept for good in the adapter: never
  expect(await w.write('\r')).toBe(true);
  expect(await w.write('\r')).toBe(false);
});
