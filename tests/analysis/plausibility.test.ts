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

  it('does not call a standing engine stuck', () => {
    const samples: Sample[] = [];
    for (let k = 0; k < 60; k++) {
      samples.push(at(k, 'map_kpa', 101), at(k, 'pedal_d_pct', k % 2 ? 15 : 80), at(k, 'rpm', 0));
    }
    expect(flags(samples, 'map_kpa').every((f) => f === null)).toBe(true);
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
