/** Which earlier drives of a job are a measure for later ones. */
import { expect, it } from 'vitest';
import type { Verdict } from '../../src/analysis/types.ts';
import type { OpenedRuns, Taught } from '../../src/desk/opened-runs.ts';
import { Teaching } from '../../src/desk/teaching.ts';
import type { Job } from '../../src/job/job.ts';
import type { JobEntry } from '../../src/job/library.ts';
import type { RunEntry } from '../../src/run/library.ts';

const run = (id: string, hour: number) =>
  ({
    folder: `/library/job/${id}`,
    meta: { id, purpose: 'verification', startedAt: `2026-03-05T0${hour}:00:00.000Z`, sha256: id },
  }) as unknown as RunEntry;

/** Runs whose verdicts on the cooling are given: judged by itself, and by what teaches it. */
function judging(verdicts: Record<string, { alone: Verdict; taught: Verdict }>) {
  const opened = {
    open: async ({ meta }: RunEntry, taught: Taught | null) => {
      const { alone, taught: by } = verdicts[meta.id]!;
      const systems = { boost: { verdict: 'not shown' }, coolant: { verdict: taught ? by : alone } };
      return { judgement: { systems } };
    },
  } as unknown as OpenedRuns;
  return new Teaching('/library', opened);
}

it('does not take for a measure what shows a fault only against earlier drives of the car, whatever anybody says', async () => {
  const [first, slow, last] = [run('first', 7), run('slow', 8), run('last', 9)];
  const runs = [first, slow, last];
  const of = async (taught: Verdict, teaching: Job['teaching'] = []) => {
    const entry = { folder: '/library/job', job: { teaching } as unknown as Job, runs } as JobEntry;
    const good = { alone: 'shown good', taught: 'shown good' } as const;
    const judged = judging({ first: good, slow: { alone: 'shown good', taught }, last: good });
    const key = (await judged.ownBefore(entry, last.meta))?.key;
    return [(await judged.of(entry, slow)).coolant, key?.includes('/slow'), key?.includes('/first')];
  };
  expect(await of('shown good')).toEqual([true, true, true]);
  expect(await of('not shown')).toEqual([true, true, true]);
  expect(await of('fault shown')).toEqual([false, false, true]);
  const said = [{ runId: 'slow', boost: false, coolant: true }];
  expect(await of('not shown', said)).toEqual([true, true, true]);
  expect(await of('fault shown', said)).toEqual([false, false, true]);
});
