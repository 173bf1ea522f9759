/**
 * Run as a program of its own by watched.ts: the steady car behind a pseudo-terminal. However fast the machine is, 200
 * values a second: its answers are due at even times, a little earlier while values are missing.
 */
import { systemClock } from '../../src/core/clock.ts';
import { splitCurrentData } from '../../src/j1979/split.ts';
import { servePty } from '../../src/sim/bench.ts';
import { steadyCar } from './steady-car.ts';

const VALUES_A_SECOND = 200;
/** As many values as an answer mostly has, over this dialect; asking for fewer brings it no sooner, so that it never pays. */
const USUAL = 3;
const EVERY_US = (USUAL * 1e6) / VALUES_A_SECOND;
/** Of what is missing, made good with each answer; and the shortest that an answer takes. */
const MADE_GOOD = 0.05;
const LEAST_US = 2000;
/** A silence as long as this is a pause: what was not asked in it is not made good. */
const PAUSE_US = 1e6;

const clock = systemClock;
let lastUs = Number.NEGATIVE_INFINITY;
/** How far the values are behind: time in which they were due. */
let behindUs = 0;
const { port } = await servePty({
  vehicle: steadyCar(() => clock.nowUs() / 1e6),
  clock,
  front: 'slcan',
  pace: null,
  responseMs: LEAST_US / 1000,
  jitterMs: 0,
  late: {
    share: 1,
    get ms() {
      const dueUs = lastUs + EVERY_US - MADE_GOOD * behindUs;
      return Math.max(0, dueUs - clock.nowUs() - LEAST_US) / 1000;
    },
  },
  onAnswer({ tUs, request, response, functional }) {
    const split = functional ? null : splitCurrentData(response, request.subarray(1));
    if (!split?.ok) return;
    const sinceUs = Math.min(tUs - lastUs, PAUSE_US);
    behindUs = sinceUs === PAUSE_US ? 0 : behindUs + sinceUs - (1e6 * split.parts.length) / VALUES_A_SECOND;
    lastUs = tUs;
  },
});
process.stdout.write(`${JSON.stringify({ port })}\n`);
