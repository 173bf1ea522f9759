/**
 * `npx tsx tests/evaluate/widths.ts`: by how much lag, boost at like demand, air pressure and readings differ from pull to
 * pull and from drive to drive, measured alike on the open diesel drives (each half) and on the simulated fleet. What the
 * cars of the fleet are drawn with (`drawn-car.ts`) stands there with these figures.
 */
import { fileURLToPath } from 'node:url';
import { mean, median, quantile, sampleVariance } from 'simple-statistics';
import type { Sample } from '../../src/core/signals.ts';
import { diesel, HALVES } from './boost-drives.ts';
import { drawnDrive, thinned } from './boost-sim.ts';
import { halfOf } from './coolant-cases.ts';
import { readDrive } from './coolant-drives.ts';

/** Rest and floor of the pedal reading, % (NOTICE.md beside the open drives; the simulated car's lies within 2 %). */
const PEDAL = { rest: 15, floor: 80 };
/** Held for so long a demand has settled: 0.9 of the boost is there after 1.8 s from 1,750 rpm. */
const SETTLED_S = 2.5;

interface Point {
  readonly tS: number;
  readonly rpm: number;
  /** The smaller of the readings before and after. */
  demand: number;
  readonly kpa: number;
}

interface Drive {
  readonly points: readonly Point[];
  /** Outside pressure at each stop of the engine or by the barometer, kPa; stops lie a minute apart at least. */
  readonly outsideKpa: readonly { readonly tS: number; readonly kpa: number }[];
  readonly stepsKpa: readonly number[];
}

function read(samples: readonly Sample[]): Drive {
  const points: Point[] = [];
  const outside: { tS: number; kpa: number }[] = [];
  const steps: number[] = [];
  let [rpm, demand, speed, still, before] = [0, 0, 0, [] as number[], Number.NaN];
  let stoppedS = Number.POSITIVE_INFINITY;
  let pedalAt = 0;
  const left = (tS: number): void => {
    // The manifold needs some seconds to fill; a stop shorter than that tells nothing.
    if (still.length >= 3) outside.push({ tS, kpa: median(still) });
    still = [];
    stoppedS = Number.POSITIVE_INFINITY;
  };
  for (const s of samples) {
    const tS = s.tUs / 1e6;
    if (s.signal === 'rpm') rpm = s.value;
    if (s.signal === 'speed_kmh') speed = s.value;
    if (s.signal === 'pedal_d_pct') {
      // A lift between two readings of the pedal cannot hide behind the earlier.
      const next = (s.value - PEDAL.rest) / (PEDAL.floor - PEDAL.rest);
      for (let k = points.length - 1; k >= pedalAt; k--) points[k]!.demand = Math.min(demand, next);
      pedalAt = points.length;
      demand = next;
    }
    if (s.signal === 'baro_kpa' && tS - (outside.at(-1)?.tS ?? -60) >= 60) outside.push({ tS, kpa: s.value });
    if (s.signal !== 'map_kpa') continue;
    if (rpm > 0 || speed > 0) left(tS);
    else stoppedS = Math.min(stoppedS, tS);
    if (tS - stoppedS > 5) still.push(s.value);
    if (s.value !== before && !Number.isNaN(before)) steps.push(Math.abs(s.value - before));
    before = s.value;
    points.push({ tS, rpm, demand, kpa: s.value });
  }
  return { points, outsideKpa: outside, stepsKpa: steps };
}

/** Runs of points at `from` of demand and more, no hole in them. */
function pulls(points: readonly Point[], from: number): Point[][] {
  const out: Point[][] = [];
  let own: Point[] = [];
  for (const p of points) {
    if (own.length > 0 && (p.demand < from || p.tS - own.at(-1)!.tS > 2.5)) {
      out.push(own);
      own = [];
    }
    if (p.demand >= from) own.push(p);
  }
  return own.length > 0 ? [...out, own] : out;
}

