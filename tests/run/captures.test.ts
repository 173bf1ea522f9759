/** Runs recorded by an earlier version: they are evidence, so they must stay readable and say the same. */
import { join, resolve } from 'node:path';
import { describe, expect, it } from 'vitest';
import { judgeTable } from '../../src/analysis/judge.ts';
import { check } from '../../src/run/check.ts';
import { openRecording } from '../../src/run/recording.ts';
import { english } from '../../src/words/spelled.ts';

const run = join(resolve(import.meta.dirname, '../../captures'), 'clutch-never-closes');

describe('a run kept from an earlier version', () => {
  it('is whole, and gives every sample', async () => {
    expect(await check(run)).toMatchObject({
      ok: true,
      items: [{ hash: 'matches', closed: true, tornTail: false }],
    });
    const recording = await openRecording(run);
    expect(recording.warnings).toEqual([]);
    expect(recording.table.length).toBe(6433); // as counted live when it was recorded
    expect(recording.profile).toEqual({ induction: 'twin-charged', fuel: 'petrol' });
  });

  it('still shows what was wrong with the car', async () => {
    const { table, profile } = await openRecording(run);
    const j = judgeTable(table, profile ?? {}, null, run);
    expect(j.systems.boost.verdict).toBe('fault shown');
    const band = j.findings.find((f) => f.id === 'boost.clutch-band');
    expect(english.say(band!.pointsTo!)).toMatch(/clutch does not close/);
    expect(j.systems.coolant.verdict).toBe('not shown');
  });
});
