/** The climb watch step by step: each threshold from both sides, so that none can be moved unnoticed. */
import { describe, expect, it } from 'vitest';
import { BIN_S, type Bin } from '../../src/analysis/coolant/bins.ts';
import { ClimbWatch } from '../../src/analysis/coolant/climb.ts';
import { ENVELOPE, Envelope, type Regime } from '../../src/analysis/coolant/envelope.ts';
import { Plateau } from '../../src/analysis/coolant/plateau.ts';

const step = (k: number, ect: number, more: Partial<Bin> = {}): Bin => ({
  tS: BIN_S * (k + 1),
  ect,
  fresh: true,
  // A live reading moves within its step.
  high: ect + 0.1,
  low: ect,
  speed: 80,
  rpm: 2000,
  air: 20,
  heat: 20,
  heatSource: 'maf_gps',
  running: true,
  unsure: false,
  unstuck: false,
  holeS: 0,
  ...more,
});
const road: Regime = { name: 'light at speed', allowC: 2.8, kmh: 80, load: 0.8, steep: false, unseen: false };
const standing: Regime = { name: 'standing', allowC: 13, kmh: 0, load: 0.3, steep: false, unseen: false };

/** Feeds one reading a step; returns the step of the first alarm, -1 without, and the watch. */
function fed(
  ects: readonly number[],
  { limit = 105, regime = road, plateau = 90 as number | null, more = {} as Partial<Bin> } = {},
) {
  const watch = new ClimbWatch(limit);
  let at = -1;
  ects.forEach((ect, k) => {
    if (watch.step(step(k, ect, more), regime, plateau) && at < 0) at = k;
  });
  return { at, watch };
}
const level = (c: number, n: number): number[] => Array.from({ length: n }, () => c);
const rising = (from: number, perStep: number, n: number): number[] =>
  Array.from({ length: n }, (_, k) => from + perStep * k);

describe('the limit', () => {
  it('counts when held for ten seconds: two steps, not one, not six', () => {
    const before = rising(100, 0.5, 10);
    expect(fed([...before, 105], { plateau: null }).at).toBe(-1);
    expect(fed([...before, 105, 105], { plateau: null }).at).toBe(11);
    expect(fed([...before, 104.9, 104.9, 104.9], { plateau: null }).at).toBe(-1);
  });
  it('wants two readings: one that is only kept is none', () => {
    const at = (kept: readonly number[]) => {
      const watch = new ClimbWatch(105);
      let said = -1;
      [...level(104.9, 10), ...level(110, 6)].forEach((ect, k) => {
        const spoke = watch.step(step(k, ect, { fresh: !kept.includes(k) }), standing, null);
        if (spoke && said < 0) said = k;
      });
      return said;
    };
    expect(at([])).toBe(11);
    expect(at([11, 12, 13, 14])).toBe(15);
    expect(at([11, 12, 13, 14, 15])).toBe(-1);
  });
  it('is not sounded by a reading that falls', () => {
    expect(fed(rising(125, -0.5, 30), { plateau: null }).at).toBeLessThanOrEqual(1);
    const cooled = new ClimbWatch(105);
    // Known hot while the engine stood, it starts and only falls.
    for (let k = 0; k < 10; k++)
      cooled.step(step(k, 111 - 0.2 * k, { running: false, rpm: 0 }), standing, null);
    for (let k = 10; k < 40; k++) expect(cooled.step(step(k, 109 - 0.1 * k), standing, null)).toBeNull();
  });
  it('lies 7 °C higher for four minutes after a stop of a minute', () => {
    const restartedAt = (c: number) => {
      const watch = new ClimbWatch(105);
      let said = -1;
      for (let k = 0; k < 80; k++) {
        const stopped = k >= 2 && k < 16;
        const bin = step(
          k,
          k < 16 ? Math.max(90, 90 + 5 * (k - 11)) : c,
          stopped ? { running: false, rpm: 0, speed: 0 } : {},
        );
        if (watch.step(bin, standing, 90) && said < 0) said = k;
      }
      return said;
    };
    expect(restartedAt(112)).toBe(17);
    expect(restartedAt(111.9)).toBeGreaterThanOrEqual(16 + 240 / BIN_S);
    expect(restartedAt(111.9)).toBeLessThanOrEqual(18 + 240 / BIN_S);
  });
});

