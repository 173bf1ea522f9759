/** What a capture holds besides its samples, followed record by record: while it is recorded and when it is read. */

import { saying } from '../core/error-says.ts';
import type { Says } from '../core/says.ts';
import { isReceiverSignal, type Sample } from '../core/signals.ts';
import type { CaptureRecord } from './capture/format.ts';
import type { CaptureItem } from './capture/parser.ts';
import { RecordedGaps, Silences } from './gaps.ts';
import type { Gap, Mark } from './types.ts';

/** Of a damaged or hostile file; no drive comes near. */
const MAX_RUN_SIGNALS = 500;
export const MAX_MARKS = 1000;

export class CaptureFacts {
  readonly #links = new RecordedGaps();
  readonly #silences = new Silences();
  readonly #marks: Mark[] = [];
  readonly #warnings = new Warnings();
  readonly #signals = new Set<string>();
  #endUs = 0;

  record(record: CaptureRecord): void {
    this.#endUs = Math.max(this.#endUs, record.tUs);
    this.#links.feed(record);
    if (record.kind === 'done') this.#silences.ended(record.outcome);
    else if (record.kind === 'note')
      this.#warnings.add(saying('warn.note', { s: record.tUs / 1e6, text: record.text }));
    else if (record.kind === 'mark' && this.#marks.length < MAX_MARKS)
      this.#marks.push({ tUs: record.tUs, key: record.key, text: record.text });
  }

  /** The same of a record `rx` or `tx`. */
  wire(kind: 'rx' | 'tx', tUs: number): void {
    if (tUs > this.#endUs) this.#endUs = tUs;
    this.#links.wire(kind, tUs);
  }

  damage(item: Exclude<CaptureItem, { is: 'record' }>): void {
    this.#warnings.damage(item);
  }

  /** After the record that completed it. @returns false of one too many signals: it is left out */
  sample({ signal, tUs }: Sample): boolean {
    if (!this.#signals.has(signal)) {
      if (this.#signals.size >= MAX_RUN_SIGNALS) {
        this.#warnings.add(saying('warn.signals', { most: MAX_RUN_SIGNALS, signal }));
        return false;
      }
      this.#signals.add(signal);
    }
    // A receiver that goes on does not fill a hole in what the car said.
    if (!isReceiverSignal(signal)) this.#silences.feed(tUs);
    return true;
  }

  /** To be called once, at the end. */
  finish(): { readonly marks: readonly Mark[]; readonly gaps: readonly Gap[]; readonly warnings: Says[] } {
    const gaps = this.#silences.with(this.#links.finish(this.#endUs));
    return { marks: this.#marks, gaps, warnings: this.#warnings.all() };
  }
}

/** Damage may be anything up to the whole file: the first places are named, the rest counted. */
class Warnings {
  readonly #texts: Says[] = [];
  #more = 0;

  add(text: Says): void {
    if (this.#texts.length < 50) this.#texts.push(text);
    else this.#more++;
  }

  damage(item: Exclude<CaptureItem, { is: 'record' }>): void {
    if (item.is === 'damage') this.add(saying('warn.line', { line: item.line, why: item.why }));
    else if (item.is === 'mismatch') this.add(saying('warn.between', { from: item.fromLine, to: item.line }));
    else if (item.is === 'packed') this.add(saying('warn.packed', { line: item.line, why: item.why }));
    else this.add(saying('warn.torn', { line: item.line }));
  }

  all(): Says[] {
    return this.#more > 0 ? [...this.#texts, saying('warn.more', { n: this.#more })] : this.#texts;
  }
}
