import { defineConfig } from 'vitest/config';
import { PATIENCE_MS } from './tests/patience.ts';

export default defineConfig({
  test: {
    include: ['tests/**/*.test.ts'],
    setupFiles: ['tests/in-english.ts'],
    pool: 'forks', // native serial bindings do not like worker threads
    maxWorkers: 2,
    // A wait inside a test ends first and names what did not come.
    testTimeout: 3 * PATIENCE_MS,
    hookTimeout: 3 * PATIENCE_MS,
    expect: { poll: { timeout: PATIENCE_MS, interval: 50 } },
  },
});
