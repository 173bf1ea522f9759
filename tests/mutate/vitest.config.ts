/** The tests with one module replaced: MUTATED names it, MUTANT holds the text that stands in its place. */
import { readFileSync } from 'node:fs';
import { defineConfig } from 'vitest/config';
import { each } from '../../vitest.config.ts';

const { MUTATED = '', MUTANT = '' } = process.env;

export default defineConfig({
  root: new URL('../..', import.meta.url).pathname,
  plugins: [
    {
      name: 'mutant',
      enforce: 'pre',
      load: (id: string) => (id.split('?')[0] === MUTATED ? readFileSync(MUTANT, 'utf8') : null),
    },
  ],
  test: { ...each, include: ['tests/**/*.test.ts'], maxWorkers: 1, bail: 1 },
});
