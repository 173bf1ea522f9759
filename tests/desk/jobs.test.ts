/** A job through the whole thread: practice drives in, what they teach, and the same judgement live and afterwards. */

import { readdirSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { ManualClock } from '../../src/core/clock.ts';
import { Daemon } from '../../src/desk/daemon.ts';
import { makePracticeJobs, PRACTICE_JOBS } from '../../src/desk/practice.ts';
import { english } from '../../src/words/spelled.ts';
import type { Spoken } from '../../src/words/views.ts';
import { scratch } from '../run/files.ts';

const settle = <T>(clock: ManualClock, promise: Promise<T>): Promise<T> => clock.until(promise);

describe('practice jobs', () => {
  it('are made whole: a drive too short for any verdict, its codes, and nothing left behind', async () => {
    const library = join(scratch(), 'library');
    const said: string[] = [];
    await makePracticeJobs(library, (s) => said.push(english.say(s)), PRACTICE_JOBS.slice(-1));
    expect(said).toEqual(['A drive that shows too little (1 of 1).']);
    const daemon = new Daemon({ clock: new ManualClock(), library });
    const { jobs, practice, loose } = await daemon.jobs.list('');
    expect([practice.state, loose]).toEqual(['there', []]);
    const view = await daemon.jobs.open(jobs[0]!.id);
    expect(view.job.practice).toBe(true);
    expect(view.snapshots.map((s) => [s.when, s.trouble])).toEqual([['after', null]]);
    expect(await daemon.jobs.verdicts(view.job.id)).toMatchObject([
      { boost: 'not shown', coolant: 'not shown' },
    ]);
    expect(readdirSync(library).filter((n) => n.startsWith('.practice'))).toEqual([]);
    await daemon.close();
  });
});

describe('practice jobs given up', () => {
  it('leave nothing of the one under way, and tell how far they are as a share that only grows', async () => {
    const library = join(scratch(), 'library');
    const stop = new AbortController();
    const shares: number[] = [];
    const making = makePracticeJobs(library, () => undefined, PRACTICE_JOBS.slice(-1), {
      signal: stop.signal,
      progress(share) {
        shares.push(share);
        if (shares.length === 3) stop.abort();
      },
    });
    await expect(making).rejects.toMatchObject({ name: 'AbortError' });
    expect(shares).toEqual([...shares].sort((a, b) => a - b));
    expect(shares).toHaveLength(3);
    expect(shares[2]).toBeLessThan(1);
    expect(readdirSync(library)).toEqual([]);
  });
});

describe('a drive recorded into a job', () => {
  it('carries the profile of the job, tells the job the VIN, and another car is refused', async () => {
    const clock = new ManualClock(0, Date.UTC(2026, 2, 5, 9));
    const daemon = new Daemon({ clock, library: join(scratch(), 'library') });
    const fields = {
      vehicle: 'Practice',
      complaint: 'Weak',
      profile: { fanOnC: { value: 96, source: 'handbook' as const } },
    };
    const { job } = await daemon.jobs.create(fields);
    await settle(clock, daemon.connect({ link: 'sim:twin-charged?route=short' }));
    const run = await settle(clock, daemon.startRun({ purpose: 'come-back', job: job.id }));
    expect(run.job).toBe(job.id);
    await clock.advance(3000);
    await settle(clock, daemon.stopRun());
    const view = await daemon.jobs.open(job.id);
    expect(view.runs.map((r) => [r.id, r.purpose, r.vehicle])).toEqual([[run.id, 'come-back', 'Practice']]);
    expect(view.job.vin).toMatch(/^00HB/);
    const read = await settle(clock, daemon.jobs.takeSnapshot(job.id, 'before'));
    const { file, at } = read.snapshots[0]!;
    const moved = await daemon.jobs.setSnapshot(job.id, { file, at, when: 'during' }, true);
    expect(moved.snapshots.map((s) => [s.when, s.told?.lamp])).toEqual([['during', 'off']]);
    expect(moved.codes).toEqual([]);
    await settle(clock, daemon.disconnect());
    await settle(clock, daemon.connect({ link: 'sim:petrol?route=short' }));
    const other = settle(clock, daemon.startRun({ purpose: 'verification', job: job.id }));
    await expect(other).rejects.toThrow(/the job is for 00HB/);
    const codes = settle(clock, daemon.jobs.takeSnapshot(job.id, 'after'));
    await expect(codes).rejects.toThrow(/the job is for 00HB/);
    expect((await daemon.jobs.open(job.id)).job.snapshots.length).toBe(1);
    await settle(clock, daemon.disconnect());
    // Filed by hand it is the same: refused where the VINs differ, and a job without one is told it.
    await settle(clock, daemon.connect({ link: 'sim:petrol?route=short' }));
    const loose = await settle(clock, daemon.startRun({ purpose: 'verification' }));
    await clock.advance(2000);
    await settle(clock, daemon.stopRun());
    await expect(daemon.jobs.fileRun(loose.id, job.id, 'verification')).rejects.toThrow(
      /^This drive is of the car with VIN 00HB\w+; the job is for 00HB/,
    );
    expect((await daemon.jobs.open(job.id)).runs.map((r) => r.id)).toEqual([run.id]);
    const own = await daemon.jobs.create({ vehicle: 'Practice petrol' });
    expect((await daemon.jobs.fileRun(loose.id, own.job.id, 'verification')).job).toBe(own.job.id);
    const { vin } = (await daemon.jobs.open(own.job.id)).job;
    expect([vin.slice(0, 4), vin === view.job.vin]).toEqual(['00HB', false]);
    // What the drive in a job was for may be changed, whatever the job's VIN is corrected to.
    await daemon.jobs.change(own.job.id, { vin: view.job.vin });
    expect((await daemon.jobs.fileRun(loose.id, own.job.id, 'baseline')).purpose).toBe('baseline');
    await settle(clock, daemon.close());
  });

  it('is judged live by the baseline run, and its finding names that as the source of its limit', async () => {
    const clock = new ManualClock(0, Date.UTC(2026, 2, 5, 9));
    const daemon = new Daemon({ clock, library: join(scratch(), 'library') });
    const { job } = await daemon.jobs.create({ profile: { induction: 'twin-charged', fuel: 'petrol' } });
    // A car that does not tell its commanded boost: what it says of itself would be taken first.
    const signals = ['rpm', 'speed_kmh', 'map_kpa', 'baro_kpa', 'ect_c', 'pedal_d_pct'];
    const car = 'sim:twin-charged?route=warm-road-test&front=slcan&answer=90';
    const drive = async (link: string, purpose: 'baseline' | 'verification', seconds: number) => {
      await settle(clock, daemon.connect({ link, signals }));
      const { id } = await settle(clock, daemon.startRun({ purpose, job: job.id }));
      await clock.advance(seconds * 1000);
      await settle(clock, daemon.stopRun());
      await settle(clock, daemon.disconnect());
      return id;
    };
    const baseline = await drive(car, 'baseline', 220);
    await daemon.jobs.setTeaching(job.id, baseline, { boost: true, coolant: false });
    const spoken: Spoken[] = [];
    daemon.subscribe((event, data) => {
      if (event === 'spoken') spoken.push(data as Spoken);
    });
    const after = await drive(`${car}&fault=boost-leak=20&seed=3`, 'verification', 220);
    const live = spoken.map((s) => s.finding).filter((f) => f.limit?.source === 'baseline run');
    expect(live.map((f) => f.verdict)).toContain('fault shown');
    const { findings } = (await daemon.run(after)).value.judgement;
    const same = findings.find((f) => f.id === live[0]!.id)!;
    expect([same.verdict, same.limit?.source, same.saidAtS]).toEqual([
      'fault shown',
      'baseline run',
      live[0]!.saidAtS,
    ]);
    await settle(clock, daemon.close());
  });

  it('of a faulty car never teaches, whatever the technician says', async () => {
    const clock = new ManualClock(0, Date.UTC(2026, 2, 5, 9));
    const daemon = new Daemon({ clock, library: join(scratch(), 'library') });
    const { job } = await daemon.jobs.create({
      profile: { induction: 'twin-charged', fuel: 'petrol', clutch: true },
    });
    const link = 'sim:twin-charged?route=warm-road-test&fault=clutch-never-closes&front=slcan&answer=90';
    await settle(clock, daemon.connect({ link }));
    const { id } = await settle(clock, daemon.startRun({ purpose: 'baseline', job: job.id }));
    await clock.advance(100_000);
    await settle(clock, daemon.stopRun());
    await settle(clock, daemon.disconnect());
    expect(await daemon.jobs.verdicts(job.id)).toMatchObject([
      { boost: 'fault shown', teaching: { boost: false, by: 'findings' } },
    ]);
    await daemon.jobs.setTeaching(job.id, id, { boost: true, coolant: true });
    expect(await daemon.jobs.verdicts(job.id)).toMatchObject([
      { teaching: { boost: false, coolant: true, by: 'technician' } },
    ]);
    await settle(clock, daemon.close());
  });
});
