/** Runs a test file with one module replaced, as often as asked: what is not replaced stays loaded. */
import { createVitest } from 'vitest/node';
import { each } from '../../vitest.config.ts';
import type { AskedOfTests } from './tests.ts';

const ROOT = new URL('../..', import.meta.url).pathname;
let asked: AskedOfTests = { module: '', text: '', test: '' };

const vitest = await createVitest(
  'test',
  {
    ...{ ...each, config: false, root: ROOT, watch: false, reporters: [{}], include: ['tests/**/*.test.ts'] },
    ...{ maxWorkers: 1, bail: 1 },
  },
  {
    plugins: [
      {
        name: 'mutant',
        enforce: 'pre',
        load: (id: string) => (id.split('?')[0] === asked.module ? asked.text : null),
      },
    ],
  },
);

async function pass(): Promise<boolean> {
  const specs = await vitest.globTestSpecifications([asked.test]);
  const { testModules, unhandledErrors } = await vitest.runTestSpecifications(specs);
  // Files of earlier runs are told of as well.
  const ran = new Map(testModules.map((m) => [m.moduleId, m]));
  return unhandledErrors.length === 0 && specs.every((f) => ran.get(f.moduleId)?.ok() === true);
}

process.on('message', async (next: AskedOfTests) => {
  if (asked.module !== '') vitest.invalidateFile(asked.module);
  asked = next;
  vitest.invalidateFile(asked.module);
  process.send!(await pass().catch(() => false));
});
process.on('disconnect', () => process.exit());
