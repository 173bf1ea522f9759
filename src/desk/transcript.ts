/** What was said between computer and adapter since the last connect, to be shown and sent; what tells the VIN is left out. */
import type { WireEvent } from '../adapter/adapter.ts';
import { classicRequest, VEHICLE_INFORMATION } from '../j1979/newer.ts';

/** The search and the first seconds with the car; then only what becomes of the link. */
const MAX_LINES = 1500;
const MAX_LINK_LINES = 200;
const MAX_BYTES = 200;
/** Answers to it may come late, while the next ones are asked. */
const STILL_LATE = 2;

export class Transcript {
  readonly #lines: string[] = [];
  readonly #later: string[] = [];
  #startUs: number | null = null;
  #leftOut = 0;

  event(event: WireEvent): void {
    this.#startUs ??= event.tUs;
    const full = this.#lines.length >= MAX_LINES;
    if (event.kind === 'link') {
      const into = full ? this.#later : this.#lines;
      into.push(`${this.#at(event)} link ${event.state}: ${event.text}`);
      if (this.#later.length > MAX_LINK_LINES) this.#later.shift();
      return;
    }
    if (event.kind === 'request') {
      const asksWho = classicRequest(event.payload)[0] === VEHICLE_INFORMATION;
      this.#leftOut = asksWho ? STILL_LATE + 1 : Math.max(0, this.#leftOut - 1);
    }
    if (!full) this.#lines.push(`${this.#at(event)} ${this.#told(event)}`);
  }

  lines(): readonly string[] {
    return [...this.#lines, ...this.#later];
  }

  #at({ tUs }: WireEvent): string {
    return ((tUs - this.#startUs!) / 1e6).toFixed(3).padStart(9);
  }

  #told(event: Exclude<WireEvent, { readonly kind: 'link' }>): string {
    switch (event.kind) {
      case 'tx':
        return `> ${printable(event.bytes)}`;
      case 'rx':
        return this.#leftOut > 0 ? `< (${event.bytes.length} bytes left out)` : `< ${printable(event.bytes)}`;
      case 'request':
        return `request ${Buffer.from(event.payload).toString('hex')}`;
      case 'done':
        return `done ${event.outcome}`;
      case 'dialect':
        return `dialect ${JSON.stringify(event.dialect)}`;
    }
  }
}

/** Bytes that can be read as they are, others as \xNN. */
function printable(bytes: Uint8Array): string {
  let text = '';
  for (const b of bytes.subarray(0, MAX_BYTES))
    if (b === 13) text += '\\r';
    else if (b === 10) text += '\\n';
    else text += b >= 32 && b < 127 ? String.fromCharCode(b) : `\\x${b.toString(16).padStart(2, '0')}`;
  return bytes.length > MAX_BYTES ? `${text} (${bytes.length} bytes)` : text;
}
