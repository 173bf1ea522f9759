/** Saves by several people at once: each keeps what the others wrote, and is told where both wrote into one field. */
import { describe, expect, it } from 'vitest';
import { type JobFields, newJob } from '../../src/job/job.ts';
import { mergeFields } from '../../src/job/merge.ts';

const fanOnC = { value: 96, source: 'entered' as const };
const thermostatC = { value: 88, source: 'handbook' as const };
const job = {
  ...newJob('job', '2026-03-05T09:00:00.000Z'),
  complaint: 'as it is',
  replaced: ['Pump'],
  profile: { fanOnC },
};

const merged = (fields: JobFields, was?: JobFields) => {
  const { job: next, conflicts } = mergeFields(job, fields, was);
  return { next, conflicts };
};

describe('fields of a job', () => {
  it('are set where they still are as they were seen, or were not looked at', () => {
    for (const was of [undefined, {}, { complaint: 'as it is' }]) {
      const { next, conflicts } = merged({ complaint: 'new' }, was);
      expect([next.complaint, next.replaced, conflicts]).toEqual(['new', ['Pump'], []]);
    }
  });

  it('stay where somebody else changed them, and are named; what says the same is no conflict', () => {
    const { next, conflicts } = merged(
      { complaint: 'new', replaced: ['Belt'], plate: 'A 1' },
      { complaint: 'as it was', replaced: [], plate: '' },
    );
    expect([next.complaint, next.replaced, next.plate]).toEqual(['as it is', ['Pump'], 'A 1']);
    expect(conflicts).toEqual(['complaint', 'replaced']);
    expect(merged({ replaced: ['Pump'] }, { replaced: [] }).conflicts).toEqual([]);
  });

  it('of keys are merged key by key: others stay, a key may be taken away, a changed one is left alone', () => {
    expect(merged({ profile: { thermostatC } }, { profile: {} }).next.profile).toEqual({
      fanOnC,
      thermostatC,
    });
    expect(merged({ profile: {} }, { profile: { fanOnC } }).next.profile).toEqual({});
    const other = { ...fanOnC, value: 90 };
    const lost = merged({ profile: { fanOnC: { ...fanOnC, value: 99 } } }, { profile: { fanOnC: other } });
    expect([lost.next.profile, lost.conflicts]).toEqual([{ fanOnC }, ['profile.fanOnC']]);
    const gone = merged({ profile: {} }, { profile: { fanOnC: other } });
    expect([gone.next.profile, gone.conflicts]).toEqual([{ fanOnC }, ['profile.fanOnC']]);
    expect(merged({ profile: { thermostatC } }).next.profile).toEqual({ thermostatC });
    const sheet = merged(
      { sheet: { ...job.sheet, hideVin: true } },
      { sheet: { ...job.sheet, language: 'de' } },
    );
    expect([sheet.next.sheet.hideVin, sheet.next.sheet.language, sheet.conflicts]).toEqual([true, 'en', []]);
  });
});
