/** Clearing codes: the snapshot is on disk before anything is sent, and nothing is sent without every condition. */
import { spawnSync } from 'node:child_process';
import { mkdtempSync, readdirSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { clearCodes } from '../../src/cli/clear-codes.ts';
import { wordsOf } from '../../src/cli/io.ts';
import { ManualClock } from '../../src/core/clock.ts';
import { toHex } from '../../src/core/hex.ts';
import { VehicleSession } from '../../src/poll/session.ts';
import { type SimulationOptions, simLinkFactory } from '../../src/sim/bench.ts';
import { FakeVehicle } from '../sim/host.ts';
import { argv, ROOT } from './program.ts';

const words = wordsOf();
let library = '';
beforeEach(() => {
  library = mkdtempSync(join(tmpdir(), 'handback-clear-'));
});
afterEach(() => rmSync(library, { recursive: true, force: true }));

const saved = () => {
  try {
    return readdirSync(join(library, 'snapshots'));
  } catch {
    return [];
  }
};

async function attempt(
  prepare: (vehicle: FakeVehicle) => void,
  typed: string,
  options: Partial<SimulationOptions> = {},
  into = library,
) {
  const clock = new ManualClock();
  const vehicle = new FakeVehicle();
  vehicle.codes = [{ code: 'P0299', ecu: 'engine', state: 'stored', permanent: false, freeze: null }];
  vehicle.engineRuns = false;
  vehicle.values.rpm = 0;
  vehicle.values.speed_kmh = 0;
  prepare(vehicle);
  const requests: string[] = [];
  const onAnswer = (a: { request: Uint8Array }) => requests.push(toHex(a.request));
  const factory = simLinkFactory({ vehicle, clock, onAnswer, ...options });
  const session = new VehicleSession({ factory, family: 'auto', clock, tap: () => undefined, wanted: [] });
  // The disk answers in real time, the vehicle in its own: both get their turn.
  const settle = <T>(promise: Promise<T>): Promise<T> => clock.until(promise, 50);
  await settle(session.start());
  const said: string[] = [];
  let savedWhenAsked = 0;
  const end = await settle(
    clearCodes(session, {
      library: into,
      clock,
      tell: (line) => said.push(words.say(line)),
      show: (snapshot) => said.push(...snapshot.units.flatMap((u) => u.stored.map((c) => c.code))),
      ask: async () => {
        savedWhenAsked = saved().length;
        return typed;
      },
    }).then(
      (files) => ({ files, error: null }),
      (error) => ({ files: null, error }),
    ),
  );
  await settle(session.stop());
  factory.close();
  return { ...end, vehicle, said, savedWhenAsked, cleared: requests.includes('04') };
}

describe('clear-codes', () => {
  it.each<[string, Partial<SimulationOptions>]>([
    ['text adapter', {}],
    ['serial-line CAN', { front: 'slcan', pace: 1_000_000 }],
    ['pending first', { pendingServices: [4] }],
    ['K-line', { kline: 'kwp-fast' }],
  ])('saves, reads standstill, asks, clears, and saves what is left: %s', async (_, options) => {
    const a = await attempt(() => undefined, ' Clear Codes ', options);
    expect(a.error).toBeNull();
    expect(a.savedWhenAsked).toBe(1);
    expect(a.vehicle.cleared).toBeGreaterThan(0);
    const [after, before] = saved()
      .sort()
      .map((name) => JSON.parse(readFileSync(join(library, 'snapshots', name), 'utf8')))
      .sort((x, y) => x.units[0].stored.length - y.units[0].stored.length);
    expect(before).toMatchObject({
      schema: 'handback.codes/1',
      units: [{ stored: [{ code: 'P0299' }] }, {}],
    });
    expect(after.units[0].stored).toEqual([]);
    expect(a.said.join('\n')).toMatch(/P0299[\s\S]*before-clearing[\s\S]*0\srpm[\s\S]*cleared/);
  });

  it.each<[string, (v: FakeVehicle) => void, string, RegExp]>([
    ['the engine turns', (v) => (v.values.rpm = 820), 'clear codes', /820\.00\srpm/],
    ['it rolls', (v) => (v.values.speed_kmh = 3), 'clear codes', /3\skm/],
    ['its speed is not told', (v) => delete v.values.rpm, 'clear codes', /could not be read/],
    ['something else was typed', () => undefined, 'yes', /was typed/],
    ['nobody is there', () => undefined, '', /was typed/],
  ])('sends nothing when %s', async (_, prepare, typed, why) => {
    const a = await attempt(prepare, typed);
    expect(a.error).toMatchObject({ code: 'gate.refused', message: expect.stringMatching(why) });
    expect(a.cleared).toBe(false);
    expect(saved()).toHaveLength(1);
  });

  it('says that a control unit refused, and keeps both snapshots', async () => {
    // Its engine is off by what it tells, and it refuses all the same.
    const a = await attempt((v) => (v.engineRuns = true), 'clear codes');
    expect(a.error).toMatchObject({ code: 'gate.refused', message: expect.stringMatching(/conditions not/) });
    expect(saved()).toHaveLength(2);
  });

  it('sends nothing when the snapshot cannot be saved', async () => {
    const a = await attempt(() => undefined, 'clear codes', {}, join(import.meta.filename, 'no-folder'));
    expect(a.error).toMatchObject({ code: 'library.path' });
    expect(a.cleared).toBe(false);
  });

  it('refuses --json with status 2, before it looks for an adapter', () => {
    const args = argv('clear-codes', '--json', '--link', 'sim');
    const r = spawnSync(process.execPath, args, { cwd: ROOT, encoding: 'utf8' });
    expect(r.status).toBe(2);
    expect(r.stdout).toBe('');
    expect(r.stderr).toMatch(/keyboard/);
  });
});