describe('an alarm of the test', () => {
  it('wants two readings beyond what driving explains, however far apart they come', () => {
    const said: number[] = [];
    const watch = new ClimbWatch(200);
    [...level(90, 24), ...level(101, 6), ...level(101.5, 6)].forEach((ect, k) => {
      if (watch.step(step(k, ect, { fresh: k % 6 === 0 }), road, 90)) said.push(k);
      if (k === 29) expect(watch.suspicion).toBeGreaterThan(1);
    });
    expect(said).toEqual([30]);
  });
});

describe('a climb that was said', () => {
  const followed = (ects: readonly number[], more: (k: number) => Partial<Bin> = () => ({})) => {
    const { watch } = fed(rising(95, 0.5, 22));
    ects.forEach((ect, k) => {
      watch.step(step(22 + k, ect, more(k)), road, 90);
    });
    return watch.climbs[0]!;
  };
  it('came back when half of it, from the plateau to the peak, was carried off again', () => {
    expect(followed([110, 100.1]).cameBack).toBe(false);
    expect(followed([110, 100]).cameBack).toBe(true);
    // Of a small one 4 °C at least.
    const small = (c: number) => {
      const { watch } = fed(rising(95, 0.5, 22), { plateau: 103 });
      watch.step(step(22, c), road, 103);
      return watch.climbs[0]!.cameBack;
    };
    expect([101.6, 101.5].map(small)).toEqual([false, true]);
  });
  it('did not, once the engine stood', () => {
    const stood = (k: number) => (k === 1 ? { running: false, rpm: 0 } : {});
    expect(followed([110, 109, 95], stood).cameBack).toBe(false);
    expect(followed([110, 95, 95], (k) => (k === 2 ? { running: false } : {})).cameBack).toBe(true);
  });
  it('tells by regime only what it did below 115 °C, where no coolant boils', () => {
    const rise = (ects: readonly number[]) => followed(ects).byRegime.get('light at speed')!.riseC;
    expect(rise([114.9]) - rise([])).toBeCloseTo(9.4, 9);
    expect(rise([115])).toBe(rise([]));
  });
});

describe('far above the plateau', () => {
  it('is 14 °C, held for ten seconds, whatever the regime', () => {
    const climb = rising(90, 0.4, 34);
    expect(fed([...climb, 103.8, 103.8, 103.8], { regime: standing }).at).toBe(-1);
    expect(fed([...climb, 104, 104], { regime: standing }).at).toBe(35);
  });
});

describe('the envelope', () => {
  it('lets stand what healthy drives do, and not what none does', () => {
    expect(fed(level(92.8, 400)).at).toBe(-1);
    // The whole reading, 1 °C either way, must lie beyond 92.8 °C.
    expect(fed([...level(90, 20), ...rising(90, 0.4, 9), ...level(93.6, 300)]).at).toBe(-1);
    expect(fed([...level(90, 20), ...rising(90, 0.4, 9), ...rising(93.4, 0.02, 100)]).at).toBeGreaterThan(20);
  });
  it('is passed by 1 °C/min at the road within five and a half minutes, by 2 within three and a half', () => {
    const at = (perMin: number) => (fed([...level(90, 40), ...rising(90, perMin / 12, 200)]).at - 40) / 12;
    expect(at(1)).toBeGreaterThan(3.8);
    expect(at(1)).toBeLessThan(5.5);
    expect(at(2)).toBeLessThan(3.5);
  });
  it('never says a fault below 92 °C', () => {
    expect(fed(rising(80, 0.2, 58), { plateau: 80 }).at).toBe(-1);
    expect(fed(rising(80, 0.2, 75), { plateau: 80 }).at).toBeGreaterThanOrEqual(60);
  });
  it('no rise of more than 7 °C in a minute is explained by standing', () => {
    const quick = [...level(90, 20), ...rising(90, 0.75, 17), ...level(102, 30)];
    const slow = [...level(90, 20), ...rising(90, 0.5, 25), ...level(102, 30)];
    expect(fed(quick, { regime: standing }).at).toBeGreaterThan(20);
    expect(fed(slow, { regime: standing }).at).toBe(-1);
  });
  it('a reading that falls is no evidence, and never an alarm', () => {
    const watch = new ClimbWatch(105);
    for (let k = 0; k < 10; k++) watch.step(step(k, 103 - 0.1 * k), road, null);
    for (let k = 10; k < 60; k++) expect(watch.step(step(k, 103 - 0.1 * k), road, 90)).toBeNull();
    // The same readings upwards are one.
    const up = new ClimbWatch(105);
    for (let k = 0; k < 10; k++) up.step(step(k, 96), road, null);
    let said = false;
    for (let k = 10; k < 60; k++) said ||= up.step(step(k, 96 + 0.1 * (k - 10)), road, 90) !== null;
    expect(said).toBe(true);
  });
  it('one step alone is no alarm, however high', () => {
    expect(fed([...level(90, 20), 103, ...level(90, 20)]).at).toBe(-1);
  });
  it('a reading that stands still to the bit for a minute is no evidence', () => {
    const stuck = (beforeS: number) => {
      const watch = new ClimbWatch(105);
      let said = false;
      const n = beforeS / BIN_S;
      for (let k = 0; k < n + 60; k++)
        said ||= watch.step(step(k, 100, { high: 100 }), road, k < n ? null : 90) !== null;
      return said;
    };
    expect(stuck(65)).toBe(false);
    expect(stuck(20)).toBe(true);
  });
  it('a thermostat that was shut may overshoot by 5.5 °C for four minutes', () => {
    expect(fed([...level(85, 10), ...rising(86, 1, 9), ...level(95, 20), ...level(92, 60)]).at).toBe(-1);
    const shut = (c: number) =>
      fed([...level(90, 10), ...rising(91, 1, 9), ...level(c, 100)], { plateau: 95 }).at;
    expect(shut(101.4)).toBeGreaterThanOrEqual(58);
    expect(shut(101.6)).toBeLessThan(40);
    expect(fed([...level(85, 10), ...rising(86, 0.5, 28)]).at).toBeGreaterThan(0);
  });
});

