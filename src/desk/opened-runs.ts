/**
 * Recorded runs as the page wants them: read once, judged and thinned in the same pass, the last few kept. Nothing
 * of a run is held that grows with its length but the columns, and those are bounded.
 */
import { stat } from 'node:fs/promises';
import { basename, join } from 'node:path';
import { type Baseline, Judge, type Lesson, lessonOf } from '../analysis/judge.ts';
import type { BoostView, Judgement } from '../analysis/types.ts';
import type { Sample } from '../core/signals.ts';
import { MARKS_FILE, type MarkEdits, readMarkEdits, withEdits } from '../job/marks.ts';
import { sha256OfFile } from '../run/hash.ts';
import type { RunEntry } from '../run/library.ts';
import { COMPRESSED_FILE, captureOf, META_FILE } from '../run/meta.ts';
import { openRecording, type RecordingFacts, readRun } from '../run/recording.ts';
import type { During } from '../run/types.ts';
import { isPackedDamage, plainDigest } from '../run/unpack.ts';
import { spelled } from '../words/spelled.ts';
import type { ExpectedBand, RunTrail } from './api.ts';
import { Kept } from './kept.ts';
import { Decoded, digestOf, type KeptJudgements, keyOf } from './kept-judgement.ts';
import { SeriesKeeper } from './series-keeper.ts';
import { Trail } from './trail.ts';

export interface OpenedRun {
  readonly facts: RecordingFacts;
  readonly judgement: Judgement;
  readonly expected: readonly ExpectedBand[];
  readonly baroKpa: number | null;
  readonly corridor: RunTrail['corridor'];
  readonly baro: RunTrail['baro'];
  readonly demand: RunTrail['demand'];
  readonly map: BoostView['map'];
  /** For drawing. */
  columns(during: During): Promise<SeriesKeeper>;
}

/** What is kept beside the run. */
type Found = Pick<
  OpenedRun,
  'judgement' | 'expected' | 'baroKpa' | 'corridor' | 'baro' | 'demand' | 'map'
> & {
  readonly facts: Pick<RecordingFacts, 'marks' | 'gaps' | 'warnings'>;
};

/** Judges with what other runs taught; learning is done only when it is needed. */
export interface Taught {
  /** Which runs taught what: another key judges anew. */
  readonly key: string;
  value(during: During): Promise<Baseline>;
}

const KEPT = 3;

export class OpenedRuns {
  readonly #opened = new Kept<OpenedRun>(KEPT);
  readonly #columns = new Kept<SeriesKeeper>(KEPT);
  readonly #kept: KeptJudgements | null;

  /** @param kept where judgements are kept beside the runs; null: nowhere */
  constructor(kept: KeptJudgements | null = null) {
    this.#kept = kept;
  }

  /** @throws HandbackError input.file, input.format, input.version */
  async open(entry: RunEntry, taught: Taught | null = null, during?: During): Promise<OpenedRun> {
    const { folder } = entry;
    const key = [
      folder,
      taught?.key ?? '',
      await stampOf(join(folder, META_FILE)),
      await stampOf((await captureOf(folder)) ?? folder),
      await stampOf(join(folder, MARKS_FILE)),
    ].join('\n');
    return this.#opened.get(key, (d) => this.#open(entry, taught, key, d), during);
  }

