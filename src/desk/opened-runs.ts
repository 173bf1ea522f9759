/**
 * Recorded runs as the page wants them: read once, judged and thinned in the same pass, the last few kept. Nothing
 * of a run is held that grows with its length but the columns, and those are bounded.
 */
import { stat } from 'node:fs/promises';
import { join } from 'node:path';
import { type Baseline, Judge } from '../analysis/judge.ts';
import type { BoostView, Judgement } from '../analysis/types.ts';
import type { Sample } from '../core/signals.ts';
import { MARKS_FILE, readMarkEdits, withEdits } from '../job/marks.ts';
import type { RunEntry } from '../run/library.ts';
import { CAPTURE_FILE, META_FILE } from '../run/meta.ts';
import { openRecording, type RecordingFacts, readRun } from '../run/recording.ts';
import type { During } from '../run/types.ts';
import { spelled } from '../words/spelled.ts';
import type { ExpectedBand, RunTrail } from './api.ts';
import { Kept } from './kept.ts';
import { SeriesKeeper } from './series-keeper.ts';
import { Trail } from './trail.ts';

export interface OpenedRun {
  readonly facts: RecordingFacts;
  readonly columns: SeriesKeeper;
  readonly judgement: Judgement;
  readonly expected: readonly ExpectedBand[];
  readonly corridor: RunTrail['corridor'];
  readonly map: BoostView['map'];
}

const KEPT = 3;

export class OpenedRuns {
  readonly #kept = new Kept<OpenedRun>(KEPT);

  /**
   * @param baseline taught by other runs of the vehicle; `key` says which, so that another baseline judges anew
   * @throws HandbackError input.file, input.format, input.version
   */
  async open(
    entry: RunEntry,
    baseline: { value: Baseline; key: string } | null = null,
    during?: During,
  ): Promise<OpenedRun> {
    const { folder } = entry;
    const key = [
      folder,
      baseline?.key ?? '',
      await stampOf(join(folder, META_FILE)),
      await stampOf(join(folder, CAPTURE_FILE)),
      await stampOf(join(folder, MARKS_FILE)),
    ].join('\n');
    return this.#kept.get(key, (d) => openRun(entry, baseline?.value ?? null, d), during);
  }
}

async function openRun(entry: RunEntry, baseline: Baseline | null, during: During): Promise<OpenedRun> {
  const profile = entry.meta.profile ?? {};
  let pass = new Pass(new Judge(profile, baseline));
  let lastUs = Number.NEGATIVE_INFINITY;
  let inOrder = true;
  let facts: RecordingFacts = await readRun(
    entry.folder,
    (sample) => {
      inOrder &&= sample.tUs >= lastUs;
      lastUs = sample.tUs;
      if (inOrder) pass.push(sample);
    },
    during,
  );
  if (!inOrder) {
    // Damage can leave times out of order: such a file is sorted first, as every other command does.
    const { table, ...rest } = await openRecording(entry.folder, {}, during);
    facts = rest;
    pass = new Pass(new Judge(profile, baseline));
    for (const sample of table) pass.push(sample);
  }
  const { judge, columns, trail } = pass;
  const marks = facts.marks.map((m) => ({ tS: m.tUs / 1e6, key: m.key, text: m.text }));
  const { map } = judge.view().boost;
  judge.marked(withEdits(marks, await readMarkEdits(entry.folder)).map((m) => m.text));
  return {
    facts,
    columns,
    judgement: judge.finish(entry.meta.id),
    expected: judge.expectedBands(),
    corridor: trail.whole().corridor,
    map,
  };
}

/** What changes slowly, the coolant corridor, is looked at so often. */
const LOOK_EVERY_US = 5e6;

class Pass {
  readonly judge: Judge;
  readonly columns = new SeriesKeeper();
  readonly trail = new Trail();
  #lookAtUs = 0;

  constructor(judge: Judge) {
    this.judge = judge;
  }

  push(sample: Sample): void {
    this.judge.push(sample);
    this.columns.push(sample);
    if (sample.tUs < this.#lookAtUs) return;
    this.#lookAtUs = sample.tUs + LOOK_EVERY_US;
    this.trail.add(spelled(this.judge.view()));
  }
}

async function stampOf(path: string): Promise<string> {
  const s = await stat(path).catch(() => null);
  return s ? `${s.ino} ${s.size} ${s.mtimeMs}` : 'none';
}
