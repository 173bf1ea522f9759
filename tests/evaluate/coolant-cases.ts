/** Coolant faults and glitches put into open drives, one judged drive per call: what `npm run evaluate` counts. */
import {
  type CoolantBaseline,
  type CoolantLesson,
  learnCoolant,
  mergeCoolant,
} from '../../src/analysis/coolant/baseline.ts';
import { BinMaker } from '../../src/analysis/coolant/bins.ts';
import { LEVEL } from '../../src/analysis/coolant/climb.ts';
import { CoolantDetector } from '../../src/analysis/coolant/detector.ts';
import { ENVELOPE, Envelope, type SpeedTable } from '../../src/analysis/coolant/envelope.ts';
import { Plateau } from '../../src/analysis/coolant/plateau.ts';
import { Plausibility } from '../../src/analysis/plausibility.ts';
import type { CleanSample, Finding } from '../../src/analysis/types.ts';
import type { Profile } from '../../src/core/profile.ts';
import { type Random, seededRandom } from '../../src/core/random.ts';
import type { Sample } from '../../src/core/signals.ts';
import { type Half, halves, readDrive } from './coolant-drives.ts';
import * as inject from './inject-coolant.ts';
import { plainCoolant } from './plain-coolant.ts';

/** How many other drives of the car teach. */
export const TAUGHT = [0, 1, 3, 7, 13] as const;

export function profileOf(name: string): Profile {
  return name.startsWith('trip')
    ? { induction: 'turbocharger', fuel: 'diesel' }
    : { induction: 'naturally aspirated', fuel: 'petrol' };
}

/** What the coolant detector reads, and what the plausibility front needs for it. */
const READ = new Set([
  ...['ect_c', 'speed_kmh', 'rpm', 'ambient_c', 'iat_c', 'pedal_d_pct', 'maf_gps', 'map_kpa', 'load_pct'],
  'throttle_pct',
]);

function memo<T>(make: (key: string) => T): (key: string) => T {
  const known = new Map<string, T>();
  return (key) => {
    if (!known.has(key)) known.set(key, make(key));
    return known.get(key)!;
  };
}

const driveOf = memo((name): Sample[] => readDrive(name).filter((s) => READ.has(s.signal)));
/** Median outside temperature, °C; 0 for a car that does not measure it. */
const airOf = memo((name): number => {
  const all = driveOf(name)
    .filter((s) => s.signal === 'ambient_c')
    .map((s) => s.value)
    .sort((a, b) => a - b);
  return all[all.length >> 1] ?? 0;
});
let split: Readonly<Record<Half, readonly string[]>> | null = null;
export function halfOf(half: Half): readonly string[] {
  split ??= halves(airOf);
  return split[half];
}

function* clean(samples: Iterable<Sample>): Generator<CleanSample> {
  const front = new Plausibility();
  for (const s of samples) yield* front.push(s);
  yield* front.finish();
}

const lessonOf = memo((name): CoolantLesson => learnCoolant(clean(driveOf(name)), profileOf(name)));
function baselineFor(name: string, { taught, draw = 'baseline' }: How): CoolantBaseline | null {
  if (taught === 0) return null;
  const random = seededRandom(`${draw}/${name}`);
  const others = [...halfOf('A'), ...halfOf('B')]
    .filter((n) => n !== name && n.slice(0, 4) === name.slice(0, 4))
    .sort()
    .map((n) => ({ n, at: random.next() }))
    .sort((a, b) => a.at - b.at);
  return mergeCoolant(others.slice(0, taught).map(({ n }) => lessonOf(n)));
}

/** What the rows lie above the largest excess seen, °C. */
const MARGIN_C = 0.5;
/**
 * The road's table as one half alone would choose it: in each row the largest excess that any of its drives shows
 * between the row's speed and the next slower one's, and a margin; never rising with speed.
 */
const chosenOn = memo((half): SpeedTable => {
  const most = ENVELOPE.map(() => 0);
  for (const name of halfOf(half as Half)) {
    const maker = new BinMaker();
    const envelope = new Envelope();
    const plateau = new Plateau(null);
    let settledS = 0;
    for (const s of clean(driveOf(name))) {
      const bin = maker.push(s);
      if (!bin) continue;
      const regime = envelope.step(bin);
      plateau.step(bin, regime, !bin.unsure);
      if (!plateau.settled || bin.ect === null || !bin.running || bin.unsure) continue;
      settledS += 5;
      const row = ENVELOPE.findIndex((r) => (regime.kmh ?? 0) <= r.kmh);
      const k = row < 0 ? ENVELOPE.length - 1 : row;
      // What a hill explains is not the flat road's.
      if (settledS > 60 && !regime.steep) most[k] = Math.max(most[k]!, bin.ect - plateau.referenceC!);
    }
  }
  for (let k = most.length - 2; k >= 0; k--) most[k] = Math.max(most[k]!, most[k + 1]!);
  // A stand asks for the fan, and few drives of a half do: its row stays what a limit is.
  return ENVELOPE.map((r, k) => ({ kmh: r.kmh, allowC: k === 0 ? r.allowC : most[k]! + MARGIN_C }));
});

