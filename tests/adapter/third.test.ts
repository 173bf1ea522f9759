/** A third dialect: nothing above `adapter` knows of it, and it is offered, asked, gated, recorded and replayed. */
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, describe, expect, it } from 'vitest';
import type { WireEvent } from '../../src/adapter/adapter.ts';
import type { DialectEntry } from '../../src/adapter/dialect.ts';
import { addDialect } from '../../src/adapter/dialects.ts';
import { interpret } from '../../src/adapter/interpret.ts';
import { ManualClock } from '../../src/core/clock.ts';
import { fromHex, toHex } from '../../src/core/hex.ts';
import { asIs } from '../../src/core/says.ts';
import type { Sample } from '../../src/core/signals.ts';
import { say } from '../../src/core/wire-says.ts';
import { Daemon } from '../../src/desk/daemon.ts';
import { WireReader } from '../../src/j1979/reader.ts';
import { connectGuarded } from '../../src/poll/gate.ts';
import { VehicleSession } from '../../src/poll/session.ts';
import { WireGate } from '../../src/poll/wire-gate.ts';
import { linesOf, readLine } from '../../src/run/capture/format.ts';
import { engine, FakeVehicle, factoryFor } from './fakes.ts';
import { plain } from './plain.ts';

const clock = new ManualClock();
const remove = addDialect('plain', asIs('plain adapter'), plain);
afterAll(remove);

function bench() {
  const vehicle = new FakeVehicle([engine('7E8').unit]);
  const device = {
    attach(link: import('../../src/link/link.ts').Link) {
      link.listen((e) => {
        if (e.kind !== 'data') return;
        const payload = fromHex(Buffer.from(e.bytes).toString().split(' ')[1]!)!;
        const said = vehicle
          .answer(payload, null)
          .map((a) => `${a.ecu} ${toHex(Uint8Array.from(a.payload))}\n`);
        clock.after(
          4,
          () => void link.write(Buffer.from(`${said.join('')}end\n`, 'latin1')).catch(() => undefined),
        );
      });
    },
  };
  return { vehicle, factory: factoryFor(clock, device) };
}

it('is found, asked, recorded, and replayed the same', async () => {
  const { factory, vehicle } = bench();
  const events: WireEvent[] = [];
  const samples: Sample[] = [];
  const session = new VehicleSession({ factory, family: 'plain', clock, tap: (e) => events.push(e) });
  session.samples$.subscribe((s) => samples.push(s));
  await clock.until(session.start(), 5, 10_000);
  await clock.advance(3000);
  await clock.until(session.stop(), 5, 10_000);
  expect(session.state.vehicle?.vin).toBe(vehicle.vin);
  expect(samples.length).toBeGreaterThan(100);
  const reader = new WireReader();
  const replayed = events.flatMap((e) =>
    linesOf(e).flatMap((line) => {
      const back = readLine(line);
      if (!back.ok) throw new Error(`${back.why}: ${line}`);
      const { record } = back;
      return record.kind === 'anchor' ||
        record.kind === 'mark' ||
        record.kind === 'note' ||
        record.kind === 'digest'
        ? []
        : [...reader.read(record as WireEvent).samples];
    }),
  );
  expect(replayed).toEqual(samples);
});

it('is gated by its own watch', async () => {
  const { factory, vehicle } = bench();
  const adapter = await connectGuarded(factory, { family: 'plain', clock, tap: () => undefined });
  const good = adapter.request({ payload: Uint8Array.of(0x01, 0x0c) });
  await clock.advance(300);
  expect((await good).outcome).toBe('answered');
  await expect(adapter.request({ payload: Uint8Array.of(0x14, 0xff) })).rejects.toThrow(/only reads/);
  expect(vehicle.asked).toEqual(['010C']);
});

it('is offered to choose from, and recorded through the daemon', async () => {
  const library = mkdtempSync(join(tmpdir(), 'handback-third-'));
  const { factory, vehicle } = bench();
  const daemon = new Daemon({ clock, library, linkFactory: () => factory });
  try {
    const offered = daemon.state().dialects.map((d) => [d.family, d.title]);
    expect(offered[0]).toEqual(['at', 'AT-command text']);
    expect(offered.at(-1)).toEqual(['plain', 'plain adapter']);
    await clock.until(daemon.connect({ link: 'plain', adapter: 'plain' }), 5, 10_000);
    await clock.until(daemon.startRun({ purpose: 'verification' }), 5, 10_000);
    await clock.advance(3000);
    expect(daemon.state().connection).toMatchObject({ vehicle: { vin: vehicle.vin } });
    expect(daemon.state().run!.samples).toBeGreaterThan(100);
    await clock.until(daemon.stopRun(), 5, 10_000);
  } finally {
    await clock.until(daemon.close(), 5, 10_000);
    rmSync(library, { recursive: true, force: true });
  }
});

describe('a part that fails is told by name', () => {
  const fails = (): never => (undefined as never as { nothing: never }).nothing;
  const spoilt = (parts: Partial<DialectEntry>) =>
    addDialect('spoilt', asIs('spoilt'), { ...plain, ...parts });
  const connected = () => connectGuarded(bench().factory, { family: 'spoilt', clock, tap: () => undefined });
  /** What becomes of it once the driver's own waits are over. */
  const told = async (work: Promise<unknown>) => {
    const said = work.then(
      () => 'nothing',
      (thrown: Error) => thrown.message,
    );
    await clock.advance(300);
    return said;
  };

  it('the driver, connecting and asking', async () => {
    const away = spoilt({ driver: () => ({ connect: async () => fails() }) });
    expect(await told(connected())).toMatch(/^connecting, the driver of dialect "spoilt" failed: .*nothing/);
    away();
    const asks = spoilt({
      driver: (own) => ({
        connect: async (...how) => {
          const adapter = await plain.driver(own).connect(...how);
          return { ...adapter, info: { ...adapter.info, family: 'spoilt' }, request: () => fails() };
        },
      }),
    });
    const adapter = await connected();
    expect(await told(adapter.request({ payload: Uint8Array.of(1, 12) }))).toMatch(
      /^asking 010C, the driver of dialect "spoilt" failed: .*nothing/,
    );
    asks();
  });

  it("the gate's view of the line, and the reading", async () => {
    const away = spoilt({
      watch: () => ({ heard: () => undefined, mayPass: () => fails() }),
      read: () => fails(),
    });
    const link = new WireGate().guard(await bench().factory.open({}), 'spoilt');
    expect(await told(link.write(Uint8Array.of(65)))).toMatch(
      /^before sending, the watch of dialect "spoilt" failed: .*nothing/,
    );
    const asked = { payload: Uint8Array.of(1, 12), ecu: null };
    expect(() => interpret({ family: 'spoilt', bus: 'can11' }, asked, [])).toThrow(
      /^reading what came, dialect "spoilt" failed: .*nothing/,
    );
    away();
  });
});

it('compiles only with all its parts', () => {
  const { watch, ...unwatched } = plain;
  // @ts-expect-error: no gate's view of the line
  const entry: DialectEntry = unwatched;
  // @ts-expect-error: no words for it
  const title = say('dialect.plain');
  expect([entry, title.id]).toEqual([{ ...plain, watch: undefined }, 'dialect.plain']);
  expect(watch).toBe(plain.watch);
});
