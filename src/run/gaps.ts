/** Spans without data: the link was lost, the computer slept, or simply nothing came. */
import type { SampleTable } from '../signal/table.ts';
import type { CaptureRecord } from './capture/format.ts';
import type { Gap } from './types.ts';

/** The slowest signals are asked every few seconds; with nothing at all for this long something was wrong. */
const SILENCE_US = 5e6;
const CLOCK_JUMP_MS = 2000;
const MAX_GAPS = 10_000;

/** Follows link events and clock anchors of a capture. */
export class LinkGaps {
  readonly #gaps: Gap[] = [];
  #lost: { fromUs: number; why: string } | null = null;
  #anchor: { tUs: number; wallMs: number } | null = null;
  #lastUs = 0;

  feed(record: CaptureRecord): void {
    if (record.kind === 'link') {
      if (record.state === 'lost') this.#lost ??= { fromUs: record.tUs, why: `link lost: ${record.text}` };
      else if (record.state === 'identified') this.#found(record.tUs);
    } else if (record.kind === 'anchor') {
      const last = this.#anchor;
      if (last) {
        const aheadMs = record.wallMs - last.wallMs - (record.tUs - last.tUs) / 1000;
        if (record.why === 'resume' && aheadMs > CLOCK_JUMP_MS)
          this.#add(
            this.#lastUs,
            record.tUs,
            `computer asleep or clock set: ${Math.round(aheadMs / 1000)} s`,
          );
      }
      this.#anchor = record;
    }
    this.#lastUs = record.tUs;
  }

  finish(endUs: number): readonly Gap[] {
    this.#found(endUs);
    return this.#gaps;
  }

  #found(toUs: number): void {
    if (this.#lost) this.#add(this.#lost.fromUs, toUs, this.#lost.why);
    this.#lost = null;
  }

  #add(fromUs: number, toUs: number, why: string): void {
    if (this.#gaps.length < MAX_GAPS) this.#gaps.push({ fromUs, toUs: Math.max(fromUs, toUs), why });
  }
}

/** The known gaps and the silences that none of them explains, in order of time. */
export function gapsOf(table: SampleTable, known: readonly Gap[]): Gap[] {
  const gaps = [...known];
  let last: number | null = null;
  for (let i = 0; i < table.length && gaps.length < MAX_GAPS; i++) {
    const { tUs } = table.at(i);
    if (last !== null && tUs - last > SILENCE_US) {
      const fromUs = last;
      if (!known.some((g) => g.fromUs < tUs && g.toUs > fromUs))
        gaps.push({ fromUs, toUs: tUs, why: 'no samples' });
    }
    last = tUs;
  }
  return gaps.sort((a, b) => a.fromUs - b.fromUs);
}
