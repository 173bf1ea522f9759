/**
 * A vehicle is the same whatever services it answers in: found out by its answers, its fault memory read alike, its
 * drive judged alike, codes cleared behind the same lock.
 */
import { describe, expect, it } from 'vitest';
import { judgeTable } from '../../src/analysis/judge.ts';
import { ManualClock } from '../../src/core/clock.ts';
import { toHex } from '../../src/core/hex.ts';
import { WireReader } from '../../src/j1979/reader.ts';
import { CLEAR_WORDS } from '../../src/poll/gate.ts';
import { VehicleSession } from '../../src/poll/session.ts';
import { takeSnapshot } from '../../src/poll/snapshot.ts';
import { SampleTable } from '../../src/signal/table.ts';
import { type SimulationOptions, simLinkFactory } from '../../src/sim/bench.ts';
import type { SimVehicle } from '../../src/sim/types.ts';
import { createVehicle } from '../../src/sim/vehicle/vehicle.ts';
import { FakeVehicle } from '../sim/host.ts';

type Events = Parameters<WireReader['read']>[0][];

/** Connects, does what is to be done, and leaves. */
async function visit<T>(
  vehicle: SimVehicle,
  options: Partial<SimulationOptions>,
  work: (session: VehicleSession, clock: ManualClock, settle: <U>(p: Promise<U>) => Promise<U>) => Promise<T>,
  wanted?: readonly string[],
) {
  const clock = new ManualClock();
  const requests: string[] = [];
  const events: Events = [];
  const factory = simLinkFactory({
    vehicle,
    clock,
    onAnswer: (a) => requests.push(toHex(a.request)),
    ...options,
  });
  const session = new VehicleSession({
    factory,
    family: 'auto',
    clock,
    tap: (e) => events.push(e),
    ...(wanted ? { wanted } : {}),
  });
  const settle = <U>(promise: Promise<U>): Promise<U> => clock.until(promise, 20);
  try {
    await settle(session.start());
    const result = await work(session, clock, settle);
    await settle(session.stop());
    return { result, requests, events };
  } finally {
    factory.close();
  }
}

const FROZEN = { rpm: 1812, map_kpa: 171, ect_c: 92, pedal_d_pct: 80, boost_cmd_kpa: 190, speed_kmh: 77 };

function ailing(code: string): FakeVehicle {
  const vehicle = new FakeVehicle();
  vehicle.codes = [
    { code, ecu: 'engine', state: 'stored', permanent: true, freeze: FROZEN },
    { code: 'P1F41', ecu: 'engine', state: 'pending', permanent: false, freeze: null },
    { code: 'P0420', ecu: 'engine', state: 'cleared', permanent: true, freeze: null },
    { code: 'P0700', ecu: 'transmission', state: 'stored', permanent: false, freeze: null },
  ];
  vehicle.mil = true;
  return vehicle;
}

const snapshotOf = async (vehicle: SimVehicle, options: Partial<SimulationOptions>) =>
  (
    await visit(
      vehicle,
      options,
      (session, _, settle) => settle(takeSnapshot((p) => session.request(p), null)),
      [],
    )
  ).result;

const LONG = { extended: true, bitrate: 250_000 } as const;
// P0299 has no harmless request for its frame over serial-line CAN (docs/security.md), P2262 has one.
const PLACES: readonly (readonly [string, string, Partial<SimulationOptions>])[] = [
  ['text adapter, 11 bit', 'P0299', {}],
  ['text adapter, 29 bit', 'P0299', { bus: LONG }],
  ['serial-line CAN, 11 bit', 'P2262', { front: 'slcan', pace: 1_000_000 }],
  ['serial-line CAN, 29 bit', 'P2262', { front: 'slcan', pace: 1_000_000, bus: LONG }],
];

