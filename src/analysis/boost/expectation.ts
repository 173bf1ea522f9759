/** What boost to expect at an operating point: commanded, else the profile's curve, else learned, else the least any healthy engine gives. */
import type { Profile } from '../../run/profile.ts';
import type { Baro } from './barometer.ts';
import { type BoostBaseline, lookUp } from './lesson.ts';
import { type Noise, noiseAt } from './noise.ts';
import { regionsOf } from './regions.ts';
import type { StretchPoint } from './stretches.ts';

export interface Expected {
  /** Gauge, kPa. */
  readonly kpa: number;
  /** Scatter of a healthy car about it, as a share of it. */
  readonly noise: Noise;
  /** Standard uncertainty of the expectation itself, as a share of it. */
  readonly sd: number;
  readonly source: 'commanded boost' | 'profile' | 'baseline run';
  /** Where a shortfall begins to be a fault, as a share of the expected. */
  readonly limit: number;
}

/** Tolerances on the expected boost: the car's own baseline repeats best; a curve or a command is met less closely. */
const LIMIT = { baseline: 0.06, other: 0.12 } as const;

/** Below this a share of the expected boost means nothing. */
const LEAST_EXPECTED_KPA = 15;

export function expectedAt(
  p: StretchPoint,
  profile: Profile,
  baseline: BoostBaseline | null,
  baro: Baro,
): Expected | null {
  const demand = p.lagged;
  if (p.cmd !== null && demand >= 70 && p.cmd - baro.kpa >= LEAST_EXPECTED_KPA) {
    const kpa = p.cmd - baro.kpa;
    return { kpa, noise: OTHER_NOISE, sd: baro.sdKpa / kpa, source: 'commanded boost', limit: LIMIT.other };
  }
  const curve = profile.expectedBoost;
  if (curve && demand >= 85) {
    const kpa = onCurve(curve.points, p.rpm);
    if (kpa !== null && kpa >= LEAST_EXPECTED_KPA)
      return { kpa, noise: OTHER_NOISE, sd: 0.02 + baro.sdKpa / kpa, source: 'profile', limit: LIMIT.other };
  }
  if (baseline === null) return null;
  const learned = lookUp(baseline, p.rpm, demand);
  if (learned === null) return null;
  const kpa = baseline.reference === 'absolute' ? learned.kpa - baro.kpa : learned.kpa;
  if (kpa < LEAST_EXPECTED_KPA) return null;
  const base = noiseAt(p.rpm, demand);
  const k = baseline.noiseScale;
  const noise = { run: base.run * k, pull: base.pull * k, point: base.point * k };
  // Another day's air: half the difference in barometric pressure may or may not be made up by the control.
  const day = (0.5 * Math.abs(baro.kpa - baseline.baroKpa)) / kpa;
  const own = baseline.reference === 'absolute' ? 0.25 * (baro.sdKpa / kpa) : baro.sdKpa / kpa;
  const sd = Math.hypot(noise.run / Math.sqrt(learned.runs), Math.max(0, day - 0.01), own);
  return { kpa, noise, sd, source: 'baseline run', limit: LIMIT.baseline };
}

const OTHER_NOISE: Noise = { run: 0.02, pull: 0.03, point: 0.03 };

function onCurve(points: readonly { rpm: number; kpa: number }[], rpm: number): number | null {
  const sorted = [...points].sort((a, b) => a.rpm - b.rpm);
  for (let i = 1; i < sorted.length; i++) {
    const a = sorted[i - 1]!;
    const b = sorted[i]!;
    if (rpm >= a.rpm && rpm <= b.rpm && b.rpm > a.rpm)
      return a.kpa + ((rpm - a.rpm) / (b.rpm - a.rpm)) * (b.kpa - a.kpa);
  }
  return null;
}

/**
 * The least boost of any healthy engine of this kind at this point, gauge kPa; null where it may be nothing.
 * Common practice, no source; KIT's diesel gives three times as much.
 */
export function leastHealthyKpa(p: StretchPoint, profile: Profile): number | null {
  if (p.lagged < 70) return null;
  const region = regionsOf(profile).find((r) => p.rpm >= r.fromRpm && p.rpm < r.toRpm);
  if (!region) return null;
  switch (profile.induction) {
    case 'twin-charged':
      if (region.key === 'low') return p.rpm >= 1000 ? 20 : null;
      return region.key === 'high' ? 30 : null;
    case 'supercharger':
      return p.rpm >= 1500 ? 15 : null;
    case 'turbocharger':
      if (profile.fuel === 'diesel') return p.rpm >= 1750 ? 40 : null;
      return p.rpm >= 2250 ? 20 : null;
    default:
      return null;
  }
}