/** Seconds from the tip-in to 0.9 of what the pull itself reached, from 1,500 to 2,200 rpm; pulls of 4 s and more. */
function lags(drive: Drive): number[] {
  const { points } = drive;
  return pulls(points, 0.45).flatMap((pull) => {
    const first = points.indexOf(pull[0]!);
    const before = points[first - 1];
    if (!before || before.demand > 0.3 || pull[0]!.tS - before.tS > 2) return [];
    if (before.rpm < 1500 || before.rpm > 2200 || pull.at(-1)!.tS - pull[0]!.tS < 4) return [];
    if (pull.some((p) => p.rpm < 0.95 * before.rpm)) return [];
    const late = pull.filter((p) => p.tS - pull[0]!.tS >= 3).map((p) => p.kpa);
    const reached = before.kpa + 0.9 * (median(late) - before.kpa);
    if (late.length < 2 || median(late) - before.kpa < 40) return [];
    const at = pull.findIndex((p) => p.kpa >= reached);
    if (at < 0) return [];
    const [a, b] = [at === 0 ? before : pull[at - 1]!, pull[at]!];
    const share = (reached - a.kpa) / Math.max(1, b.kpa - a.kpa);
    return [Math.max(0.2, a.tS + share * (b.tS - a.tS) - (before.tS + pull[0]!.tS) / 2)];
  });
}

const cellOf = (p: Point): string => `${Math.floor(p.rpm / 250)}/${Math.min(9, Math.floor(p.demand * 10))}`;

/** Settled points of full demand from 2,000 rpm on. */
function settled(drive: Drive): Point[][] {
  return pulls(drive.points, 0.7)
    .map((pull) => pull.filter((p) => p.tS - pull[0]!.tS >= SETTLED_S && p.rpm >= 2000 && p.rpm < 4000))
    .filter((pull) => pull.length > 0);
}

interface Widths {
  readonly lags: number;
  readonly lagS: number;
  /** Standard deviation of the logarithm, from the quartiles. */
  readonly lagLogSd: number;
  readonly pulls: number;
  readonly drives: number;
  /** Standard deviations as shares of the gauge pressure, a sample's, a pull's and a drive's own part. */
  readonly sample: number;
  readonly pull: number;
  readonly day: number;
  /** Smallest step of the reading, kPa. */
  readonly stepKpa: number;
  /** Outside pressure of a drive, largest less smallest: middle and nine in ten, kPa. */
  readonly outsideKpa: readonly [number, number];
  readonly outsideDrives: number;
}

/** Of the drives of one car, or of each car by itself: `group` says whose. */
function widthsOf(all: readonly (readonly Sample[])[], group: (k: number) => number = () => 0): Widths {
  const drives = all.map(read);
  const t90 = drives.flatMap(lags).map(Math.log);
  const perDrive = drives.map((d, k) => ({ car: group(k), pulls: settled(d) }));
  const days: { own: { mean: number; n: number }[]; within: number[] }[] = [];
  for (const [k, d] of perDrive.entries()) {
    const cells = new Map<string, number[]>();
    for (const [o, other] of perDrive.entries())
      if (o !== k && other.car === d.car)
        for (const p of other.pulls.flat()) cells.set(cellOf(p), [...(cells.get(cellOf(p)) ?? []), p.kpa]);
    const own: { mean: number; n: number }[] = [];
    const within: number[] = [];
    for (const pull of d.pulls) {
      const off = pull.flatMap((p) => {
        const others = cells.get(cellOf(p)) ?? [];
        return others.length >= 4 ? [(p.kpa - mean(others)) / (mean(others) - 97)] : [];
      });
      if (off.length === 0) continue;
      own.push({ mean: mean(off), n: off.length });
      within.push(...off.map((x) => x - mean(off)));
    }
    if (own.length > 0) days.push({ own, within });
  }
  const root = (x: number): number => Math.sqrt(Math.max(0, x));
  const count = days.reduce((a, d) => a + d.own.length, 0);
  const squares = days.flatMap((d) => d.within).reduce((a, x) => a + x * x, 0);
  const samples = days.reduce((a, d) => a + d.own.reduce((b, o) => b + o.n - 1, 0), 0);
  const sample2 = squares / Math.max(1, samples);
  const several = days.filter((d) => d.own.length >= 2);
  const between = several.reduce(
    (a, d) => a + (d.own.length - 1) * sampleVariance(d.own.map((o) => o.mean)),
    0,
  );
  const free = several.reduce((a, d) => a + d.own.length - 1, 0);
  const one = between / Math.max(1, free);
  const pull2 = one - sample2 * mean(several.flatMap((d) => d.own.map((o) => 1 / o.n)));
  const day2 =
    sampleVariance(several.map((d) => mean(d.own.map((o) => o.mean)))) -
    one * mean(several.map((d) => 1 / d.own.length));
  const spans = drives.flatMap(({ outsideKpa }) => {
    const kpa = outsideKpa.map((o) => o.kpa);
    return kpa.length >= 2 ? [Math.max(...kpa) - Math.min(...kpa)] : [];
  });
  return {
    lags: t90.length,
    lagS: Math.exp(median(t90)),
    lagLogSd: (quantile(t90, 0.75) - quantile(t90, 0.25)) / 1.349,
    pulls: count,
    drives: several.length,
    ...{ sample: root(sample2), pull: root(pull2), day: root(day2) },
    stepKpa: drives.flatMap((d) => d.stepsKpa).reduce((a, x) => Math.min(a, x), Number.POSITIVE_INFINITY),
    outsideKpa: spans.length === 0 ? [0, 0] : [median(spans), quantile(spans, 0.9)],
    outsideDrives: spans.length,
  };
}

