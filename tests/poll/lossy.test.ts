/** A line to a serial-line CAN adapter that loses characters: counted, and beyond a stated share nothing more is asked. */
import { expect, it } from 'vitest';
import { carriesWell, LineMeter, MOST_LOST } from '../../src/adapter/slcan/meter.ts';
import { ManualClock } from '../../src/core/clock.ts';
import { VehicleSession } from '../../src/poll/session.ts';
import { type SimulationOptions, simLinkFactory } from '../../src/sim/bench.ts';
import { steadyCar } from '../torture/steady-car.ts';

async function drive(front: 'at' | 'slcan', quirks: readonly string[], seconds: number, seed = 1) {
  const clock = new ManualClock();
  let frames = 0;
  const factory = simLinkFactory({
    vehicle: steadyCar(() => clock.nowUs() / 1e6),
    clock,
    front,
    pace: null,
    responseMs: 5,
    jitterMs: 1,
    seed,
    quirks,
    onFrame: ({ id }) => {
      if (id < 0x7e8) frames++;
    },
  } satisfies SimulationOptions);
  const session = new VehicleSession({ factory, family: front, clock, tap: () => undefined });
  const said = new Set<string>();
  session.state$.subscribe((s) => said.add(s.says.id));
  const started = await clock.until(
    session.start().then(
      () => 'connected',
      (thrown: { code: string }) => thrown.code,
    ),
    20,
  );
  const before = frames;
  if (started === 'connected') await clock.advance(1000 * seconds);
  const counters = session.counters();
  await clock.until(session.stop(), 20);
  factory.close();
  return { started, said, counters, perSecond: (frames - before) / seconds };
}

it('a line that loses one character in twenty is refused before anything is asked', async () => {
  for (const seed of [1, 2, 3, 4, 5]) {
    const { started, perSecond } = await drive('slcan', ['drop-bytes=0.05', 'drop-commands=0.05'], 1, seed);
    expect(started).toBe('link.lossy');
    expect(perSecond).toBe(0);
  }
});

it('a line that goes bad is given up, said, and not asked again while it is bad', async () => {
  let bad = { started: 'link.lossy' } as Awaited<ReturnType<typeof drive>>;
  // Three hundred characters do not show one in a hundred for sure: one of a few comes through the first trial.
  for (let seed = 1; bad.started !== 'connected' && seed < 20; seed++)
    bad = await drive('slcan', ['drop-bytes=0.01', 'drop-commands=0.01'], 60, seed);
  expect(bad.said).toContain('link.lossy');
  expect(bad.counters.damaged).toBeGreaterThanOrEqual(8);
  const good = await drive('slcan', [], 60);
  expect(good.said).not.toContain('link.lossy');
  expect(good.counters.damaged).toBe(0);
  expect(bad.perSecond).toBeLessThan(0.05 * good.perSecond);
});

it('where it is half of what may be lost, recording goes on and the damage is counted', async () => {
  const { said, counters } = await drive('slcan', ['drop-bytes=0.0005', 'drop-commands=0.0005'], 60);
  expect(said).not.toContain('link.lossy');
  expect(counters.damaged).toBeGreaterThan(8);
});

it('a text adapter, which says back what it heard, is asked on, and the damage is counted', async () => {
  const { started, said, counters } = await drive('at', ['drop-bytes=0.01', 'drop-commands=0.01'], 30);
  expect(started).toBe('connected');
  expect(said).not.toContain('link.lossy');
  expect(counters.damaged).toBeGreaterThan(20);
});

it('refuses at eight damages close together, never for as many that are rare', () => {
  const meter = new LineMeter();
  for (let i = 0; i < 7; i++) meter.badly();
  expect(meter.isBad).toBe(false);
  meter.badly();
  expect(meter.isBad).toBe(true);
  const rare = new LineMeter();
  for (let i = 0; i < 100; i++) {
    rare.badly();
    rare.well(1 / MOST_LOST);
  }
  expect(rare.isBad).toBe(false);
  expect(rare.damaged).toBe(100);
});

it('a trial takes the most frequent answer for the right one, and three others for a bad line', async () => {
  const trial = async (answers: readonly string[], again = false) => {
    let asked = 0;
    return [await carriesWell(async () => answers[asked++] ?? 'V1013\r', again), asked];
  };
  expect(await trial([])).toEqual([true, 38]); // 300 characters, eight a time
  expect(await trial([], true)).toEqual([true, 188]);
  expect(await trial(['', 'V103\r'])).toEqual([true, 39]);
  expect(await trial(['V1013\r', '', 'V103\r', ''])).toEqual([false, 4]);
  expect(await trial(['', '', ''])).toEqual([false, 3]);
});
