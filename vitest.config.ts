import { configDefaults, defineConfig } from 'vitest/config';
import { PATIENCE_MS } from './tests/patience.ts';

/** Rooms whose tests share nothing but what they import: their files run in one process, which loads it once. */
const TOGETHER = [
  ...['core', 'adapter', 'isotp', 'j1979', 'nmea', 'words', 'web', 'sim', 'link', 'compare', 'conformance'],
  ...['job', 'sheet', 'analysis', 'poll'],
].map((room) => `tests/${room}/**/*.test.ts`);

/** What every test runs under. */
export const each = {
  setupFiles: ['tests/in-english.ts'],
  pool: 'forks' as const, // native serial bindings do not like worker threads
  // A wait inside a test ends first and names what did not come.
  testTimeout: 3 * PATIENCE_MS,
  hookTimeout: 3 * PATIENCE_MS,
  expect: { poll: { timeout: PATIENCE_MS, interval: 50 } },
};

export default defineConfig({
  test: {
    maxWorkers: 2,
    projects: [
      {
        test: {
          ...each,
          name: 'apart',
          include: ['tests/**/*.test.ts'],
          exclude: [...configDefaults.exclude, ...TOGETHER],
        },
      },
      { test: { ...each, name: 'together', include: TOGETHER, isolate: false } },
    ],
  },
});
