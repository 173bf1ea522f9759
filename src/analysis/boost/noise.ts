/** How well settled boost repeats on a healthy car, as a share of the boost, by demand: between runs, pulls, samples. */

export interface Noise {
  readonly run: number;
  readonly pull: number;
  readonly point: number;
}

const EDGES = [50, 60, 70, 85] as const;

/**
 * Standard deviations. KIT, leave-one-trip-out over the tuning half, rounded up; demand of the index is
 * below 50, 50 to 60, 60 to 70, 70 to 85, from 85 (% of pedal travel, lagged).
 */
export const NOISE: readonly Noise[] = [
  { run: 0.06, pull: 0.12, point: 0.16 },
  { run: 0.04, pull: 0.08, point: 0.12 },
  { run: 0.025, pull: 0.045, point: 0.07 },
  { run: 0.015, pull: 0.025, point: 0.035 },
  { run: 0.01, pull: 0.015, point: 0.02 },
];

export function bandOf(demand: number): number {
  let i = 0;
  while (i < EDGES.length && demand >= EDGES[i]!) i++;
  return i;
}
