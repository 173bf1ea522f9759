/**
 * A single reading that jumps away from the one before and whose next one is back: between neighbours so close no engine
 * does that. It is what one changed digit looks like where no checksum guards the line.
 */

/**
 * A jump counts from `floor` + `perS` times the longer of the two distances in time. Chosen on half of the open drives
 * (tests/evaluate/spikes.ts), half a second to a second apart: `perS` is the steepest jump and return there, rounded up;
 * `floor` about half of the largest. Distances of a tenth of a second are our own, no open drive has them: the floor is
 * what guards there. Signals that the drives have not: as their like (common practice, no source).
 */
const JUMP: Readonly<Record<string, { readonly floor: number; readonly perS: number }>> = {
  rpm: { floor: 500, perS: 1200 },
  speed_kmh: { floor: 6, perS: 10 },
  map_kpa: { floor: 60, perS: 120 },
  boost_act_kpa: { floor: 60, perS: 120 },
  boost_cmd_kpa: { floor: 60, perS: 120 },
  maf_gps: { floor: 25, perS: 50 },
  pedal_d_pct: { floor: 40, perS: 65 },
  pedal_e_pct: { floor: 40, perS: 65 },
  throttle_pct: { floor: 40, perS: 75 },
  rel_throttle_pct: { floor: 40, perS: 75 },
  cmd_throttle_pct: { floor: 40, perS: 75 },
  iat_c: { floor: 6, perS: 9 },
  ambient_c: { floor: 6, perS: 9 },
  oil_c: { floor: 6, perS: 9 },
  baro_kpa: { floor: 5, perS: 5 },
};
/** Back means: no further from the one before than this share of the jump. Chosen by hand, not measured. */
const BACK = 0.3;
/** Neighbours are no further apart; so long a jump waits for the next reading of its signal. Common practice, no source. */
export const NEIGHBOURS_S = 1.5;

/** Does it jump so far that the next reading has to say whether it is believed? */
export function jumps(signal: string, before: number, value: number, dtS: number): boolean {
  const jump = JUMP[signal];
  return (
    jump !== undefined && dtS <= NEIGHBOURS_S && Math.abs(value - before) >= jump.floor + jump.perS * dtS
  );
}

/** It jumped; is the next reading back? */
export function comesBack(
  signal: string,
  before: number,
  value: number,
  after: number,
  dtS: number,
): boolean {
  const step = Math.min(Math.abs(value - before), Math.abs(value - after));
  return (
    value > before === value > after &&
    jumps(signal, after, value, dtS) &&
    Math.abs(after - before) <= BACK * step
  );
}
