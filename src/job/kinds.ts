/**
 * Kinds of engine: cars of which one may be expected to do what another does. A kind is what the workshop states:
 * designation, displacement, induction, fuel. Nothing is looked up.
 */
import type { Job } from './job.ts';

type Stated = Pick<Job, 'engine' | 'displacementCc' | 'profile'>;

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
