/** Which PIDs to ask and how often, from the signals wanted and what the control unit supports. */
import { PIDS } from '../j1979/pids.ts';
import { pidsFor } from '../j1979/samples.ts';

/** Seconds between two values. Many a link carries the fast ones more often, and nothing is judged better for it: docs/analysis.md, *How often*. */
const FAST_S = 0.07;
const MEDIUM_S = 0.5;

/** Demand: only the best of these that the vehicle offers is asked fast, the others tell nothing sooner. */
const DEMAND = ['pedal_d_pct', 'pedal_e_pct', 'rel_throttle_pct', 'throttle_pct'] as const;

const INTERVAL_S: Readonly<Record<string, number>> = {
  map_kpa: FAST_S,
  rpm: FAST_S,
  speed_kmh: FAST_S,
  boost_act_kpa: FAST_S,
  load_pct: MEDIUM_S,
  iat_c: 1,
  maf_gps: MEDIUM_S,
  timing_deg: MEDIUM_S,
  boost_cmd_kpa: MEDIUM_S,
  torque_pct: MEDIUM_S,
  ect_c: 1,
  comp_inlet_kpa: 1,
  abs_load_pct: 1,
  lambda_cmd: 1,
  stft1_pct: 1,
  pedal_d_pct: 1,
  pedal_e_pct: 1,
  rel_throttle_pct: 1,
  throttle_pct: 1,
  cmd_throttle_pct: 1,
  voltage_v: 2,
  ltft1_pct: 5,
  oil_c: 5,
  ambient_c: 5,
  baro_kpa: 5,
  run_time_s: 5,
  torque_ref_nm: 30,
};
const OTHER_S = 2;

/** What the road test of ANALYSIS.md, section 1, can use. */
export const DEFAULT_SIGNALS: readonly string[] = Object.keys(INTERVAL_S);

/** These PIDs tell the scale of others; asked now and then so that each capture holds them. */
const SCALES: Readonly<Record<number, readonly number[]>> = { 79: [0x0b, 0x24, 0x34, 0x44], 80: [0x10] };
const SCALE_S = 30;

export interface PlannedPid {
  readonly pid: number;
  /** What is wanted, and on a slow link its weight. */
  readonly intervalUs: number;
  /** From one request for it to the next, at least. */
  readonly restUs: number;
  /** The wanted signals that it carries. */
  readonly signals: readonly string[];
}

export interface Plan {
  readonly pids: readonly PlannedPid[];
  readonly signals: readonly string[];
  /** Wanted, and not offered by the control unit. */
  readonly missing: readonly string[];
}

/** PIDs of one request on CAN (SAE J1979, from memory). */
const ONE_REQUEST = 6;

/**
 * Deterministic; each wanted signal by its best PID. A choice that fits one request has room for its medium signals
 * in every one.
 * @param fastRestUs `restUs` of the fast ones; 0 = as fast as the link goes
 */
export function planPids(
  wanted: readonly string[],
  supported: readonly number[],
  fastRestUs = 1e6 * FAST_S,
): Plan {
  const byPid = new Map<number, { seconds: number; signals: string[] }>();
  const missing: string[] = [];
  const offered = wanted.filter((s) => pidsFor(s, supported).length > 0);
  const few = new Set(offered.map((s) => pidsFor(s, supported)[0])).size <= ONE_REQUEST;
  const demand = DEMAND.find((s) => offered.includes(s));
  for (const signal of wanted) {
    const [pid] = pidsFor(signal, supported);
    if (pid === undefined) {
      missing.push(signal);
      continue;
    }
    const usual = INTERVAL_S[signal] ?? OTHER_S;
    const seconds = signal === demand || (few && usual <= MEDIUM_S) ? FAST_S : usual;
    const known = byPid.get(pid);
    if (known) {
      known.seconds = Math.min(known.seconds, seconds);
      known.signals.push(signal);
    } else byPid.set(pid, { seconds, signals: [signal] });
  }
  for (const [scale, scaled] of Object.entries(SCALES)) {
    const pid = Number(scale);
    if (supported.includes(pid) && !byPid.has(pid) && scaled.some((p) => byPid.has(p)) && PIDS[pid])
      byPid.set(pid, { seconds: SCALE_S, signals: [] });
  }
  const pids = [...byPid].map(([pid, { seconds, signals }]) => ({
    pid,
    intervalUs: Math.round(seconds * 1e6),
    restUs: Math.round(seconds <= FAST_S ? fastRestUs : seconds * 1e6),
    signals,
  }));
  return { pids, signals: offered, missing };
}
