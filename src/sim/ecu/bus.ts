/** A CAN bus in simulated wire time: one frame after the other, each as long as its bits take. */
import type { Clock, Timer } from '../../core/clock.ts';

export interface CanFrame {
  readonly id: number;
  readonly extended: boolean;
  readonly data: Uint8Array;
  readonly remote?: boolean;
}

export interface BusNode {
  /** A frame of another node; `tUs` is when its last bit passed. */
  receive(frame: CanFrame, tUs: number): void;
  /** Awake nodes acknowledge frames. */
  awake(): boolean;
}

/** A real bus loses nothing, but a real controller has few places to queue in; more waiting frames are refused. */
const MAX_WAITING = 4096;
/** Average share of stuff bits in ordinary traffic (common practice, no source). */
const STUFFING = 1.1;

interface Waiting {
  readonly frame: CanFrame;
  readonly from: BusNode;
  readonly doneUs: number;
  readonly onSent: ((acknowledged: boolean) => void) | undefined;
}

export class SimBus {
  readonly bitrate: number;
  readonly #clock: Clock;
  readonly #nodes = new Set<BusNode>();
  #waiting: Waiting[] = [];
  #busyUntilUs = 0;
  #timer: Timer | null = null;

  constructor(clock: Clock, bitrate: number) {
    this.#clock = clock;
    this.bitrate = bitrate;
  }

  attach(node: BusNode): void {
    this.#nodes.add(node);
  }

  detach(node: BusNode): void {
    this.#nodes.delete(node);
    this.#waiting = this.#waiting.filter((w) => w.from !== node);
  }

  /**
   * Queues a frame; frames leave in the order given (no arbitration by identifier: the load is far from full).
   * @returns false when the queue is full
   */
  send(frame: CanFrame, from: BusNode, onSent?: (acknowledged: boolean) => void): boolean {
    if (this.#waiting.length >= MAX_WAITING) return false;
    const startUs = Math.max(this.#clock.nowUs(), this.#busyUntilUs);
    const doneUs = startUs + frameUs(frame, this.bitrate);
    this.#busyUntilUs = doneUs;
    this.#waiting.push({ frame, from, doneUs, onSent });
    this.#wake();
    return true;
  }

  #wake(): void {
    const first = this.#waiting[0];
    if (first === undefined || this.#timer !== null) return;
    this.#timer = this.#clock.after(Math.max(0, first.doneUs - this.#clock.nowUs()) / 1000, () => {
      this.#timer = null;
      this.#deliver();
    });
  }

  #deliver(): void {
    const now = this.#clock.nowUs();
    for (;;) {
      const first = this.#waiting[0];
      if (first === undefined || first.doneUs > now) break;
      this.#waiting.shift();
      const others = [...this.#nodes].filter((node) => node !== first.from);
      const acknowledged = others.some((node) => node.awake());
      first.onSent?.(acknowledged);
      if (acknowledged) for (const node of others) node.receive(first.frame, first.doneUs);
    }
    this.#wake();
  }
}

/** Frame length in microseconds, ISO 11898-1 field lengths from memory: 47 or 67 bits around the data. */
function frameUs(frame: CanFrame, bitrate: number): number {
  const dataBits = frame.remote ? 0 : 8 * frame.data.length;
  return Math.ceil((((frame.extended ? 67 : 47) + dataBits) * STUFFING * 1e6) / bitrate);
}
