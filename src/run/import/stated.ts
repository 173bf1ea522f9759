/** What the caller states of a table's units and times, in words of the command line. */

import { saying } from '../../core/error-says.ts';
import { HandbackError } from '../../core/errors.ts';
import { listed, type Says } from '../../core/says.ts';
import { signalDef } from '../../core/signals.ts';
import { SampleTable } from '../../signal/table.ts';
import { isKnownSignal, USUAL_SIGNALS } from './headers.ts';
import type { UnitCheck, UnitDoubt } from './unit-check.ts';
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
    throw new HandbackError('input.usage', saying('unit.no-time', { unit: timeUnit }), {
      hint: saying('unit.no-time-hint'),
    });
  return new Map(
    Object.entries(units).map(([signal, unit]): [string, StatedUnit] => {
      if (!isKnownSignal(signal))
        throw new HandbackError('input.usage', saying('unit.no-signal', { signal }), {
          hint: saying('import.signals', { signals: USUAL_SIGNALS }),
        });
      const own = signalDef(signal).unit;
      const convert = conversion(unit, own);
      if (convert !== null) return [signal, { convert: convert === 'same' ? null : convert, gauge: false }];
      const gauge = own === 'kPa' ? gaugeKpa(unit) : null;
      if (gauge !== null) return [signal, { convert: gauge, gauge: true }];
      throw new HandbackError('input.usage', saying('unit.no-unit', { unit, signal, own }), {
        hint: saying('unit.no-unit-hint', {
          units: 'kPa, psi, "psi gauge", bar, hPa, degC, degF, km/h, mph, %, fraction',
        }),
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
    throw new HandbackError('input.format', saying('unit.gauge', { path, signals: [...gauge].join(', ') }), {
      hint: saying('unit.gauge-hint'),
    });
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
  const why = listed(
    wrong.map((d) => saying('unit.wrong', { of: d.of, unit: d.unit, why: d.why, likely: fits(d) })),
  );
  const [first] = wrong;
  const options = wrong.map((d) => option(d, d.likely[0] ?? 'UNIT')).join(' ');
  return new HandbackError('input.format', saying('error.of-file', { path, why }), {
    hint: saying('unit.state', { options, asIs: option(first!, first!.unit) }),
  });
}

/** A remark on units that nothing in the table shows; null when there are none. */
export function unitRemark({ open }: UnitCheck): Says | null {
  if (open.length === 0) return null;
  const taken = listed(
    open.map((d) => saying('unit.could', { of: d.of, unit: d.unit, others: d.likely.join(', ') })),
  );
  return saying('unit.taken', { taken, option: option(open[0]!, open[0]!.unit) });
}

function fits({ likely: [first, ...others] }: UnitDoubt): Says {
  if (first === undefined) return saying('unit.fits-none');
  return others.length === 0
    ? saying('unit.fits', { first })
    : saying('unit.fits-also', { first, others: others.join(', ') });
}

const option = (d: UnitDoubt, unit: string): string => {
  if (d.of === 'time') return `--time-unit ${unit}`;
  const text = `${d.of}=${unit}`;
  return `--unit ${/[ /%°]/.test(text) ? `"${text}"` : text}`;
};
