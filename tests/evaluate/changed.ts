/**
 * Healthy open drives recorded in another way: by another adapter, through other sensors, with holes, cut short, two in
 * one. The car stays healthy, so nothing may be accused; none of the judging's constants was chosen on these.
 */

import { mergeLessons } from '../../src/analysis/boost/lesson.ts';
import { mergeCoolant } from '../../src/analysis/coolant/baseline.ts';
import { type Baseline, Judge, lessonOf } from '../../src/analysis/judge.ts';
import { type Random, seededRandom } from '../../src/core/random.ts';
import type { Sample } from '../../src/core/signals.ts';
import { halfOf, profileOf } from './coolant-cases.ts';
import { type Half, readDrive } from './coolant-drives.ts';

type Drive = readonly Sample[];
type Change = (drive: Drive, random: Random, name: string) => Drive;

const without =
  (...signals: string[]): Change =>
  (drive) =>
    drive.filter((s) => !signals.includes(s.signal));
const shown =
  (signal: string, as: (value: number) => number): Change =>
  (drive) =>
    drive.map((s) => (s.signal === signal ? { ...s, value: as(s.value) } : s));
/** Each sample of the signal `byS` later (or sooner) than it was. */
const late =
  (signal: string, byS: number): Change =>
  (drive) =>
    drive
      .map((s) => (s.signal === signal ? at(s, Math.max(0, s.tUs + byS * 1e6)) : s))
      .sort((a, b) => a.tUs - b.tUs);
const at = (s: Sample, tUs: number): Sample => ({ ...s, tUs, sentUs: tUs });
const between = (drive: Drive, fromUs: number, toUs: number): Sample[] =>
  drive.filter((s) => s.tUs >= fromUs && s.tUs <= toUs).map((s) => at(s, s.tUs - fromUs));
const endUs = (drive: Drive): number => drive.at(-1)!.tUs;
/** Normal, by twelve uniform numbers. */
const normal = (random: Random): number =>
  Array.from({ length: 12 }, () => random.next()).reduce((a, x) => a + x, -6);

function thenAnother(pauseS: number): Change {
  return (drive, _, name) => {
    const own = namesOf(name);
    const next = readDrive(own[(own.indexOf(name) + 1) % own.length]!);
    const fromUs = endUs(drive) + pauseS * 1e6;
    return [...drive, ...next.map((s) => at(s, s.tUs + fromUs))];
  };
}

/** Those of the car itself are in the drives that teach as well; those of one recording are not. */
const OF_THE_CAR: Readonly<Record<string, Change>> = {
  'no outside temperature': without('ambient_c'),
  'no temperature of any air': without('ambient_c', 'iat_c'),
  'no speed': without('speed_kmh'),
  'no air mass': without('maf_gps'),
  'no barometer': without('baro_kpa'),
  'coolant shown 3 °C higher': shown('ect_c', (v) => v + 3),
  'coolant shown 5 °C lower': shown('ect_c', (v) => v - 5),
  'coolant 20 s late': late('ect_c', 20),
  'intake air shown 8 °C higher': shown('iat_c', (v) => v + 8),
  'manifold pressure shown 3 kPa higher': shown('map_kpa', (v) => v + 3),
  'air mass shown 6 % higher': shown('maf_gps', (v) => 1.06 * v),
  'engine speed in steps of 50 rpm': shown('rpm', (v) => 50 * Math.round(v / 50)),
  'speed shown 5 % higher': shown('speed_kmh', (v) => Math.round(1.05 * v)),
  'engine speed 0.4 s late': late('rpm', 0.4),
};
const OF_ONE_RECORDING: Readonly<Record<string, Change>> = {
  'every fifth sample': (drive) => {
    const seen = new Map<string, number>();
    return drive.filter((s) => {
      const n = seen.get(s.signal) ?? 0;
      seen.set(s.signal, n + 1);
      return n % 5 === 0;
    });
  },
  'a quarter of the samples by chance': (drive, random) => drive.filter(() => random.next() < 0.25),
  'coolant flickers by 1 °C': (drive, random) =>
    drive.map((s) =>
      s.signal === 'ect_c' ? { ...s, value: s.value + Math.floor(3 * random.next()) - 1 } : s,
    ),
  'pressure scatters by 1.5 %': (drive, random) =>
    drive.map((s) =>
      s.signal === 'map_kpa' ? { ...s, value: Math.round(s.value * (1 + 0.015 * normal(random))) } : s,
    ),
  'three holes of 20 to 120 s': (drive, random) => {
    const holes = [0, 1, 2].map(() => {
      const fromUs = random.between(0, endUs(drive));
      return [fromUs, fromUs + random.between(20e6, 120e6)] as const;
    });
    return drive.filter((s) => !holes.some(([a, b]) => s.tUs >= a && s.tUs < b));
  },
  'cut short': (drive, random) => {
    const fromUs = random.between(0, 0.6 * endUs(drive));
    return between(drive, fromUs, fromUs + random.between(0.2, 0.6) * endUs(drive));
  },
  'another drive after 45 s': thenAnother(45),
  'another drive after 15 min': thenAnother(900),
};
export const CHANGES: readonly string[] = [...Object.keys(OF_THE_CAR), ...Object.keys(OF_ONE_RECORDING)];
export const CHANGED_TAUGHT = [0, 3] as const;

