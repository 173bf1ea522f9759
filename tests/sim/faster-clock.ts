import type { Clock } from '../../src/core/clock.ts';

/**
 * A clock that runs `factor` times as fast. Given to simulation and recorder alike, a drive takes less time and
 * every slope stays right; `speedup` instead lets the vehicle alone run ahead of a recorder in ordinary time.
 */
export function fasterClock(clock: Clock, factor: number): Clock {
  const startUs = clock.nowUs();
  const startMs = clock.wallMs();
  return {
    nowUs: () => startUs + Math.round((clock.nowUs() - startUs) * factor),
    wallMs: () => startMs + (clock.wallMs() - startMs) * factor,
    after: (ms, fn) => clock.after(ms / factor, fn),
  };
}
