/** `npx tsx tests/scale/library.ts FOLDER JOBS`: a library of as many jobs with one short simulated drive each. */
import { copyFile, mkdir } from 'node:fs/promises';
import { join, resolve } from 'node:path';
import { ManualClock } from '../../src/core/clock.ts';
import { createJob } from '../../src/job/library.ts';
import { CAPTURE_FILE, readMeta, writeMeta } from '../../src/run/meta.ts';

const FROM = resolve(import.meta.dirname, '../../captures/clutch-never-closes');
const [folder = '', jobs = ''] = process.argv.slice(2);
const meta = await readMeta(FROM);
for (let i = 0; i < Number(jobs); i++) {
  const vin = `00HBTRNW18T${String(i >> 1).padStart(6, '0')}`;
  const clock = new ManualClock(0, Date.UTC(2026, 2, 3 + i, 8));
  const fields = {
    vin,
    engine: 'TW 18',
    displacementCc: 1798,
    replaced: ['Magnetic clutch'],
    profile: meta.profile ?? {},
  };
  const job = await createJob(folder, { ...fields, vehicle: `Practice ${i}` }, clock);
  const run = join(job.folder, `${meta.id}-${i}`);
  await mkdir(run);
  await copyFile(join(FROM, CAPTURE_FILE), join(run, CAPTURE_FILE));
  await writeMeta(run, { ...meta, id: `${meta.id}-${i}`.slice(0, 80), vin });
}
