/** A computer that has other things to do: its timers ring before what came meanwhile is read, and the line is as sound as ever. */
import { describe, expect, it } from 'vitest';
import { afterAwaiting, type Clock, ManualClock } from '../../src/core/clock.ts';
import { SatelliteReceiver } from '../../src/desk/receiver.ts';
import type { Link, LinkFactory } from '../../src/link/link.ts';
import { pipePair } from '../../src/link/pipe.ts';
import type { ReceiverEvent } from '../../src/nmea/event.ts';
import { VehicleSession } from '../../src/poll/session.ts';
import { simLinkFactory } from '../../src/sim/bench.ts';
import { steadyCar } from '../torture/steady-car.ts';

/** Time and links as a program has them that is stopped now and then: going on it hears its timers first, then reads what came. */
class BusyComputer implements Clock {
  readonly #real: ManualClock;
  #stopped = false;
  #timers: { readonly ring: () => void }[] = [];
  #unread: (() => void)[] = [];

  constructor(real: ManualClock) {
    this.#real = real;
  }

  nowUs(): number {
    return this.#real.nowUs();
  }

  wallMs(): number {
    return this.#real.wallMs();
  }

  after(ms: number, ring: () => void) {
    const entry = { ring };
    const timer = this.#real.after(ms, () => {
      if (this.#stopped) this.#timers.push(entry);
      else ring();
    });
    return {
      cancel: () => {
        timer.cancel();
        this.#timers = this.#timers.filter((t) => t !== entry);
      },
    };
  }

  reads(link: Link): Link {
    return {
      name: link.name,
      write: (bytes) => link.write(bytes),
      close: () => link.close(),
      listen: (listener) =>
        link.listen((event) => {
          if (this.#stopped) this.#unread.push(() => listener({ ...event, tUs: this.nowUs() }));
          else listener(event);
        }),
    };
  }

  opens(factory: LinkFactory): LinkFactory {
    return { ...factory, open: async (options) => this.reads(await factory.open(options)) };
  }

  async stop(ms: number): Promise<void> {
    this.#stopped = true;
    await this.#real.advance(ms);
    this.#stopped = false;
    for (let due = this.#timers.shift(); due; due = this.#timers.shift()) {
      due.ring();
      await this.#real.advance(0);
    }
    const unread = this.#unread;
    this.#unread = [];
    for (const read of unread) read();
    await this.#real.advance(0);
  }
}

it('a ring that is late waits as long again, once and a tenth of a second at most', async () => {
  const real = new ManualClock();
  const rung: number[] = [];
  const after = (ms: number, lateMs: number) => {
    let late = lateMs;
    const clock: Clock = {
      nowUs: () => real.nowUs(),
      wallMs: () => real.wallMs(),
      after: (inMs, fn) => {
        const timer = real.after(inMs + late, fn);
        late = 5000;
        return timer;
      },
    };
    return afterAwaiting(clock, ms, () => rung.push(real.nowUs() / 1000));
  };
  after(250, 1); // as timers are
  const late = after(1000, 40);
  after(2000, 60_000);
  after(0, 3);
  await real.advance(1060);
  expect(rung).toEqual([251]);
  late.cancel(); // in the time that it was given again
  await real.advance(200_000);
  expect(rung).toEqual([251, 3 + 3 + 5000, 62_000 + 100 + 5000]);
});

describe.each([
  // An answer, an acknowledgement, a silence is waited for less long.
  { front: 'at', stopsMs: [2000, 3500] },
  { front: 'slcan', stopsMs: [900, 4000] },
] as const)('$front', ({ front, stopsMs }) => {
  it.each(stopsMs)('stopped for %i ms again and again nothing is held against the line', async (stopMs) => {
    const clock = new ManualClock();
    const computer = new BusyComputer(clock);
    const sim = simLinkFactory({
      ...{ vehicle: steadyCar(() => clock.nowUs() / 1e6), clock, front, pace: null },
      ...{ responseMs: 5, jitterMs: 1, seed: 1 },
    });
    const session = new VehicleSession({
      ...{ factory: computer.opens(sim), family: front, clock: computer, tap: () => undefined },
    });
    await clock.until(session.start());
    await clock.advance(5000);
    const before = session.counters();
    expect(before).toMatchObject({ timeouts: 0, damaged: 0, reopened: 0 });
    for (let n = 0; n < 60; n++) {
      await computer.stop(stopMs);
      await clock.advance(50 + 7 * n);
    }
    const after = session.counters();
    expect(after).toMatchObject({ timeouts: 0, reopened: 0 });
    // An answer of which the rest is read more than a second after its beginning is none, by the standard.
    expect(after.damaged).toBeLessThanOrEqual(stopMs < 1000 ? 0 : 1);
    expect(after.answered).toBeGreaterThan(before.answered + 100);
    await clock.until(session.stop());
    sim.close();
  });
});

it('a receiver is not lost while nobody had time to listen', async () => {
  const clock = new ManualClock();
  const computer = new BusyComputer(clock);
  const [near, far] = pipePair(clock, 'receiver');
  const receiver = new SatelliteReceiver(
    { name: 'receiver', baudRates: [], open: async () => computer.reads(near) },
    computer,
  );
  const heard: ReceiverEvent[] = [];
  receiver.events$.subscribe((e) => heard.push(e));
  receiver.start();
  await clock.advance(0);
  const speak = () => {
    void far.write(Buffer.from('$GPGSA,A,1,,,,,,,,,,,,,,,*1E\r\n'));
    clock.after(1000, speak);
  };
  speak();
  await clock.advance(5000);
  for (let n = 0; n < 5; n++) {
    await computer.stop(9000);
    await clock.advance(500);
  }
  expect(heard.filter((e) => e.kind === 'receiver').map((e) => e.state)).toEqual(['heard']);
  expect(heard.filter((e) => e.kind === 'nmea').length).toBeGreaterThan(45);
  await clock.until(receiver.stop());
});
