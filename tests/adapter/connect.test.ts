/** Finding and setting up adapters of both kinds, with everything they may refuse, against hand-written fakes. */
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { type Adapter, newPort, type WireEvent } from '../../src/adapter/adapter.ts';
import { connectAdapter, type FindOptions } from '../../src/adapter/find.ts';
import { ManualClock } from '../../src/core/clock.ts';
import type { HandbackError } from '../../src/core/errors.ts';
import { fromHex, toHex } from '../../src/core/hex.ts';
import type { LinkFactory } from '../../src/link/link.ts';
import {
  type AtQuirks,
  engine,
  FakeAt,
  FakeSlcan,
  FakeVehicle,
  factoryFor,
  type SlcanQuirks,
} from './fakes.ts';

const hex = (t: string) => fromHex(t)!;

/** Runs the manual clock until the promise is settled. */
async function settle<T>(clock: ManualClock, promise: Promise<T>, maxMs = 120_000): Promise<T> {
  let done = false;
  promise.then(
    () => (done = true),
    () => (done = true),
  );
  for (let ms = 0; !done && ms < maxMs; ms += 5) await clock.advance(5);
  if (!done) throw new Error(`not settled within ${maxMs} ms of simulated time`);
  return promise;
}

function bench(units = [engine('7E8').unit, { ecu: '7E9', pids: new Map([[0x0c, () => [1, 2]]]) }]) {
  const clock = new ManualClock();
  const vehicle = new FakeVehicle(units);
  const events: WireEvent[] = [];
  const find = (factory: LinkFactory, options: Partial<FindOptions> = {}): Promise<Adapter> =>
    settle(clock, connectAdapter(factory, { family: 'auto', tap: (e) => events.push(e), clock, ...options }));
  const ask = async (a: Adapter, payload: string, ecu?: string) => {
    const x = await settle(clock, a.request({ payload: hex(payload), ...(ecu ? { ecu } : {}) }));
    return { ...x, says: x.messages.map((m) => `${m.ecu}:${toHex(m.payload)}`) };
  };
  return { clock, vehicle, events, find, ask };
}

async function failure(promise: Promise<unknown>): Promise<HandbackError> {
  return promise.then(
    () => {
      throw new Error('should have failed');
    },
    (e) => e as HandbackError,
  );
}

