/** What the link did: counted, with round trips and rates over a sliding window. */
import type { Discard, WireEvent } from '../adapter/adapter.ts';

export interface LinkCounters {
  /** Requests sent to the vehicle. */
  readonly sent: number;
  /** Requests that brought at least one complete message. */
  readonly answered: number;
  /** Requests without any answer in time. */
  readonly timeouts: number;
  /** Bytes that could not be read as an answer to what was asked. */
  readonly discardedBytes: number;
  /** Lines that did not come as they were sent, and exchanges in which something was damaged: a bad line, or noise. */
  readonly damaged: number;
  /** Times the link was opened again after a loss. */
  readonly reopened: number;
  readonly samples: number;
  /** Samples a second over the last ten seconds. */
  readonly perSecond: number;
  /** From sending a request to its end, of the last 2000 answered requests, milliseconds. */
  readonly roundTripMs: { readonly p50: number; readonly p95: number; readonly p99: number } | null;
  /** Samples a second that the link would carry if requests like the last ones followed each other at once. */
  readonly linkLimitPerSecond: number | null;
  /** Since the last byte came; null before the first. */
  readonly silentMs: number | null;
}

const KEPT_ROUND_TRIPS = 2000;
const WINDOW_S = 10;
/** Exchanges that the link limit is computed from. */
const LIMIT_OVER = 200;

export class LinkTally {
  #sent = 0;
  #answered = 0;
  #timeouts = 0;
  #discardedBytes = 0;
  #samples = 0;
  #damagedBefore = 0;
  #lastByteUs: number | null = null;
  #firstSampleUs: number | null = null;
  readonly #roundTripUs: number[] = [];
  readonly #samplesOf: number[] = [];
  #at = 0;
  readonly #perSecond = new Map<number, number>();
  reopened = 0;

  event(event: WireEvent): void {
    if (event.kind === 'rx') this.#lastByteUs = event.tUs;
    else if (event.kind === 'request') this.#sent++;
    else if (event.kind === 'done') {
      if (event.outcome === 'answered') this.#answered++;
      if (event.outcome === 'timeout' || event.outcome === 'no data') this.#timeouts++;
    }
  }

  discarded(discards: readonly Discard[]): void {
    for (const d of discards) this.#discardedBytes += d.bytes.length;
  }

  /** @param damaged what that connection counted */
  closed(damaged: number): void {
    this.#damagedBefore += damaged;
  }

  /** @param samples how many values an answered request brought */
  answer(roundTripUs: number, samples: number): void {
    this.#roundTripUs[this.#at] = roundTripUs;
    this.#samplesOf[this.#at] = samples;
    this.#at = (this.#at + 1) % KEPT_ROUND_TRIPS;
  }

  sample(nowUs: number): void {
    this.#samples++;
    this.#firstSampleUs ??= nowUs;
    const second = Math.floor(nowUs / 1e6);
    this.#perSecond.set(second, (this.#perSecond.get(second) ?? 0) + 1);
    if (this.#perSecond.size > 4 * WINDOW_S)
      for (const s of this.#perSecond.keys()) if (s < second - WINDOW_S) this.#perSecond.delete(s);
  }

  /** @param damaged of the present connection */
  read(nowUs: number, damaged: number): LinkCounters {
    const sorted = Float64Array.from(this.#roundTripUs).sort();
    const at = (q: number) =>
      Math.round(sorted[Math.min(sorted.length - 1, Math.floor(q * sorted.length))]! / 10) / 100;
    return {
      sent: this.#sent,
      answered: this.#answered,
      timeouts: this.#timeouts,
      discardedBytes: this.#discardedBytes,
      damaged: this.#damagedBefore + damaged,
      reopened: this.reopened,
      samples: this.#samples,
      perSecond: this.#rate(nowUs),
      roundTripMs: sorted.length === 0 ? null : { p50: at(0.5), p95: at(0.95), p99: at(0.99) },
      linkLimitPerSecond: this.#limit(),
      silentMs: this.#lastByteUs === null ? null : Math.max(0, (nowUs - this.#lastByteUs) / 1000),
    };
  }

  /** Whole seconds only: the running one is not over. */
  #rate(nowUs: number): number {
    if (this.#firstSampleUs === null) return 0;
    const second = Math.floor(nowUs / 1e6);
    const first = Math.max(Math.floor(this.#firstSampleUs / 1e6), second - WINDOW_S);
    if (second <= first) return this.#perSecond.get(second) ?? 0;
    let n = 0;
    for (let s = first; s < second; s++) n += this.#perSecond.get(s) ?? 0;
    return Math.round((10 * n) / (second - first)) / 10;
  }

  #limit(): number | null {
    const n = Math.min(LIMIT_OVER, this.#roundTripUs.length);
    let us = 0;
    let samples = 0;
    for (let k = 1; k <= n; k++) {
      const i = (this.#at - k + KEPT_ROUND_TRIPS) % KEPT_ROUND_TRIPS;
      us += this.#roundTripUs[i] ?? 0;
      samples += this.#samplesOf[i] ?? 0;
    }
    return us > 0 ? Math.round((samples / us) * 1e7) / 10 : null;
  }
}
