/** The watch for a thermostat that stays open, step by step: each threshold from both sides. */
import { describe, expect, it } from 'vitest';
import { BIN_S, type Bin } from '../../src/analysis/coolant/bins.ts';
import type { Regime } from '../../src/analysis/coolant/envelope.ts';
import { asks, TooColdWatch } from '../../src/analysis/coolant/too-cold.ts';
import { asIs } from '../../src/core/says.ts';
import { level, rising, road, step as still } from './steps.ts';

/** A live reading moves within its step. */
const step = (k: number, ect: number | null, more: Partial<Bin> = {}): Bin =>
  still(k, ect, { high: (ect ?? 0) + 0.1, ...more });

/** One reading a step; the step at which it is found, -1 without, and the watch. */
function fed(
  ects: readonly (number | null)[],
  {
    plateau = null as number | null,
    settledC = null as number | null,
    more = (_k: number): Partial<Bin> => ({}),
  } = {},
) {
  const watch = new TooColdWatch(plateau === null ? null : { value: plateau, source: asIs('known') });
  const at = ects.findIndex((ect, k) => watch.step(step(k, ect, more(k)), road, settledC) !== null);
  return { at, watch };
}
/** The step that ends so many seconds after the first began. */
const stepAt = (s: number): number => s / BIN_S - 1;

describe('an engine that does not get warm', () => {
  it('at 78 °C is found when it was asked for six minutes, the last of them below; above only after twelve', () => {
    expect(fed(level(78, 200)).at).toBe(stepAt(360 + 55));
    expect(fed(level(78.1, 200)).at).toBe(stepAt(720 + 55));
    expect(fed(level(80, 200)).at).toBe(stepAt(720 + 55));
    expect(fed(level(80.1, 400)).at).toBe(-1);
  });
  it('is held against a plateau that is known: 10 °C below it, 7 °C after long driving, and never less than without where that is 85 °C', () => {
    const of = (plateau: number) => {
      const { earlyC, lowC } = new TooColdWatch({ value: plateau, source: asIs('known') });
      return [earlyC, lowC];
    };
    expect(of(95)).toEqual([85, 88]);
    expect(of(86)).toEqual([78, 80]);
    expect(of(85)).toEqual([78, 80]);
    expect(of(84)).toEqual([74, 77]);
    expect(fed(level(85, 200), { plateau: 95 }).at).toBe(stepAt(360 + 55));
    expect(fed(level(85.1, 200), { plateau: 95 }).at).toBe(stepAt(720 + 55));
  });
  it('is getting warm while it rises by more than 4 °C in four minutes of asking; by 2 °C after long driving', () => {
    expect(fed(rising(50, 3.9 / 48, 120)).at).toBe(stepAt(360 + 55));
    expect(fed(rising(50, 4.1 / 48, 120)).at).toBe(-1);
    const long = (inFourMin: number) => [...rising(65, 0.1, 152), ...rising(80.2, inFourMin / 48, 60)];
    expect(fed(long(1.9), { plateau: 90 }).at).toBeGreaterThan(180);
    expect(fed(long(2.15), { plateau: 90 }).at).toBe(-1);
  });
  it('is getting warm by what it rose in those four minutes, from their first step on', () => {
    expect(fed([...level(60, 70), ...level(65, 80)]).at).toBe(70 + 48 + 11);
  });
  it('in cool air of unknown heat may not rise by more than 2 °C', () => {
    const unsure = () => ({ air: 5, heatSource: 'map_kpa' as const });
    expect(fed(rising(50, 1.9 / 48, 120), { more: unsure }).at).toBe(stepAt(360 + 55));
    expect(fed(rising(50, 2.1 / 48, 120), { more: unsure }).at).toBe(-1);
    expect(fed(rising(50, 3.9 / 48, 120), { more: () => ({ air: 5 }) }).at).toBe(stepAt(360 + 55));
  });
  it('begins to be asked anew after a rest of 30 s in which it fell by 12 °C, and not after less', () => {
    const rested = (s: number, byC: number) => {
      const n = s / BIN_S;
      const drive = [...level(70, 60), ...Array<null>(n - 1).fill(null), ...level(70 - byC, 24)];
      return fed(drive, { more: (k) => (k >= 60 && k < 60 + n - 1 ? { running: false, rpm: 0 } : {}) }).at;
    };
    expect(rested(30, 12)).toBe(-1);
    // The reading from before the rest stays, though it is read again meanwhile.
    const readMeanwhile = [...level(70, 60), ...level(70, 5), ...level(58, 24)];
    expect(
      fed(readMeanwhile, { more: (k) => (k >= 60 && k < 65 ? { running: false, rpm: 0 } : {}) }).at,
    ).toBe(-1);
    expect(rested(25, 12)).toBeGreaterThan(0);
    expect(rested(30, 11.9)).toBeGreaterThan(0);
  });
  it('is asked for six minutes after such a rest, whatever it was asked before', () => {
    const drive = [...level(70, 60), ...Array<null>(5).fill(null), ...level(58, 200)];
    const { at, watch } = fed(drive, {
      more: (k) => (k >= 60 && k < 65 ? { running: false, rpm: 0 } : {}),
    });
    expect(at).toBe(65 + stepAt(360 + 55));
    expect(watch.found).toMatchObject({ activeS: 360 + 55, ectC: 58, by: 'never warm' });
  });
  it('whose reading stood still to the bit for half the time may be a stuck sensor, below 60 °C or for less than ten minutes', () => {
    const stuck = (c: number) => fed(level(c, 400), { more: () => ({ high: c }) }).at;
    expect(stuck(60)).toBe(stepAt(600 + 5 + 55));
    expect(stuck(59.9)).toBe(-1);
    // Alive until then, still for less than two minutes of four.
    const half = (stillSteps: number) =>
      fed(level(70, 90), { more: (k) => (k > 82 - stillSteps ? { high: 70 } : {}) }).at;
    expect(half(23)).toBe(stepAt(360 + 55));
    expect(half(40)).toBe(-1);
  });
});

