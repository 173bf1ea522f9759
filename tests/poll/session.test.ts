/** The session on a manual clock: polling, replay of its own recording, and everything that goes wrong on the road. */
import { describe, expect, it } from 'vitest';
import type { Dialect, WireEvent } from '../../src/adapter/adapter.ts';
import { interpret } from '../../src/adapter/interpret.ts';
import { ManualClock } from '../../src/core/clock.ts';
import { toHex } from '../../src/core/hex.ts';
import { seededRandom } from '../../src/core/random.ts';
import type { Sample } from '../../src/core/signals.ts';
import { SampleDecoder } from '../../src/j1979/samples.ts';
import { type SessionOptions, type SessionState, VehicleSession } from '../../src/poll/session.ts';
import { type AtQuirks, engine, FakeAt, FakeSlcan, FakeVehicle, factoryFor } from '../adapter/fakes.ts';

async function settle<T>(clock: ManualClock, promise: Promise<T>, maxMs = 120_000): Promise<T> {
  let done = false;
  promise.then(
    () => (done = true),
    () => (done = true),
  );
  for (let ms = 0; !done && ms < maxMs; ms += 10) await clock.advance(10);
  if (!done) throw new Error(`not settled within ${maxMs} ms of simulated time`);
  return promise;
}

function bench(kind: 'at' | 'slcan' = 'at', quirks: AtQuirks = {}, options: Partial<SessionOptions> = {}) {
  const clock = new ManualClock();
  const { unit, values } = engine('7E8');
  const vehicle = new FakeVehicle([unit, { ecu: '7E9', pids: new Map([[0x0c, () => [1, 2]]]) }]);
  const device = kind === 'at' ? new FakeAt(vehicle, clock, quirks) : new FakeSlcan(vehicle, clock);
  const factory = factoryFor(clock, device);
  const events: WireEvent[] = [];
  const samples: Sample[] = [];
  const states: SessionState[] = [];
  const session = new VehicleSession({
    factory,
    family: 'auto',
    clock,
    tap: (e) => events.push(e),
    ...options,
  });
  session.samples$.subscribe((s) => samples.push(s));
  session.state$.subscribe((s) => states.push(s));
  const start = () => settle(clock, session.start());
  const stop = () => settle(clock, session.stop());
  const count = (signal: string) => samples.filter((s) => s.signal === signal).length;
  /** When it was asked so, ms. */
  const requests = (payload: string) =>
    events.flatMap((e) => (e.kind === 'request' && toHex(e.payload) === payload ? [e.tUs / 1000] : []));
  return {
    ...{ clock, values, vehicle, device, factory, events, samples, states, session },
    ...{ start, stop, count, requests },
  };
}

const apart = (times: readonly number[]): number[] => times.slice(1).map((t, k) => t - times[k]!);

/** What a replay does, by hand: per exchange the bytes between `request` and `done`. */
function replay(events: readonly WireEvent[]): Sample[] {
  const decoder = new SampleDecoder();
  const out: Sample[] = [];
  let dialect: Dialect | null = null;
  let open: {
    request: Extract<WireEvent, { kind: 'request' }>;
    rx: { tUs: number; bytes: Uint8Array }[];
  } | null = null;
  for (const e of events) {
    if (e.kind === 'dialect') dialect = e.dialect;
    if (e.kind === 'request') open = { request: e, rx: [] };
    if (e.kind === 'rx') open?.rx.push(e);
    if (e.kind === 'done' && open && dialect) {
      const { messages } = interpret(dialect, open.request, open.rx);
      out.push(...decoder.samples(open.request.payload, messages, open.request.tUs));
      open = null;
    }
  }
  return out;
}

