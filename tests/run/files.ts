/** Temporary folders and drives made from formulas, for the tests of this layer. */
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, onTestFinished, TestRunner } from 'vitest';
import type { Sample } from '../../src/core/signals.ts';
import { SampleTable } from '../../src/signal/table.ts';

/** A folder that is gone after the test that asked for it, or after the file's tests where none of them runs. */
export function scratch(): string {
  const folder = mkdtempSync(join(tmpdir(), 'handback-run-'));
  const after = TestRunner.getCurrentTest() ? onTestFinished : afterAll;
  after(() => rmSync(folder, { recursive: true, force: true }));
  return folder;
}

export function put(folder: string, name: string, content: string | Uint8Array): string {
  const path = join(folder, name);
  writeFileSync(path, content);
  return path;
}

export function tableOf(samples: Iterable<Omit<Sample, 'sentUs'>>): SampleTable {
  const table = new SampleTable();
  for (const s of samples) table.push({ ...s, sentUs: s.tUs });
  return table;
}

export const plain = (table: SampleTable): [string, number, number][] =>
  [...table].map((s) => [s.signal, s.tUs, s.value]);
