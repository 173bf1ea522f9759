/** A measurement says the same on page and sheet, in every system of units. */
import { expect, it } from 'vitest';
import { de } from '../../src/words/de/de.ts';
import { en } from '../../src/words/en/en.ts';
import { findingText } from '../../src/words/finding-text.ts';
import { METRIC, parseUnits, type UnitChoice } from '../../src/words/measures.ts';
import { Words } from '../../src/words/words.ts';

const metric = new Words(en, METRIC, 'UTC');
const imperial = new Words(en, parseUnits('imperial') as UnitChoice, 'UTC');
const finding = (id: string, unit: 'degC' | 's' | 'kPa', value: number, low: number, high: number) => ({
  id,
  measured: { value, unit, interval: [low, high] as const },
  limit: { value: high },
});
const plain = (s: string | null | undefined) => s?.replaceAll('\u00a0', ' ');

it('a difference of temperatures has no offset, a temperature has one', () => {
  expect(plain(findingText(imperial, finding('coolant.jumps', 'degC', 10, 5, 15))?.value)).toBe('18 °F');
  expect(plain(findingText(imperial, finding('coolant.climb', 'degC', 100, 99, 101))?.value)).toBe('212 °F');
});

it('what came late is told to hundredths, a pressure to tenths, and the limit as finely', () => {
  const late = findingText(metric, finding('boost.late', 's', 0.4, 0.19, 0.6));
  expect([late?.value, late?.lowBare, late?.high, late?.limit].map(plain)).toEqual([
    '0.40 s',
    '0.19',
    '0.60 s',
    '0.60 s',
  ]);
  expect(plain(findingText(metric, finding('boost.leak', 'kPa', -12, -15.7, -8.3))?.low)).toBe('−15.7 kPa');
});

it('what few readings of many or little of the air are is not told as none', () => {
  const share = (id: string, value: number, limit: number) => {
    const text = findingText(metric, {
      ...{ id, measured: { value, unit: '%', interval: [value, value] as const }, limit: { value: limit } },
    });
    return [text?.value, text?.limit].map(plain);
  };
  // The rule's limit is printed as it is applied.
  expect(share('boost.leak', 2.6, 2.5)).toEqual(['2.6 %', '2.5 %']);
  expect(share('sensor.ect_c', 0.12, 5)[0]).toBe('0.12 %');
  expect(share('coolant.warm-up', 170, 130)).toEqual(['170 %', '130 %']);
});

it('the highest reading is not told as where the coolant settled', () => {
  const climb = finding('coolant.climb', 'degC', 99, 98, 100);
  expect(plain(findingText(metric, climb)?.measured)).toBe('highest 99 °C');
  expect(plain(findingText(new Words(de, METRIC, 'UTC'), climb)?.measured)).toBe('höchstens 99 °C');
  expect(plain(findingText(metric, { ...climb, id: 'coolant.too-cold' })?.measured)).toBe('99 °C');
});

it('nothing measured is nothing said', () => {
  expect(findingText(metric, { id: 'boost.late', measured: null, limit: null })).toBeNull();
});
