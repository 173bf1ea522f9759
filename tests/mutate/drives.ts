/** Whether the drives of tests/judged are judged otherwise when a module of src/analysis is changed: in a moment, since they are held ready. */
import { type ChildProcess, fork } from 'node:child_process';
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join, resolve } from 'node:path';
import { build } from 'vite';

const JUDGE = resolve(import.meta.dirname, '../../src/analysis/judge.ts');
/** A judge that has not come to an end by then goes round in circles. */
const LIMIT_MS = 300_000;

/** What became of the drives: one is judged otherwise, none is, or it took too long. */
export type Judged = { readonly otherwise: string } | 'as before' | 'too long';

export class HeldDrives {
  #worker: ChildProcess | null = null;
  readonly #folder = mkdtempSync(join(tmpdir(), 'handback-judges-'));
  #n = 0;

  /** @param module absolute path; @param text what stands in its place */
  async judge(module: string, text: string): Promise<Judged> {
    const path = join(this.#folder, `${this.#n++}.mjs`);
    try {
      writeFileSync(path, await bundled(module, text));
    } catch {
      return { otherwise: 'it cannot be built' };
    }
    this.#worker ??= fork(join(import.meta.dirname, 'drives-worker.ts'));
    const worker = this.#worker;
    return new Promise((done) => {
      const timer = setTimeout(() => {
        worker.kill('SIGKILL');
        this.#worker = null;
        done('too long');
      }, LIMIT_MS);
      worker.once('message', (judged: Judged) => {
        clearTimeout(timer);
        done(judged);
      });
      worker.send(path);
    });
  }

  close(): void {
    this.#worker?.kill();
    rmSync(this.#folder, { recursive: true });
  }
}

/** The judge and all that it imports as one module. */
async function bundled(module: string, text: string): Promise<string> {
  const built = await build({
    configFile: false,
    logLevel: 'silent',
    plugins: [
      {
        name: 'mutant',
        enforce: 'pre',
        load: (id: string) => (id.split('?')[0] === module ? text : null),
      },
    ],
    ssr: { noExternal: true },
    build: { ssr: JUDGE, write: false, minify: false, target: 'node20' },
  });
  if (!('output' in built)) throw new Error('one module was expected');
  return built.output[0].code;
}
