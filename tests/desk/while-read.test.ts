/** A run while it is read and judged: what can be drawn of it, who else asks for it, and that it is deleted meanwhile. */
import { cpSync, mkdirSync, readdirSync, readFileSync, renameSync, writeFileSync } from 'node:fs';
import { join, resolve } from 'node:path';
import { describe, expect, it } from 'vitest';
import type { SeriesView } from '../../src/desk/api.ts';
import { StoredRuns } from '../../src/desk/stored-runs.ts';
import { listRuns } from '../../src/run/library.ts';
import { scratch } from '../run/files.ts';

/** Driven so often over, a capture is read in some twenty chunks. */
const LAPS = 8;
/** All of them, of a run as short as this. */
const POINTS = 50_000;

function library(): string {
  const folder = join(scratch(), 'runs');
  const run = resolve(import.meta.dirname, '../../captures/clutch-never-closes');
  cpSync(run, join(folder, 'run'), { recursive: true });
  const [version, ...lines] = readFileSync(join(run, 'capture.txt'), 'utf8').trimEnd().split('\n');
  const timed = lines
    .filter((line) => !line.includes(' digest '))
    .map((line) => [Number.parseInt(line, 10), line.slice(line.indexOf(' '))] as const);
  const lapUs = timed.at(-1)![0] + 1e5;
  let text = `${version}\n`;
  for (let k = 0; k < LAPS; k++) for (const [tUs, rest] of timed) text += `${tUs + k * lapUs}${rest}\n`;
  writeFileSync(join(folder, 'run/capture.txt'), text);
  return folder;
}
const LIBRARY = library();
const ID = (await listRuns(LIBRARY)).runs[0]!.meta.id;

const during = (signal = new AbortController().signal) => ({ signal, progress: () => undefined });
const lengths = (series: SeriesView) => Object.values(series).reduce((n, { t }) => n + t.length, 0);

describe('a run that is being read', () => {
  it('shows what was read so far, then more, and says when that is all', async () => {
    const stored = new StoredRuns(LIBRARY, false);
    const afters = [0, 0.3, 0.6];
    const asked = afters.map((after) => stored.seriesPart(during(), ID, POINTS, after));
    const whole = stored.series(during(), ID, { points: POINTS });
    const parts = (await Promise.all(asked)).map((part) => part.value);
    const all = (await whole).value;
    let before = { share: 0, toS: 0, n: 0 };
    for (const [k, { share, toS, series }] of parts.entries()) {
      const n = lengths(series);
      expect(share).toBeGreaterThan(Math.max(before.share, afters[k]!));
      expect(toS).toBeGreaterThan(before.toS);
      expect(n).toBeGreaterThan(before.n);
      for (const [name, { t, v }] of Object.entries(series)) {
        expect(t).toEqual(all[name]!.t.slice(0, t.length));
        expect(v).toEqual(all[name]!.v.slice(0, v.length));
      }
      expect(toS).toBe(Math.max(...Object.values(series).map(({ t }) => t.at(-1)!)));
      before = { share, toS, n };
    }
    expect(before.share).toBeLessThan(1);
    expect(before.n).toBeLessThan(lengths(all));
    const rest = (await stored.seriesPart(during(), ID, POINTS, 0)).value;
    expect(rest).toEqual({ share: 1, toS: 0, series: {} });
  });

  it('is begun by whoever asks for a part, and may be given up', async () => {
    const stored = new StoredRuns(LIBRARY, false);
    expect((await stored.seriesPart(during(), ID, POINTS, 0)).value.share).toBeLessThan(1);
    const gone = new AbortController();
    const given = stored.seriesPart(during(gone.signal), ID, POINTS, 0.99);
    gone.abort(new Error('the page went away'));
    await expect(given).rejects.toThrow('the page went away');
  });
});

describe('a run that several look at, and that one of them deletes', () => {
  const all = (stored: StoredRuns, signal?: AbortSignal) => [
    stored.view(during(signal), ID).then((v) => v.value),
    stored.series(during(signal), ID, { points: POINTS }).then((s) => s.value),
  ];

  it('is there for who stays when the other leaves, while it is read and while it is judged', async () => {
    const alone = await Promise.all(all(new StoredRuns(LIBRARY, false)));
    for (const when of ['read', 'judged']) {
      const stored = new StoredRuns(LIBRARY, false);
      const gone = new AbortController();
      const [leaves, stays] = [all(stored, gone.signal), all(stored)];
      const left = Promise.allSettled(leaves);
      if (when === 'read') await stored.seriesPart(during(), ID, POINTS, 0.2);
      else await leaves[1];
      gone.abort(new Error('the page went away'));
      expect(await Promise.all(stays)).toEqual(alone);
      expect((await left)[0]).toMatchObject({ status: 'rejected' });
    }
  });

  it.each(['read', 'judged'])(
    'is answered when it is deleted while it is %s, and nothing is left in its place',
    async (when) => {
      const folder = library();
      const stored = new StoredRuns(folder, true);
      const answers = Promise.all(all(stored));
      if (when === 'read') await stored.seriesPart(during(), ID, POINTS, 0.2);
      else await stored.series(during(), ID, { points: 10 });
      mkdirSync(join(folder, '.bin'));
      renameSync(join(folder, 'run'), join(folder, '.bin', 'run'));
      const [view, series] = await answers;
      expect([view, series]).toEqual(await Promise.all(all(new StoredRuns(LIBRARY, false))));
      expect(readdirSync(folder)).toEqual(['.bin']);
      expect(readdirSync(join(folder, '.bin', 'run')).sort()).toEqual(['capture.txt', 'run.json']);
      await expect(stored.view(during(), ID)).rejects.toMatchObject({ code: 'library.path' });
      renameSync(join(folder, '.bin', 'run'), join(folder, 'run'));
      expect((await stored.view(during(), ID)).value).toEqual(view);
    },
  );
});
