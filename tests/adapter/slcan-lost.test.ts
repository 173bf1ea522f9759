/** What can become of a frame's line by losing characters: against every way of losing them, tried one by one. */
import { expect, it } from 'vitest';
import { couldAsk, isHarmless } from '../../src/adapter/slcan/lost.ts';
import { seededRandom } from '../../src/core/random.ts';

/** The service that a loose reader makes of a line with a frame; null = it refuses or ignores it. */
function serviceOf(line: string): number | null {
  const id = line[0] === 'T' ? 8 : 3;
  const bytes = Number.parseInt(line[1 + id] ?? '', 16);
  const data = line.slice(2 + id);
  if (!(bytes <= 8) || data.length < 2 * bytes) return null;
  const [pci = 0, service] = Buffer.from(data.slice(0, 2 * bytes), 'hex');
  return pci >= 1 && pci <= 7 && pci <= bytes - 1 ? service! : null;
}

/** Every line that is left when some characters behind the first are lost. */
function* left(line: string): Generator<string> {
  const n = line.length - 1;
  for (let kept = 0; kept < 1 << n; kept++) {
    let rest = line[0]!;
    for (let i = 0; i < n; i++) if (kept & (1 << i)) rest += line[1 + i];
    yield rest;
  }
}

it('is exactly what every way of losing characters makes of it', () => {
  const random = seededRandom('lost');
  const digit = (of = '0123456789ABCDEF') => of[Math.floor(random.next() * of.length)]!;
  const digits = (n: number, of?: string) => Array.from({ length: n }, () => digit(of)).join('');
  const lines = [
    't7E0802010C', // cut short: of what is written a length of 2 can be left
    't7DF3020104',
    't7E0301010100',
    'T18DB33F12010C',
    'T000000002010C',
    't00020104',
    't111911111111',
    ...Array.from({ length: 40 }, () => `t${digits(3)}${digit('234')}${digits(8)}`),
    ...Array.from({ length: 60 }, () => `t${digits(3, '0127')}${digit('234')}${digits(8, '00123')}`),
    ...Array.from({ length: 10 }, () => `t${digits(3, '28')}5${digits(10, '000245')}`),
    ...Array.from({ length: 6 }, () => `T${digits(8, '0123')}2${digits(4, '0012')}`),
  ];
  let found = 0;
  for (const line of lines) {
    const services = new Set([...left(line)].map(serviceOf).filter((s) => s !== null));
    expect([line, [...couldAsk(line)].sort()]).toEqual([line, [...services].sort()]);
    found += services.size;
  }
  expect(found).toBeGreaterThan(50);
});

it('eight bytes to their end: the length of all seven, and of none that is not there', () => {
  const whole = 't7DF8';
  expect(couldAsk(`${whole}0702030405060708`)).toContain(0x02);
  expect(couldAsk('t88880711111111111111')).toEqual(new Set([0x11]));
  expect(couldAsk('t88880811111111111111')).toEqual(new Set()); // eight do not fit behind their length
  expect(couldAsk('t000901'.padEnd(23, '1'))).toEqual(new Set()); // a frame has no ninth
});

it('is harmless where nothing but the service meant, reading ones and 00 are left', () => {
  const may = { ask: () => 'yes' as const, reads: (service: number) => service === 1 };
  expect(couldAsk('t000200100')).toContain(0);
  expect(isHarmless('t000200100', null, may)).toBe(true);
  expect(isHarmless('t88820102', 2, may)).toBe(true);
  expect(isHarmless('t88820102', 3, may)).toBe(false);
  expect(isHarmless('t88820102', null, may)).toBe(false);
  expect(isHarmless('t88820101', null, may)).toBe(true);
  expect(isHarmless('t88820100', null, may)).toBe(true);
  expect(isHarmless('t88820102', 2, may)).toBe(true); // as before, from memory
});
