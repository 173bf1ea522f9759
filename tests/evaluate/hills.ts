/**
 * `npx tsx tests/evaluate/hills.ts [DRIVES]`: simulated drives with hills and without, judged with and without a satellite
 * receiver, with the engine's heat measured and not: false alarms of healthy cars, and how long after its fault a climb
 * is told. Even seeds were looked at while the constants of src/analysis/coolant/road-load.ts were chosen, odd ones are
 * reported.
 */
import { CoolantDetector } from '../../src/analysis/coolant/detector.ts';
import { Plausibility } from '../../src/analysis/plausibility.ts';
import { RoadMeter } from '../../src/analysis/road/road-meter.ts';
import type { CleanSample } from '../../src/analysis/types.ts';
import { ManualClock } from '../../src/core/clock.ts';
import type { Profile } from '../../src/core/profile.ts';
import { seededRandom } from '../../src/core/random.ts';
import { isReceiverSignal } from '../../src/core/signals.ts';
import { LineCutter } from '../../src/nmea/cutter.ts';
import { FixReader } from '../../src/nmea/fixes.ts';
import { SimReceiver } from '../../src/sim/receiver.ts';
import type { Route, RouteLeg } from '../../src/sim/vehicle/routes.ts';
import { createVehicle, VEHICLES } from '../../src/sim/vehicle/vehicle.ts';
import { exact } from './exact.ts';

const COUNT = Number(process.argv[2] ?? 200);
const WANTED = [
  'ambient_c',
  'ect_c',
  'iat_c',
  'load_pct',
  'maf_gps',
  'map_kpa',
  'pedal_d_pct',
  'rpm',
  'speed_kmh',
];
const HEAT: ReadonlySet<string> = new Set(['load_pct', 'maf_gps', 'map_kpa']);
const WARM_S = 300;

/** Five minutes on the flat, then a road of its own: hilly ones climb for minutes at a time, up to 9 %. */
function routeOf(seed: number, hilly: boolean): Route {
  const r = seededRandom(`hills/${seed}`);
  const legs: RouteLeg[] = [
    { do: 'key-on', s: 3 },
    { do: 'start', s: 10 },
    { do: 'drive', kmh: 60, s: WARM_S - 13 },
  ];
  for (let s = WARM_S; s < 1200; ) {
    const lasts = Math.round(r.between(40, 220));
    const kmh = Math.round(r.between(35, 110));
    const steep = r.between(-6, 9);
    const gradePct = hilly && r.next() < 0.7 ? steep : r.between(-0.5, 0.5);
    legs.push({ do: 'drive', kmh: gradePct > 5 ? Math.min(kmh, 80) : kmh, s: lasts, gradePct });
    if (r.next() < 0.2) legs.push({ do: 'idle', s: 20 });
    s += lasts;
  }
  return { name: hilly ? 'hilly' : 'flat', description: '', startC: 78, altitudeM: 400, legs };
}

interface Drive {
  readonly seed: number;
  readonly fault: string | null;
  readonly hilly: boolean;
  readonly onsetS: number | null;
  readonly profile: Profile;
  readonly samples: readonly CleanSample[];
}

