/**
 * The session against the simulated vehicle, whose adapters were written by other hands: every quirk is lived with,
 * and nothing is ever read that no control unit sent.
 */
import { describe, expect, it } from 'vitest';
import type { WireEvent } from '../../src/adapter/adapter.ts';
import { ManualClock } from '../../src/core/clock.ts';
import { toHex } from '../../src/core/hex.ts';
import type { Sample } from '../../src/core/signals.ts';
import { WireReader } from '../../src/j1979/reader.ts';
import { VehicleSession } from '../../src/poll/session.ts';
import { type SimulationOptions, simLinkFactory } from '../../src/sim/bench.ts';
import { createVehicle } from '../../src/sim/vehicle/vehicle.ts';

/**
 * Connects, drives for some simulated seconds, stops.
 * @param unhurried as a recording asks; else as fast as the link goes
 */
async function drive(options: Partial<SimulationOptions>, seconds: number, unhurried = false) {
  const clock = new ManualClock();
  const sent = new Set<string>();
  const factory = simLinkFactory({
    vehicle: createVehicle(),
    clock,
    onAnswer: (a) => sent.add(`${a.unit} ${toHex(a.response)}`),
    ...options,
  });
  const events: WireEvent[] = [];
  const samples: Sample[] = [];
  const session = new VehicleSession({
    factory,
    family: 'auto',
    clock,
    tap: (e) => events.push(e),
    ...(unhurried ? {} : { fastRestUs: 0 }),
  });
  session.samples$.subscribe((s) => samples.push(s));
  const until = async (promise: Promise<unknown>, stepMs: number, maxMs: number) => {
    let done = false;
    promise.finally(() => (done = true)).catch(() => undefined);
    for (let ms = 0; !done && ms < maxMs; ms += stepMs) await clock.advance(stepMs);
    if (!done) throw new Error(`not done within ${maxMs} ms`);
    await promise;
  };
  try {
    await until(session.start(), 50, 120_000);
    await clock.advance(seconds * 1000);
    const counters = session.counters();
    const state = session.state;
    await until(session.stop(), 50, 10_000);
    return { events, samples, counters, state, sent };
  } finally {
    factory.close();
  }
}

type Run = Awaited<ReturnType<typeof drive>>;

const UNIT_OF: Readonly<Record<string, string>> = {
  '7E8': 'engine',
  '7E9': 'transmission',
  '18DAF110': 'engine',
  '18DAF118': 'transmission',
  '10': 'engine', // source byte of the K-line
  '18': 'transmission',
};

/** Messages that were read and that no control unit sent. Without headers only the content can be compared. */
function invented(run: Run): string[] {
  const reader = new WireReader();
  const payloads = new Set([...run.sent].map((s) => s.split(' ')[1]));
  return run.events
    .flatMap((e) => reader.read(asRecorded(e)).messages)
    .map((m) => [UNIT_OF[m.ecu] ?? m.ecu, toHex(m.payload)] as const)
    .filter(([, payload]) => !/^7F..78$/.test(payload)) // pending: said on the bus, not part of the answer
    .filter(([unit, payload]) => !(unit === '?' ? payloads.has(payload) : run.sent.has(`${unit} ${payload}`)))
    .map((m) => m.join(' '));
}

/** A capture holds the bytes of an answer, not what the driver made of them. */
function asRecorded(event: WireEvent): WireEvent {
  if (event.kind !== 'done') return event;
  const { messages: _, ...recorded } = event;
  return recorded;
}

function replayed(run: Run): Sample[] {
  const reader = new WireReader();
  return run.events.flatMap((e) => reader.read(asRecorded(e)).samples);
}