describe('what is let be', () => {
  /** One step after the other; the step of the first alarm, -1 without, and what it was by. */
  const said = (
    n: number,
    at: (
      k: number,
    ) => { readonly ect: number; readonly regime?: Regime; readonly plateau?: number | null } & Partial<Bin>,
  ) => {
    const watch = new ClimbWatch(105);
    for (let k = 0; k < n; k++) {
      const { ect, regime = road, plateau = null, ...more } = at(k);
      const climb = watch.step(step(k, ect, more), regime, plateau);
      if (climb) return { at: k, by: climb.by };
    }
    return { at: -1, by: null };
  };
  const stop = { running: false, rpm: 0, speed: 0 };

  it('soaks after a stop of a minute, twelve steps, or a hole of a minute; not after less', () => {
    const after = (steps: number) =>
      said(100, (k) => ({ ect: k < 2 + steps ? 101 : 106, ...(k >= 2 && k < 2 + steps ? stop : {}) })).at -
      2 -
      steps;
    expect([11, 12].map(after)).toEqual([1, 240 / BIN_S + 1]);
    const hole = (s: number) => said(100, (k) => ({ ect: k < 2 ? 101 : 106, holeS: k === 2 ? s : 0 })).at - 2;
    expect([59, 60].map(hole)).toEqual([1, 240 / BIN_S + 1]);
  });
  it('is not trusted for a minute after a doubtful reading came back more than 4 °C away', () => {
    const back = (from: number) =>
      said(60, (k) => ({ ect: k < 5 ? from : 106, unsure: k >= 5 && k < 7 })).at - 7;
    expect([102, 101.9].map(back)).toEqual([1, 60 / BIN_S + 1]);
  });
  it('is not trusted for a minute after a step that no coolant takes, up or down; slower it is', () => {
    // 5.17 °C in five seconds, 9.33 in ten.
    const after = (from: number) => said(60, (k) => ({ ect: k < 5 ? from : 106 })).at - 5;
    expect([100.9, 100.8].map(after)).toEqual([1, 60 / BIN_S + 1]);
    const apart = (from: number, every: number) =>
      said(60, (k) => ({ ect: k < 5 ? from : 106, fresh: k < 5 || (k - 4) % every === 0 })).at - 4;
    expect([96.7, 96.6].map((c) => apart(c, 2))).toEqual([2 * 2, 60 / BIN_S + 2 * 2]);
    // Half a minute apart two readings say nothing of the time between them.
    expect(apart(60, 7)).toBe(2 * 7);
    const back = said(60, (k) => ({ ect: k === 5 ? 60 : k < 5 ? 102 : 106 })).at - 6;
    expect(back).toBe(60 / BIN_S + 1);
    const spikes = said(60, (k) => ({ ect: k < 5 ? 90 : ([123, 107][k - 5] ?? 90) }));
    expect(spikes.at).toBe(-1);
  });
  it('is not trusted for a minute after a reading that had been stuck, which tells nothing of a rise', () => {
    const unstuck = (at: number) => said(60, (k) => ({ ect: k < 5 ? 102 : 106, unstuck: k === at })).at - 5;
    expect([-1, 5].map(unstuck)).toEqual([1, 60 / BIN_S + 1]);
    const allowed = (at: number) => {
      const watch = new ClimbWatch(105);
      for (let k = 0; k < 30; k++) watch.step(step(k, k < 25 ? 90 : 99, { unstuck: k === at }), standing, 90);
      return 9 - watch.beyondC!;
    };
    // Led by a reading of 90 a minute ago 7 °C are explained, else what standing explains.
    expect([-1, 25].map(allowed)).toEqual([7, 13].map((c) => expect.closeTo(c, 9)));
  });
  it('is far above the plateau from 14 °C and 101 °C on, over ten seconds', () => {
    const far = (plateau: number, ect: number) =>
      said(40, (k) => ({
        ect: Math.min(ect, plateau + 5 * Math.max(0, k - 4)),
        plateau,
        regime: { ...standing, allowC: 40 },
      }));
    expect([103.9, 104].map((c) => far(90, c).by)).toEqual(['test', 'far above plateau']);
    expect(far(90, 104).at).toBe(8);
    expect([100.9, 101].map((c) => far(75, c).by)).toEqual(['test', 'far above plateau']);
    expect(far(75, 101).at).toBe(11);
  });
  it('stands as the test finds it, from 92 °C on', () => {
    const stands = (plateau: number, c: number) =>
      said(200, (k) => ({ ect: Math.min(c, plateau + 0.2 * Math.max(0, k - 20)) + (k % 2) / 100, plateau }))
        .by;
    expect([91.9, 92].map((c) => stands(80, c))).toEqual([null, 'test']);
    const atStand = (c: number) =>
      said(200, (k) => ({
        ect: k < 20 ? 88 : c + (k % 2) / 100,
        plateau: 88,
        regime: { ...standing, allowC: 4 },
      })).by;
    expect([99.9, 100].map(atStand)).toEqual([null, 'test']);
  });
  it('stands 5 °C above the plateau with its whole interval while it rose by 4.5 °C within a minute', () => {
    // From 96 °C at step 20 on to what it holds, which is half a degree beyond the envelope and its own interval.
    const at = (from: number, c: number) =>
      said(80, (k) => ({ ect: k < 20 ? from : k === 20 ? Math.min(c, from + 5) : c, plateau: 96 })).at - 20;
    const soon = at(97, 101);
    expect(soon).toBeLessThan(12);
    expect([96.4, 96.5, 96.6].map((from) => at(from, 101))).toEqual([12, 12, soon]);
    expect([102, 102.1].map((c) => at(96, c) < 12)).toEqual([false, true]);
  });
  it('whichever of its readings it rose to: of two that scatter by a degree the lower one is no smaller rise', () => {
    const at = (peak: number) =>
      said(80, (k) => ({ ect: k < 20 ? 96.4 : k < 22 ? peak : 100.85 + (k % 2) / 100, plateau: 96 })).at - 20;
    expect(at(100.89)).toBeLessThan(12);
    // So long as the higher one is of the minute and what it rose from is not out of it.
    expect(at(100.9)).toBe(12);
  });
  it('below 100 °C goes on: not what came to within 1.5 °C of its height and would have risen by 3 °C more meanwhile', () => {
    // 5 °C in a minute from step 20 on, hidden by a hill; from 93.5 °C on, step 29, it stands. Less a degree of reading it had risen by
    // 4 °C in 45 s: 3 °C more take 34 s. What is told at step 36 at the earliest is then levelled off, at step 35 it is not.
    const at = (hiddenTo: number, upC = 5, plateau = 90) =>
      said(60, (k) => ({
        ect: plateau + upC * Math.max(0, Math.min(1, (k - 20) / 12)) + (k % 2) / 1000,
        plateau,
        regime: { ...road, steep: k >= 20 && k < hiddenTo },
      })).at;
    expect([35, 36].map((k) => at(k))).toEqual([35, -1]);
    // As high as a fan may cut in it counts however it stands.
    expect([at(36, 5, 94.9), at(36, 5, 95)]).toEqual([-1, 36]);
  });
  it('nor what stays within that for three minutes and rises by less than 0.15 °C a minute', () => {
    const at = (perMin: number) =>
      said(120, (k) => ({
        ect: 90 + (k < 20 ? 0 : 4 + (perMin / 12) * (k - 20)),
        plateau: 90,
        regime: { ...road, steep: k >= 20 && k < 57 },
      })).at;
    expect([0, 0.14, 0.16].map(at)).toEqual([-1, -1, 57]);
  });
  it('below 100 °C goes as far beyond what it held on the road as every driving explains: for a minute at 50 km/h and above, five minutes ago, no alarm on, the plateau known', () => {
    const aboveHeld = (
      steps: number,
      speed: Partial<Regime> = { steep: true },
      back = 72,
      perStepC = 1 / 12,
    ) => {
      const from = 20 + steps + back;
      const held = (k: number) => k >= 20 && k < 20 + steps;
      const { at } = said(400, (k) => ({
        ect: held(k) ? 95 : 90 + Math.max(0, k - from) * perStepC,
        plateau: 90,
        regime: held(k) ? { ...road, ...speed } : road,
      }));
      return 90 + (at - from) * perStepC;
    };
    expect(aboveHeld(11)).toBeLessThan(95);
    expect(aboveHeld(12)).toBeGreaterThan(97.5);
    expect(aboveHeld(12)).toBeLessThan(97.6);
    expect([49.9, 50].map((kmh) => aboveHeld(12, { kmh, steep: true, allowC: 6 }) > 96)).toEqual([
      false,
      true,
    ]);
    expect(aboveHeld(24, standing)).toBeLessThan(95);
    // At four degrees a minute, told 16 steps after it began: before and after the minute held, ended at step 31, is five minutes old.
    const quick = [42, 44].map((back) => aboveHeld(12, { steep: true }, back, 1 / 3));
    expect(quick).toEqual([95 + 1 / 3, 97 + 2 / 3].map((c) => expect.closeTo(c, 9)));
    const upAndBack = [...rising(90, 1 / 12, 97), ...level(98, 24), ...rising(97, -1, 7), ...level(90, 100)];
    const { watch } = fed([...upAndBack, ...upAndBack]);
    expect(watch.climbs).toHaveLength(2);
  });
  it('on a hill stands 2.5 °C further, from 50 to 120 km/h', () => {
    const limitC = (kmh: number, steep: boolean) => {
      const watch = new ClimbWatch(105);
      for (let k = 0; k < 200; k++) watch.step(step(k, 90 + 0.1 * k), { ...road, kmh, steep }, 90);
      return watch.climbs[0]!.limitC;
    };
    expect([49.9, 50, 119.9, 120].map((kmh) => limitC(kmh, true))).toEqual(
      [92.8, 95.3, 95.3, 92.8].map((c) => expect.closeTo(c, 9)),
    );
    expect(limitC(60, false)).toBeCloseTo(92.8, 9);
  });
  it('where the run never saw as much heat stands 2.5 °C further, at any speed, and no more on a hill', () => {
    const limitC = (kmh: number, steep: boolean, unseen: boolean) => {
      const watch = new ClimbWatch(105);
      let watched = false;
      for (let k = 0; k < 200; k++) {
        watch.step(step(k, 90 + 0.1 * k), { ...road, kmh, steep, unseen }, 90);
        watched ||= watch.watch !== null;
      }
      expect(watched).toBe(true);
      return watch.climbs[0]!.limitC;
    };
    expect([30, 80, 130].map((kmh) => limitC(kmh, false, true))).toEqual(
      [95.3, 95.3, 95.3].map((c) => expect.closeTo(c, 9)),
    );
    expect([limitC(80, true, true), limitC(80, false, false)]).toEqual(
      [95.3, 92.8].map((c) => expect.closeTo(c, 9)),
    );
  });
  it('led by no more than 7 °C in the minute before it counts as far as the road explains', () => {
    const beyond = (before: number) => {
      const watch = new ClimbWatch(105);
      for (let k = 0; k < 30; k++) watch.step(step(k, k < 29 ? before : 95), standing, 90);
      return watch.beyondC!;
    };
    // 13 °C are explained standing; 7 °C above what it was a minute ago.
    expect([90, 92, 96, 97].map((c) => 95 - 90 - beyond(c))).toEqual(
      [7, 9, 13, 13].map((c) => expect.closeTo(c, 9)),
    );
  });
  it('may overshoot by 5.5 °C for four minutes after it stood more than 3 °C below', () => {
    const allowed = (c: number, steps: number) => {
      const watch = new ClimbWatch(105);
      watch.step(step(0, c), road, 90);
      for (let k = 1; k <= steps; k++) watch.step(step(k, 90), road, 90);
      return -watch.beyondC!;
    };
    expect([87, 86.9].map((c) => allowed(c, 1))).toEqual([2.8, 5.5].map((c) => expect.closeTo(c, 9)));
    expect([47, 48].map((n) => allowed(86.9, n))).toEqual([5.5, 2.8].map((c) => expect.closeTo(c, 9)));
  });
  it('stood still to the bit for a minute is no evidence', () => {
    const still = (steps: number) => {
      const watch = new ClimbWatch(105);
      // The first reading moves; nothing is known to hold it against until the last step.
      for (let k = 0; k <= steps; k++)
        watch.step(step(k, 95, k === 0 ? {} : { high: 95 }), road, k < steps ? null : 90);
      return watch.suspicion;
    };
    expect(still(11)).toBe(still(1));
    expect(still(12)).toBeLessThan(still(11) - 0.01);
    expect(still(13)).toBe(still(12));
  });
});

