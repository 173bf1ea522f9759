/** What was recorded, and whether it is still as it was when it was closed: from what was decoded before where that is known. */
import { basename } from 'node:path';
import type { Places } from '../nmea/places.ts';
import { sha256OfFile } from '../run/hash.ts';
import type { ImportOptions } from '../run/import/builder.ts';
import type { RunEntry } from '../run/library.ts';
import { libraryOf } from '../run/library-format.ts';
import { COMPRESSED_FILE, captureOf, readMeta } from '../run/meta.ts';
import { openRecording, type Recording, type RecordingFacts } from '../run/recording.ts';
import type { During } from '../run/types.ts';
import { isPackedDamage, plainDigest } from '../run/unpack.ts';
import { partsOf, type TablePart } from '../signal/parts.ts';
import { SampleTable } from '../signal/table.ts';
import { digestOf, type KeptJudgements } from './kept-judgement.ts';

/** A run as it was decoded before. */
export type Before = NonNullable<Awaited<ReturnType<KeptJudgements['decoded']>>>;

export interface RecordingInParts extends RecordingFacts {
  readonly parts: readonly TablePart[];
}

export class RecordedRuns {
  /** Where it is kept what was decoded; null: nowhere. */
  readonly kept: KeptJudgements | null;

  constructor(kept: KeptJudgements | null) {
    this.kept = kept;
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

  /** The same in parts where its time jumps. @throws as `at` */
  async inParts(path: string, options?: ImportOptions, during?: During): Promise<RecordingInParts> {
    const { table, ...facts } = await this.at(path, options, during);
    return { ...facts, parts: partsOf(table) };
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
      ? await this.decoded(folder, await this.wholeDigest(entry))
      : null;
    if (before === null || (places && before.facts.hasPlaces))
      return openRecording(folder, {}, during, places);
    const table = new SampleTable();
    for (const sample of before.samples) table.push(sample);
    return { ...factsOf(entry, before), table };
  }

  /** Whether this program decoded and judged it before, as far as that can be told without reading its capture. */
  async isJudged({ folder, meta }: RunEntry): Promise<boolean> {
    return meta.sha256 !== null && ((await this.kept?.isDecoded(folder, meta.sha256)) ?? false);
  }

  /** Whether its capture is as it was when it was closed: nothing is kept of another. */
  async isWhole(entry: RunEntry): Promise<boolean> {
    return (await this.wholeDigest(entry)) !== null;
  }

  /** Null where it is to be decoded from the capture. */
  async decoded(folder: string, whole: string | null): Promise<Before | null> {
    return whole === null ? null : ((await this.kept?.decoded(folder, whole)) ?? null);
  }

  /** Null of a run that is being recorded, or is not as it was when it was closed: nothing is kept of it. */
  async wholeDigest({ folder, meta }: RunEntry): Promise<string | null> {
    if (this.kept === null || meta.sha256 === null) return null;
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
    const known = await this.kept?.unpacksTo(folder, file);
    if (known) return known;
    const now = await plainDigest(path);
    // of nothing else than the run's own, and not of a file that was replaced meanwhile
    if (now === recorded && (await sha256OfFile(path)) === file)
      await this.kept?.writeUnpacksTo(folder, file, now);
    return now;
  }
}

export function factsOf({ folder, meta }: RunEntry, { facts }: Pick<Before, 'facts'>): RecordingFacts {
  const { marks, gaps, warnings } = facts;
  return { kind: 'run', path: folder, meta, profile: meta.profile, marks, gaps, warnings };
}