describe('AT-command adapter', () => {
  const at = (quirks: AtQuirks = {}) => {
    const b = bench();
    const device = new FakeAt(b.vehicle, b.clock, quirks);
    return { ...b, device, factory: factoryFor(b.clock, device) };
  };

  it('is identified, set up, and asked one control unit at a time', async () => {
    const { find, factory, device, ask } = at({ searching: true });
    const a = await find(factory);
    expect(a.info).toMatchObject({
      family: 'at',
      identity: 'TEXT ADAPTER 1',
      bus: 'CAN 11 bit, 500 kbit/s',
      maxPidsPerRequest: 6,
      voltageV: 12.6,
      dialect: { family: 'at', bus: 'can11', headers: true, bitrate: 500000 },
    });
    expect((await ask(a, '010C')).says).toEqual(['7E8:410C1AF8', '7E9:410C0102']);
    expect((await ask(a, '010C', '7E8')).says).toEqual(['7E8:410C1AF8']);
    expect((await ask(a, '0902', '7E8')).says).toEqual([
      `7E8:490201${toHex(Uint8Array.from('TEST0000000000001', (c) => c.charCodeAt(0)))}`,
    ]);
    const x = await ask(a, '010C', '7E8');
    expect(device.commands.at(-1)).toBe('010C1'); // the learned count ends the wait
    expect(x.doneUs - x.sentUs).toBeLessThan(20_000);
  });

  it.each<[string, AtQuirks]>([
    ['headers refused', { refuses: ['H1'] }],
    ['headers accepted but not printed', { bare: true }],
  ])('reads answers without headers: %s', async (_, quirks) => {
    const { find, factory, ask } = at(quirks);
    const a = await find(factory);
    expect(a.info.dialect.headers).toBe(false);
    expect((await ask(a, '0105', '7E8')).says).toEqual(['?:410582']);
  });

  it.each<[string, AtQuirks]>([
    ['no echo off, no spaces off, no line feed off', { refuses: ['E0', 'S0', 'L0'] }],
    ['says OK and does nothing', { accepts: ['E0', 'S0', 'L0'] }],
    ['no soft reset', { refuses: ['WS'] }],
    ['no reset at all', { refuses: ['WS', 'Z', 'D'] }],
    ['no automatic protocol', { refuses: ['SP0', 'DPN'] }],
    ['no addressing', { refuses: ['SH', 'CRA', 'AR'] }],
    ['no filter', { refuses: ['CRA', 'AR'] }],
    ['no count digit', { refuses: ['digit'] }],
    ['no voltage', { refuses: ['RV'] }],
    ['only three PIDs at once', { maxPids: 3 }],
    ['one PID at once', { maxPids: 1 }],
  ])('falls back: %s', async (_, quirks) => {
    const { find, factory, ask } = at(quirks);
    const a = await find(factory);
    expect(a.info.dialect.bus).toBe('can11');
    expect(a.info.maxPidsPerRequest).toBe(Math.min(6, quirks.maxPids ?? 6));
    expect(a.info.voltageV).toBe(quirks.refuses?.includes('RV') ? null : 12.6);
    for (let i = 0; i < 3; i++) expect((await ask(a, '010C', '7E8')).says[0]).toBe('7E8:410C1AF8');
    expect((await ask(a, '0100')).messages).toHaveLength(2);
  });

  it('is spoken to in these words, and no others, when it is sound', async () => {
    const { find, factory, device, ask, clock } = at();
    const a = await find(factory, { family: 'at' });
    expect(device.commands.splice(0)).toEqual([
      ...['QQQQQQQQ', 'ATWS', 'ATL0', 'ATS0', 'ATH1', 'ATAT1', 'ATSP0', 'ATI', 'ATRV', '0100', 'ATDPN'],
      ...['ATSH7E0', 'ATCRA7E8', '0100', '0100', '01001', '010004050B0C0D', '010004050B0C0D'],
      ...['010004050B0C0D1', 'ATAT0', 'ATST64', '01001', ''],
    ]);
    await ask(a, '010C', '7E8');
    await ask(a, '010C');
    await settle(clock, a.close());
    expect(device.commands).toEqual(['010C1', 'ATSH7DF', 'ATAR', 'ATAT1', '010C', 'ATPC', 'ATD']);
  });

  it('is not brought back into step while it answers, were it with "?"', async () => {
    const { find, factory, device } = at({ refuses: ['SP'] });
    await find(factory, { family: 'at' });
    expect(device.commands.filter((c) => c.startsWith('Q'))).toHaveLength(1);
  });

  it.each<[string, AtQuirks, boolean]>([
    ['on a line that keeps its speed', {}, false],
    ['without a name to be known by at the new speed', { mute: ['I'] }, true],
  ])('keeps its speed %s', async (_, quirks, changeable) => {
    const b = bench();
    const device = new FakeAt(b.vehicle, b.clock, quirks);
    const factory = factoryFor(b.clock, device, { baudRates: [38_400] });
    const open = factory.open.bind(factory);
    factory.open = async (o) => Object.assign(await open(o), changeable ? { setBaud: async () => true } : {});
    const a = await b.find(factory, { family: 'at', memory: newPort(true) });
    expect(a.info.baud).toBe(38_400);
    expect(device.commands.filter((c) => c.startsWith('ATBR'))).toEqual([]);
  });

  it('never sends anything but reading requests and its own commands, and an empty line only for a request again', async () => {
    const { find, factory, device, vehicle } = at();
    await find(factory);
    for (const [i, c] of device.commands.entries())
      expect(c || `again ${device.commands[i - 1]}`).toMatch(/^(AT.+|01[0-9A-F]+|Q+|again (01[0-9A-F]+)?)$/);
    for (const p of vehicle.asked) expect(p).toMatch(/^01/);
  });

  it('says that the vehicle is silent, what the adapter said, and what to try', async () => {
    const { find, factory, vehicle } = at({ searching: true });
    vehicle.on = false;
    const e = await failure(find(factory));
    expect(e.code).toBe('vehicle.silent');
    expect(e.message).toMatch(/UNABLE TO CONNECT/i);
    expect(e.hint).toMatch(/ignition/);
  });

  it('comes back into step after a lost prompt, and takes no late answer for the present one', async () => {
    const { find, factory, device, ask, clock } = at();
    const a = await find(factory);
    await ask(a, '010D', '7E8');
    device.garble = () => null; // the next answer is swallowed with its prompt
    const lost = await ask(a, '010C', '7E8');
    expect(lost).toMatchObject({ outcome: 'timeout', messages: [] });
    device.garble = (t) => t;
    const next = await ask(a, '010D', '7E8');
    expect(next.says).toEqual(['7E8:410D32']);
    await clock.advance(1000);
    expect((await ask(a, '010C', '7E8')).says).toEqual(['7E8:410C1AF8']);
  });

  it('sets everything up again when the adapter restarted by itself', async () => {
    const { find, factory, device, ask } = at();
    const a = await find(factory);
    device.restart();
    for (let i = 0; i < 3; i++) await ask(a, '010C', '7E8');
    const x = await ask(a, '010C', '7E8');
    expect(x.says).toEqual(['7E8:410C1AF8']);
  });

  it('reports a lost link while waiting', async () => {
    const { find, factory, clock } = at({ answerMs: 500 });
    const a = await find(factory);
    const pending = a.request({ payload: hex('010C') });
    await clock.advance(100);
    await factory.opened.at(-1)!.far.close();
    expect(await settle(clock, pending)).toMatchObject({ outcome: 'lost', messages: [] });
    expect((await settle(clock, a.request({ payload: hex('010C') }))).outcome).toBe('lost');
    await settle(clock, a.close());
  });

  it('gives up on a stream without prompt within bounded time', async () => {
    const { clock, find } = bench();
    const chatter = {
      attach(link: import('../../src/link/link.ts').Link) {
        link.listen(() => undefined);
        const more = () => {
          void link.write(hex('7431323330310D')).catch(() => undefined);
          clock.after(50, more);
        };
        more();
      },
    };
    const e = await failure(find(factoryFor(clock, chatter), { family: 'at' }));
    expect(e.code).toBe('adapter.nonsense');
    expect(clock.nowUs()).toBeLessThan(20e6);
  });
});

