/**
 * Kinds of engine: cars of which one may be expected to do what another does. A kind is what the workshop states:
 * designation, displacement, induction, fuel. Nothing is looked up.
 */
import { z } from 'zod';
import { saying } from '../core/error-says.ts';
import { HandbackError } from '../core/errors.ts';
import type { Profile } from '../core/profile.ts';
import type { Snapshot } from '../core/snapshot.ts';
import type { Job } from './job.ts';

type Stated = Pick<Job, 'engine' | 'displacementCc' | 'profile'>;
type Known = Stated & Pick<Job, 'id' | 'vin' | 'calibrations'>;

/** The same for every way of writing the same; empty where no designation is stated. */
export function kindOf({ engine, displacementCc, profile }: Stated): string {
  const name = engine
    .normalize('NFKD')
    .toLowerCase()
    .replace(/[^\p{L}\p{N}]/gu, '');
  if (name === '') return '';
  const cc = displacementCc === null ? '' : String(Math.round(displacementCc));
  return [name, cc, profile.induction ?? '', profile.fuel ?? ''].join('/');
}

/**
 * What a VIN tells of the kind of vehicle and nothing of the one vehicle: its positions 1 to 8, and 10 (ISO 3779; the
 * tenth tells the model year where its maker says so). Null for what is no VIN.
 */
export function descriptorOf(vin: string): string | null {
  const whole = vin.replace(/[\s.-]/g, '').toUpperCase();
  if (!/^[A-HJ-NPR-Z0-9]{17}$/.test(whole)) return null;
  return `${whole.slice(0, 8)}-${whole[9]}`;
}

/** Calibration ids of the control units, each once. */
export function calibrationsOf(snapshot: Snapshot): string[] {
  const said = snapshot.units.flatMap((u) => u.information.filter((i) => i.pid === CALIBRATION_PID));
  const ids = said.flatMap((i) => (typeof i.value === 'string' ? [i.value.trim().slice(0, 200)] : []));
  return [...new Set(ids.filter(Boolean))];
}
/** Service 09, as `MessageValue` writes it. */
const CALIBRATION_PID = '04';

export interface KindSuggestion {
  readonly engine: string;
  readonly displacementCc: number | null;
  readonly profile: Pick<Profile, 'induction' | 'fuel'>;
  /** What the vehicles share. */
  readonly by: 'descriptor' | 'calibration';
  /** Jobs that say so. */
  readonly jobs: number;
}

/**
 * The kind that other jobs state whose vehicle shares the VIN's descriptor or, failing that, a calibration id; of several
 * the most frequent. Null where none does, or where the most frequent are as many.
 */
export function suggestKind(others: readonly Known[], job: Known): KindSuggestion | null {
  const stated = others.filter((o) => o.id !== job.id && kindOf(o) !== '');
  const own = descriptorOf(job.vin);
  const alike = {
    descriptor: own === null ? [] : stated.filter((o) => descriptorOf(o.vin) === own),
    calibration: stated.filter((o) => o.calibrations.some((c) => job.calibrations.includes(c))),
  };
  for (const by of ['descriptor', 'calibration'] as const) {
    const counts = new Map<string, Known[]>();
    for (const o of alike[by]) counts.set(kindOf(o), [...(counts.get(kindOf(o)) ?? []), o]);
    const [first, second] = [...counts.values()].sort((a, b) => b.length - a.length);
    if (!first) continue;
    if (second?.length === first.length) return null;
    const { engine, displacementCc, profile } = first[0]!;
    const { induction, fuel } = profile;
    const known = { ...(induction ? { induction } : {}), ...(fuel ? { fuel } : {}) };
    return { engine, displacementCc, profile: known, by, jobs: first.length };
  }
  return null;
}

// ---- merged and split -----------------------------------------------------------------------------------------

export const KINDS_FORMAT = 'handback.kinds/1';
const kind = z.string().min(1).max(300);

/** Kinds that the workshop found to be one, or one that it found to be two: told apart by the VIN's descriptor. */
const editSchema = z.discriminatedUnion('is', [
  z.strictObject({ is: z.literal('merge'), from: kind, into: kind }),
  z.strictObject({ is: z.literal('split'), from: kind, descriptor: z.string().max(20), into: kind }),
]);
export type KindEdit = z.output<typeof editSchema>;

export const kindsSchema = z.looseObject({
  format: z.literal(KINDS_FORMAT),
  /** In the order in which they were made; each sees what those before it made. */
  edits: z.array(editSchema).max(1000),
  /** Taken back, the last one last: made again from the end. */
  undone: z.array(editSchema).max(1000),
});
export type Kinds = Pick<z.output<typeof kindsSchema>, 'edits' | 'undone'>;

/** The kind of a job after what was merged and split; empty where none is stated. */
export function kindIn({ edits }: Pick<Kinds, 'edits'>, job: Stated & Pick<Job, 'vin'>): string {
  let now = kindOf(job);
  if (now === '') return now;
  for (const edit of edits)
    if (edit.from === now && (edit.is === 'merge' || edit.descriptor === descriptorOf(job.vin)))
      now = edit.into;
  return now;
}

/** What the vehicles split from a kind are called: the rest of it stays. */
export function splitInto(from: string, engine: string): string {
  const name = kindOf({ engine, displacementCc: null, profile: {} }).split('/')[0];
  return [name, ...from.split('/').slice(1)].join('/');
}

/** Whether two ways of writing may be one kind: charged alike and on the same fuel, as far as both are stated. */
export function mayBeOne(a: string, b: string): boolean {
  const [, , ...of] = a.split('/');
  const [, , ...other] = b.split('/');
  return of.every((said, i) => said === '' || !other[i] || said === other[i]);
}

/**
 * Pure; null where there is nothing to take back or to make again.
 * @throws HandbackError input.usage when engines that are charged or fuelled differently would be one kind
 */
export function edited({ edits, undone }: Kinds, change: KindEdit | 'undo' | 'redo'): Kinds | null {
  if (typeof change === 'object' && change.is === 'merge' && !mayBeOne(change.from, change.into))
    throw new HandbackError(
      'input.usage',
      saying('error.kinds-unlike', { from: change.from, into: change.into }),
    );
  if (typeof change === 'object') return { edits: [...edits, change], undone: [] };
  const from = change === 'undo' ? edits : undone;
  const last = from.at(-1);
  if (!last) return null;
  return change === 'undo'
    ? { edits: edits.slice(0, -1), undone: [...undone, last] }
    : { edits: [...edits, last], undone: undone.slice(0, -1) };
}
