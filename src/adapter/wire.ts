/** An open link with the tap on it: everything sent and received is reported, the loss is remembered. */
import { afterAwaiting, type Clock, type Timer } from '../core/clock.ts';
import { toldOf } from '../core/errors.ts';
import type { Says } from '../core/says.ts';
import type { Link } from '../link/link.ts';
import type { WireTap } from './adapter.ts';
import type { RxChunk } from './received.ts';

export class Wire {
  readonly clock: Clock;
  readonly tap: WireTap;
  readonly #link: Link;
  #lost: Says | null = null;
  #onData: (chunk: RxChunk) => void = () => undefined;
  #waiting: ((why: 'lost') => void) | null = null;

  /** @param tapRx false when the driver reports what was received itself (it leaves out other bus traffic). */
  constructor(link: Link, tap: WireTap, clock: Clock, tapRx = true) {
    this.clock = clock;
    this.tap = tap;
    this.#link = link;
    link.listen((event) => {
      if (event.kind === 'closed') {
        this.#lose(event.why);
        return;
      }
      if (tapRx) tap({ kind: 'rx', tUs: event.tUs, bytes: event.bytes });
      this.#onData({ tUs: event.tUs, bytes: event.bytes });
    });
  }

  /** Why the link is gone; null while it is there. */
  get lost(): Says | null {
    return this.#lost;
  }

  onData(listener: (chunk: RxChunk) => void): void {
    this.#onData = listener;
  }

  /** Sends; failures show as `lost`. Does not wait: a stuck system buffer must not stop the timers. */
  send(bytes: Uint8Array): void {
    this.tap({ kind: 'tx', tUs: this.clock.nowUs(), bytes });
    this.#link.write(bytes).catch((err) => this.#lose(toldOf(err)));
  }

  /**
   * Waits until `finish` is called, the link is lost, or `ms` have passed without `extend`.
   * One wait at a time. `start` gets the two functions and may send.
   */
  wait<T>(
    ms: number,
    start: (finish: (value: T) => void, extend: (ms: number) => void) => void,
  ): Promise<T | 'timeout' | 'lost'> {
    return new Promise((resolve) => {
      let timer: Timer | null = null;
      let dueUs = 0;
      let ringsUs = Number.POSITIVE_INFINITY;
      const end = (value: T | 'timeout' | 'lost') => {
        timer?.cancel();
        timer = null;
        this.#waiting = null;
        resolve(value);
      };
      const ringAt = (us: number, inMs: number) => {
        timer?.cancel();
        ringsUs = us;
        timer = afterAwaiting(this.clock, inMs, ring);
      };
      const ring = () => {
        const leftUs = dueUs - this.clock.nowUs();
        if (leftUs > 0) ringAt(dueUs, leftUs / 1000);
        else end('timeout');
      };
      // Each frame extends: a timer that rings too early sees that it is not time yet, and need not be set anew.
      const extend = (forMs: number) => {
        dueUs = this.clock.nowUs() + Math.round(1000 * forMs);
        if (ringsUs > dueUs) ringAt(dueUs, forMs);
      };
      this.#waiting = end;
      extend(ms);
      start(end, extend);
      if (this.#lost) end('lost');
    });
  }

  /** Null where the line has no speed to change. */
  get setBaud(): ((baud: number) => Promise<boolean>) | null {
    return this.#link.setBaud ?? null;
  }

  close(): Promise<void> {
    return this.#link.close();
  }

  #lose(why: Says): void {
    this.#lost ??= why;
    this.#waiting?.('lost');
  }
}