describe('serial-line CAN adapter', () => {
  const slcan = (quirks: SlcanQuirks = {}) => {
    const ids = quirks.wide ? ['18DAF110', '18DAF118'] : ['7E8', '7E9'];
    const b = bench([engine(ids[0]).unit, { ecu: ids[1]!, pids: new Map([[0x0c, () => [1, 2]]]) }]);
    const device = new FakeSlcan(b.vehicle, b.clock, quirks);
    return { ...b, ids, device, factory: factoryFor(b.clock, device) };
  };

  it.each<[string, SlcanQuirks, string]>([
    ['500 kbit/s, 11 bit', {}, 'CAN 11 bit, 500 kbit/s'],
    ['250 kbit/s, 29 bit', { bitrate: 'S5', wide: true }, 'CAN 29 bit, 250 kbit/s'],
    ['without acknowledgements', { acks: false }, 'CAN 11 bit, 500 kbit/s'],
    ['with time stamps', { timestamps: true }, 'CAN 11 bit, 500 kbit/s'],
  ])('is found: %s', async (_, quirks, bus) => {
    const { find, factory, ask, ids, device } = slcan(quirks);
    const a = await find(factory);
    expect(a.info).toMatchObject({ family: 'slcan', identity: 'V0101', bus, maxPidsPerRequest: 6 });
    expect((await ask(a, '010C')).says.sort()).toEqual([`${ids[0]}:410C1AF8`, `${ids[1]}:410C0102`]);
    const vin = await ask(a, '0902', ids[0]);
    expect(vin.messages[0]?.payload).toHaveLength(20);
    expect(device.flowControls.at(-1)).toBe(quirks.wide ? '18DA10F1' : '7E0'); // to the unit that answers
    expect((await ask(a, '01FF', ids[0])).outcome).toBe('no data');
  });

  it.each<[string, SlcanQuirks]>([
    ['500 kbit/s', {}],
    ['250 kbit/s, 29 bit', { bitrate: 'S5', wide: true }],
  ])('is found though it never says a word of its own: %s', async (_, quirks) => {
    const { find, factory, ask, ids } = slcan({ ...quirks, acks: false, version: false });
    const a = await find(factory);
    expect(a.info).toMatchObject({ family: 'slcan', identity: 'no name' });
    expect((await ask(a, '010C', ids[0])).says).toEqual([`${ids[0]}:410C1AF8`]);
  });

  it('reads its answers among the traffic of others and keeps none of it', async () => {
    const { find, factory, ask, device, events } = slcan();
    const a = await find(factory);
    device.noise = 't12380011223344556677\rT18FEF1008FFFFFFFFFFFFFFFF\r'.repeat(200);
    events.length = 0;
    expect((await ask(a, '010C', '7E8')).says).toEqual(['7E8:410C1AF8']);
    const kept = events.flatMap((e) => (e.kind === 'rx' ? [...e.bytes] : []));
    expect(kept.length).toBeLessThan(60);
  });

  it('waits for a pending answer', async () => {
    const { find, factory, vehicle, clock, device } = slcan();
    const a = await find(factory);
    vehicle.instead = (p) => (p.includes(0x0c) ? [{ ecu: '7E8', payload: [0x7f, 1, 0x78] }] : null);
    const pending = a.request({ payload: hex('010C'), ecu: '7E8' });
    await clock.advance(2000);
    device.say('t7E8804410C1AF8000000\r');
    const x = await settle(clock, pending);
    expect(x.messages.map((m) => toHex(m.payload))).toEqual(['7F0178', '410C1AF8']);
  });
});

