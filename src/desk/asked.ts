/**
 * What may be asked of the daemon, as it comes in from outside: the requests of `api.ts`, `jobs-api.ts` and `kinds-api.ts`
 * as schemas. A key that is not known is refused.
 */
import { z } from 'zod';
import { families } from '../adapter/dialects.ts';
import { profileSchema } from '../core/profile.ts';
import { MAX_PHOTO_BYTES } from '../job/files.ts';
import {
  jobFieldsSchema,
  measurementSchema,
  observationSchema,
  photoRefSchema,
  SNAPSHOT_TIMES,
  snapshotRefSchema,
} from '../job/job.ts';
import { PHOTO_TYPES } from '../job/photo/clean.ts';
import { QUESTION_NAMES } from '../pool/questions.ts';
import { PURPOSES } from '../run/types.ts';

// ---- the connection and the run -----------------------------------------------------------------------------

/** What an adapter may be said to speak. */
export const adapterKinds = (): readonly string[] => ['auto', ...families()];

export const connectAsked = z.strictObject({
  link: z
    .string()
    .min(1)
    .max(300)
    .regex(/^[^\x00-\x1f\x7f]+$/, 'no control characters'),
  adapter: z
    .string()
    .refine((name) => adapterKinds().includes(name), 'no known kind of adapter')
    .optional(),
  baud: z.int().min(300).max(4_000_000).optional(),
});
export const receiverAsked = z.strictObject({ port: connectAsked.shape.link.nullable() });
export const startAsked = z.strictObject({
  purpose: z.enum(PURPOSES),
  job: z
    .string()
    .regex(/^[a-z0-9-]{1,80}$/, 'the id of a job')
    .optional(),
  vehicle: z.string().max(200).optional(),
  complaint: z.string().max(4000).optional(),
  profile: profileSchema.optional(),
});
export const markAsked = z.strictObject({
  key: z.string().regex(/^[A-Z]$/, 'one capital letter'),
  text: z.string().max(500).optional(),
});
export const markEditAsked = z.strictObject({
  tS: z.number().min(0).max(1e7),
  key: z.string().regex(/^[A-Z]$/, 'one capital letter'),
  text: z.string().max(500),
  removed: z.boolean(),
});

// ---- jobs ---------------------------------------------------------------------------------------------------

export const runId = z.string().regex(/^[A-Za-z0-9_-]{1,128}$/, 'letters, digits, _ and - only');
export const jobId = z.string().regex(/^[a-z0-9][a-z0-9-]{0,79}$/, 'small letters, digits and - only');
export const binId = z.string().regex(/^[a-z0-9][a-z0-9-]{0,119}$/, 'small letters, digits and - only');
export const jobAsked = jobFieldsSchema;
export const jobChangeAsked = jobFieldsSchema.extend({ was: jobFieldsSchema.optional() });
export const observationAsked = observationSchema.partial({ id: true, at: true });
export const measurementAsked = measurementSchema.partial({ id: true, at: true });
export const snapshotAsked = z.strictObject({ when: z.enum(SNAPSHOT_TIMES) });
export const listedSnapshotAsked = z.strictObject({ ref: snapshotRefSchema, listed: z.boolean() });
export const listedPhotoAsked = z.strictObject({ ref: photoRefSchema, listed: z.boolean() });
export const teachingAsked = z.strictObject({
  runId,
  may: z.strictObject({ boost: z.boolean(), coolant: z.boolean() }).nullable(),
});
export const handOverAsked = z.strictObject({ reason: z.string().max(1000) });
export const filingAsked = z.strictObject({ job: jobId.nullable(), purpose: z.enum(PURPOSES) });
/** A photo comes as its bytes. */
export const photoAsked = { types: Object.values(PHOTO_TYPES), mostBytes: MAX_PHOTO_BYTES } as const;

// ---- kinds and the pool -------------------------------------------------------------------------------------

const kind = z.string().min(1).max(300);
export const kindChangeAsked = z.discriminatedUnion('is', [
  z.strictObject({ is: z.literal('merge'), from: kind, into: kind }),
  z.strictObject({
    is: z.literal('split'),
    from: kind,
    descriptor: z.string().min(1).max(20),
    engine: z.string().trim().min(1).max(200),
  }),
  z.strictObject({ is: z.literal('undo') }),
  z.strictObject({ is: z.literal('redo') }),
]);
export const poolAsked = z.strictObject({
  question: z.enum(QUESTION_NAMES),
  kind: z.string().max(300).default(''),
  job: z
    .string()
    .regex(/^([a-z0-9][a-z0-9-]{0,79})?$/, 'small letters, digits and - only')
    .default(''),
});
