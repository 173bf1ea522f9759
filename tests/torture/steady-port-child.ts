/**
 * Run as a program of its own by watched.ts: the steady car behind a pseudo-terminal, over serial-line CAN at 115200
 * bit/s as over a real line: a character takes 87 µs, the line of a frame 1.9 ms, and control units answer after 8 to
 * 16 ms. The usual request, for four values, takes about 20 ms there: asked without rest it brings 200 values a second.
 */
import { systemClock } from '../../src/core/clock.ts';
import { servePty } from '../../src/sim/bench.ts';
import { steadyCar } from './steady-car.ts';

const clock = systemClock;
const { port } = await servePty({
  vehicle: steadyCar(() => clock.nowUs() / 1e6),
  clock,
  front: 'slcan',
  pace: 115_200,
  responseMs: 8,
  jitterMs: 8,
});
process.stdout.write(`${JSON.stringify({ port })}\n`);
