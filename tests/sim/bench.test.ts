/** The whole bench: time, links in process, and a real pseudo-terminal opened like any serial port. */
import { existsSync, lstatSync, mkdtempSync, readlinkSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { SerialPort } from 'serialport';
import { afterEach, describe, expect, it } from 'vitest';
import { ManualClock, systemClock } from '../../src/core/clock.ts';
import { VehicleSession } from '../../src/poll/session.ts';
import { type SimulationOptions, servePty, simLinkFactory } from '../../src/sim/bench.ts';
import { createVehicle } from '../../src/sim/vehicle/vehicle.ts';
import { needs } from '../require.ts';
import { fasterClock } from './faster-clock.ts';
import { FakeVehicle, Host } from './host.ts';

const text = (bytes: Uint8Array): string => String.fromCharCode(...bytes);
const raw = (line: string): Uint8Array => new TextEncoder().encode(line);

describe('time', () => {
  it.each([0.5, 1, 7, 100])(
    'moves the vehicle %d times as fast as the clock, however it is asked',
    async (speedup) => {
      const host = new Host({ speedup });
      for (let i = 0; i < 40; i++) await host.ask('010C', 13 * i + 1);
      const passedS = host.clock.nowUs() / 1e6;
      host.simulation.attach({ write: () => undefined, hostBaud: () => null });
      expect(host.vehicle.timeS).toBeCloseTo(passedS * speedup, 6);
    },
  );

  it('gives the physics of the same vehicle run alone, at any speedup', async () => {
    for (const speedup of [1, 20]) {
      const clock = new ManualClock();
      const vehicle = createVehicle({ route: 'warm-road-test', seed: 4 });
      const alone = createVehicle({ route: 'warm-road-test', seed: 4 });
      const factory = simLinkFactory({ vehicle, clock, speedup });
      const link = await factory.open({});
      for (let i = 0; i < 20; i++) {
        await link.write(raw('010C05\r'));
        await clock.advance((60_000 / 20) * (1 / speedup));
      }
      alone.advance(vehicle.timeS);
      expect(vehicle.timeS).toBeGreaterThan(59.9 - 0.05 * speedup);
      for (const name of vehicle.supported) expect(vehicle.signal(name), name).toBe(alone.signal(name));
      factory.close();
    }
  });

  it('goes on while the link is closed, up to a minute', async () => {
    const clock = new ManualClock();
    const vehicle = new FakeVehicle();
    const factory = simLinkFactory({ vehicle, clock });
    const first = await factory.open({});
    await clock.advance(5000);
    await first.close();
    await clock.advance(20_000);
    const second = await factory.open({});
    expect(vehicle.timeS).toBeCloseTo(25, 3);
    await second.close();
    await clock.advance(3_600_000);
    await factory.open({});
    expect(vehicle.timeS).toBeCloseTo(85, 3);
    factory.close();
  });

  it('runs a faster clock for vehicle and recorder alike', async () => {
    const slow = new ManualClock(5_000_000);
    const fast = fasterClock(slow, 10);
    const fired: number[] = [];
    fast.after(1000, () => fired.push(fast.nowUs()));
    const wall = fast.wallMs();
    await slow.advance(99);
    expect(fired).toEqual([]);
    await slow.advance(1);
    expect(fired).toEqual([6_000_000]);
    expect(fast.wallMs() - wall).toBe(1000);
  });
});

describe('in process', () => {
  it('is busy while open, gone while vanished, back later, and ends for good', async () => {
    const clock = new ManualClock();
    const factory = simLinkFactory({ vehicle: new FakeVehicle(), clock, quirks: ['vanishes-after=10'] });
    const link = await factory.open({});
    const events: string[] = [];
    link.listen((event) => events.push(event.kind === 'data' ? text(event.bytes) : 'closed'));
    await expect(factory.open({})).rejects.toMatchObject({ code: 'link.busy' });
    await link.write(raw('ATE0\r'));
    await clock.advance(9990);
    expect(events.join('')).toContain('OK');
    await clock.advance(20);
    expect(events.at(-1)).toBe('closed');
    await expect(factory.open({})).rejects.toMatchObject({ code: 'link.open' });
    await clock.advance(3000);
    const again = await factory.open({});
    const heard: string[] = [];
    again.listen((event) => heard.push(event.kind === 'data' ? text(event.bytes) : 'closed'));
    await again.write(raw('ATI\r'));
    await clock.advance(100);
    expect(heard.join('')).toBe('PRACTICE TEXT ADAPTER 1.4\r\r>'); // settings kept: echo is still off
    factory.close();
    await expect(factory.open({})).rejects.toMatchObject({ code: 'link.open' });
  });

  it('makes noise at the wrong line speed', async () => {
    const clock = new ManualClock();
    const factory = simLinkFactory({
      vehicle: new FakeVehicle(),
      clock,
      pace: 38_400,
      quirks: ['wrong-baud'],
    });
    const hear = async (baud: number): Promise<string> => {
      const link = await factory.open({ baud });
      let heard = '';
      link.listen((event) => {
        heard += event.kind === 'data' ? text(event.bytes) : '';
      });
      await link.write(raw('ATI\rATI\r'));
      await clock.advance(1000);
      await link.close();
      await clock.advance(10);
      return heard;
    };
    expect(await hear(115_200)).not.toContain('PRACTICE');
    await hear(38_400); // ends the line that the noise began
    expect(await hear(38_400)).toContain('PRACTICE');
    factory.close();
  });
});

/** Its engine speed never has the same value twice, so that an answer to an earlier request shows. */
class RevvingVehicle extends FakeVehicle {
  override advance(dtS: number): void {
    super.advance(dtS);
    this.values.rpm = 800 + Math.floor(this.timeS * 1000) / 4;
  }
}

/** Every sample that a session makes must be what a unit truly sent between its request and its arrival. */
describe('with the real drivers', () => {
  const cases: [string, Partial<SimulationOptions>][] = [
    ['at', {}],
    ['at, 29 bit, 250 kbit/s, 9600 bit/s', { bus: { extended: true, bitrate: 250_000 }, pace: 9600 }],
    [
      'at without headers, count digit or filters',
      { quirks: ['no-headers', 'no-count-digit', 'no-filters'] },
    ],
    [
      'at with zero bytes and settings kept by word only',
      { quirks: ['null-bytes', 'ignores-spaces-off', 'ignores-echo-off', 'no-linefeed-off'] },
    ],
    ['at, one PID a request', { quirks: ['no-multi-pid'] }],
    ['slcan on a busy bus', { front: 'slcan', pace: 1_000_000, traffic: 1500 }],
    ['slcan, 29 bit', { front: 'slcan', bus: { extended: true, bitrate: 500_000 }, quirks: ['ack-z'] }],
  ];
  it.each(cases)('%s', async (_title, options) => {
    const clock = new ManualClock();
    const vehicle = new RevvingVehicle();
    const sent: { tUs: number; rpm: number }[] = [];
    const factory = simLinkFactory({
      vehicle,
      clock,
      onAnswer: ({ tUs }) => sent.push({ tUs, rpm: vehicle.signal('rpm') ?? 0 }),
      ...options,
    });
    const session = new VehicleSession({
      factory,
      family: options.front ?? 'at',
      clock,
      tap: () => undefined,
    });
    const seen = new Map<string, number>();
    const wrong: string[] = [];
    session.samples$.subscribe(({ signal, value, sentUs, tUs }) => {
      seen.set(signal, (seen.get(signal) ?? 0) + 1);
      if (signal === 'rpm') {
        if (!sent.some((a) => a.rpm === value && a.tUs >= sentUs && a.tUs <= tUs))
          wrong.push(`rpm ${value} was not sent between ${sentUs} and ${tUs}`);
        return;
      }
      const truth = vehicle.signal(signal);
      if (truth !== null && Math.abs(truth - value) > 0.25) wrong.push(`${signal} ${value} for ${truth}`);
    });
    void session.start();
    await clock.advance(12_000);
    expect(wrong).toEqual([]);
    for (const name of ['rpm', 'map_kpa', 'speed_kmh', 'ect_c', 'pedal_d_pct', 'load_pct', 'boost_cmd_kpa'])
      expect(seen.get(name) ?? 0, name).toBeGreaterThan(2);
    const stopped = session.stop();
    await clock.advance(3000);
    await stopped;
    factory.close();
  });
});

describe('pseudo-terminal', () => {
  const onTerminals = needs(
    process.platform === 'linux' || process.platform === 'darwin',
    'pseudo-terminals of Linux or macOS',
  );
  const closers: (() => Promise<void>)[] = [];
  afterEach(async () => {
    for (const close of closers.splice(0)) await close();
  });
  const served = async (options: Partial<SimulationOptions> & { at?: string } = {}) => {
    const server = await servePty({ vehicle: new FakeVehicle(), clock: systemClock, ...options });
    closers.push(() => server.close());
    return server;
  };
  const opened = async (path: string, baudRate = 115_200) => {
    const port = new SerialPort({ path, baudRate, autoOpen: false });
    await new Promise<void>((resolve, reject) => port.open((e) => (e ? reject(e) : resolve())));
    let heard = '';
    let wake: (() => void) | null = null;
    port.on('data', (bytes: Buffer) => {
      heard += bytes.toString('latin1');
      wake?.();
    });
    const until = async (typed: string, end: string): Promise<string> => {
      heard = '';
      port.write(typed);
      while (!heard.endsWith(end)) await new Promise<void>((resolve) => (wake = resolve));
      return heard;
    };
    return {
      ask: (line: string) => until(`${line}\r`, '>'),
      until,
      send: (line: string) => port.write(line),
      close: () => new Promise<void>((resolve) => port.close(() => resolve())),
    };
  };

  onTerminals('serves a serial port that survives close and reopen, at a stable path', async () => {
    const at = join(mkdtempSync(join(tmpdir(), 'handback-')), 'adapter');
    const { port } = await served({ at });
    expect(port).toBe(at);
    expect(lstatSync(at).isSymbolicLink()).toBe(true);
    const first = await opened(at);
    await first.ask('ATE0');
    expect(await first.ask('0100')).toContain('41 00 98 3A 00 11 ');
    first.send('0902\r'); // closed in the middle of an answer
    await first.close();
    const second = await opened(at, 38_400);
    // What was said to the host before may come first; a line of nonsense stops what may still run.
    await second.until('XX\rATI\r', 'PRACTICE TEXT ADAPTER 1.4\r\r>');
    expect(await second.ask('ATRV')).toBe('14.1V\r\r>'); // settings kept: echo is still off
    await second.close();
    for (const close of closers.splice(0)) await close();
    expect(existsSync(at)).toBe(false);
  });

  onTerminals('replaces an old link and leaves other files alone', async () => {
    const folder = mkdtempSync(join(tmpdir(), 'handback-'));
    const at = join(folder, 'adapter');
    const first = await served({ at });
    const old = readlinkSync(at);
    await served({ at });
    expect(readlinkSync(at)).not.toBe(old);
    await first.close(); // takes away only a link of its own
    expect(lstatSync(at).isSymbolicLink()).toBe(true);
    const taken = join(folder, 'notes.txt');
    writeFileSync(taken, 'mine');
    await expect(served({ at: taken })).rejects.toMatchObject({ code: 'link.open' });
    expect(lstatSync(taken).isFile()).toBe(true);
  });

  onTerminals('keeps a host waiting as long as the line speed says', async () => {
    const { port } = await served({ pace: 9600 });
    const host = await opened(port);
    await host.ask('ATE0');
    const from = performance.now();
    const heard = await host.ask('ATI');
    expect(performance.now() - from).toBeGreaterThan(((4 + heard.length) * 10_000) / 9600 - 2);
    await host.close();
  });
});
