/** How an engine looks to be charged: each threshold from both sides. */
import { describe, expect, it } from 'vitest';
import { InductionWatch } from '../../src/analysis/boost/induction.ts';
import type { Stretch, StretchPoint } from '../../src/analysis/boost/stretches.ts';
import { BARO, pull } from './pulls.ts';

describe('induction', () => {
  const guess = (...pulls: readonly Stretch[]) => {
    const watch = new InductionWatch();
    for (const p of pulls) watch.stretch(p, BARO);
    return watch.guess()?.id.replace('boost.guess.', '') ?? null;
  };
  const gauge = (kpa: number, n = 6, more: Partial<StretchPoint> = {}) =>
    pull(n, () => ({ map: 100 + kpa, ...more }));
  it('is charged by 20 kPa in two pulls of a second at 80 % demand, one spike left out', () => {
    expect([19.9, 20].map((kpa) => guess(gauge(kpa), gauge(kpa)))).toEqual([null, 'turbo']);
    expect(guess(gauge(50))).toBeNull();
    expect([2, 3].map((n) => guess(gauge(50, n), gauge(50, n)))).toEqual([null, 'turbo']);
    expect([79.9, 80].map((demand) => guess(gauge(50, 6, { demand }), gauge(50, 6, { demand })))).toEqual([
      ...[null, 'turbo'],
    ]);
    expect(guess(gauge(50, 6, { frozen: true }), gauge(50, 6, { still: true }))).toBeNull();
    const spike = pull(6, (k) => ({ map: k === 3 ? 150 : 100 }));
    expect(guess(spike, spike)).toBeNull();
    const two = pull(6, (k) => ({ map: k < 2 ? 150 : 100 }));
    expect(guess(two, two)).toBe('turbo');
  });
  it('forgets what is older than fifty pulls', () => {
    const [charged, plain] = [gauge(50), gauge(0)];
    const then = (n: number) => guess(charged, charged, ...Array.from({ length: n }, () => plain));
    expect([48, 49].map(then)).toEqual(['turbo', null]);
  });
  it('is by a belt where two pulls answer within 0.7 s below 1700 rpm', () => {
    const answer = (errS: number, rpm: number, tipped = true) => {
      const p = pull(6, () => ({ map: 150, rpm }), tipped ? { atUs: 0, errS } : null);
      return guess(p, p);
    };
    expect([0.2, 0.21].map((err) => answer(err, 1500))).toEqual(['belt', 'turbo']);
    expect([1699, 1700].map((rpm) => answer(0.1, rpm))).toEqual(['belt', 'turbo']);
    expect(answer(0.1, 1500, false)).toBe('turbo');
    // Six tenths of the boost are its coming.
    const early = pull(8, (k) => ({ map: k === 0 ? 130 : 150, rpm: 1500 }));
    expect(guess(early, early)).toBe('belt');
    const late = pull(8, (k) => ({ map: k === 0 ? 129 : 150, rpm: 1500 }));
    expect(guess(late, late)).toBe('turbo');
  });
  it('is none where three pulls above 2500 rpm stay within 6 kPa and none goes beyond 20', () => {
    const plain = (kpa: number, rpm = 2501) => gauge(kpa, 6, { rpm });
    expect([6, 6.1].map((kpa) => guess(plain(kpa), plain(kpa), plain(kpa)))).toEqual(['none', null]);
    expect(guess(plain(0), plain(0))).toBeNull();
    expect(guess(plain(0), plain(0), plain(0, 2500))).toBeNull();
    expect(guess(plain(0), plain(0), plain(0), gauge(30))).toBeNull();
  });
});