function widthsText(w: Widths): string {
  const pct = (x: number): string => `${(100 * x).toFixed(1)} %`;
  return [
    `0.9 of the boost after ${w.lagS.toFixed(2)} s, log sd ${w.lagLogSd.toFixed(2)} (${w.lags} pulls)`,
    `boost at like demand: sample ${pct(w.sample)}, pull ${pct(w.pull)}, drive ${pct(w.day)} (${w.pulls} pulls, ${w.drives} drives)`,
    `step of the pressure reading ${w.stepKpa} kPa`,
    `outside pressure within a drive ${w.outsideKpa.map((x) => x.toFixed(1)).join(' kPa, nine in ten ')} kPa (${w.outsideDrives} drives)`,
  ].join('; ');
}

/** Standard deviation between drives of where the coolant settles, °C: at 50 km/h and more from seven minutes after 80 °C. */
function settledSdC(drives: readonly (readonly Sample[])[]): {
  readonly sdC: number;
  readonly n: number;
} {
  const levels = drives.flatMap((samples) => {
    let [speed, warmS] = [0, Number.POSITIVE_INFINITY];
    const own: number[] = [];
    for (const s of samples) {
      if (s.signal === 'speed_kmh') speed = s.value;
      if (s.signal !== 'ect_c') continue;
      if (s.value >= 80) warmS = Math.min(warmS, s.tUs / 1e6);
      if (speed >= 50 && s.tUs / 1e6 - warmS > 420) own.push(s.value);
    }
    return own.length > 150 ? [median(own)] : [];
  });
  return { sdC: Math.sqrt(sampleVariance(levels)), n: levels.length };
}

if (process.argv[1] === fileURLToPath(import.meta.url)) {
  for (const half of ['A', 'B'] as const)
    console.log(`open diesel, half ${half}: ${widthsText(widthsOf(HALVES[half].map(diesel)))}`);
  console.log(`open diesel, both: ${widthsText(widthsOf([...HALVES.A, ...HALVES.B].map(diesel)))}`);
  for (const car of ['trip', 'petrol']) {
    const names = (['A', 'B'] as const).flatMap((h) => halfOf(h)).filter((n) => n.startsWith(car));
    const { sdC, n } = settledSdC(names.map(readDrive));
    console.log(`open drives, ${car}: coolant settles within ${sdC.toFixed(2)} °C (sd of ${n} drives)`);
  }
  const cars = [2, 4, 6, 8, 10];
  const fleet = cars.flatMap((car) =>
    [0, 1, 2, 3].map((k) => thinned(drawnDrive('turbo-diesel', car, 'healthy', k), 1.1, 4 * car + k)),
  );
  console.log(`simulated fleet, as often read: ${widthsText(widthsOf(fleet, (k) => Math.floor(k / 4)))}`);
}
