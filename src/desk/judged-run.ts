/** One pass over a run's samples: judged, thinned for drawing, and kept as decoded. */
import type { Baseline } from '../analysis/judge.ts';
import { Places } from '../nmea/places.ts';
import type { RunEntry } from '../run/library.ts';
import { openRecording, type RecordingFacts, readRun } from '../run/recording.ts';
import type { During } from '../run/types.ts';
import { type FoundInRun, Pass, type Said } from './found.ts';
import { Decoded } from './kept-judgement.ts';
import { type Before, factsOf } from './recorded-runs.ts';
import { SeriesKeeper } from './series-keeper.ts';

export interface Judged {
  readonly facts: RecordingFacts;
  readonly found: FoundInRun;
  readonly columns: SeriesKeeper;
  /** Null where times were out of order: that is damage, and not kept; and where nothing was decoded. */
  readonly decoded: Decoded | null;
  readonly hasPlaces: boolean;
}

/** @param keep whether what was decoded will be kept: it takes twenty bytes a sample */
export async function judgeRun(
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
export function judgeDecoded(entry: RunEntry, baseline: Baseline | null, said: Said, before: Before): Judged {
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