describe('an alarm', () => {
  it('ends after a minute within 4 °C of the plateau, and 3 °C below the limit', () => {
    const ended = (c: number, limit: number, plateau: number | null, steps: number) => {
      const watch = new ClimbWatch(limit);
      for (let k = 0; k < 3; k++) watch.step(step(k, limit + k / 10), road, plateau);
      expect(watch.now?.by).toBe('limit');
      for (let k = 3; k < 3 + steps; k++) watch.step(step(k, c), road, plateau);
      return watch.now === null;
    };
    expect([11, 12].map((n) => ended(90, 105, 90, n))).toEqual([false, true]);
    expect([94, 94.1].map((c) => ended(c, 105, 90, 12))).toEqual([true, false]);
    expect([101.9, 102].map((c) => ended(c, 105, null, 12))).toEqual([true, false]);
    expect([101.9, 102].map((c) => ended(c, 105, 100, 12))).toEqual([true, false]);
  });
  it('lasts while it climbs, and ends a minute after the coolant came back', () => {
    const up = [...level(90, 20), ...rising(90, 0.4, 40)];
    expect(fed(up).watch.now).not.toBeNull();
    const back = [...up, ...rising(105, -1, 12), ...level(94, 10)];
    expect(fed(back).watch.now).not.toBeNull();
    expect(fed([...back, ...level(94, 3)]).watch.now).toBeNull();
  });
});

