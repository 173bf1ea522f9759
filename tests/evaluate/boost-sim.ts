/** Evaluates the boost detector on simulated vehicles: `tsx tests/evaluate/boost-sim.ts [rateHz] [-v]`; every signal at its own times. */
import { BoostDetector } from '../../src/analysis/boost/detector.ts';
import { type BoostBaseline, learnBoost, mergeLessons } from '../../src/analysis/boost/lesson.ts';
import { Plausibility } from '../../src/analysis/plausibility.ts';
import type { CleanSample, Spoken } from '../../src/analysis/types.ts';
import { seededRandom } from '../../src/core/random.ts';
import { type Profile, profileSchema } from '../../src/run/profile.ts';
import { createVehicle } from '../../src/sim/vehicle/vehicle.ts';

const rateHz = Number(process.argv[2] ?? 5);
const verbose = process.argv.includes('-v');
const seeds = process.argv.includes('-q') ? 2 : 4;
const SIGNALS = [
  'map_kpa',
  'rpm',
  'speed_kmh',
  'pedal_d_pct',
  'baro_kpa',
  'ect_c',
  'boost_act_kpa',
  'maf_gps',
];

interface Fault {
  readonly name: string;
  readonly value?: number;
}

function drive(
  vehicle: string,
  route: string,
  faults: readonly Fault[],
  seed: number,
  cmd: boolean,
): CleanSample[] {
  const v = createVehicle({ vehicle, route, faults: [...faults], seed });
  const random = seededRandom(`poll/${seed}`);
  const names = [...SIGNALS, ...(cmd ? ['boost_cmd_kpa'] : [])].filter((s) => v.supported.includes(s));
  const next = names.map((s) => random.next() / (s === 'baro_kpa' || s === 'ect_c' ? 1 : rateHz));
  const front = new Plausibility();
  const out: CleanSample[] = [];
  while (v.timeS < v.route.lengthS) {
    v.advance(0.02);
    names.forEach((signal, i) => {
      if (v.timeS < next[i]! || !v.ignition) return;
      next[i] =
        v.timeS + (signal === 'baro_kpa' || signal === 'ect_c' ? 1 : 1 / rateHz) * random.between(0.9, 1.1);
      const value = v.signal(signal);
      const tUs = Math.round(v.timeS * 1e6) + i;
      if (value !== null) out.push(...front.push({ signal, tUs, sentUs: tUs, value }));
    });
  }
  out.push(...front.finish());
  return out;
}

function judge(samples: readonly CleanSample[], profile: Profile, baseline: BoostBaseline | null) {
  const d = new BoostDetector({ profile, baseline });
  const spoken: Spoken[] = [];
  for (const s of samples) spoken.push(...d.step(s));
  return { findings: d.finish(samples.at(-1)?.tUs ?? 0), spoken, pulls: d.pulls() };
}

const CASES: readonly { vehicle: string; profile: Profile; faults: readonly (readonly Fault[])[] }[] = [
  {
    vehicle: 'twin-charged',
    profile: profileSchema.parse({ induction: 'twin-charged', fuel: 'petrol' }),
    faults: [
      [],
      [{ name: 'clutch-never-closes' }],
      [{ name: 'clutch-circuit-open' }],
      [{ name: 'clutch-closes-late' }],
      [{ name: 'clutch-slips' }],
      [{ name: 'clutch-sometimes' }],
      [{ name: 'clutch-never-opens' }],
      [{ name: 'boost-leak' }],
      [{ name: 'weak-turbo' }],
      [{ name: 'map-frozen' }],
    ],
  },
  {
    vehicle: 'turbo-diesel',
    profile: profileSchema.parse({ induction: 'turbocharger', fuel: 'diesel' }),
    faults: [[], [{ name: 'boost-leak' }], [{ name: 'weak-turbo' }], [{ name: 'map-frozen' }]],
  },
];

for (const c of CASES) {
  const route = 'road-test';
  const baseline = mergeLessons(
    [101, 102].map((seed) => learnBoost(drive(c.vehicle, route, [], seed, false), c.profile)),
  );
  for (const faults of c.faults) {
    const label = faults.map((f) => f.name).join('+') || 'healthy';
    for (const mode of ['baseline', 'commanded', 'nothing'] as const) {
      const lines: string[] = [];
      for (let seed = 1; seed <= seeds; seed++) {
        const o = judge(
          drive(c.vehicle, route, faults, seed, mode === 'commanded'),
          c.profile,
          mode === 'baseline' ? baseline : null,
        );
        const short = (v: string): string =>
          o.findings
            .filter((f) => f.verdict === v)
            .map((f) => f.id.replace('boost.', ''))
            .join(' ');
        lines.push(
          `[fault: ${short('fault shown')} | good: ${short('shown good')} | first ${o.spoken[0]?.atS.toFixed(0) ?? '-'} s, ${o.pulls.length} pulls ${o.pulls.filter((p) => p.engagement).length} eng]`,
        );
        if (verbose && seed === 1)
          for (const f of o.findings) {
            console.log(
              '   ',
              f.id,
              f.verdict,
              JSON.stringify(f.measured),
              JSON.stringify(f.limit),
              f.needs ?? '',
            );
            for (const e of f.evidence) console.log('       ', e.fromS, e.toS, e.text);
          }
      }
      console.log(`${c.vehicle} ${label} (${mode}, ${rateHz} Hz): ${lines.join(' ')}`);
    }
  }
}
