/** The code snapshot asks for all that a unit says it has, and for nothing that it says it has not. */
import { describe, expect, it } from 'vitest';
import { ManualClock } from '../../src/core/clock.ts';
import { VehicleSession } from '../../src/poll/session.ts';
import { takeSnapshot } from '../../src/poll/snapshot.ts';
import { type SimulationOptions, simLinkFactory } from '../../src/sim/bench.ts';
import { FakeVehicle } from '../sim/host.ts';

/** @param instead payloads that come in the place of what the car would say; undefined lets the car answer */
async function snapshotOf(
  options: Partial<SimulationOptions>,
  prepare: (v: FakeVehicle) => void,
  instead: (payload: Uint8Array) => readonly (readonly number[])[] | undefined = () => undefined,
) {
  const clock = new ManualClock();
  const vehicle = new FakeVehicle();
  prepare(vehicle);
  const factory = simLinkFactory({ vehicle, clock, ...options });
  const session = new VehicleSession({
    factory,
    family: options.front ?? 'at',
    clock,
    tap: () => undefined,
    wanted: [],
  });
  const settle = async <T>(promise: Promise<T>): Promise<T> => {
    let done = false;
    promise.finally(() => (done = true)).catch(() => undefined);
    for (let ms = 0; !done && ms < 300_000; ms += 20) await clock.advance(20);
    return promise;
  };
  await settle(session.start());
  const asked: string[] = [];
  const snapshot = await settle(
    takeSnapshot((payload) => {
      asked.push(Buffer.from(payload).toString('hex').toUpperCase());
      const own = instead(payload);
      if (own === undefined) return session.request(payload);
      const messages = own.map((p) => ({ ecu: '7E8', payload: Uint8Array.from(p), tUs: 0 }));
      const times = { sentUs: 0, doneUs: 0 };
      return Promise.resolve({
        asked: payload,
        ...times,
        outcome: 'answered',
        why: null,
        messages,
        discards: [],
      });
    }, null),
  );
  await settle(session.stop());
  factory.close();
  return { snapshot, asked };
}

const FROZEN = { rpm: 1812, map_kpa: 171, ect_c: 92, pedal_d_pct: 80, boost_cmd_kpa: 190, speed_kmh: 77 };

describe('code snapshot', () => {
  it.each<[string, Partial<SimulationOptions>]>([
    ['text adapter', {}],
    ['serial-line CAN', { front: 'slcan', pace: 1_000_000 }],
    ['K-line', { kline: 'kwp-fast' }],
  ])('reads the whole freeze frame and every kind of information: %s', async (_, options) => {
    const { snapshot, asked } = await snapshotOf(options, (v) => {
      v.codes = [{ code: 'P0299', ecu: 'engine', state: 'stored', permanent: true, freeze: FROZEN }];
    });
    const engine = snapshot.units.find((u) => u.stored.length > 0)!;
    expect(engine.stored[0]).toMatchObject({ code: 'P0299' });
    const frame = new Map(engine.freezeFrame.map((f) => [f.signal ?? f.pid, f.value]));
    for (const [signal, value] of Object.entries(FROZEN)) {
      // PID 70 has ten bytes, a message of the older buses room for seven.
      if (options.kline && signal === 'boost_cmd_kpa') continue;
      const read = frame.get(signal);
      expect(typeof read, signal).toBe('number');
      expect(Math.abs((read as number) - value), signal).toBeLessThan(1);
    }
    expect([...frame.values()]).toContain('P0299');
    const kinds = new Set(engine.information.map((i) => i.pid));
    expect([...kinds].sort()).toEqual(['02', '04', '06', '08', '0A']);
    expect(engine.information.filter((i) => i.pid === '08')).toHaveLength(20);
    expect(asked).not.toContain('090B'); // this engine says that it has none
    expect(engine.monitorResults.length).toBeGreaterThan(0);
  });

  it('over serial-line CAN leaves a frozen throttle unasked, for which no harmless request exists, and reads the rest', async () => {
    const { snapshot, asked } = await snapshotOf({ front: 'slcan', pace: 1_000_000 }, (v) => {
      const freeze = { ...FROZEN, throttle_pct: 41 };
      v.codes = [{ code: 'P0299', ecu: 'engine', state: 'stored', permanent: true, freeze }];
    });
    expect(asked).toContain('021100');
    const frame = snapshot.units.find((u) => u.stored.length > 0)!.freezeFrame;
    const read = frame.map((f) => f.signal);
    expect(read).toEqual(expect.arrayContaining(Object.keys(FROZEN)));
    expect(read).not.toContain('throttle_pct');
  });

  it('says why no frame came of a stored code, and nothing where one is there or none is kept', async () => {
    const freezing = (freeze: typeof FROZEN | null) => (v: FakeVehicle) => {
      v.codes = [{ code: 'P0299', ecu: 'engine', state: 'stored', permanent: true, freeze }];
    };
    const why = async (prepare: (v: FakeVehicle) => void, options: Partial<SimulationOptions> = {}) =>
      (await snapshotOf(options, prepare)).snapshot.frameNotRead;
    const answered = async (...answers: readonly (readonly number[])[]) =>
      (await snapshotOf({}, freezing(FROZEN), (p) => (p[0] === 2 ? answers : undefined))).snapshot
        .frameNotRead;
    expect(await why(freezing(FROZEN))).toBeUndefined();
    expect(await why(freezing(null))).toBeUndefined();
    expect(await answered([0x7f, 2, 0x22])).toEqual({ reason: 'refused', code: 0x22 });
    expect(await answered()).toEqual({ reason: 'no answer', code: null });
    expect(await why(freezing(FROZEN), { services: 'newer' })).toBeUndefined();
    expect(await why(freezing(null), { services: 'newer' })).toBeUndefined();
  });

  it('takes no answer that names fewer codes than it counts, or tells no monitors, for one that says there is nothing', async () => {
    const told = async (...answer: readonly number[]) =>
      (
        await snapshotOf(
          {},
          () => undefined,
          (p) => (p[0] === (answer[0]! & ~0x40) ? [answer] : undefined),
        )
      ).snapshot;
    expect((await told(0x43, 2)).unanswered).toContain('stored codes (03)');
    expect((await told(0x47)).unanswered).toContain('pending codes (07)');
    expect((await told(0x43, 2, 0x02, 0x99)).units[0]!.stored.map((c) => c.code)).toEqual(['P0299']);
    expect((await told(0x43, 0)).unanswered).toEqual([]);
    expect((await told(0x41, 1)).unanswered).toContain('readiness (01)');
  });

  it('asks for nothing more of a frame where every unit says that it has none', async () => {
    const { snapshot, asked } = await snapshotOf({}, () => undefined);
    expect(asked.filter((a) => a.startsWith('02'))).toEqual(['020200']);
    for (const unit of snapshot.units) expect(unit.freezeFrame).toEqual([]);
  });
});