export interface CoolantOutcome {
  readonly hours: number;
  /** Ten minutes settled, five of them above 30 km/h: by the plain signals, not by the detector. */
  readonly usable: boolean;
  /** Sum over the system as the judge makes it. */
  readonly verdict: 'fault' | 'good' | 'not shown';
  readonly faults: readonly { readonly id: string; readonly saidAtS: number }[];
  readonly watches: number;
  /** Faults spoken of on the way, whether they stand at the end or not. */
  readonly spoken: number;
  /** Of the warm-up itself; null when it was not measured or no other drive says what it should take. */
  readonly warmUp: Finding['verdict'] | null;
  /** What the plain rule says, run seconds. */
  readonly plainClimbS: number | null;
  readonly plainColdS: number | null;
}

interface How {
  readonly taught: number;
  /** The half on which the road's table is chosen anew; null for the one that ships. */
  readonly road: Half | null;
  /** Another draw of the drives that teach, of the climbs' onsets and of the glitches than the page's. */
  readonly draw?: string;
}

/** What the same drive was judged by last: with other drives that teach it need not be cleaned again. */
let prepared: { name: string; by: Map<string, readonly CleanSample[]> } = { name: '', by: new Map() };
function cleaned(name: string, what: string, put: () => readonly Sample[]): readonly CleanSample[] {
  if (prepared.name !== name) prepared = { name, by: new Map() };
  const known = prepared.by.get(what) ?? [...clean(put())];
  prepared.by.set(what, known);
  return known;
}

/** @param what names what `put` makes of the drive */
function judged(name: string, what: string, put: () => readonly Sample[], how: How): CoolantOutcome {
  const detector = new CoolantDetector(
    { profile: profileOf(name), baseline: baselineFor(name, how) },
    how.road === null ? ENVELOPE : chosenOn(how.road),
  );
  let endUs = 0;
  let watches = 0;
  let spoken = 0;
  const samples = cleaned(name, what, put);
  for (const s of samples) {
    for (const { finding } of detector.step(s)) {
      if (finding.id === 'coolant.watch') watches++;
      if (finding.verdict === 'fault shown') spoken++;
    }
    endUs = s.tUs;
  }
  const findings = detector.finish(endUs).filter((f) => f.system === 'coolant');
  const faults = findings.filter((f) => f.verdict === 'fault shown');
  const good = findings.every((f) => f.verdict === 'shown good' || f.aside === true);
  const plain = plainCoolant(samples);
  return {
    hours: endUs / 3.6e9,
    usable: usableOf(name),
    verdict: faults.length > 0 ? 'fault' : good ? 'good' : 'not shown',
    faults: faults.map((f) => ({ id: f.id, saidAtS: f.saidAtS ?? 0 })),
    watches,
    spoken,
    warmUp: findings.find((f) => f.id === 'coolant.warm-up' && f.measured !== null)?.verdict ?? null,
    plainClimbS: plain.climbS,
    plainColdS: plain.coldS,
  };
}

/** Where each car's coolant is at its plateau, °C, and when it has been for five minutes, run seconds. */
const AT_PLATEAU_C = { trip: 87.5, petr: 84 } as const;
const settledFromS = memo((name): number => {
  const at = AT_PLATEAU_C[name.slice(0, 4) as 'trip' | 'petr'];
  const first = driveOf(name).find((s) => s.signal === 'ect_c' && s.value >= at);
  return first ? first.tUs / 1e6 + 300 : Number.POSITIVE_INFINITY;
});
const endOf = memo((name): number => (driveOf(name).at(-1)?.tUs ?? 0) / 1e6);
const usableOf = memo((name): boolean => {
  let [all, moving, last] = [0, 0, 0];
  for (const s of driveOf(name)) {
    if (s.signal !== 'speed_kmh') continue;
    const tS = s.tUs / 1e6;
    const dt = Math.min(5, tS - last);
    last = tS;
    if (tS < settledFromS(name) - 300) continue;
    all += dt;
    if (s.value > 30) moving += dt;
  }
  return all >= 600 && moving >= 300;
});

export const healthy = (name: string, how: How): CoolantOutcome =>
  judged(name, 'healthy', () => driveOf(name), how);

export const GLITCHES: Readonly<Record<string, (s: readonly Sample[], random: Random) => Sample[]>> = {
  spikes: inject.spikes,
  'end stops': inject.endStops,
  'drop-outs': inject.dropouts,
  'stuck values': inject.stuck,
  'wrong levels': inject.plateausOfNoise,
  'time jumps': inject.timeJumps,
};

const drawn = ({ draw }: How): string => (draw === undefined ? '' : `${draw}/`);
export const glitched = (name: string, glitch: string, how: How): CoolantOutcome =>
  judged(
    name,
    glitch,
    () => GLITCHES[glitch]!(driveOf(name), seededRandom(`${drawn(how)}${glitch}${name}`)),
    how,
  );