describe('a watch', () => {
  it('comes before the fault, has no verdict, and ends by itself', () => {
    const part = [...level(90, 40), ...rising(90, 0.1, 36)];
    const { at, watch } = fed(part);
    expect(at).toBe(-1);
    expect(watch.watch).not.toBeNull();
    expect(fed([...part, ...rising(93.4, -0.1, 20)]).watch.watch).toBeNull();
  });
  it('from 97 °C on says that no plateau was reached', () => {
    expect(fed(rising(85, 0.25, 45), { plateau: null }).watch.watch).toBeNull();
    expect(fed(rising(85, 0.25, 50), { plateau: null }).watch.watch).toMatchObject({ noPlateau: true });
  });
});

describe('the road', () => {
  it('is a table over smoothed speed that never rises with speed', () => {
    for (let k = 1; k < ENVELOPE.length; k++) {
      expect(ENVELOPE[k]!.kmh).toBeGreaterThan(ENVELOPE[k - 1]!.kmh);
      expect(ENVELOPE[k]!.allowC).toBeLessThan(ENVELOPE[k - 1]!.allowC);
    }
  });
  it('closes within minutes of driving off, and opens within one of stopping', () => {
    const envelope = new Envelope();
    let k = 0;
    const drive = (speed: number, s: number) => {
      let allow = 0;
      for (let n = 0; n < s / BIN_S; n++) allow = envelope.step(step(k++, 90, { speed })).allowC;
      return allow;
    };
    // As long as nothing older tells a hill from the flat 3 °C more.
    expect(drive(70, 300)).toBeCloseTo(5.7, 3);
    expect(drive(70, 300)).toBeCloseTo(2.7, 3);
    expect(drive(0, 60)).toBeGreaterThan(9);
    expect(drive(0, 60)).toBeCloseTo(13, 1);
    expect(drive(70, 30)).toBeGreaterThan(3.1);
    expect(drive(70, 90)).toBeLessThan(3);
  });
  it('explains more on a steep hill: twice the heat at half the speed', () => {
    const envelope = new Envelope();
    for (let k = 0; k < 120; k++) envelope.step(step(k, 90));
    let allow = 0;
    for (let k = 120; k < 180; k++) allow = envelope.step(step(k, 90, { speed: 40, heat: 40 })).allowC;
    expect(allow).toBeGreaterThan(8);
  });
});

