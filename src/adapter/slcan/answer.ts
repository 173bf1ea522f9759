/** What comes back of one request over serial-line CAN: lines in, how long to go on waiting out. */
import { isResponseId, requestIdOf } from '../../isotp/address.ts';
import { Reassembler } from '../../isotp/reassembler.ts';
import { answersTo, isPending } from '../answers.ts';
import type { RxChunk } from '../received.ts';
import type { Outbox } from './outbox.ts';
import type { HeardLine } from './port.ts';

const MORE_MS = 100;
/** After "answer pending" it may take P2* = 5 s (ISO 14229-2, from memory). */
const PENDING_MS = 5500;
/** We ask for no pause between frames; N_Cr of ISO 15765-2 (1 s, from memory) would cost a dozen other values. */
const NEXT_FRAME_MS = 300;

export interface SlcanAsked {
  readonly payload: Uint8Array;
  /** Response address of the unit asked; null = all. */
  readonly ecu: string | null;
  readonly sentUs: number;
}

export class SlcanAnswer {
  readonly rx: RxChunk[] = [];
  /** The adapter refused the request. */
  notSent = false;
  /** A late answer came and was left out: what stays away now is no second one. */
  droppedLate = false;
  damaged = false;
  readonly #asked: SlcanAsked;
  readonly #outbox: Outbox;
  readonly #isLate: (answer: Uint8Array) => boolean;
  readonly #reassembler = new Reassembler();
  readonly #expect: number;
  #finals = 0;
  #waitMs: number;

  /**
   * @param expect whole answers that are all
   * @param waitMs from each line on, until a whole answer has come
   * @param isLate it belongs to the request before, though it would do for this one: with it goes all that came so far
   */
  constructor(
    asked: SlcanAsked,
    outbox: Outbox,
    expect: number,
    waitMs: number,
    isLate: (answer: Uint8Array) => boolean,
  ) {
    this.#asked = asked;
    this.#outbox = outbox;
    this.#expect = expect;
    this.#waitMs = waitMs;
    this.#isLate = isLate;
  }

  /** @returns how the wait ends, how many ms it goes on from now, or null: as it was. */
  hear({ meaning, chunk }: HeardLine): 'complete' | 'refused' | number | null {
    this.rx.push(chunk);
    if (meaning.kind === 'error') return this.#refused();
    if (meaning.kind === 'reply') this.#outbox.taken();
    // The answer was probably in what cannot be read: no long wait for it.
    if (meaning.kind === 'malformed') {
      this.damaged = true;
      return MORE_MS;
    }
    if (meaning.kind !== 'frame' || !isResponseId(meaning.id)) return null;
    return this.#frame(meaning.id, meaning.data, chunk.tUs);
  }

  #refused(): 'refused' | number | null {
    if (this.#outbox.refused()) return this.#waitMs;
    this.notSent = true;
    return this.#finals === 0 && this.#reassembler.open.length === 0 ? 'refused' : null;
  }

  #frame(id: string, data: Uint8Array, tUs: number): 'complete' | number {
    for (const event of this.#reassembler.push(id, data, tUs)) {
      // To a late first frame too: until it has its flow control the unit takes no other request.
      if (event.kind === 'flow') this.#outbox.put(requestIdOf(id)!, event.frame);
      if (event.kind === 'message') this.#message(id, event.payload);
    }
    const isOpen = this.#reassembler.open.length > 0;
    if (this.#finals >= this.#expect && !isOpen) return 'complete';
    return isOpen ? Math.max(NEXT_FRAME_MS, this.#waitMs) : this.#waitMs;
  }

  #message(id: string, answer: Uint8Array): void {
    const { payload, ecu } = this.#asked;
    if (!answersTo(payload, answer) || (ecu !== null && id !== ecu)) return;
    if (this.#isLate(answer)) {
      this.droppedLate = true;
      this.rx.length = 0;
    } else if (isPending(answer)) this.#waitMs = PENDING_MS;
    else {
      this.#finals++;
      this.#waitMs = MORE_MS;
    }
  }
}
