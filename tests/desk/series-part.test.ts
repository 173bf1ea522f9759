/** What can be drawn of a run while its capture is still being read. */
import { cpSync, readFileSync, writeFileSync } from 'node:fs';
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