/** `goalS`: median seconds from onset (ANALYSIS section 7); null where none is stated. */
export const CLIMBS: Readonly<
  Record<
    string,
    { readonly put: (s: readonly Sample[], onsetS: number) => Sample[]; readonly goalS: number | null }
  >
> = {
  '+25 °C in 3 min': { put: inject.straight(25, 180), goalS: 60 },
  '+15 °C in 3 min': { put: inject.straight(15, 180), goalS: 120 },
  '+25 °C, τ 60 s': { put: inject.climb(25, 60), goalS: 60 },
  '+15 °C, τ 60 s': { put: inject.climb(15, 60), goalS: 120 },
  '+40 °C, τ 120 s': { put: inject.climb(40, 120), goalS: null },
  '+15 °C, τ 120 s': { put: inject.climb(15, 120), goalS: null },
  'ramp 2 °C/min': { put: inject.ramp(2), goalS: 180 },
  'ramp 1 °C/min': { put: inject.ramp(1), goalS: 300 },
  'ramp 0.5 °C/min': { put: inject.ramp(0.5), goalS: 600 },
};

export interface ClimbOutcome extends CoolantOutcome {
  /** Seconds from onset to the first word after it; null when nothing was said. */
  readonly delayS: number | null;
  readonly plainDelayS: number | null;
}

/** Null when the drive leaves too little time after it settled. */
export function climbed(name: string, label: string, attempt: number, how: How): ClimbOutcome | null {
  const leftS = label === 'ramp 0.5 °C/min' ? 1200 : 720;
  if (endOf(name) - leftS < settledFromS(name)) return null;
  const random = seededRandom(`${drawn(how)}${label}${name}${attempt}`);
  const onsetS = random.between(settledFromS(name), endOf(name) - leftS);
  const o = judged(name, `${label}${attempt}`, () => CLIMBS[label]!.put(driveOf(name), onsetS), how);
  const said = o.faults.filter((f) => f.saidAtS >= onsetS).sort((a, b) => a.saidAtS - b.saidAtS)[0];
  const plain = o.plainClimbS;
  return {
    ...o,
    delayS: said === undefined ? null : said.saidAtS - onsetS,
    plainDelayS: plain === null || plain < onsetS ? null : plain - onsetS,
  };
}

export const COLD: Readonly<Record<string, (s: readonly Sample[], airC: number) => Sample[]>> = {
  '66 °C, sags 4 °C per 10 km/h': inject.stuckOpen(66, 4),
  '72 °C, sags 2 °C per 10 km/h': inject.stuckOpen(72, 2),
  '76 °C, flat': inject.stuckOpen(76, 0),
  '80 °C, sags 3 °C per 10 km/h': inject.stuckOpen(80, 3),
  '50 °C above the air, sags 2 °C per 10 km/h': (s, airC) => inject.stuckOpen(airC + 50, 2)(s),
};

/** Null when the drive is shorter than a quarter of an hour or never warmer than the open thermostat would hold it. */
export function cold(name: string, label: string, how: How): CoolantOutcome | null {
  if (endOf(name) < 900) return null;
  const air = airOf(name) === 0 && name.startsWith('petrol') ? 30 : airOf(name);
  const put = COLD[label]!(driveOf(name), air);
  const changed = put.some((s, k) => s.signal === 'ect_c' && s.value < driveOf(name)[k]!.value - 2);
  return changed ? judged(name, label, () => put, how) : null;
}

/** Twice the heat for every degree of the warm-up. Null when the drive does not begin cold. */
export function slow(name: string, how: How): CoolantOutcome | null {
  const first = driveOf(name).find((s) => s.signal === 'ect_c');
  if (!first || first.value > 35) return null;
  return judged(name, 'slow', () => inject.doubledHeat(driveOf(name)), how);
}

/**
 * The assumption behind the level test, tried on a healthy drive: the mean of exp(λx − λ²σ²/2) over its settled steps
 * must not exceed 1. Each λ with its sum and count, so that drives can be added up.
 */
export function assumption(
  name: string,
): { readonly lambda: number; readonly sum: number; readonly n: number }[] {
  const maker = new BinMaker();
  const envelope = new Envelope();
  const plateau = new Plateau(null);
  const sums = LEVEL.lambdas.map((lambda) => ({ lambda, sum: 0, n: 0 }));
  for (const s of clean(driveOf(name))) {
    const bin = maker.push(s);
    if (!bin) continue;
    const regime = envelope.step(bin);
    plateau.step(bin, regime, true);
    if (!plateau.settled || bin.ect === null || !bin.fresh || !bin.running || bin.unsure) continue;
    const x = Math.max(-4, bin.ect - plateau.referenceC! - regime.allowC);
    for (const t of sums) {
      t.sum += Math.exp(t.lambda * x - (t.lambda * LEVEL.sigma) ** 2 / 2);
      t.n++;
    }
  }
  return sums;
}
