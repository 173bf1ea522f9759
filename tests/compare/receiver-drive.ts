/** A simulated drive with a satellite receiver aboard: samples of both in order of time, and the places apart. */
import { ManualClock } from '../../src/core/clock.ts';
import type { Sample } from '../../src/core/signals.ts';
import { LineCutter } from '../../src/nmea/cutter.ts';
import { FixReader } from '../../src/nmea/fixes.ts';
import { type Place, Places } from '../../src/nmea/places.ts';
import { SimReceiver } from '../../src/sim/receiver.ts';
import type { Route } from '../../src/sim/vehicle/routes.ts';
import { createVehicle, type DrivenVehicle } from '../../src/sim/vehicle/vehicle.ts';

export interface ReceiverDrive {
  readonly samples: readonly Sample[];
  readonly places: readonly Place[];
}

const STEP_S = 0.2;

export async function receiverDrive(options: {
  readonly vehicle?: string;
  readonly route: string | Route;
  readonly fault?: string;
  readonly seed: number;
  readonly hz?: number;
  readonly receiverFaults?: readonly string[];
  readonly ambientC?: number;
  readonly baroKpa?: number;
  /** Asked at each step, for what no sensor tells. */
  readonly watch?: (vehicle: DrivenVehicle, tUs: number) => void;
}): Promise<ReceiverDrive> {
  const { vehicle: name = 'twin-charged', route, seed, hz = 5 } = options;
  const vehicle = createVehicle({
    vehicle: name,
    route,
    seed,
    faults: options.fault ? [{ name: options.fault }] : [],
    ...(options.ambientC === undefined ? {} : { ambientC: options.ambientC }),
    ...(options.baroKpa === undefined ? {} : { baroKpa: options.baroKpa }),
  });
  const clock = new ManualClock();
  const receiver = new SimReceiver(
    { hz, faults: options.receiverFaults ?? [] },
    seed,
    clock,
    () => vehicle.road,
    () => vehicle.timeS,
  );
  const samples: Sample[] = [];
  const places: Place[] = [];
  const kept = new Places();
  // What the program keeps of places is what is compared here, too.
  const fixes = new FixReader(kept);
  const cutter = new LineCutter((line) => samples.push(...fixes.read(line, clock.nowUs())));
  receiver.attach((bytes) => cutter.push(bytes));
  for (let t = 0; t < vehicle.route.lengthS; t += STEP_S) {
    vehicle.advance(STEP_S);
    await clock.advance(1000 * STEP_S);
    const tUs = clock.nowUs();
    options.watch?.(vehicle, tUs);
    if (!vehicle.ignition) continue;
    for (const signal of vehicle.supported) {
      const value = vehicle.signal(signal);
      if (value !== null) samples.push({ signal, tUs, sentUs: tUs, value });
    }
  }
  receiver.attach(null);
  places.push(...kept.between(0, clock.nowUs()));
  return { samples, places };
}

export function placesOf(list: readonly Place[]): Places {
  const places = new Places();
  for (const place of list) places.push(place);
  return places;
}
