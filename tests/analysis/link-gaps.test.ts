/** Holes are counted, told with their times, cost evidence, and are never a fault. */
import { describe, expect, it } from 'vitest';
import { LinkGaps } from '../../src/analysis/link-gaps.ts';
import { spelled } from '../../src/words/spelled.ts';

function gapsOf(timesS: readonly number[]) {
  const gaps = new LinkGaps();
  for (const tS of timesS) gaps.step({ signal: 'rpm', tUs: tS * 1e6, value: 800, flag: null });
  return gaps.finish()[0]!;
}
const every = (fromS: number, toS: number): number[] =>
  Array.from({ length: Math.round(toS - fromS) + 1 }, (_, k) => fromS + k);

describe('link gaps', () => {
  it('nothing recorded: not shown, and says what to look at', () => {
    const f = gapsOf([]);
    expect(f.verdict).toBe('not shown');
    expect(f.measured).toBeNull();
    expect(f.needs).toEqual({ id: 'link.need.nothing', args: {} });
  });
  it('readings each second: shown good with nothing lost', () => {
    const f = gapsOf(every(0, 600));
    expect(f.verdict).toBe('shown good');
    expect(f.measured!.value).toBe(0);
    expect(f.evidence).toEqual([]);
  });
  it('five seconds of silence are no hole, more are', () => {
    expect(gapsOf([0, 5, 10]).evidence).toEqual([]);
    expect(gapsOf([0, 5, 10.5]).evidence).toEqual([
      { fromS: 5, toS: 10.5, text: { id: 'link.hole', args: { lastedS: 5.5 } } },
    ]);
  });
  it('a minute may be lost in a short run, five in a hundred of a long one', () => {
    expect(gapsOf([...every(0, 100), ...every(160, 300)]).verdict).toBe('shown good');
    const short = gapsOf([...every(0, 100), ...every(162, 300)]);
    expect(short.verdict).toBe('not shown');
    expect(short.needs).toEqual({ id: 'link.need.again', args: { lostS: 62, holes: 1 } });
    expect(spelled(short).needs).toMatch(/misses 62\u00a0s in one hole/);
    expect(gapsOf([...every(0, 1000), ...every(1162, 4000)]).verdict).toBe('shown good');
    expect(gapsOf([...every(0, 1000), ...every(1202, 4000)]).verdict).toBe('not shown');
  });
  it('is held to what is printed: lost as much as the limit says is no more than it', () => {
    // 120.4 s of 2,400.4: 120 s lost, and 5 % are 120 s.
    const at = (lostS: number) => gapsOf([...every(0, 1000), ...every(1000 + lostS, 2400 + lostS - 120)]);
    expect(at(120.4)).toMatchObject({
      ...{ verdict: 'shown good', measured: { value: 120, interval: [120, 120] }, limit: { value: 120 } },
    });
    expect(at(120.6)).toMatchObject({
      ...{ verdict: 'not shown', measured: { value: 121 }, limit: { value: 120 } },
      needs: { args: { lostS: 121 } },
    });
  });
  describe('a key off', () => {
    type Reading = readonly [tS: number, signal: string, value: number];
    const finding = (readings: readonly Reading[]) => {
      const gaps = new LinkGaps();
      for (const [tS, signal, value] of readings) gaps.step({ signal, tUs: tS * 1e6, value, flag: null });
      return gaps.finish()[0]!;
    };
    const drive = (fromS: number, toS: number, rpm: number, kmh: number): Reading[] =>
      every(fromS, toS).flatMap((t): Reading[] => [
        [t, 'rpm', rpm],
        [t, 'speed_kmh', kmh],
      ]);
    const stop = (rpm: readonly [number, number], kmh: readonly [number, number]) =>
      finding([...drive(0, 100, rpm[0], kmh[0]), ...drive(220, 400, rpm[1], kmh[1])]);

    it('is told by a vehicle that stands, its engine standing before or after: nothing is lost', () => {
      for (const rpm of [
        [0, 0],
        [0, 800],
        [800, 0],
      ] as const) {
        const f = stop(rpm, [0, 0]);
        expect(f).toMatchObject({ verdict: 'shown good', measured: { value: 0 } });
        expect(f.evidence).toEqual([
          { fromS: 100, toS: 220, text: { id: 'link.key-off', args: { lastedS: 120 } } },
        ]);
        expect(f.limit!.value).toBe(60);
      }
    });
    it('is not told where the engine turned on both sides, or the vehicle moved on one', () => {
      for (const f of [stop([800, 800], [0, 0]), stop([0, 0], [0, 30]), stop([800, 0], [30, 0])]) {
        expect(f).toMatchObject({ verdict: 'not shown', measured: { value: 120 } });
        expect(f.evidence[0]!.text.id).toBe('link.hole');
      }
      const noSpeed = finding([...every(0, 100), ...every(220, 400)].map((t) => [t, 'rpm', 0]));
      expect(noSpeed.measured!.value).toBe(120);
    });
    it('is told by a meter that tells of no air, or a supply that is no longer charged, where they told of it before', () => {
      const inTurn = (fromS: number, of: (signal: string) => number): Reading[] =>
        ['speed_kmh', 'voltage_v', 'maf_gps', 'rpm'].map((signal, k) => [fromS + 4 * k, signal, of(signal)]);
      const turns: Record<string, number> = { speed_kmh: 0, voltage_v: 13.2, maf_gps: 1, rpm: 800 };
      const told = (after: Record<string, number>, before: Record<string, number> = {}): string =>
        finding([...inTurn(0, (s) => before[s] ?? turns[s]!), ...inTurn(120, (s) => after[s] ?? turns[s]!)])
          .evidence[0]!.text.id;
      expect(told({})).toBe('link.hole');
      expect([0.4, 0.5].map((maf_gps) => told({ maf_gps }))).toEqual(['link.key-off', 'link.hole']);
      expect([12.7, 12.8].map((voltage_v) => told({ voltage_v }))).toEqual(['link.key-off', 'link.hole']);
      expect(told({ maf_gps: 0 }, { maf_gps: 0.9 })).toBe('link.hole');
      expect(told({ voltage_v: 12 }, { voltage_v: 13.1 })).toBe('link.hole');
      expect(told({ voltage_v: 12, speed_kmh: 1 })).toBe('link.hole');
    });
    it('read more slowly, is told by readings as near as the next of their signal would come', () => {
      const slow = (fromS: number, toS: number, rpm: number): Reading[] =>
        every(0, Math.floor((toS - fromS) / 4)).map(
          (k): Reading => [
            fromS + 4 * k,
            ['speed_kmh', 'rpm', 'ect_c', 'map_kpa', 'iat_c'][k % 5]!,
            k % 5 === 0 ? 0 : k % 5 === 1 ? rpm : 90,
          ],
        );
      const kind = (restS: number) =>
        finding([...slow(0, 36 + restS, 800), ...slow(240, 300, 0)]).evidence[0]!.text.id;
      expect([kind(0), kind(16)]).toEqual(['link.key-off', 'link.key-off']);
      // A speed of longer ago than twice tells nothing of where it stood.
      const old: Reading[] = [[0, 'speed_kmh', 0], ...every(1, 16).map((t): Reading => [t, 'rpm', 800])];
      expect(finding([...old, ...slow(240, 300, 0)]).evidence[0]!.text.id).toBe('link.hole');
    });
    it('nor by readings that come long before or after', () => {
      const late: Reading[] = [
        ...every(220, 240).map((t): Reading => [t, 'voltage_v', 12.4]),
        ...drive(240, 400, 0, 0),
      ];
      expect(finding([...drive(0, 100, 800, 0), ...late]).measured!.value).toBe(120);
      const early: Reading[] = [
        ...drive(0, 80, 0, 0),
        ...every(81, 100).map((t): Reading => [t, 'voltage_v', 12]),
      ];
      expect(finding([...early, ...drive(220, 400, 0, 0)]).measured!.value).toBe(120);
    });
    it('of many silences each is counted by what it was', () => {
      const f = finding(
        Array.from({ length: 31 }, (_, k) => drive(k * 130, k * 130 + 10, k % 2 ? 800 : 0, 0)).flat(),
      );
      // The engine stood before or after each of them.
      expect(f).toMatchObject({ verdict: 'shown good', measured: { value: 0 } });
      expect(f.evidence.length).toBe(20);
    });
  });

  it('lists twenty holes and counts the rest', () => {
    const f = gapsOf(Array.from({ length: 31 }, (_, k) => k * 10));
    expect(f.evidence.length).toBe(20);
    expect(f.measured!.value).toBe(300);
    expect(f.pointsTo).toBeNull();
  });
});
