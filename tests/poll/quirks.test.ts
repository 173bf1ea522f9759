/** Adapters and control units that bend the rules, one oddity after the other: polling goes on, and nothing is invented. */
import { describe, expect, it } from 'vitest';
import { ManualClock } from '../../src/core/clock.ts';
import type { Sample } from '../../src/core/signals.ts';
import { VehicleSession } from '../../src/poll/session.ts';
import { type AtQuirks, engine, FakeAt, FakeVehicle, factoryFor } from '../adapter/fakes.ts';

async function connected(quirks: AtQuirks = {}, prepare: (vehicle: FakeVehicle) => void = () => undefined) {
  const clock = new ManualClock();
  const { unit, values } = engine('7E8');
  const vehicle = new FakeVehicle([unit, { ecu: '7E9', pids: new Map([[0x0d, () => [50]]]) }]);
  prepare(vehicle);
  const device = new FakeAt(vehicle, clock, quirks);
  const samples: Sample[] = [];
  const factory = factoryFor(clock, device);
  const session = new VehicleSession({ factory, family: 'auto', clock, tap: () => undefined });
  session.samples$.subscribe((s) => samples.push(s));
  const settle = async <T>(promise: Promise<T>): Promise<T> => {
    let done = false;
    promise.finally(() => (done = true)).catch(() => undefined);
    for (let ms = 0; !done && ms < 200_000; ms += 20) await clock.advance(20);
    if (!done) throw new Error('not settled within 200 s of simulated time');
    return promise;
  };
  await settle(session.start());
  const valuesOf = (signal: string) =>
    new Set(samples.filter((s) => s.signal === signal).map((s) => s.value));
  /** What is read is what the vehicle has, and pressure keeps coming. */
  const isWell = async (seconds: number, atLeast = 3) => {
    samples.length = 0;
    await clock.advance(seconds * 1000);
    expect(samples.filter((s) => s.signal === 'map_kpa').length / seconds).toBeGreaterThan(atLeast);
    expect(valuesOf('map_kpa')).toEqual(new Set([100]));
    expect(valuesOf('rpm')).toEqual(new Set([1726]));
    expect(session.state.phase).toBe('connected');
  };
  return {
    clock,
    device,
    vehicle,
    values,
    session,
    samples,
    settle,
    isWell,
    valuesOf,
    stop: () => settle(session.stop()),
  };
}

const SETUP = ['WS', 'Z', 'D', 'E0', 'L0', 'S0', 'H1', 'AT', 'SP', 'RV', 'DPN', 'SH', 'CRA', 'AR', 'PC'];

describe('a text adapter that', () => {
  it.each(SETUP)('answers "?" to AT%s', async (command) => {
    const b = await connected({ refuses: [command] });
    await b.isWell(3);
    await b.stop();
  });

  it.each(SETUP.filter((c) => c !== 'Z' && c !== 'D'))('says nothing at all to AT%s', async (command) => {
    const b = await connected({ mute: [command] });
    await b.isWell(3);
    await b.stop();
  });

  it.each<[string, AtQuirks]>([
    ['says nothing to any reset', { mute: ['WS', 'Z', 'D'] }],
    ['refuses every reset and is mute about its name', { refuses: ['WS', 'Z', 'D'], mute: ['I'] }],
    ['says nothing to its name', { mute: ['I'] }],
    ['is away for two seconds after a reset', { bootMs: 2000 }],
    ['is away for six seconds after a reset', { bootMs: 6000 }],
    ['knows the hard reset only, and is away for six seconds', { refuses: ['WS'], bootMs: 6000 }],
    ['knows no setting at all', { refuses: ['E', 'L', 'S', 'H', 'AT', 'C', 'A', 'D', 'W', 'Z', 'R', 'P'] }],
  ])('%s', async (_, quirks) => {
    const b = await connected(quirks);
    await b.isWell(3);
    await b.stop();
  });

  it.each([
    'BUFFER FULL',
    'CAN ERROR',
    '<RX ERROR',
    'DATA ERROR',
    'BUS ERROR',
    'BUS BUSY',
    'FB ERROR',
    'STOPPED',
    'LV RESET',
    'LOW VOLTAGE',
    'ACT ALERT',
    'ERR94',
    '?',
    'NO DATA',
    'UNABLE TO CONNECT',
    'WHATEVER THIS IS',
  ])('says %s now and then instead of an answer', async (words) => {
    const b = await connected();
    let n = 0;
    b.device.garble = (text) => (/^7E8/.test(text) && ++n % 9 === 0 ? `${words}\r` : text);
    await b.isWell(6);
    b.device.garble = (text) => text;
    await b.isWell(3);
    await b.stop();
  });

  it.each<[string, (text: string, n: number) => string | null]>([
    ['sends zero bytes', (t) => t.replace(/(....)/g, '$1\0')],
    ['answers in lower case', (t) => t.toLowerCase()],
    ['adds line feeds', (t) => t.replaceAll('\r', '\r\n')],
    ['doubles line ends', (t) => t.replaceAll('\r', '\r\r')],
    ['forgets prompts', (t, n) => (n % 23 === 0 ? t.replace('>', '') : t)],
    ['swallows whole answers', (t, n) => (n % 31 === 0 ? null : t)],
    ['puts the prompt on the line of the answer', (t) => t.replace('\r>', '>')],
  ])('%s', async (_, garble) => {
    const b = await connected();
    let n = 0;
    b.device.garble = (text) => garble(text, ++n);
    await b.isWell(10, 2);
    await b.stop();
  });

  it('answers late: nothing is taken for the answer to another request', async () => {
    const b = await connected({ answerMs: 650 });
    await b.isWell(20, 0.5);
    await b.stop();
  });

  it('restarts in the middle, again and again', async () => {
    const b = await connected();
    for (let i = 0; i < 5; i++) {
      b.device.restart();
      await b.isWell(5, 2);
    }
    await b.stop();
  });
});

