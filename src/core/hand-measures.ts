/** What is measured by hand because the connector does not carry it. No I/O: page, daemon and sheet share it. */

export const MEASURE_UNITS = ['kPa', 'degC', 'ohm', 'V', 'A', 'mm', 'Nm', '%', 'min', ''] as const;
export type MeasureUnit = (typeof MEASURE_UNITS)[number];

interface Measure {
  /** The repairs that it belongs to; none: offered with any. */
  readonly of: readonly Work[];
  /** Empty: something is looked at, not measured. */
  readonly unit: MeasureUnit;
  /** For how long it was held is asked too. */
  readonly held?: true;
}

const WORKS = ['cooling', 'clutch', 'charge'] as const;
type Work = (typeof WORKS)[number];

export const MEASURES = {
  'cooling-pressure': { of: ['cooling'], unit: 'kPa', held: true },
  'vent-idle': { of: ['cooling'], unit: 'degC' },
  'vent-2000': { of: ['cooling'], unit: 'degC' },
  'level-cold': { of: ['cooling'], unit: '' },
  concentration: { of: ['cooling'], unit: '%' },
  bleeding: { of: ['cooling'], unit: '' },
  'clutch-coil': { of: ['clutch'], unit: 'ohm' },
  'clutch-voltage': { of: ['clutch'], unit: 'V' },
  'clutch-current': { of: ['clutch'], unit: 'A' },
  'air-gap': { of: ['clutch'], unit: 'mm' },
  belt: { of: ['clutch', 'cooling'], unit: '' },
  'charge-pipes': { of: ['charge', 'clutch'], unit: '' },
  torque: { of: [], unit: 'Nm' },
  other: { of: [], unit: '' },
} as const satisfies Readonly<Record<string, Measure>>;
export type MeasureId = keyof typeof MEASURES;
export const MEASURE_IDS = Object.keys(MEASURES) as [MeasureId, ...MeasureId[]];
/** As a job keeps it, as far as it is said in words. */
export interface HandMeasurement {
  readonly what: MeasureId;
  readonly name: string;
  readonly value: number | null;
  readonly unit: MeasureUnit;
  readonly heldMin: number | null;
  readonly low: number | null;
  readonly high: number | null;
  readonly source: string;
}
/** Of these the technician says what it was. */
export const NAMED: ReadonlySet<MeasureId> = new Set(['torque', 'other']);

/** Words of a repair, as a workshop writes them in the languages of the page (common practice, no source). */
const WORDS: Readonly<Record<Work, RegExp>> = {
  cooling:
    /cool|radiator|thermostat|water|heater|pump|head gasket|kühl|kuehl|wasser|heiz|pumpe|kopfdichtung|ausgleich/iu,
  clutch: /clutch|belt|supercharger|compressor|kupplung|riemen|kompressor/iu,
  charge:
    /charge|boost|turbo|intercooler|pipe|hose|supercharger|compressor|lade|schlauch|rohr|turbo|kompressor/iu,
};

/** Those that go with what was repaired first, each once; the others follow. With no word known none is first. */
export function offeredMeasures(work: readonly string[]): {
  readonly first: readonly MeasureId[];
  readonly others: readonly MeasureId[];
} {
  const text = work.join('\n');
  const works = new Set<Work>(WORKS.filter((w) => WORDS[w].test(text)));
  const first = MEASURE_IDS.filter((id) => (MEASURES[id] as Measure).of.some((w) => works.has(w)));
  return { first, others: MEASURE_IDS.filter((id) => !first.includes(id)) };
}

export const heldIsAsked = (id: MeasureId): boolean => (MEASURES[id] as Measure).held === true;
