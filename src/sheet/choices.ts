/** Language, units and what is left out: as asked now, else as the job says, else metric English. */

import { METRIC, type UnitChoice } from '../words/measures.ts';
import type { Hidden, SheetInput, SheetLanguage, SheetOptions, Shown } from './types.ts';

export interface SheetChoice {
  readonly lang?: SheetLanguage;
  readonly units?: UnitChoice;
  readonly hide?: readonly Hidden[];
  readonly show?: readonly Shown[];
  readonly paper?: 'A4' | 'Letter';
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
