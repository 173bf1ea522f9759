/** The sending side of ISO 15765-2 for one message: flow control and time in, frames out. */
import { buildFrame, readFrame } from './frame.ts';

export interface SenderOptions {
  /** Padding of short frames; null = none. */
  readonly padding?: number | null;
  /** N_Bs, the longest wait for a flow control (9.8.1). */
  readonly timeoutUs?: number;
  /** Wait frames in a row that are borne (9.7). */
  readonly maxWaits?: number;
}

export type SendFault = 'timeout' | 'overflow' | 'too many waits' | 'flow status';

export type SendEvent =
  | { readonly kind: 'frame'; readonly bytes: Uint8Array }
  | { readonly kind: 'done' }
  | { readonly kind: 'error'; readonly code: SendFault; readonly why: string };

type State = 'new' | 'waiting' | 'sending' | 'ended';

/** One use: start, then push what the receiver sends and tick when due, until done or error. */
export class Sender {
  readonly #payload: Uint8Array;
  readonly #options: Required<SenderOptions>;
  #state: State = 'new';
  #sent = 0;
  #sequence = 1;
  #leftInBlock = 0;
  #separationUs = 0;
  #waits = 0;
  #dueUs: number | null = null;

  /** @param payload 1 byte at least; more than 4095 go with the escape length. */
  constructor(payload: Uint8Array, options: SenderOptions = {}) {
    if (payload.length < 1) throw new RangeError('an ISO 15765-2 message has at least one byte');
    this.#payload = payload;
    this.#options = { padding: 0, timeoutUs: 1_000_000, maxWaits: 16, ...options };
  }

  get ended(): boolean {
    return this.#state === 'ended';
  }

  /** When `tick` has something to do, or null. */
  get dueUs(): number | null {
    return this.#dueUs;
  }

  start(tUs: number): SendEvent[] {
    if (this.#state !== 'new') throw new Error('a sender is started once');
    const n = this.#payload.length;
    if (n <= 7) {
      this.#state = 'ended';
      return [this.#frame([n, ...this.#payload]), { kind: 'done' }];
    }
    const head =
      n <= 4095
        ? [0x10 | (n >> 8), n & 0xff]
        : [0x10, 0, n >>> 24, (n >> 16) & 0xff, (n >> 8) & 0xff, n & 0xff];
    this.#sent = 8 - head.length;
    this.#await(tUs);
    return [this.#frame([...head, ...this.#payload.subarray(0, this.#sent)])];
  }

  /** A frame from the receiver. Anything but an awaited flow control is ignored (9.8.3). */
  push(bytes: Uint8Array, tUs: number): SendEvent[] {
    const events = this.tick(tUs);
    if (this.#state !== 'waiting') return events;
    const frame = readFrame(bytes);
    if (frame.kind === 'bad' && frame.code === 'flow status') {
      events.push(this.#fail('flow status', frame.why)); // 9.6.5.3: ends the message
      return events;
    }
    if (frame.kind !== 'flow') return events;
    if (frame.status === 'overflow') {
      events.push(this.#fail('overflow', `the receiver does not take ${this.#payload.length} bytes`));
    } else if (frame.status === 'wait') {
      if (++this.#waits > this.#options.maxWaits)
        events.push(this.#fail('too many waits', `the receiver asked to wait ${this.#waits} times`));
      else this.#dueUs = tUs + this.#options.timeoutUs; // 9.6.5.2: wait starts N_Bs anew
    } else {
      this.#waits = 0;
      this.#state = 'sending';
      // 9.6.5.4: block size 0 means no further flow control; 9.6.5.7: each flow control may change both.
      this.#leftInBlock = frame.blockSize === 0 ? Number.POSITIVE_INFINITY : frame.blockSize;
      this.#separationUs = frame.separationUs;
      this.#dueUs = tUs;
      events.push(...this.tick(tUs));
    }
    return events;
  }

  /** Frames whose separation time is over; the timeout of a flow control that stays away (9.8.2). */
  tick(tUs: number): SendEvent[] {
    if (this.#dueUs === null) return [];
    if (this.#state === 'waiting') {
      if (tUs <= this.#dueUs) return [];
      return [this.#fail('timeout', `no flow control within ${this.#options.timeoutUs / 1000} ms`)];
    }
    const events: SendEvent[] = [];
    while (this.#state === 'sending' && this.#dueUs !== null && tUs >= this.#dueUs) {
      const chunk = this.#payload.subarray(this.#sent, this.#sent + 7);
      events.push(this.#frame([0x20 | this.#sequence, ...chunk]));
      this.#sequence = (this.#sequence + 1) & 0x0f;
      this.#sent += chunk.length;
      if (this.#sent === this.#payload.length) {
        this.#state = 'ended';
        this.#dueUs = null;
        events.push({ kind: 'done' });
      } else if (--this.#leftInBlock === 0) this.#await(tUs);
      else this.#dueUs = tUs + this.#separationUs;
    }
    return events;
  }

  #await(tUs: number): void {
    this.#state = 'waiting';
    this.#dueUs = tUs + this.#options.timeoutUs;
  }

  #frame(content: number[]): SendEvent {
    return { kind: 'frame', bytes: buildFrame(content, this.#options.padding) };
  }

  #fail(code: SendFault, why: string): SendEvent {
    this.#state = 'ended';
    this.#dueUs = null;
    return { kind: 'error', code, why };
  }
}
