/** Deutsch: was von Hand gemessen wird, auf Seite und Blatt. */
import type { measurements as english } from '../en/measurements.ts';
import type { Foreign } from '../statements.ts';

export const measurements = {
  'measure.cooling-pressure': 'Kühlsystem hält Druck',
  'measure.vent-idle': 'Temperatur am Luftausströmer, Leerlauf',
  'measure.vent-2000': 'Temperatur am Luftausströmer, 2000 1/min',
  'measure.level-cold': 'Kühlmittelstand, kalt nach der Fahrt',
  'measure.concentration': 'Frostschutzanteil',
  'measure.bleeding': 'Entlüftungsschritte ausgeführt',
  'measure.clutch-coil': 'Spulenwiderstand der Magnetkupplung',
  'measure.clutch-voltage': 'Versorgungsspannung der Magnetkupplung',
  'measure.clutch-current': 'Strom der Magnetkupplung',
  'measure.air-gap': 'Luftspalt der Magnetkupplung',
  'measure.belt': 'Riemen: Zustand und Verlauf',
  'measure.charge-pipes': 'Ladeluftrohre: Rauch- oder Seifenprobe',
  'measure.torque': 'Anzugsdrehmoment',
  'measure.other': 'Etwas anderes',
  'measure.named': '{$what}: {$own}',
  'measure-result.pass': 'bestanden',
  'measure-result.fail': 'nicht bestanden',
  'measure-result.note': 'notiert',
  'measure-when.before': 'vor der Arbeit',
  'measure-when.during': 'während der Arbeit',
  'measure-when.after': 'nach der Arbeit',
  'measure-when.come-back': 'bei der Reklamation',
  'measure.title': 'Messungen von Hand',
  'measure.held': '{$value}, gehalten {$min} min',
  'measure.range': '{$low} bis {$high}',
  'measure.at-least': 'mindestens {$low}',
  'measure.at-most': 'höchstens {$high}',
  'measure.expected-of': '{$expected} ({$source})',
  'measure.col.what': 'Was',
  'measure.col.value': 'Gemessen',
  'measure.col.expected': 'Erwartet',
  'measure.col.result': 'Ergebnis',
  'measure.col.when': 'Wann',
  'measure.col.who': 'Wer',
  'measure.col.note': 'Bemerkung',
} as const satisfies Record<keyof typeof english, string>;

const same: Foreign<typeof english, typeof measurements> extends never ? true : false = true;
void same;
