/** Deutsch: was von Ladung, Sensoren und Fehlerspeicher laut gesagt wird. */
import type { VehicleSays } from '../../analysis/detectors.ts';
import type { Messages } from '../statements.ts';

export const vehicle = {
  'charging.points': 'keine Ladung: Riemen, Generator oder seine Leitung',
  'charging.spoken':
    'Keine Ladung: Der Riemen ist vielleicht gerissen, dann steht womöglich auch die Kühlmittelpumpe. Anhalten, sobald es sicher ist, und nachsehen.',
  'sensor.points.circuit': 'Unterbrechung oder Kurzschluss',
  'sensor.points.wiring': 'Sensor, Stecker oder Leitung',
  'sensor.spoken': 'Sensor für {$signal :name of=signal}: Wert nicht plausibel. Sensor und Stecker prüfen.',
  'codes.points': 'was die Fehlercodes besagen',
} as const satisfies Partial<Messages<VehicleSays>>;
