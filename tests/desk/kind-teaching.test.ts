/** What other cars of a kind teach the judging of a car that has no healthy drive of its own, from job folders to the page and the sheet. */
import { cpSync, readdirSync, readFileSync, renameSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { beforeAll, describe, expect, it } from 'vitest';
import { ManualClock } from '../../src/core/clock.ts';
import { Daemon } from '../../src/desk/daemon.ts';
import type { Job } from '../../src/job/job.ts';
import { scratch } from '../run/files.ts';

const library = join(scratch(), 'library');
const settle = <T>(clock: ManualClock, promise: Promise<T>): Promise<T> => clock.until(promise);
const SIGNALS = ['rpm', 'speed_kmh', 'map_kpa', 'baro_kpa', 'ect_c', 'pedal_d_pct'];
/** Letters and figures of an invented VIN; the last tell the cars apart. */
const vinOf = (k: number): string => `00HBTRND20T0000${k}0`;

const LINK = 'sim:turbo-diesel?route=warm-road-test&front=slcan&answer=90';

type Json = Record<string, unknown>;
const change = (path: string, by: (was: Json) => Json): void =>
  writeFileSync(path, JSON.stringify(by(JSON.parse(readFileSync(path, 'utf8')) as Json)));

/** The job as one of another car, its run as one of another day. */
function copied(from: string, name: string, vin: string, day: number, job: Partial<Job> = {}): string {
  const folder = join(library, name);
  cpSync(join(library, from), folder, { recursive: true });
  const run = readdirSync(folder).find((n) => n.startsWith('20'))!;
  const id = `2026-03-${String(day).padStart(2, '0')}t090000z-${name}`;
  renameSync(join(folder, run), join(folder, id));
  const startedAt = `2026-03-${String(day).padStart(2, '0')}T09:00:00.000Z`;
  change(join(folder, id, 'run.json'), (was) => ({ ...was, id, startedAt, vin }));
  const teaching = [{ runId: id, boost: true, coolant: false }];
  change(join(folder, 'job.json'), (was) => ({ ...was, id: name, vin, teaching, ...job }));
  return id;
}

let daemon: Daemon;
let judged: string;
const jobOf = (name: string, by: Json): void =>
  change(join(library, name, 'job.json'), (was) => ({ ...was, ...by }));

beforeAll(async () => {
  const clock = new ManualClock(0, Date.UTC(2026, 2, 1, 9));
  const first = new Daemon({ clock, library });
  const profile = { induction: 'turbocharger' as const, fuel: 'diesel' as const };
  const { job } = await first.jobs.create({ engine: 'TD 20', displacementCc: 1968, profile });
  const link = LINK;
  await settle(clock, first.connect({ link, signals: SIGNALS }));
  await settle(clock, first.startRun({ purpose: 'verification', job: job.id }));
  await clock.advance(220_000);
  await settle(clock, first.stopRun());
  await settle(clock, first.close());
  for (const k of [1, 2, 3]) copied(job.id, `car-${k}`, vinOf(k), k + 1);
  judged = copied(job.id, 'judged', vinOf(8), 20, { teaching: [] });
  // The drive that all were made from is none of a fifth car.
  jobOf(job.id, { engine: 'another' });
  daemon = new Daemon({ clock, library });
});

async function sourceOf(): Promise<string | null> {
  const { findings } = (await daemon.run(judged)).value.judgement;
  return findings.find((f) => f.id === 'boost.above-hand-over')?.limit?.source ?? null;
}

describe('a car never seen before', () => {
  it('is held against the good drives of other cars of its kind, and the finding says how many and how wide that is', async () => {
    const { findings } = (await daemon.run(judged)).value.judgement;
    const f = findings.find((x) => x.id === 'boost.above-hand-over')!;
    expect(f.limit?.source).toMatch(
      /^3 other cars of this kind \(a healthy one may differ from them by \d+\s% either way\)$/,
    );
    expect(f.verdict).not.toBe('fault shown');
    expect(f.evidence.map((e) => e.text).join(' ')).toMatch(/Held against 3 other cars of this kind/);
    const html = new TextDecoder().decode(
      await daemon.sheet({ of: { job: 'judged' }, choice: {}, pdf: false }),
    );
    expect(html).toMatch(/3 other cars of this kind/);
  });

  it('is not held against its own plate, another kind, a practice car, a simulated drive, a drive that may not teach, or one that came back', async () => {
    const three = /^3 other cars/;
    for (const [by, back] of [
      [{ vin: vinOf(8) }, { vin: vinOf(3) }],
      [{ engine: 'TD 21' }, { engine: 'TD 20' }],
      [{ link: 'tcp:adapter:35000' }, {}],
      [{ practice: true }, { practice: false }],
      [{ comeBack: { complaint: 'Weak again' } }, { comeBack: {} }],
    ] as const) {
      const run = readdirSync(join(library, 'car-3')).find((n) => n.startsWith('20'))!;
      const vin = 'vin' in by ? by.vin : vinOf(3);
      // All are of the simulated car, the judged one too: here one of them is not.
      const link = 'link' in by ? by.link : LINK;
      change(join(library, 'car-3', run, 'run.json'), (was) => ({ ...was, vin, link }));
      if (!('link' in by)) jobOf('car-3', by);
      expect(await sourceOf(), JSON.stringify(by)).toMatch(/^2 other cars/);
      change(join(library, 'car-3', run, 'run.json'), (was) => ({ ...was, vin: vinOf(3), link: LINK }));
      jobOf('car-3', back);
      expect(await sourceOf()).toMatch(three);
    }
    for (const k of [1, 2, 3]) jobOf(`car-${k}`, { teaching: [] });
    expect(await sourceOf()).toBeNull();
  });
});
