/** A run read, then judged: its capture is decoded and thinned for drawing in one pass, and judged from what was decoded. */
import { setImmediate } from 'node:timers/promises';
import type { Baseline } from '../analysis/judge.ts';
import type { Sample } from '../core/signals.ts';
import { Places } from '../nmea/places.ts';
import type { RunEntry } from '../run/library.ts';
import { openRecording, type RecordingFacts, readRun } from '../run/recording.ts';
import { type During, partOf } from '../run/types.ts';
import { Decoded } from './decoded.ts';
import { type FoundInRun, Pass, type Said } from './found.ts';
import { type Before, factsOf } from './recorded-runs.ts';
import { SeriesKeeper } from './series-keeper.ts';

/** Of reading and judging: reading. Of an hour it is about a fifth. */
const READING = 5;
/** Samples between two looks at whether anybody still waits, and at what else is asked: some 50 ms. */
const AT_ONCE = 4096;

/** A run whose capture was read. */
export interface ReadRun {
  readonly facts: RecordingFacts;
  readonly columns: SeriesKeeper;
  readonly decoded: Decoded;
  /** Times were out of order: that is damage, and what was decoded of it is not kept. */
  readonly inOrder: boolean;
  readonly hasPlaces: boolean;
}

export interface Judged {
  readonly facts: RecordingFacts;
  readonly found: FoundInRun;
  readonly columns: SeriesKeeper;
  /** To be kept; null of what is not. */
  readonly decoded: Decoded | null;
  readonly hasPlaces: boolean;
}

/** What is there of a capture that is still being read. */
export interface PartRead {
  readonly columns: SeriesKeeper;
  /** Of the capture. */
  readonly share: number;
}

/**
 * @param grew hears of each part, as long as times are in order
 * @throws HandbackError input.file, input.format, input.version; the signal's reason
 */
export async function readCaptureOf(
  { folder }: RunEntry,
  during: During,
  grew: (part: PartRead) => void = () => undefined,
): Promise<ReadRun> {
  let columns = new SeriesKeeper();
  let decoded = new Decoded();
  let inOrder = true;
  let before = 0;
  const places = new Places();
  let lastUs = Number.NEGATIVE_INFINITY;
  let facts: RecordingFacts = await readRun(
    folder,
    (sample) => {
      inOrder &&= sample.tUs >= lastUs;
      lastUs = sample.tUs;
      if (!inOrder) return;
      decoded.push(sample);
      columns.push(sample);
    },
    {
      signal: during.signal,
      progress: (share) => {
        during.progress(share);
        // the chunk up to here is yet to come
        if (inOrder && before > 0) grew({ columns, share: before });
        before = share;
      },
    },
    places,
  );
  if (!inOrder) {
    // Damage can leave times out of order: such a file is sorted first, as every other command does.
    const { table, ...rest } = await openRecording(folder, {}, during);
    facts = rest;
    columns = new SeriesKeeper();
    decoded = new Decoded();
    for (const sample of table) {
      columns.push(sample);
      decoded.push(sample);
    }
  }
  const hasPlaces = places.between(Number.NEGATIVE_INFINITY, Number.POSITIVE_INFINITY).length > 0;
  return { facts, columns, decoded, inOrder, hasPlaces };
}

/** @throws the signal's reason */
export async function judgeRead(
  entry: RunEntry,
  baseline: Baseline | null,
  said: Said,
  { facts, columns, decoded, inOrder, hasPlaces }: ReadRun,
  during: During,
): Promise<Judged> {
  const pass = new Pass(entry.meta.profile ?? {}, baseline);
  let done = 0;
  const each = (sample: Sample): void => {
    done++;
    pass.push(sample);
  };
  const told = (): void => during.progress(done / decoded.length);
  for await (const group of decoded.groups()) await eachOf(group, each, during.signal, told);
  const found = pass.finish(entry.meta.id, facts, said);
  return { facts, found, columns, decoded: inOrder ? decoded : null, hasPlaces };
}

/** Both, one after the other. @throws as they do */
export async function judgeRun(
  entry: RunEntry,
  baseline: Baseline | null,
  said: Said,
  during: During,
): Promise<Judged> {
  const read = await readCaptureOf(entry, readingOf(during));
  return judgeRead(entry, baseline, said, read, judgingOf(during));
}

export const readingOf = (during: During): During => partOf(during, 0, READING);
export const judgingOf = ({ signal, progress }: During): During => ({
  signal,
  progress: (share) => progress((1 + (READING - 1) * share) / READING),
});

/** The same from what was decoded before. @throws the signal's reason */
export async function judgeDecoded(
  entry: RunEntry,
  baseline: Baseline | null,
  said: Said,
  before: Before,
  signal: AbortSignal,
): Promise<Judged> {
  const pass = new Pass(entry.meta.profile ?? {}, baseline);
  const columns = new SeriesKeeper();
  const each = (sample: Sample): void => {
    columns.push(sample);
    pass.push(sample);
  };
  await eachOf(before.samples, each, signal);
  const facts = factsOf(entry, before);
  const found = pass.finish(entry.meta.id, facts, said);
  return { facts, found, columns, decoded: null, hasPlaces: false };
}

async function eachOf(
  samples: Iterable<Sample>,
  take: (sample: Sample) => void,
  signal: AbortSignal,
  onTurn: () => void = () => undefined,
): Promise<void> {
  let n = 0;
  for (const sample of samples) {
    if (n > 0 && n % AT_ONCE === 0) {
      onTurn();
      await setImmediate();
      signal.throwIfAborted();
    }
    take(sample);
    n++;
  }
}
