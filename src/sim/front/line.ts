/** The serial line between host and simulated adapter: paced both ways, with the noise that quirks ask for. */
import type { Clock } from '../../core/clock.ts';
import type { Random } from '../../core/random.ts';
import type { Front, HostWire } from './front.ts';
import { PacedBytes } from './pace.ts';
import type { Quirks } from './quirks.ts';

export interface LineOptions {
  readonly clock: Clock;
  readonly random: Random;
  readonly quirks: Quirks;
  /** bit/s of the adapter; null = no pacing. */
  readonly baud: number | null;
}

/** What an adapter can still have to say; more is refused, and the adapter may know. */
const OUT_LIMIT = 16_384;
/** What a host can have under way: a real adapter's receive buffer is far smaller. */
const IN_LIMIT = 4096;

export class SerialLine {
  readonly #options: LineOptions;
  readonly #out: PacedBytes;
  readonly #in: PacedBytes;
  #baud: number | null;
  #wire: HostWire | null = null;
  #front: Front | null = null;

  constructor(options: LineOptions) {
    this.#options = options;
    const { clock, baud } = options;
    this.#baud = baud;
    this.#out = new PacedBytes({
      clock,
      baud,
      limit: OUT_LIMIT,
      deliver: (bytes) => this.#wire?.write(this.#noisy(bytes)),
    });
    this.#in = new PacedBytes({
      clock,
      baud,
      limit: IN_LIMIT,
      deliver: (bytes) =>
        this.#front?.receive(this.#atWrongSpeed() ? this.#scrambled(bytes) : this.#lossy(bytes)),
    });
  }

  plug(front: Front): void {
    this.#front = front;
  }

  /** Null: nobody is at the other end, and what the adapter says is lost. What was under way is lost too. */
  attach(wire: HostWire | null): void {
    this.#wire = wire;
    this.#in.clear();
    if (wire === null) this.#out.clear();
  }

  fromHost(bytes: Uint8Array): void {
    if (this.#in.push(bytes)) return;
    const room = IN_LIMIT - this.#in.waiting;
    this.#in.push(bytes.subarray(0, room)); // the rest overran the buffer
  }

  /** False when the bytes did not fit. */
  toHost(bytes: Uint8Array): boolean {
    return this.#out.push(bytes);
  }

  get waiting(): number {
    return this.#out.waiting;
  }

  /** Line speed of the adapter now, bit/s; null = no pacing. */
  get baud(): number | null {
    return this.#baud;
  }

  /** The adapter goes to another line speed; null = back to the one it starts with. */
  changeSpeed(baud: number | null): void {
    const next = baud ?? this.#options.baud;
    if (next === null || this.#baud === null) return;
    this.#baud = next;
    this.#in.setBaud(next);
    this.#out.setBaud(next);
  }

  #atWrongSpeed(): boolean {
    const { quirks } = this.#options;
    if (!mindsSpeed(quirks) || this.#baud === null) return false;
    if (this.#isRaised && this.#baud > 1.03 * (quirks.get('line-speed') ?? Number.POSITIVE_INFINITY))
      return true;
    const host = this.#wire?.hostBaud() ?? null;
    return host !== null && !isNear(host, this.#baud);
  }

  get #isRaised(): boolean {
    const { baud } = this.#options;
    return this.#baud !== null && baud !== null && !isNear(this.#baud, baud);
  }

  /** What a receiver at another speed makes of the bytes: as many edges, other bytes. */
  #scrambled(bytes: Uint8Array): Uint8Array {
    return bytes.map(() => Math.floor(this.#options.random.next() * 256));
  }

  #lossy(bytes: Uint8Array): Uint8Array {
    const drop = this.#options.quirks.get('drop-commands') ?? 0;
    return drop === 0 ? bytes : bytes.filter(() => this.#options.random.next() >= drop);
  }

  #noisy(bytes: Uint8Array): Uint8Array {
    const { quirks, random } = this.#options;
    if (this.#atWrongSpeed()) return this.#scrambled(bytes);
    const zero = quirks.get('null-bytes') ?? 0;
    const noisy = this.#isRaised ? (quirks.get('line-speed-noisy') ?? 0) : 0;
    const flip = Math.max(noisy, quirks.get('garble') ?? 0);
    const drop = quirks.get('drop-bytes') ?? 0;
    if (zero === 0 && flip === 0 && drop === 0) return bytes;
    const out: number[] = [];
    for (const byte of bytes) {
      if (random.next() < zero) out.push(0);
      if (random.next() < drop) continue;
      out.push(random.next() < flip ? byte ^ (1 << Math.floor(random.next() * 8)) : byte);
    }
    return Uint8Array.from(out);
  }
}

/** Whether the host's line speed matters; otherwise any will do, as over a network. */
export function mindsSpeed(quirks: Quirks): boolean {
  return quirks.has('wrong-baud') || quirks.has('line-speed');
}

/** Two ends of a serial line understand each other within about three in a hundred. */
function isNear(a: number, b: number): boolean {
  return Math.abs(a / b - 1) < 0.03;
}
