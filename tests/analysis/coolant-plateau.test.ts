/** Where the coolant settles, step by step: each threshold from both sides. */
import { describe, expect, it } from 'vitest';
import { BIN_S } from '../../src/analysis/coolant/bins.ts';
import type { Regime } from '../../src/analysis/coolant/envelope.ts';
import { Plateau } from '../../src/analysis/coolant/plateau.ts';
import { level, rising, road, step } from './steps.ts';

describe('the plateau', () => {
  function fed(
    ects: readonly number[],
    { thermostatC = null as number | null, air = 20, regime = road } = {},
  ) {
    const plateau = new Plateau(thermostatC);
    let settled = -1;
    ects.forEach((ect, k) => {
      plateau.step(step(k, ect, { air }), regime, true);
      if (plateau.settled && settled < 0) settled = k;
    });
    return { plateau, settled };
  }
  const phases = (...ects: number[]) =>
    ects.map((ect) => {
      const plateau = new Plateau(null);
      plateau.step(step(0, ect), road, true);
      return plateau.phase;
    });

  it('is looked for from 78 °C on, cold below 50 °C, and above 97 °C there is none', () => {
    expect(phases(49.9, 50, 77.9, 78, 96.9, 97)).toEqual([
      ...['cold', 'warming', 'warming', 'opening', 'opening', 'no plateau'],
    ]);
    expect(fed(level(96.9, 100)).settled).toBeGreaterThan(0);
    expect(fed(level(97, 100)).settled).toBe(-1);
  });
  it('is not learned of a level of 97 °C, whatever the coolant has come down to', () => {
    const came = (high: number) =>
      fed([...level(96, 20), ...level(high, 40), ...level(95, 16)]).plateau.learnedC;
    expect([came(96.9), came(97)]).toEqual([96.9, null]);
  });
  it('with an entered thermostat is looked for from 10 °C below it to 8 °C above', () => {
    expect(fed(level(72, 100), { thermostatC: 82 }).settled).toBeGreaterThan(0);
    expect(fed(level(71.9, 100), { thermostatC: 82 }).settled).toBe(-1);
    expect(fed(level(99.9, 100), { thermostatC: 92 }).settled).toBeGreaterThan(0);
    expect(fed(level(100, 100), { thermostatC: 92 }).settled).toBe(-1);
  });
  it('is settled five minutes after its slope broke, by 1 °C/min over a minute', () => {
    const n = 300 / BIN_S;
    expect(fed(level(90, 100)).settled).toBe(11 + n - 1);
    // Two thirds of a minute's steps at 0.9 °C/min count as broken, at 1.1 °C/min not.
    expect(fed([...rising(80, 0.9 / 12, 12), ...level(81, n)]).settled).toBe(11 + n - 1);
    expect(fed([...rising(80, 1.1 / 12, 12), ...level(81, n)]).settled).toBeGreaterThan(11 + n - 1);
  });
  it('is what was held for the last minute where that lies 2.5 °C above the four, within a degree', () => {
    const learned = (to: number, last: readonly number[]) =>
      fed([...level(87, 50), ...rising(87, (to - 87) / 8, 8), ...last]).plateau.learnedC;
    expect(learned(89.5, level(89.5, 13))).toBe(89.5);
    expect(learned(89.4, level(89.4, 13))).toBe(87);
    expect(learned(88.6, [...level(88.6, 6), ...level(89.8, 7)])).toBe(87);
  });
  it('waits while three minutes span more than 6 °C or drift by more than 1 °C/min', () => {
    const wave = (c: number) => Array.from({ length: 80 }, (_, k) => 88 + (k % 36 === 20 ? c : 0));
    expect(fed(wave(6)).settled).toBe(70);
    expect(fed(wave(6.1)).settled).toBe(-1);
    const drifting = (perMin: number) => fed([...level(80, 12), ...rising(80, perMin / 12, 140)]).settled;
    expect(drifting(0.95)).toBe(70);
    expect(drifting(1.05)).toBe(-1);
  });
  it('learns from ten minutes ago what lies within 4 °C below and 2 °C above, and creeps by 1 °C at the most', () => {
    const after = (c: number) => fed([...level(90, 71), ...level(c, 500)]).plateau.learnedC;
    expect([92, 92.1, 86, 85.9].map(after)).toEqual([91, 90, 89, 90]);
    expect(fed([...level(90, 71), ...level(92, 120)]).plateau.learnedC).toBe(90);
  });
  /** A level whose reading moves by half a degree. */
  const moving = (c: number, n: number): number[] =>
    Array.from({ length: n }, (_, k) => c - 0.5 * ((k + 1) % 2));
  it('in air below 10 °C is proved only by two minutes of asking at 50 km/h and 0.9 of the mean heat, within 2 °C', () => {
    const asked = (more: Partial<Regime>, steps = 24, ects = moving(90, steps)) =>
      fed([...level(90, 71), ...ects], { air: 9, regime: { ...road, kmh: 50, load: 0.9, ...more } }).plateau
        .proved;
    expect(fed(level(90, 71), { air: 10 }).plateau.proved).toBe(true);
    expect(asked({})).toBe(true);
    expect(asked({ kmh: 49 })).toBe(false);
    expect(asked({ load: 0.89 })).toBe(false);
    expect(asked({}, 24, [...moving(88.5, 12), ...moving(90, 12)])).toBe(true);
    expect(asked({}, 24, [...moving(88.4, 12), ...moving(90, 12)])).toBe(false);
    expect([86.5, 86.4].map((c) => asked({}, 24, moving(c, 24)))).toEqual([true, false]);
  });
  it('is not proved by a reading that stands still for longer than a minute', () => {
    const { plateau } = fed(level(90, 200), { air: 9 });
    expect(plateau.proved).toBe(false);
    const proved = (from: number, ects: readonly number[]) =>
      ects.map((ect, k) => {
        plateau.step(step(from + k, ect, { air: 9 }), road, true);
        return plateau.proved;
      });
    // A change of reading, and the minute of standing still after it, are twelve steps.
    expect(proved(200, [...level(89, 40), ...level(90, 11)])).not.toContain(true);
    expect(proved(251, level(90, 1))).toEqual([true]);
  });
  it('is proved as soon as it settles by asking before, if the coolant stood a degree higher before that', () => {
    const after = (ects: readonly number[]) => fed(ects, { air: 9 });
    const over = (c: number) => after([...level(c, 12), ...moving(90, 60)]);
    expect(over(91).plateau.proved).toBe(true);
    expect(over(91).plateau.learnedC).toBe(90);
    expect(over(90.9).plateau.proved).toBe(false);
    // What was asked for at speed stands, not what slow traffic then lets it sag to.
    const plateau = new Plateau(null);
    const slow = { ...road, kmh: 20, load: 0.6 };
    [...level(93, 12), ...moving(90, 36), ...level(88, 60)].forEach((ect, k) => {
      plateau.step(step(k, ect, { air: 9 }), k < 48 ? road : slow, true);
    });
    expect([plateau.proved, plateau.referenceC]).toEqual([true, 90]);
  });
  it('in warm air holds a climb against what was held at 20 km/h and above before it settled', () => {
    const reference = (kmh: number, over = 89, air = 10) =>
      fed([...level(over, 12), ...moving(88, 44)], { air, regime: { ...road, kmh } }).plateau.referenceC;
    expect([reference(20), reference(19.9)]).toEqual([89, 92]);
    expect(reference(20, 88.9)).toBe(92);
    expect([reference(50, 89, 9), reference(49, 89, 9)]).toEqual([89, 97]);
    // A climb in doubt, and one that was said, teach nothing.
    const taught = (teach: boolean, alarm: boolean) => {
      const plateau = new Plateau(null);
      [...level(89, 12), ...moving(88, 44)].forEach((ect, k) => {
        plateau.step(step(k, ect), road, teach, alarm);
      });
      return plateau.referenceC;
    };
    expect([taught(true, false), taught(false, false), taught(true, true)]).toEqual([89, 92, 92]);
  });
  it('that is not proved holds a climb against 97 °C in cool air, against 92 °C or 5 °C above the thermostat else', () => {
    const cool = { ...road, kmh: 20 };
    expect(fed(level(85, 71), { air: 9, regime: cool }).plateau.referenceC).toBe(97);
    expect(fed(level(85, 71), { air: 9, regime: cool, thermostatC: 82 }).plateau.referenceC).toBe(87);
    // Until it has settled the highest of its first three minutes stands for it.
    const early = (n: number) => fed([...level(95, 12), ...level(90, n - 12)]).plateau.referenceC;
    expect([46, 47].map(early)).toEqual([null, 95]);
    expect(fed(level(90, 60)).plateau.referenceC).toBe(92);
  });
  it('is looked for anew after the coolant fell below 78 °C', () => {
    const again = [...level(95, 40), ...level(77, 15)];
    const early = (n: number) => fed([...again, ...level(88, n)]).plateau.referenceC;
    // The slope has broken a minute after; nothing is left of the 95 °C, nor of the time that it had stood there.
    expect([46, 47].map(early)).toEqual([null, 92]);
    expect(fed([...level(96, 40), ...level(77, 15), ...level(93, 47)]).plateau.referenceC).toBe(93);
  });
  it('is forgotten when its reading turns out to have been stuck', () => {
    const { plateau } = fed(level(90, 80));
    plateau.step(step(80, 70, { unstuck: true }), road, true);
    expect([plateau.learnedC, plateau.proved, plateau.settledFromS]).toEqual([null, false, null]);
  });
});
