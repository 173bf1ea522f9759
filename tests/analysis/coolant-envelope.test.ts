/** How far above its plateau a healthy coolant goes: by speed, by what was driven before, by hills; worked by hand. */
import { describe, expect, it } from 'vitest';
import type { Bin } from '../../src/analysis/coolant/bins.ts';
import { ENVELOPE, Envelope, type Regime } from '../../src/analysis/coolant/envelope.ts';
import type { Road } from '../../src/analysis/road/road-meter.ts';
import { step } from './steps.ts';

/** The last of so many steps. */
function drivenFor(
  n: number,
  more: (k: number) => Partial<Bin>,
  road: (k: number) => Road | null = () => null,
): Regime {
  const envelope = new Envelope();
  let regime!: Regime;
  for (let k = 0; k < n; k++) regime = envelope.step(step(k, 90, more(k)), road(k));
  return regime;
}
/** By the first step alone: nothing is smoothed yet, no heat is measured. */
const atOnce = (speed: number | null) => drivenFor(1, () => ({ speed, heat: null }));

describe('by road speed', () => {
  it('is the table, on straight lines between its speeds', () => {
    const flat = [
      [0, 13],
      [8, 13],
      [11.5, 10.25],
      [15, 7.5],
      [20, 6],
      [25, 4.5],
      [30, 3.6],
      [40, 3],
      [60, 2.8],
      [75, 2.65],
      [90, 2.5],
      [200, 2.5],
    ] as const;
    // Heat that nobody measures may be a hill of 3 °C more, as far as standing allows.
    for (const [kmh, c] of flat) expect(atOnce(kmh).allowC).toBeCloseTo(Math.min(13, c + 3), 9);
    expect(atOnce(null)).toMatchObject({ allowC: 13, kmh: null, name: 'standing' });
    expect(ENVELOPE).toHaveLength(8);
  });
  it('has names from 10 and from 40 km/h', () => {
    expect([9.9, 10, 39.9, 40].map((kmh) => atOnce(kmh).name)).toEqual([
      ...['standing', 'town', 'town', 'load at speed'],
    ]);
  });
  it('follows within 20 s when slowing and 35 s when speeding up', () => {
    const to = (from: number, kmh: number) =>
      drivenFor(2, (k) => ({ speed: k === 0 ? from : kmh, heat: null })).kmh;
    expect(to(80, 20)).toBeCloseTo(80 - 60 * (1 - Math.exp(-5 / 20)), 9);
    expect(to(20, 80)).toBeCloseTo(20 + 60 * (1 - Math.exp(-5 / 35)), 9);
    expect(drivenFor(3, (k) => ({ speed: k === 1 ? null : 50, heat: null })).kmh).toBe(50);
  });
});

/** `n` steps of heat 20 at 80 km/h, then `m` of what comes. */
const then = (n: number, m: number, more: Partial<Bin>) => drivenFor(n + m, (k) => (k < n ? {} : more));

describe('heat that does not come any more', () => {
  it('may be a hill of 3 °C more, half a minute after the last of it; not with the engine stopped', () => {
    const flatC = then(200, 0, {}).allowC;
    const without = (steps: number, more: Partial<Bin> = {}) => {
      const { allowC, load } = then(200, steps, { heat: null, ...more });
      return [Number((allowC - flatC).toFixed(6)), load === null];
    };
    expect([without(6), without(7)]).toEqual([
      [0, false],
      [3, true],
    ]);
    expect(without(7, { running: false })).toEqual([0, false]);
  });
});

describe('heat that the run never held', () => {
  /** Half an hour of heat 20, then of what comes. */
  const unseen = (heat: number, steps = 120) => then(360, steps, { heat }).unseen;
  it('is one and a half times the most that is older than five minutes', () => {
    expect([29.9, 31].map((heat) => unseen(heat, 55))).toEqual([false, true]);
    // After five minutes it is what the run has held.
    expect([55, 120].map((steps) => unseen(60, steps))).toEqual([true, false]);
  });
  it('is none before two minutes older than five were driven', () => {
    const early = (n: number) => then(n, 12, { heat: 60 }).unseen;
    expect([60 + 24 - 13, 60 + 24 - 12].map(early)).toEqual([false, true]);
  });
});

