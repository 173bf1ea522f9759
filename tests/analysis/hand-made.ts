/** Drives made by hand for the boost detector: every number is in the test that asks for it, no simulated engine. */
import { seededRandom } from '../../src/core/random.ts';
import type { Sample } from '../../src/core/signals.ts';

export interface HandMadePull {
  readonly fromRpm: number;
  readonly toRpm: number;
  readonly s: number;
  /** 0 at rest to 100 at the floor. */
  readonly demandPct?: number;
  /** Gauge pressure that the chargers give `t` s after the tip-in, kPa. */
  readonly boost: (t: number, rpm: number) => number;
  /** What a mean driver hides between two samples: replaces pressure, engine speed and demand at `t`. */
  readonly disturb?: (t: number, signal: string, value: number) => number;
}

export interface HandMadeDrive {
  readonly pulls: readonly HandMadePull[];
  readonly hz?: number;
  readonly baroKpa?: number;
  /** Left out to make a car without a barometric sensor. */
  readonly baroSensor?: boolean;
  /** Key on, engine stopped, at the start, s. */
  readonly keyOnS?: number;
  readonly ectC?: number;
  /** Gauge pressure of the manifold and of the charge pipe at light demand, kPa. */
  readonly lightKpa?: number;
  readonly chargePipeKpa?: number;
  /** Air mass for engine speed and absolute pressure, g/s. */
  readonly air?: (rpm: number, mapKpa: number) => number;
  readonly commanded?: (rpm: number) => number;
  readonly seed?: number;
}

const RPM_PER_KMH = 38;
const REST = 15;
const FLOOR = 80;
const raw = (demandPct: number): number => REST + (demandPct / 100) * (FLOOR - REST);

/** Key on, start, idle, then light driving and the pulls by turns; every signal a little apart in time. */
export function handMade(d: HandMadeDrive): Sample[] {
  const { hz = 5, baroKpa = 100, keyOnS = 6, ectC = 88, lightKpa = -45, baroSensor = true } = d;
  const random = seededRandom(`hand/${d.seed ?? 1}`);
  const out: Sample[] = [];
  let t = 0;
  const say = (signal: string, value: number, shift: number): void => {
    const tUs = Math.round((t + shift) * 1e6);
    out.push({ signal, tUs, sentUs: tUs, value });
  };
  const moment = (
    rpm: number,
    demandPct: number,
    gauge: number,
    disturb: (signal: string, value: number) => number = (_, v) => v,
  ): void => {
    const step = 0.12 / hz;
    const map = Math.round(baroKpa + gauge + (rpm === 0 ? 0 : random.normal() * 0.7));
    say('pedal_d_pct', disturb('pedal_d_pct', Math.round(raw(demandPct) * 2.55) / 2.55), 0);
    say('rpm', disturb('rpm', rpm), step);
    say('speed_kmh', disturb('speed_kmh', rpm > 1000 ? Math.round(rpm / RPM_PER_KMH) : 0), 2 * step);
    say('map_kpa', disturb('map_kpa', map), 3 * step);
    if (d.air) say('maf_gps', d.air(rpm, baroKpa + gauge) * (1 + 0.003 * random.normal()), 4 * step);
    if (d.commanded) say('boost_cmd_kpa', baroKpa + (demandPct > 40 ? d.commanded(rpm) : 0), 5 * step);
    if (d.chargePipeKpa !== undefined)
      say('boost_act_kpa', baroKpa + (rpm === 0 ? 0 : Math.max(d.chargePipeKpa, gauge)), 6 * step);
    if (Math.floor(t) !== Math.floor(t - 1 / hz)) {
      say('ect_c', ectC, 7 * step);
      say('ambient_c', 20, 7.2 * step);
      if (baroSensor) say('baro_kpa', baroKpa, 7.5 * step);
    }
    t += 1 / hz;
  };
  const lasting = (s: number, f: (t: number) => void): void => {
    const fromS = t;
    while (t - fromS < s) f(t - fromS);
  };
  lasting(keyOnS, () => moment(0, 0, 0));
  lasting(8, () => moment(800, 0, lightKpa));
  for (const p of d.pulls) {
    lasting(12, () => moment(p.fromRpm, 14, lightKpa));
    lasting(p.s, (at) => {
      const rpm = p.fromRpm + ((p.toRpm - p.fromRpm) * at) / p.s;
      const disturb = p.disturb;
      moment(
        rpm,
        p.demandPct ?? 95,
        p.boost(at, rpm),
        disturb ? (signal, value) => disturb(at, signal, value) : undefined,
      );
    });
    lasting(8, () => moment(p.toRpm * 0.8, 10, lightKpa));
  }
  lasting(5, () => moment(800, 0, lightKpa));
  return out;
}

/** From the pressure at light demand to steady boost with a lag, kPa gauge. */
export const rise =
  (kpa: number, lagS: number, fromKpa = 8) =>
  (t: number): number =>
    kpa + (fromKpa - kpa) * Math.exp(-t / lagS);
