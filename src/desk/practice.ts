/**
 * The practice jobs of an invented workshop: driven by the simulated vehicle through the whole thread (adapter,
 * session, capture), on a clock that does not wait. The same seeds give the same drives on every computer.
 */

import { randomBytes } from 'node:crypto';
import { mkdir, readdir, rename, rm } from 'node:fs/promises';
import { join, resolve } from 'node:path';
import { ManualClock } from '../core/clock.ts';
import { saying } from '../core/error-says.ts';
import type { Says } from '../core/says.ts';
import type { JobFields, SnapshotRef } from '../job/job.ts';
import { updateJob } from '../job/library.ts';
import { refuseReadOnly } from '../run/library-format.ts';
import { syncFolder } from '../run/meta.ts';
import type { During } from '../run/types.ts';
import { Daemon } from './daemon.ts';
import type { NewObservation } from './jobs-api.ts';

interface PracticeDrive {
  /** Its name in the words. */
  readonly say: 'clutch-before' | 'clutch-after' | 'circulation' | 'little';
  /** Of the simulated vehicle, without its adapter. */
  readonly link: string;
  readonly purpose: 'baseline' | 'verification';
  readonly seconds: number;
  /** Hours after the job was opened. */
  readonly atHour: number;
  readonly codes: SnapshotRef['when'];
  readonly marks?: readonly (readonly [atS: number, key: string, text: string])[];
  readonly observations?: readonly Pick<NewObservation, 'tS' | 'kind' | 'answer' | 'text'>[];
}

interface PracticeJob {
  readonly openedMs: number;
  readonly fields: JobFields;
  readonly drives: readonly PracticeDrive[];
  /** Hours after opening, and why although something spoke against it; null while the job stays open. */
  readonly handedOver: { readonly atHour: number; readonly reason: string } | null;
}

const WORKSHOP = { workshop: 'Practice workshop (invented)', technician: 'A. Trainee' };

export const PRACTICE_JOBS: readonly PracticeJob[] = [
  {
    openedMs: Date.UTC(2026, 2, 3, 7, 40),
    fields: {
      ...WORKSHOP,
      reference: 'P-101',
      plate: 'PRA-C1',
      vehicle: 'Tarnwick 1.8 twin-charged (simulated)',
      complaint:
        'Hardly pulls away from the lights, then goes all at once above 3000. No whistle any more when I pull out.',
      suspected: 'Clutch of the supercharger does not close',
      replaced: ['Magnetic clutch of the supercharger', 'Multi-rib belt'],
      odometerKm: 148_230,
      weather: 'Dry, light wind, country road and bypass',
      profile: { induction: 'twin-charged', fuel: 'petrol', clutch: true },
    },
    drives: [
      {
        say: 'clutch-before',
        link: 'twin-charged?route=warm-road-test&fault=clutch-never-closes&seed=11',
        purpose: 'baseline',
        seconds: 470,
        atHour: 1,
        codes: 'before',
        marks: [[95, 'M', 'no push at all here']],
      },
      {
        say: 'clutch-after',
        link: 'twin-charged?route=road-test&seed=12',
        purpose: 'verification',
        seconds: 1090, // idling still: the codes can be read
        atHour: 28,
        codes: 'after',
        marks: [[260, 'H', 'heater warm']],
        observations: [
          {
            tS: 400,
            kind: 'noise gone',
            answer: 'yes',
            text: 'Whistle of the supercharger is back, no howl.',
          },
          { tS: 790, kind: 'cabin heat idle', answer: 'hot', text: '' },
          { tS: 800, kind: 'cabin heat 2000 rpm', answer: 'hot', text: '' },
          { tS: null, kind: 'leaks', answer: 'none', text: 'Looked after the drive with the engine idling.' },
        ],
      },
    ],
    handedOver: { atHour: 30, reason: '' },
  },
  {
    openedMs: Date.UTC(2026, 2, 9, 8, 15),
    fields: {
      ...WORKSHOP,
      reference: 'P-102',
      plate: 'PRA-C2',
      vehicle: 'Kelmoor Hatch 1.6, naturally aspirated (simulated)',
      complaint: 'Lost coolant on the motorway, the lamp came on. I stopped at once.',
      suspected: 'Coolant pump',
      replaced: ['Coolant pump', 'Thermostat', 'Coolant'],
      odometerKm: 96_410,
      weather: 'Overcast, hilly road',
      profile: { induction: 'naturally aspirated', fuel: 'petrol' },
    },
    drives: [
      {
        say: 'circulation',
        link: 'petrol?route=warm-road-test&fault=no-circulation=150&seed=21',
        purpose: 'verification',
        seconds: 400,
        atHour: 6,
        codes: 'after',
        observations: [
          { tS: 290, kind: 'cabin heat idle', answer: 'cold', text: 'Blows cold as soon as we stand.' },
          { tS: null, kind: 'leaks', answer: 'none', text: '' },
        ],
      },
    ],
    handedOver: null,
  },
  {
    openedMs: Date.UTC(2026, 2, 12, 9, 5),
    fields: {
      ...WORKSHOP,
      reference: 'P-103',
      plate: 'PRA-C3',
      vehicle: 'Tarnwick Diesel 2.0, turbocharged (simulated)',
      complaint: 'Was weak uphill before. You changed a charge pipe, please make sure it is right.',
      suspected: 'Charge pipe split',
      replaced: ['Charge pipe'],
      odometerKm: 201_900,
      weather: 'Rain, town traffic only',
      profile: { induction: 'turbocharger', fuel: 'diesel' },
    },
    drives: [
      {
        say: 'little',
        link: 'turbo-diesel?route=short&seed=31',
        purpose: 'verification',
        seconds: 150,
        atHour: 3,
        codes: 'after',
      },
    ],
    handedOver: null,
  },
];

