/** The index of a library: the same lists with it as without, and never believed when anything about it is not as it was. */
import {
  cpSync,
  existsSync,
  mkdirSync,
  readdirSync,
  readFileSync,
  renameSync,
  rmSync,
  statSync,
  writeFileSync,
} from 'node:fs';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, it, vi } from 'vitest';
import { ManualClock } from '../../src/core/clock.ts';
import { createRun } from '../../src/run/library.ts';
import { bringUpToDate, LIBRARY_FILE } from '../../src/run/library-format.ts';
import { META_FILE, type RunMeta, readMeta, writeMeta } from '../../src/run/meta.ts';
import { ReadDocuments } from '../../src/run/read-documents.ts';
import { Sealed } from '../../src/run/sealed.ts';
import { alterIndex } from '../torture/caches.ts';
import { scratch } from './files.ts';

const RUNS = 20;
/** More by `npm run torture -- caches`. */
const ALTERATIONS = 500;
const INDEX = 'runs.index';

const home = scratch();
const library = join(home, 'library');
const settings = join(home, 'settings');
const index = join(library, INDEX);
const folders = Array.from({ length: RUNS }, (_, i) => join(library, `run-${i}`));

/** What a program that starts now knows, and which files it read for that. */
function program(inSettings = settings) {
  const read: string[] = [];
  const documents = new ReadDocuments<RunMeta>(
    (folder) => {
      read.push(folder);
      return readMeta(folder);
    },
    INDEX,
    inSettings,
  );
  const list = async (root = library) => {
    await documents.open(root);
    const all = folders.map((f) => f.replace(library, root));
    return Promise.all(all.map((f) => documents.in(f, META_FILE)));
  };
  return { read, documents, list };
}

const onDisk = () => Promise.all(folders.map(readMeta));

beforeEach(async () => {
  // files that were just written are read again until their times are told apart
  vi.useFakeTimers({ toFake: ['Date'], now: Date.now() + 3.6e6 }); // however long it takes to write them
  mkdirSync(library);
  await bringUpToDate(library);
  for (const [i, folder] of folders.entries()) {
    const clock = new ManualClock(0, Date.UTC(2026, 0, 1) + i * 3.6e6);
    const run = await createRun({ where: { folder }, purpose: 'other', tool: 'test', clock });
    run.capture.sample({ signal: 'rpm', tUs: 1000, sentUs: 0, value: 800 });
    await run.close();
  }
  const first = program();
  await first.list();
  expect(first.read).toHaveLength(RUNS);
  await first.documents.leave(library, folders);
});
afterEach(() => {
  vi.useRealTimers();
  rmSync(library, { recursive: true, force: true });
});

describe('the index of a library', () => {
  it('is checked against every file: as it was left, stale, tampered, of elsewhere, missing, and wrong under a right seal', async () => {
    const check = async () => {
      const { state, says } = await program().documents.check(library, folders, META_FILE);
      return { state, ...says.args };
    };
    expect(await check()).toEqual({ state: 'agrees', n: RUNS });
    const meta = await readMeta(folders[0]!);
    await writeMeta(folders[0]!, { ...meta, vehicle: 'Another' });
    expect(await check()).toEqual({ state: 'stale', n: 1, agree: RUNS - 1 });
    rmSync(folders[1]!, { recursive: true });
    const there = folders.filter((_, i) => i !== 1);
    expect((await program().documents.check(library, there, META_FILE)).says.args).toEqual({
      n: 2,
      agree: RUNS - 2,
    });

    const bytes = readFileSync(index);
    for (const at of [0, 70, bytes.length - 2]) {
      const spoilt = Buffer.from(bytes);
      spoilt[at] = spoilt[at]! ^ 1;
      writeFileSync(index, spoilt);
      expect(await check()).toEqual({ state: 'not believed' });
    }
    writeFileSync(index, bytes);
    expect((await program(join(home, 'other-user')).documents.check(library, folders, META_FILE)).state).toBe(
      'not believed',
    );

    // what no defence but this finds: the program itself wrote something else than the file holds
    const sealed = new Sealed(settings);
    const text = (await sealed.read(index))!;
    const wrong = text.replaceAll('"tool":"test"', '"tool":"toast"');
    expect(wrong).not.toBe(text);
    await sealed.write(index, wrong);
    expect(await check()).toEqual({ state: 'disagrees', n: RUNS - 2 });
    await sealed.write(index, text.replace('runs.index', 'jobs.index'));
    expect((await check()).state).toBe('not believed');
    rmSync(index);
    expect(await check()).toEqual({ state: 'absent' });
  });

  it('agrees with the files, and none of them is read again', async () => {
    const later = program();
    expect(await later.list()).toEqual(await onDisk());
    expect(later.read).toEqual([]);
  });

  it('is not believed of a file that changed, and of no other is anything read', async () => {
    await writeMeta(folders[3]!, { ...(await readMeta(folders[3]!)), vehicle: 'Another Estate' });
    rmSync(folders[5]!, { recursive: true });
    const later = program();
    const listed = await later.list();
    expect(listed[3]?.vehicle).toBe('Another Estate');
    expect(listed[5]).toBeNull();
    expect(later.read).toEqual([folders[3]]);
  });

  it('is not believed of a file younger than a step of the clock of its file system', async () => {
    rmSync(index);
    const first = program();
    vi.setSystemTime(statSync(join(folders[0]!, META_FILE)).ctimeMs + 1000);
    await first.list();
    await first.list();
    expect(first.read.filter((f) => f === folders[0])).toHaveLength(2);
  });

  it('is not believed altered anywhere', async () => {
    const { tried, believed } = await alterIndex(ALTERATIONS);
    expect(tried).toBeGreaterThan(0.9 * ALTERATIONS);
    expect(believed).toBe(0);
  });

  it('is not believed from another user, under another name, or from another library', async () => {
    const other = program(join(home, 'other-settings'));
    await other.list();
    expect(other.read).toHaveLength(RUNS);

    const elsewhere = join(home, 'elsewhere');
    cpSync(library, elsewhere, { recursive: true });
    const copied = program();
    await copied.list(elsewhere);
    expect(copied.read).toHaveLength(RUNS);
    rmSync(elsewhere, { recursive: true });

    renameSync(index, join(library, 'jobs.index'));
    let read = 0;
    const counting = new ReadDocuments<RunMeta>(
      (f) => {
        read++;
        return readMeta(f);
      },
      'jobs.index',
      settings,
    );
    await counting.open(library);
    await counting.in(folders[0]!, META_FILE);
    expect(read).toBe(1);
  });

  it('is made anew when it was not to be believed, and only in a library that may be written', async () => {
    writeFileSync(index, 'nothing of ours\n');
    const later = program();
    await later.list();
    await later.documents.leave(library, folders);
    const again = program();
    await again.list();
    expect(again.read).toEqual([]);

    const stamp = join(library, LIBRARY_FILE);
    rmSync(index);
    writeFileSync(stamp, JSON.stringify({ format: 'handback.library/99', by: '99.0.0' }));
    const older = program();
    expect(await older.list()).toEqual(await onDisk());
    await older.documents.leave(library, folders);
    rmSync(stamp);
    await older.documents.leave(library, folders);
    expect(existsSync(index)).toBe(false);
    expect(readdirSync(library).filter((n) => n.endsWith('.tmp'))).toEqual([]);
  });
});
