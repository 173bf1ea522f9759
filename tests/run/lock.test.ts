/** A lock is held from the moment its file is there, whatever its holder is still busy with. */
import { mkdtempSync, readdirSync, rmSync } from 'node:fs';
import fs from 'node:fs/promises';
import { syncBuiltinESMExports } from 'node:module';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, expect, it } from 'vitest';
import { lockKinds } from '../../src/run/lock.ts';

const folder = mkdtempSync(join(tmpdir(), 'handback-lock-'));
const { rm } = fs;
const removing = (as: typeof rm): void => {
  fs.rm = as;
  // Whoever has imported it by name gets it, too.
  syncBuiltinESMExports();
};
afterEach(() => {
  removing(rm);
  rmSync(folder, { recursive: true, force: true });
});

it('is nobody else’s while its holder still clears up behind the file', async () => {
  let goOn = (): void => {};
  const held = new Promise<void>((resolve) => {
    goOn = resolve;
  });
  let first: Promise<() => Promise<void>> | null = null;
  await new Promise<void>((reached) => {
    removing(async (path, options) => {
      reached();
      await held;
      return rm(path, options);
    });
    first = lockKinds(folder);
  });
  removing(rm);
  await expect(lockKinds(folder)).rejects.toMatchObject({ code: 'run.busy' });
  goOn();
  await (await first!)();
  expect(readdirSync(folder)).toEqual([]);
  await (await lockKinds(folder))();
});