/** A serial-line CAN adapter and control units that take their time: about sixty samples a second. */
const ADAPTER = '&front=slcan&answer=90';
const HOUR_MS = 3_600_000;
/** Driven at a time, between looks at whether it is given up. */
const STRETCH_S = 10;
const IN_FULL: During = { signal: new AbortController().signal, progress: () => undefined };

/**
 * Drives the jobs and puts them into the library, each whole; of one that is given up nothing is left.
 * @param jobs for tests: fewer
 * @throws the signal's reason
 */
export async function makePracticeJobs(
  library: string,
  say: (sentence: Says) => void,
  jobs: readonly PracticeJob[] = PRACTICE_JOBS,
  { signal, progress }: During = IN_FULL,
): Promise<void> {
  const root = resolve(library);
  await refuseReadOnly(root);
  const total = jobs.reduce((n, job) => n + job.drives.length, 0);
  const wholeS = jobs.flatMap((job) => job.drives).reduce((s, drive) => s + drive.seconds, 0);
  let done = 0;
  let drivenS = 0;
  const during: Driving = {
    began: (drive) => say(saying('practice.drive', { drive, n: ++done, of: total })),
    drove(seconds) {
      signal.throwIfAborted();
      drivenS += seconds;
      progress(drivenS / wholeS);
    },
  };
  for (const job of jobs) {
    const making = join(root, `.practice-${randomBytes(4).toString('hex')}`);
    await mkdir(making, { recursive: true });
    try {
      await driveJob(making, job, during);
      for (const entry of await readdir(making)) {
        if (entry.startsWith('.') || !/^\d/.test(entry)) continue;
        await rename(join(making, entry), join(root, entry));
      }
      await syncFolder(root);
    } finally {
      await rm(making, { recursive: true, force: true });
    }
  }
}

interface Driving {
  began(drive: PracticeDrive['say']): void;
  /** @throws where it is given up */
  drove(seconds: number): void;
}

async function driveJob(library: string, job: PracticeJob, during: Driving): Promise<void> {
  const clock = new ManualClock(0, job.openedMs);
  const daemon = new Daemon({ clock, library });
  const wait = <T>(promise: Promise<T>): Promise<T> => clock.until(promise);
  const until = (hour: number): void => {
    clock.jumpWall(job.openedMs + hour * HOUR_MS - clock.wallMs());
  };
  try {
    const { id } = (await wait(daemon.jobs.create(job.fields))).job;
    for (const drive of job.drives) {
      during.began(drive.say);
      until(drive.atHour);
      await wait(daemon.connect({ link: `sim:${drive.link}${ADAPTER}` }));
      const run = await wait(daemon.startRun({ purpose: drive.purpose, job: id }));
      const startUs = clock.nowUs();
      let goneS = 0;
      const driveTo = async (atS: number): Promise<void> => {
        while (goneS < atS) {
          const toS = Math.min(atS, goneS + STRETCH_S);
          await clock.advance(toS * 1000 - (clock.nowUs() - startUs) / 1000);
          during.drove(toS - goneS);
          goneS = toS;
        }
      };
      for (const [atS, key, text] of drive.marks ?? []) {
        await driveTo(atS);
        await wait(daemon.mark({ key, text }));
      }
      await driveTo(drive.seconds);
      const { startedAt } = run;
      await wait(daemon.stopRun());
      for (const o of drive.observations ?? []) {
        const at = o.tS === null ? clock.wallMs() : Date.parse(startedAt) + o.tS * 1000;
        await wait(daemon.jobs.observe(id, { ...o, runId: run.id, at: new Date(at).toISOString() }));
      }
      await wait(daemon.jobs.takeSnapshot(id, drive.codes));
      await wait(daemon.disconnect());
    }
    await wait(updateJob(library, id, clock, (j) => ({ ...j, practice: true })));
    if (job.handedOver === null) return;
    until(job.handedOver.atHour);
    await wait(daemon.jobs.handOver(id, job.handedOver.reason));
  } finally {
    await wait(daemon.close());
  }
}
