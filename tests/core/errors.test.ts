import { describe, expect, it } from 'vitest';
import { saying } from '../../src/core/error-says.ts';
import { HandbackError } from '../../src/core/errors.ts';
import { fromHex, toHex } from '../../src/core/hex.ts';
import { asIs } from '../../src/core/says.ts';
import { SampleTable } from '../../src/signal/table.ts';
import { de } from '../../src/words/de/de.ts';
import { METRIC } from '../../src/words/measures.ts';
import { Words } from '../../src/words/words.ts';

describe('errors', () => {
  it('give each layer its exit status', () => {
    const status = (code: ConstructorParameters<typeof HandbackError>[0]) =>
      new HandbackError(code, asIs('x')).exitStatus;
    expect(status('input.format')).toBe(2);
    expect(status('link.busy')).toBe(4);
    expect(status('vehicle.silent')).toBe(4);
    expect(status('run.write')).toBe(5);
    expect(status('internal')).toBe(1);
  });
});

describe('hex', () => {
  it('goes there and back, and refuses what is not hex', () => {
    const all = Uint8Array.from({ length: 256 }, (_, i) => i);
    expect(fromHex(toHex(all))).toEqual(all);
    expect(toHex(new Uint8Array([0, 10, 255]))).toBe('000AFF');
    expect(fromHex('0')).toBeNull();
    expect(fromHex('0G')).toBeNull();
    expect(fromHex(' 0')).toBeNull();
  });
});

describe('sample table', () => {
  it('grows, sorts by time with ties in order of arrival, and gives each signal its series', () => {
    const t = new SampleTable();
    for (let i = 0; i < 3000; i++)
      t.push({
        signal: i % 2 ? 'rpm' : 'ect_c',
        tUs: (3000 - Math.floor(i / 2)) * 1000,
        sentUs: 0,
        value: i,
      });
    expect(t.isSorted()).toBe(false);
    t.sort();
    expect(t.isSorted()).toBe(true);
    expect(t.length).toBe(3000);
    expect(t.at(0)).toMatchObject({ signal: 'ect_c', value: 2998 });
    expect(t.at(1)).toMatchObject({ signal: 'rpm', value: 2999 });
    expect(t.series('rpm').tS.length).toBe(1500);
    expect(t.series('absent').tS.length).toBe(0);
    expect([...t].length).toBe(3000);
    expect(() => t.at(3000)).toThrow(RangeError);
  });
});

describe('what an error says', () => {
  it('is a statement for faces, and English in its message for logs', () => {
    const error = new HandbackError('link.busy', saying('error.port-busy', { port: '/dev/x' }), {
      hint: saying('error.port-busy-hint'),
    });
    expect(error.message).toBe('/dev/x is in use by another program.');
    expect(error.hint).toMatch(/^Close the other program/);
    const german = new Words(de, METRIC, 'UTC');
    expect(german.say(error.told.message)).toBe('/dev/x wird von einem anderen Programm benutzt.');
    expect(german.say(error.told.hint!)).toMatch(/^Das andere Programm schließen/);
  });

  it('shows what another program said as it came', () => {
    const error = new HandbackError('internal', asIs('so it is'));
    expect([error.message, error.told.hint]).toEqual(['so it is', null]);
  });
});
