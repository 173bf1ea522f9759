/**
 * Everything that went over the bus between our stack and the simulated car of newer services, read by tshark's
 * dissector of ISO 14229: each message has the service, identifiers, sub-function, refusal and bytes that we say.
 */
import { execFileSync } from 'node:child_process';
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, expect } from 'vitest';
import { ManualClock } from '../../src/core/clock.ts';
import { toHex } from '../../src/core/hex.ts';
import { Reassembler } from '../../src/isotp/reassembler.ts';
import { identifiersOf } from '../../src/j1979/newer.ts';
import { VehicleSession } from '../../src/poll/session.ts';
import { takeSnapshot } from '../../src/poll/snapshot.ts';
import { simLinkFactory } from '../../src/sim/bench.ts';
import type { CanFrame } from '../../src/sim/ecu/bus.ts';
import { needs, onPath } from '../require.ts';
import { FakeVehicle } from '../sim/host.ts';

const folder = mkdtempSync(join(tmpdir(), 'handback-uds-'));
afterAll(() => rmSync(folder, { recursive: true, force: true }));

/** Identifies, polls for two seconds, takes a snapshot. */
async function onTheBus(extended: boolean): Promise<CanFrame[]> {
  const clock = new ManualClock();
  const vehicle = new FakeVehicle();
  vehicle.codes = [
    {
      code: 'P2262',
      ecu: 'engine',
      state: 'stored',
      permanent: true,
      freeze: { rpm: 1812, ect_c: 92, map_kpa: 171 },
    },
    { code: 'P0700', ecu: 'transmission', state: 'pending', permanent: false, freeze: null },
  ];
  const frames: CanFrame[] = [];
  const factory = simLinkFactory({
    ...{
      vehicle,
      clock,
      front: 'slcan',
      pace: 1_000_000,
      services: 'newer',
      busy: 0.05,
      pendingServices: [0x19],
    },
    bus: { extended, bitrate: 500_000 },
    onFrame: (frame) => frames.push(frame),
  });
  const session = new VehicleSession({ factory, family: 'slcan', clock, tap: () => undefined });
  await clock.until(session.start(), 50);
  await clock.advance(2000);
  await clock.until(
    takeSnapshot((p) => session.request(p), null),
    50,
  );
  await clock.until(session.stop(), 50);
  factory.close();
  return frames;
}

/** Link type 227: a SocketCAN frame header, then the data. */
function pcapOf(frames: readonly CanFrame[]): Buffer {
  const head = Buffer.alloc(24);
  head.writeUInt32LE(0xa1b2c3d4, 0);
  head.writeUInt16LE(2, 4);
  head.writeUInt16LE(4, 6);
  head.writeUInt32LE(65_535, 16);
  head.writeUInt32LE(227, 20);
  const packets = frames.map(({ id, extended, data }, i) => {
    const packet = Buffer.alloc(16 + 8 + data.length);
    packet.writeUInt32LE(1 + Math.floor(i / 1000), 0);
    packet.writeUInt32LE((i % 1000) * 1000, 4);
    packet.writeUInt32LE(8 + data.length, 8);
    packet.writeUInt32LE(8 + data.length, 12);
    packet.writeUInt32BE((id | (extended ? 0x80000000 : 0)) >>> 0, 16);
    packet[20] = data.length;
    packet.set(data, 24);
    return packet;
  });
  return Buffer.concat([head, ...packets]);
}

const FIELDS = [
  'sid',
  'reply',
  'rdbi.data_identifier',
  'rdbi.data_record',
  'rdtci.type',
  'rdtci.record',
  'err.sid',
  'err.code',
];

/** In tshark's words: one line a message. */
function outside(path: string): string[] {
  const text = execFileSync(
    'tshark',
    [
      ...[
        '-n',
        '-r',
        path,
        '-d',
        'can.subdissector,iso15765',
        '-d',
        'iso15765.subdissector,uds',
        '-Y',
        'uds',
      ],
      ...['-T', 'fields', '-E', 'separator=|', ...FIELDS.flatMap((f) => ['-e', `uds.${f}`])],
    ],
    { encoding: 'utf8', stdio: ['ignore', 'pipe', 'ignore'], env: { ...process.env, HOME: folder } },
  );
  return text.trim().replaceAll('<MISSING>', '').split('\n');
}

function messagesOf(frames: readonly CanFrame[]): Uint8Array[] {
  const joiner = new Reassembler();
  return frames.flatMap(({ id, data }) =>
    joiner.push(id.toString(16), data, 0).flatMap((e) => (e.kind === 'message' ? [e.payload] : [])),
  );
}

const hex = (n: number, digits = 2): string => `0x${n.toString(16).padStart(digits, '0')}`;
const bytes = (b: Uint8Array): string => toHex(b).toLowerCase();

/** Our reading of a message, by the module that reads it, in the fields above. */
function inItsWords(payload: Uint8Array): string {
  const [first = 0, second = 0, third = 0] = payload;
  if (first === 0x7f) return `0x3f|0x01|||||${hex(second)}|${hex(third)}`;
  const head = `${hex(first & 0xbf)}|${first & 0x40 ? '0x01' : '0x00'}`;
  if (first === 0x22)
    return `${head}|${identifiersOf(payload)
      .map((id) => hex(id, 4))
      .join()}|||||`;
  if (first === 0x62) return `${head}|${hex(second * 256 + third, 4)}|${bytes(payload.subarray(3))}||||`;
  if ((first & 0xbf) === 0x19) return `${head}|||${hex(second)}|${bytes(payload.subarray(2))}||`;
  return `${head}||||||`;
}

const live = needs(onPath('tshark'), 'tshark');

for (const extended of [false, true])
  live(`tshark reads each message of ISO 14229 as we do: ${extended ? 29 : 11} bit`, async () => {
    const frames = await onTheBus(extended);
    // One control unit at a time: tshark mixes long answers of two that come at once.
    const [engine, transmission] = extended ? [0x18daf110, 0x18daf118] : [0x7e8, 0x7e9];
    for (const [other, parts] of [
      [transmission, ENGINE_SAYS],
      [engine, ['|0x42|', '|0x15|', '0xf80a']],
    ] as const) {
      const request = extended ? 0x18da00f1 | ((other & 0xff) << 8) : other - 8;
      const heard = frames.filter(({ id }) => id !== other && id !== request >>> 0);
      const path = join(folder, `${other}.pcap`);
      writeFileSync(path, pcapOf(heard));
      const ours = messagesOf(heard).map(inItsWords);
      expect(outside(path)).toEqual(ours);
      for (const part of parts)
        expect([part, ours.some((line) => line.includes(part))]).toEqual([part, true]);
    }
  });

const ENGINE_SAYS = [
  ...['0x22|0x01|0xf40b', '0xf40b,0xf40c,0xf40d', '0xf802', '0xf804', '0xf6', '0x22|0x21', '0x19|0x78'],
  ...['|0x42|', '|0x55|', '|0x15|', '0x19|0x01|||0x04|'],
];
