/** A lock is held from the moment its file is there, whatever its holder is still busy with. */
import { mkdtempSync, readdirSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, expect, it, vi } from 'vitest';
import { lockKinds } from '../../src/run/lock.ts';

const slow = vi.hoisted(() => ({ reached: () => {}, until: Promise.resolve() }));
vi.mock('node:fs/promises', async (original) => {
  const fs = await original<typeof import('node:fs/promises')>();
  return {
    ...fs,
    rm: async (path: string, options: object) => {
      if (path.endsWith('.tmp')) {
        slow.reached();
        await slow.until;
      }
      return fs.rm(path, options);
    },
  };
});

const folder = mkdtempSync(join(tmpdir(), 'handback-lock-'));
afterEach(() => rmSync(folder, { recursive: true, force: true }));

it('is nobody else’s while its holder still clears up behind the file', async () => {
  let goOn = (): void => {};
  slow.until = new Promise((resolve) => {
    goOn = resolve;
  });
  const there = new Promise<void>((resolve) => {
    slow.reached = resolve;
  });
  const first = lockKinds(folder);
  await there;
  const second = lockKinds(folder);
  slow.reached = () => {};
  slow.until = Promise.resolve();
  await expect(second).rejects.toMatchObject({ code: 'run.busy' });
  goOn();
  await (await first)();
  expect(readdirSync(folder)).toEqual([]);
  await (await lockKinds(folder))();
});
