/** The K-line end to end: wake-up, sessions that end, answers in several messages, codes in triples. */
import { describe, expect, it } from 'vitest';
import type { WireEvent } from '../../src/adapter/adapter.ts';
import { ManualClock } from '../../src/core/clock.ts';
import { fromHex, toHex } from '../../src/core/hex.ts';
import { VehicleSession } from '../../src/poll/session.ts';
import { takeSnapshot } from '../../src/poll/snapshot.ts';
import { type SimulationOptions, simLinkFactory } from '../../src/sim/bench.ts';
import { klineMessages } from '../../src/sim/ecu/kline.ts';
import { FakeVehicle } from '../sim/host.ts';

async function settle<T>(clock: ManualClock, promise: Promise<T>): Promise<T> {
  let done = false;
  promise.finally(() => (done = true)).catch(() => undefined);
  for (let ms = 0; !done && ms < 200_000; ms += 50) await clock.advance(50);
  if (!done) throw new Error('not settled within 200 s of simulated time');
  return promise;
}

async function connected(options: Partial<SimulationOptions>, wanted?: readonly string[]) {
  const clock = new ManualClock();
  const vehicle = new FakeVehicle();
  const factory = simLinkFactory({ vehicle, clock, ...options });
  const events: WireEvent[] = [];
  const session = new VehicleSession({
    factory,
    family: 'auto',
    clock,
    tap: (e) => events.push(e),
    ...(wanted ? { wanted } : {}),
  });
  await settle(clock, session.start());
  const sent = () => events.flatMap((e) => (e.kind === 'tx' ? [String.fromCharCode(...e.bytes).trim()] : []));
  const stop = async () => {
    await settle(clock, session.stop());
    factory.close();
  };
  return { clock, vehicle, factory, session, events, sent, stop };
}

const code = (text: string, state: 'stored' | 'pending') => ({
  code: text,
  ecu: 'engine' as const,
  state,
  permanent: false,
  freeze: null,
});

describe('K-line through the text adapter', () => {
  it('reads seven codes in three messages, the vehicle number in five, and monitors with one limit', async () => {
    const b = await connected({ kline: 'iso9141' });
    const stored = ['P0234', 'P0299', 'C1234', 'B2ABC', 'U0100', 'P0116', 'P0128'];
    b.vehicle.codes = [...stored.map((c) => code(c, 'stored')), code('P0302', 'pending')];
    expect(b.session.state.vehicle).toEqual({ vin: b.vehicle.vin, controlUnits: ['10', '18'] });
    const snapshot = await settle(
      b.clock,
      takeSnapshot((p) => b.session.request(p), null),
    );
    const unit = snapshot.units.find((u) => u.ecu === '10')!;
    expect(unit.stored.map((c) => c.code)).toEqual(stored);
    expect(unit.pending.map((c) => c.code)).toEqual(['P0302']);
    expect(unit.information.find((v) => v.pid === '02')?.value).toBe(b.vehicle.vin);
    expect(unit.monitorResults.length).toBeGreaterThan(0);
    expect(unit.readiness?.monitors.filter((m) => m.supported && !m.complete).map((m) => m.name)).toEqual([
      'Catalyst',
    ]);
    await b.stop();
  });

  it.each(['iso9141', 'kwp-slow', 'kwp-fast'] as const)(
    'wakes the vehicle anew when the session is over: %s',
    async (kline) => {
      // Nothing that is polled and an adapter that does not keep the session: asked every second it stays awake …
      const b = await connected({ kline, quirks: ['no-keep-alive'] }, []);
      await b.clock.advance(20_000);
      expect(b.session.state.phase).toBe('connected');
      expect(b.sent()).not.toContain('ATPC');
      // … and after a minute of ignition off it is woken again.
      b.vehicle.ignition = false;
      await b.clock.advance(60_000);
      expect(b.session.state.phase).toBe('lost');
      b.vehicle.ignition = true;
      await b.clock.advance(30_000);
      expect(b.session.state.phase).toBe('connected');
      expect(b.sent()).toContain('ATPC');
      await b.stop();
    },
  );

  it.each(['kwp-fast', 'kwp-slow'] as const)(
    'calls one unit by its own address where none answers a call of all, and finds it again: %s',
    async (kline) => {
      const b = await connected({ kline, physicalOnly: true });
      expect(b.session.state).toMatchObject({ phase: 'connected' });
      expect(b.session.state.vehicle).toEqual({ vin: b.vehicle.vin, controlUnits: ['10'] });
      expect(b.sent()).toContain('ATSH8210F1');
      expect(b.sent().includes('ATIIA10')).toBe(kline === 'kwp-slow');
      const before = b.session.counters().samples;
      await b.clock.advance(10_000);
      expect(b.session.counters().samples - before).toBeGreaterThan(30);
      await b.stop();
    },
  );

  it('costs nobody else a call: one who answers all is never called alone', async () => {
    const b = await connected({ kline: 'kwp-fast' });
    expect(b.sent().some((line) => line.startsWith('ATSH82') || line.startsWith('ATIIA'))).toBe(false);
    await b.stop();
  });

  it('tells the adapter how many answers to wait for, which is most of the speed', async () => {
    const rate = async (quirks: readonly string[]) => {
      const b = await connected({ kline: 'kwp-fast', quirks });
      const before = b.session.counters().samples;
      await b.clock.advance(20_000);
      const perSecond = (b.session.counters().samples - before) / 20;
      await b.stop();
      return perSecond;
    };
    expect(await rate([])).toBeGreaterThan(1.3 * (await rate(['no-count-digit'])));
  });

  it('the messages of the older buses are what the standard has', () => {
    const cut = (request: string, response: string) =>
      klineMessages(fromHex(request)!, fromHex(response)!, false).map(toHex);
    expect(cut('010C', '410C1AF8')).toEqual(['410C1AF8']);
    expect(cut('010C0D', '410C1AF80D00')).toEqual([]); // one PID a request
    expect(cut('03', '4300')).toEqual(['43000000000000']);
    expect(cut('03', '430401020304C1004200')).toEqual(['4301020304C100', '43420000000000']);
    expect(cut('0900', '490054400000')).toEqual(['49000154400000']);
    expect(cut('0902', `490201${'31'.repeat(17)}`)).toEqual([
      '49020100000031',
      ...[2, 3, 4, 5].map((n) => `49020${n}31313131`),
    ]);
    expect(cut('0600', '460080000001')).toEqual(['4600FF80000001']);
    expect(cut('0601', '4601870B00550000012C')).toEqual(['4601070055012C']);
    expect(cut('0105', '7F0112')).toEqual(['7F0112']);
  });
});
