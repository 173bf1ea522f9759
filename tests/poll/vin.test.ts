import { expect, it } from 'vitest';
import { identifyVehicle } from '../../src/poll/identify.ts';
import { isVin } from '../../src/poll/vin.ts';

it('a number is believed when it is made as such numbers are', () => {
  // The check digit of the example that is passed round with the rule (common practice, no source), and of ones.
  expect(isVin('1M8GDM9AXKP042788')).toBe(true);
  expect(isVin('11111111111111111')).toBe(true);
  expect(isVin('1M8GDM9A1KP042788')).toBe(false); // the region uses a check digit
  expect(isVin('ZZZSTEADY00000001')).toBe(true); // this one does not
  expect(isVin('ZZZSTEADY0000000O')).toBe(false);
  expect(isVin('ZZZSTEADY0000000')).toBe(false);
});

/** A vehicle that says these numbers one after the other, the last one from then on. */
async function read(...numbers: readonly string[]) {
  let n = 0;
  const vehicle = await identifyVehicle(async ({ payload }) => {
    const vin = numbers[Math.min(n, numbers.length - 1)]!;
    if (payload[0] === 9) n++;
    const said = payload[0] === 1 ? [0x41, 0x00, 0x08, 0, 0, 0] : [0x49, 2, 1, ...Buffer.from(vin)];
    return {
      asked: payload,
      sentUs: 0,
      doneUs: 1,
      outcome: 'answered',
      why: null,
      messages: [{ ecu: '7E8', payload: Uint8Array.from(said), tUs: 1 }],
      discards: [],
    };
  });
  return [vehicle?.vin, vehicle?.vinCertain];
}

it('a number is certain when it was read the same twice', async () => {
  const good = 'ZZZSTEADY00000001';
  const bad = 'ZZZSTEADY00000007';
  expect(await read(good)).toEqual([good, true]);
  expect(await read(bad, good)).toEqual([good, true]);
  expect(await read(...'ABCDEFGH'.split('').map((c) => `ZZZSTEADY0000000${c}`))).toEqual([
    'ZZZSTEADY0000000A',
    false,
  ]);
  expect(await read('ZZZSTEADY0000000O')).toEqual(['ZZZSTEADY0000000O', false]);
});
