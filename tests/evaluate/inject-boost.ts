/** Puts boost faults and pressure-sensor glitches into healthy drives: what the sensor would have shown, to 1 kPa. */
import { seededRandom } from '../../src/core/random.ts';
import type { Sample } from '../../src/core/signals.ts';

/** Latest value of a signal at each time, as a function. */
function lookUp(samples: readonly Sample[], signal: string): (tUs: number) => number {
  const t: number[] = [];
  const v: number[] = [];
  for (const s of samples)
    if (s.signal === signal) {
      t.push(s.tUs);
      v.push(s.value);
    }
  return (tUs) => {
    let lo = 0;
    let hi = t.length;
    while (lo < hi) {
      const m = (lo + hi) >> 1;
      if (t[m]! < tUs) lo = m + 1;
      else hi = m;
    }
    const t1 = t[lo];
    if (t1 === undefined || lo === 0) return v[Math.min(lo, v.length - 1)] ?? Number.NaN;
    const t0 = t[lo - 1]!;
    return v[lo - 1]! + ((v[lo]! - v[lo - 1]!) * (tUs - t0)) / Math.max(1, t1 - t0);
  };
}

/** Ambient pressure of a diesel drive: MAP while the engine stands, else idle MAP less 4 kPa. */
export function ambientKpa(samples: readonly Sample[]): number {
  const rpm = lookUp(samples, 'rpm');
  const speed = lookUp(samples, 'speed_kmh');
  const standing: number[] = [];
  const idle: number[] = [];
  for (const s of samples)
    if (s.signal === 'map_kpa') {
      const r = rpm(s.tUs);
      if (r < 1 && s.value > 85) standing.push(s.value);
      else if (r > 600 && r < 950 && speed(s.tUs) < 1) idle.push(s.value - 4);
    }
  const list = (standing.length > 0 ? standing : idle).sort((a, b) => a - b);
  return list[list.length >> 1] ?? 98;
}

export type Where = 'everywhere' | 'pulls' | 'below 2000' | 'above 2000' | 'above 2500';
/** A weak charger moves less air; air lost after the meter is still measured; a sensor that lies changes nothing else. */
export type Cause = 'charger' | 'leak' | 'sensor';

/** Scales gauge pressure; `everywhere` means wherever there is boost, `pulls` only at high demand. */
export function scaleBoost(
  samples: readonly Sample[],
  factor: number,
  where: Where,
  cause: Cause = 'charger',
): Sample[] {
  const baro = ambientKpa(samples);
  const rpm = lookUp(samples, 'rpm');
  const pedal = lookUp(samples, 'pedal_d_pct');
  const map = lookUp(samples, 'map_kpa');
  const hit = (tUs: number): boolean =>
    where === 'everywhere' ||
    (where === 'pulls' && pedal(tUs) >= 45) ||
    (where === 'below 2000' && rpm(tUs) < 2000) ||
    (where === 'above 2000' && rpm(tUs) >= 2000) ||
    (where === 'above 2500' && rpm(tUs) >= 2500);
  const less = (kpa: number): number => baro + factor * (kpa - baro);
  return samples.map((s) => {
    if (s.signal === 'map_kpa' && s.value > baro && hit(s.tUs))
      return { ...s, value: Math.round(less(s.value)) };
    // The engine swallows air by the pressure in its manifold.
    if (s.signal !== 'maf_gps' || cause !== 'charger' || !hit(s.tUs)) return s;
    const at = map(s.tUs);
    return at <= baro ? s : { ...s, value: Math.round((100 * s.value * less(at)) / at) / 100 };
  });
}

/** Each pull (pedal above 45 %, pauses under 3 s bridged) fails with probability `p`; when. */
export function intermittent(
  samples: readonly Sample[],
  factor: number,
  p: number,
  seed: string,
): { samples: Sample[]; failedAtS: number[] } {
  const baro = ambientKpa(samples);
  const random = seededRandom(seed);
  let lastHighUs = Number.NEGATIVE_INFINITY;
  let failing = false;
  const failedAtS: number[] = [];
  const out = samples.map((s) => {
    if (s.signal === 'pedal_d_pct' && s.value >= 45) {
      if (s.tUs - lastHighUs > 3e6) {
        failing = random.next() < p;
        if (failing) failedAtS.push(s.tUs / 1e6);
      }
      lastHighUs = s.tUs;
    }
    if (s.signal !== 'map_kpa' || !failing || s.tUs - lastHighUs > 3e6 || s.value <= baro) return s;
    return { ...s, value: Math.round(baro + factor * (s.value - baro)) };
  });
  return { samples: out, failedAtS };
}

/** When the pedal came to high demand after light demand, µs. */
function tipsOf(samples: readonly Sample[]): number[] {
  let light = false;
  return samples.flatMap((s) => {
    if (s.signal !== 'pedal_d_pct') return [];
    const tip = light && s.value >= 50;
    light = s.value < 40 || (light && !tip);
    return tip ? [s.tUs] : [];
  });
}