const CASES: readonly (readonly [
  title: string,
  options: Partial<SimulationOptions>,
  atLeastPerSecond: number,
])[] = [
  ['text adapter at 115200', {}, 200],
  ['text adapter at 38400', { pace: 38400 }, 120],
  [
    'text adapter at 9600 that can do next to nothing',
    {
      pace: 9600,
      quirks: [
        'no-headers',
        'no-filters',
        'no-auto-protocol',
        'no-count-digit',
        'no-multi-pid',
        'ignores-echo-off',
        'ignores-spaces-off',
        'no-linefeed-off',
        'null-bytes',
      ],
    },
    5,
  ],
  ['its own line speed', { quirks: ['wrong-baud'] }, 200],
  ['a slow adapter', { quirks: ['slow'] }, 20],
  ['lost prompts', { quirks: ['lost-prompt'] }, 60],
  ['lost bytes', { quirks: ['drop-bytes'] }, 60],
  ['a restart on the way', { quirks: ['restarts-after=8'] }, 150],
  ['vanishing and coming back', { quirks: ['vanishes-after=12'] }, 100],
  ['late answers announced as pending', { pendingServices: [9] }, 200],
  ['29 bit at 250 kbit/s', { bus: { extended: true, bitrate: 250_000 } }, 150],
  ['K-line of ISO 9141-2', { kline: 'iso9141' }, 5],
  ['K-line of ISO 14230-4, slow wake-up', { kline: 'kwp-slow', pendingServices: [9] }, 5],
  ['K-line of ISO 14230-4, fast wake-up', { kline: 'kwp-fast', quirks: ['no-keep-alive'] }, 5],
  [
    'K-line, an adapter at 9600 that can do next to nothing',
    {
      kline: 'iso9141',
      pace: 9600,
      quirks: ['no-headers', 'no-auto-protocol', 'no-count-digit', 'ignores-echo-off', 'null-bytes'],
    },
    2,
  ],
  ['J1850 PWM', { kline: 'j1850-pwm' }, 15],
  ['J1850 VPW, lost bytes', { kline: 'j1850-vpw', quirks: ['drop-bytes'] }, 6],
  ['K-line, lost bytes', { kline: 'kwp-fast', quirks: ['drop-bytes'] }, 4],
  ['serial-line CAN', { front: 'slcan', pace: 1_000_000 }, 300],
  ['serial-line CAN on a busy bus', { front: 'slcan', pace: 1_000_000, traffic: 2500 }, 250],
  ['serial-line CAN without acknowledgements', { front: 'slcan', pace: 1_000_000, quirks: ['no-ack'] }, 300],
  ['serial-line CAN without a version', { front: 'slcan', pace: 1_000_000, quirks: ['no-version'] }, 300],
  [
    'serial-line CAN that says nothing of itself',
    { front: 'slcan', pace: 1_000_000, quirks: ['no-ack', 'no-version'] },
    300,
  ],
  ['serial-line CAN, lost bytes', { front: 'slcan', pace: 1_000_000, quirks: ['drop-bytes'] }, 40],
  [
    'serial-line CAN, a restart on the way',
    { front: 'slcan', pace: 1_000_000, quirks: ['restarts-after=8'] },
    250,
  ],
  [
    'serial-line CAN, 29 bit at 250 kbit/s',
    { front: 'slcan', pace: 1_000_000, bus: { extended: true, bitrate: 250_000 } },
    150,
  ],
  ['newer services, text adapter', { services: 'newer' }, 110],
  [
    'newer services, a text adapter at 9600 that can do next to nothing',
    {
      services: 'newer',
      pace: 9600,
      quirks: ['no-headers', 'no-filters', 'no-auto-protocol', 'no-count-digit', 'null-bytes'],
    },
    5,
  ],
  ['newer services, lost bytes', { services: 'newer', quirks: ['drop-bytes'] }, 30],
  ['newer services, busy', { services: 'newer', busy: 0.2 }, 25],
  ['newer services, announced as pending', { services: 'newer', pendingServices: [0x22] }, 4],
  ['newer services, a restart on the way', { services: 'newer', quirks: ['restarts-after=8'] }, 70],
  [
    'newer services, 29 bit at 250 kbit/s',
    { services: 'newer', bus: { extended: true, bitrate: 250_000 } },
    90,
  ],
  ['newer services, serial-line CAN', { services: 'newer', front: 'slcan', pace: 1_000_000 }, 150],
  [
    'newer services, serial-line CAN, 29 bit, a busy bus',
    {
      services: 'newer',
      front: 'slcan',
      pace: 1_000_000,
      bus: { extended: true, bitrate: 500_000 },
      traffic: 1000,
    },
    100,
  ],
];

describe('against the simulated vehicle', () => {
  it.each(CASES)('%s', async (_, options, atLeast) => {
    // What goes wrong now and then needs time to, and a slow bus; what an adapter on CAN is like shows at once.
    const isRare = options.traffic || options.busy || /drop|lost|after=/.test(`${options.quirks}`);
    const isSteady = !isRare && !options.kline && (options.pace ?? 115_200) > 9600;
    const seconds = isSteady ? 8 : 20;
    const run = await drive(options, seconds);
    expect(run.state.phase).toBe('connected');
    expect(run.state.vehicle?.vin).toHaveLength(17);
    expect(run.samples.length / seconds).toBeGreaterThan(atLeast);
    expect(invented(run)).toEqual([]);
    expect(replayed(run)).toEqual(run.samples);
    for (const signal of ['map_kpa', 'rpm', 'ect_c', 'baro_kpa', 'speed_kmh'])
      expect(run.samples.filter((s) => s.signal === signal).length, signal).toBeGreaterThan(0);
  });

  it.each<[string, Partial<SimulationOptions>, requestsPerS: number]>([
    ['text adapter', {}, 20],
    ['serial-line CAN', { front: 'slcan' }, 22],
    ['newer services, serial-line CAN', { front: 'slcan', services: 'newer' }, 35],
  ])('%s: of a link that carries more, a recording takes what judging needs', async (_, options, most) => {
    const seconds = 20;
    const run = await drive(options, seconds, true);
    expect(run.counters.linkLimitPerSecond).toBeGreaterThan(150);
    const tsUs = (signal: string) => run.samples.filter((s) => s.signal === signal).map((s) => s.tUs);
    for (const signal of ['map_kpa', 'rpm', 'speed_kmh', 'pedal_d_pct'])
      expect(tsUs(signal).length / seconds, signal).toBeGreaterThan(13);
    expect(tsUs('ect_c').length / seconds).toBeGreaterThan(0.9);
    // Those of the search, a few dozen, are among them.
    expect(run.events.filter((e) => e.kind === 'request').length / seconds).toBeLessThan(most);
    if (options.services !== 'newer') {
      const pedal = new Set(tsUs('pedal_d_pct'));
      const map = tsUs('map_kpa');
      expect(map.filter((tUs) => pedal.has(tUs)).length / map.length).toBeGreaterThan(0.85);
    }
    expect(invented(run)).toEqual([]);
    expect(replayed(run)).toEqual(run.samples);
  });

  it('keeps polling through damaged characters, which no text adapter can prove right', async () => {
    const run = await drive({ quirks: ['garble'] }, 20);
    expect(run.state.phase).toBe('connected');
    expect(run.counters.discardedBytes).toBeGreaterThan(100);
    expect(replayed(run)).toEqual(run.samples);
    const messages = run.events.filter((e) => e.kind === 'done').length;
    expect(invented(run).length / messages).toBeLessThan(0.1);
  });
});
