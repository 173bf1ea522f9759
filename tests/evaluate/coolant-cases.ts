/** Coolant faults and glitches put into open drives, one judged drive per call: what `npm run evaluate` counts. */

import { type CoolantBaseline, learnCoolant, mergeCoolant } from '../../src/analysis/coolant/baseline.ts';
import { BinMaker } from '../../src/analysis/coolant/bins.ts';
import { LEVEL } from '../../src/analysis/coolant/climb.ts';
import { CoolantDetector } from '../../src/analysis/coolant/detector.ts';
import { Envelope } from '../../src/analysis/coolant/envelope.ts';
import { Plateau } from '../../src/analysis/coolant/plateau.ts';
import { Plausibility } from '../../src/analysis/plausibility.ts';
import type { CleanSample, Finding } from '../../src/analysis/types.ts';
import type { Profile } from '../../src/core/profile.ts';
import { type Random, seededRandom } from '../../src/core/random.ts';
import type { Sample } from '../../src/core/signals.ts';
import { english } from '../../src/words/spelled.ts';
import { REPORT, readDrive, TUNE } from './coolant-drives.ts';
import * as inject from './inject-coolant.ts';

export const halfOf = (half: 'tune' | 'report'): readonly string[] => (half === 'tune' ? TUNE : REPORT);

export function profileOf(name: string): Profile {
  return name.startsWith('trip')
    ? { induction: 'turbocharger', fuel: 'diesel' }
    : { induction: 'naturally aspirated', fuel: 'petrol' };
}

/** What the coolant detector reads, and what the plausibility front needs for it. */
const READ = new Set([
  ...['ect_c', 'speed_kmh', 'rpm', 'ambient_c', 'pedal_d_pct', 'maf_gps', 'map_kpa', 'load_pct'],
  'throttle_pct',
]);

const drives = new Map<string, Sample[]>();
function driveOf(name: string): Sample[] {
  let drive = drives.get(name);
  if (!drive) {
    drive = readDrive(name).filter((s) => READ.has(s.signal));
    drives.set(name, drive);
  }
  return drive;
}

function* clean(samples: Iterable<Sample>): Generator<CleanSample> {
  const front = new Plausibility();
  for (const s of samples) yield* front.push(s);
  yield* front.finish();
}

const baselines = new Map<string, CoolantBaseline>();
/** The other drives of the same car in the tune half. */
function baselineFor(name: string): CoolantBaseline {
  const others = TUNE.filter((n) => n !== name && n.startsWith(name.slice(0, 4)));
  const key = others.join();
  let merged = baselines.get(key);
  if (!merged) {
    merged = mergeCoolant(others.map((n) => learnCoolant(clean(driveOf(n)), profileOf(n))));
    baselines.set(key, merged);
  }
  return merged;
}

export interface CoolantOutcome {
  readonly name: string;
  readonly hours: number;
  readonly settledFromS: number | null;
  /** Sum over the system as the judge makes it. */
  readonly verdict: 'fault' | 'good' | 'not shown';
  readonly faults: readonly { readonly id: string; readonly saidAtS: number; readonly pointsTo: string }[];
  /** Most evidence for a climb at any time, as a share of what an alarm needs. */
  readonly nearest: number;
  readonly needs: string;
}

function judged(name: string, samples: readonly Sample[], withBaseline: boolean): CoolantOutcome {
  const baseline = withBaseline ? baselineFor(name) : null;
  const detector = new CoolantDetector({ profile: profileOf(name), baseline });
  let settledFromS: number | null = null;
  let nearest = 0;
  let endUs = 0;
  for (const s of clean(samples)) {
    detector.step(s);
    endUs = s.tUs;
    settledFromS ??= detector.settledFromS;
    if (s.signal === 'ect_c') nearest = Math.max(nearest, detector.suspicion);
  }
  const findings = detector.finish(endUs);
  const faults = findings.filter((f) => f.verdict === 'fault shown');
  const good = findings.every((f: Finding) => f.verdict === 'shown good' || f.aside === true);
  return {
    name,
    hours: endUs / 3.6e9,
    settledFromS,
    verdict: faults.length > 0 ? 'fault' : good ? 'good' : 'not shown',
    faults: faults.map((f) => ({
      id: f.id,
      saidAtS: f.saidAtS ?? 0,
      pointsTo: english.tell(f.pointsTo ?? ''),
    })),
    nearest,
    needs: findings.map((f) => english.tell(f.needs ?? '')).join(' '),
  };
}

