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
  it('lists twenty holes and counts the rest', () => {
    const f = gapsOf(Array.from({ length: 31 }, (_, k) => k * 10));
    expect(f.evidence.length).toBe(20);
    expect(f.measured!.value).toBe(300);
    expect(f.pointsTo).toBeNull();
  });
});
