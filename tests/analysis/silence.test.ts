/** A stop with the key off, told from a link that was lost: each threshold from both sides. */
import { describe, expect, it } from 'vitest';
import { CarSilences } from '../../src/analysis/silence.ts';
import type { CleanSample } from '../../src/analysis/types.ts';

type Reading = readonly [tS: number, signal: string, value: number, flag?: CleanSample['flag']];
/** Whether the only silence among the readings is a stop. */
function isStop(...readings: readonly Reading[]): boolean {
  const silences = new CarSilences();
  const found = readings.flatMap(
    ([tS, signal, value, flag = null]) => silences.step({ signal, tUs: tS * 1e6, value, flag }) ?? [],
  );
  expect(found).toHaveLength(1);
  return found[0]!.keyOff;
}
const at = (tS: number, rpm: number, kmh: number): Reading[] => [
  [tS, 'rpm', rpm],
  [tS, 'speed_kmh', kmh],
];

it('a silence is longer than five seconds', () => {
  const silences = new CarSilences();
  const step = (tS: number) => silences.step({ signal: 'voltage_v', tUs: tS * 1e6, value: 12, flag: null });
  expect([0, 5, 10.1].map(step)).toEqual([null, null, { fromS: 5, toS: 10.1, keyOff: false }]);
});

describe('a silence is a stop', () => {
  it('where the engine turned slower than 400 rpm before it or after it', () => {
    expect([399, 400].map((rpm) => isStop(...at(0, rpm, 0), [60, 'speed_kmh', 0]))).toEqual([true, false]);
    expect([399, 400].map((rpm) => isStop(...at(0, 800, 0), ...at(60, rpm, 0)))).toEqual([true, false]);
  });
  it('by readings up to 15 s before it and after it', () => {
    const volts = (fromS: number) => [4, 8, 12].map((s): Reading => [fromS + s, 'voltage_v', 12]);
    const before = (s: number) =>
      isStop(...at(0, 0, 0), ...volts(0), [s, 'voltage_v', 12], ...at(60, 800, 0));
    expect([15, 15.1].map(before)).toEqual([true, false]);
    const after = (s: number) => isStop(...at(0, 800, 0), ...volts(56), ...volts(60), ...at(60 + s, 0, 0));
    expect([15, 15.1].map(after)).toEqual([true, false]);
  });
  it('by air or a charge that was there before and no longer is', () => {
    const told = (signal: string, before: number, after: number) =>
      isStop([0, 'speed_kmh', 0], [0, signal, before], [60, signal, after], [60, 'speed_kmh', 0]);
    expect(told('maf_gps', 1, 0.49)).toBe(true);
    expect([told('maf_gps', 0.99, 0.49), told('maf_gps', 1, 0.5)]).toEqual([false, false]);
    expect(told('voltage_v', 13.2, 12.79)).toBe(true);
    expect([told('voltage_v', 13.19, 12.79), told('voltage_v', 13.2, 12.8)]).toEqual([false, false]);
    expect(isStop([0, 'speed_kmh', 0], [60, 'maf_gps', 0.2], [60, 'speed_kmh', 0])).toBe(false);
  });
  it('by readings as far from it as they lie from each other', () => {
    const volts = (fromS: number, toS: number) =>
      Array.from({ length: (toS - fromS) / 4 + 1 }, (_, k): Reading => [fromS + 4 * k, 'voltage_v', 12]);
    const every = (s: number, afterS: number) =>
      isStop(
        ...[...volts(-20, 20), ...at(0, 800, 0), ...at(-s, 800, 0)].sort((a, b) => a[0] - b[0]),
        ...[...volts(60, 60 + afterS), ...at(60 + afterS, 0, 0)],
      );
    expect([every(20, 20), every(19, 20), every(20, 20.1)]).toEqual([true, false, false]);
  });
  it('and a hole is no pace at which they come: what is read after it is near no longer than else', () => {
    const volts = (fromS: number): Reading[] => [4, 8, 12, 16].map((s) => [fromS + s, 'voltage_v', 12]);
    const again = (silentS: number) => {
      const silences = new CarSilences();
      const s = 4 + silentS;
      const first: Reading[] = [...at(0, 800, 0), [4, 'voltage_v', 12], ...at(s, 0, 0), ...volts(s)];
      const found = [...first, ...volts(s + 60), ...at(s + 77, 800, 0)].flatMap(
        ([tS, signal, value]) => silences.step({ signal, tUs: tS * 1e6, value, flag: null }) ?? [],
      );
      expect(found).toHaveLength(2);
      return found[1]!.keyOff;
    };
    // 14 s may be the pace of signals that come one after another.
    expect([14, 600].map(again)).toEqual([true, false]);
  });
  it('not where the vehicle moved before the engine was read to stand, however slowly', () => {
    expect(isStop(...at(0, 800, 0), [60, 'speed_kmh', 1], ...at(61, 0, 0))).toBe(false);
    expect(isStop(...at(0, 0, 0), [60, 'speed_kmh', 1])).toBe(false);
    expect(isStop(...at(0, 0, 1), ...at(60, 0, 0))).toBe(false);
  });
  it('not where the engine turned first and stood later', () => {
    expect(isStop(...at(0, 800, 0), [60, 'rpm', 800], ...at(61, 0, 0))).toBe(false);
  });
  it('not by a reading that is no good', () => {
    expect(isStop(...at(0, 800, 0), [60, 'rpm', 0, 'spike'], [60, 'speed_kmh', 0])).toBe(false);
  });
});
