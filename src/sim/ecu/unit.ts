/** A control unit on the bus: its addresses, its answer time, and messages of any length over ISO 15765-2. */
import type { Clock, Timer } from '../../core/clock.ts';
import type { Random } from '../../core/random.ts';
import { FUNCTIONAL, responseIdOf } from '../../isotp/address.ts';
import { readFrame } from '../../isotp/frame.ts';
import { IsotpReceiver } from '../../isotp/receiver.ts';
import { type SendEvent, Sender } from '../../isotp/sender.ts';
import { encodeNegative, NEGATIVE } from '../../j1979/negative.ts';
import type { BusNode, CanFrame, SimBus } from './bus.ts';
import type { Responder, UnitName } from './content.ts';

/** What a unit truly sent, for tests and for judging. */
export interface UnitAnswer {
  readonly unit: UnitName;
  /** Clock time at which the answer was put together. */
  readonly tUs: number;
  readonly functional: boolean;
  readonly request: Uint8Array;
  readonly response: Uint8Array;
}

export interface Late {
  /** Of the requests. */
  readonly share: number;
  readonly ms: number;
  /** Requests that come meanwhile wait their turn, and each is answered. Default: the newest takes the place of the others. */
  readonly inTurn?: boolean;
}

export interface UnitOptions {
  readonly clock: Clock;
  readonly bus: SimBus;
  readonly random: Random;
  readonly name: UnitName;
  readonly extended: boolean;
  readonly respond: Responder;
  /** Ignition on. */
  readonly powered: () => boolean;
  /** From request to answer: at least this many milliseconds, and up to `jitterMs` more. */
  readonly responseMs: number;
  readonly jitterMs: number;
  /** Now and then an answer takes this much longer. */
  readonly late: Late;
  /** This share of requests is refused as busy (negative response 21). */
  readonly busy: number;
  /** Services that are first answered with "answer follows" (negative response 78). */
  readonly pendingServices: readonly number[];
  readonly onAnswer: (answer: UnitAnswer) => void;
}

/** Physical request addresses (ISO 15765-4, from memory; 10 and 18 are the usual 29-bit ones for these units). */
const ADDRESSES: Readonly<Record<UnitName, { readonly short: string; readonly long: string }>> = {
  engine: { short: '7E0', long: '18DA10F1' },
  transmission: { short: '7E1', long: '18DA18F1' },
};
const PADDING = 0x55;
const PENDING_EXTRA_MS = 400;
const MOST_WAITING = 8;

export class SimControlUnit implements BusNode {
  readonly #o: UnitOptions;
  readonly #requestId: number;
  readonly #functionalId: number;
  readonly #responseId: number;
  readonly #receiver = new IsotpReceiver({ padding: PADDING });
  #sender: Sender | null = null;
  #answerTimer: Timer | null = null;
  #senderTimer: Timer | null = null;
  #waiting: (readonly [request: Uint8Array, functional: boolean])[] = [];

  constructor(options: UnitOptions) {
    this.#o = options;
    const { short, long } = ADDRESSES[options.name];
    const request = options.extended ? long : short;
    this.#requestId = Number.parseInt(request, 16);
    this.#responseId = Number.parseInt(responseIdOf(request) ?? '0', 16);
    this.#functionalId = Number.parseInt(options.extended ? FUNCTIONAL.can29 : FUNCTIONAL.can11, 16);
    options.bus.attach(this);
  }

  awake(): boolean {
    return this.#o.powered();
  }