describe('the fault memory', () => {
  it.each(PLACES)(
    'over %s: the same in either set of services, busy and pending or not',
    async (_, code, place) => {
      const classic = await snapshotOf(ailing(code), place);
      const engine = classic.units.find((u) => u.stored.some((c) => c.code === code))!;
      expect(engine.pending.map((c) => c.code)).toEqual(['P1F41']);
      expect(engine.permanent.map((c) => c.code)).toEqual([code, 'P0420']);
      expect(engine.freezeFrame.length).toBeGreaterThan(5);
      expect(engine.monitorResults.length).toBeGreaterThan(1);
      // Of the frame's code there is a byte more, its failure type; a unit without a frame says so, or says nothing.
      const comparable = ({ units, ...rest }: typeof classic) => ({
        ...rest,
        units: units.map((u) => ({
          ...u,
          freezeFrame: u.freezeFrame.flatMap((v) =>
            v.pid !== '02' ? [v] : v.value === null ? [] : [{ ...v, raw: '' }],
          ),
        })),
      });
      for (const trouble of [{}, { busy: 0.1, pendingServices: [0x19] }]) {
        const newer = await snapshotOf(ailing(code), { ...place, ...trouble, services: 'newer' });
        expect(comparable(newer)).toEqual(comparable(classic));
      }
    },
  );

  it('over serial-line CAN a frame without a harmless request stays unread, and the rest is there', async () => {
    const { units } = await snapshotOf(ailing('P0299'), {
      front: 'slcan',
      pace: 1_000_000,
      services: 'newer',
    });
    expect(units.map((u) => [u.stored.map((c) => c.code), u.freezeFrame])).toEqual([
      [['P0299'], []],
      [['P0700'], []],
    ]);
  });

  it.each(PLACES)(
    'over %s is cleared by service 14, once, and only at a standstill',
    async (_, code, place) => {
      const vehicle = ailing(code);
      vehicle.engineRuns = false;
      const proof = { snapshotSavedAs: 'before.json', typed: CLEAR_WORDS };
      const { requests } = await visit(
        vehicle,
        { ...place, services: 'newer' },
        async (session, _clock, settle) => {
          await expect(settle(session.clearCodes(proof))).rejects.toThrow(/turns at/);
          expect(vehicle.cleared).toBe(0);
          vehicle.values.rpm = 0;
          vehicle.values.speed_kmh = 0;
          const x = await settle(session.clearCodes(proof));
          expect(x.messages.map((m) => toHex(m.payload))).toEqual(['44', '44']);
        },
        [],
      );
      // Two control units, one request.
      expect(requests.filter((r) => !/^(22|19)/.test(r))).toEqual(['14FFFF33', '14FFFF33']);
      expect(vehicle.codes).toEqual([]);
    },
  );
});

it('nothing but reading requests reach a vehicle of newer services, service 01 among them only as the first question', async () => {
  const { requests, events } = await visit(ailing('P0299'), { services: 'newer' }, async (_, clock) => {
    await clock.advance(5000);
  });
  expect(requests.length).toBeGreaterThan(100);
  expect(new Set(requests.map((r) => r.slice(0, 4)))).toEqual(new Set(['22F4', '22F8']));
  expect(requests.some((r) => r.length === 14)).toBe(true); // three identifiers at once
  const asked = events.flatMap((e) => (e.kind === 'request' ? [toHex(e.payload)] : []));
  expect(new Set(asked.filter((r) => !r.startsWith('22')))).toEqual(new Set(['0100']));
});

it('a vehicle that answers service 01 is never asked for anything else', async () => {
  const { requests } = await visit(ailing('P0299'), {}, async (_, clock) => {
    await clock.advance(2000);
  });
  expect(requests.filter((r) => !/^0[19]/.test(r))).toEqual([]);
});

it('a drive is judged alike', async () => {
  const judged = async (options: Partial<SimulationOptions>) => {
    const vehicle = createVehicle({
      vehicle: 'twin-charged',
      route: 'warm-road-test',
      faults: [{ name: 'clutch-never-closes' }],
    });
    const { events } = await visit(vehicle, { pace: 115_200, ...options }, (_, clock) =>
      clock.advance(45_000),
    );
    const table = new SampleTable();
    const reader = new WireReader();
    for (const event of events) {
      // A capture holds the bytes of an answer, not what the driver made of them.
      const { messages: _, ...recorded } = { messages: null, ...event };
      for (const s of reader.read(recorded as (typeof events)[number]).samples) table.push(s);
    }
    const j = judgeTable(table, { induction: 'twin-charged', fuel: 'petrol' }, null, '');
    return {
      systems: Object.fromEntries(Object.entries(j.systems).map(([name, s]) => [name, s.verdict])),
      findings: j.findings.map((f) => [f.id, f.verdict, f.pointsTo?.id ?? null]),
    };
  };
  const classic = await judged({});
  expect(classic.systems.boost).toBe('fault shown');
  for (const place of [{}, { bus: LONG }, { front: 'slcan', pace: 1_000_000 }] as const)
    expect(await judged({ ...place, services: 'newer' })).toEqual(classic);
});
