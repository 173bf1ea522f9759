/**
 * Characters lost on the line between computer and adapter, both ways: whatever they make of a request, nothing but
 * reading requests may reach the bus. Judged by the frames that the simulated adapter puts on the bus, read here anew.
 */
import { ManualClock } from '../../src/core/clock.ts';
import { VehicleSession } from '../../src/poll/session.ts';
import { takeSnapshot } from '../../src/poll/snapshot.ts';
import { simLinkFactory } from '../../src/sim/bench.ts';
import type { CanFrame } from '../../src/sim/ecu/bus.ts';
import type { TroubleCode } from '../../src/sim/types.ts';
import { askedBy } from './requests.ts';
import { steadyCar } from './steady-car.ts';

export const SHARES = [0.001, 0.002, 0.005, 0.01, 0.02, 0.05] as const;
export const ADAPTERS = [
  { name: 'text', front: 'at', quirks: [] },
  { name: 'serial-line CAN', front: 'slcan', quirks: [] },
  { name: 'serial-line CAN, loose lines', front: 'slcan', quirks: ['loose-lines'] },
  { name: 'serial-line CAN, no acknowledgements', front: 'slcan', quirks: ['loose-lines', 'no-ack'] },
  { name: 'text, newer services', front: 'at', quirks: [], services: 'newer' },
  { name: 'serial-line CAN, newer services', front: 'slcan', quirks: [], services: 'newer' },
] as const satisfies readonly {
  readonly name: string;
  readonly front: 'at' | 'slcan';
  readonly quirks: readonly string[];
  readonly services?: 'newer';
}[];
/** Seconds between two snapshots of the fault memory: lists of codes, freeze frames, vehicle information. */
const SNAPSHOT_EVERY_S = 20;

export interface LossResult {
  readonly adapter: string;
  readonly share: number;
  /** Requests that reached the bus, and values that came of them. */
  readonly requests: number;
  readonly values: number;
  /** Snapshots in which a control unit told of its codes. */
  readonly snapshots: number;
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

const FREEZE = { rpm: 2600, load_pct: 80, ect_c: 91, map_kpa: 120 };
/** One whose freeze frame may be asked for over serial-line CAN in the newer services, and one whose may not. */
const CODES: readonly TroubleCode[] = [
  { code: 'P0299', ecu: 'engine', state: 'stored', permanent: true, freeze: FREEZE },
  { code: 'P2263', ecu: 'engine', state: 'stored', permanent: false, freeze: FREEZE },
  { code: 'P0741', ecu: 'transmission', state: 'pending', permanent: false, freeze: null },
];

/** Of a line that is refused, and connected now and then; the rest of the requests is left to better lines. */
const MOST_REFUSED_S = 3600;

/** What asks. Another version of the program may be put in its place. */
export interface Asking {
  readonly VehicleSession: typeof VehicleSession;
  readonly takeSnapshot: typeof takeSnapshot;
}

/** A recording session on a lossy line until so many requests have reached the bus, or it was refused for an hour. */
export async function loseCharacters(
  adapter: (typeof ADAPTERS)[number],
  share: number,
  requests: number,
  seed: number,
  asking: Asking = { VehicleSession, takeSnapshot },
): Promise<LossResult> {
  const clock = new ManualClock();
  let reached = 0;
  let values = 0;
  let snapshots = 0;
  let nothing = 0;
  let astray = 0;
  let refusedS = 0;
  const forbidden: string[] = [];
  const onFrame = (frame: CanFrame): void => {
    const asked = askedBy(frame);
    if (asked.is === 'astray') astray++;
    if (asked.is === 'nothing' || asked.is === 'astray') return;
    reached++;
    if (asked.is === 'service 00') nothing++;
    if (asked.is === 'other') forbidden.push(asked.hex);
  };
  const factory = simLinkFactory({
    vehicle: steadyCar(() => clock.nowUs() / 1e6, CODES),
    clock,
    front: adapter.front,
    pace: null,
    responseMs: 2,
    jitterMs: 1,
    seed,
    quirks: [`drop-bytes=${share}`, `drop-commands=${share}`, ...adapter.quirks],
    ...('services' in adapter ? { services: adapter.services } : {}),
    onFrame,
  });
  while (reached < requests && refusedS < MOST_REFUSED_S) {
    const session = new asking.VehicleSession({
      factory,
      family: adapter.front,
      clock,
      tap: () => undefined,
      fastRestUs: 0, // as many values as the line lets through
    });
    session.samples$.subscribe(() => values++);
    let ended = false;
    const sinceUs = clock.nowUs();
    let snapshot: Promise<void> | null = null;
    let nextUs = sinceUs;
    session.start().then(
      () => undefined,
      (thrown: { code?: string }) => {
        ended = true;
        if (thrown.code === 'link.lossy') refusedS += (clock.nowUs() - sinceUs) / 1e6;
      },
    );
    while (!ended && reached < requests && refusedS < MOST_REFUSED_S) {
      await clock.advance(200);
      if (snapshot === null && session.state.phase === 'connected' && clock.nowUs() >= nextUs) {
        nextUs = clock.nowUs() + 1e6 * SNAPSHOT_EVERY_S;
        snapshot = asking
          .takeSnapshot((p) => session.request(p), null)
          .then(
            ({ units }) => void (units.some((u) => u.stored.length > 0) && snapshots++),
            () => undefined, // lost on the way
          )
          .finally(() => {
            snapshot = null;
          });
      }
      const { phase, says } = session.state;
      if (phase === 'lost' && JSON.stringify(says ?? null).includes('lossy')) refusedS += 0.2;
    }
    await clock.until(session.stop(), 20);
  }
  factory.close();
  return {
    adapter: adapter.name,
    share,
    requests: reached,
    values,
    snapshots,
    simulatedS: clock.nowUs() / 1e6,
    forbidden,
    nothing,
    refusedS,
    astray,
  };
}
