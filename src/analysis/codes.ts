/** The verdict on the fault memory: empty is good only when the car had the time and the means to find a fault. */
import type { Snapshot } from '../j1979/snapshot.ts';
import type { Finding } from './types.ts';

const RULE =
  'Fault shown: a stored or pending code, or the engine lamp on, in the last snapshot. Shown good: every service was answered, no code, lamp off, every fitted monitor complete, and codes not cleared less than a drive ago. Anything else is not shown.';

/** How long ago codes were cleared, by what the control units say; null where none says it. */
export function sinceCleared(
  snapshot: Snapshot,
): { readonly distanceKm: number | null; readonly warmUps: number | null } | null {
  const km = least(snapshot, 'clear_km');
  const warmUps = least(snapshot, 'clear_warmups');
  return km === null && warmUps === null ? null : { distanceKm: km, warmUps };
}

/** Less than a drive: the engine has not once warmed up since (SAE J1979 counts warm-ups in PID 30; from memory). */
export const clearedRecently = (snapshot: Snapshot): boolean => sinceCleared(snapshot)?.warmUps === 0;

/** @param after the last snapshot; null when none was taken */
export function codesFinding(after: Snapshot | null): Finding {
  const base: Finding = {
    id: 'codes.after',
    system: 'codes',
    verdict: 'not shown',
    pointsTo: null,
    saidAtS: null,
    fromS: null,
    toS: null,
    measured: null,
    limit: null,
    evidence: [],
    needs: null,
    rule: RULE,
    signals: [],
  };
  if (after === null || after.units.length === 0)
    return { ...base, needs: 'Read the fault memory after the drive.' };
  if (after.units.some((u) => u.stored.length > 0 || u.pending.length > 0 || u.mil === true))
    return { ...base, verdict: 'fault shown', pointsTo: 'what the codes say' };
  const needs = codesNeeds(after);
  return { ...base, verdict: needs === null ? 'shown good' : 'not shown', needs };
}

function codesNeeds(after: Snapshot): string | null {
  // Not every vehicle knows permanent codes; what a fault must show in is stored and pending codes and readiness.
  if (after.unanswered.some((name) => !name.startsWith('permanent')))
    return 'Some services were not answered: read the fault memory again, ignition on.';
  if (after.units.some((u) => u.permanent.length > 0))
    return 'A permanent code stays until the control unit has tested the repair itself: drive on, then read again.';
  if (clearedRecently(after)) return 'Codes were cleared less than a drive ago: drive on, then read again.';
  const open = after.units
    .flatMap((u) => u.readiness?.monitors ?? [])
    .filter((m) => m.supported && !m.complete).length;
  if (open === 1) return 'One monitor is not complete: drive on until it is, then read again.';
  if (open > 1) return `${open} monitors are not complete: drive on until they are, then read again.`;
  return null;
}

/** The unit that was cleared last decides. Snapshots of older versions do not say. */
function least(snapshot: Snapshot, signal: string): number | null {
  const all = snapshot.units
    .flatMap((u) => u.sinceCleared ?? [])
    .flatMap((v) => (v.signal === signal && typeof v.value === 'number' ? [v.value] : []));
  return all.length === 0 ? null : Math.min(...all);
}
