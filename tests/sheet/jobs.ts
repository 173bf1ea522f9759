/** Jobs on disk for tests of the sheet: drives of the simulated vehicle, kept as runs of samples; no bytes, no waiting. */
import { join } from 'node:path';
import { ManualClock } from '../../src/core/clock.ts';
import type { Snapshot } from '../../src/core/snapshot.ts';
import { gatherSheet } from '../../src/desk/gather-sheet.ts';
import { savePhoto, saveSnapshot } from '../../src/job/files.ts';
import type { JobFields, Observation, PhotoRef, SnapshotRef } from '../../src/job/job.ts';
import { createJob, updateJob } from '../../src/job/library.ts';
import { createRun } from '../../src/run/library.ts';
import type { RunMeta } from '../../src/run/meta.ts';
import type { SheetInput, SheetOptions } from '../../src/sheet/types.ts';
import { METRIC } from '../../src/words/measures.ts';
import { driveSamples } from '../analysis/vehicle.ts';
import { POINT } from '../job/point.ts';

export const VIN = 'XHBTEST0000000017';
export const PLATE = 'ZZ-HB 417';

export interface TestDrive {
  readonly purpose: RunMeta['purpose'];
  readonly fault?: string;
  readonly value?: number;
  readonly route?: string;
  readonly seed?: number;
  /** Cut off after this. */
  readonly seconds?: number;
}

export interface TestJob {
  readonly drives: readonly TestDrive[];
  readonly fields?: JobFields;
  readonly snapshots?: readonly { readonly when: 'before' | 'after'; readonly snapshot: Snapshot }[];
  readonly observations?: readonly Observation[];
  /** Captions; each photo is one point. */
  readonly photos?: readonly string[];
}

/** @returns the job's folder in `library` */
export async function jobIn(library: string, job: TestJob): Promise<string> {
  const clock = new ManualClock();
  await clock.advance(3_600_000);
  const fields: JobFields = {
    vehicle: 'Tarnwick 1.8 twin-charged (invented)',
    plate: PLATE,
    vin: VIN,
    reference: 'A-17',
    complaint: 'No pull from low revs.',
    replaced: ['Magnetic clutch'],
    workshop: 'Three Bridges (invented)',
    technician: 'I. Sandvik',
    profile: { induction: 'twin-charged', fuel: 'petrol' },
    ...job.fields,
  };
  const made = await createJob(library, fields, clock);
  for (const [i, drive] of job.drives.entries()) {
    await clock.advance(3_600_000);
    const run = await createRun({
      where: { folder: join(made.folder, `run-${i}-${drive.purpose}`) },
      purpose: drive.purpose,
      tool: 'handback test',
      clock,
      vin: VIN,
      profile: { induction: 'twin-charged', fuel: 'petrol' },
    });
    const { purpose: _, seconds = Number.POSITIVE_INFINITY, ...options } = drive;
    for (const s of driveSamples({ route: 'warm-road-test', hz: 4, ...options })) {
      if (s.tUs > seconds * 1e6) break;
      run.capture.sample(s);
    }
    run.capture.mark('N', 'Noise');
    await run.close();
  }
  // The last drive is over before anything is read or taken.
  await clock.advance(3_600_000);
  const snapshots: SnapshotRef[] = [];
  for (const { when, snapshot } of job.snapshots ?? []) {
    await clock.advance(60_000);
    const at = new Date(clock.wallMs()).toISOString();
    snapshots.push(await saveSnapshot(made.folder, snapshot, when, at));
  }
  const photos: PhotoRef[] = [];
  for (const caption of job.photos ?? []) {
    await clock.advance(60_000);
    const at = new Date(clock.wallMs()).toISOString();
    photos.push(await savePhoto(made.folder, made.job, { bytes: POINT, caption, original: false }, at));
  }
  await updateJob(library, made.job.id, clock, (known) => ({
    ...known,
    photos,
    snapshots,
    observations: [...(job.observations ?? [])],
  }));
  return made.folder;
}

export const gathered = (path: string): Promise<SheetInput> =>
  gatherSheet(path, { tool: 'handback test', nowMs: Date.UTC(2026, 2, 3, 12), timeZone: 'Europe/Berlin' });

export const OPTIONS: SheetOptions = { language: 'en', units: METRIC, hide: [], show: [], paper: null };

/** A control unit in order, as far as is not said otherwise. */
export function snapshotOf(
  unit: Partial<Snapshot['units'][number]> = {},
  unanswered: readonly string[] = [],
): Snapshot {
  const monitor = { name: 'Catalyst', continuous: false, supported: true, complete: true };
  return {
    schema: 'handback.codes/1',
    vin: VIN,
    units: [
      {
        ecu: '7E8',
        stored: [],
        pending: [],
        permanent: [],
        mil: false,
        readiness: { mil: false, codes: 0, ignition: 'spark', monitors: [monitor] },
        sinceCleared: [
          { pid: '30', signal: 'clear_warmups', value: 12, unit: 'count', raw: '0C' },
          { pid: '31', signal: 'clear_km', value: 410, unit: 'km', raw: '019A' },
        ],
        freezeFrame: [],
        information: [],
        monitorResults: [],
        ...unit,
      },
    ],
    unanswered,
  };
}
