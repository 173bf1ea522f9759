/**
 * A satellite receiver on its own link: found, followed, lost and found again, for as long as it is wanted. Nothing is
 * ever written to it. What it sends comes as events; who records and who decodes is somebody else's.
 */

import { Subject } from 'rxjs';
import { afterAwaiting, type Clock, type Timer } from '../core/clock.ts';
import { saying } from '../core/error-says.ts';
import { inEnglish, toldOf } from '../core/errors.ts';
import type { Says } from '../core/says.ts';
import type { Link, LinkFactory } from '../link/link.ts';
import { LineCutter } from '../nmea/cutter.ts';
import type { ReceiverEvent } from '../nmea/event.ts';
import { readSentence } from '../nmea/sentence.ts';

/** Line speeds in the order worth trying, bit/s: that of the standard and those that are usual (common practice). */
const RECEIVER_BAUDS = [9600, 4800, 38_400, 115_200] as const;
/** A receiver speaks each second at least: with nothing right for this long another speed is tried, or it is lost. */
const UNREADABLE_MS = 3000;
const SILENT_MS = 6000;
const AGAIN_MS = 2000;

export interface ReceiverState {
  readonly phase: 'searching' | 'heard';
  /** Why it was not opened or is lost; null while all is well. */
  readonly trouble: Says | null;
}

export class SatelliteReceiver {
  readonly #factory: LinkFactory;
  readonly #clock: Clock;
  readonly #events = new Subject<ReceiverEvent>();
  /** Hot. Lines come only from a link that has brought a right sentence. */
  readonly events$ = this.#events.asObservable();
  #state: ReceiverState = { phase: 'searching', trouble: null };
  #link: Link | null = null;
  #timer: Timer | null = null;
  #speed = 0;
  #stopped = false;
  #closing: Promise<void> = Promise.resolve();

  constructor(factory: LinkFactory, clock: Clock) {
    this.#factory = factory;
    this.#clock = clock;
  }

  get state(): ReceiverState {
    return this.#state;
  }

  start(): void {
    void this.#open();
  }

  /** Never rejects. */
  async stop(): Promise<void> {
    this.#stopped = true;
    this.#timer?.cancel();
    this.#leave();
    await this.#closing;
    this.#events.complete();
  }

  async #open(): Promise<void> {
    const bauds = this.#factory.baudRates.length === 0 ? [null] : RECEIVER_BAUDS;
    const baud = bauds[this.#speed % bauds.length]!;
    let link: Link;
    try {
      await this.#closing;
      link = await this.#factory.open(baud === null ? {} : { baud });
    } catch (thrown) {
      return this.#tryAgain(toldOf(thrown), AGAIN_MS);
    }
    if (this.#stopped) return void link.close();
    this.#link = link;
    let tUs = this.#clock.nowUs();
    const cutter = new LineCutter((line) => this.#line(link, line, tUs));
    link.listen((event) => {
      if (this.#link !== link) return;
      tUs = event.tUs;
      if (event.kind === 'data') cutter.push(event.bytes);
      else this.#lost(event.why, AGAIN_MS);
    });
    this.#await(UNREADABLE_MS);
  }

  #line(link: Link, line: string, tUs: number): void {
    if (this.#link !== link) return;
    const read = readSentence(line);
    if (read.ok || read.why === 'other') {
      this.#await(SILENT_MS);
      if (this.#state.phase !== 'heard') {
        this.#state = { phase: 'heard', trouble: null };
        this.#events.next({ kind: 'receiver', tUs, state: 'heard', text: link.name });
      }
    }
    if (this.#state.phase === 'heard') this.#events.next({ kind: 'nmea', tUs, line });
  }

  /** Nothing right for so long: the next speed. */
  #await(ms: number): void {
    this.#timer?.cancel();
    this.#timer = afterAwaiting(this.#clock, ms, () => {
      this.#lost(SILENT, 0);
    });
  }

  #lost(why: Says, againMs: number): void {
    const heard = this.#state.phase === 'heard';
    // What spoke at this speed will most likely speak at it again.
    if (!heard) this.#speed++;
    if (heard)
      this.#events.next({
        kind: 'receiver',
        tUs: this.#clock.nowUs(),
        state: 'lost',
        text: inEnglish(why),
      });
    this.#leave();
    this.#tryAgain(why, againMs);
  }

  #tryAgain(trouble: Says, ms: number): void {
    this.#state = { phase: 'searching', trouble };
    if (this.#stopped) return;
    this.#timer?.cancel();
    this.#timer = this.#clock.after(ms, () => void this.#open());
  }

  #leave(): void {
    const link = this.#link;
    this.#link = null;
    if (link) this.#closing = this.#closing.then(() => link.close());
  }
}

const SILENT = saying('receiver.silent');