describe('search', () => {
  it('finds the line speed', async () => {
    const b = bench();
    const factory = factoryFor(b.clock, new FakeAt(b.vehicle, b.clock), {
      baud: 115200,
      baudRates: [38400, 115200, 9600],
    });
    expect((await b.find(factory)).info.baud).toBe(115200);
  });

  it('lists what was tried on a silent port and on one that answers nonsense', async () => {
    const b = bench();
    const silent = { attach: (link: import('../../src/link/link.ts').Link) => link.listen(() => undefined) };
    const e = await failure(b.find(factoryFor(b.clock, silent, { baudRates: [38400, 115200] })));
    expect(e.code).toBe('adapter.silent');
    for (const part of [
      'AT-command text at 38400 bit/s',
      'serial-line CAN at 115200 bit/s, patiently: nothing',
    ])
      expect(e.message).toContain(part);
    expect(e.hint).toMatch(/power/);
    // Six speeds, both kinds, within the patience of a person.
    const fromUs = b.clock.nowUs();
    const speeds = { baudRates: [38400, 115200, 9600, 230400, 500000, 1000000] };
    await failure(b.find(factoryFor(b.clock, silent, speeds)));
    expect(b.clock.nowUs() - fromUs).toBeLessThan(13e6);
    const noise = await failure(b.find(factoryFor(b.clock, silent, { baud: 1, baudRates: [38400] })));
    expect(noise.code).toBe('adapter.nonsense');
  });

  it('waits for an adapter that starts when its port is opened', async () => {
    const b = bench();
    const device = new FakeSlcan(b.vehicle, b.clock);
    const starting = {
      attach(link: import('../../src/link/link.ts').Link) {
        device.dead = true;
        device.attach(link);
        b.clock.after(1200, () => (device.dead = false));
      },
    };
    expect((await b.find(factoryFor(b.clock, starting))).info.family).toBe('slcan');
  });

  it('ends with a reason against any device, however it answers', async () => {
    const piece = fc.oneof(
      fc.uint8Array({ maxLength: 60 }),
      fc
        .constantFrom(
          'OK\r\r>',
          '>',
          '?\r>',
          '\r',
          '\x07',
          'V0207\r',
          'z\r',
          '7E8064100BE3FA813\r\r>',
          '41 00\r>',
          't7E8',
          '1014490201544553\r>',
        )
        .map((t) => Uint8Array.from(t, (c) => c.charCodeAt(0))),
    );
    await fc.assert(
      fc.asyncProperty(fc.array(piece, { minLength: 1, maxLength: 12 }), async (answers) => {
        const b = bench();
        let n = 0;
        const device = {
          attach: (link: import('../../src/link/link.ts').Link) =>
            link.listen(() => void link.write(answers[n++ % answers.length]!).catch(() => undefined)),
        };
        const end = await b.find(factoryFor(b.clock, device)).then(
          (a) => a.info.family,
          (e) => e.code,
        );
        expect([
          'at',
          'slcan',
          'adapter.silent',
          'adapter.nonsense',
          'vehicle.silent',
          'link.lossy',
        ]).toContain(end);
      }),
      { numRuns: 25, seed: 5 },
    );
  });

  it('sends no empty line to any kind of adapter, whichever it is looking for', async () => {
    const b = bench();
    const device = new FakeAt(b.vehicle, b.clock);
    await failure(b.find(factoryFor(b.clock, device), { family: 'slcan' }));
    expect(device.commands.length).toBeGreaterThan(2);
    expect(device.commands).not.toContain('');
    expect(b.vehicle.asked).toEqual([]);
  });

  it('closes every link it opened and does not keep', async () => {
    const b = bench();
    const factory = factoryFor(b.clock, new FakeSlcan(b.vehicle, b.clock));
    await b.find(factory);
    const open = await Promise.all(
      factory.opened.map((o) =>
        o.far.write(Uint8Array.of(0)).then(
          () => true,
          () => false,
        ),
      ),
    );
    expect(open).toEqual([false, true]);
  });
});