/**
 * MAP stuck for `forS` at the value it had, starting at each of `count` moments; half of them at high demand, or all
 * within three seconds before a pull.
 */
export function stuckMap(
  samples: readonly Sample[],
  count: number,
  forS: number,
  seed: string,
  beforePulls = false,
): Sample[] {
  const random = seededRandom(seed);
  const high = samples.filter((s) => s.signal === 'pedal_d_pct' && s.value >= 60).map((s) => s.tUs);
  const tips = beforePulls ? tipsOf(samples) : high;
  const endUs = samples.at(-1)?.tUs ?? 0;
  const starts = Array.from({ length: count }, (_, i) =>
    (beforePulls || i % 2 === 0) && tips.length > 0
      ? tips[Math.floor(random.next() * tips.length)]! -
        random.between(beforePulls ? 0 : -1e6, beforePulls ? 3e6 : 4e6)
      : random.next() * endUs,
  );
  let held: number | null = null;
  return samples.map((s) => {
    if (s.signal !== 'map_kpa') return s;
    if (!starts.some((t) => s.tUs >= t && s.tUs < t + forS * 1e6)) {
      held = null;
      return s;
    }
    held ??= s.value;
    return { ...s, value: held };
  });
}

/** Single samples of MAP, air mass, speeds and pedal replaced by nonsense with probability `p` each. */
export function spikes(samples: readonly Sample[], p: number, seed: string): Sample[] {
  const random = seededRandom(seed);
  return samples.map((s) => {
    if (!['map_kpa', 'rpm', 'pedal_d_pct', 'speed_kmh', 'maf_gps'].includes(s.signal) || random.next() > p)
      return s;
    const nonsense: Record<string, number[]> = {
      map_kpa: [0, 255, s.value - 60, s.value + 60, 96],
      rpm: [0, 16383, s.value / 2],
      pedal_d_pct: [0, 100, 14, 80],
      speed_kmh: [0, 255],
      maf_gps: [0, 655.35, s.value * 1.5, s.value + 40],
    };
    const list = nonsense[s.signal]!;
    return { ...s, value: Math.max(0, list[Math.floor(random.next() * list.length)]!) };
  });
}

/** Holes of 2 to 30 s in one signal or in all. */
export function dropOuts(samples: readonly Sample[], count: number, seed: string): Sample[] {
  const random = seededRandom(seed);
  const endUs = samples.at(-1)?.tUs ?? 0;
  const holes = Array.from({ length: count }, () => {
    const fromUs = random.next() * endUs;
    const names = ['map_kpa', 'rpm', 'pedal_d_pct', 'speed_kmh', null];
    return { fromUs, toUs: fromUs + random.between(2e6, 30e6), signal: names[Math.floor(random.next() * 5)] };
  });
  return samples.filter(
    (s) =>
      !holes.some((h) => s.tUs >= h.fromUs && s.tUs < h.toUs && (h.signal === null || h.signal === s.signal)),
  );
}

/** The clock leaps forward by 5 to 600 s at some moments. */
export function timeJumps(samples: readonly Sample[], count: number, seed: string): Sample[] {
  const random = seededRandom(seed);
  const at = new Set(Array.from({ length: count }, () => Math.floor(random.next() * samples.length)));
  let shiftUs = 0;
  return samples.map((s, i) => {
    if (at.has(i)) shiftUs += Math.round(random.between(5e6, 600e6));
    return { ...s, tUs: s.tUs + shiftUs, sentUs: s.sentUs + shiftUs };
  });
}

/** Any of the signals stands still for 3 to 40 s at some moments, half of them about a pull. */
export function stuckAny(samples: readonly Sample[], count: number, seed: string): Sample[] {
  const random = seededRandom(seed);
  const names = ['map_kpa', 'rpm', 'pedal_d_pct', 'speed_kmh', 'maf_gps', 'ect_c', 'iat_c'];
  const tips = tipsOf(samples);
  const endUs = samples.at(-1)?.tUs ?? 0;
  const events = Array.from({ length: count }, (_, i) => {
    const tip = i % 2 === 0 ? tips[Math.floor(random.next() * tips.length)] : undefined;
    const fromUs = tip === undefined ? random.next() * endUs : tip - random.between(-3e6, 4e6);
    return {
      fromUs,
      toUs: fromUs + random.between(3e6, 40e6),
      signal: names[Math.floor(random.next() * names.length)]!,
    };
  });
  const held = new Map<string, number>();
  return samples.map((s) => {
    if (!events.some((e) => e.signal === s.signal && s.tUs >= e.fromUs && s.tUs < e.toUs)) {
      held.delete(s.signal);
      return s;
    }
    if (!held.has(s.signal)) held.set(s.signal, s.value);
    return { ...s, value: held.get(s.signal)! };
  });
}
