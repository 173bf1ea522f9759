/**
 * Recorded runs as the page wants them: read once, and thinned while they are read, so that they can be drawn before they
 * are judged; the last few kept. Nothing of a run is held that grows with its length but the columns, which are bounded,
 * and, packed, what was decoded until it is judged.
 */
import { stat } from 'node:fs/promises';
import { basename, join } from 'node:path';
import { type Baseline, type Lesson, lessonOf } from '../analysis/judge.ts';
import { say } from '../core/check-says.ts';
import type { Profile } from '../core/profile.ts';
import { MARKS_FILE, readMarkEdits } from '../job/marks.ts';
import { type CheckedItem, check } from '../run/check.ts';
import { sha256OfFile } from '../run/hash.ts';
import type { RunEntry } from '../run/library.ts';
import { isFreeToKeep } from '../run/library-format.ts';
import { COMPARED_FILE, captureOf, JUDGEMENT_FILE, META_FILE, SAMPLES_FILE } from '../run/meta.ts';
import type { CheckedCache } from '../run/read-documents.ts';
import type { RecordingFacts } from '../run/recording.ts';
import { bytesOf } from '../run/sealed.ts';
import type { During } from '../run/types.ts';
import { type FoundInRun, foundKey, type Said } from './found.ts';
import { GatheredRuns } from './gathered-runs.ts';
import {
  type Judged,
  judgeDecoded,
  judgeRead,
  judgeRun,
  judgingOf,
  type PartRead,
  type ReadRun,
  readCaptureOf,
  readingOf,
} from './judged-run.ts';
import { Kept } from './kept.ts';
import { KeptJudgements, keyOf } from './kept-judgement.ts';
import { RecordedRuns } from './recorded-runs.ts';
import { SeriesKeeper } from './series-keeper.ts';

export interface OpenedRun extends Omit<FoundInRun, 'facts'> {
  readonly facts: RecordingFacts;
  /** For drawing. */
  columns(during: During): Promise<SeriesKeeper>;
}

/** Judges with what other runs taught; learning is done only when it is needed. */
export interface Taught {
  /** Which runs taught what: another key judges anew. */
  readonly key: string;
  value(during: During): Promise<Baseline>;
}

/** Learned. */
export interface TaughtNow extends Pick<Taught, 'key'> {
  readonly baseline: Baseline;
}

const KEPT_RUNS = 3;

export class OpenedRuns {
  readonly #opened = new Kept<OpenedRun>(KEPT_RUNS);
  readonly #columns = new Kept<SeriesKeeper>(KEPT_RUNS);
  /** Until it is judged. */
  readonly #read = new Kept<ReadRun>(1);
  /** Of captures that are being read, by the same keys; and who waits for more of them. */
  readonly #parts = new Map<string, PartRead>();
  readonly #grew = new Set<() => void>();
  readonly #kept: KeptJudgements | null;
  readonly recorded: RecordedRuns;
  readonly gathered: GatheredRuns;

  /** @param kept where judgements are kept beside the runs; null: nowhere */
  constructor(kept: KeptJudgements | null = null) {
    this.#kept = kept;
    this.recorded = new RecordedRuns(kept);
    this.gathered = new GatheredRuns(this.recorded);
  }

  /** For a program beside the one that holds the library: takes what is kept, and keeps only where nobody holds it. */
  static beside(): OpenedRuns {
    return new OpenedRuns(new KeptJudgements(undefined, isFreeToKeep));
  }