describe('the plateau', () => {
  const settle = (ects: readonly number[], more: Partial<Bin> = {}, regime = road) => {
    const plateau = new Plateau(null);
    ects.forEach((ect, k) => void plateau.step(step(k, ect, more), regime, true));
    return plateau;
  };
  const warm = rising(60, 0.5, 60);
  it('is settled five minutes after the coolant stopped rising', () => {
    expect(settle([...warm, ...level(90, 60)]).settled).toBe(false);
    expect(settle([...warm, ...level(90, 74)]).settled).toBe(true);
  });
  it('is not learned at 97 °C and above', () => {
    const high = settle([...rising(60, 0.5, 74), ...level(97, 200)]);
    expect(high.settled).toBe(false);
    expect(high.phase).toBe('no plateau');
    expect(settle([...rising(60, 0.5, 72), ...level(96, 200)]).settled).toBe(true);
  });
  it('is never a sag in cool air: until it was asked it may lie as high as 97 °C', () => {
    const light = { ...road, load: 0.5 };
    const sagged = settle([...warm, ...level(84, 100)], { air: -5 }, light);
    expect(sagged.learnedC).toBe(84);
    expect(sagged.proved).toBe(false);
    expect(sagged.referenceC).toBe(97);
    // Two minutes at speed under load prove the level that was held, and it is the plateau.
    const moves = (k: number) => step(k, 90 - 0.5 * (k % 2), { air: -5 });
    for (let k = 160; k < 183; k++) sagged.step(moves(k), road2, true);
    expect(sagged.proved).toBe(false);
    sagged.step(moves(184), road2, true);
    expect([sagged.proved, sagged.referenceC]).toEqual([true, 90]);
    expect(settle([...warm, ...level(88, 100)], { air: 15 }, light).referenceC).toBe(88);
    // Nothing told of cool air, and nothing of warm.
    expect(settle([...warm, ...level(84, 100)], { air: null }, light).referenceC).toBe(92);
  });
  const road2: Regime = { ...road, load: 0.9 };
  it('is not taught by a climb of half a degree a minute', () => {
    const slow = settle([...warm, ...level(90, 100), ...rising(90, 1 / 24, 100)]);
    expect(slow.referenceC).toBe(90);
  });
});

