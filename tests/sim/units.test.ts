/** Control units of the simulated vehicle: what each service answers, to whom, and when. */

import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { crcJ1850 } from '../../src/adapter/at/read.ts';
import { ManualClock } from '../../src/core/clock.ts';
import { fromHex, toHex } from '../../src/core/hex.ts';
import { seededRandom } from '../../src/core/random.ts';
import { decodePid } from '../../src/j1979/decode.ts';
import { splitCurrentData } from '../../src/j1979/split.ts';
import { type BusNode, type CanFrame, SimBus } from '../../src/sim/ecu/bus.ts';
import { responderOf, type UnitName } from '../../src/sim/ecu/content.ts';
import { crc8 } from '../../src/sim/ecu/kline.ts';
import { SimControlUnit, type UnitOptions } from '../../src/sim/ecu/unit.ts';
import { FakeVehicle } from './host.ts';

const bytes = (hex: string): Uint8Array => fromHex(hex.replaceAll(' ', '')) ?? new Uint8Array();

function asker(vehicle: FakeVehicle, unit: UnitName = 'engine') {
  const respond = responderOf(unit, vehicle);
  return (hex: string, functional = true): string | null => {
    const answer = respond(bytes(hex), functional);
    return answer === null ? null : toHex(answer);
  };
}

// Expected bytes below are worked out by hand from SAE J1979 (from memory), not by this project's encoder.
it('the check byte of SAE J1850 has its published check value, and that of a known message', () => {
  expect(crc8(Buffer.from('123456789'))).toBe(0x4b); // common practice, no source
  expect(crc8([0x68, 0x6a, 0xf1, 0x01, 0x00])).toBe(crcJ1850(Uint8Array.of(0x68, 0x6a, 0xf1, 0x01, 0x00)));
});

