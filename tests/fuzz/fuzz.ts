/** `npm run fuzz [-- COUNT [SEED]]`: a million spoilt lines, frames and messages; another seed each day finds more. */
import { fuzz } from './hostile.ts';

const count = Number(process.argv[2] ?? 1_000_000);
const seed = Number(process.argv[3] ?? 1);
const from = performance.now();
const done = fuzz(count, seed);
const seconds = (performance.now() - from) / 1000;
console.log(
  `${done.lines} lines, ${done.frames} frames and ${done.messages} messages read, seed ${seed}, ${seconds.toFixed(0)} s: nothing thrown, nothing invented, every next good answer read`,
);