const healthyDrives = new Map<string, CoolantOutcome>();
export function healthy(name: string, withBaseline: boolean): CoolantOutcome {
  const key = `${name}/${withBaseline}`;
  let o = healthyDrives.get(key);
  if (!o) {
    o = judged(name, driveOf(name), withBaseline);
    healthyDrives.set(key, o);
  }
  return o;
}

export const GLITCHES: Readonly<Record<string, (s: readonly Sample[], random: Random) => Sample[]>> = {
  spikes: inject.spikes,
  'end stops': inject.endStops,
  'drop-outs': inject.dropouts,
  'stuck values': inject.stuck,
  'wrong levels': inject.plateausOfNoise,
  'time jumps': inject.timeJumps,
};

export const glitched = (name: string, glitch: string, withBaseline: boolean): CoolantOutcome =>
  judged(name, GLITCHES[glitch]!(driveOf(name), seededRandom(`${glitch}${name}`)), withBaseline);

/** `goalMin`: median minutes from onset (ANALYSIS section 7); null where none is stated. */
export const CLIMBS: Readonly<
  Record<
    string,
    { readonly put: (s: readonly Sample[], onsetS: number) => Sample[]; readonly goalMin: number | null }
  >
> = {
  '+25 °C in 3 min': { put: inject.straight(25, 180), goalMin: 1 },
  '+15 °C in 3 min': { put: inject.straight(15, 180), goalMin: 2 },
  '+25 °C, τ 60 s': { put: inject.climb(25, 60), goalMin: 1 },
  '+15 °C, τ 60 s': { put: inject.climb(15, 60), goalMin: 2 },
  '+40 °C, τ 120 s': { put: inject.climb(40, 120), goalMin: null },
  '+25 °C, τ 120 s': { put: inject.climb(25, 120), goalMin: null },
  '+15 °C, τ 120 s': { put: inject.climb(15, 120), goalMin: null },
  '+25 °C at once': { put: inject.climb(25, 0.1), goalMin: null },
  'ramp 2 °C/min': { put: inject.ramp(2), goalMin: 3 },
  'ramp 1 °C/min': { put: inject.ramp(1), goalMin: 5 },
  'ramp 0.5 °C/min': { put: inject.ramp(0.5), goalMin: 10 },
};

export interface ClimbOutcome extends CoolantOutcome {
  readonly onsetS: number;
  /** Minutes from onset to the first word; null when nothing was said, negative before the onset. */
  readonly delayMin: number | null;
}

/** Null when the drive leaves too little time after it settled. */
export function climbed(
  name: string,
  label: string,
  attempt: number,
  withBaseline: boolean,
): ClimbOutcome | null {
  const h = healthy(name, withBaseline);
  const leftS = label === 'ramp 0.5 °C/min' ? 1200 : 720;
  const endS = h.hours * 3600;
  if (h.settledFromS === null || endS - leftS < h.settledFromS) return null;
  const onsetS = seededRandom(`${label}${name}${attempt}`).between(h.settledFromS, endS - leftS);
  const o = judged(name, CLIMBS[label]!.put(driveOf(name), onsetS), withBaseline);
  const said = o.faults.find((f) => f.id === 'coolant.climb');
  return { ...o, onsetS, delayMin: said === undefined ? null : (said.saidAtS - onsetS) / 60 };
}

export const COLD: Readonly<Record<string, (s: readonly Sample[]) => Sample[]>> = {
  '66 °C, sags 4 °C per 10 km/h': inject.stuckOpen(66, 4),
  '72 °C, sags 2 °C per 10 km/h': inject.stuckOpen(72, 2),
  '76 °C, flat': inject.stuckOpen(76, 0),
  '80 °C, sags 3 °C per 10 km/h': inject.stuckOpen(80, 3),
  'warm-up scaled to 70 °C': inject.scaledCold(70, 89),
  'warm-up scaled to 76 °C': inject.scaledCold(76, 89),
};

/** Null when the drive is shorter than a quarter of an hour. */
export function cold(name: string, label: string, withBaseline: boolean): CoolantOutcome | null {
  const o = judged(name, COLD[label]!(driveOf(name)), withBaseline);
  return o.hours < 0.25 ? null : o;
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
