/** Puts faults into a healthy drive's coolant reading. All are invented: nobody broke these cars. */
import { BinMaker } from '../../src/analysis/coolant/bins.ts';
import type { Random } from '../../src/core/random.ts';
import type { Sample } from '../../src/core/signals.ts';

/** Rewrites the coolant reading; `tS` run seconds. Readings stay whole degrees. */
function rewrite(samples: readonly Sample[], change: (tS: number, ect: number) => number | null): Sample[] {
  const out: Sample[] = [];
  for (const s of samples) {
    if (s.signal !== 'ect_c') {
      out.push(s);
      continue;
    }
    const value = change(s.tUs / 1e6, s.value);
    if (value !== null) out.push({ ...s, value: Math.min(215, Math.max(-40, Math.round(value))) });
  }
  return out;
}

/** A climb that ends `byC` higher, most of it within two time constants. */
export const climb =
  (byC: number, tauS: number) =>
  (samples: readonly Sample[], onsetS: number): Sample[] =>
    rewrite(samples, (t, v) => (t < onsetS ? v : v + byC * (1 - Math.exp(-(t - onsetS) / tauS))));

/** A straight climb over `overS` seconds. */
export const straight =
  (byC: number, overS: number) =>
  (samples: readonly Sample[], onsetS: number): Sample[] =>
    rewrite(samples, (t, v) => (t < onsetS ? v : v + byC * Math.min(1, (t - onsetS) / overS)));

export const ramp =
  (perMin: number) =>
  (samples: readonly Sample[], onsetS: number): Sample[] =>
    rewrite(samples, (t, v) => (t < onsetS ? v : v + Math.min(45, ((t - onsetS) / 60) * perMin)));

/**
 * A thermostat that stays open from the start: the coolant follows what heat and air flow balance to, at most
 * `levelC` in town, `sagC` less for each 10 km/h beyond 30.
 */
export const stuckOpen =
  (levelC: number, sagC: number) =>
  (samples: readonly Sample[]): Sample[] => {
    let v = 0;
    let level = levelC;
    let last = 0;
    const changed: Sample[] = [];
    for (const s of samples) {
      const tS = s.tUs / 1e6;
      if (s.signal === 'speed_kmh') {
        const w = 1 - Math.exp(-Math.min(60, tS - last) / 90);
        v += (s.value - v) * w;
        last = tS;
        level = levelC - (sagC * Math.max(0, v - 30)) / 10;
      }
      changed.push(s.signal === 'ect_c' ? { ...s, value: Math.round(softMin(s.value, level)) } : s);
    }
    return changed;
  };

/** The whole warm-up scaled so that it ends at `levelC` instead of `plateauC`. */
export const scaledCold =
  (levelC: number, plateauC: number) =>
  (samples: readonly Sample[]): Sample[] => {
    const start = Math.min(20, samples.find((s) => s.signal === 'ect_c')?.value ?? 20);
    const k = (levelC - start) / (plateauC - start);
    return rewrite(samples, (_, v) => start + (v - start) * k);
  };

/**
 * Twice the heat for every degree: each reading is the one at which half of the heat since the start had been put in,
 * never above the true one. Heat as the judging counts it (none on overrun); where nothing tells of it, the time.
 */
export const doubledHeat = (samples: readonly Sample[]): Sample[] => {
  const maker = new BinMaker();
  const steps: { readonly tS: number; readonly heat: number }[] = [];
  for (const s of samples) {
    const bin = maker.push({ ...s, flag: null });
    if (bin) steps.push({ tS: bin.tS, heat: (steps.at(-1)?.heat ?? 0) + (bin.heat ?? 0) });
  }
  const told = (steps.at(-1)?.heat ?? 0) > 0;
  const readings = samples.filter((s) => s.signal === 'ect_c');
  const firstS = (readings[0]?.tUs ?? 0) / 1e6;
  const heatAt = (tS: number, from: number): number => {
    let k = from;
    while (k + 1 < steps.length && steps[k]!.tS < tS) k++;
    return k;
  };
  let at = 0;
  let back = 0;
  let k = 0;
  return rewrite(samples, (tS, v) => {
    at = heatAt(tS, at);
    const half = (steps[at]?.heat ?? 0) / 2;
    while (back + 1 < steps.length && steps[back + 1]!.heat <= half) back++;
    const untilS = told ? (steps[back]?.tS ?? tS) : firstS + (tS - firstS) / 2;
    while (k + 1 < readings.length && readings[k + 1]!.tUs / 1e6 <= untilS) k++;
    return Math.min(v, readings[k]?.value ?? v);
  });
};

function softMin(a: number, b: number): number {
  const w = 3;
  return -w * Math.log(Math.exp(-a / w) + Math.exp(-b / w));
}

// Glitches of the sensor or the link: nothing is wrong with the cooling.

export const spikes = (samples: readonly Sample[], random: Random): Sample[] =>
  rewrite(samples, (_, v) =>
    random.next() < 0.01 ? v + (random.next() < 0.5 ? -1 : 1) * random.between(8, 60) : v,
  );

export const endStops = (samples: readonly Sample[], random: Random): Sample[] =>
  rewrite(samples, (_, v) => (random.next() < 0.01 ? (random.next() < 0.5 ? -40 : 215) : v));

export const dropouts = (samples: readonly Sample[], random: Random): Sample[] => {
  let until = -1;
  return samples.filter((s) => {
    const tS = s.tUs / 1e6;
    if (tS > until && random.next() < 0.0005) until = tS + random.between(2, 90);
    return tS > until;
  });
};

export const stuck = (samples: readonly Sample[], random: Random): Sample[] => {
  let until = -1;
  let held = 0;
  return rewrite(samples, (t, v) => {
    if (t > until && random.next() < 0.002) {
      until = t + random.between(20, 240);
      held = v;
    }
    return t <= until ? held : v;
  });
};

/** A level that is wrong for seconds to a minute and comes back, as a bad contact gives. */
export const plateausOfNoise = (samples: readonly Sample[], random: Random): Sample[] => {
  let until = -1;
  let by = 0;
  return rewrite(samples, (t, v) => {
    if (t > until && random.next() < 0.001) {
      until = t + random.between(3, 60);
      by = (random.next() < 0.5 ? -1 : 1) * random.between(10, 40);
    }
    return t <= until ? v + by : v;
  });
};

export const timeJumps = (samples: readonly Sample[], random: Random): Sample[] => {
  let shift = 0;
  return samples
    .map((s) => {
      if (random.next() < 0.0002) shift += random.between(-20, 120) * 1e6;
      const tUs = Math.max(0, Math.round(s.tUs + shift));
      return { ...s, tUs, sentUs: tUs };
    })
    .sort((a, b) => a.tUs - b.tUs);
};
