/** The full-demand boost curve that baseline drives taught, as a person can read, correct and save it. */
import { type BoostBaseline, lookUp } from './lesson.ts';

/** Points of the curve, rpm. Chosen by hand, not measured. */
const CURVE_RPM = 250;
const FROM_RPM = 1000;
const TO_RPM = 6750;
/**
 * Tried in this order: full demand first; what was driven with less pedal than the last is no full-demand boost.
 * Chosen by hand, not measured.
 */
const DEMANDS_PCT = [100, 95, 90, 85] as const;

/** Gauge kPa over engine speed, only where it was driven; may be empty. */
export function fullDemandCurve(baseline: BoostBaseline): { rpm: number; kpa: number }[] {
  const offset = baseline.reference === 'absolute' ? baseline.baroKpa : 0;
  const points: { rpm: number; kpa: number }[] = [];
  for (let rpm = FROM_RPM; rpm <= TO_RPM; rpm += CURVE_RPM)
    for (const demand of DEMANDS_PCT) {
      const at = lookUp(baseline, rpm, demand);
      if (!at) continue;
      points.push({ rpm, kpa: Math.round((at.kpa - offset) * 10) / 10 });
      break;
    }
  return points;
}