describe('a control unit that', () => {
  it.each([0x11, 0x12, 0x31])('refuses one PID with code %i: absent with that reason', async (code) => {
    const b = await connected({}, (v) => {
      v.instead = (p) => {
        if (p[0] !== 1 || !p.includes(0x0f)) return null;
        if (p.length === 2) return [{ ecu: '7E8', payload: [0x7f, 1, code] }];
        return null;
      };
      const [unit] = v.units;
      (unit!.pids as Map<number, () => readonly number[] | undefined>).set(0x0f, () => undefined);
    });
    await b.isWell(30);
    expect(b.valuesOf('iat_c').size).toBe(0);
    expect(b.session.state.silent).toMatchObject([
      {
        pid: 0x0f,
        signals: ['iat_c'],
        why: {
          id: 'wire.asked-again',
          args: { why: { id: 'wire.refused', args: { code: code.toString(16) } } },
        },
      },
    ]);
    await b.stop();
  });

  it('is busy at first and then answers', async () => {
    const b = await connected();
    let n = 0;
    b.vehicle.instead = (p) =>
      p[0] === 1 && ++n % 3 === 0 ? [{ ecu: '7E8', payload: [0x7f, 1, 0x21] }] : null;
    await b.isWell(5);
    await b.stop();
  });

  it('answers one PID at a time only', async () => {
    const b = await connected({}, (v) => {
      v.instead = (p) => (p[0] === 1 && p.length > 2 ? [] : null);
    });
    expect(b.session.state.adapter?.maxPidsPerRequest).toBe(1);
    await b.isWell(5);
    await b.stop();
  });

  it('goes on with groups for a while and then takes them no more', async () => {
    const b = await connected();
    await b.isWell(3);
    b.vehicle.instead = (p) => (p[0] === 1 && p.length > 2 ? [] : null);
    await b.clock.advance(10_000);
    await b.isWell(10);
    await b.stop();
  });

  it('falls silent on one PID and comes back: asked seldom meanwhile, with the reason, then as before', async () => {
    const b = await connected();
    const [unit] = b.vehicle.units;
    const pids = unit!.pids as Map<number, () => readonly number[] | undefined>;
    const good = pids.get(0x05)!;
    pids.set(0x05, () => undefined);
    await b.clock.advance(200); // what is under way
    await b.isWell(30);
    expect(b.valuesOf('ect_c').size).toBe(0);
    expect(b.session.state.silent.map((s) => s.signals)).toEqual([['ect_c']]);
    expect(b.session.state.silent[0]!.why.id).toBe('wire.asked-again');
    pids.set(0x05, good);
    await b.clock.advance(35_000);
    await b.isWell(10);
    expect(b.valuesOf('ect_c')).toEqual(new Set([90]));
    expect(b.session.state.silent).toEqual([]);
    await b.stop();
  });
});

it('two control units with different PIDs: each signal from the one that has it, both named', async () => {
  const b = await connected();
  expect(b.session.state.vehicle?.controlUnits).toEqual(['7E8', '7E9']);
  await b.isWell(3);
  await b.stop();
});
