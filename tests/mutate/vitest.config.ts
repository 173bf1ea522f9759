/** The tests with one module replaced: MUTATED names it, MUTANT holds the text that stands in its place. */
import { readFileSync } from 'node:fs';
import { defineConfig } from 'vitest/config';
import { BaseSequencer, type TestSpecification } from 'vitest/node';
import { each } from '../../vitest.config.ts';

const { MUTATED = '', MUTANT = '', IN_ORDER = '' } = process.env;
const order = IN_ORDER.split(' ');

/** As they are named. */
class InOrder extends BaseSequencer {
  override async sort(files: TestSpecification[]): Promise<TestSpecification[]> {
    const place = (f: TestSpecification): number => order.findIndex((test) => f.moduleId.endsWith(test));
    return files.sort((a, b) => place(a) - place(b));
  }
}

export default defineConfig({
  root: new URL('../..', import.meta.url).pathname,
  plugins: [
    {
      name: 'mutant',
      enforce: 'pre',
      load: (id: string) => (id.split('?')[0] === MUTATED ? readFileSync(MUTANT, 'utf8') : null),
    },
  ],
  test: {
    ...each,
    include: ['tests/**/*.test.ts'],
    maxWorkers: 1,
    bail: 1,
    sequence: { sequencer: InOrder },
  },
});
