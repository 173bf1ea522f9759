/** The line speed of a text adapter is raised where both ends cope, and taken back where they do not. */
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { newPort, type WireEvent } from '../../src/adapter/adapter.ts';
import { connectAdapter } from '../../src/adapter/find.ts';
import { ManualClock } from '../../src/core/clock.ts';
import type { HandbackError } from '../../src/core/errors.ts';
import type { Sample } from '../../src/core/signals.ts';
import { pipePair } from '../../src/link/pipe.ts';
import { VehicleSession } from '../../src/poll/session.ts';
import { simLinkFactory } from '../../src/sim/bench.ts';
import { createVehicle } from '../../src/sim/vehicle/vehicle.ts';

const OWN = 38_400;

function bench(quirks: readonly string[], baud?: number) {
  const clock = new ManualClock();
  const factory = simLinkFactory({
    vehicle: createVehicle({ route: 'motorway' }),
    clock,
    pace: OWN,
    responseMs: 8,
    jitterMs: 0,
    quirks: ['wrong-baud', ...quirks],
  });
  const samples: Sample[] = [];
  const events: WireEvent[] = [];
  const session = new VehicleSession({
    factory,
    family: 'at',
    clock,
    fastRestUs: 0,
    tap: (e) => events.push(e),
    ...(baud === undefined ? {} : { baud }),
  });
  session.samples$.subscribe((s) => samples.push(s));
  const settle = <T>(promise: Promise<T>): Promise<T> => clock.until(promise, 20, 200_000);
  return {
    clock,
    session,
    samples,
    settle,
    line: factory.simulation.line,
    sent: () =>
      events.flatMap((e) => (e.kind === 'tx' ? [String.fromCharCode(...e.bytes)] : [])).map((t) => t.trim()),
    /** Values a second over so many seconds. */
    async rate(seconds: number) {
      samples.length = 0;
      await clock.advance(1000 * seconds);
      return samples.length / seconds;
    },
    async end() {
      await settle(session.stop());
      factory.close();
    },
  };
}

describe('line speed', () => {
  it('is raised, proved, used, and given back at the end', async () => {
    const b = bench(['line-speed']);
    await b.settle(b.session.start());
    expect(b.session.state.adapter).toMatchObject({ baud: 500_000, raisedFrom: OWN });
    expect(b.line.baud).toBe(500_000);
    await b.rate(2);
    const raised = await b.rate(5);
    await b.end();
    expect(b.line.baud! / OWN).toBeCloseTo(1, 1);
    // A line end behind each line typed, and a second one for the same request again; of commands: behind a change.
    const sent = b.sent();
    const bare = sent.flatMap((t, i) =>
      t === '' && sent[i - 1] === '' && /^AT/.test(sent[i - 2]!) ? [sent[i - 2]] : [],
    );
    expect(bare).toEqual([expect.stringMatching(/^ATBRD/), expect.stringMatching(/^ATBRD/)]);

    const plain = bench([]);
    await plain.settle(plain.session.start());
    expect(plain.session.state.adapter?.baud).toBe(OWN);
    expect(plain.sent().filter((t) => t.startsWith('ATBRD'))).toEqual([]); // it does not know the time for it
    await plain.rate(2);
    expect(raised / (await plain.rate(5))).toBeGreaterThan(1.5);
    await plain.end();
  });

  it.each([
    ['up to 115200', ['line-speed=115200'], 115_200],
    ['to none: beyond its own there is only noise', [`line-speed=${OWN}`], OWN],
    ['to none: at every other speed some bytes are damaged', ['line-speed', 'line-speed-noisy'], OWN],
    ['to the one that an adapter takes without asking', ['line-speed', 'line-speed-sticks'], 500_000],
  ])('both ends cope %s', async (_, quirks, speed) => {
    const b = bench(quirks);
    await b.settle(b.session.start());
    expect(b.session.state.adapter?.baud).toBe(speed);
    expect(b.line.baud! / speed).toBeCloseTo(1, 1);
    expect(await b.rate(5)).toBeGreaterThan(30);
    expect(b.session.counters().discardedBytes).toBe(0);
    await b.end();
    expect(b.line.baud! / OWN).toBeCloseTo(1, 1);
  });

  it('is left alone where somebody named one', async () => {
    const b = bench(['line-speed'], OWN);
    await b.settle(b.session.start());
    expect(b.session.state.adapter?.baud).toBe(OWN);
    expect(b.sent().filter((t) => t.startsWith('ATBR'))).toEqual([]);
    await b.end();
  });

  it('of an adapter that takes one which does not work and never comes back: says what to do', async () => {
    const b = bench([`line-speed=${OWN}`, 'line-speed-sticks']);
    const e = await b.settle(b.session.start()).then(
      () => null,
      (thrown) => thrown as HandbackError,
    );
    expect(e?.code).toMatch(/^adapter\./);
    expect(e?.hint).toMatch(/Unplug the adapter/);
    expect(b.clock.nowUs()).toBeLessThan(60e6);
  });

  it('falls back when the adapter restarts at its own speed, and the run goes on', async () => {
    const b = bench(['line-speed', 'restarts-after=8']);
    await b.settle(b.session.start());
    expect(b.session.state.adapter?.baud).toBe(500_000);
    await b.clock.advance(16_000);
    expect(b.line.baud! / OWN).toBeCloseTo(1, 1);
    expect(await b.rate(5)).toBeGreaterThan(30);
    await b.end();
  });

  it('is found again, raised, after the port was away', async () => {
    const b = bench(['line-speed', 'vanishes-after=8']);
    await b.settle(b.session.start());
    await b.clock.advance(16_000);
    expect(b.session.counters().reopened).toBeGreaterThan(0);
    expect(b.session.state.adapter).toMatchObject({ baud: 500_000, raisedFrom: OWN });
    expect(await b.rate(2)).toBeGreaterThan(30);
    await b.end();
  });
});

