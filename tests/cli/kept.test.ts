/** Commands beside the library's own program: they take what is kept there, say the same without it, and leave what others hold alone. */
import { cpSync, existsSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { afterAll, beforeAll, beforeEach, describe, expect, it, vi } from 'vitest';
import { gatherOne, isGathered } from '../../src/cli/gather-one.ts';
import { isKept, type JudgeAsked, JudgeOne } from '../../src/cli/judge-one.ts';
import { gatherSheet } from '../../src/desk/gather-sheet.ts';
import { OpenedRuns } from '../../src/desk/opened-runs.ts';
import { csvParts } from '../../src/run/export.ts';
import { bringUpToDate, LIBRARY_FILE } from '../../src/run/library-format.ts';
import { lockLibrary } from '../../src/run/lock.ts';
import { CAPTURE_FILE, COMPARED_FILE, JUDGEMENT_FILE, SAMPLES_FILE } from '../../src/run/meta.ts';
import { scratch } from '../run/files.ts';
import { ROOT } from './program.ts';

const home = scratch();
const library = join(home, 'library');
const folder = join(library, 'run');
const FILES = [JUDGEMENT_FILE, SAMPLES_FILE, COMPARED_FILE];
const isThere = () => FILES.map((name) => existsSync(join(folder, name)));

let readings = 0;
let last = 1;
/** Counts how often a capture is begun. */
const during = {
  signal: new AbortController().signal,
  progress: (share: number) => {
    if (share <= last) readings++;
    last = share;
  },
};

const asked = (more: Partial<JudgeAsked> = {}): JudgeAsked => ({
  profile: null,
  stated: {},
  table: {},
  baseline: [],
  kind: [],
  out: null,
  ...more,
});
const judged = (more: Partial<JudgeAsked> = {}) => {
  const io = { progress: () => undefined, progressDone: () => undefined, during: () => during };
  return new JudgeOne(asked(more), io).judge({ path: folder, content: null }, during);
};
const sheet = () =>
  gatherSheet(folder, { tool: 'test', nowMs: 0, timeZone: 'UTC', during, opened: OpenedRuns.beside() });
const compared = () => gatherOne({ path: folder, table: {}, profile: {} }, during);

/** What the commands print is made of these. */
async function all() {
  readings = 0;
  const { table, ...facts } = await OpenedRuns.beside().recorded.at(folder, {}, during);
  const { judged: alone, warnings } = await judged();
  const found = {
    alone,
    warnings,
    under: await judged({ profile: { induction: 'naturally aspirated' } }),
    taught: await judged({ baseline: [folder], kind: [folder] }),
    exported: [...csvParts(table)].join(''),
    facts,
    compared: await compared(),
    sheet: await sheet(),
  };
  return { json: JSON.parse(JSON.stringify(found)), signals: found.compared.parts[0]!.signals, readings };
}

beforeAll(async () => {
  vi.stubEnv('XDG_CONFIG_HOME', join(home, 'settings'));
  cpSync(join(ROOT, 'captures', 'clutch-never-closes'), folder, { recursive: true });
  await bringUpToDate(library);
});
afterAll(() => vi.unstubAllEnvs());
beforeEach(() => {
  for (const name of FILES) rmSync(join(folder, name), { force: true });
});

describe('commands on a run of a library', () => {
  it('say the same to the last digit from what is kept as from the capture, and then do not read it', async () => {
    const anew = await all();
    expect(anew.readings).toBeGreaterThan(3);
    expect([await isKept(folder, asked()), await isGathered(folder, {})]).toEqual([true, true]);
    const kept = await all();
    expect(kept.readings).toBe(0);
    expect(kept.json).toEqual(anew.json);
    expect(kept.signals).toEqual(anew.signals);
    for (const name of FILES) rmSync(join(folder, name));
    expect((await all()).json).toEqual(anew.json);
  });

  it('believe nothing that is not of these very bytes', async () => {
    await sheet();
    await compared();
    expect(isThere()).toEqual([true, true, true]);
    const capture = join(folder, CAPTURE_FILE);
    const whole = readFileSync(capture, 'utf8');
    // a digit of an answer of the car
    const changed = whole.replace(' rx 35350D', ' rx 35360D');
    expect(changed).not.toBe(whole);
    writeFileSync(capture, changed);
    readings = 0;
    const ids = (await judged()).warnings.map((w) => w.id);
    expect([readings > 0, ids]).toEqual([true, expect.arrayContaining(['warn.changed'])]);
    expect((await sheet()).runs[0]!.check.ok).toBe(false);
    writeFileSync(capture, whole);
  });

  it('leave nothing in a library that somebody holds, nor in what is no library, and read the capture once', async () => {
    const once = async () => {
      readings = 0;
      const made = await sheet();
      await compared();
      expect(isThere()).toEqual([false, false, false]);
      return { made, readings };
    };
    const release = await lockLibrary(library);
    const held = await once();
    await release();
    const file = join(library, LIBRARY_FILE);
    const stamp = readFileSync(file);
    writeFileSync(file, JSON.stringify({ format: 'handback.library/999', by: '999.0' }));
    const later = await once();
    rmSync(file);
    const none = await once();
    writeFileSync(file, stamp);
    expect(later.made).toEqual(held.made);
    expect(none.made).toEqual(held.made);
    // for the sheet and for the comparison
    expect([held.readings, later.readings, none.readings]).toEqual([2, 2, 2]);
    await sheet();
    expect(isThere()).toEqual([true, true, false]);
  });
});