describe('the rate', () => {
  const risen = (ects: readonly number[]) => fed(ects, { limit: 200, plateau: null }).watch;
  /** Points on a line: what is left is the reading's own step, 0.3 °C over √3. */
  const half = (n: number) => {
    const mean = (n - 1) / 2;
    const sxx = Array.from({ length: n }, (_, k) => (BIN_S * (k - mean)) ** 2).reduce((a, x) => a + x, 0);
    return (2 * Math.SQRT2 * 0.3 * 60) / Math.sqrt(3 * sxx);
  };
  it('is of the last 90 s, from four readings on, in °C a minute with its interval', () => {
    expect([3, 4].map((n) => risen(rising(80, 0.5, n)).slope() !== null)).toEqual([false, true]);
    const { perMin, interval } = risen([...level(80, 10), ...rising(80, 0.5, 19)]).slope()!;
    expect(perMin).toBeCloseTo(6, 9);
    expect(interval).toEqual([expect.closeTo(6 - half(19), 9), expect.closeTo(6 + half(19), 9)]);
    expect(risen([...level(80, 10), ...rising(80, 0.5, 18)]).slope()!.perMin).toBeLessThan(5.99);
    expect(risen([]).slope()).toBeNull();
    // Scatter about the line widens it.
    const bumpy = risen(rising(80, 0.5, 19).map((c, k) => c + (k % 2)));
    const { interval: wide } = bumpy.slope()!;
    expect(wide[1] - wide[0]).toBeGreaterThan(2 * half(19) * 2);
  });
  it('tells the minutes to a limit, of the last minute, where it surely rises', () => {
    const watch = risen([...level(80, 40), ...rising(80, 0.5, 13)]);
    const { interval } = watch.slope(60)!;
    expect(watch.minutesTo(98)).toEqual([
      expect.closeTo(12 / interval[1], 9),
      expect.closeTo(12 / interval[0], 9),
    ]);
    expect([86, 86.1].map((c) => watch.minutesTo(c) !== null)).toEqual([false, true]);
    expect(watch.minutesTo(85.9)).toBeNull();
    // Not where the slowest that the readings allow takes longer than an hour, or never comes there.
    const slowest = 1 - half(13);
    expect([59, 61].map((m) => risen(rising(80, 1 / 12, 13)).minutesTo(81 + m * slowest) !== null)).toEqual([
      ...[true, false],
    ]);
    expect(0.4 - half(13)).toBeLessThan(0);
    expect(risen(rising(80, 0.4 / 12, 13)).minutesTo(81)).toBeNull();
  });
});

