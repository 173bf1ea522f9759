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
  verdict: 'not shown' as const,
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
      ...{ id, verdict: 'not shown', limit: { value: limit } },
      measured: { value, unit: '%', interval: [value, value] },
    });
    return [text?.value, text?.limit].map(plain);
  };
  // The rule's limit is printed as it is applied.
  expect(share('boost.leak', 2.6, 2.5)).toEqual(['2.6 %', '2.5 %']);
  expect(share('sensor.ect_c', 0.12, 5)[0]).toBe('0.12 %');
  expect(share('coolant.warm-up', 170, 130)).toEqual(['170 %', '130 %']);
});

it('one number of a whole drive is told for what it is of', () => {
  const of = (words: Words, id: string, verdict: 'shown good' | 'fault shown') =>
    plain(findingText(words, { ...finding(id, 'degC', 99, 98, 100), verdict })?.measured);
  const german = new Words(de, METRIC, 'UTC');
  expect([of(metric, 'coolant.climb', 'shown good'), of(german, 'coolant.climb', 'fault shown')]).toEqual([
    ...['highest 99 °C', 'Höchstwert 99 °C'],
  ]);
  expect([metric, german].map((words) => of(words, 'coolant.too-cold', 'shown good'))).toEqual([
    ...['median 99 °C', 'im Median 99 °C'],
  ]);
  // A reading showed the thermostat open.
  expect(of(metric, 'coolant.too-cold', 'fault shown')).toBe('99 °C');
});

it('nothing measured is nothing said', () => {
  expect(
    findingText(metric, { id: 'boost.late', verdict: 'not shown', measured: null, limit: null }),
  ).toBeNull();
});