  async #open(entry: RunEntry, taught: Taught | null, key: string, during: During): Promise<OpenedRun> {
    const { folder, meta } = entry;
    const whole = await this.#wholeDigest(entry);
    const edits = await readMarkEdits(folder);
    const under = keyOf([meta.id, whole, meta.profile, taught?.key ?? null, edits]);
    const judged = async (d: During): Promise<Judged> => {
      const now = await judgeRun(entry, (await taught?.value(d)) ?? null, edits, d);
      if (whole !== null && now.decoded !== null)
        await this.#kept?.write(folder, under, now.found, whole, now.decoded);
      return now;
    };
    const columns = (d: During): Promise<SeriesKeeper> =>
      this.#columns.get(
        key,
        async (every) => (await this.#drawn(folder, whole)) ?? (await judged(every)).columns,
        d,
      );
    const found = whole === null ? null : ((await this.#kept?.read(folder, under)) as Found | null);
    if (found) {
      const facts = { kind: 'run' as const, path: folder, meta, profile: meta.profile, ...found.facts };
      return { ...found, facts, columns };
    }
    const now = await judged(during);
    await this.#columns.get(key, async () => now.columns);
    return { ...now.found, facts: now.facts, columns };
  }

  /** What the run teaches; kept beside it as its judgement is. */
  async lesson(entry: RunEntry, during: During): Promise<Lesson> {
    const { folder, meta } = entry;
    const whole = await this.#wholeDigest(entry);
    const under = keyOf([meta.id, whole, meta.profile, 'teaches']);
    const known = whole === null ? null : ((await this.#kept?.read(folder, under)) as Lesson | null);
    if (known) return known;
    const { table } = await openRecording(folder, {}, during);
    const lesson = lessonOf(table, meta.profile ?? {});
    if (whole !== null) await this.#kept?.write(folder, under, lesson, whole, null);
    return lesson;
  }

  /** Null of a run that is being recorded, or is not as it was when it was closed: nothing is kept of it. */
  async #wholeDigest({ folder, meta }: RunEntry): Promise<string | null> {
    if (this.#kept === null || meta.sha256 === null) return null;
    const path = await captureOf(folder);
    if (path === null) return null;
    const now = await digestOf(path, () => this.#digestAt(folder, path, meta.sha256)).catch((e) => {
      if (isPackedDamage(e)) return null;
      throw e;
    });
    return now === meta.sha256 ? meta.sha256 : null;
  }

  /** A compressed capture of which these very bytes were unpacked before is known without unpacking it. */
  async #digestAt(folder: string, path: string, recorded: string | null): Promise<string> {
    if (basename(path) !== COMPRESSED_FILE) return plainDigest(path);
    const file = await sha256OfFile(path);
    const known = await this.#kept?.unpacksTo(folder, file);
    if (known) return known;
    const now = await plainDigest(path);
    // of nothing else than the run's own, and not of a file that was replaced meanwhile
    if (now === recorded && (await sha256OfFile(path)) === file)
      await this.#kept?.writeUnpacksTo(folder, file, now);
    return now;
  }

  async #drawn(folder: string, whole: string | null): Promise<SeriesKeeper | null> {
    const samples = whole === null ? null : await this.#kept?.samples(folder, whole);
    if (!samples) return null;
    const columns = new SeriesKeeper();
    for (const sample of samples) columns.push(sample);
    return columns;
  }
}

interface Judged {
  readonly facts: RecordingFacts;
  readonly found: Found;
  readonly columns: SeriesKeeper;
  /** Null where times were out of order: that is damage, and not kept. */
  readonly decoded: Decoded | null;
}

async function judgeRun(
  entry: RunEntry,
  baseline: Baseline | null,
  edits: MarkEdits,
  during: During,
): Promise<Judged> {
  const profile = entry.meta.profile ?? {};
  let pass = new Pass(new Judge(profile, baseline));
  let decoded: Decoded | null = new Decoded();
  let lastUs = Number.NEGATIVE_INFINITY;
  let facts: RecordingFacts = await readRun(
    entry.folder,
    (sample) => {
      if (sample.tUs < lastUs) decoded = null;
      lastUs = sample.tUs;
      if (decoded === null) return;
      decoded.push(sample);
      pass.push(sample);
    },
    during,
  );
  if (decoded === null) {
    // Damage can leave times out of order: such a file is sorted first, as every other command does.
    const { table, ...rest } = await openRecording(entry.folder, {}, during);
    facts = rest;
    pass = new Pass(new Judge(profile, baseline));
    for (const sample of table) pass.push(sample);
  }
  const { judge, columns, trail } = pass;
  const marks = facts.marks.map((m) => ({ tS: m.tUs / 1e6, key: m.key, text: m.text }));
  const { map } = judge.view().boost;
  judge.marked(withEdits(marks, edits).map((m) => m.text));
  trail.add(spelled(judge.view()));
  const learned = trail.whole();
  const found: Found = {
    facts: { marks: facts.marks, gaps: facts.gaps, warnings: facts.warnings },
    judgement: judge.finish(entry.meta.id),
    expected: judge.expectedBands(),
    baroKpa: judge.view().boost.baroKpa,
    corridor: learned.corridor,
    baro: learned.baro,
    demand: learned.demand,
    map,
  };
  return { facts, found, columns, decoded };
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
