/** Drives a simulated vehicle and keeps what a reader of its signals would see, ten times a second. */
import { createVehicle, type DrivenVehicle, type VehicleOptions } from '../../../src/sim/vehicle/vehicle.ts';

export interface Row {
  readonly tS: number;
  readonly truth: DrivenVehicle['truth'];
  readonly read: Readonly<Record<string, number>>;
}

export function drive(options: VehicleOptions, dtS = 0.1): { vehicle: DrivenVehicle; rows: Row[] } {
  const vehicle = createVehicle(options);
  const rows: Row[] = [];
  while (vehicle.timeS < vehicle.route.lengthS - 1e-6) {
    vehicle.advance(dtS);
    const read: Record<string, number> = {};
    for (const name of vehicle.supported) read[name] = vehicle.signal(name)!;
    rows.push({ tS: vehicle.timeS, truth: vehicle.truth, read });
  }
  return { vehicle, rows };
}

export const mean = (values: readonly number[]): number => values.reduce((a, b) => a + b, 0) / values.length;
