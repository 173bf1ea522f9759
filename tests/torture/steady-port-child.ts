/** Run as a program of its own by watched.ts: the steady car behind a pseudo-terminal, about 200 values a second. */
import { systemClock } from '../../src/core/clock.ts';
import { servePty } from '../../src/sim/bench.ts';
import { steadyCar } from './steady-car.ts';

const { port } = await servePty({
  vehicle: steadyCar(() => systemClock.nowUs() / 1e6),
  clock: systemClock,
  front: 'slcan',
  pace: null,
  responseMs: Number(process.argv[2] ?? 7),
  jitterMs: 4,
});
process.stdout.write(`${JSON.stringify({ port })}\n`);
