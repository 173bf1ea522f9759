/**
 * Characters lost on the line between computer and adapter, both ways: whatever they make of a request, nothing but
 * reading requests may reach the bus. Judged by the frames that the simulated adapter puts on the bus, read here anew.
 */
import { ManualClock } from '../../src/core/clock.ts';
import { VehicleSession } from '../../src/poll/session.ts';
import { simLinkFactory } from '../../src/sim/bench.ts';
import type { CanFrame } from '../../src/sim/ecu/bus.ts';
import { steadyCar } from './steady-car.ts';

export const SHARES = [0.001, 0.002, 0.005, 0.01, 0.02, 0.05] as const;
export const ADAPTERS = [
  { name: 'text', front: 'at', quirks: [] },
  { name: 'serial-line CAN', front: 'slcan', quirks: [] },
  { name: 'serial-line CAN, loose lines', front: 'slcan', quirks: ['loose-lines'] },
  { name: 'serial-line CAN, no acknowledgements', front: 'slcan', quirks: ['loose-lines', 'no-ack'] },
] as const;

export interface LossResult {
  readonly adapter: string;
  readonly share: number;
  /** Requests that reached the bus, and values that came of them. */
  readonly requests: number;
  readonly values: number;
  readonly simulatedS: number;
  /** Requests of another service than the reading ones, as hex. */
  readonly forbidden: readonly string[];
  /** Requests of service 00, which there is not. */
  readonly nothing: number;
  /** Simulated seconds in which nothing was asked, because the line is too bad for this dialect. */
  readonly refusedS: number;
  /** Frames with data and an address that is no diagnostic request's. */
  readonly astray: number;
}

const READING = new Set([0x01, 0x02, 0x03, 0x06, 0x07, 0x09, 0x0a]);

/** Of a line that is refused, and connected now and then; the rest of the requests is left to better lines. */
const MOST_REFUSED_S = 3600;

/** A recording session on a lossy line until so many requests have reached the bus, or it was refused for an hour. */
export async function loseCharacters(
  adapter: (typeof ADAPTERS)[number],
  share: number,
  requests: number,
  seed: number,
): Promise<LossResult> {
  const clock = new ManualClock();
  let reached = 0;
  let values = 0;
  let nothing = 0;
  let astray = 0;
  let refusedS = 0;
  const forbidden: string[] = [];
  const onFrame = ({ id, extended, data }: CanFrame): void => {
    if (extended ? id >> 8 === 0x18daf1 : id >= 0x7e8 && id <= 0x7ef) return; // an answer
    const [kind = 0, service = 0] = data;
    if (
      extended
        ? id !== 0x18db33f1 && (id & 0x1fff00ff) !== 0x18da00f1
        : id !== 0x7df && (id & 0x7f8) !== 0x7e0
    ) {
      if (data.length > 0) astray++;
      return;
    }
    if (kind >> 4 !== 0 || kind === 0 || kind >= data.length) return; // flow control, or nothing that a unit takes
    reached++;
    if (service === 0) nothing++;
    else if (!READING.has(service)) forbidden.push(Buffer.from(data).toString('hex'));
  };
  const factory = simLinkFactory({
    vehicle: steadyCar(() => clock.nowUs() / 1e6),
    clock,
    front: adapter.front,
    pace: null,
    responseMs: 2,
    jitterMs: 1,
    seed,
    quirks: [`drop-bytes=${share}`, `drop-commands=${share}`, ...adapter.quirks],
    onFrame,
  });
  while (reached < requests && refusedS < MOST_REFUSED_S) {
    const session = new VehicleSession({ factory, family: adapter.front, clock, tap: () => undefined });
    session.samples$.subscribe(() => values++);
    let ended = false;
    const sinceUs = clock.nowUs();
    session.start().then(
      () => undefined,
      (thrown: { code?: string }) => {
        ended = true;
        if (thrown.code === 'link.lossy') refusedS += (clock.nowUs() - sinceUs) / 1e6;
      },
    );
    while (!ended && reached < requests && refusedS < MOST_REFUSED_S) {
      await clock.advance(200);
      const { phase, says } = session.state;
      if (phase === 'lost' && JSON.stringify(says).includes('lossy')) refusedS += 0.2;
    }
    await clock.until(session.stop(), 20);
  }
  factory.close();
  return {
    adapter: adapter.name,
    share,
    requests: reached,
    values,
    simulatedS: clock.nowUs() / 1e6,
    forbidden,
    nothing,
    refusedS,
    astray,
  };
}
