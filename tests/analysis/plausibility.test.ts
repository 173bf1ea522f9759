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
