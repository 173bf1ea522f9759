/**
 * What the live judge has found when a run ends: what reading its capture again would find, as long as the judge has heard
 * every sample that the capture holds and no other. Where that is not so, nothing: the capture is read.
 */
import type { Baseline } from '../analysis/judge.ts';
import type { LiveView, Spoken } from '../analysis/types.ts';
import type { Profile } from '../core/profile.ts';
import type { Sample } from '../core/signals.ts';
import { type CaptureRecord, clampTime, readLine } from '../run/capture/format.ts';
import { CaptureFacts } from '../run/facts.ts';
import { type FoundInRun, Pass, type Said } from './found.ts';

export class LiveFindings {
  readonly #pass: Pass;
  readonly #facts = new CaptureFacts();
  /** What came while the capture's end was being written. */
  readonly #held: Sample[] = [];
  readonly #waiting: Sample[] = [];
  #lastUs = 0;
  #isWhole = true;

  constructor(profile: Profile, baseline: Baseline | null) {
    this.#pass = new Pass(profile, baseline);
  }

  /** The same as `line` of bytes that the capture took, at the time that their line has. */
  wire(kind: 'rx' | 'tx', tUs: number): void {
    this.#facts.wire(kind, tUs);
  }

  /** A line that the capture took, and the record it is of, where that is known; before the samples that it completes. */
  line(line: string, of?: CaptureRecord): void {
    // Of an exchange only its times and its end are asked, which the line cannot say otherwise.
    if (of?.kind === 'done' || (of?.kind === 'request' && of.payload.length > 0)) {
      this.#facts.record({ ...of, tUs: clampTime(of.tUs) });
      return;
    }
    const read = readLine(line);
    if (read.ok) this.#facts.record(read.record);
    // which samples of two links a capture holds that ends between them is its reader's to say
    if (!read.ok || read.record.kind === 'nmea') this.#isWhole = false;
  }

  /**
   * A sample has come; it waits to be judged. What the capture may not hold waits until that is known.
   * @param isTaken whether the capture still takes what comes
   */
  take(sample: Sample, isTaken: boolean): void {
    if (!isTaken) {
      this.#held.push(sample);
      return;
    }
    this.#whole(() => {
      for (const held of this.#held.splice(0)) this.#took(held);
      this.#took(sample);
    });
  }

  /** As `Judge.push`, of all that waits. */
  judged(): readonly Spoken[] {
    return this.#whole(() => this.#waiting.splice(0).flatMap((sample) => this.#pass.push(sample)));
  }

  view(): LiveView {
    return this.#pass.view();
  }

  marked(texts: readonly string[]): void {
    this.#pass.marked(texts);
  }

  /** Ends the run; call once. Null where only the capture tells. */
  finish(id: string, said: Said): FoundInRun | null {
    this.judged();
    const facts = this.#facts.finish();
    // asleep, the clock set, records lost: times and samples are not those of the capture
    return this.#isWhole && facts.warnings.length === 0 ? this.#pass.finish(id, facts, said) : null;
  }

  #took(sample: Sample): void {
    // A capture has no time before its beginning, and one whose times are out of order is sorted before it is judged.
    if (sample.tUs < this.#lastUs) this.#isWhole = false;
    this.#lastUs = sample.tUs;
    if (this.#facts.sample(sample)) this.#waiting.push(sample);
  }

  /** What fails has not heard all. */
  #whole<T>(act: () => T): T {
    try {
      return act();
    } catch (thrown) {
      this.#isWhole = false;
      throw thrown;
    }
  }
}
