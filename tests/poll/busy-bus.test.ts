/** Serial-line CAN on a bus with thousands of frames a second: filters are used where they prove to work, never believed. */
import { describe, expect, it } from 'vitest';
import type { WireEvent } from '../../src/adapter/adapter.ts';
import { ManualClock } from '../../src/core/clock.ts';
import type { HandbackError } from '../../src/core/errors.ts';
import { VehicleSession } from '../../src/poll/session.ts';
import { simLinkFactory } from '../../src/sim/bench.ts';
import { inWords } from '../in-words.ts';
import { FakeVehicle } from '../sim/host.ts';

function bench(options: { pace: number; quirks?: readonly string[]; traffic?: number; wide?: boolean }) {
  const clock = new ManualClock();
  const vehicle = new FakeVehicle();
  const factory = simLinkFactory({
    vehicle,
    clock,
    front: 'slcan',
    pace: options.pace,
    quirks: options.quirks ?? [],
    traffic: options.traffic ?? 2500,
    bus: { extended: options.wide ?? false, bitrate: 500_000 },
  });
  const events: WireEvent[] = [];
  const session = new VehicleSession({
    factory,
    family: 'slcan',
    clock,
    tap: (e) => events.push(e),
    fastRestUs: 0,
  });
  const settle = <T>(promise: Promise<T>): Promise<T> => clock.until(promise, 20, 100_000);
  return {
    clock,
    session,
    vehicle,
    settle,
    sent: () => events.flatMap((e) => (e.kind === 'tx' ? [String.fromCharCode(...e.bytes).trim()] : [])),
    async rate(seconds: number) {
      const before = session.counters().samples;
      await clock.advance(1000 * seconds);
      return (session.counters().samples - before) / seconds;
    },
    async end() {
      await settle(session.stop());
      factory.close();
    },
  };
}

const lastFilter = (sent: readonly string[]) => sent.filter((t) => /^[Mm]/.test(t)).slice(-2);

describe('a busy bus', () => {
  it.each([
    ['a classic controller, 11 bit', [], false, ['MFD00C6D7', 'm00FF000F']],
    ['a classic controller, 29 bit', [], true, ['MFD00C6D7', 'm00FF000F']],
    ['plain address and mask', ['filter-plain'], false, ['M000007E8', 'm000007F8']],
    ['plain address and mask, 29 bit', ['filter-plain'], true, ['M18DAF100', 'm1FFFFF00']],
  ])('is read over a line that could not carry it: %s', async (_, quirks, wide, filter) => {
    const b = bench({ pace: 115_200, quirks, wide });
    await b.settle(b.session.start());
    expect(b.session.state.vehicle?.controlUnits).toHaveLength(2);
    expect(lastFilter(b.sent())).toEqual(filter);
    expect(await b.rate(3)).toBeGreaterThan(100);
    await b.end();
    expect(lastFilter(b.sent())).toEqual(['M00000000', 'mFFFFFFFF']); // for whoever comes next
  });

  it.each([['no-filter'], ['filter-ignored'], ['filter-one-unit']])(
    'is read whole where the filter is no good (%s), and no control unit is missed',
    async (quirk) => {
      const b = bench({ pace: 1_000_000, quirks: [quirk] });
      await b.settle(b.session.start());
      expect(b.session.state.vehicle?.controlUnits).toEqual(['7E8', '7E9']);
      const none = quirk === 'no-filter' ? ['MFD00C6D7'] : ['M00000000', 'mFFFFFFFF'];
      expect(lastFilter(b.sent())).toEqual(none);
      expect(await b.rate(2)).toBeGreaterThan(200);
      await b.end();
    },
  );

  it('that fills the line, with an adapter that keeps nothing back, is named as the reason', async () => {
    const b = bench({ pace: 115_200, quirks: ['no-filter', 'wrong-baud'] });
    const e = await b.settle(b.session.start()).then(
      () => null,
      (thrown) => thrown as HandbackError,
    );
    expect(e?.message).toMatch(/the line is full of other traffic/);
    expect(b.clock.nowUs()).toBeLessThan(30e6);
  });

  it('a quiet bus: no filter is tried', async () => {
    const b = bench({ pace: 1_000_000, traffic: 0 });
    await b.settle(b.session.start());
    expect(lastFilter(b.sent())).toEqual([]);
    await b.end();
  });

  it('says what the adapter flags when nobody answers any more', async () => {
    const b = bench({ pace: 1_000_000, traffic: 0 });
    await b.settle(b.session.start());
    b.vehicle.ignition = false;
    await b.clock.advance(2500); // the flags are read once a second
    const x = await b.settle(b.session.request(Uint8Array.of(0x01, 0x00)));
    expect(x.messages).toEqual([]);
    expect(inWords(x.why)).toMatch(/the adapter says: .*nobody who acknowledges/);
    await b.end();
  });
});