describe('content of services', () => {
  it('gives current data in the order asked and leaves out what is not supported', () => {
    const ask = asker(new FakeVehicle());
    expect(ask('01 0C')).toBe('410C1B58'); // 1750 rpm × 4 = 1B58
    expect(ask('01 05 0B 0D')).toBe('4105800BB40D3E'); // 88 + 40, 180, 62
    expect(ask('01 0D 10 05')).toBe('410D3E0580');
    expect(ask('01 42')).toBe('42'.replace('42', '41423714')); // 14.1 V in mV = 3714
    expect(ask('01 49')).toBe('4149CC'); // 80 % × 255 / 100 = 204
  });

  it('says which PIDs it has, across bitmaps', () => {
    const ask = asker(new FakeVehicle());
    // 01 04 05 | 0B 0C 0D 0F | - | 1C … and the last bit for more.
    expect(ask('01 00')).toBe('4100983A0011');
    expect(ask('01 20')).toBe('4120' + '0001A001'); // 30 31 33 and more
    expect(ask('01 80')).toBeNull();
    const seen: number[] = [];
    for (let pid = 1; pid < 256; pid++) {
      const hex = pid.toString(16).padStart(2, '0');
      if (pid % 32 !== 0 && ask(`01 ${hex}`) !== null) seen.push(pid);
    }
    const listed = ['00', '20', '40', '60'].flatMap((base) => {
      const map = bytes((ask(`01 ${base}`) ?? '').slice(4));
      return [...map].flatMap((b, i) =>
        [0, 1, 2, 3, 4, 5, 6, 7]
          .filter((k) => b & (0x80 >> k))
          .map((k) => Number.parseInt(base, 16) + 8 * i + k + 1),
      );
    });
    expect(listed.filter((pid) => pid % 32 !== 0)).toEqual(seen);
  });

  it('is silent to a functional request it cannot serve, and says why to a physical one', () => {
    const ask = asker(new FakeVehicle());
    for (const hex of ['01 66', '02 0C 01', '08 00', '22 F1 90', '09 66', '06 02', '01 01 03 04 05 06 07 08'])
      expect(ask(hex, true), hex).toBeNull();
    expect(ask('01 66', false)).toBe('7F0112');
    expect(ask('22 F1 90', false)).toBe('7F2211');
    expect(ask('', false)).toBeNull();
  });

  it('lists stored, pending and permanent codes, and lamp and count with them', () => {
    const vehicle = new FakeVehicle();
    const ask = asker(vehicle);
    expect(ask('03')).toBe('4300');
    vehicle.mil = true;
    vehicle.codes = [
      { code: 'P1F42', ecu: 'engine', state: 'stored', permanent: true, freeze: { rpm: 2000, ect_c: 91 } },
      { code: 'P0299', ecu: 'engine', state: 'pending', permanent: false, freeze: null },
      { code: 'P0700', ecu: 'transmission', state: 'stored', permanent: false, freeze: null },
    ];
    expect(ask('03')).toBe('43011F42');
    expect(ask('07')).toBe('47010299');
    expect(ask('0A')).toBe('4A011F42');
    // Lamp on, one code; misfire, fuel, components fitted and complete; catalyst fitted, not complete.
    expect(ask('01 01')).toBe('4101' + '81' + '07' + '21' + '01');
    expect(asker(vehicle, 'transmission')('03')).toBe('43010700');
    expect(ask('02 02 00')).toBe('4202001F42');
    expect(ask('02 0C 00 05 00')).toBe('420C001F40' + '050083');
    expect(ask('02 0C 01')).toBeNull();
    expect(ask('02 0D 00')).toBeNull();
  });

  it('says that there is no freeze frame', () => {
    expect(asker(new FakeVehicle())('02 02 00')).toBe('4202000000');
  });

  it('clears only while the engine stands', () => {
    const vehicle = new FakeVehicle();
    const ask = asker(vehicle);
    expect(ask('04')).toBe('7F0422');
    expect(vehicle.cleared).toBe(0);
    vehicle.engineRuns = false;
    expect(ask('04')).toBe('44');
    expect(vehicle.cleared).toBe(1);
  });

  it('says who it is', () => {
    const vehicle = new FakeVehicle();
    expect(asker(vehicle)('09 02')).toBe(`490201${toHex(new TextEncoder().encode(vehicle.vin))}`);
    expect(asker(vehicle, 'transmission')('09 02')).toBeNull();
    expect(asker(vehicle)('09 0A')).toMatch(/^490A0145434D00(?:..){16}$/); // "ECM", 00, twenty bytes in all
    expect(asker(vehicle)('09 04')?.length).toBe(2 * 19);
    expect(asker(vehicle)('09 06')?.length).toBe(2 * 7);
    expect(asker(vehicle)('09 00')).toBe('490055400000'); // 02 04 06 08 | 0A
  });

  it('gives monitor results, all zero while the monitor has not run', () => {
    const vehicle = new FakeVehicle();
    const ask = asker(vehicle);
    expect(ask('06 00')).toBe('4600' + '80000001');
    expect(ask('06 01')).toBe('460107' + '0B' + '0055' + '0000' + '012C'); // 85 mV, 0 to 300 mV
    expect(ask('06 21')).toBe('462180' + '20' + '0000' + '0000' + '0000'); // catalyst not complete
    expect(asker(vehicle, 'transmission')('06 00')).toBeNull();
  });

  it('never throws and never answers what was not asked', () => {
    const vehicle = new FakeVehicle();
    for (const unit of ['engine', 'transmission'] as const) {
      const respond = responderOf(unit, vehicle);
      fc.assert(
        fc.property(fc.uint8Array({ maxLength: 40 }), fc.boolean(), (request, functional) => {
          const answer = respond(request, functional);
          if (answer === null) return;
          const service = request[0] ?? 0;
          if (answer[0] === 0x7f) expect(answer[1]).toBe(service);
          else expect(answer[0]).toBe(service | 0x40);
        }),
        { seed: 11, numRuns: 2000 },
      );
    }
  });

  it('carries every signal that the vehicle offers', () => {
    const vehicle = new FakeVehicle();
    const respond = responderOf('engine', vehicle);
    const got = new Map<string, number>();
    for (let pid = 1; pid < 256; pid++) {
      const answer = respond(Uint8Array.of(0x01, pid), true);
      if (answer === null || pid % 32 === 0) continue;
      const split = splitCurrentData(answer, Uint8Array.of(pid));
      if (!split.ok) throw new Error(split.why);
      for (const part of split.parts)
        for (const r of decodePid(part.pid, part.data).readings)
          if (r.signal !== null && typeof r.value === 'number') got.set(r.signal, r.value);
    }
    for (const name of vehicle.supported) {
      const truth = vehicle.signal(name) ?? 0;
      expect(Math.abs((got.get(name) ?? Number.NaN) - truth), name).toBeLessThan(0.25);
    }
  });
});

class Tester implements BusNode {
  readonly frames: { id: string; data: string; tUs: number }[] = [];
  awake(): boolean {
    return true;
  }
  receive(frame: CanFrame, tUs: number): void {
    this.frames.push({ id: frame.id.toString(16).toUpperCase(), data: toHex(frame.data), tUs });
  }
}

function onBus(options: Partial<UnitOptions> = {}) {
  const clock = new ManualClock();
  const bus = new SimBus(clock, 500_000);
  const vehicle = new FakeVehicle();
  const tester = new Tester();
  bus.attach(tester);
  const units = (['engine', 'transmission'] as const).map(
    (name) =>
      new SimControlUnit({
        clock,
        bus,
        random: seededRandom(name),
        name,
        extended: false,
        respond: responderOf(name, vehicle),
        powered: () => vehicle.ignition,
        responseMs: 10,
        jitterMs: 5,
        late: { share: 0, ms: 0 },
        pendingServices: [],
        busy: 0,
        onAnswer: () => undefined,
        ...options,
      }),
  );
  const send = (id: number, hex: string, extended = options.extended ?? false) =>
    bus.send({ id, extended, data: bytes(hex) }, tester);
  return { clock, bus, vehicle, tester, units, send };
}

