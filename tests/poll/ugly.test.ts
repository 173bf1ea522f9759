/** Pace where things go wrong in a small way, in simulated time: within sight of what the vehicle itself allows. */
import { expect, it } from 'vitest';
import { ManualClock } from '../../src/core/clock.ts';
import { toHex } from '../../src/core/hex.ts';
import { VehicleSession } from '../../src/poll/session.ts';
import { type SimulationOptions, simLinkFactory } from '../../src/sim/bench.ts';
import { steadyCar } from '../torture/steady-car.ts';

const WANTED = ['map_kpa', 'rpm', 'speed_kmh', 'pedal_d_pct', 'load_pct', 'timing_deg'];

async function pace(options: Partial<SimulationOptions>, seconds = 20) {
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
    factory,
    family: options.front ?? 'at',
    clock,
    wanted: WANTED,
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
