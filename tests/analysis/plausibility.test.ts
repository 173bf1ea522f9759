import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { Plausibility } from '../../src/analysis/plausibility.ts';
import type { CleanSample } from '../../src/analysis/types.ts';
import type { Sample } from '../../src/core/signals.ts';

const at = (tS: number, signal: string, value: number): Sample => {
  const tUs = Math.round(tS * 1e6);
  return { signal, tUs, sentUs: tUs, value };
};

function through(samples: readonly Sample[]): CleanSample[] {
  const front = new Plausibility();
  const out = samples.flatMap((s) => front.push(s));
  return [...out, ...front.finish()];
}

const flags = (samples: readonly Sample[], signal: string) =>
  through(samples)
    .filter((s) => s.signal === signal)
    .map((s) => s.flag);

describe('plausibility', () => {
  it('orders samples of one time by name, whatever order they came in', () => {
    const rows = [at(1, 'rpm', 800), at(1, 'ect_c', 20), at(2, 'speed_kmh', 3), at(2, 'rpm', 900)];
    const swapped = [rows[1]!, rows[0]!, rows[3]!, rows[2]!];
    expect(through(rows)).toEqual(through(swapped));
    expect(through(rows).map((s) => s.signal)).toEqual(['ect_c', 'rpm', 'rpm', 'speed_kmh']);
  });

  it('flags end stops, impossible values and what is no number', () => {
    expect(flags([at(0, 'ect_c', -40), at(1, 'ect_c', 215), at(2, 'ect_c', 20)], 'ect_c')).toEqual([
      'end stop',
      'end stop',
      null,
    ]);
    expect(flags([at(0, 'rpm', 16383), at(1, 'rpm', Number.NaN), at(2, 'rpm', 800)], 'rpm')).toEqual([
      'range',
      'range',
      null,
    ]);
  });

  it('flags a spike and not what follows it', () => {
    const samples = [90, 90, 130, 90, 91].map((v, k) => at(k, 'ect_c', v));
    expect(flags(samples, 'ect_c')).toEqual([null, null, 'rate', null, null]);
  });

  it('believes a new level after ten seconds', () => {
    const samples = Array.from({ length: 30 }, (_, k) => at(k, 'ect_c', k < 5 ? 90 : 40));
    const out = flags(samples, 'ect_c');
    expect(out.slice(5, 15).every((f) => f === 'rate')).toBe(true);
    expect(out.slice(15).every((f) => f === null)).toBe(true);
  });

  it('lets a quick but possible climb through', () => {
    const samples = Array.from({ length: 30 }, (_, k) => at(k, 'ect_c', 60 + 2 * k));
    expect(flags(samples, 'ect_c').every((f) => f === null)).toBe(true);
  });

  it('flags a sample from the past and a second one of one time, and goes on', () => {
    const out = through([
      at(5, 'rpm', 800),
      at(6, 'rpm', 810),
      at(4, 'rpm', 900),
      at(6, 'rpm', 820),
      at(7, 'rpm', 830),
    ]);
    expect(out.map((s) => s.flag)).toEqual([null, null, 'time', 'time', null]);
    for (let i = 1; i < out.length; i++) expect(out[i]!.tUs).toBeGreaterThanOrEqual(out[i - 1]!.tUs);
  });

  it('flags manifold pressure that stands still while pedal and engine speed move', () => {
    const samples: Sample[] = [];
    for (let k = 0; k < 30; k++) {
      samples.push(at(k, 'map_kpa', k < 10 ? 100 + k : 110));
      samples.push(at(k, 'pedal_d_pct', k < 14 ? 15 : 70));
      samples.push(at(k, 'rpm', 1500 + (k < 10 ? 0 : 60 * (k - 10))));
    }
    const out = flags(samples, 'map_kpa');
    expect(out.slice(0, 12).every((f) => f === null)).toBe(true);
    expect(out[29]).toBe('stuck');
  });

  it('lets an engine speed of coarse steps stand still while the car coasts, a fine one or a driving one not', () => {
    const coasts = (rpm: (tS: number) => number) =>
      flags(
        Array.from({ length: 60 }, (_, t) => [at(t, 'rpm', rpm(t)), at(t, 'speed_kmh', 60 - t)]).flat(),
        'rpm',
      ).includes('stuck');
    expect(coasts((t) => (t < 5 ? 900 : 850))).toBe(false);
    expect(coasts((t) => (t < 5 ? 852.25 + t / 4 : 850))).toBe(true);
    expect(coasts((t) => (t < 5 ? 2000 : 1950))).toBe(true);
    expect(coasts(() => 850)).toBe(true);
  });

  /** What is held still, from both sides of each of its limits. */
  describe.each([
    ['map_kpa', 150, 4, 4, { rpm: 500, pedal_d_pct: 25 }],
    ['map_kpa', 150, 4, 4, { rpm: 500, throttle_pct: 25, speed_kmh: 8 }],
    ['maf_gps', 20, 6, 5, { rpm: 500 }],
    ['rpm', 2000, 8, 6, { speed_kmh: 20 }],
    ['speed_kmh', 50, 15, 8, { rpm: 1800 }],
  ] as const)('%s at %i, read for %i s in %i readings', (signal, value, forS, samples, moves) => {
    /** Readings at these times, and what moves from the first to just before the last of them. */
    const held = (times: readonly number[], of: Readonly<Record<string, number>>) => {
      const [fromS, toS] = [times[0]! + 0.1, times.at(-1)! - 0.1];
      const driven = Object.entries(of).flatMap(([driver, span]) =>
        Array.from({ length: 41 }, (_, k) =>
          at(fromS + ((toS - fromS) * k) / 40, driver, (driver === 'rpm' ? 1400 : 20) + (span * k) / 40),
        ),
      );
      const all = [...times.map((t) => at(t, signal, value)), ...driven].sort((a, b) => a.tUs - b.tUs);
      return flags(all, signal);
    };
    const lasting = (s: number, n: number): number[] =>
      Array.from({ length: n }, (_, k) => 1 + (s * k) / (n - 1));
    const stuckAt = (times: readonly number[], of: Readonly<Record<string, number>> = moves) =>
      held(times, of).at(-1) === 'stuck';

    it('is stuck when all that moves it has moved so far, not a little less', () => {
      expect(stuckAt(lasting(forS, 2 * samples))).toBe(true);
      for (const [driver, span] of Object.entries(moves)) {
        expect(stuckAt(lasting(forS, 2 * samples), { ...moves, [driver]: span * 0.999 })).toBe(false);
        expect(stuckAt(lasting(forS, 2 * samples), { ...moves, [driver]: 0 })).toBe(false);
      }
    });
    it('is so after its time and in so many readings, not in fewer', () => {
      expect(stuckAt(lasting(forS - 0.01, 2 * samples))).toBe(false);
      expect(stuckAt(lasting(forS + 1, samples))).toBe(true);
      expect(stuckAt(lasting(forS + 1, samples - 1))).toBe(false);
    });
    it('begins anew after a hole of more than five seconds, and once it moves', () => {
      const then = (gapS: number) => {
        const first = lasting(forS, 2 * samples);
        return held([...first, first.at(-1)! + gapS], moves).at(-1);
      };
      expect([then(5), then(5.01)]).toEqual(['stuck', null]);
    });
  });

  it('stuck pressure is believed once it moves, and counts from then', () => {
    const samples = Array.from({ length: 40 }, (_, k) => [
      at(k / 2, 'map_kpa', k === 20 ? 151 : k > 20 ? 152 : 150),
      at(k / 2 + 0.1, 'pedal_d_pct', 20 + (k % 6) * 6),
      at(k / 2 + 0.2, 'rpm', 1500 + (k % 6) * 150),
    ]).flat();
    const out = flags(samples, 'map_kpa');
    // Four seconds and both moved: from the ninth reading on, and four seconds after it moved again.
    expect(out.map((f, k) => (f === 'stuck' ? k : -1)).filter((k) => k >= 0)).toEqual([
      ...Array.from({ length: 12 }, (_, k) => 8 + k),
      ...Array.from({ length: 11 }, (_, k) => 29 + k),
    ]);
  });

  it('takes steps of ten for coarse, up to 1,200 rpm', () => {
    const coasts = (first: number, then: number) =>
      flags(
        Array.from({ length: 60 }, (_, t) => [
          at(t, 'rpm', t < 5 ? first : then),
          at(t, 'speed_kmh', 60 - t),
        ]).flat(),
        'rpm',
      ).includes('stuck');
    expect([coasts(860, 850), coasts(859, 850)]).toEqual([false, true]);
    expect([coasts(1210, 1200), coasts(1211, 1201)]).toEqual([false, true]);
  });

  it('holds a jump against the rate of a whole second at least, and believes a new level in its third reading', () => {
    const jumped = (dtS: number, c: number) => flags([at(0, 'ect_c', 90), at(dtS, 'ect_c', c)], 'ect_c')[1];
    // 3 °C a second.
    expect([jumped(0.1, 93), jumped(0.1, 93.1), jumped(2, 84), jumped(2, 83.9)]).toEqual([
      null,
      'rate',
      null,
      'rate',
    ]);
    const level = [0, 1, 7, 13].map((t) => at(t, 'ect_c', t === 0 ? 90 : -30));
    expect(flags(level, 'ect_c')).toEqual([null, 'rate', 'rate', null]);
    expect(flags([...level.slice(0, 2), level[3]!], 'ect_c')).toEqual([null, 'rate', 'rate']);
  });

  it('gives a reading out as soon as the next time comes, one too late as well, however far it jumps', () => {
    const front = new Plausibility();
    const given = [
      ...[at(1, 'map_kpa', 100), at(1.1, 'map_kpa', 101), at(1.2, 'map_kpa', 99)],
      ...[at(1.15, 'map_kpa', 250), at(1.3, 'rpm', 1800), at(1.4, 'rpm', 1810)],
    ].map((s) => front.push(s).map((c) => c.flag));
    expect(given).toEqual([[], [null], [null], [], [null, 'time'], [null]]);
  });

  it('does not call a standing car stuck, whatever its engine does', () => {
    const samples = Array.from({ length: 60 }, (_, t) => [
      at(t, 'speed_kmh', 0),
      at(t + 0.5, 'rpm', 800 + (t % 20) * 150),
    ]).flat();
    expect(flags(samples, 'speed_kmh').every((f) => f === null)).toBe(true);
  });

  it('does not call an engine stuck that was switched off while the pedal is tried', () => {
    const samples = Array.from({ length: 40 }, (_, t) => [
      at(t, 'map_kpa', 101),
      at(t + 0.1, 'pedal_d_pct', t % 2 ? 15 : 80),
      at(t + 0.2, 'rpm', t < 2 ? 900 : 0),
    ]).flat();
    expect(flags(samples, 'map_kpa').every((f) => f === null)).toBe(true);
  });

  it('does not call a standing engine stuck', () => {
    const samples: Sample[] = [];
    for (let k = 0; k < 60; k++) {
      samples.push(at(k, 'map_kpa', 101), at(k, 'pedal_d_pct', k % 2 ? 15 : 80), at(k, 'rpm', 0));
    }
    expect(flags(samples, 'map_kpa').every((f) => f === null)).toBe(true);
  });

  describe('a single reading that jumps and is back', () => {
    const fast = (signal: string, values: readonly number[], gapS = 0.07) =>
      values.map((v, i) => at(1 + i * gapS, signal, v));

    it.each([
      ['rpm', [1800, 1810, 2834, 1825, 1830]], // one digit of 1C50 changed
      ['map_kpa', [101, 102, 21, 103, 104]],
      ['speed_kmh', [50, 50, 34, 50, 51]],
      ['baro_kpa', [98, 98, 90, 98, 98]],
    ])('%s is flagged, its neighbours are not', (signal, values) => {
      expect(flags(fast(signal, values), signal)).toEqual([null, null, 'spike', null, null]);
      const mirrored = values.map((v) => 2 * values[0]! - v);
      if (signal !== 'baro_kpa')
        // 110 kPa is the most there is
        expect(flags(fast(signal, mirrored), signal)).toEqual([null, null, 'spike', null, null]);
    });

    it.each([
      ['a step that stays', 'map_kpa', [101, 102, 190, 191, 192]],
      ['a step that comes back after two readings', 'map_kpa', [101, 102, 190, 185, 103, 102]],
      ['a quick climb', 'rpm', [1800, 2500, 3200, 3900, 4600]],
      ['a small jump', 'rpm', [1800, 1800, 2060, 1800, 1800]],
      ['one that comes back half-way only', 'map_kpa', [100, 100, 200, 150, 150]],
    ])('%s is believed', (_, signal, values) => {
      expect(flags(fast(signal, values), signal).every((f) => f === null)).toBe(true);
    });

    it('is believed where its neighbours are further away than tells anything', () => {
      expect(flags(fast('map_kpa', [100, 100, 250, 100, 100], 2), 'map_kpa').every((f) => f === null)).toBe(
        true,
      );
    });

    it('is not what the next one is measured against', () => {
      expect(flags(fast('rpm', [1800, 2824, 1800, 2824, 1800, 1800]), 'rpm')).toEqual([
        null,
        'spike',
        null,
        'spike',
        null,
        null,
      ]);
    });

    it('waits for its next reading no longer than neighbours may be apart, and the order stays', () => {
      const front = new Plausibility();
      const out: CleanSample[] = [];
      const push = (s: Sample) => void out.push(...front.push(s));
      push(at(1, 'map_kpa', 100));
      push(at(1.1, 'map_kpa', 200)); // the last of its kind
      for (let i = 1; i <= 40; i++) push(at(1.1 + 0.05 * i, 'rpm', 1800 + i));
      expect(out.length).toBeGreaterThan(38);
      out.push(...front.finish());
      expect(out.map((s) => s.tUs)).toEqual(out.map((s) => s.tUs).sort((a, b) => a - b));
      expect(out).toHaveLength(42);
      expect(out.every((s) => s.flag === null)).toBe(true);
    });

    it('several signals at once, each by its own neighbours', () => {
      const samples = [0, 1, 2, 3, 4].flatMap((i) => [
        at(1 + 0.1 * i, 'map_kpa', i === 2 ? 229 : 101),
        at(1.02 + 0.1 * i, 'rpm', i === 2 ? 3848 : 1800),
        at(1.04 + 0.1 * i, 'speed_kmh', 50),
      ]);
      expect(flags(samples, 'map_kpa')).toEqual([null, null, 'spike', null, null]);
      expect(flags(samples, 'rpm')).toEqual([null, null, 'spike', null, null]);
      expect(flags(samples, 'speed_kmh').every((f) => f === null)).toBe(true);
      expect(through(samples).map((s) => s.tUs)).toEqual(samples.map((s) => s.tUs));
    });
  });

  it('counts what it flags', () => {
    const front = new Plausibility();
    for (const s of [at(0, 'ect_c', -40), at(1, 'ect_c', 20), at(2, 'ect_c', 90)]) front.push(s);
    front.finish();
    expect(front.flagged('ect_c')).toBe(2);
    expect(front.counts('ect_c')).toMatchObject({ 'end stop': 1, rate: 1 });
    expect(front.flagged('rpm')).toBe(0);
  });

  it('loses nothing and stays ordered on any input', () => {
    const any = fc.array(
      fc.record({
        signal: fc.constantFrom('ect_c', 'map_kpa', 'rpm', 'pedal_d_pct', 'odd'),
        tUs: fc.integer({ min: 0, max: 50_000_000 }),
        sentUs: fc.constant(0),
        value: fc.double(),
      }),
    );
    fc.assert(
      fc.property(any, (samples) => {
        const out = through(samples);
        expect(out.length).toBe(samples.length);
        for (let i = 1; i < out.length; i++) expect(out[i]!.tUs).toBeGreaterThanOrEqual(out[i - 1]!.tUs);
      }),
      { seed: 11, numRuns: 300 },
    );
  });
});
