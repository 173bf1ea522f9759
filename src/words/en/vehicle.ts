/** English: what is said aloud of charging, sensors and the fault memory. */
import type { VehicleSays } from '../../analysis/detectors.ts';
import type { Messages } from '../statements.ts';

export const vehicle = {
  'charging.points': 'no charge: belt, alternator or its wiring',
  'charging.spoken': 'No charge: the belt may be off, and the coolant pump with it. Stop when safe and look.',
  'sensor.points.circuit': 'open or short circuit',
  'sensor.points.wiring': 'sensor, plug or wiring',
  'sensor.spoken':
    'Sensor of {$signal :name of=signal}: the reading cannot be trusted. Check sensor and plug.',
  'codes.points': 'what the codes say',
} as const satisfies Partial<Messages<VehicleSays>>;
