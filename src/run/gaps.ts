/** Spans without data: the link was lost, the computer slept, or simply nothing came. */
import type { Outcome } from '../adapter/adapter.ts';
import { type CaptureRecord, CLOCK_JUMP_MS } from './capture/format.ts';
import type { Gap } from './types.ts';

/** The slowest signals are asked every few seconds; with nothing at all for this long something was wrong. */
const SILENCE_US = 5e6;
const MAX_GAPS = 10_000;

/** Follows link events and clock anchors of a capture. */
export class RecordedGaps {
  readonly #gaps: Gap[] = [];
  #lost: { fromUs: number; why: string } | null = null;
  /** When bytes last came: a loss may be noticed seconds later. */
  #heardUs: number | null = null;
  #anchor: { tUs: number; wallMs: number } | null = null;
  #lastUs = 0;

  feed(record: CaptureRecord): void {
    if (record.kind === 'rx' || record.kind === 'tx') {
      this.wire(record.kind, record.tUs);
      return;
    }
    if (record.kind === 'link') {
      if (record.state === 'lost')
        this.#lost ??= { fromUs: this.#heardUs ?? record.tUs, why: `link lost: ${record.text}` };
      else if (record.state === 'identified') this.#found(record.tUs);
    } else if (record.kind === 'anchor') {
      const last = this.#anchor;
      if (last) {
        const aheadMs = record.wallMs - last.wallMs - (record.tUs - last.tUs) / 1000;
        const sinceMs = (record.tUs - this.#lastUs) / 1000;
        // The time asleep is in the times of the records. A wall clock that was set is no gap: nothing is missing.
        if (record.why === 'resume' && Math.abs(aheadMs) < CLOCK_JUMP_MS && sinceMs > CLOCK_JUMP_MS)
          this.#add(this.#lastUs, record.tUs, `computer asleep: ${Math.round(sinceMs / 1000)} s`);
      }
      this.#anchor = record;
    }
    this.#lastUs = record.tUs;
  }

  /** Bytes came or went. */
  wire(kind: 'rx' | 'tx', tUs: number): void {
    if (kind === 'rx') this.#heardUs = tUs;
    this.#lastUs = tUs;
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

/** Silences in a stream of samples; those that another gap explains are left out at the end. */
export class Silences {
  readonly #gaps: Gap[] = [];
  #lastUs: number | null = null;
  /** Since the last sample: how often the adapter said that nothing came from the vehicle. */
  #unanswered = 0;

  feed(tUs: number): void {
    const last = this.#lastUs;
    const unanswered = this.#unanswered;
    this.#unanswered = 0;
    if (last !== null && tUs <= last) return;
    if (last !== null && tUs - last > SILENCE_US && this.#gaps.length < MAX_GAPS) {
      const why = unanswered > 0 ? 'no samples: the vehicle did not answer (ignition off?)' : 'no samples';
      this.#gaps.push({ fromUs: last, toUs: tUs, why });
    }
    this.#lastUs = tUs;
  }

  /** How an exchange of a capture ended. */
  ended(outcome: Outcome): void {
    if (outcome === 'no data' || outcome === 'bus error') this.#unanswered++;
  }

  /** The known gaps and the silences that none of them explains, in order of time. */
  with(known: readonly Gap[]): Gap[] {
    const own = this.#gaps.filter((s) => !known.some((g) => g.fromUs < s.toUs && g.toUs > s.fromUs));
    return [...known, ...own].sort((a, b) => a.fromUs - b.fromUs);
  }
}
