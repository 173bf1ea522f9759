/**
 * `job.json`: one visit of one vehicle for one complaint. A job is a folder of the library: job.json, the folders of
 * its runs, `snapshots/` and `photos/`. Described in docs/job-folder.md. No I/O here: the page shares these shapes.
 */
import { z } from 'zod';
import { MOST_NOTE } from '../core/complaint.ts';
import { MEASURE_IDS, MEASURE_UNITS } from '../core/hand-measures.ts';
import { LANGUAGE_IDS } from '../core/languages.ts';
import { OBSERVATION_KINDS, OBSERVATIONS } from '../core/observations.ts';
import { profileSchema } from '../core/profile.ts';
import { DOUBTS, WHOLES } from '../core/visit-says.ts';

export const JOB_FORMAT = 'handback.job/1';

const ANSWERS = [...new Set(Object.values(OBSERVATIONS).flat()), 'not checked'] as const;

/** Keys that a later version adds are kept when the job is written again, though this one does not know them. */
const keeping = <S extends z.ZodRawShape>(shape: S) => z.looseObject(shape) as unknown as z.ZodObject<S>;

const line = z.string().max(200);
const prose = z.string().max(4000);
const at = z.iso.datetime();
const id = z.string().regex(/^[a-z0-9][a-z0-9-]{0,79}$/, 'small letters, digits and - only');
/** A name inside the job folder, never a path. */
const fileName = z
  .string()
  .regex(/^[a-z0-9][a-z0-9-]{0,79}\.(json|jpg|png|webp)$/, 'a file name of this job');

export const observationSchema = keeping({
  id,
  at,
  /** The run during which it was noted and the run time; null outside a run. */
  runId: id.nullable(),
  tS: z.number().min(0).nullable(),
  kind: z.enum(OBSERVATION_KINDS),
  answer: z.enum(ANSWERS),
  text: z.string().max(MOST_NOTE),
});

/** What is shown and how on the hand-over sheet and in exports. */
const sheetChoicesSchema = keeping({
  language: z.enum(LANGUAGE_IDS),
  temperature: z.enum(['degC', 'degF']),
  pressure: z.enum(['kPa', 'bar', 'psi']),
  speed: z.enum(['km/h', 'mph']),
  hidePlate: z.boolean(),
  hideVin: z.boolean(),
});

const quantity = z.number().min(-1e6).max(1e6);

/** Measured or looked at by hand. Quantities are in `unit`; pressures are gauge kPa. */
export const measurementSchema = keeping({
  id,
  at,
  what: z.enum(MEASURE_IDS),
  /** Of `torque` and `other`: what was tightened or measured. */
  name: line,
  value: quantity.nullable(),
  unit: z.enum(MEASURE_UNITS),
  /** For how long it was held, min. */
  heldMin: z.number().min(0).max(10_000).nullable(),
  /** What was expected, and who says so. */
  low: quantity.nullable(),
  high: quantity.nullable(),
  source: line,
  result: z.enum(['pass', 'fail', 'note']),
  when: z.enum(['before', 'during', 'after', 'come-back']),
  who: line,
  text: z.string().max(1000),
});

export const SNAPSHOT_TIMES = ['before', 'during', 'after', 'come-back'] as const;
export const snapshotRefSchema = keeping({ file: fileName, when: z.enum(SNAPSHOT_TIMES), at });
export const photoRefSchema = keeping({ file: fileName, caption: z.string().max(500), at });

/** What was known when the car was handed over, and why it was where something spoke against it. */
const handOverSchema = keeping({
  whole: z.enum(WHOLES),
  doubts: z.array(z.enum(DOUBTS)).max(DOUBTS.length),
  /** Never empty where there are doubts. */
  reason: z.string().max(1000),
});

/** The car came back: what the customer says then, key by key; nothing while it has not. */
const comeBackSchema = z.strictObject({
  complaint: prose.optional(),
  odometerKm: z.number().min(0).max(5_000_000).nullable().optional(),
  /** As the workshop writes the day. */
  day: line.optional(),
});

const odometer = z.number().min(0).max(5_000_000).nullable();

/** What a workshop may want on the sheet besides; nothing is printed of what is empty. */
const extras = {
  /** Fitted, each with its number and warranty. */
  parts: z.array(keeping({ name: line, number: line, warranty: line })).max(50),
  /** What was done, for the customer, in the workshop's words. */
  labour: prose,
  /** The engine's designation as the workshop writes it, and its displacement: with induction and fuel of the profile, its kind. */
  engine: line,
  displacementCc: z.number().min(50).max(20_000).nullable(),
  /** When or after how many kilometres to look again. */
  nextCheck: line,
  odometerOutKm: odometer,
  workshopPhone: line,
  comeBack: comeBackSchema,
};

