/** A third dialect, added here: nothing above `adapter` knows of it, and it is asked, gated, recorded and replayed. */
import { expect, it } from 'vitest';
import type {
  Adapter,
  AdapterDriver,
  Dialect,
  EcuMessage,
  Exchange,
  WireEvent,
} from '../../src/adapter/adapter.ts';
import type { DialectEntry, LineWatch, Permission } from '../../src/adapter/dialect.ts';
import { addDialect } from '../../src/adapter/dialects.ts';
import { Received, type RxChunk } from '../../src/adapter/received.ts';
import { Wire } from '../../src/adapter/wire.ts';
import { ManualClock } from '../../src/core/clock.ts';
import { fromHex, toHex } from '../../src/core/hex.ts';
import type { Sample } from '../../src/core/signals.ts';
import { WireReader } from '../../src/j1979/reader.ts';
import { connectGuarded } from '../../src/poll/gate.ts';
import { VehicleSession } from '../../src/poll/session.ts';
import { linesOf, readLine } from '../../src/run/capture/format.ts';
import { engine, FakeVehicle, factoryFor } from './fakes.ts';

/** `ask 0105 fe` (its sum behind it) is answered by `7E8 410582` lines and `end`. */
const DIALECT: Dialect = { family: 'plain', bus: 'can11', bitrate: 500_000 };
const ascii = (text: string) => Buffer.from(text, 'latin1');
const sum = (hex: string) => toHex(Uint8Array.of([...fromHex(hex)!].reduce((n, b) => (n + b) & 255, 0)));

function read(rx: Received) {
  const messages: EcuMessage[] = [];
  const text = Buffer.from(rx.bytes.subarray(0, rx.length)).toString('latin1');
  for (const [, ecu, hex] of text.matchAll(/^(7E[89A-F]) ([0-9A-F]+)$/gm))
    messages.push({ ecu: ecu!, payload: fromHex(hex!)!, tUs: rx.tUs[rx.portions - 1]! });
  return { messages, discards: [] };
}

class PlainWatch implements LineWatch {
  readonly #may: Permission;
  constructor(may: Permission) {
    this.#may = may;
  }
  heard(): void {}
  mayPass(bytes: Uint8Array): boolean {
    const [, hex, check] =
      /^ask ((?:[0-9A-F]{2})+) ([0-9A-F]{2})\n$/.exec(Buffer.from(bytes).toString()) ?? [];
    return hex !== undefined && check === sum(hex) && this.#may.ask(fromHex(hex)!) !== 'no';
  }
}

const driver: AdapterDriver = {
  async connect(link, tap, baud): Promise<Adapter> {
    return plainAdapter(link, tap, baud);
  },
};

function plainAdapter(
  link: Parameters<AdapterDriver['connect']>[0],
  tap: (e: WireEvent) => void,
  baud: number | null,
): Adapter {
  const wire = new Wire(link, tap, clock);
  let rx: RxChunk[] = [];
  let done: () => void = () => undefined;
  wire.onData((chunk) => {
    rx.push(chunk);
    if (Buffer.concat(rx.map((c) => c.bytes)).includes('end\n')) done();
  });
  tap({ kind: 'dialect', tUs: clock.nowUs(), dialect: DIALECT });
  return {
    info: {
      family: 'plain',
      identity: 'a plain one',
      baud,
      bus: 'CAN 11 bit, 500 kbit/s',
      dialect: DIALECT,
      maxPidsPerRequest: 6,
      voltageV: null,
    },
    damaged: 0,
    formOf: (payload) => payload,
    async request({ payload, ecu = null }): Promise<Exchange> {
      rx = [];
      const sentUs = clock.nowUs();
      tap({ kind: 'request', tUs: sentUs, payload, ecu });
      const end = await wire.wait<'end'>(200, (finish) => {
        done = () => finish('end');
        wire.send(ascii(`ask ${toHex(payload)} ${sum(toHex(payload))}\n`));
      });
      const messages = read(Received.of(rx)).messages.filter((m) => ecu === null || m.ecu === ecu);
      const outcome = messages.length > 0 ? 'answered' : end === 'lost' ? 'lost' : 'no data';
      tap({ kind: 'done', tUs: clock.nowUs(), outcome, messages });
      return { asked: payload, sentUs, doneUs: clock.nowUs(), outcome, why: null, messages, discards: [] };
    },
    close: () => wire.close(),
  };
}

const plain: DialectEntry = {
  family: 'plain',
  title: 'plain adapter',
  quickToFind: true,
  driver: () => driver,
  read: (_dialect, _sent, rx) => read(rx),
  watch: (may) => new PlainWatch(may),
};

const clock = new ManualClock();
addDialect(plain);

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
        clock.after(4, () => void link.write(ascii(`${said.join('')}end\n`)).catch(() => undefined));
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
