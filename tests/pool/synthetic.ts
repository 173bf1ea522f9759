/** Cases from formulas: as many cars, kinds, repairs and drives as are wanted, the same for the same number. */
import { type Random, seededRandom } from '../../src/core/random.ts';
import { A_DAY, partOf } from '../../src/pool/pool.ts';
import type { Secret } from '../../src/pool/secret.ts';
import type { Case, Loose, SampleColumns } from '../../src/pool/tables.ts';

export const KINDS = [
  'mw18/1798/twin-charged/petrol',
  'mw20/1968/turbocharger/diesel',
  'kh16/1598/naturally aspirated/petrol',
];
const PARTS = ['Charge pipe', 'Coolant pump', 'Magnetic clutch', 'Thermostat', 'Wastegate actuator'];
const SIGNALS = ['ect_c', 'map_kpa', 'pedal_pct', 'rpm', 'speed_kmh', 'iat_c'];

export interface Synthetic {
  readonly case: Case;
  readonly part: string;
}

/**
 * Job `i` of a workshop: every car comes about twice.
 * @param values of each drive's samples
 */
export function syntheticCase(secret: Secret, i: number, values = 60, runsOf = 1, changes = 0): Synthetic {
  const random = seededRandom(1000 + i);
  const car = secret.name('car', `vin ${i >> 1}`);
  const case_id = secret.name('case', String(i));
  const of = { case_id, car };
  const kind = KINDS[(i >> 1) % KINDS.length]!;
  const [designation = '', cc, induction = '', fuel = ''] = kind.split('/');
  const day = 20_000 + (i % 900);
  const back = random.next() < 0.1;
  const runs = Array.from({ length: runsOf }, (_, k) => ({ run: secret.name('case', `run ${i} ${k}`), k }));
  const healthy = random.next() < 0.8;
  // a car has its own few per cent
  const own = 1 + 0.03 * seededRandom(i >> 1).normal();
  const cells = (run: string): Loose<'cells'>[] =>
    [1500, 2000, 2500, 3000, 3500, 4000].flatMap((rpm) =>
      [60, 70, 80, 90].map((demand_pct) => ({
        run,
        car,
        rpm,
        demand_pct,
        points: 3 + Math.floor(9 * random.next()),
        pull_count: 2,
        boost_kpa: own * demand_pct * (1 + 0.01 * random.normal()),
        air_index: 14 + 0.1 * random.normal(),
      })),
    );
  return {
    part: partOf(car),
    case: {
      revision: (100 * 100_000 + day + changes) * A_DAY,
      row: {
        case_id,
        source: secret.name('case', `source ${i} ${changes}`),
        car,
        car_by: 'vin',
        descriptor: `00HB${designation.toUpperCase()}-N`,
        kind,
        designation,
        displacement_cc: Number(cc),
        induction,
        fuel,
        opened_day: day,
        closed_day: day + 1,
        hand_over: 'good',
        came_back: back ? 1 : 0,
        days_to_return: back ? 5 + Math.floor(60 * random.next()) : null,
        odometer_thousand_km: 100 + changes,
        practice: 1,
        program: '0.1.0',
      },
      rows: {
        repairs: [{ ...of, part_name: PARTS[i % PARTS.length]! }],
        runs: runs.map(({ run }) => ({
          ...of,
          run,
          purpose: 'verification',
          run_day: day,
          seconds: 1200,
          sample_count: values,
          baro_kpa: 98,
          boost: healthy ? 'shown good' : 'fault shown',
          coolant: 'shown good',
          fan: 'not shown',
          fan_asked: 0,
          plateau_c: 89 + random.normal(),
          warm_up_heat_per_c: 40 * (1 + 0.1 * random.normal()),
          warm_up_source: 'air',
          warm_up_air_c: 12,
        })),
        pulls: runs.flatMap(({ run }) =>
          Array.from({ length: 12 }, (_, pull) => ({
            run,
            car,
            pull,
            from_s: 60 * pull,
            to_s: 60 * pull + 5,
            gear: 3,
            rpm_from: 1500,
            rpm_to: 3800,
            engagement: 1,
            boost_mean_kpa: own * 80,
            boost_most_kpa: own * 90,
            shortfall_pct: null,
            held: 1,
          })),
        ),
        cells: runs.flatMap(({ run }) => cells(run)),
        findings: runs.flatMap(({ run }) =>
          ['boost.low-speed', 'boost.leak', 'coolant.climb', 'coolant.warm-up', 'link.gaps'].map(
            (finding) => ({
              run,
              car,
              finding,
              system: finding.split('.')[0]!,
              verdict: 'shown good',
              points_to: null,
              measured: 100 * random.next(),
              unit: 'kPa',
              measured_low: 1,
              measured_high: 2,
              limit_value: null,
              limit_source: null,
              from_s: null,
              to_s: null,
              said_at_s: null,
            }),
          ),
        ),
        codes: [],
        measurements: [],
        comparisons: [],
      },
      samples: runs.map(({ run, k }) => ({
        run,
        read: async () => samplesOf(seededRandom(7 * i + k), values),
      })),
    },
  };
}

/** Values a second over the signals in turn, quantised as bytes on the wire are. */
function samplesOf(random: Random, values: number): SampleColumns {
  const each = Math.floor(values / SIGNALS.length);
  const tMs = new Int32Array(each * SIGNALS.length);
  const value = new Float64Array(tMs.length);
  const signal: string[] = [];
  let n = 0;
  for (const name of SIGNALS) {
    let x = 100;
    for (let i = 0; i < each; i++) {
      x += random.normal();
      tMs[n] = Math.round(i * 200 + 20 * random.next());
      value[n++] = Math.round(x * 4) / 4;
      signal.push(name);
    }
  }
  return { signal, tMs, value };
}
