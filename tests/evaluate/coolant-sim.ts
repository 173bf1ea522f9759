/**
 * The coolant detector on the simulated vehicles: healthy routes and every cooling fault.
 * `npx tsx tests/evaluate/coolant-sim.ts [samples per second in all, default 10]`.
 */
import { CoolantDetector } from '../../src/analysis/coolant/detector.ts';
import { Plausibility } from '../../src/analysis/plausibility.ts';
import type { Profile } from '../../src/run/profile.ts';
import { createVehicle, ROUTES, VEHICLES } from '../../src/sim/vehicle/vehicle.ts';

const perSecond = Number(process.argv[2] ?? 10);
const verbose = process.argv.includes('-v');
const WANTED = [
  ...['ambient_c', 'ect_c', 'iat_c', 'load_pct', 'maf_gps', 'map_kpa', 'pedal_d_pct', 'rpm', 'speed_kmh'],
  'voltage_v',
];
const FAULTS = [
  ...['', 'no-circulation', 'pump-fading', 'thermostat-open', 'thermostat-shut', 'fan-dead', 'air-in-system'],
  'coolant-sensor-spikes',
];
const profiles: Record<string, Profile> = {
  diesel: { induction: 'turbocharger', fuel: 'diesel' },
  'twin-charged': { induction: 'twin-charged', fuel: 'petrol' },
};

for (const { name: vehicle } of VEHICLES)
  for (const route of ROUTES)
    for (const fault of FAULTS) {
      const car = createVehicle({
        vehicle,
        route: route.name,
        faults: fault === '' ? [] : [{ name: fault }],
        seed: 7,
      });
      const front = new Plausibility();
      const detector = new CoolantDetector({ profile: profiles[vehicle] ?? {}, baseline: null });
      const signals = WANTED.filter((s) => car.supported.includes(s));
      let tUs = 0;
      let highest = 0;
      const said: string[] = [];
      const take = (samples: ReturnType<Plausibility['push']>) => {
        for (const s of samples)
          for (const x of detector.step(s)) said.push(`${x.finding.id}@${Math.round(x.atS)}`);
      };
      for (let k = 0; car.timeS < route.lengthS; k++) {
        car.advance(1 / perSecond);
        tUs = Math.round(car.timeS * 1e6);
        const signal = signals[k % signals.length]!;
        const value = car.ignition ? car.signal(signal) : null;
        if (value === null) continue;
        if (signal === 'ect_c') highest = Math.max(highest, value);
        take(front.push({ signal, tUs, sentUs: tUs, value }));
      }
      take(front.finish());
      const findings = detector.finish(tUs);
      const brief = findings
        .filter((f) => f.id !== 'coolant.warm-up')
        .map((f) => {
          const short = f.id.slice(8);
          if (f.verdict === 'fault shown') return `${short}: FAULT ${f.pointsTo?.slice(0, 30)}`;
          return `${short}: ${f.verdict === 'shown good' ? 'good' : `open${verbose ? ` (${f.needs})` : ''}`}`;
        })
        .join(' | ');
      console.log(
        `${vehicle} / ${route.name} (${Math.round(route.lengthS)} s) / ${fault || 'healthy'}: highest ${Math.round(highest)}; ${brief}; ${said.slice(0, 2).join(' ')}`,
      );
    }
