/**
 * How near the poller comes to what the link can carry, on a clock that only moves when told to: the machine's own
 * speed does not show. The limit is computed here from bytes on the line, frames on the bus and the response time.
 */
import type { WireEvent } from '../../src/adapter/adapter.ts';
import { ManualClock } from '../../src/core/clock.ts';
import { PIDS } from '../../src/j1979/pids.ts';
import { VehicleSession } from '../../src/poll/session.ts';
import { simLinkFactory } from '../../src/sim/bench.ts';
import { createVehicle } from '../../src/sim/vehicle/vehicle.ts';

/** Six quick signals: as many as one request may carry. */
const WANTED = ['map_kpa', 'rpm', 'speed_kmh', 'pedal_d_pct', 'load_pct', 'timing_deg'] as const;
const PID_OF = [0x0b, 0x0c, 0x0d, 0x49, 0x04, 0x0e] as const;
/** What the simulated adapter itself needs for a command, and frames of eight bytes at 500 kbit/s with stuffing. */
const ADAPTER_MS = 1.5;
const FRAME_MS = ((47 + 64) * 1.1) / 500;

export interface Config {
  readonly front: 'at' | 'slcan';
  readonly baud: number;
  readonly responseMs: number;
}

/** The shortest time from a request's first byte to its answer's last, ms. */
export function leastMs({ front, baud, responseMs }: Config, pids: readonly number[]): number {
  const byteMs = 10_000 / baud;
  const answered = pids.filter((pid) => pid !== 0x0a && pid < 0xc9); // the others fill the request, see slcan/form.ts
  const payload = answered.reduce((n, pid) => n + 1 + (PIDS[pid]?.lengths[0] ?? 0), 1);
  const further = payload <= 7 ? 0 : Math.ceil((payload - 6) / 7);
  if (front === 'slcan') {
    const lineMs = 22 * byteMs; // t7E08, sixteen digits, carriage return
    const flow = further > 0 ? lineMs + FRAME_MS : 0; // ours: over the line, then over the bus
    // Further frames come while the one before goes over the line; the last one is waited for whole.
    const rest = further === 0 ? 0 : flow + Math.max(further * FRAME_MS, FRAME_MS + (further - 1) * lineMs);
    return lineMs + FRAME_MS + responseMs + FRAME_MS + (further > 0 ? lineMs : 0) + rest + lineMs;
  }
  // The request that went before it goes again by its carriage return alone; another one would be typed first:
  // digits, the count, the echo of the last of them.
  const request = byteMs;
  const line = 20 * byteMs; // 7E8, sixteen digits, carriage return
  const first = request + ADAPTER_MS + FRAME_MS + responseMs + FRAME_MS;
  const arrived = first + (further === 0 ? 0 : (1 + further) * FRAME_MS); // the flow control, then the frames
  return Math.max(first + further * line, arrived) + line + 2 * byteMs; // an empty line and the prompt
}

/** The most values a second that any grouping of the six brings. On serial-line CAN one place of six is another's. */
export function bestPerSecond(config: Config): number {
  const rates = PID_OF.slice(0, config.front === 'slcan' ? 5 : 6).map(
    (_, i) => (1000 * (i + 1)) / leastMs(config, PID_OF.slice(0, i + 1)),
  );
  return Math.max(...rates);
}

async function running<T>(
  config: Config & { readonly traffic?: number },
  quirks: readonly string[],
  wanted: readonly string[],
  use: (b: Bench) => Promise<T>,
): Promise<T> {
  const clock = new ManualClock();
  const factory = simLinkFactory({
    vehicle: createVehicle({ route: 'motorway' }),
    clock,
    front: config.front,
    pace: config.baud,
    responseMs: config.responseMs,
    jitterMs: 0,
    traffic: config.traffic ?? 0,
    quirks,
  });
  const events: WireEvent[] = [];
  const session = new VehicleSession({
    factory,
    family: config.front,
    clock,
    tap: (e) => events.push(e),
    wanted,
    fastRestUs: 0,
  });
  const settle = <U>(promise: Promise<U>): Promise<U> => clock.until(promise, 20);
  try {
    await settle(session.start());
    return await use({ clock, session, events, settle });
  } finally {
    await settle(session.stop());
    factory.close();
  }
}
interface Bench {
  readonly clock: ManualClock;
  readonly session: VehicleSession;
  readonly events: WireEvent[];
  readonly settle: <U>(promise: Promise<U>) => Promise<U>;
}

export interface Measured {
  readonly perSecond: number;
  /** Of the most that any grouping could bring. */
  readonly shareOfLimit: number;
  /** Time that the requests sent had to take, of the time that passed. */
  readonly busy: number;
  /** The session's own figure. */
  readonly ownLimit: number | null;
  /** Processor time of car, adapter and recorder together. */
  readonly cpuMsPerThousand: number;
}

export function polled(
  config: Config,
  seconds: number,
  quirks: readonly string[] = [],
  traffic = 0,
): Promise<Measured> {
  return running({ ...config, traffic }, quirks, WANTED, async ({ clock, session, events }) => {
    await clock.advance(2000); // group sizes are being measured
    events.length = 0;
    const before = session.counters().samples;
    const cpu = process.cpuUsage();
    await clock.advance(seconds * 1000);
    const used = process.cpuUsage(cpu);
    const counters = session.counters();
    const perSecond = (counters.samples - before) / seconds;
    const least = events.reduce(
      (ms, e) => ms + (e.kind === 'request' ? leastMs(config, [...e.payload.subarray(1)]) : 0),
      0,
    );
    return {
      perSecond,
      shareOfLimit: perSecond / bestPerSecond(config),
      busy: least / (1000 * seconds),
      ownLimit: counters.linkLimitPerSecond,
      cpuMsPerThousand: (used.user + used.system) / (counters.samples - before),
    };
  });
}

/**
 * One PID after the other. `addressed`: to the one control unit, told how many answers come, as the poller asks.
 * `plain`: to all, waiting until nobody else answers, as a simple tool asks.
 */
export function onePidAtATime(config: Config, how: 'addressed' | 'plain', seconds: number): Promise<number> {
  const quirks = how === 'plain' && config.front === 'at' ? ['no-count-digit'] : [];
  return running(config, quirks, [], async ({ clock, session, settle }) => {
    const [engine = ''] = session.state.vehicle?.controlUnits ?? [];
    const fromUs = clock.nowUs();
    let n = 0;
    const ask = async () => {
      while (clock.nowUs() - fromUs < seconds * 1e6) {
        const pid = PID_OF[n % PID_OF.length]!;
        const x = await session.request(Uint8Array.of(0x01, pid), how === 'plain' ? undefined : engine);
        if (x.messages.length > 0) n++;
      }
    };
    await settle(ask());
    return n / ((clock.nowUs() - fromUs) / 1e6);
  });
}

export const CONFIGS: readonly Config[] = [
  ...[5, 20, 50].map((responseMs) => ({ front: 'slcan' as const, baud: 1_000_000, responseMs })),
  ...[38_400, 115_200, 500_000].flatMap((baud) =>
    [5, 20, 50].map((responseMs) => ({ front: 'at' as const, baud, responseMs })),
  ),
];