describe('on the bus', () => {
  it('answers functional requests from every unit within its time', async () => {
    const { clock, tester, send } = onBus();
    send(0x7df, '02 01 0D 00 00 00 00 00');
    await clock.advance(9);
    expect(tester.frames).toEqual([]);
    await clock.advance(10);
    expect(tester.frames.map((f) => f.id).sort()).toEqual(['7E8', '7E9']);
    for (const f of tester.frames) {
      expect(f.data).toBe('03410D3E55555555');
      expect(f.tUs).toBeGreaterThan(10_000);
      expect(f.tUs).toBeLessThan(16_000);
    }
  });

  it('sends long answers by the flow control it is given: block size, separation, wait', async () => {
    const { clock, tester, send } = onBus();
    send(0x7e0, '02 09 02 00 00 00 00 00');
    await clock.advance(30);
    expect(tester.frames.map((f) => f.data)).toEqual(['101449020131' + '4842']);
    send(0x7e0, '31 00 00'); // wait
    await clock.advance(500);
    expect(tester.frames).toHaveLength(1);
    send(0x7e0, '30 01 0A'); // one frame, 10 ms apart
    await clock.advance(50);
    expect(tester.frames).toHaveLength(2);
    send(0x7e0, '30 00 14'); // the rest, 20 ms apart
    await clock.advance(100);
    expect(tester.frames.map((f) => f.data.slice(0, 2))).toEqual(['10', '21', '22']);
  });

  it('gives up a long answer when no flow control comes', async () => {
    const { clock, tester, send } = onBus();
    send(0x7e0, '02 09 02 00 00 00 00 00');
    await clock.advance(1200);
    send(0x7e0, '30 00 00');
    await clock.advance(100);
    expect(tester.frames).toHaveLength(1);
  });

  it('takes long requests with flow control of its own', async () => {
    const { clock, tester, send } = onBus();
    send(0x7e0, '10 08 01 0C 0D 05 0B 0F');
    await clock.advance(5);
    expect(tester.frames.at(-1)?.data).toBe('3000005555555555');
    send(0x7e0, '21 33 42 00 00 00 00 00');
    await clock.advance(40);
    expect(tester.frames.at(-1)?.data.slice(0, 8)).toBe('037F0112'); // seven PIDs are one too many
  });

  it('is silent with the ignition off, and so is the bus', async () => {
    const { clock, bus, vehicle, tester, send, units } = onBus();
    vehicle.ignition = false;
    bus.detach(tester);
    let acknowledged: boolean | null = null;
    bus.attach(tester);
    bus.send({ id: 0x7df, extended: false, data: bytes('02 01 00') }, tester, (a) => {
      acknowledged = a;
    });
    await clock.advance(100);
    expect(acknowledged).toBe(false);
    expect(tester.frames).toEqual([]);
    vehicle.ignition = true;
    send(0x7df, '02 01 00');
    await clock.advance(100);
    expect(tester.frames).toHaveLength(2);
    for (const unit of units) unit.close();
    send(0x7df, '02 01 00');
    await clock.advance(100);
    expect(tester.frames).toHaveLength(2);
  });

  it('uses 29-bit addresses when told to', async () => {
    const { clock, tester, send } = onBus({ extended: true });
    send(0x18db33f1, '02 01 0D');
    await clock.advance(50);
    expect(tester.frames.map((f) => f.id).sort()).toEqual(['18DAF110', '18DAF118']);
    send(0x18da10f1, '02 01 66');
    await clock.advance(50);
    expect(tester.frames.at(-1)?.data).toBe('037F011255555555');
    send(0x7df, '02 01 0D', false);
    await clock.advance(50);
    expect(tester.frames).toHaveLength(3);
  });

  it('asks for patience first where told to', async () => {
    const { clock, tester, send } = onBus({ pendingServices: [0x03] });
    send(0x7e0, '01 03');
    await clock.advance(20);
    expect(tester.frames.map((f) => f.data)).toEqual(['037F037855555555']);
    await clock.advance(500);
    expect(tester.frames.at(-1)?.data).toBe('0243005555555555');
  });

  it('survives any frames', async () => {
    const { clock, tester, send } = onBus();
    const frame = fc.tuple(fc.constantFrom(0x7df, 0x7e0, 0x7e1, 0x123), fc.uint8Array({ maxLength: 8 }));
    await fc.assert(
      fc.asyncProperty(fc.array(frame, { maxLength: 30 }), async (frames) => {
        for (const [id, data] of frames) send(id, toHex(data));
        await clock.advance(3000);
        tester.frames.length = 0;
        send(0x7e0, '02 01 0D');
        await clock.advance(100);
        expect(tester.frames.map((f) => f.data)).toEqual(['03410D3E55555555']);
      }),
      { seed: 5, numRuns: 60 },
    );
  });
});