  /**
   * What is kept of a run judged by itself, taught by nobody, and as it was marked while it was driven. Null where it
   * is to be judged: in parts where its time jumps.
   */
  async judgedAlone(entry: RunEntry): Promise<Pick<FoundInRun, 'judgement' | 'facts'> | null> {
    const { folder, meta } = entry;
    const under = foundKey(meta, meta.sha256, null, { edits: [], answers: [] });
    const found = (await this.#kept?.read(folder, under)) as FoundInRun | null | undefined;
    return found && !found.jumps && (await this.recorded.isWhole(entry)) ? found : null;
  }

  /** When what is being written has been written whole, also of what was given up. */
  settled(): Promise<void> {
    return this.#opened.settled();
  }

  /**
   * @param answers noted beside the recording, worded as its marks
   * @throws HandbackError input.file, input.format, input.version
   */
  async open(
    entry: RunEntry,
    taught: Taught | null = null,
    during?: During,
    answers: readonly string[] = [],
  ): Promise<OpenedRun> {
    const key = await keysOf(entry, taught, answers);
    return this.#opened.get(key.judged, (d) => this.#open(entry, taught, answers, key, d), during);
  }

  /**
   * For drawing; there as soon as it is read, while it is still being judged.
   * @throws as `open`
   */
  async curves(entry: RunEntry, taught: Taught | null, during: During): Promise<SeriesKeeper> {
    const key = await keysOf(entry, taught, []);
    const known = this.#columns.known(key.judged);
    if (known) return known;
    if (await this.recorded.isJudged(entry)) return (await this.open(entry, taught, during)).columns(during);
    return (await this.#reading(entry, key, during)).columns;
  }

  /**
   * For drawing while `curves` is waited for: what was read once that is more than a share of the capture. Null when all
   * of it is there.
   * @throws as `open`
   */
  async part(
    entry: RunEntry,
    taught: Taught | null,
    after: number,
    during: During,
  ): Promise<PartRead | null> {
    const key = await keysOf(entry, taught, []);
    const enough = new AbortController();
    const signal = AbortSignal.any([during.signal, enough.signal]);
    let look: () => void = () => undefined;
    try {
      return await new Promise((resolve, reject) => {
        look = () => {
          const part = this.#parts.get(key.read);
          if (part && part.share > after) resolve(part);
        };
        this.#grew.add(look);
        look();
        this.curves(entry, taught, { ...during, signal }).then(() => resolve(null), reject);
      });
    } finally {
      this.#grew.delete(look);
      enough.abort();
    }
  }

  #reading(entry: RunEntry, key: Keys, during: During): Promise<ReadRun> {
    const grew = (part: PartRead): void => {
      this.#parts.set(key.read, part);
      for (const look of this.#grew) look();
    };
    return this.#read.get(
      key.read,
      (d) => readCaptureOf(entry, d, grew).finally(() => this.#parts.delete(key.read)),
      during,
    );
  }

  async #open(
    entry: RunEntry,
    taught: Taught | null,
    answers: readonly string[],
    key: Keys,
    during: During,
  ): Promise<OpenedRun> {
    const { folder, meta } = entry;
    const whole = await this.recorded.wholeDigest(entry);
    const edits = await readMarkEdits(folder);
    const said = { edits, answers };
    const under = foundKey(meta, whole, taught?.key ?? null, said);
    const judged = async (d: During): Promise<Judged> => {
      const baseline = (await taught?.value(d)) ?? null;
      const before = await this.recorded.decoded(folder, whole);
      const now = before
        ? await judgeDecoded(entry, baseline, said, before, d.signal)
        : await this.#judgedNow(entry, baseline, said, key, d);
      if (whole !== null && (before || now.decoded !== null)) {
        const decoded = now.decoded && {
          samples: now.decoded,
          facts: { ...now.found.facts, hasPlaces: now.hasPlaces },
        };
        await this.#kept?.write(folder, under, now.found, whole, decoded);
      }
      return now;
    };
    const columns = (d: During): Promise<SeriesKeeper> =>
      this.#columns.get(
        key.judged,
        async (every) => (await this.#drawn(folder, whole)) ?? (await judged(every)).columns,
        d,
      );
    const found = whole === null ? null : ((await this.#kept?.read(folder, under)) as FoundInRun | null);
    if (found) {
      const facts = { kind: 'run' as const, path: folder, meta, profile: meta.profile, ...found.facts };
      return { ...found, facts, columns };
    }
    const now = await judged(during);
    await this.#columns.get(key.judged, async () => now.columns);
    this.#read.drop(key.read);
    return { ...now.found, facts: now.facts, columns };
  }

  async #judgedNow(
    entry: RunEntry,
    baseline: Baseline | null,
    said: Said,
    key: Keys,
    during: During,
  ): Promise<Judged> {
    const read = await this.#reading(entry, key, readingOf(during));
    return judgeRead(entry, baseline, said, read, judgingOf(during));
  }

  /** What the run teaches; kept beside it as its judgement is. */
  async lesson(entry: RunEntry, during: During): Promise<Lesson> {
    const { folder, meta } = entry;
    const whole = await this.recorded.wholeDigest(entry);
    const under = keyOf([meta.id, whole, meta.profile, 'teaches']);
    const known = whole === null ? null : ((await this.#kept?.read(folder, under)) as Lesson | null);
    if (known) return known;
    const { table } = await this.recorded.recording(entry, during);
    const lesson = lessonOf(table, meta.profile ?? {});
    if (whole !== null) await this.#kept?.write(folder, under, lesson, whole, null);
    return lesson;
  }

  /** What `check` says of a run, as long as its capture and run.json are what they were. */
  async checked(entry: RunEntry): Promise<CheckedItem> {
    const { folder } = entry;
    const whole = await this.recorded.wholeDigest(entry);
    const under = whole && keyOf([whole, await sha256OfFile(join(folder, META_FILE)), 'checked']);
    const known = under && ((await this.#kept?.read(folder, under)) as CheckedItem | null);
    if (known) return known;
    const item = (await check(folder)).items[0]!;
    if (under) await this.#kept?.write(folder, under, item, whole, null);
    return item;
  }

  /**
   * What is kept beside an ended run, whose capture is whole, by seals and digests; nothing is written.
   * @param again also whether values and judgement by itself are what the capture gives now
   */
  async checkKept(entry: RunEntry, again: boolean, during: During): Promise<CheckedCache[]> {
    const { folder, meta } = entry;
    const whole = meta.sha256;
    if (this.#kept === null || whole === null) return [];
    const found = await this.#kept.check(folder, whole, [COMPARED_FILE]);
    const isOurs = (file: string): boolean =>
      found.some((c) => c.path === join(folder, file) && (c.state === 'agrees' || c.state === 'sealed'));
    if (!again || !isOurs(JUDGEMENT_FILE)) return found;
    const said = { edits: await readMarkEdits(folder), answers: [] };
    const now = await judgeRun(entry, null, said, during);
    const before = await this.#kept.read(folder, foundKey(meta, whole, null, said));
    const same: Readonly<Record<string, boolean | null>> = {
      [JUDGEMENT_FILE]: before === null ? null : JSON.stringify(before) === JSON.stringify(now.found),
      [SAMPLES_FILE]: isOurs(SAMPLES_FILE)
        ? now.decoded !== null &&
          Buffer.from((await bytesOf(join(folder, SAMPLES_FILE))) ?? []).equals(now.decoded.parquet())
        : null,
    };
    return found.map((c): CheckedCache => {
      const is = same[basename(c.path)] ?? null;
      if (is === null) return c;
      return is
        ? { ...c, state: 'agrees', says: say('check.cache.same') }
        : { ...c, state: 'disagrees', says: say('check.cache.other-found') };
    });
  }

  /** Whether the capture of an ended run would have to be read: to judge it, or to compare it under this profile. */
  async isUnread(entry: RunEntry, profile: Profile | null): Promise<boolean> {
    const { folder } = entry;
    const whole = await this.recorded.wholeDigest(entry);
    if (whole === null || this.#kept === null || (await this.#kept.isDecoded(folder, whole))) return false;
    return profile === null || !(await this.gathered.isKept(entry, profile));
  }

  async #drawn(folder: string, whole: string | null): Promise<SeriesKeeper | null> {
    const before = await this.recorded.decoded(folder, whole);
    if (before === null) return null;
    const columns = new SeriesKeeper();
    for (const sample of before.samples) columns.push(sample);
    return columns;
  }
}

/** Under which it is held: what its capture gives, and what comes of that. */
interface Keys {
  readonly read: string;
  readonly judged: string;
}

async function keysOf(
  { folder }: RunEntry,
  taught: Taught | null,
  answers: readonly string[],
): Promise<Keys> {
  const read = [
    folder,
    await stampOf(join(folder, META_FILE)),
    await stampOf((await captureOf(folder)) ?? folder),
  ].join('\n');
  const said = [JSON.stringify(answers), taught?.key ?? '', await stampOf(join(folder, MARKS_FILE))];
  return { read, judged: [read, ...said].join('\n') };
}

async function stampOf(path: string): Promise<string> {
  const s = await stat(path).catch(() => null);
  return s ? `${s.ino} ${s.size} ${s.mtimeMs}` : 'none';
}
