/** A measurement by hand in words: what, how much, what was expected. Page and sheet say it alike. */
import { type HandMeasurement, NAMED } from '../core/hand-measures.ts';
import { measuredText } from './measured.ts';
import type { Words } from './words.ts';

export interface MeasurementText {
  readonly what: string;
  /** Empty where something was looked at. */
  readonly value: string;
  /** Empty where nothing is. */
  readonly expected: string;
}

export function measurementText(
  m: HandMeasurement,
  words: Pick<Words, 'measures' | 'say' | 'name'>,
): MeasurementText {
  const { measures } = words;
  const say = (id: string, args: Record<string, string>) => words.say({ id, args });
  const text = (v: number) => measuredText(measures, v, m.unit);
  const kind = words.name('measure', m.what);
  const own = NAMED.has(m.what) && m.name !== '' ? m.name : null;
  const held = m.heldMin === null ? '' : measures.number(m.heldMin, Number.isInteger(m.heldMin) ? 0 : 1);
  const value = m.value === null ? '' : text(m.value);
  return {
    what: own === null ? kind : m.what === 'other' ? own : say('measure.named', { what: kind, own }),
    value: value && held ? say('measure.held', { value, min: held }) : value,
    expected: expected(m, text, say),
  };
}

function expected(
  { low, high, source }: HandMeasurement,
  text: (v: number) => string,
  say: (id: string, args: Record<string, string>) => string,
): string {
  if (low === null && high === null) return '';
  const range =
    low === null
      ? say('measure.at-most', { high: text(high!) })
      : high === null
        ? say('measure.at-least', { low: text(low) })
        : say('measure.range', { low: text(low), high: text(high) });
  return source ? say('measure.expected-of', { expected: range, source }) : range;
}
