/** Kinds of engine as the page has them: merged, split, taken back; and the pool asked for the car of a job. */
import { mkdirSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it, vi } from 'vitest';
import { ManualClock } from '../../src/core/clock.ts';
import { KindDesk } from '../../src/desk/kinds.ts';
import type { ReadingRoom } from '../../src/desk/reading-room.ts';
import { StoredRuns } from '../../src/desk/stored-runs.ts';
import { createJob } from '../../src/job/library.ts';
import { hasEngine } from '../../src/pool/engine.ts';
import { Pool } from '../../src/pool/pool.ts';
import { SECRET_FILE, secretIn } from '../../src/pool/secret.ts';
import { KINDS, syntheticCase } from '../pool/synthetic.ts';
import { needs } from '../require.ts';
import { scratch } from '../run/files.ts';

const TWIN = { induction: 'twin-charged', fuel: 'petrol' } as const;
const VIN = '00HBTRNWH8T000001';
const engine = needs(hasEngine(), '@duckdb/node-api');

async function made() {
  const library = join(scratch(), 'library');
  const settings = join(scratch(), 'handback');
  for (const folder of [library, settings]) mkdirSync(folder, { recursive: true });
  const clock = new ManualClock(0, Date.UTC(2026, 2, 3, 8));
  for (const [engine, vin] of [
    ['MW 18', VIN],
    ['MW 18', '00HBTRNWJ9T000002'],
    ['MW-18 late', '00HBTRNWH8T000003'],
    ['', ''],
  ] as const)
    await createJob(library, { engine, displacementCc: 1798, profile: TWIN, vin }, clock);
  const stored = new StoredRuns(library, false);
  const room = {
    ask: (
      _what: 'askPool',
      args: Parameters<StoredRuns['askPool']> extends [unknown, ...infer R] ? R : never,
    ) => stored.askPool({ signal: new AbortController().signal, progress: () => undefined }, ...args),
  } as unknown as ReadingRoom;
  return { library, settings, desk: new KindDesk(library, room, settings) };
}

describe('kinds on the page', () => {
  const [kind, late] = ['mw18/1798/twin-charged/petrol', 'mw18late/1798/twin-charged/petrol'];

  it('are merged, split by the VIN’s descriptor, taken back and made again; what is not there is refused', async () => {
    const { desk } = await made();
    const shown = async () => (await desk.view()).kinds.map((k) => [k.kind, k.jobs]);
    const first = await desk.view();
    expect(first).toMatchObject({ without: 1, canUndo: false, canRedo: false, pool: null });
    expect(first.kinds.map((k) => k.mayBe)).toEqual([[late], [kind]]);
    expect(first.kinds[0]!.descriptors).toEqual([
      ['00HBTRNW-8', 1],
      ['00HBTRNW-9', 1],
    ]);
    expect((await desk.change({ is: 'merge', from: late, into: kind })).kinds).toMatchObject([
      { kind, jobs: 3 },
    ]);
    await desk.change({ is: 'split', from: kind, descriptor: '00HBTRNW-9', engine: 'MW 18 B' });
    const apart = [
      [kind, 2],
      ['mw18b/1798/twin-charged/petrol', 1],
    ];
    expect(await shown()).toEqual(apart);
    await desk.change({ is: 'undo' });
    expect(await shown()).toEqual([[kind, 3]]);
    expect(await desk.change({ is: 'redo' })).toMatchObject({ canUndo: true, canRedo: false });
    expect(await shown()).toEqual(apart);
    await expect(desk.change({ is: 'merge', from: 'x', into: kind })).rejects.toMatchObject({
      code: 'input.usage',
    });
    expect(await shown()).toEqual(apart);
  });

  it('says that there is no pool, and none where its folder went', async () => {
    const { desk, settings } = await made();
    const asked = { question: 'repairs', kind: '', job: '' } as const;
    await expect(desk.ask(asked)).rejects.toMatchObject({ code: 'input.usage' });
    writeFileSync(join(settings, 'settings.json'), JSON.stringify({ pool: join(settings, 'gone') }));
    expect((await desk.view()).pool).toBeNull();
    await expect(desk.ask(asked)).rejects.toThrow();
  });

  engine('asks the pool, of a car by its job, and tells no name of a car', async () => {
    const { desk, settings } = await made();
    vi.stubEnv('XDG_CONFIG_HOME', join(settings, '..'));
    const secret = await secretIn(join(settings, SECRET_FILE));
    const folder = join(settings, 'pool');
    const pool = await Pool.begin(folder, secret);
    const [from, to] = [secret.name('car', 'vin 0'), secret.name('car', `vin ${VIN}`)];
    for (let i = 0; i < 12; i++)
      await pool.add(`p0${i % 3}`, [renamed(syntheticCase(secret, i).case, from, to)], secret);
    writeFileSync(join(settings, 'settings.json'), JSON.stringify({ pool: folder }));
    const view = await desk.view();
    expect(view).toMatchObject({ pool: folder, engine: true });
    expect(view.cars).toHaveLength(3);
    const boost = await desk.ask({ question: 'healthy-boost', kind: KINDS[0]!, job: '' });
    expect(boost.rows.length).toBeGreaterThan(3);
    expect(new Set(boost.rows.map((r) => r[0]))).toEqual(new Set([KINDS[0]]));
    const mine = [];
    for (const { job } of view.cars) mine.push(await desk.ask({ question: 'car', kind: '', job }));
    const told = mine.filter((a) => a.rows.length > 0);
    expect(told).toHaveLength(1);
    expect(JSON.stringify([view, boost, ...mine])).not.toContain(to);
    await expect(desk.ask({ question: 'car', kind: '', job: 'none' })).rejects.toMatchObject({
      code: 'input.usage',
    });
    vi.unstubAllEnvs();
  });
});

/** The same with another name of the car, whatever holds it. */
function renamed<T>(x: T, from: string, to: string): T {
  if (x === from) return to as T;
  if (Array.isArray(x)) return x.map((y) => renamed(y, from, to)) as T;
  if (x === null || typeof x !== 'object' || Object.getPrototypeOf(x) !== Object.prototype) return x;
  return Object.fromEntries(Object.entries(x).map(([k, v]) => [k, renamed(v, from, to)])) as T;
}