export interface ChangedCase {
  readonly name: string;
  readonly half: Half;
  /** Of CHANGES; "as it was recorded" to compare with. */
  readonly change: string;
  readonly taught: number;
  readonly boostGood: boolean;
  readonly coolantGood: boolean;
  /** Findings that show a fault. */
  readonly accused: readonly string[];
}

function namesOf(name: string): string[] {
  return [...halfOf('A'), ...halfOf('B')].filter((n) => n.slice(0, 4) === name.slice(0, 4)).sort();
}

export function changedCases(name: string): ChangedCase[] {
  const drive = readDrive(name);
  const profile = profileOf(name);
  const random = seededRandom(`changed/${name}`);
  const teachers = namesOf(name)
    .filter((n) => n !== name)
    .map((n) => ({ n, by: random.next() }))
    .sort((a, b) => a.by - b.by)
    .slice(0, Math.max(...CHANGED_TAUGHT))
    .map(({ n }) => n);
  const taughtBy = (change: Change): Baseline => {
    const lessons = teachers.map((n) => lessonOf(change(readDrive(n), random, n), profile));
    return {
      boost: mergeLessons(lessons.map((l) => l.boost)),
      coolant: mergeCoolant(lessons.map((l) => l.coolant)),
    };
  };
  const unchanged: Change = (d) => d;
  const plain = taughtBy(unchanged);
  const cases = (change: string, samples: Drive, baseline: Baseline): ChangedCase[] =>
    CHANGED_TAUGHT.map((taught) => {
      const judge = new Judge(profile, taught === 0 ? null : baseline);
      for (const s of samples) judge.push(s);
      const { findings, systems } = judge.finish(name);
      return {
        ...{ name, change, taught, half: halfOf('A').includes(name) ? 'A' : ('B' as const) },
        boostGood: systems.boost.verdict === 'shown good',
        coolantGood: systems.coolant.verdict === 'shown good',
        accused: findings.filter((f) => f.verdict === 'fault shown').map((f) => f.id),
      };
    });
  return [
    ...cases('as it was recorded', drive, plain),
    ...Object.entries(OF_THE_CAR).flatMap(([change, put]) =>
      cases(change, put(drive, random, name), taughtBy(put)),
    ),
    ...Object.entries(OF_ONE_RECORDING).flatMap(([change, put]) =>
      cases(change, put(drive, random, name), plain),
    ),
  ];
}

/** The part of docs/analysis-quality.md: accused, and good beside what the same drives gave unchanged. */
export function changedText(all: readonly ChangedCase[]): string {
  const row = (change: string): string => {
    const of = (taught: number) => all.filter((c) => c.change === change && c.taught === taught);
    const cell = (taught: number) => {
      const own = of(taught);
      const bad = own.filter((c) => c.accused.length > 0);
      const who = bad.map((c) => `${c.name} ${c.accused.join(', ')}`).join('; ');
      return [
        `${bad.length} of ${own.length}${who === '' ? '' : ` (${who})`}`,
        String(own.filter((c) => c.coolantGood).length),
        String(own.filter((c) => c.boostGood).length),
      ];
    };
    return `| ${[change, ...CHANGED_TAUGHT.flatMap(cell)].join(' | ')} |`;
  };
  const head = [
    'recorded',
    ...CHANGED_TAUGHT.flatMap((t) => [`accused, ${t} teach`, 'coolant good', 'boost good']),
  ];
  return [
    `| ${head.join(' | ')} |`,
    `| ${head.map(() => '---').join(' | ')} |`,
    ...['as it was recorded', ...CHANGES].map(row),
  ].join('\n');
}
