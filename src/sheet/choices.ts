/** Language, units and what is left out: as asked now, else as the job says, else metric English. */

import { saying } from '../core/error-says.ts';
import { HandbackError } from '../core/errors.ts';
import type { LanguageId } from '../core/languages.ts';
import { METRIC, parseUnits, UNIT_NAMES, type UnitChoice } from '../words/measures.ts';
import type { Hidden, SheetInput, SheetOptions, Shown } from './types.ts';

export interface SheetChoice {
  readonly lang?: LanguageId;
  readonly units?: UnitChoice;
  readonly hide?: readonly Hidden[];
  readonly show?: readonly Shown[];
  readonly paper?: 'A4' | 'Letter';
}

/** "F,psi,mph" as it was typed or asked for. @throws HandbackError input.usage */
export function unitsIn(text: string): UnitChoice {
  const units = parseUnits(text);
  if ('unknown' in units)
    throw new HandbackError(
      'input.usage',
      saying('error.none-of', { word: units.unknown, known: UNIT_NAMES }),
    );
  return units;
}

/** @param pdf the paper is written into the sheet; otherwise the printer decides */
export function choicesOf(input: SheetInput, asked: SheetChoice, pdf: boolean): SheetOptions {
  const own = input.job?.sheet;
  const hide = own
    ? [...(own.hidePlate ? ['plate' as const] : []), ...(own.hideVin ? ['vin' as const] : [])]
    : [];
  return {
    language: asked.lang ?? own?.language ?? 'en',
    units:
      asked.units ??
      (own
        ? {
            temperature: own.temperature === 'degF' ? 'F' : 'C',
            pressure: own.pressure,
            speed: own.speed,
          }
        : METRIC),
    // What the job hides stays hidden: asking can only hide more.
    hide: [...new Set([...hide, ...(asked.hide ?? [])])],
    show: asked.show ?? [],
    paper: pdf ? (asked.paper ?? 'A4') : null,
  };
}
