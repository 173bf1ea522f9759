/** Samples as an adapter would bring them, straight from a simulated vehicle: fast, without bytes. */
import { seededRandom } from '../../src/core/random.ts';
import type { Sample } from '../../src/core/signals.ts';
import { createVehicle } from '../../src/sim/vehicle/vehicle.ts';

interface DriveOptions {
  readonly vehicle?: string;
  readonly route?: string;
  readonly fault?: string;
  readonly value?: number;
  readonly seed?: number;
  /** Samples a second of each fast signal. */
  readonly hz?: number;
}

const FAST = ['map_kpa', 'rpm', 'speed_kmh', 'pedal_d_pct', 'throttle_pct'];

export function* driveSamples(options: DriveOptions): Generator<Sample> {
  const { vehicle = 'twin-charged', route = 'road-test', seed = 1, hz = 5 } = options;
  const car = createVehicle({
    vehicle,
    route,
    seed,
    faults: options.fault
      ? [{ name: options.fault, ...(options.value === undefined ? {} : { value: options.value }) }]
      : [],
  });
  const signals = car.supported;
  const random = seededRandom(`poll/${seed}`);
  const due = signals.map(() => random.next() / hz);
  const every = signals.map((s) => (FAST.includes(s) ? 1 / hz : 1));
  for (let t = 0; t < car.route.lengthS; t += 0.02) {
    car.advance(0.02);
    if (!car.ignition) continue;
    for (let i = 0; i < signals.length; i++) {
      if (due[i]! > t) continue;
      due[i] = t + every[i]!;
      const signal = signals[i]!;
      const value = car.signal(signal);
      const tUs = Math.round(t * 1e6);
      if (value !== null) yield { signal, tUs, sentUs: tUs, value };
    }
  }
}