describe.each(['at', 'slcan'] as const)('session over %s', (kind) => {
  it('finds vehicle and signals, polls at the rates of the plan, counts, and stops', async () => {
    const b = bench(kind);
    await b.start();
    expect(b.session.state).toMatchObject({
      phase: 'connected',
      vehicle: { vin: 'TEST0000000000001', controlUnits: ['7E8', '7E9'] },
    });
    expect(b.session.state.missing).toContain('boost_cmd_kpa');
    b.samples.length = 0;
    await b.clock.advance(20_000);
    expect(b.count('ect_c')).toBeGreaterThanOrEqual(18);
    expect(b.count('ect_c')).toBeLessThanOrEqual(22);
    expect(b.count('map_kpa') / 20).toBeGreaterThan(13.5);
    expect(b.count('map_kpa') / 20).toBeLessThan(17);
    expect(b.count('baro_kpa')).toBeGreaterThanOrEqual(3);
    expect(b.samples.find((s) => s.signal === 'rpm')?.value).toBe(1726);
    const c = b.session.counters();
    expect(c.perSecond).toBeGreaterThan(60);
    expect(c.roundTripMs!.p50).toBeLessThan(60);
    expect(c.linkLimitPerSecond).toBeGreaterThanOrEqual(c.perSecond * 0.9);
    expect(c).toMatchObject({ timeouts: 0, reopened: 0 });
    expect(c.discardedBytes).toBeLessThan(50);
    await b.stop();
    expect(b.states.at(-1)?.phase).toBe('stopped');
    const asked = b.vehicle.asked.length;
    await b.clock.advance(5000);
    expect(b.vehicle.asked.length).toBe(asked);
    for (const p of b.vehicle.asked) expect(p).toMatch(/^(01|09)/);
  });

  it('gives the same samples when its recording is replayed', async () => {
    const b = bench(kind);
    await b.start();
    for (let i = 0; i < 50; i++) {
      b.values.set(0x0c, [0x10 + i, (i * 37) & 255]);
      b.values.set(0x0b, [90 + i]);
      await b.clock.advance(100);
      if (i === 20) b.vehicle.on = false;
      if (i === 30) b.vehicle.on = true;
      if (i === 35) void b.session.request(Uint8Array.of(0x01, 0x05)).catch(() => undefined);
    }
    await b.stop();
    expect(b.samples.length).toBeGreaterThan(100);
    expect(replay(b.events)).toEqual(b.samples);
  });

  it('goes on in the same session when the ignition was off for a while', async () => {
    const b = bench(kind);
    await b.start();
    await b.clock.advance(3000);
    b.vehicle.on = false;
    await b.clock.advance(15_000);
    expect(b.session.state.phase).toBe('lost');
    expect(b.session.state.sentence).toMatch(/ignition/i);
    b.vehicle.on = true;
    b.samples.length = 0;
    await b.clock.advance(10_000);
    expect(b.session.state.phase).toBe('connected');
    expect(b.count('map_kpa')).toBeGreaterThan(50);
    await b.stop();
  });

  it('reopens by itself when the adapter vanishes without a word', async () => {
    const b = bench(kind);
    await b.start();
    await b.clock.advance(2000);
    b.device.dead = true;
    await b.clock.advance(10_000);
    expect(b.session.state.phase).toBe('lost');
    b.device.dead = false;
    b.samples.length = 0;
    await b.clock.advance(20_000);
    expect(b.session.state.phase).toBe('connected');
    expect(b.count('map_kpa')).toBeGreaterThan(50);
    expect(b.session.counters().reopened).toBe(1);
    const link = b.events.flatMap((e) => (e.kind === 'link' ? [e.state] : []));
    expect(link[0]).toBe('opened');
    expect(link.indexOf('lost')).toBeLessThan(link.indexOf('reopening'));
    expect(link.at(-1)).toBe('identified');
    await b.stop();
  });

  it('reopens when the link closes and keeps trying while the port is gone', async () => {
    const b = bench(kind);
    await b.start();
    b.factory.refuse = new Error('gone');
    await b.factory.opened.at(-1)!.far.close();
    await b.clock.advance(30_000);
    expect(b.session.state).toMatchObject({ phase: 'lost', sentence: expect.stringMatching(/attempt/) });
    b.factory.refuse = null;
    await b.clock.advance(10_000);
    expect(b.session.state.phase).toBe('connected');
    await b.stop();
  });

  it('stops within bounded time, whatever it is doing', async () => {
    const b = bench(kind);
    await b.start();
    b.device.dead = true;
    await b.clock.advance(1000);
    const before = b.clock.nowUs();
    await b.stop();
    expect(b.clock.nowUs() - before).toBeLessThan(4e6);
  });

  it('takes requests between polls, and refuses what does not read', async () => {
    const b = bench(kind);
    await b.start();
    const x = await settle(b.clock, b.session.request(Uint8Array.of(0x03)));
    expect(x.messages.map((m) => m.ecu).sort()).toEqual(['7E8', '7E9']);
    await expect(b.session.request(Uint8Array.of(0x04))).rejects.toMatchObject({ code: 'gate.refused' });
    await b.stop();
    await expect(b.session.request(Uint8Array.of(0x03))).rejects.toMatchObject({ code: 'link.lost' });
  });

  it('clears codes only at standstill with the engine off', async () => {
    const b = bench(kind);
    await b.start();
    const proof = { snapshotSavedAs: 'before.json', typed: 'clear codes' };
    await expect(settle(b.clock, b.session.clearCodes(proof))).rejects.toThrow(/1726\.00\srpm/);
    b.values.set(0x0c, [0, 0]);
    await expect(settle(b.clock, b.session.clearCodes(proof))).rejects.toThrow(/64\.50\srpm/); // the other unit's
    b.vehicle.units = b.vehicle.units.slice(0, 1);
    await expect(settle(b.clock, b.session.clearCodes(proof))).rejects.toThrow(/50\skm/);
    expect(b.vehicle.asked).not.toContain('04');
    b.values.set(0x0d, [0]);
    const x = await settle(b.clock, b.session.clearCodes(proof));
    expect(x.messages.map((m) => [...m.payload])).toEqual([[0x44]]);
    expect(b.vehicle.asked.filter((p) => p === '04')).toHaveLength(1);
    await b.stop();
  });
});

