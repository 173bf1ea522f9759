/**
 * Recorded runs as the page wants them: read once, judged and thinned in the same pass, the last few kept. Nothing
 * of a run is held that grows with its length but the columns, and those are bounded.
 */
import { stat } from 'node:fs/promises';
import { basename, join } from 'node:path';
import { type Baseline, type Lesson, lessonOf } from '../analysis/judge.ts';
import { type Gathered, Gathering, gatherParts } from '../compare/gather.ts';
import type { Profile } from '../core/profile.ts';
import type { Says } from '../core/says.ts';
import { MARKS_FILE, readMarkEdits } from '../job/marks.ts';
import { Places } from '../nmea/places.ts';
import { type CheckedItem, check } from '../run/check.ts';
import { sha256OfFile } from '../run/hash.ts';
import type { ImportOptions } from '../run/import/builder.ts';
import type { RunEntry } from '../run/library.ts';
import { isFreeToKeep, libraryOf } from '../run/library-format.ts';
import {
  COMPARED_FILE,
  COMPRESSED_FILE,
  captureOf,
  JUDGEMENT_FILE,
  META_FILE,
  readMeta,
  SAMPLES_FILE,
} from '../run/meta.ts';
import type { CheckedCache } from '../run/read-documents.ts';
import { openRecording, type Recording, type RecordingFacts, readRun } from '../run/recording.ts';
import { say } from '../run/says.ts';
import { bytesOf } from '../run/sealed.ts';
import type { During } from '../run/types.ts';
import { isPackedDamage, plainDigest } from '../run/unpack.ts';
import { hasJump } from '../signal/parts.ts';
import { SampleTable } from '../signal/table.ts';
import { type FoundInRun, foundKey, Pass, type Said } from './found.ts';
import { Kept } from './kept.ts';
import { Decoded, digestOf, KeptJudgements, keyOf } from './kept-judgement.ts';
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

const KEPT = 3;

export class OpenedRuns {
  readonly #opened = new Kept<OpenedRun>(KEPT);
  readonly #columns = new Kept<SeriesKeeper>(KEPT);
  readonly #kept: KeptJudgements | null;

  /** @param kept where judgements are kept beside the runs; null: nowhere */
  constructor(kept: KeptJudgements | null = null) {
    this.#kept = kept;
  }

  /** For a program beside the one that holds the library: takes what is kept, and keeps only where nobody holds it. */
  static beside(): OpenedRuns {
    return new OpenedRuns(new KeptJudgements(undefined, isFreeToKeep));
  }

  /** A run of a library; null of everything else, and of a run whose run.json cannot be read. */
  async entryAt(path: string): Promise<RunEntry | null> {
    const meta = await readMeta(path).catch(() => null);
    return meta && (await libraryOf(path)) !== null ? { folder: path, meta, leftOpen: false } : null;
  }

  /**
   * Anything that was recorded, as `openRecording`; of a run in a library as it was decoded before where that is known.
   * @throws HandbackError input.*; the signal's reason
   */
  async at(path: string, options?: ImportOptions, during?: During, places?: Places): Promise<Recording> {
    const entry = await this.entryAt(path);
    return entry ? this.recording(entry, during, places) : openRecording(path, options, during, places);
  }

