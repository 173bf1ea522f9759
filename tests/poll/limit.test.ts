/** The poller keeps the link busy: in simulated time, against a limit computed from bytes, frames and response time. */
import { describe, expect, it } from 'vitest';
import { planPids } from '../../src/poll/plan.ts';
import { bestPerSecond, type Config, leastMs, onePidAtATime, polled } from '../bench/poller.ts';

describe('poller', () => {
  it.each<Config & { gain: number }>([
    { front: 'slcan', baud: 1_000_000, responseMs: 20, gain: 4.5 },
    { front: 'at', baud: 115_200, responseMs: 5, gain: 4 },
    { front: 'at', baud: 38_400, responseMs: 50, gain: 4 },
  ])(
    'reaches 0.95 of the limit: $front at $baud, answers after $responseMs ms',
    async ({ gain, ...config }) => {
      const m = await polled(config, 2);
      expect(m.shareOfLimit).toBeGreaterThan(0.95);
      expect(m.shareOfLimit).toBeLessThan(1.02); // more would mean that the limit is computed wrongly
      expect(m.busy).toBeLessThan(1.02);
      expect(m.perSecond / (await onePidAtATime(config, 'addressed', 1))).toBeGreaterThan(gain);
      // Its own figure, from measured round trips, says the same, those with which other sizes were tried included.
      expect(m.ownLimit! / bestPerSecond(config)).toBeGreaterThan(0.88);
    },
  );

  it('the limit is the sum of its parts: one value over serial-line CAN', () => {
    const parts = 0.22 + (111 * 1.1) / 500 + 20 + (111 * 1.1) / 500 + 0.22;
    expect(leastMs({ front: 'slcan', baud: 1_000_000, responseMs: 20 }, [0x0b])).toBeCloseTo(parts, 9);
  });

  it('a choice that fits one request is asked as the fast ones are, except what changes slowly', () => {
    const supported = [0x04, 0x05, 0x0b, 0x0c, 0x0e];
    const fast = (wanted: string[]) =>
      planPids(wanted, supported, 0)
        .pids.filter((p) => p.restUs === 0)
        .map((p) => p.pid);
    expect(fast(['map_kpa', 'rpm', 'load_pct', 'timing_deg', 'ect_c'])).toEqual([0x0b, 0x0c, 0x04, 0x0e]);
  });
});
