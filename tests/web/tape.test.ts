/** The tape behind the strips: gaps as they grow, engagements merged, marks and ages right. */
import { expect, it } from 'vitest';
import { Tape } from '../../web/tape.ts';

const NEWS = { engagements: [], expected: [], corridor: [], baro: [], demand: null };

const samples = (from: number, to: number, step = 0.25, signal = 'rpm') => {
  const t: number[] = [];
  for (let s = from; s < to; s += step) t.push(s);
  return { [signal]: { t, v: t.map(() => 1) } };
};

it('finds the gap that no signal bridges, and only that one', () => {
  const tape = new Tape();
  tape.add(samples(0, 10), 0);
  tape.add(samples(14, 20), 0);
  tape.add(samples(3, 5, 0.25, 'ect_c'), 0);
  expect(tape.gapsIn(0, 20, 20)).toEqual([{ fromS: 10, toS: 14, why: 'no data' }]);
  tape.add({ map_kpa: { t: [10.2, 11.5, 12.8], v: [1, 1, 1] } }, 0);
  expect(tape.gapsIn(0, 20, 20)).toEqual([]);
});

it('shows silence while it grows, and none before the run began or after now', () => {
  const tape = new Tape();
  tape.live = true;
  tape.add(samples(0, 10), 1000);
  expect(tape.nowS(1000)).toBe(9.75);
  expect(tape.nowS(6000)).toBe(14.75);
  expect(tape.gapsIn(-100, 500, tape.nowS(2000))).toEqual([]);
  expect(tape.gapsIn(-100, 500, tape.nowS(6000))).toEqual([{ fromS: 10, toS: 14.5, why: 'no data' }]);
});

it('knows of samples that lay on a slow line that they are old', () => {
  const tape = new Tape();
  tape.live = true;
  tape.add(samples(0, 10.25), 1000);
  tape.add(samples(10.25, 11.25), 2000);
  expect(tape.nowS(2000)).toBe(11);
  tape.add(samples(11.25, 12.25), 9000); // a second of values in seven seconds
  expect(tape.nowS(9000)).toBe(18);
  expect(9000 - tape.arrivedMs).toBe(6000);
  tape.add(samples(12.25, 18.25), 9000); // the line has caught up
  expect(9000 - tape.arrivedMs).toBe(0);
});

it('reads back the gaps that the run itself reports', () => {
  const tape = new Tape();
  tape.add(samples(0, 10), 0);
  tape.setGaps([{ fromS: 3, toS: 4, why: 'cable' }]);
  expect(tape.gapsIn(0, 10, 10)).toEqual([{ fromS: 3, toS: 4, why: 'cable' }]);
  expect(tape.gapsIn(5, 10, 10)).toEqual([]);
});

it('merges the trail by start time, newest version of each', () => {
  const tape = new Tape();
  const e = (fromS: number, held: boolean | null) => ({ fromS, toS: fromS + 5, held, text: '' });
  const trail = (engagements: ReturnType<typeof e>[]) => ({ ...NEWS, engagements });
  tape.addTrail(trail([e(30, true)]));
  tape.addTrail(trail([e(10, true), e(30, false)]));
  expect(tape.engagements.map((x) => [x.fromS, x.held])).toEqual([
    [10, true],
    [30, false],
  ]);
});

it('knows how high the expected boost reaches, so that a missed engagement shows its band', () => {
  const tape = new Tape();
  expect(tape.expectedTopKpa).toBe(0);
  const band = { t: [1, 2], lowKpa: [90, 95], highKpa: [110, 118] };
  tape.addTrail({ ...NEWS, expected: [band] });
  expect(tape.expectedTopKpa).toBe(118);
});

it('gives gauge pressure only over the barometric pressure that the judge knew', () => {
  const tape = new Tape();
  tape.add({ map_kpa: { t: [1, 2, 9], v: [150, 160, 160] }, baro_kpa: { t: [1], v: [20] } }, 0);
  expect(tape.hasGauge).toBe(false);
  expect(tape.boostAt(2)).toBeNull(); // a sensor that the judge does not believe makes no gauge pressure
  tape.addTrail({ ...NEWS, baro: [{ fromS: 1.5, kpa: 98 }] });
  tape.addTrail({ ...NEWS, baro: [{ fromS: 8, kpa: 90 }] });
  expect(tape.boostAt(2)).toEqual({ t: 2, v: 62 });
  expect(tape.boostAt(9)).toEqual({ t: 9, v: 70 });
  expect(tape.boostAt(1)).toEqual({ t: 1, v: 52 }); // the first that was known also serves before it
});

it('takes for demand what the judge takes, and keeps it', () => {
  const tape = new Tape();
  tape.add(samples(0, 1, 0.5, 'load_pct'), 0);
  expect(tape.demand).toBeNull();
  tape.addTrail({ ...NEWS, demand: 'pedal_e_pct' });
  tape.addTrail(NEWS);
  expect(tape.demand).toBe('pedal_e_pct');
});

it('stays bounded whatever names and times come', () => {
  const tape = new Tape();
  for (let i = 0; i < 500; i++) tape.add({ [`x${i}`]: { t: [1e12, -5], v: [1, 1] } }, 0);
  expect(tape.columns.size).toBe(64);
});
