import { defineConfig } from 'vitest/config';
import { PATIENCE_MS } from './tests/patience.ts';

/** They wait for real processes, terminals and browsers: one file at a time, after the rest, so that none starves. */
const REAL_TIME = [
  'tests/browser/**/*.test.ts',
  'tests/cli/**/*.test.ts',
  'tests/outside/**/*.test.ts',
  'tests/run/crash.test.ts',
  'tests/sim/bench.test.ts',
  'tests/link/**/*.test.ts',
];
const common = {
  pool: 'forks', // native serial bindings do not like worker threads
  // A wait inside a test ends first and names what did not come.
  testTimeout: 3 * PATIENCE_MS,
  hookTimeout: 3 * PATIENCE_MS,
  expect: { poll: { timeout: PATIENCE_MS, interval: 50 } },
} as const;

export default defineConfig({
  test: {
    maxWorkers: 2,
    projects: [
      {
        test: {
          ...common,
          name: 'logic',
          include: ['tests/**/*.test.ts'],
          exclude: REAL_TIME,
          sequence: { groupOrder: 1 },
        },
      },
      {
        test: {
          ...common,
          name: 'real time',
          include: REAL_TIME,
          fileParallelism: false,
          sequence: { groupOrder: 2 },
        },
      },
    ],
  },
});
