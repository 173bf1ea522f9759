/** Runs test files with one module replaced, as often as asked: what is not replaced stays loaded. */
import { BaseSequencer, createVitest, type TestSpecification } from 'vitest/node';
import { each } from '../../vitest.config.ts';
import type { AskedOfTests } from './tests.ts';

const ROOT = new URL('../..', import.meta.url).pathname;
let asked: AskedOfTests = { module: '', text: '', tests: [] };

/** As they are named: the likeliest to notice first. */
class InOrder extends BaseSequencer {
  override async sort(files: TestSpecification[]): Promise<TestSpecification[]> {
    const place = (f: TestSpecification): number =>
      asked.tests.findIndex((test) => f.moduleId.endsWith(test));
    return files.sort((a, b) => place(a) - place(b));
  }
}

const vitest = await createVitest(
  'test',
  {
    ...{ ...each, config: false, root: ROOT, watch: false, reporters: [{}], include: ['tests/**/*.test.ts'] },
    ...{ maxWorkers: 1, bail: 1, sequence: { sequencer: InOrder } },
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
  const specs = await vitest.globTestSpecifications([...asked.tests]);
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
