/** What is kept beside an ended run: the same as judged anew, and never believed when anything about it is not as it was. */
import {
  appendFileSync,
  cpSync,
  existsSync,
  readFileSync,
  rmSync,
  truncateSync,
  writeFileSync,
} from 'node:fs';
import { basename, join, resolve } from 'node:path';
import { beforeAll, beforeEach, describe, expect, it } from 'vitest';
import { checkCaches } from '../../src/desk/check-caches.ts';
import { gatherSheet } from '../../src/desk/gather-sheet.ts';
import { KeptJudgements } from '../../src/desk/kept-judgement.ts';
import { type OpenedRun, OpenedRuns, type Taught } from '../../src/desk/opened-runs.ts';
import { check as checkBytes } from '../../src/run/check.ts';
import { compressRun } from '../../src/run/compress.ts';
import { sha256OfFile } from '../../src/run/hash.ts';
import { listRuns, type RunEntry } from '../../src/run/library.ts';
import { COMPARED_FILE, JUDGEMENT_FILE, SAMPLES_FILE } from '../../src/run/meta.ts';
import { Sealed } from '../../src/run/sealed.ts';
import { scratch } from '../run/files.ts';
import { alterCaches } from '../torture/caches.ts';
import { IN_FULL } from '../torture/compressed.ts';

const CAPTURE = join(resolve(import.meta.dirname, '../..'), 'captures', 'clutch-never-closes');
/** More by `npm run torture -- caches`. */
const ALTERATIONS = 800;

const home = scratch();
const library = join(home, 'library');
const settings = join(home, 'settings');
const folder = join(library, 'run');
const file = join(folder, JUDGEMENT_FILE);
let entry: RunEntry;
let fresh: Awaited<ReturnType<typeof seen>>;

/** What a page would see, and whether the capture was read for it. */
async function seen(opened: OpenedRuns, taught: Taught | null = null) {
  let read = false;
  const during = {
    signal: new AbortController().signal,
    progress: () => {
      read = true;
    },
  };
  const { columns, facts, ...rest }: OpenedRun = await opened.open(entry, taught, during);
  const series = (await columns(during)).series(1e9);
  return {
    read,
    view: JSON.parse(JSON.stringify({ ...rest, marks: facts.marks, gaps: facts.gaps, series })),
  };
}
const kept = (): KeptJudgements => new KeptJudgements(settings);

beforeAll(async () => {
  cpSync(CAPTURE, folder, { recursive: true });
  entry = (await listRuns(library)).runs[0]!;
  fresh = await seen(new OpenedRuns());
});
beforeEach(async () => {
  for (const name of [file, join(folder, SAMPLES_FILE)]) rmSync(name, { force: true });
  await seen(new OpenedRuns(kept()));
});

