/**
 * `npx tsx tests/evaluate/spikes.ts`: single readings that jump and return, on the open drives. How many are flagged there
 * (none should be), by signal and hour, on the half that the limits were chosen on and on the drives that they were not;
 * and how many single changed digits, put in at random, are flagged.
 */
import { Plausibility } from '../../src/analysis/plausibility.ts';
import { seededRandom } from '../../src/core/random.ts';
import type { Sample } from '../../src/core/signals.ts';
import { halves, readDrive, TUNE } from './coolant-drives.ts';

/** How a value of service 01 comes: bytes on the wire from value and back; SAE J1979, from memory. */
const CODED: Readonly<
  Record<string, { bytes: number; of: (v: number) => number; to: (raw: number) => number }>
> = {
  rpm: { bytes: 2, of: (v) => 4 * v, to: (r) => r / 4 },
  maf_gps: { bytes: 2, of: (v) => 100 * v, to: (r) => r / 100 },
  map_kpa: { bytes: 1, of: (v) => v, to: (r) => r },
  speed_kmh: { bytes: 1, of: (v) => v, to: (r) => r },
  baro_kpa: { bytes: 1, of: (v) => v, to: (r) => r },
  ect_c: { bytes: 1, of: (v) => v + 40, to: (r) => r - 40 },
  iat_c: { bytes: 1, of: (v) => v + 40, to: (r) => r - 40 },
  pedal_d_pct: { bytes: 1, of: (v) => (v * 255) / 100, to: (r) => (r * 100) / 255 },
  throttle_pct: { bytes: 1, of: (v) => (v * 255) / 100, to: (r) => (r * 100) / 255 },
};
const ONE_IN = 200;

interface Tally {
  samples: number;
  spikes: number;
  put: number;
  caught: number;
}

function through(
  samples: readonly Sample[],
  see: (signal: string, tUs: number, flag: string | null) => void,
): void {
  const front = new Plausibility();
  for (const s of samples) for (const c of front.push(s)) see(c.signal, c.tUs, c.flag);
  for (const c of front.finish()) see(c.signal, c.tUs, c.flag);
}

function measure(drives: readonly string[]): { tallies: Map<string, Tally>; hours: number } {
  const tallies = new Map<string, Tally>();
  const of = (signal: string): Tally => {
    const t = tallies.get(signal) ?? { samples: 0, spikes: 0, put: 0, caught: 0 };
    tallies.set(signal, t);
    return t;
  };
  let hours = 0;
  for (const name of drives) {
    const samples = [...readDrive(name)];
    hours += (samples.at(-1)?.tUs ?? 0) / 3.6e9;
    through(samples, (signal, _, flag) => {
      of(signal).samples++;
      if (flag === 'spike') of(signal).spikes++;
    });
    const random = seededRandom(`spikes ${name}`);
    const changed = new Set<string>();
    const spoilt = samples.map((s) => {
      const code = CODED[s.signal];
      if (!code || random.next() * ONE_IN >= 1) return s;
      const digit = Math.floor(random.next() * 2 * code.bytes);
      const raw = Math.round(code.of(s.value)) ^ ((1 + Math.floor(15 * random.next())) << (4 * digit));
      changed.add(`${s.signal} ${s.tUs}`);
      return { ...s, value: code.to(raw) };
    });
    for (const key of changed) of(key.split(' ')[0]!).put++;
    through(spoilt, (signal, tUs, flag) => {
      if (flag !== null && changed.has(`${signal} ${tUs}`)) of(signal).caught++;
    });
  }
  return { tallies, hours };
}

const { A, B } = halves(() => 0);
for (const [title, drives] of [
  ['chosen on', TUNE],
  ['reported on', [...A, ...B].filter((name) => !TUNE.includes(name)).sort()],
] as const) {
  const { tallies, hours } = measure(drives);
  console.log(`${title}: ${drives.length} drives, ${hours.toFixed(1)} h`);
  console.log(
    '| signal | readings | flagged as drawn | digits changed | of these flagged |\n|---|---|---|---|---|',
  );
  for (const [signal, t] of [...tallies].sort())
    console.log(
      `| ${signal} | ${t.samples} | ${t.spikes} | ${t.put} | ${t.put > 0 ? `${((100 * t.caught) / t.put).toFixed(0)} %` : ''} |`,
    );
}