  receive(frame: CanFrame, tUs: number): void {
    if (!this.#o.powered() || frame.extended !== this.#o.extended || frame.remote) return;
    if (frame.id === this.#functionalId) {
      // Only single frames may be functional (ISO 15765-2, 9.6.2, from memory).
      const content = readFrame(frame.data);
      if (content.kind === 'single') this.#request(content.data, true);
    } else if (frame.id === this.#requestId) {
      if (this.#sender !== null) this.#sent(this.#sender.push(frame.data, tUs));
      if (frame.data[0] !== undefined && frame.data[0] >> 4 === 3) return; // flow control is the sender's
      for (const event of this.#receiver.push(frame.data, tUs)) {
        if (event.kind === 'message') this.#request(event.payload, false);
        else if (event.kind === 'flow') this.#put(event.frame);
      }
    }
  }

  close(): void {
    this.#waiting = [];
    this.#silence();
    this.#o.bus.detach(this);
  }

  /** A new request takes the place of one that is still being answered, or waits for its end. */
  #request(request: Uint8Array, functional: boolean): void {
    const { clock, random, responseMs, jitterMs, late, busy, pendingServices } = this.#o;
    if (late.inTurn && (this.#answerTimer || this.#sender)) {
      if (this.#waiting.length < MOST_WAITING) this.#waiting.push([request, functional]);
      return;
    }
    this.#silence();
    const lateMs = late.share > 0 && random.next() < late.share ? late.ms : 0;
    const delayMs = responseMs + random.between(0, jitterMs) + lateMs;
    const service = request[0] ?? 0;
    const pending = pendingServices.includes(service);
    if (busy > 0 && random.next() < busy) {
      this.#answerTimer = clock.after(delayMs, () => {
        this.#answerTimer = null;
        this.#say(encodeNegative(service, NEGATIVE.busy), request, functional);
      });
      return;
    }
    this.#answerTimer = clock.after(delayMs, () => {
      if (!pending) return this.#answer(request, functional);
      this.#start(encodeNegative(service, NEGATIVE.pending));
      // Who asked for time has to answer, be it with a refusal (ISO 14229-1, from memory).
      this.#answerTimer = clock.after(PENDING_EXTRA_MS, () => this.#answer(request, functional, false));
    });
  }

  #answer(request: Uint8Array, functional: boolean, maySkip = functional): void {
    this.#answerTimer = null;
    if (!this.#o.powered()) return;
    const response = this.#o.respond(request, maySkip);
    if (response === null) this.#next();
    else this.#say(response, request, functional);
  }

  #next(): void {
    if (this.#answerTimer || this.#sender) return;
    const [next] = this.#waiting.splice(0, 1);
    if (next) this.#request(...next);
  }

  #say(response: Uint8Array, request: Uint8Array, functional: boolean): void {
    const { name: unit, clock, onAnswer } = this.#o;
    onAnswer({ unit, tUs: clock.nowUs(), functional, request, response });
    this.#start(response);
  }

  #start(payload: Uint8Array): void {
    this.#sender = new Sender(payload, { padding: PADDING });
    this.#sent(this.#sender.start(this.#o.clock.nowUs()));
  }

  #sent(events: readonly SendEvent[]): void {
    for (const event of events) if (event.kind === 'frame') this.#put(event.bytes);
    this.#senderTimer?.cancel();
    this.#senderTimer = null;
    if (this.#sender?.ended) this.#sender = null;
    const dueUs = this.#sender?.dueUs ?? null;
    if (dueUs === null) {
      this.#next();
      return;
    }
    const { clock } = this.#o;
    // One microsecond late: "longer than the timeout" is when the sender gives up.
    this.#senderTimer = clock.after(Math.max(0, dueUs + 1 - clock.nowUs()) / 1000, () => {
      this.#senderTimer = null;
      if (this.#sender !== null) this.#sent(this.#sender.tick(clock.nowUs()));
    });
  }

  #put(data: Uint8Array): void {
    if (this.#o.powered()) this.#o.bus.send({ id: this.#responseId, extended: this.#o.extended, data }, this);
  }

  #silence(): void {
    this.#answerTimer?.cancel();
    this.#senderTimer?.cancel();
    this.#answerTimer = this.#senderTimer = null;
    this.#sender = null;
  }
}
