/** python3-can, which nobody here wrote: as host of the simulated adapter, and as the adapter of our driver. */
import { type ChildProcess, spawn, spawnSync } from 'node:child_process';
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, expect } from 'vitest';
import { interpret } from '../../src/adapter/interpret.ts';
import { systemClock } from '../../src/core/clock.ts';
import type { Sample } from '../../src/core/signals.ts';
import { serialLinkFactory } from '../../src/link/serial.ts';
import { VehicleSession } from '../../src/poll/session.ts';
import { servePty } from '../../src/sim/bench.ts';
import { needs, onPath } from '../require.ts';
import { fasterClock } from '../sim/faster-clock.ts';
import { FakeVehicle } from '../sim/host.ts';

/** The system's own Python: that is the one for which Debian has the package. */
const PYTHON = '/usr/bin/python3';
const hasPythonCan = spawnSync(PYTHON, ['-c', 'import can, serial']).status === 0;
const folder = mkdtempSync(join(tmpdir(), 'handback-can-'));
const children: ChildProcess[] = [];
afterAll(() => {
  for (const child of children) child.kill('SIGKILL');
  rmSync(folder, { recursive: true, force: true });
});

function start(program: string, args: readonly string[]) {
  const child = spawn(program, args, { stdio: ['ignore', 'pipe', 'pipe'] });
  children.push(child);
  let out = '';
  let err = '';
  child.stdout.on('data', (b) => (out += b));
  child.stderr.on('data', (b) => (err += b));
  return { child, out: () => out, err: () => err };
}

const live = needs(hasPythonCan, 'python3-can and python3-serial');

for (const [title, bus, width] of [
  ['11 bit, 500 kbit/s', { extended: false, bitrate: 500_000 }, 11],
  ['29 bit, 250 kbit/s', { extended: true, bitrate: 250_000 }, 29],
] as const)
  live(`as a foreign host it hears the simulated adapter as our own parser does: ${title}`, async () => {
    const vehicle = new FakeVehicle();
    const served = await servePty({ vehicle, clock: systemClock, front: 'slcan', pace: 1_000_000, bus });
    try {
      const script = join(import.meta.dirname, 'host.py');
      const host = start(PYTHON, [script, served.port, String(bus.bitrate), String(width)]);
      await expect.poll(() => host.out().includes('"done"') || host.err()).toBe(true);
      const heard = host
        .out()
        .trim()
        .split('\n')
        .map((line) => JSON.parse(line));
      // The frames that it heard, handed to our own reader as lines of the dialect.
      const lines = heard
        .filter((f) => f.id)
        .map((f) => `${width === 11 ? 't' : 'T'}${f.id.padStart(width === 11 ? 3 : 8, '0')}8${f.data}\r`);
      const read = (payload: number[]) =>
        interpret(
          { family: 'slcan', bus: width === 11 ? 'can11' : 'can29' },
          { payload: Uint8Array.from(payload), ecu: null },
          [{ tUs: 0, bytes: Uint8Array.from(lines.join(''), (c) => c.charCodeAt(0)) }],
        ).messages;
      const engine = width === 11 ? '7E8' : '18DAF110';
      const [vin] = read([0x09, 0x02]).filter((m) => m.ecu === engine);
      expect(String.fromCharCode(...vin!.payload.subarray(3))).toBe(vehicle.vin);
      const [rpm] = read([0x01, 0x0c]).filter((m) => m.ecu === engine);
      expect(rpm!.payload).toEqual(Uint8Array.of(0x41, 0x0c, (1750 * 4) >> 8, (1750 * 4) & 0xff));
      expect(read([0x01, 0x00]).length).toBeGreaterThan(0);
      expect(heard.at(-1).version).toEqual([2, 7]); // as the adapter says: V0207
    } finally {
      await served.close();
    }
  });

const withSocat = needs(hasPythonCan && onPath('socat'), 'python3-can, python3-serial and socat');

withSocat(
  'as a foreign adapter that never says a word of its own it is found, identified and polled',
  async () => {
    const [near, far] = [join(folder, 'near'), join(folder, 'far')];
    const wire = start('socat', [`pty,raw,echo=0,link=${near}`, `pty,raw,echo=0,link=${far}`]);
    await expect.poll(() => spawnSync('test', ['-e', near, '-a', '-e', far]).status).toBe(0);
    const peer = start(PYTHON, [join(import.meta.dirname, 'unit.py'), far]);
    await expect.poll(() => peer.out().includes('ready') || peer.err()).toBe(true);

    const samples: Sample[] = [];
    // One line speed: the search for others is not what this is about.
    const factory = { ...serialLinkFactory(near, { clock: systemClock }), baudRates: [115_200] };
    let session: VehicleSession | null = null;
    // A blind search waits a quarter of a second for an answer: for a peer on a busy machine, of a slower clock. What
    // comes later is taken for an answer at the next bit rate, for the peer knows none.
    const bus = 'CAN 11 bit, 500 kbit/s';
    for (let pace = 1; session === null; pace /= 2) {
      const clock = fasterClock(systemClock, pace);
      const s = new VehicleSession({ factory, family: 'slcan', clock, tap: () => undefined });
      s.samples$.subscribe((x) => samples.push(x));
      session = await s.start().then(
        () => (s.state.adapter?.bus === bus ? s : s.stop().then(() => null)),
        () => null,
      );
    }
    expect(session?.state).toMatchObject({
      phase: 'connected',
      adapter: { identity: 'no name', bus },
      vehicle: { vin: 'TESTPEER000000001', controlUnits: ['7E8'] },
    });
    await expect.poll(() => samples.length).toBeGreaterThan(30);
    await session!.stop();
    wire.child.kill();
    const values = (signal: string) =>
      new Set(samples.filter((s) => s.signal === signal).map((s) => s.value));
    expect(values('rpm')).toEqual(new Set([1726]));
    expect(values('speed_kmh')).toEqual(new Set([50]));
    expect(values('ect_c')).toEqual(new Set([83]));
  },
);