describe('an engine that had settled', () => {
  it('sags when it stands 6 °C below for two minutes, asked, without rising by more than 1 °C', () => {
    // The fall itself is not seen.
    const sag = (c: number, inTwoMin = 0) =>
      fed([...level(90, 30), null, ...rising(c, inTwoMin / 24, 60)], { settledC: 90, plateau: 90 }).at;
    expect(sag(84)).toBe(31 + stepAt(120));
    expect(sag(84.1)).toBe(-1);
    expect(sag(80, 0.9)).toBe(31 + stepAt(120));
    expect(sag(80, 1.2)).toBe(-1);
  });
  it('is no sag above 85 °C: after a hill the plateau may stand as far above where the same thermostat holds light driving', () => {
    const sag = (c: number) => fed([...level(95, 30), null, ...level(c, 60)], { settledC: 95, plateau: 95 });
    expect([85, 85.1, 88].map((c) => sag(c).at)).toEqual([31 + stepAt(120), -1, -1]);
    expect(sag(84).watch.found!.limitC).toBe(85);
  });
  it('tells from when on it sagged, how far and below what', () => {
    const { watch } = fed([...level(90, 10), ...level(83, 30)], { settledC: 90, plateau: 90 });
    expect(watch.found).toMatchObject({
      by: 'sag',
      fromS: 55,
      saidAtS: 170,
      limitC: 84,
      ectC: 83,
      overS: 120,
    });
  });
});

describe('asking', () => {
  const asked = (more: Partial<Bin>, regime: Partial<Regime> = {}) =>
    asks(step(0, 70, more), { ...road, ...regime });
  it('takes 5 km/h and heat; 60 km/h where nobody measures it', () => {
    expect(asked({ speed: 5 })).toBe(true);
    expect(asked({ speed: 4.9 })).toBe(false);
    expect(asked({ heat: 0 })).toBe(false);
    expect(asked({ running: false })).toBe(false);
    expect(asked({ heat: null, speed: 60 })).toBe(true);
    expect(asked({ heat: null, speed: 59 })).toBe(false);
    expect(asked({ heat: null, speed: null })).toBe(false);
  });
  it('takes 20 km/h and nine tenths of the mean heat in air below 10 °C', () => {
    expect(asked({ air: 10 }, { kmh: 10, load: 0.1 })).toBe(true);
    expect(asked({ air: 9.9 }, { kmh: 20, load: 0.9 })).toBe(true);
    expect(asked({ air: 9.9 }, { kmh: 19, load: 0.9 })).toBe(false);
    expect(asked({ air: 9.9 }, { kmh: 20, load: 0.89 })).toBe(false);
    expect(asked({ air: null }, { kmh: 20, load: 0.89 })).toBe(false);
  });
});