describe('session', () => {
  it('rejects with a sentence when nothing is there', async () => {
    const b = bench('at');
    b.vehicle.on = false;
    await expect(b.start()).rejects.toMatchObject({ code: 'vehicle.silent' });
    expect(b.session.state.phase).toBe('stopped');
  });

  it('opens the line at the speed that was named, and at no other', async () => {
    const clock = new ManualClock();
    const device = new FakeAt(new FakeVehicle([engine('7E8').unit]), clock);
    const factory = factoryFor(clock, device, { baudRates: [9600, 38_400, 115_200] });
    const session = new VehicleSession({
      factory,
      family: 'auto',
      baud: 115_200,
      clock,
      tap: () => undefined,
    });
    await settle(clock, session.start());
    await factory.opened.at(-1)!.far.close();
    await clock.advance(5000);
    expect(factory.opened.length).toBeGreaterThan(1);
    expect(new Set(factory.opened.map((o) => o.baud))).toEqual(new Set([115_200]));
    await settle(clock, session.stop());
  });

  it('can be stopped while it is still looking', async () => {
    const b = bench('at', { searching: true });
    b.device.dead = true;
    const starting = b.session.start().then(
      () => 'started',
      () => 'rejected',
    );
    await b.clock.advance(500);
    await settle(b.clock, b.session.stop());
    expect(await settle(b.clock, starting, 3000)).toBe('rejected');
  });

  it('asks again when a control unit is busy', async () => {
    const b = bench('slcan');
    await b.start();
    let busy = 2;
    b.vehicle.instead = (p) => (p[0] === 3 && busy-- > 0 ? [{ ecu: '7E8', payload: [0x7f, 3, 0x21] }] : null);
    const x = await settle(b.clock, b.session.request(Uint8Array.of(0x03), '7E8'));
    expect([...x.messages[0]!.payload]).toEqual([0x43, 0]);
    await b.stop();
  });

  it('asks a busy control unit three times more, each time after twice as long, and then takes it at its word', async () => {
    const b = bench('slcan');
    await b.start();
    b.vehicle.instead = (p) => (p[0] === 3 ? [{ ecu: '7E8', payload: [0x7f, 3, 0x21] }] : null);
    const x = await settle(b.clock, b.session.request(Uint8Array.of(0x03), '7E8'));
    expect([...x.messages[0]!.payload]).toEqual([0x7f, 3, 0x21]);
    const roundTripMs = 5;
    expect(apart(b.requests('03'))).toEqual([50, 100, 200].map((ms) => ms + roundTripMs));
    await b.stop();
  });

  it('looks for a silent vehicle after three seconds, then less and less often, and begins anew after twenty looks', async () => {
    const b = bench('slcan');
    await b.start();
    const offMs = b.clock.nowUs() / 1000;
    b.vehicle.on = false;
    await b.clock.advance(59_000);
    const probes = b.requests('0100').filter((ms) => ms > offMs);
    expect(probes[0]! - offMs).toBeGreaterThanOrEqual(2900);
    expect(probes[0]! - offMs).toBeLessThan(3300);
    const noAnswerMs = 250;
    const waits = [300, 500, 1000, 2000, ...Array<number>(15).fill(3000)];
    expect(apart(probes)).toEqual(waits.map((ms) => ms + noAnswerMs));
    await b.clock.advance(2000);
    expect(b.events.flatMap((e) => (e.kind === 'link' ? [e.text] : []))).toContain(
      'the vehicle was silent for long, the adapter is started anew',
    );
    await b.stop();
  });

  it('tries again after 0.2, 0.5, 1, 2 and then every 5 seconds', async () => {
    const b = bench('at');
    await b.start();
    b.factory.refuse = new Error('gone');
    await b.factory.opened.at(-1)!.far.close();
    await b.clock.advance(20_000);
    const tries = b.events.flatMap((e) =>
      e.kind === 'link' && e.state === 'reopening' ? [e.tUs / 1000] : [],
    );
    const lost = b.events.flatMap((e) => (e.kind === 'link' && e.state === 'lost' ? [e.tUs / 1000] : []));
    expect(apart([...lost.slice(0, 1), ...tries]).slice(0, 6)).toEqual([200, 500, 1000, 2000, 5000, 5000]);
    await b.stop();
  });

  it('reads a capture from its beginning on as a replay of it does, whatever was learned before', async () => {
    const b = bench('at');
    await b.start();
    // The greatest pressure, 510 kPa instead of 255, beside a measured value: such an answer is not kept for a capture.
    const most = [0x41, 0x0c, 0x1a, 0xf8, 0x4f, 0, 0, 0, 51];
    b.vehicle.instead = (p) => (p.includes(0x4f) ? [{ ecu: '7E8', payload: most }] : null);
    await settle(b.clock, b.session.request(Uint8Array.of(0x01, 0x0c, 0x4f), '7E8'));
    const pressures = async () => {
      b.samples.length = 0;
      await b.clock.advance(2000);
      return new Set(b.samples.flatMap((s) => (s.signal === 'map_kpa' ? [s.value] : [])));
    };
    expect(await pressures()).toEqual(new Set([200]));
    b.events.splice(0, b.events.length, ...b.session.beginCapture());
    expect(await pressures()).toEqual(new Set([100]));
    expect(replay(b.events)).toEqual(b.samples);
    await b.stop();
  });

  it('works with an adapter that can do next to nothing', async () => {
    const b = bench('at', {
      refuses: ['E0', 'S0', 'L0', 'H1', 'SH', 'CRA', 'digit', 'DPN', 'WS'],
      maxPids: 1,
    });
    await b.start();
    await b.clock.advance(10_000);
    expect(b.session.state.adapter?.maxPidsPerRequest).toBe(1);
    expect(b.count('map_kpa')).toBeGreaterThan(8);
    await b.stop();
    expect(replay(b.events)).toEqual(b.samples);
  });

  it('survives garbled text: values are right or absent, and what was thrown away is counted', async () => {
    const b = bench('at');
    await b.start();
    // By chance: what comes in a rhythm may fall in with that of the requests.
    const random = seededRandom('garble');
    (b.device as FakeAt).garble = (t) => {
      const spoilt = random.next();
      if (spoilt < 0.06) return t.slice(1);
      if (spoilt < 0.1) return t.replace(/[0-9A-F]/, '#');
      if (spoilt < 0.11) return t.replace('>', '');
      return t;
    };
    await b.clock.advance(60_000);
    expect(new Set(b.samples.filter((s) => s.signal === 'map_kpa').map((s) => s.value))).toEqual(
      new Set([100]),
    );
    expect(
      new Set(b.samples.filter((s) => s.signal === 'rpm' && s.value !== 64.5).map((s) => s.value)),
    ).toEqual(new Set([1726]));
    expect(b.session.counters().discardedBytes).toBeGreaterThan(100);
    expect(b.count('map_kpa')).toBeGreaterThan(500); // one in nine of all that it says is spoilt, its echo too
    await b.stop();
    expect(replay(b.events)).toEqual(b.samples);
  });
});