  /**
   * What is kept of a run judged by itself, taught by nobody, and as it was marked while it was driven. Null where it
   * is to be judged: in parts where its time jumps.
   */
  async judgedAlone(entry: RunEntry): Promise<Pick<FoundInRun, 'judgement' | 'facts'> | null> {
    const { folder, meta } = entry;
    const under = foundKey(meta, meta.sha256, null, { edits: [], answers: [] });
    const found = (await this.#kept?.read(folder, under)) as FoundInRun | null | undefined;
    return found && !found.jumps && (await this.isWhole(entry)) ? found : null;
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
    const { folder } = entry;
    const key = [
      folder,
      JSON.stringify(answers),
      taught?.key ?? '',
      await stampOf(join(folder, META_FILE)),
      await stampOf((await captureOf(folder)) ?? folder),
      await stampOf(join(folder, MARKS_FILE)),
    ].join('\n');
    return this.#opened.get(key, (d) => this.#open(entry, taught, answers, key, d), during);
  }

  async #open(
    entry: RunEntry,
    taught: Taught | null,
    answers: readonly string[],
    key: string,
    during: During,
  ): Promise<OpenedRun> {
    const { folder, meta } = entry;
    const whole = await this.#wholeDigest(entry);
    const edits = await readMarkEdits(folder);
    const said = { edits, answers };
    const under = foundKey(meta, whole, taught?.key ?? null, said);
    const judged = async (d: During): Promise<Judged> => {
      const baseline = (await taught?.value(d)) ?? null;
      const before = await this.#decoded(folder, whole);
      const now = before
        ? judgeDecoded(entry, baseline, said, before)
        : await judgeRun(entry, baseline, said, d, whole !== null);
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
        key,
        async (every) => (await this.#drawn(folder, whole)) ?? (await judged(every)).columns,
        d,
      );
    const found = whole === null ? null : ((await this.#kept?.read(folder, under)) as FoundInRun | null);
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
    const { table } = await this.recording(entry, during);
    const lesson = lessonOf(table, meta.profile ?? {});
    if (whole !== null) await this.#kept?.write(folder, under, lesson, whole, null);
    return lesson;
  }

  /**
   * A run and its samples in order of time: as they were decoded before where that is known, else from its capture.
   * @param places takes where it was driven, which nothing but the capture holds
   * @throws HandbackError input.file, input.format, input.version; the signal's reason
   */
  async recording(entry: RunEntry, during?: During, places?: Places): Promise<Recording> {
    const { folder } = entry;
    // told without reading the capture, which is read anyway where nothing is kept
    const before = (await this.isJudged(entry))
      ? await this.#decoded(folder, await this.#wholeDigest(entry))
      : null;
    if (before === null || (places && before.facts.hasPlaces))
      return openRecording(folder, {}, during, places);
    const table = new SampleTable();
    for (const sample of before.samples) table.push(sample);
    return { ...factsOf(entry, before), table };
  }

  /** What comparing takes from a run under a profile; kept beside it where no places belong to it. */
  async gathered(entry: RunEntry, profile: Profile, during?: During): Promise<Gathered> {
    return (await this.#gathered(entry, profile, during)).gathered;
  }

  /** The same in parts where its time jumps, and what is odd about it. */
  async gatheredParts(entry: RunEntry, profile: Profile, during?: During): Promise<GatheredParts> {
    const { gathered, jumps, warnings } = await this.#gathered(entry, profile, during);
    if (!jumps) return { parts: [gathered], warnings };
    const places = new Places();
    const { table } = await this.recording(entry, during, places);
    return { parts: gatherParts(table, profile, places), warnings };
  }

  async #gathered(entry: RunEntry, profile: Profile, during?: During): Promise<Taken> {
    const { folder } = entry;
    const whole = await this.#wholeDigest(entry);
    const under = comparedUnder(whole, profile);
    const known =
      whole === null ? null : ((await this.#kept?.readAside(folder, COMPARED_FILE, under)) as KeptTaken);
    if (known) return { ...known, gathered: fromPlain(known.gathered) };
    const places = new Places();
    const { table, warnings } = await this.recording(entry, during, places);
    const gathering = new Gathering(profile);
    for (const sample of table) gathering.push(sample);
    const gathered = gathering.finish(places);
    const taken = { gathered, jumps: hasJump(table), warnings };
    // Where it was driven is written nowhere but in the capture.
    if (whole !== null && gathered.pulls.every((p) => p.way === null)) {
      const kept: KeptTaken = { ...taken, gathered: toPlain(gathered) };
      await this.#kept?.writeAside(folder, COMPARED_FILE, under, kept);
    }
    return taken;
  }

  /** Whether what comparing takes is kept, if the capture is what run.json says: told without reading it. */
  async isGathered({ folder, meta }: RunEntry, profile: Profile): Promise<boolean> {
    const under = comparedUnder(meta.sha256, profile);
    return (
      meta.sha256 !== null && ((await this.#kept?.readAside(folder, COMPARED_FILE, under)) ?? null) !== null
    );
  }

  /** What `check` says of a run, as long as its capture and run.json are what they were. */
  async checked(entry: RunEntry): Promise<CheckedItem> {
    const { folder } = entry;
    const whole = await this.#wholeDigest(entry);
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
    const now = await judgeRun(entry, null, said, during, true);
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
    const whole = await this.#wholeDigest(entry);
    if (whole === null || this.#kept === null || (await this.#kept.isDecoded(folder, whole))) return false;
    return profile === null || !(await this.isGathered(entry, profile));
  }

  /** Whether this program decoded and judged it before, as far as that can be told without reading its capture. */
  async isJudged({ folder, meta }: RunEntry): Promise<boolean> {
    return meta.sha256 !== null && ((await this.#kept?.isDecoded(folder, meta.sha256)) ?? false);
  }

  /** Whether its capture is as it was when it was closed: nothing is kept of another. */
  async isWhole(entry: RunEntry): Promise<boolean> {
    return (await this.#wholeDigest(entry)) !== null;
  }

  /** Null where it is to be decoded from the capture. */
  async #decoded(folder: string, whole: string | null): Promise<Before | null> {
    return whole === null ? null : ((await this.#kept?.decoded(folder, whole)) ?? null);
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
    const before = await this.#decoded(folder, whole);
    if (before === null) return null;
    const columns = new SeriesKeeper();
    for (const sample of before.samples) columns.push(sample);
    return columns;
  }
}

type Before = NonNullable<Awaited<ReturnType<KeptJudgements['decoded']>>>;

export interface GatheredParts {
  readonly parts: readonly Gathered[];
  readonly warnings: readonly Says[];
}

/** What comparing takes from a run. */
interface Taken {
  readonly gathered: Gathered;
  /** Its time jumps by an hour or more. */
  readonly jumps: boolean;
  readonly warnings: readonly Says[];
}
type KeptTaken = Omit<Taken, 'gathered'> & { readonly gathered: PlainGathered };

const comparedUnder = (capture: string | null, profile: Profile): string =>
  keyOf([capture, profile, 'compared']);

/** As JSON takes it. */
type PlainGathered = Omit<Gathered, 'signals' | 'settledS'> & {
  readonly signals: readonly string[];
  readonly settledS: readonly (readonly [number, number])[];
};
const toPlain = (g: Gathered): PlainGathered => ({
  ...g,
  signals: [...g.signals],
  settledS: [...g.settledS],
});
const fromPlain = (g: PlainGathered): Gathered => ({
  ...g,
  signals: new Set(g.signals),
  settledS: new Map(g.settledS),
});

interface Judged {
  readonly facts: RecordingFacts;
  readonly found: FoundInRun;
  readonly columns: SeriesKeeper;
  /** Null where times were out of order: that is damage, and not kept; and where nothing was decoded. */
  readonly decoded: Decoded | null;
  readonly hasPlaces: boolean;
}

/** @param keep whether what was decoded will be kept: it takes twenty bytes a sample */
async function judgeRun(
  entry: RunEntry,
  baseline: Baseline | null,
  said: Said,
  during: During,
  keep: boolean,
): Promise<Judged> {
  const profile = entry.meta.profile ?? {};
  let pass = new Pass(profile, baseline);
  let columns = new SeriesKeeper();
  let decoded = keep ? new Decoded() : null;
  let inOrder = true;
  const places = new Places();
  let lastUs = Number.NEGATIVE_INFINITY;
  let facts: RecordingFacts = await readRun(
    entry.folder,
    (sample) => {
      inOrder &&= sample.tUs >= lastUs;
      lastUs = sample.tUs;
      if (!inOrder) return;
      decoded?.push(sample);
      columns.push(sample);
      pass.push(sample);
    },
    during,
    places,
  );
  if (!inOrder) {
    decoded = null;
    // Damage can leave times out of order: such a file is sorted first, as every other command does.
    const { table, ...rest } = await openRecording(entry.folder, {}, during);
    facts = rest;
    pass = new Pass(profile, baseline);
    columns = new SeriesKeeper();
    for (const sample of table) {
      columns.push(sample);
      pass.push(sample);
    }
  }
  const hasPlaces = places.between(Number.NEGATIVE_INFINITY, Number.POSITIVE_INFINITY).length > 0;
  return { facts, found: pass.finish(entry.meta.id, facts, said), columns, decoded, hasPlaces };
}

/** The same from what was decoded before. */
function judgeDecoded(entry: RunEntry, baseline: Baseline | null, said: Said, before: Before): Judged {
  const pass = new Pass(entry.meta.profile ?? {}, baseline);
  const columns = new SeriesKeeper();
  for (const sample of before.samples) {
    columns.push(sample);
    pass.push(sample);
  }
  const facts = factsOf(entry, before);
  const found = pass.finish(entry.meta.id, facts, said);
  return { facts, found, columns, decoded: null, hasPlaces: false };
}

function factsOf({ folder, meta }: RunEntry, { facts }: Pick<Before, 'facts'>): RecordingFacts {
  const { marks, gaps, warnings } = facts;
  return { kind: 'run', path: folder, meta, profile: meta.profile, marks, gaps, warnings };
}

async function stampOf(path: string): Promise<string> {
  const s = await stat(path).catch(() => null);
  return s ? `${s.ino} ${s.size} ${s.mtimeMs}` : 'none';
}