describe('the yardstick', () => {
  it('needs two minutes of moving, faster than 20 km/h, with heat', () => {
    expect([23, 24].map((n) => drivenFor(n, () => ({})).load)).toEqual([null, 1]);
    expect([20, 21].map((speed) => drivenFor(24, () => ({ speed })).load)).toEqual([null, 1]);
    expect(drivenFor(24, () => ({ heat: 0 })).load).toBeNull();
    expect(drivenFor(24, (k) => ({ running: k > 0 })).load).toBeNull();
    expect(drivenFor(25, (k) => (k > 0 ? {} : { heat: null })).load).toBe(1);
  });
  it('is smoothed heat over its mean: rising within 45 s, falling within 120 s', () => {
    const load = (heat: number, tauS: number) =>
      (20 + (heat - 20) * (1 - Math.exp(-5 / tauS))) / ((24 * 20 + heat) / 25);
    expect(then(24, 1, { heat: 40 }).load).toBeCloseTo(load(40, 45), 9);
    expect(then(24, 1, { heat: 10 }).load).toBeCloseTo(load(10, 120), 9);
    expect(then(24, 1, { heat: 40 }).name).toBe('load at speed');
    expect(then(24, 1, { heat: 10 }).name).toBe('light at speed');
    expect(then(24, 1, { heat: 20 }).name).toBe('load at speed');
    // Standing adds nothing to the mean.
    expect(then(24, 4, { heat: 20, speed: 0 }).load).toBe(1);
    expect(then(24, 4, { heat: 99, running: false }).load).toBe(1);
  });
});

describe('a hill', () => {
  /** What the table allows at 80 km/h, °C. */
  const AT_80 = 2.6;
  const smoothed = (heat: number, n: number) => 20 + (heat - 20) * (1 - Math.exp((-5 * n) / 45));
  /** Steepness at 80 km/h `n` steps after heat of 20: load over the share of speed and a quarter for still air. */
  const steepOf = (heat: number, n: number) => smoothed(heat, n) / 20 / 1.25;
  it('is held against what is older than five minutes, as soon as there are two minutes of it: it is no yardstick of its own', () => {
    const hill = 2 * 20;
    const at = (n: number, m: number) => then(n, m, { heat: hill });
    const by = (m: number, yardstick: number) => 2.5 + (smoothed(hill, m) / yardstick / 1.25 - 1.1) * 9;
    // Two minutes of flat road, five of hill; a step less, and there is only the mean of the run, with the hill in it.
    expect(by(59, (24 * 20 + 59 * hill) / 83)).toBeLessThan(AT_80);
    expect(at(24, 59).allowC).toBeCloseTo(AT_80 + 3, 9);
    expect(at(24, 60).allowC).toBeCloseTo(by(60, 20), 9);
    // What the thermostat is asked by stays the mean of the run.
    expect(at(24, 60).load).toBeCloseTo(smoothed(hill, 60) / ((24 * 20 + 60 * hill) / 84), 9);
  });
  it('allows 2.5 °C and 9 °C a unit beyond 1.1 of steepness, no less than the speed and no more than standing', () => {
    for (const heat of [28, 30, 32, 40, 60, 200]) {
      const steep = steepOf(heat, 8);
      const at = then(90, 8, { heat });
      expect(at.steep).toBe(steep > 1.1);
      const hill = steep > 1.1 ? 2.5 + (steep - 1.1) * 9 : 0;
      expect(at.allowC).toBeCloseTo(Math.max(AT_80, Math.min(13, hill)), 9);
    }
    expect([32, 33].map((heat) => steepOf(heat, 8) > 1.1)).toEqual([false, true]);
    expect(steepOf(200, 8)).toBeGreaterThan(2.3);
    // Flat out on the flat nothing more is allowed.
    const flat = drivenFor(90, () => ({}));
    expect(flat.allowC).toBeCloseTo(AT_80, 9);
    expect(flat.steep).toBe(false);
  });
  it('is told by slowness as well: the same heat at a lower speed', () => {
    const slow = then(60, 60, { speed: 40 });
    const mean = 80;
    const kmh = 40 + 40 * Math.exp((-5 * 60) / 20);
    expect(slow.kmh).toBeCloseTo(kmh, 9);
    const steep = 1 / (kmh / mean + 0.25);
    expect(slow.steep).toBe(steep > 1.1);
    expect(slow.allowC).toBeCloseTo(Math.max(3, 2.5 + (steep - 1.1) * 9), 2);
  });
  const measured = (gradePct: number): Road => ({
    ...{ gradePct, sdPct: 0.3, climbWkg: (9.80665 * (80 / 3.6) * gradePct) / 100 },
    sdWkg: (9.80665 * (80 / 3.6) * 0.3) / 100,
  });
  it('that a receiver measures needs no heat; flat road that it measures leaves heat alone from 1.4 on', () => {
    const flat = (heat: number | null) =>
      drivenFor(
        98,
        (k) => ({ heat: heat === null ? null : k < 90 ? 20 : heat }),
        () => measured(0),
      );
    // Without heat the hill that nobody measured is taken away.
    expect(flat(null).allowC).toBeCloseTo(AT_80, 9);
    const steep = steepOf(60, 8);
    expect(steep).toBeGreaterThan(1.4);
    expect(flat(60).allowC).toBeCloseTo(Math.max(AT_80, 2.5 + (steep - 1.4) * 9), 9);
    expect(flat(36).allowC).toBeCloseTo(AT_80, 9);
    const hill = drivenFor(
      60,
      () => ({}),
      () => measured(6),
    );
    expect(hill.allowC).toBeGreaterThan(6);
    expect(hill.steep).toBe(false);
  });
});