export const jobSchema = keeping({
  format: z.literal(JOB_FORMAT),
  id,
  /** The workshop's own number for the visit. */
  reference: line,
  plate: line,
  vin: line,
  /** Make, model, engine: as the workshop says it. */
  vehicle: line,
  /** In the customer's words. */
  complaint: prose,
  suspected: prose,
  replaced: z.array(line).max(50),
  /** What is known of the vehicle, induction included; each value with its source. */
  profile: profileSchema,
  technician: line,
  workshop: line,
  odometerKm: odometer,
  /** Weather and road of the drives, as the technician saw them. */
  weather: z.string().max(1000),
  openedAt: at,
  changedAt: at,
  /** Handed over; null while the job is open. */
  closedAt: at.nullable(),
  /** Null while the job is open, and in jobs handed over before this was written down. */
  handOver: handOverSchema.nullable().default(null),
  observations: z.array(observationSchema).max(200),
  measurements: z.array(measurementSchema).max(200).default([]),
  // Jobs of earlier versions have none of these.
  parts: extras.parts.default([]),
  labour: extras.labour.default(''),
  engine: extras.engine.default(''),
  displacementCc: extras.displacementCc.default(null),
  /** Calibration ids that the control units gave when their codes were read. */
  calibrations: z.array(line).max(50).default([]),
  nextCheck: extras.nextCheck.default(''),
  odometerOutKm: extras.odometerOutKm.default(null),
  workshopPhone: extras.workshopPhone.default(''),
  comeBack: extras.comeBack.default({}),
  snapshots: z.array(snapshotRefSchema).max(50),
  photos: z.array(photoRefSchema).max(100),
  /** What the technician says a run may teach of the vehicle in health; without an entry the findings decide. */
  teaching: z.array(keeping({ runId: id, boost: z.boolean(), coolant: z.boolean() })).max(100),
  sheet: sheetChoicesSchema,
  /** Made by the simulated vehicle for practice. */
  practice: z.boolean(),
});

export type Job = z.output<typeof jobSchema>;
export type Observation = z.output<typeof observationSchema>;
export type Measurement = z.output<typeof measurementSchema>;
export type SnapshotRef = Job['snapshots'][number];
export type PhotoRef = Job['photos'][number];

export interface NewPhoto {
  readonly bytes: Uint8Array;
  readonly caption: string;
  /** Keep the file as it came as well, with place, time and camera in it. */
  readonly original: boolean;
}

/** What a person may change; the rest follows from what is done. */
export const jobFieldsSchema = z
  .strictObject({
    ...jobSchema.pick({
      reference: true,
      plate: true,
      vin: true,
      vehicle: true,
      complaint: true,
      suspected: true,
      replaced: true,
      profile: true,
      technician: true,
      workshop: true,
      odometerKm: true,
      weather: true,
      sheet: true,
    }).shape,
    ...extras, // without their defaults: what is not sent stays as it is
  })
  .partial();
export type JobFields = z.output<typeof jobFieldsSchema>;

/** A job as it is opened: nothing known yet. */
export function newJob(id: string, nowIso: string): Job {
  return {
    format: JOB_FORMAT,
    id,
    reference: '',
    plate: '',
    vin: '',
    vehicle: '',
    complaint: '',
    suspected: '',
    replaced: [],
    profile: {},
    technician: '',
    workshop: '',
    odometerKm: null,
    weather: '',
    openedAt: nowIso,
    changedAt: nowIso,
    closedAt: null,
    handOver: null,
    observations: [],
    measurements: [],
    parts: [],
    labour: '',
    engine: '',
    displacementCc: null,
    calibrations: [],
    nextCheck: '',
    odometerOutKm: null,
    workshopPhone: '',
    comeBack: {},
    snapshots: [],
    photos: [],
    teaching: [],
    sheet: {
      language: 'en',
      temperature: 'degC',
      pressure: 'kPa',
      speed: 'km/h',
      hidePlate: false,
      hideVin: false,
    },
    practice: false,
  };
}

/** What lies in the library's bin. */
export interface BinEntry {
  /** What bringing it back takes. */
  readonly id: string;
  readonly deletedAt: string;
  /** For people: what it was. */
  readonly title: string;
}