it('against any device that takes the command and then does whatever it likes: ends, and no other empty line is sent', async () => {
  const piece = fc.constantFrom(
    'OK\r',
    'OK\r\r>',
    'X1\r',
    'X1\r\r>',
    '\r>',
    '?\r>',
    '\u0000\u00ff',
    '',
    'ATBRD08\rOK\r',
  );
  let confirmed = 0;
  await fc.assert(
    fc.asyncProperty(
      fc.array(piece, { minLength: 1, maxLength: 9 }),
      fc.boolean(),
      async (answers, later) => {
        const clock = new ManualClock();
        const sent: string[] = [];
        let n = 0;
        let typed = '';
        const factory = {
          name: 'any',
          baudRates: [OWN],
          async open() {
            const [near, far] = pipePair(clock);
            const say = (text: string) => void far.write(Buffer.from(text, 'latin1')).catch(() => undefined);
            far.listen((e) => {
              if (e.kind !== 'data') return;
              const came = Buffer.from(e.bytes).toString('latin1');
              typed += came;
              say(came); // its echo
              if (!came.endsWith('\r')) return;
              const line = typed;
              typed = '';
              sent.push(line);
              if (/^Q/.test(line)) say('?\r\r>');
              else if (line === 'ATI\r' && n === 0) say('X1\r\r>');
              else if (!/^ATBRD|^\r$|^ATI/.test(line)) say('OK\r\r>');
              else say(answers[n++ % answers.length]!);
              if (later && line.startsWith('ATBRD')) clock.after(250, () => say('X1\r'));
            });
            return Object.assign(near, { setBaud: async () => true });
          },
        };
        const memory = newPort(true);
        let end: string | null = null;
        connectAdapter(factory, { family: 'at', tap: () => undefined, clock, memory }).then(
          (a) => (end = a.info.family),
          (e) => (end = e.code),
        );
        for (let s = 0; end === null && s < 200; s++) await clock.advance(1000);
        expect(end).toMatch(/^(at|adapter\.(silent|nonsense)|vehicle\.silent)$/);
        for (const [i, line] of sent.entries()) if (line === '\r') expect(sent[i - 1]).toMatch(/^ATBRD/);
        if (sent.includes('\r')) confirmed++;
      },
    ),
    { numRuns: 40, seed: 11 },
  );
  expect(confirmed).toBeGreaterThan(3); // it came that far
});