describe('a vehicle that falls silent behind a text adapter', () => {
  const silent = async (prepare: (device: FakeAt) => unknown) => {
    const b = bench('at');
    await b.start();
    await b.clock.advance(2000);
    b.vehicle.on = false;
    prepare(b.device as FakeAt);
    await b.clock.advance(12_000);
    const { says } = b.session.state;
    await b.stop();
    return says;
  };

  it('has its ignition off, where the adapter is fed', async () => {
    expect(await silent(() => undefined)).toMatchObject({
      id: 'link.ignition-off',
      args: { volts: 12.6, searched: 'no' },
    });
    const searching = (device: FakeAt) => {
      device.garble = (text) => text.replace('NO DATA', 'SEARCHING...\rUNABLE TO CONNECT');
    };
    expect(await silent(searching)).toMatchObject({ id: 'link.ignition-off', args: { searched: 'yes' } });
  });

  it('is being started, where the supply dips or says so', async () => {
    expect(await silent((device) => Object.assign(device, { supply: '9.1V' }))).toMatchObject({
      id: 'link.cranking',
    });
    const dips = (device: FakeAt) => {
      let once = true;
      device.garble = (text) => {
        if (!once || !text.includes('NO DATA')) return text;
        once = false;
        return 'LV RESET\r\r>';
      };
    };
    expect(await silent(dips)).toMatchObject({ id: 'link.cranking' });
  });

  it('has a loose plug, where nothing feeds the adapter', async () => {
    expect(await silent((device) => Object.assign(device, { supply: '0.3V' }))).toMatchObject({
      id: 'link.no-supply',
      args: { volts: 0.3 },
    });
  });

  it('is asked as before where the adapter measures nothing, and a dead adapter is a lost link', async () => {
    expect(await silent((device) => Object.assign(device, { supply: '?' }))).toMatchObject({
      id: 'link.car-silent',
    });
    const gone = await silent((device) => Object.assign(device, { dead: true }));
    expect(['link.no-contact', 'link.again']).toContain(gone.id);
  });
});
