/** Kinds of engine: however they are written, suggested from others alike, merged, split, and taken back. */
import { readdirSync } from 'node:fs';
import { writeFile } from 'node:fs/promises';
import { hostname } from 'node:os';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { type Job, newJob } from '../../src/job/job.ts';
import {
  calibrationsOf,
  descriptorOf,
  edited,
  type Kinds,
  kindIn,
  kindOf,
  suggestKind,
} from '../../src/job/kinds.ts';
import { changeKinds, readKinds } from '../../src/job/kinds-file.ts';
import { scratch } from '../run/files.ts';
import { snapshotOf } from '../sheet/jobs.ts';

let n = 0;
const job = (fields: Partial<Job>): Job => ({ ...newJob(`j${n++}`, '2026-03-03T08:00:00.000Z'), ...fields });
const TURBO = { induction: 'turbocharger', fuel: 'diesel' } as const;
const stated = (engine: string, fields: Partial<Job> = {}): Job =>
  job({ engine, displacementCc: 1968, profile: TURBO, ...fields });
const NONE: Kinds = { edits: [], undone: [] };

describe('a kind', () => {
  it('is the same however it is written, and another with another figure', () => {
    const one = kindOf(stated('MW 20-B'));
    expect(one).toBe('mw20b/1968/turbocharger/diesel');
    for (const same of ['mw20b', ' MW20.B ', 'Mw 20 b']) expect(kindOf(stated(same))).toBe(one);
    expect(kindOf(stated('MW 20-B', { displacementCc: 1600 }))).not.toBe(one);
    expect(kindOf(stated('MW 20-B', { profile: {} }))).not.toBe(one);
    expect(kindOf(stated(''))).toBe('');
  });

  it('of a VIN keeps positions 1 to 8 and 10, and nothing of what is no VIN', () => {
    expect(descriptorOf('00hb trnw 1 8 T000017')).toBe('00HBTRNW-8');
    for (const none of ['', '00HBTRNW18T00001', '00HBTRNW18T0000178', '00HBTRNWO8T000017'])
      expect(descriptorOf(none)).toBeNull();
  });
});

describe('a suggestion', () => {
  const vin = (end: string, year = '8') => `00HBTRNW1${year}T${end}`;
  it('comes from vehicles whose VIN begins alike, of several the most frequent, of a tie none', () => {
    const own = job({ vin: vin('000099') });
    const a = [stated('MW 20', { vin: vin('000001') }), stated('mw20', { vin: vin('000002') })];
    const b = stated('MW 21', { vin: vin('000003') });
    expect(suggestKind([b, ...a], own)).toEqual({
      engine: 'MW 20',
      displacementCc: 1968,
      profile: TURBO,
      by: 'descriptor',
      jobs: 2,
    });
    expect(suggestKind([a[0]!, b], own)).toBeNull();
    expect(suggestKind([stated('MW 20', { vin: vin('000001', '9') })], own)).toBeNull();
    expect(suggestKind([stated('', { vin: vin('000001') })], own)).toBeNull();
    expect(suggestKind([{ ...a[0]!, id: own.id }], own)).toBeNull();
  });

  it('or from the same calibration', () => {
    const own = job({ calibrations: ['CAL-7'] });
    expect(suggestKind([stated('MW 20', { calibrations: ['CAL-6', 'CAL-7'] })], own)).toMatchObject({
      by: 'calibration',
      engine: 'MW 20',
    });
    expect(suggestKind([stated('MW 20', { calibrations: ['CAL-6'] })], own)).toBeNull();
  });

  it('the ids are those of service 09, of every control unit once', () => {
    const unit = snapshotOf().units[0]!;
    const info = (pid: string, value: string) => ({ pid, signal: null, value, unit: null, raw: '' });
    const units = [
      { ...unit, information: [info('02', '00HB'), info('04', ' CAL-7 '), info('04', 'CAL-8')] },
      { ...unit, information: [info('04', 'CAL-7')] },
    ];
    expect(calibrationsOf({ ...snapshotOf(), units })).toEqual(['CAL-7', 'CAL-8']);
  });
});

describe('merging and splitting', () => {
  const old = stated('MW 20', { vin: '00HBTRNW18T000001' });
  const late = stated('MW 20', { vin: '00HBTRNW19T000002' });
  const other = stated('MW 20 evo');
  const [from, into] = [kindOf(other), kindOf(old)];
  const merge = edited(NONE, { is: 'merge', from, into })!;
  const split = edited(merge, { is: 'split', from: into, descriptor: '00HBTRNW-9', into: 'mw20late' })!;

  it('each sees what those before it made, and can be taken back and made again', () => {
    expect(kindIn(merge, other)).toBe(into);
    expect([old, late, other].map((j) => kindIn(split, j))).toEqual([into, 'mw20late', into]);
    const back = edited(split, 'undo')!;
    expect(back).toEqual({ ...merge, undone: split.edits.slice(1) });
    expect(edited(back, 'redo')).toEqual(split);
    expect(edited(edited(back, 'undo')!, 'undo')).toBeNull();
    expect(edited(split, 'redo')).toBeNull();
    // what is edited after taking back replaces what could be made again
    expect(edited(back, { is: 'merge', from: 'a', into: 'b' })!.undone).toEqual([]);
    const unlike = {
      is: 'merge',
      from: 'a/1798/turbocharger/diesel',
      into: 'b/1798/turbocharger/petrol',
    } as const;
    expect(() => edited(back, unlike)).toThrow('not one kind');
    expect(edited(back, { ...unlike, into: 'b//turbocharger/' })).not.toBeNull();
  });

  it('of several at once are all kept, one that fails leaves the others alone, and a lock of one who died is no lock', async () => {
    const folder = scratch();
    const one = (k: number) =>
      changeKinds(folder, async (kinds) => {
        await Promise.resolve();
        if (k === 3) throw new Error('no such kind');
        return edited(kinds, { is: 'merge', from: `a${k}`, into: 'b' });
      });
    const done = await Promise.allSettled(Array.from({ length: 8 }, (_, k) => one(k)));
    expect(done.map((d) => d.status)).toEqual(done.map((_, k) => (k === 3 ? 'rejected' : 'fulfilled')));
    const kept = (await readKinds(folder)).edits.map((e) => e.from).sort();
    expect(kept).toEqual(['a0', 'a1', 'a2', 'a4', 'a5', 'a6', 'a7']);
    await writeFile(
      join(folder, 'kinds.lock'),
      JSON.stringify({ pid: process.pid, host: hostname(), atMs: 0 }),
    );
    await one(9);
    expect((await readKinds(folder)).edits).toHaveLength(8);
    expect(readdirSync(folder)).toEqual(['kinds.json']);
  });

  it('are kept with the library, and a damaged file is said', async () => {
    const folder = scratch();
    expect(await readKinds(folder)).toEqual(NONE);
    await changeKinds(folder, () => split);
    expect(await readKinds(folder)).toMatchObject(split);
    await writeFile(join(folder, 'kinds.json'), '{"format":"handback.kinds/2"}');
    await expect(readKinds(folder)).rejects.toMatchObject({ code: 'input.version' });
  });
});
