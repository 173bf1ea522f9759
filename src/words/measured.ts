/** A quantity measured by hand in a reader's units, and what was expected of it. */
import type { Unit } from '../core/signals.ts';
import type { Measures } from './measures.ts';

/** Of what instruments of a workshop show beside the units of the signal catalogue. */
const OWN_TEXT: Readonly<Record<string, string>> = { ohm: 'Ω', A: 'A', mm: 'mm', '': '' };
/** A person reads no more off an instrument. */
const MOST_DIGITS = 3;

/** How a unit is shown, and how to get from what is kept to it. */
export function conversionOf(measures: Measures, unit: string) {
  const own = OWN_TEXT[unit];
  return own === undefined
    ? measures.conversion(unit as Unit)
    : { factor: 1, offset: 0, text: own, digits: 0 };
}

/** With as many decimals as it was typed with, in another unit with the usual ones and one more. */
export function measuredText(measures: Measures, value: number, unit: string): string {
  const { factor, offset, text, digits } = conversionOf(measures, unit);
  const typed = (String(value).split('.')[1] ?? '').length;
  const most = factor === 1 ? Math.min(MOST_DIGITS, typed) : Math.min(MOST_DIGITS, digits + 1);
  const shown = measures.number(value * factor + offset, most);
  return text === '' ? shown : `${shown}\u00a0${text}`;
}
