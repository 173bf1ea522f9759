/**
 * A capture of our own stack, written as a network capture and read by tshark: it reassembles every long message
 * to the same bytes and decodes every value that it knows to the same number.
 */
import { execFileSync } from 'node:child_process';
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, expect } from 'vitest';
import type { WireEvent } from '../../src/adapter/adapter.ts';
import { ManualClock } from '../../src/core/clock.ts';
import { fromHex, toHex } from '../../src/core/hex.ts';
import { decodePid } from '../../src/j1979/decode.ts';
import { WireReader } from '../../src/j1979/reader.ts';
import { VehicleSession } from '../../src/poll/session.ts';
import { type SimulationOptions, simLinkFactory } from '../../src/sim/bench.ts';
import { createVehicle } from '../../src/sim/vehicle/vehicle.ts';
import { needs, onPath } from '../require.ts';

const folder = mkdtempSync(join(tmpdir(), 'handback-pcap-'));
afterAll(() => rmSync(folder, { recursive: true, force: true }));

interface WireFrame {
  readonly tUs: number;
  readonly id: string;
  readonly data: Uint8Array;
}

/** Asks the simulated engine for everything, one thing at a time. */
async function record(bus: SimulationOptions['bus']): Promise<{ frames: WireFrame[]; messages: string[] }> {
  const clock = new ManualClock();
  const vehicle = createVehicle();
  vehicle.advance(120);
  const factory = simLinkFactory({
    vehicle,
    clock,
    front: 'slcan',
    pace: 1_000_000,
    ...(bus ? { bus } : {}),
  });
  const events: WireEvent[] = [];
  const session = new VehicleSession({
    factory,
    family: 'slcan',
    clock,
    tap: (e) => events.push(e),
    wanted: [],
  });
  const settle = <T>(promise: Promise<T>): Promise<T> => clock.until(promise, 50);
  await settle(session.start());
  events.splice(0, events.length, ...events.filter((e) => e.kind === 'dialect'));
  const [engine = ''] = session.state.vehicle?.controlUnits ?? [];
  const ask = (...payload: number[]) => settle(session.request(Uint8Array.from(payload), engine));
  for (let pid = 0; pid < 0x100; pid++) await ask(0x01, pid);
  for (const type of [0x02, 0x04, 0x06, 0x0a]) await ask(0x09, type);
  for (const service of [0x03, 0x0a]) await ask(service);
  await settle(session.stop());
  factory.close();

  const frames = events.flatMap((e) => {
    if (e.kind !== 'tx' && e.kind !== 'rx') return [];
    const m = /^(?:t(...)|T(.{8}))(\d)([0-9A-F]*)\r$/.exec(String.fromCharCode(...e.bytes));
    return m ? [{ tUs: e.tUs, id: (m[1] ?? m[2])!, data: fromHex(m[4]!)! }] : [];
  });
  const reader = new WireReader();
  const messages = events.flatMap((e) => reader.read(e).messages).map((m) => `${m.ecu} ${toHex(m.payload)}`);
  return { frames, messages };
}

/** Link type 227: a SocketCAN frame header, then the data. */
function writePcap(path: string, frames: readonly WireFrame[]): void {
  const head = Buffer.alloc(24);
  head.writeUInt32LE(0xa1b2c3d4, 0);
  head.writeUInt16LE(2, 4);
  head.writeUInt16LE(4, 6);
  head.writeUInt32LE(65_535, 16);
  head.writeUInt32LE(227, 20);
  const packets = frames.map(({ tUs, id, data }) => {
    const packet = Buffer.alloc(16 + 8 + data.length);
    packet.writeUInt32LE(Math.floor(tUs / 1e6), 0);
    packet.writeUInt32LE(tUs % 1e6, 4);
    packet.writeUInt32LE(8 + data.length, 8);
    packet.writeUInt32LE(8 + data.length, 12);
    packet.writeUInt32BE((Number.parseInt(id, 16) | (id.length === 8 ? 0x80000000 : 0)) >>> 0, 16);
    packet[20] = data.length;
    packet.set(data, 24);
    return packet;
  });
  writeFileSync(path, Buffer.concat([head, ...packets]));
}