describe('a judgement kept beside its run', () => {
  it('is the one that reading the capture gives, to the last digit, without reading it', async () => {
    expect(fresh.read).toBe(true);
    const again = await seen(new OpenedRuns(kept()));
    expect(again.read).toBe(false);
    expect(again.view).toEqual(fresh.view);
  });

  it('keeps what the run teaches other cars of its kind, which is then learned without reading it', async () => {
    const teaches = async (opened: OpenedRuns) => {
      let read = false;
      const signal = new AbortController().signal;
      const lesson = await opened.lesson(entry, {
        signal,
        progress: () => {
          read = true;
        },
      });
      return { read, lesson };
    };
    const first = await teaches(new OpenedRuns(kept()));
    expect(first).toEqual({ read: false, lesson: (await teaches(new OpenedRuns())).lesson });
    expect(first.lesson.boost.pulls.length).toBeGreaterThan(0);
    expect(readFileSync(file, 'utf8')).toContain('"schema":"handback.boost-lesson/2"');
    expect(await teaches(new OpenedRuns(kept()))).toEqual({ ...first, read: false });
    // Beside its judgement, not instead of it.
    expect((await seen(new OpenedRuns(kept()))).read).toBe(false);
  });

  it('is not waited for by its curves: they are there while it is still being judged, and then stay what they are', async () => {
    for (const name of [file, join(folder, SAMPLES_FILE)]) rmSync(name);
    const opened = new OpenedRuns(kept());
    const during = { signal: new AbortController().signal, progress: () => undefined };
    let teach: () => void = () => undefined;
    const learned = new Promise<void>((done) => {
      teach = done;
    });
    const taught = { key: 'late', value: () => learned.then(() => ({ boost: null, coolant: null })) };
    const judged = opened.open(entry, taught, during);
    const early = (await opened.curves(entry, taught, during)).series(4000);
    expect(Object.keys(early).length).toBeGreaterThan(3);
    expect(existsSync(file)).toBe(false);
    teach();
    const whole = (await (await judged).columns(during)).series(4000);
    expect(early).toEqual(whole);
    for (const again of [opened, new OpenedRuns(kept())])
      expect((await again.curves(entry, taught, during)).series(4000)).toEqual(whole);
  });

  it('is made again when it, or the samples, are gone', async () => {
    for (const name of [file, join(folder, SAMPLES_FILE)]) {
      rmSync(name);
      const again = await seen(new OpenedRuns(kept()));
      expect([again.read, again.view]).toEqual([true, fresh.view]);
      expect(existsSync(name)).toBe(true);
      expect((await seen(new OpenedRuns(kept()))).read).toBe(false);
    }
  });

  it('is checked against the capture: as it was, altered, of elsewhere, and wrong under a right seal', async () => {
    const check = async (again: boolean, inSettings = settings) => {
      const checked = await checkCaches(await checkBytes(library), again, IN_FULL, inSettings);
      return Object.fromEntries(checked.map((c) => [basename(c.path), [c.state, c.says.id]]));
    };
    const sealed = ['agrees', 'check.cache.sealed'];
    const altered = ['not believed', 'check.cache.altered'];
    expect(await check(false)).toEqual({ [JUDGEMENT_FILE]: sealed, [SAMPLES_FILE]: sealed });
    const same = ['agrees', 'check.cache.same'];
    expect(await check(true)).toEqual({ [JUDGEMENT_FILE]: same, [SAMPLES_FILE]: same });
    expect((await check(true, join(home, 'other-user')))[JUDGEMENT_FILE]).toEqual(altered);

    const before = [file, join(folder, SAMPLES_FILE)].map((path) => ({ path, bytes: readFileSync(path) }));
    for (const { path, bytes } of before) {
      const spoilt = Buffer.from(bytes);
      spoilt[200] = spoilt[200]! ^ 1;
      writeFileSync(path, spoilt);
      expect((await check(true))[basename(path)]).toEqual(altered);
      writeFileSync(path, bytes);
    }
    const own = new Sealed(settings);
    const text = (await own.read(file))!;
    const wrong = text.replaceAll('fault shown', 'shown good');
    expect(wrong).not.toBe(text);
    await own.write(file, wrong);
    expect(await check(false)).toMatchObject({ [JUDGEMENT_FILE]: sealed });
    expect(await check(true)).toEqual({
      [JUDGEMENT_FILE]: ['disagrees', 'check.cache.other-found'],
      [SAMPLES_FILE]: same,
    });
    // another build decoded: its values are not believed, however well sealed
    await own.write(file, text.replace(/"of":"[0-9a-f]{8}/, '"of":"00000000'));
    expect((await check(true))[JUDGEMENT_FILE]).toEqual(['stale', 'check.cache.old']);
    expect(await kept().decoded(folder, entry.meta.sha256!)).toBeNull();
    expect((await seen(new OpenedRuns(kept()))).view).toEqual(fresh.view);
  });

  it('is said to agree only where more than its seal was looked at, and to be damaged only where it is', async () => {
    const check = async (again: boolean) => {
      const checked = await checkCaches(await checkBytes(library), again, IN_FULL, settings);
      return Object.fromEntries(checked.map((c) => [basename(c.path), [c.state, c.says.id]]));
    };
    const sealOnly = ['sealed', 'check.cache.seal-only'];
    const during = { signal: new AbortController().signal, progress: () => undefined };
    const profile = entry.meta.profile ?? {};
    await new OpenedRuns(kept()).gathered.of(entry, profile, during);
    expect(await check(false)).toMatchObject({ [COMPARED_FILE]: sealOnly });
    rmSync(join(folder, COMPARED_FILE));

    truncateSync(join(folder, SAMPLES_FILE), 2 ** 26 + 1);
    expect(await check(false)).toMatchObject({ [SAMPLES_FILE]: ['not believed', 'check.cache.large'] });

    // as after teaching or checking: entries, but no decoded values
    rmSync(join(folder, SAMPLES_FILE));
    const own = new Sealed(settings);
    const { samples: _, ...rest } = JSON.parse((await own.read(file))!);
    await own.write(file, JSON.stringify({ ...rest, samples: null }));
    expect(await check(false)).toEqual({ [JUDGEMENT_FILE]: sealOnly });
    expect(await check(true)).toEqual({ [JUDGEMENT_FILE]: ['agrees', 'check.cache.same'] });
    await own.write(file, JSON.stringify({ ...rest, samples: null, entries: [] }));
    writeFileSync(join(folder, SAMPLES_FILE), 'of anybody');
    expect(await check(true)).toEqual({
      [JUDGEMENT_FILE]: sealOnly,
      [SAMPLES_FILE]: ['not believed', 'check.cache.unvouched'],
    });
  });

  it('is not believed when the capture is not as it was, nor kept of such a one', async () => {
    const capture = join(folder, 'capture.txt');
    const whole = readFileSync(capture);
    appendFileSync(capture, '1 note "added"\n');
    const again = await seen(new OpenedRuns(kept()));
    expect(again.read).toBe(true);
    rmSync(file);
    await seen(new OpenedRuns(kept()));
    expect(existsSync(file)).toBe(false);
    writeFileSync(capture, whole);
  });

  it('is there of a compressed capture without unpacking it, and only of the very file that was unpacked', async () => {
    const compressed = join(folder, 'capture.txt.gz');
    const whole = readFileSync(join(folder, 'capture.txt'));
    expect((await compressRun(folder, IN_FULL)).is).toBe('compressed');
    expect(await kept().unpacksTo(folder, await sha256OfFile(compressed))).toBe(null);
    for (const _ of [1, 2]) {
      const again = await seen(new OpenedRuns(kept()));
      expect([again.read, again.view]).toEqual([false, fresh.view]);
      expect(await kept().unpacksTo(folder, await sha256OfFile(compressed))).toBe(entry.meta.sha256);
    }
    const packed = readFileSync(compressed);
    writeFileSync(compressed, packed.subarray(0, packed.length >> 1));
    const cut = await seen(new OpenedRuns(kept()));
    expect([cut.read, JSON.stringify(cut.view.series) === JSON.stringify(fresh.view.series)]).toEqual([
      true,
      false,
    ]);
    writeFileSync(compressed, packed);
    expect((await seen(new OpenedRuns(kept()))).read).toBe(false);
    rmSync(compressed);
    writeFileSync(join(folder, 'capture.txt'), whole);
  });

  it('is not believed under another profile, other marks, other teachers, or from another user', async () => {
    /** Judged anew, and that kept: from the samples, not from the capture. */
    const other = async (opened: OpenedRuns, taught: Taught | null = null) => {
      const whole = readFileSync(file);
      const now = await seen(opened, taught);
      return { anew: !readFileSync(file).equals(whole), ...now };
    };
    const before = entry;
    entry = { ...before, meta: { ...before.meta, profile: { induction: 'turbocharger' } } };
    const unread = { anew: true, read: false };
    expect(await other(new OpenedRuns(kept()))).toEqual({ ...(await seen(new OpenedRuns())), ...unread });
    entry = before;
    const marks = join(folder, 'marks.json');
    const edit = { tS: 1, key: 'N', text: 'noise', removed: false };
    writeFileSync(marks, JSON.stringify({ format: 'handback.marks/1', edits: [edit] }));
    expect(await other(new OpenedRuns(kept()))).toEqual({ ...(await seen(new OpenedRuns())), ...unread });
    rmSync(marks);
    const same = { anew: false, read: false };
    expect(await other(new OpenedRuns(kept()))).toMatchObject(same);
    const taught = { key: 'others', value: async () => ({ boost: null, coolant: null }) };
    expect(await other(new OpenedRuns(kept()), taught)).toMatchObject(unread);
    expect(await other(new OpenedRuns(kept()))).toMatchObject(same);
    const stranger = new OpenedRuns(new KeptJudgements(join(home, 'other-settings')));
    expect(await other(stranger)).toMatchObject({ anew: true, read: true });
  });

  it('gives a sheet and a comparison the same as the capture does, without reading it', async () => {
    let read = 0;
    const progress = () => {
      read++;
    };
    const during = { signal: new AbortController().signal, progress };
    const of = async (opened: OpenedRuns) => {
      const sheet = await gatherSheet(folder, {
        tool: 'test',
        nowMs: 0,
        timeZone: 'UTC',
        during,
        opened,
      });
      const answered = await opened.open(entry, null, during, ['noise gone: yes']);
      const { judgement, legs } = JSON.parse(JSON.stringify(answered));
      const gathered = await opened.gathered.of(entry, entry.meta.profile ?? {}, during);
      return { sheet, judgement, legs, gathered };
    };
    const plain = await of(new OpenedRuns());
    expect(read).toBeGreaterThan(0);
    await of(new OpenedRuns(kept()));
    read = 0;
    const again = await of(new OpenedRuns(kept()));
    expect(JSON.parse(JSON.stringify(again))).toEqual(JSON.parse(JSON.stringify(plain)));
    expect(again.gathered.signals).toEqual(plain.gathered.signals);
    expect(again.gathered.settledS).toEqual(plain.gathered.settledS);
    expect(plain.gathered.pulls.length).toBeGreaterThan(0);
    expect(read).toBe(0);
    // Of a file that somebody changed nothing is taken.
    const compared = join(folder, 'compared.sealed');
    writeFileSync(compared, readFileSync(compared, 'utf8').replace('"pulls":[', '"pulls":[ '));
    expect(await new OpenedRuns(kept()).gathered.of(entry, entry.meta.profile ?? {})).toEqual(plain.gathered);
  });

  it(`is never believed altered: ${ALTERATIONS} alterations of both files`, async () => {
    const { tried, believed } = await alterCaches(ALTERATIONS);
    expect(tried).toBeGreaterThan(0.9 * ALTERATIONS);
    expect(believed).toBe(0);
  });
});
