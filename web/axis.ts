/** Axes whose numbers are round in the unit that is shown, while what is drawn stays in the catalogue's unit. */
import type uPlot from 'uplot';
import type { Unit } from '../src/core/signals.ts';
import type { Conversion } from '../src/words/measures.ts';
import { number, words } from './words.ts';

/** Steps between the ticks of a time axis, s: round on a clock. */
export const TIME_STEPS_S = [1, 2, 5, 10, 15, 30, 60, 120, 300, 600, 900, 1800, 3600];

/** Values of the catalogue's unit that are round as shown: steps of 1, 2 or 5 times a power of ten, `most` of them at most. */
export function roundTicks(
  low: number,
  high: number,
  { factor, offset }: Conversion,
  most: number,
): number[] {
  const from = low * factor + offset;
  const to = high * factor + offset;
  if (!(to > from)) return [];
  const least = (to - from) / Math.max(1, most);
  const power = 10 ** Math.floor(Math.log10(least));
  // A little room, so that 2.0000001 is not taken for more than 2.
  const step = power * ([1, 2, 5].find((k) => k * power >= least * (1 - 1e-9)) ?? 10);
  const ticks: number[] = [];
  for (let k = Math.ceil(from / step - 1e-9); k * step <= to + step * 1e-9; k++)
    ticks.push((k * step - offset) / factor);
  return ticks;
}

/** The numbers of such ticks, with the decimals that their step needs. */
export function tickTexts(ticks: readonly number[], { factor, offset }: Conversion): string[] {
  const shown = ticks.map((v) => v * factor + offset);
  const step = shown.length > 1 ? Math.abs(shown[1]! - shown[0]!) : 1;
  const digits = Math.max(0, -Math.floor(Math.log10(step) + 1e-9));
  return shown.map((v) => number(v, digits));
}

/** Splits and values of a uPlot axis for a quantity. @param roomPx least distance between two numbers */
export function axisOf(unit: Unit, roomPx = 26): Pick<uPlot.Axis, 'splits' | 'values'> {
  const conversion = () => words.value.measures.conversion(unit);
  return {
    splits: (u, axis, low, high) => {
      const { width, height } = u.bbox;
      const pixels = (axis === 0 ? width : height) / devicePixelRatio;
      return roundTicks(low, high, conversion(), Math.floor(pixels / roomPx));
    },
    values: (_u, splits) => tickTexts(splits, conversion()),
  };
}
