/** What the caller states of a table's units and times, in words of the command line. */
import { HandbackError } from '../../core/errors.ts';
import { signalDef } from '../../core/signals.ts';
import { SampleTable } from '../../signal/table.ts';
import { isKnownSignal, USUAL_SIGNALS } from './headers.ts';
import type { Doubt, UnitCheck } from './unit-check.ts';
import { conversion, gaugeKpa, isTimeUnit } from './units.ts';

export interface Stated {
  /** Signal → unit of its values, whatever the headers say: `{ ect_c: 'degF', map_kpa: 'psi gauge' }`. */
  readonly units?: Readonly<Record<string, string>>;
  /** Unit of plain numbers in the time column, whatever its header says. */
  readonly timeUnit?: string;
  /** Barometric pressure, kPa, for gauge pressures in a table without it. */
  readonly baroKpa?: number;
}

/** Of a signal whose unit was stated: to the catalogue's unit, or to gauge kPa. */
export interface StatedUnit {
  readonly convert: ((value: number) => number) | null;
  readonly gauge: boolean;
}

/** @throws HandbackError input.usage naming what is no signal, no unit, or no unit of that signal */
export function statedUnits({ units = {}, timeUnit }: Stated): ReadonlyMap<string, StatedUnit> {
  if (timeUnit !== undefined && !isTimeUnit(timeUnit))
    throw new HandbackError('input.usage', `"${timeUnit}" is no unit of time known here.`, {
      hint: 'Times may be in s, ms, us, min or h.',
    });
  return new Map(
    Object.entries(units).map(([signal, unit]): [string, StatedUnit] => {
      if (!isKnownSignal(signal))
        throw new HandbackError('input.usage', `"${signal}" is no signal known here.`, {
          hint: `Signals: ${USUAL_SIGNALS} and more.`,
        });
      const own = signalDef(signal).unit;
      const convert = conversion(unit, own);
      if (convert !== null) return [signal, { convert: convert === 'same' ? null : convert, gauge: false }];
      const gauge = own === 'kPa' ? gaugeKpa(unit) : null;
      if (gauge !== null) return [signal, { convert: gauge, gauge: true }];
      throw new HandbackError('input.usage', `"${unit}" is no unit of ${signal}, which is in ${own}.`, {
        hint: 'Units are written as kPa, psi, "psi gauge", bar, hPa, degC, degF, km/h, mph, %, fraction.',
      });
    }),
  );
}

/**
 * Gauge pressures made absolute with the barometric pressure of the table (the latest, before the first the first), or
 * the stated one, which then joins the table.
 * @throws HandbackError input.format when neither is there
 */
export function absolute(
  table: SampleTable,
  gauge: ReadonlySet<string>,
  baroKpa: number | null,
  path: string,
): SampleTable {
  if (gauge.size === 0 && baroKpa === null) return table;
  const own = table.names.includes('baro_kpa');
  let baro = baroKpa ?? Number.NaN;
  if (own)
    for (const s of table)
      if (s.signal === 'baro_kpa') {
        baro = s.value;
        break;
      }
  if (Number.isNaN(baro))
    throw new HandbackError(
      'input.format',
      `${path} gives ${[...gauge].join(', ')} as gauge pressure and has no barometric pressure.`,
      { hint: 'State the barometric pressure of the day in kPa: --baro 98.' },
    );
  const out = new SampleTable();
  if (!own && table.length > 0) {
    const { tUs } = table.at(0);
    out.push({ signal: 'baro_kpa', tUs, sentUs: tUs, value: baro });
  }
  for (const s of table) {
    if (s.signal === 'baro_kpa') baro = s.value;
    out.push(gauge.has(s.signal) ? { ...s, value: s.value + baro } : s);
  }
  return out;
}

/** The refusal that names each wrong unit and how to state the right one; null when none is wrong. */
export function refusal(path: string, { wrong }: UnitCheck): HandbackError | null {
  if (wrong.length === 0) return null;
  const sentences = wrong.map(
    (d) =>
      `${d.of} ${d.of === 'time' ? 'is' : 'cannot be'} ${d.of === 'time' ? 'not ' : ''}in ${d.unit} (${d.why})${fits(d)}`,
  );
  const [first] = wrong;
  const options = wrong.map((d) => option(d, d.likely[0] ?? 'UNIT')).join(' ');
  return new HandbackError('input.format', `${path}: ${sentences.join('; ')}.`, {
    hint: `State the units: ${options}. Where the values are right as they stand, say so: ${option(first!, first!.unit)}.`,
  });
}

/** A remark on units that nothing in the table shows; null when there are none. */
export function unitRemark({ open }: UnitCheck): string | null {
  if (open.length === 0) return null;
  const taken = open.map((d) => `${d.of} in ${d.unit} (it could be ${d.likely.join(' or ')})`);
  return `units were taken from the names, and nothing in the table shows them: ${taken.join(', ')}; state them with ${option(open[0]!, open[0]!.unit)}`;
}

function fits({ likely: [first, ...others] }: Doubt): string {
  if (first === undefined) return ' and fits no other unit known here';
  return ` and fits ${first}${others.length > 0 ? ` (or ${others.join(', ')})` : ''}`;
}

const option = (d: Doubt, unit: string): string => {
  if (d.of === 'time') return `--time-unit ${unit}`;
  const text = `${d.of}=${unit}`;
  return `--unit ${/[ /%°]/.test(text) ? `"${text}"` : text}`;
};
