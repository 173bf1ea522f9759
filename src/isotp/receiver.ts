/** The receiving side of ISO 15765-2 for one sender: frames and time in, messages and flow control out. */
import { type FrameFault, flowFrame, readFrame } from './frame.ts';

export interface IsotpReceiverOptions {
  /** False: no flow control is made, for frames of the past. */
  readonly flow?: boolean;
  /** Frames between two flow controls; 0 = one flow control for the whole message. */
  readonly blockSize?: number;
  /** Separation byte asked of the sender, as sent (see separationOf). */
  readonly separation?: number;
  /** Longer messages are refused with flow control "overflow". */
  readonly maxBytes?: number;
  /** N_Cr, the longest wait for the next consecutive frame (9.8.1). */
  readonly timeoutUs?: number;
  /** Padding of flow control frames; null = none. */
  readonly padding?: number | null;
}

export type ReceiveFault = FrameFault | 'sequence' | 'unexpected' | 'cut off' | 'overflow' | 'timeout';

export type ReceiveEvent =
  | { readonly kind: 'message'; readonly payload: Uint8Array; readonly tUs: number }
  /** To be sent to the sender of the message. */
  | { readonly kind: 'flow'; readonly frame: Uint8Array }
  /** `lost`: bytes of an unfinished message given up with it. */
  | {
      readonly kind: 'error';
      readonly code: ReceiveFault;
      readonly why: string;
      readonly tUs: number;
      readonly lost: number;
    };

interface Open {
  readonly total: number;
  readonly bytes: Uint8Array;
  have: number;
  next: number;
  inBlock: number;
  lastUs: number;
}

const DEFAULTS: Required<IsotpReceiverOptions> = {
  flow: true,
  blockSize: 0,
  separation: 0,
  maxBytes: 4095,
  timeoutUs: 1_000_000,
  padding: 0,
};

/** Of all receivers; nothing is ever put into it. */
const NOTHING_SAID: ReceiveEvent[] = [];

/** Every frame ends in an event or in an unfinished message; nothing is dropped without a word. */
export class IsotpReceiver {
  readonly #options: Required<IsotpReceiverOptions>;
  #open: Open | null = null;
  /** What this frame or tick brings: nothing, for most frames of a long message. */
  #said: ReceiveEvent[] = NOTHING_SAID;

  constructor(options: IsotpReceiverOptions = {}) {
    this.#options = { ...DEFAULTS, ...options };
  }

  /** True while a message is unfinished. */
  get busy(): boolean {
    return this.#open !== null;
  }

  /** When `tick` has something to do, or null. */
  get dueUs(): number | null {
    return this.#open ? this.#open.lastUs + this.#options.timeoutUs : null;
  }

  /** @param bytes the frame's stand from `from` to `to` */
  push(bytes: Uint8Array, tUs: number, from = 0, to = bytes.length): readonly ReceiveEvent[] {
    this.#said = NOTHING_SAID;
    this.#giveUpLate(tUs);
    const frame = readFrame(bytes, from, to);
    switch (frame.kind) {
      case 'single':
        this.#cutOff('a single frame came in between', tUs);
        this.#say({ kind: 'message', payload: frame.data, tUs });
        break;
      case 'first':
        this.#cutOff('a new first frame came in between', tUs);
        this.#begin(frame.total, bytes.subarray(frame.from, to), tUs);
        break;
      case 'consecutive':
        this.#continue(frame.sequence, bytes, frame.from, to, tUs);
        break;
      case 'flow': // 9.8.3: no business of a receiver.
        this.#say({ kind: 'error', code: 'unexpected', why: 'flow control to a receiver', tUs, lost: 0 });
        break;
      case 'bad': // 9.8.3: ignored; an unfinished message goes on.
        this.#say({ kind: 'error', code: frame.code, why: frame.why, tUs, lost: 0 });
        break;
    }
    return this.#said;
  }

  /** 9.8.2: a consecutive frame that stays away longer than N_Cr ends the message. */
  tick(tUs: number): readonly ReceiveEvent[] {
    this.#said = NOTHING_SAID;
    this.#giveUpLate(tUs);
    return this.#said;
  }

  #say(event: ReceiveEvent): void {
    if (this.#said === NOTHING_SAID) this.#said = [event];
    else this.#said.push(event);
  }

  #giveUpLate(tUs: number): void {
    const o = this.#open;
    if (o && tUs - o.lastUs > this.#options.timeoutUs)
      this.#giveUp(
        'timeout',
        `frame ${o.next} did not come within ${this.#options.timeoutUs / 1000} ms`,
        tUs,
      );
  }

  /** 9.8.3: a new message ends an unfinished one. */
  #cutOff(why: string, tUs: number): void {
    if (this.#open) this.#giveUp('cut off', why, tUs);
  }

  #begin(total: number, data: Uint8Array, tUs: number): void {
    const { flow, maxBytes, padding } = this.#options;
    if (total > maxBytes) {
      // 9.6.5.2: overflow answers a first frame that is longer than can be taken.
      if (flow) this.#say({ kind: 'flow', frame: flowFrame('overflow', 0, 0, padding) });
      const why = `${total} bytes announced, at most ${maxBytes} taken`;
      this.#say({ kind: 'error', code: 'overflow', why, tUs, lost: data.length });
      return;
    }
    const bytes = new Uint8Array(total);
    bytes.set(data);
    this.#open = { total, bytes, have: data.length, next: 1, inBlock: 0, lastUs: tUs };
    if (flow) this.#say(this.#flow());
  }

  #continue(sequence: number, bytes: Uint8Array, from: number, to: number, tUs: number): void {
    const o = this.#open;
    if (!o) {
      const why = 'consecutive frame without a first frame';
      this.#say({ kind: 'error', code: 'unexpected', why, tUs, lost: 0 });
      return;
    }
    if (sequence !== o.next) {
      // 9.6.4.4: a wrong number, a repeated one too, ends the message.
      this.#giveUp('sequence', `frame ${sequence} where ${o.next} was due`, tUs);
      return;
    }
    const want = Math.min(7, o.total - o.have);
    if (to - from < want) {
      this.#giveUp('length', `consecutive frame of ${to - from} bytes, ${want} were due`, tUs);
      return;
    }
    for (let i = 0; i < want; i++) o.bytes[o.have + i] = bytes[from + i]!;
    o.have += want;
    o.next = (o.next + 1) & 0x0f; // 9.6.4.3: after 15 comes 0
    o.lastUs = tUs;
    if (o.have === o.total) {
      this.#open = null;
      this.#say({ kind: 'message', payload: o.bytes, tUs });
      return;
    }
    // Never, where all frames come in one block: that is size 0.
    if (++o.inBlock === this.#options.blockSize) {
      o.inBlock = 0;
      if (this.#options.flow) this.#say(this.#flow());
    }
  }

  #flow(): ReceiveEvent {
    const { blockSize, separation, padding } = this.#options;
    return { kind: 'flow', frame: flowFrame('continue', blockSize, separation, padding) };
  }

  #giveUp(code: ReceiveFault, why: string, tUs: number): void {
    this.#say({ kind: 'error', code, why, tUs, lost: this.#open?.have ?? 0 });
    this.#open = null;
  }
}