it('a watch for height alone begins where it would not end at once', () => {
  const watch = new ClimbWatch(115);
  const at: number[] = [];
  rising(95, 0.1, 60).forEach((c, k) => {
    const before = watch.watch;
    watch.step(step(k, c), { ...standing, allowC: 13 }, 96);
    if (before === null && watch.watch !== null) at.push(c);
  });
  // Back within 2 °C of the plateau it ends, and a reading may be a degree off.
  expect(at).toEqual([expect.closeTo(99.1, 9)]);
});

describe('what is kept of a climb', () => {
  /** Level in town, then up at the road until it is said and on for five steps. */
  const watch = new ClimbWatch(105);
  const town: Regime = { ...road, name: 'town' };
  const ects = [...level(90, 20), ...rising(90.5, 0.5, 40)];
  let saidK = -1;
  ects.forEach((ect, k) => {
    if (saidK >= 0 && k > saidK + 5) return;
    if (watch.step(step(k, ect), k < 26 ? town : road, 90)) saidK = k;
  });
  const [climb] = watch.climbs;
  it('is where it began, how fast, and where it stood when it was said', () => {
    expect(watch.climbs).toHaveLength(1);
    expect(climb).toMatchObject({ by: 'test', plateauC: 90, saidAtS: BIN_S * (saidK + 1) });
    expect(climb!.saidC).toBe(ects[saidK]);
    // Half a degree a step is 6 °C a minute: then it is 5 °C above the plateau.
    expect(climb!.limitC).toBe(95);
    // The last low of the remembered minutes, the twentieth step.
    expect(climb!.fromS).toBe(BIN_S * 20);
    expect([climb!.toS, climb!.peakC]).toEqual([BIN_S * (saidK + 6), ects[saidK + 5]]);
    expect(climb!.slope.perMin).toBeGreaterThan(3);
  });
  it('is its rise by what was driven', () => {
    // From step 20 on: six steps in town, the others at the road, half a degree each.
    const atRoad = saidK + 5 - 25;
    expect(Object.fromEntries(climb!.byRegime)).toEqual({
      town: { riseC: expect.closeTo(3, 9), s: 30 },
      'light at speed': { riseC: expect.closeTo(0.5 * atRoad, 9), s: BIN_S * atRoad },
    });
  });
});

describe('a rise that is watched', () => {
  const watched = (ects: readonly number[], plateau: number | null = 90) =>
    fed(ects, { plateau }).watch.watch !== null;
  it('is half a degree a minute for sure', () => {
    // In the last 90 s, from where no plateau was reached.
    const up = (perMin: number) => watched([...level(97, 30), ...rising(97, perMin / 12, 19)], null);
    expect([0.49, 0.51, -1.5].map(up)).toEqual([false, true, false]);
  });
  it('ends within 2 °C of the plateau, or below 97 °C where none is known, or when it fell for a minute', () => {
    const rise = [...level(90, 40), ...rising(90, 0.1, 36)];
    const back = (c: number) => watched([...rise, c]);
    expect([92, 92.1].map(back)).toEqual([false, true]);
    const high = [...rising(85, 0.25, 52)];
    expect([96.9, 97].map((c) => watched([...high, c], null))).toEqual([false, true]);
    const falling = (n: number) => watched([...rise, ...level(93.5, 7), ...rising(93.45, -0.01, n)]);
    expect(falling(3)).toBe(true);
    expect(falling(30)).toBe(false);
  });
});
