import { spawn } from 'node:child_process';
import { once } from 'node:events';
import { appendFileSync } from 'node:fs';
import { join, resolve } from 'node:path';
import { expect, it } from 'vitest';
import { readCapture } from '../../src/run/capture/read.ts';
import { check } from '../../src/run/check.ts';
import { listRuns, recoverRun } from '../../src/run/library.ts';
import { scratch } from './files.ts';

/** Payloads of the rx lines, which the writer numbered. */
async function numbers(folder: string): Promise<number[]> {
  const out: number[] = [];
  for await (const items of readCapture(join(folder, 'capture.txt')))
    for (const i of items)
      if (i.is === 'record' && i.record.kind === 'rx')
        out.push(Number(Buffer.from(i.record.bytes).toString()));
  return out;
}

it('a killed recording keeps all that was said to be on disk, and is recovered', async () => {
  const library = scratch();
  const folder = join(library, 'run');
  const child = spawn(
    process.execPath,
    ['--import', 'tsx', resolve(import.meta.dirname, 'killed-writer.ts'), folder],
    { stdio: ['ignore', 'pipe', 'inherit'] },
  );
  let promised = 0;
  let syncs = 0;
  let partial = '';
  child.stdout.on('data', (text: Buffer) => {
    const lines = (partial + text.toString()).split('\n');
    partial = lines.pop() ?? '';
    for (const line of lines) promised = Number(line);
    syncs += lines.length;
    if (syncs >= 3) child.kill('SIGKILL');
  });
  await once(child, 'close');
  expect(child.signalCode).toBe('SIGKILL');
  expect(promised).toBeGreaterThan(20);

  appendFileSync(join(folder, 'capture.txt'), '99 rx 3'); // a kill may well tear a line
  const kept = await numbers(folder);
  expect(kept).toEqual(Array.from(kept, (_, i) => i));
  expect(kept.length).toBeGreaterThanOrEqual(promised);

  expect((await listRuns(library)).runs).toMatchObject([{ folder, leftOpen: true }]);
  const meta = await recoverRun(folder);
  expect(meta).toMatchObject({ recovered: true });
  expect(await numbers(folder)).toEqual(kept);
  expect(await check(library)).toMatchObject({ ok: true, items: [{ hash: 'matches', tornTail: false }] });
});
