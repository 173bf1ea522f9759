/** Handing a car over: what speaks against it is asked about, kept, listed and printed; nothing is asked without cause. */
import { basename, join } from 'node:path';
import { afterAll, describe, expect, it } from 'vitest';
import { ManualClock } from '../../src/core/clock.ts';
import { Daemon } from '../../src/desk/daemon.ts';
import { handOverNow } from '../../src/desk/hand-over.ts';
import { readJob, writeJob } from '../../src/job/files.ts';
import { newJob } from '../../src/job/job.ts';
import { renderSheet } from '../../src/sheet/render.ts';
import { scratch } from '../run/files.ts';
import { gathered, jobIn, OPTIONS, snapshotOf } from '../sheet/jobs.ts';

const library = join(scratch(), 'library');
const daemon = new Daemon({ clock: new ManualClock(0, Date.UTC(2026, 2, 5, 9)), library });
afterAll(() => daemon.close());
const { jobs } = daemon;

const reasonless = (id: string) => jobs.handOver(id, '').then(() => null, String);

describe('a car that is handed over', () => {
  it('with a fault and codes unread asks for a reason, keeps it, lists it and prints it', async () => {
    const folder = await jobIn(library, {
      drives: [{ purpose: 'verification', fault: 'no-circulation' }],
      observations: [
        {
          id: 'o-1',
          at: '2026-03-05T08:00:00.000Z',
          runId: null,
          tS: null,
          kind: 'complaint',
          answer: 'still there',
          text: '',
        },
      ],
    });
    const id = basename(folder);
    expect(await jobs.handOverNow(id)).toEqual({
      whole: 'fault',
      doubts: ['fault-coolant', 'coolant-alarm', 'codes-not-read', 'complaint'],
    });
    expect(await reasonless(id)).toContain(
      'write why, although the drive shows a fault in the cooling, a coolant alarm was spoken during the drive',
    );
    expect((await jobs.open(id)).job.closedAt).toBeNull();
    expect(await gathered(folder).then((s) => renderSheet(s, OPTIONS))).not.toContain('Handed over although');

    const { job, stands } = await jobs.handOver(id, 'Towed home <b>by</b> its owner');
    expect(job.closedAt).not.toBeNull();
    expect(stands).toBe('Handed over with a fault shown. Reason: Towed home <b>by</b> its owner');
    expect((await jobs.list('')).jobs[0]).toMatchObject({
      stands,
      says: { stands: { args: { parts: [{ id: 'visit.handed-as', args: { whole: 'fault' } }, {}] } } },
    });
    const sheet = renderSheet(await gathered(folder), OPTIONS);
    expect(sheet).toContain('Handed over although');
    expect(sheet).toContain('a complaint is still there. The workshop’s reason: <bdi>Towed home &lt;b&gt;by');
    expect(renderSheet(await gathered(folder), { ...OPTIONS, language: 'de' })).toContain(
      'während der Fahrt wurde Kühlmittelalarm gegeben',
    );
    const again = await jobs.openAgain(id);
    expect([again.job.closedAt, again.job.handOver]).toEqual([null, null]);
  });

  it('without a drive after the work asks too; with a good drive and codes read it asks nothing', async () => {
    const bare = basename(await jobIn(library, { drives: [{ purpose: 'baseline', seconds: 40 }] }));
    expect((await jobs.handOverNow(bare)).doubts).toEqual(['no-drive', 'codes-not-read']);
    const good = await jobIn(library, {
      drives: [{ purpose: 'verification' }],
      snapshots: [{ when: 'after', snapshot: snapshotOf({}) }],
    });
    expect((await jobs.handOverNow(basename(good))).doubts).toEqual([]);
    const { job } = await jobs.handOver(basename(good), '');
    expect([job.handOver?.doubts, job.handOver?.reason]).toEqual([[], '']);
    expect(renderSheet(await gathered(good), OPTIONS)).not.toContain('Handed over although');
  });

  it('with codes that were read before its last drive ended counts as unread, on the sheet too', async () => {
    const folder = await jobIn(library, {
      drives: [{ purpose: 'verification' }],
      snapshots: [{ when: 'after', snapshot: snapshotOf({}) }],
    });
    const read = async (ms: number) => {
      const job = await readJob(folder);
      const { startedAt, seconds } = (await gathered(folder)).runs[0]!.meta!;
      const at = new Date(Date.parse(startedAt) + seconds! * 1000 + ms).toISOString();
      await writeJob(folder, { ...job, snapshots: [{ ...job.snapshots[0]!, at }] });
      const { codes } = await gathered(folder);
      return [codes.finding.verdict, (await jobs.handOverNow(basename(folder))).doubts];
    };
    expect(await read(1)).toEqual(['shown good', []]);
    expect(await read(-1)).toEqual(['not shown', ['codes-not-read']]);
  });

  it('with a cooling code is told so on the drive that is proved by, whatever was driven after it', async () => {
    const after = snapshotOf({ pending: [{ code: 'P0217', text: '', source: null }] });
    const folder = await jobIn(library, {
      drives: [{ purpose: 'verification' }, { purpose: 'other', seconds: 60 }],
      snapshots: [{ when: 'after', snapshot: after }],
    });
    const { runs } = await gathered(folder);
    expect(runs.map((r) => r.judgement.systems.coolant.verdict)).toEqual(['fault shown', 'not shown']);
    expect(await jobs.handOverNow(basename(folder))).toMatchObject({
      doubts: ['fault-coolant', 'fault-codes'],
    });
  });

  it('with a fan that did not come is one with a fault in the cooling', () => {
    const job = newJob('j', '2026-03-05T08:00:00.000Z');
    const codes = { read: [], before: null, after: null, finding: { needs: null } as never };
    const fan = (verdict: 'fault shown' | 'not shown') => {
      const good = { verdict: 'shown good', saidAtS: null, needs: null } as const;
      const judgement = {
        findings: [{ id: 'coolant.fan', system: 'fan', verdict }],
        systems: { boost: good, coolant: good },
        spoken: [],
      };
      return handOverNow(job, judgement as never, codes);
    };
    expect(fan('fault shown')).toEqual({ whole: 'fault', doubts: ['fault-coolant'] });
    expect(fan('not shown').doubts).toEqual([]);
  });

  it('goes by the last word on each complaint', () => {
    const said = (kind: 'complaint' | 'noise gone', answer: 'gone' | 'still there' | 'no', text = '') => ({
      id: `o-${kind}-${answer}-${text}`.replaceAll(' ', '-'),
      at: '2026-03-05T08:00:00.000Z',
      runId: null,
      tS: null,
      kind,
      answer,
      text,
    });
    const doubts = (...observations: ReturnType<typeof said>[]) => {
      const job = { ...newJob('j', '2026-03-05T08:00:00.000Z'), observations };
      const codes = { read: [], before: null, after: null, finding: { needs: null } as never };
      return handOverNow(job, null, codes).doubts;
    };
    expect(doubts(said('complaint', 'still there', 'a'), said('complaint', 'gone', 'b'))).toContain(
      'complaint',
    );
    expect(doubts(said('complaint', 'still there', 'a'), said('complaint', 'gone', 'a'))).toEqual([
      'no-drive',
    ]);
    expect(doubts(said('noise gone', 'no'))).toContain('complaint');
  });

  it('and comes back says so, with the words of then and how the visit before ended', async () => {
    const folder = await jobIn(library, {
      drives: [{ purpose: 'verification', seconds: 60 }],
      snapshots: [{ when: 'after', snapshot: snapshotOf({}) }],
    });
    const id = basename(folder);
    await jobs.handOver(id, 'Customer insists');
    expect(renderSheet(await gathered(folder), OPTIONS)).not.toContain('The car came back');
    await jobs.change(id, { comeBack: { complaint: 'Howls <again>' } }, { comeBack: {} });
    const { stands, job } = await jobs.change(
      id,
      { comeBack: { odometerKm: 149_000 } },
      { comeBack: { odometerKm: null } },
    );
    expect(stands).toBe('Came back: not driven again yet.');
    expect(job.comeBack).toEqual({ complaint: 'Howls <again>' });
    await jobs.change(id, { comeBack: { odometerKm: 149_000 } }, { comeBack: {} });
    const sheet = renderSheet(await gathered(folder), OPTIONS);
    for (const text of [
      'The car came back',
      'Howls &lt;again&gt;',
      '149,000\u00a0km',
      'The visit before had ended',
    ])
      expect(sheet).toContain(text);
  });

  it('in a job written before reasons were asked for stays readable, and is listed as handed over', async () => {
    const folder = await jobIn(library, { drives: [] });
    const { handOver: _none, ...old } = { ...(await readJob(folder)), closedAt: '2026-03-05T08:00:00.000Z' };
    await writeJob(folder, old as never);
    expect((await jobs.open(basename(folder))).stands).toBe('Handed over.');
  });
});