async function drive(seed: number): Promise<Drive> {
  const r = seededRandom(`hill drive/${seed}`);
  const car = VEHICLES[Math.floor(r.next() * VEHICLES.length)]!;
  const kind = seed % 4 < 2 ? null : r.next() < 0.5 ? 'no-circulation' : 'pump-fading';
  // Healthy cars are asked about hills, faults about the flat as well.
  const hilly = kind === null || r.next() < 0.3;
  const onsetS = kind === null ? null : kind === 'no-circulation' ? Math.round(r.between(400, 800)) : 300;
  const value = kind === 'no-circulation' ? onsetS! : r.between(0.04, 0.2);
  const vehicle = createVehicle({
    vehicle: car.name,
    route: routeOf(seed, hilly),
    faults: kind === null ? [] : [{ name: kind, value }],
    ambientC: r.between(2, 38),
    seed,
  });
  const clock = new ManualClock();
  const receiver = new SimReceiver(
    { hz: 1 + Math.floor(r.next() * 5), faults: r.next() < 0.3 ? ['jumps', 'checksums', 'tunnel=600'] : [] },
    seed,
    clock,
    () => vehicle.road,
    () => vehicle.timeS,
  );
  const fixes = new FixReader();
  const front = new Plausibility();
  const samples: CleanSample[] = [];
  const cutter = new LineCutter((line) => {
    for (const s of fixes.read(line, clock.nowUs())) samples.push(...front.push(s));
  });
  receiver.attach((bytes) => cutter.push(bytes));
  for (let t = 0; t < 1200; t += 0.5) {
    vehicle.advance(0.5);
    await clock.advance(500);
    const tUs = clock.nowUs();
    if (!vehicle.ignition) continue;
    for (const signal of WANTED) {
      const v = vehicle.signal(signal);
      if (v !== null) samples.push(...front.push({ signal, tUs, sentUs: tUs, value: v }));
    }
  }
  receiver.attach(null);
  samples.push(...front.finish());
  return { seed, fault: kind, hilly, onsetS, profile: { induction: car.induction, fuel: car.fuel }, samples };
}

/** When a climb was first told, s; null: never. */
function toldAtS(d: Drive, receiver: boolean, heat: boolean): number | null {
  const measured = receiver ? new RoadMeter() : null;
  const coolant = new CoolantDetector({ profile: d.profile, baseline: null, measured });
  for (const s of d.samples) {
    measured?.step(s);
    if (isReceiverSignal(s.signal) || (!heat && HEAT.has(s.signal))) continue;
    for (const said of coolant.step(s)) if (said.finding.id === 'coolant.climb') return said.atS;
  }
  return null;
}

interface Cell {
  healthy: number;
  alarms: number;
  readonly alarmed: number[];
  readonly flat: (number | null)[];
  readonly hills: (number | null)[];
}
const WAYS = [
  ['heat measured', false, true],
  ['heat measured', true, true],
  ['heat not measured', false, false],
  ['heat not measured', true, false],
] as const;
const tables = [0, 1].map(() =>
  WAYS.map((): Cell => ({ healthy: 0, alarms: 0, alarmed: [], flat: [], hills: [] })),
);

async function main(): Promise<void> {
  for (let seed = 0; seed < COUNT; seed++) {
    const d = await drive(seed);
    WAYS.forEach(([, receiver, heat], w) => {
      const cell = tables[seed % 2]![w]!;
      const at = toldAtS(d, receiver, heat);
      if (d.onsetS === null) {
        cell.healthy++;
        if (at !== null) {
          cell.alarms++;
          cell.alarmed.push(seed);
        }
      } else (d.hilly ? cell.hills : cell.flat).push(at === null ? null : at - d.onsetS);
    });
    if (seed % 20 === 19 || seed === COUNT - 1) report(seed + 1);
  }
}

function report(drives: number): void {
  console.log(`\n${drives} drives`);
  for (const half of [0, 1]) {
    console.log(half === 0 ? '\nchosen on (even seeds)' : '\nreported (odd seeds)');
    WAYS.forEach(([what, receiver], w) => {
      const { healthy, alarms, alarmed, flat, hills } = tables[half]![w]!;
      const [low, high] = exact(alarms, healthy).map((p) => `${(100 * p).toFixed(1)}`);
      console.log(
        `${what}, ${receiver ? 'with' : 'without'} receiver: ${alarms} of ${healthy} healthy drives accused (${low} to ${high} %${alarmed.length > 0 ? `; ${alarmed.join(' ')}` : ''}); faults on the flat ${said(flat)}; on hills ${said(hills)}`,
      );
    });
  }
}

function said(delays: readonly (number | null)[]): string {
  const told = delays.flatMap((d) => (d === null ? [] : [d])).sort((a, b) => a - b);
  const q = (p: number) => (told.length === 0 ? '-' : told[Math.floor(p * (told.length - 1))]!.toFixed(0));
  return `${told.length} of ${delays.length} told, after ${q(0.5)} s (${q(0.1)} to ${q(0.9)})`;
}

await main();
