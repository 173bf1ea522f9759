/**
 * One line per drive: a hash of its judgement and of what was said on the way. A change that must not change findings
 * is run before and after it, and the outputs are compared: `npx tsx tests/evaluate/fingerprint.ts > before.txt`.
 */
import { createHash } from 'node:crypto';
import { type Baseline, Judge, learnBaseline } from '../../src/analysis/judge.ts';
import type { Profile } from '../../src/core/profile.ts';
import type { Sample } from '../../src/core/signals.ts';
import { driveSamples } from '../analysis/vehicle.ts';
import { REPORT, readDrive, TUNE } from './coolant-drives.ts';

function fingerprint(samples: Iterable<Sample>, profile: Profile, baseline: Baseline | null): string {
  const hash = createHash('sha256');
  const judge = new Judge(profile, baseline);
  let k = 0;
  for (const s of samples) {
    for (const said of judge.push(s)) hash.update(JSON.stringify(said));
    if (k++ % 5000 === 0) hash.update(JSON.stringify(judge.view()));
  }
  hash.update(JSON.stringify(judge.finish('')));
  return hash.digest('hex').slice(0, 16);
}

const petrol: Profile = { induction: 'naturally aspirated', fuel: 'petrol' };
const diesel: Profile = { induction: 'turbocharger', fuel: 'diesel' };
for (const name of [...TUNE, ...REPORT]) {
  const drive = readDrive(name);
  const profile = name.startsWith('trip') ? diesel : petrol;
  console.log(name, fingerprint(drive, profile, null));
}
const lesson = learnBaseline(['trip-05', 'trip-14', 'trip-20'].map(readDrive), diesel);
for (const name of ['trip-09', 'trip-26', 'trip-60'])
  console.log(name, 'with baseline', fingerprint(readDrive(name), diesel, lesson));
for (const vehicle of ['twin-charged', 'turbo-diesel'])
  for (const [route, fault] of [
    ['road-test', ''],
    ['road-test', 'clutch-never-closes'],
    ['road-test', 'boost-leak'],
    ['hill', 'pump-fading'],
    ['town', 'thermostat-open'],
    ['static-check', 'fan-dead'],
    ['road-test', 'air-in-system'],
    ['warm-road-test', 'clutch-sometimes'],
  ] as const) {
    const profile: Profile =
      vehicle === 'turbo-diesel' ? diesel : { induction: 'twin-charged', fuel: 'petrol' };
    const samples = driveSamples({ vehicle, route, seed: 3, hz: 8, ...(fault === '' ? {} : { fault }) });
    console.log(vehicle, route, fault, fingerprint(samples, profile, null));
  }
