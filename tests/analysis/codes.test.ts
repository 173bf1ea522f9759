/** The verdict on the fault memory: silence, unfinished monitors and a fresh clearing are never good. */
import { describe, expect, it } from 'vitest';
import { codesFinding } from '../../src/analysis/codes.ts';
import { clearedRecently, sinceCleared } from '../../src/core/snapshot.ts';
import { spelled } from '../../src/words/spelled.ts';
import { snapshotOf } from '../sheet/jobs.ts';

const code = { code: 'P0234', text: 'overboost', source: 'from memory of SAE J2012' } as const;
const monitors = (...complete: boolean[]) => ({
  readiness: {
    mil: false,
    codes: 0,
    ignition: 'spark' as const,
    monitors: complete.map((c, i) => ({ name: `m${i}`, continuous: false, supported: true, complete: c })),
  },
});
const clearedAt = (warmUps: number) => ({
  sinceCleared: [{ pid: '30', signal: 'clear_warmups', value: warmUps, unit: 'count', raw: '00' }],
});

describe('the fault memory', () => {
  it('is good only with every answer, no code, lamp off, monitors complete, cleared long ago', () => {
    expect(codesFinding(snapshotOf()).verdict).toBe('shown good');
    // not every vehicle knows permanent codes
    expect(codesFinding(snapshotOf({}, ['permanent codes (0A)'])).verdict).toBe('shown good');
  });

  it.each([
    ['no snapshot', null],
    ['nobody answered', { ...snapshotOf(), units: [] }],
    ['a service was not answered', snapshotOf({}, ['pending codes (07)'])],
    ['one monitor open', snapshotOf(monitors(true, false))],
    ['several monitors open', snapshotOf(monitors(false, false, true))],
    ['a permanent code alone', snapshotOf({ permanent: [code] })],
    ['cleared less than a drive ago', snapshotOf(clearedAt(0))],
    ['no unit tells the lamp', snapshotOf({ mil: null })],
    ['no unit tells its monitors', snapshotOf({ readiness: null })],
  ])('is not shown: %s', (_, snapshot) => {
    const finding = codesFinding(snapshot);
    expect(finding.verdict).toBe('not shown');
    expect(spelled(finding).needs).toMatch(/\.$/);
  });

  it('is not shown by what was read before the drive, which may have brought a code; a code read before it is one', () => {
    expect(spelled(codesFinding(snapshotOf(), true))).toMatchObject({
      verdict: 'not shown',
      needs: 'Read the fault memory after the drive.',
    });
    expect(codesFinding(snapshotOf({ pending: [code] }), true).verdict).toBe('fault shown');
  });

  it.each([
    ['stored', { stored: [code] }],
    ['pending', { pending: [code] }],
    ['lamp', { mil: true }],
    ['stored although cleared just now', { stored: [code], ...clearedAt(0) }],
  ])('shows a fault: %s', (_, unit) => {
    expect(codesFinding(snapshotOf(unit)).verdict).toBe('fault shown');
  });

  it('takes the unit that was cleared last, and copes with snapshots that do not say', () => {
    const [unit] = snapshotOf(clearedAt(30)).units;
    const two = { ...snapshotOf(), units: [unit!, { ...unit!, ...clearedAt(0), ecu: '7E9' }] };
    expect(sinceCleared(two)).toEqual({ distanceKm: null, warmUps: 0 });
    expect(clearedRecently(two)).toBe(true);
    const silent = snapshotOf({ sinceCleared: [] });
    expect(sinceCleared(silent)).toBe(null);
    expect(clearedRecently(silent)).toBe(false);
  });
});
