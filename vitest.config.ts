import { join, resolve } from 'node:path';
import type { Plugin } from 'vite';
import { defineConfig } from 'vitest/config';
import { BaseSequencer, type TestSpecification } from 'vitest/node';
import { PATIENCE_MS } from './tests/patience.ts';

const ROOT = import.meta.dirname;
const SRC = join(ROOT, 'src/');

/**
 * `npm test` has just built the program and says so with HANDBACK_BUILT=1: tests then load what was built, as it ships,
 * and nobody transforms each module once more. Otherwise they load the sources.
 */
const built: Plugin = {
  name: 'built',
  enforce: 'pre',
  resolveId(id, importer) {
    if (!importer || !/^\.{1,2}\/.*\.ts$/.test(id)) return null;
    const path = resolve(importer, '..', id);
    if (!path.startsWith(SRC)) return null;
    return { id: join(ROOT, 'dist/src', path.slice(SRC.length).replace(/ts$/, 'js')), external: true };
  },
};

/** Those that take longest begin first, so that none is left alone at the end. */
const LONG = [
  ...['browser/page', 'torture/torture', 'browser/road-test', 'browser/languages', 'run/units'],
  ...['desk/live-kept', 'browser/jobs', 'outside/sheet', 'judged/judged', 'run/compressed'],
  ...['desk/jobs', 'desk/kind-teaching', 'analysis/legs-and-findings', 'browser/read-only'],
  ...['browser/drafts', 'analysis/judge', 'desk/quiet-work', 'pool/pool', 'desk/bounded'],
  ...['cli/cli', 'sim/vehicle/faults', 'cli/side-by-side', 'analysis/fewer-signals', 'cli/tables'],
  ...['sheet/sheet', 'analysis/boost', 'poll/simulated', 'outside/network', 'job/archive'],
  ...['poll/newer', 'outside/drives', 'analysis/kind', 'cli/jobs', 'browser/chart'],
  ...['desk/kept-judgement', 'sim/vehicle/vehicle', 'sheet/whole-text', 'desk/daemon'],
  ...['poll/quirks', 'desk/reading-room', 'poll/ugly'],
].map((name) => join(ROOT, 'tests', `${name}.test.ts`));

class LongFirst extends BaseSequencer {
  override async sort(files: TestSpecification[]): Promise<TestSpecification[]> {
    const rank = new Map(LONG.map((path, i) => [path, i]));
    const rankOf = (file: TestSpecification): number => rank.get(file.moduleId) ?? LONG.length;
    return (await super.sort(files)).sort((a, b) => rankOf(a) - rankOf(b));
  }
}

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
  plugins: process.env.HANDBACK_BUILT === '1' ? [built] : [],
  test: {
    ...each,
    include: ['tests/**/*.test.ts'],
    // A test leaves nothing behind: files share processes, which load what they import once.
    isolate: false,
    // One more than two processors: a test often waits for a browser, a child or the disk.
    maxWorkers: 3,
    sequence: { sequencer: LongFirst },
    server: { deps: { external: [/\/dist\/src\//] } },
  },
});
