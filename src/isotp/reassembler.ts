/** Several control units answering at once: one receiver for each address. */
import { IsotpReceiver, type IsotpReceiverOptions, type ReceiveEvent } from './receiver.ts';

/** ISO 15765-4 knows eight 11-bit answer addresses and 256 29-bit ones; a diagnostic bus uses a handful. */
const MAX_ADDRESSES = 256;

export type AddressedEvent = ReceiveEvent & { readonly id: string };

export class Reassembler {
  readonly #options: IsotpReceiverOptions;
  readonly #receivers = new Map<string, IsotpReceiver>();
  /** The last one that had nothing left to do. */
  #spare: IsotpReceiver | null = null;

  constructor(options: IsotpReceiverOptions = {}) {
    this.#options = options;
  }

  /** @param id address as upper-case hex, 3 digits (11-bit) or 8 (29-bit); the rest as in `IsotpReceiver` */
  push(id: string, bytes: Uint8Array, tUs: number, from = 0, to = bytes.length): readonly ReceiveEvent[] {
    const open = this.#receivers.get(id);
    if (!open && this.#receivers.size >= MAX_ADDRESSES) {
      const why = `more than ${MAX_ADDRESSES} addresses at once`;
      return [{ kind: 'error', code: 'overflow', why, tUs, lost: 0 }];
    }
    const receiver = open ?? this.#spare ?? new IsotpReceiver(this.#options);
    if (!open) this.#spare = null;
    const events = receiver.push(bytes, tUs, from, to);
    if (receiver.busy) {
      if (!open) this.#receivers.set(id, receiver);
    } else {
      if (open) this.#receivers.delete(id);
      this.#spare = receiver;
    }
    return events;
  }

  tick(tUs: number): AddressedEvent[] {
    const events: AddressedEvent[] = [];
    for (const [id, receiver] of this.#receivers) {
      for (const event of receiver.tick(tUs)) events.push({ ...event, id });
      if (!receiver.busy) this.#receivers.delete(id);
    }
    return events;
  }

  /** Gives up what is unfinished, without a word. */
  forget(): void {
    if (this.#receivers.size > 0) this.#receivers.clear(); // clearing an empty one makes a new one
  }

  /** Addresses with an unfinished message. */
  get open(): readonly string[] {
    return [...this.#receivers.keys()];
  }

  /** When `tick` has something to do, or null. */
  get dueUs(): number | null {
    let due: number | null = null;
    for (const { dueUs } of this.#receivers.values())
      if (dueUs !== null && (due === null || dueUs < due)) due = dueUs;
    return due;
  }
}