interface OutsideMessage {
  /** As ours: address and payload. */
  readonly text: string;
  readonly payload: Uint8Array;
  readonly values: readonly number[];
}

function readOutside(path: string): OutsideMessage[] {
  const decodeAs = ['-d', 'can.subdissector,iso15765', '-d', 'iso15765.subdissector,obd-ii'];
  const xml = execFileSync('tshark', ['-n', '-r', path, ...decodeAs, '-T', 'pdml'], {
    encoding: 'utf8',
    maxBuffer: 1 << 28,
    stdio: ['ignore', 'pipe', 'ignore'],
    env: { ...process.env, HOME: folder },
  });
  return xml
    .split('<packet>')
    .slice(1)
    .flatMap((packet) => {
      const fields = [...packet.matchAll(/<field name="([^"]+)"[^>]*? show="([^"]*)"(?: value="([^"]*)")?/g)];
      const value = (name: string) => fields.find((f) => f[1] === name)?.[3];
      const wide = fields.some((f) => f[1] === 'can.flags.xtd' && /^(1|True)$/.test(f[2]!));
      const id = Number(fields.find((f) => f[1] === 'can.id')?.[2])
        .toString(16)
        .toUpperCase()
        .padStart(wide ? 8 : 3, '0');
      const joined = fields.filter((f) => f[1] === 'iso15765.fragment').map((f) => f[3]!);
      const mode = value('obd-ii.mode');
      if (mode === undefined) return [];
      // Of a single frame tshark shows the parts only: service, PID, raw bytes.
      const pid = value('obd-ii.mode01_pid') ?? value('obd-ii.mode09_pid') ?? '';
      const hex = joined.length > 0 ? joined.join('') : mode + pid + (value('obd-ii.raw_value') ?? '');
      const values = fields
        .filter((f) => f[1]!.startsWith('obd-ii.mode01_') && !/_pid$|_dtc/.test(f[1]!))
        .map((f) => Number(f[2]));
      return [{ text: `${id} ${hex.toUpperCase()}`, payload: fromHex(hex.toUpperCase())!, values }];
    });
}

const live = needs(onPath('tshark'), 'tshark');

for (const [title, bus, unit] of [
  ['11 bit', undefined, '7E8'],
  ['29 bit', { extended: true, bitrate: 250_000 }, '18DAF110'],
] as const)
  live(`tshark reads what our own stack recorded as our stack does: ${title}`, async () => {
    const { frames, messages } = await record(bus);
    const path = join(folder, `${unit}.pcap`);
    writePcap(path, frames);
    const theirs = readOutside(path).filter((m) => m.text.startsWith(`${unit} `));
    // Refusals are printed as service 3F, and code lists and bit maps without their bytes (see its own notes).
    const comparable = (text: string) => /^\S+ (41(?!(?:00|20|40|60|80|A0|C0|E0)).*|49.*)$/.test(text);
    const ours = messages.filter(comparable);
    expect(theirs.map((m) => m.text).filter(comparable)).toEqual(ours);
    expect(ours.length).toBeGreaterThan(15);
    expect(ours.filter((m) => m.length > unit.length + 15).length).toBeGreaterThanOrEqual(3); // long ones
    expect(messages.some((m) => m.includes(' 43'))).toBe(true);

    let compared = 0;
    for (const { payload, values } of theirs.filter((m) => m.payload[0] === 0x41)) {
      const pid = payload[1]!;
      const mine = decodePid(pid, payload.subarray(2)).readings.flatMap((r) =>
        typeof r.value === 'number' ? [r.value] : [],
      );
      if (values.length === 0) continue; // it knows this PID by name only
      expect(values.length, `PID ${pid.toString(16)}`).toBe(mine.length);
      values.forEach((v, i) => {
        expect(Math.abs(v - mine[i]!), `PID ${pid.toString(16)}: ${v} and ${mine[i]}`).toBeLessThanOrEqual(
          1e-4 * Math.abs(v) + 1e-9,
        );
      });
      compared += values.length;
    }
    expect(compared).toBeGreaterThan(12);
  });
