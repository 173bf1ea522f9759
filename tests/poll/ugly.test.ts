/** Pace where things go wrong in a small way, in simulated time: within sight of what the vehicle itself allows. */
import { expect, it } from 'vitest';
import { ManualClock } from '../../src/core/clock.ts';
import { toHex } from '../../src/core/hex.ts';
import type { LinkEvent, LinkFactory } from '../../src/link/link.ts';
import { VehicleSession } from '../../src/poll/session.ts';
import { type SimulationOptions, simLinkFactory } from '../../src/sim/bench.ts';
import { steadyCar } from '../torture/steady-car.ts';

const WANTED = ['map_kpa', 'rpm', 'speed_kmh', 'pedal_d_pct', 'load_pct', 'timing_deg'];

/** The line itself is late: what comes from the adapter, acknowledgements too, is held back now and then, in order. */
function heldBack(inner: LinkFactory, clock: ManualClock, everyMs: number, ms: number): LinkFactory {
  return {
    ...inner,
    open: async (options) => {
      const link = await inner.open(options);
      let nextUs = clock.nowUs() + 10e6; // once it is set up
      let dueUs = 0;
      const listen = (listener: (event: LinkEvent) => void) =>
        link.listen((event) => {
          if (event.kind === 'data' && clock.nowUs() >= nextUs) {
            nextUs += 1000 * everyMs;
            dueUs = clock.nowUs() + 1000 * ms;
          }
          const waitMs = (dueUs - clock.nowUs()) / 1000;
          if (waitMs <= 0) listener(event);
          else clock.after(waitMs, () => listener({ ...event, tUs: clock.nowUs() }));
        });
      return { ...link, name: link.name, write: (b) => link.write(b), close: () => link.close(), listen };
    },
  };
}

async function pace(
  options: Partial<SimulationOptions>,
  seconds = 20,
  through: (factory: LinkFactory, clock: ManualClock) => LinkFactory = (factory) => factory,
) {
  const clock = new ManualClock();
  const answers: { tUs: number; response: string }[] = [];
  const factory = simLinkFactory({
    vehicle: steadyCar(() => clock.nowUs() / 1e6),
    clock,
    pace: 1_000_000,
    responseMs: 5,
    jitterMs: 1,
    onAnswer: (a) => answers.push({ tUs: a.tUs, response: toHex(a.response) }),
    ...options,
  });
  const session = new VehicleSession({
    factory: through(factory, clock),
    family: options.front ?? 'at',
    clock,
    wanted: WANTED,
    fastRestUs: 0,
    tap: (e) => {
      if (e.kind !== 'done' && e.kind !== 'request') return;
      if (e.kind === 'request') sentUs = e.tUs;
      else
        for (const m of e.messages ?? []) {
          const given = answers.findLast((a) => a.response === toHex(m.payload));
          if (m.payload[0] === 0x41 && (!given || given.tUs < sentUs)) wrong.push(toHex(m.payload));
        }
    },
  });
  let sentUs = 0;
  /** Answers that no unit gave since the request was sent. */
  const wrong: string[] = [];
  await clock.until(session.start(), 20, 120_000);
  await clock.advance(3000);
  let n = 0;
  session.samples$.subscribe(() => n++);
  await clock.advance(1000 * seconds);
  await clock.until(session.stop(), 20);
  factory.close();
  return { perSecond: n / seconds, wrong };
}

it.each([1, 2, 3, 4, 5, 6])(
  'text adapter, values that flicker while it is set up: the count digit is found, seed %i',
  async (seed) => {
    const clock = new ManualClock();
    const quiet = steadyCar(() => clock.nowUs() / 1e6);
    let n = 0;
    const { perSecond } = await pace(
      { seed, vehicle: { ...quiet, signal: (name) => (quiet.signal(name) ?? 0) + (n++ % 2) }, pace: 115_200 },
      5,
    );
    expect(perSecond).toBeGreaterThan(300);
  },
);

/** Engine speed is another one at each answer for half a minute: no answer can pass for another. */
function restless(): { vehicle: NonNullable<SimulationOptions['vehicle']> } {
  const quiet = steadyCar(() => 0);
  let n = 0;
  return {
    vehicle: { ...quiet, signal: (name) => (name === 'rpm' ? 800 + (n++ % 8000) : quiet.signal(name)) },
  };
}

it.each([
  ['at', 300, 150],
  ['slcan', 300, 150],
  ['at', 900, 20],
  ['slcan', 900, 20],
] as const)(
  '%s, one answer in twenty late by %i ms: none counts as that to another request',
  async (front, ms, least) => {
    const { perSecond, wrong } = await pace({ front, late: { share: 0.05, ms }, ...restless() });
    expect(perSecond).toBeGreaterThan(least);
    expect(wrong).toEqual([]);
  },
);

it.each(['at', 'slcan'] as const)(
  '%s, the same with a unit that answers each request in turn, however late',
  async (front) => {
    const late = { share: 0.05, ms: 300, inTurn: true };
    const { perSecond, wrong } = await pace({ front, late, ...restless() });
    expect(perSecond).toBeGreaterThan(150);
    expect(wrong).toEqual([]);
  },
);

it.each([
  ['at', 1000, 3137, 20, []],
  ['slcan', 260, 607, 40, ['refuses-frames=0.5']],
] as const)(
  '%s, the line itself late by %i ms now and then: the same',
  async (front, ms, everyMs, least, quirks) => {
    const { perSecond, wrong } = await pace(
      { front, quirks, pace: 115_200, ...restless() },
      30,
      (factory, clock) => heldBack(factory, clock, everyMs, ms),
    );
    expect(perSecond).toBeGreaterThan(least);
    expect(wrong).toEqual([]);
  },
);

it.each([
  ['one in fifty', 0.02, 450],
  ['one in three', 0.33, 250],
])('serial-line CAN, the adapter refuses %s transmissions', async (_, share, least) => {
  const { perSecond, wrong } = await pace({ front: 'slcan', quirks: [`refuses-frames=${share}`] });
  expect(perSecond).toBeGreaterThan(least);
  expect(wrong).toEqual([]);
});

it.each(['at', 'slcan'] as const)(
  '%s, "answer pending" before every answer: as fast as the unit answers',
  async (front) => {
    const { perSecond } = await pace({ front, pendingServices: [1] });
    // The simulated unit takes 400 ms more behind it: two and a half requests a second.
    expect(perSecond).toBeGreaterThan(9);
  },
);
