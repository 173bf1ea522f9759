import { defineConfig } from 'vitest/config';

export default defineConfig({
  test: {
    include: ['tests/**/*.test.ts'],
    pool: 'forks', // native serial bindings do not like worker threads
    maxWorkers: 2,
    testTimeout: 120_000,
    expect: { poll: { timeout: 20_000, interval: 50 } }, // a busy machine may take seconds for one step of a page
  },
});
