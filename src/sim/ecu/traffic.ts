/** The rest of the vehicle talking: periodic frames that are none of a tester's business. */
import type { Clock, Timer } from '../../core/clock.ts';
import type { Random } from '../../core/random.ts';
import type { BusNode, SimBus } from './bus.ts';

const TICK_MS = 5;
const IDS = 40;

export class Traffic implements BusNode {
  readonly #clock: Clock;
  readonly #bus: SimBus;
  readonly #powered: () => boolean;
  readonly #perTick: number;
  readonly #ids: readonly number[];
  #owed = 0;
  #count = 0;
  #timer: Timer | null = null;

  /** @param framesPerS the bus takes about 4000 a second at 500 kbit/s; ask for less */
  constructor(clock: Clock, bus: SimBus, random: Random, powered: () => boolean, framesPerS: number) {
    this.#clock = clock;
    this.#bus = bus;
    this.#powered = powered;
    this.#perTick = (framesPerS * TICK_MS) / 1000;
    this.#ids = Array.from({ length: IDS }, () => Math.floor(random.between(0x0a0, 0x6f0)));
    bus.attach(this);
    this.#tick();
  }

  awake(): boolean {
    return this.#powered();
  }

  receive(): void {}

  close(): void {
    this.#timer?.cancel();
    this.#bus.detach(this);
  }

  #tick(): void {
    this.#timer = this.#clock.after(TICK_MS, () => this.#tick());
    this.#owed += this.#powered() ? this.#perTick : 0;
    while (this.#owed >= 1) {
      this.#owed--;
      const n = this.#count++;
      const data = Uint8Array.from({ length: 8 }, (_, i) => (n * (i + 3) + (n >> i)) & 0xff);
      this.#bus.send({ id: this.#ids[n % IDS] ?? 0x100, extended: false, data }, this);
    }
  }
}
