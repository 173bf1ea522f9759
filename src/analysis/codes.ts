/** The verdict on the fault memory: empty is good only when the car had the time and the means to find a fault. */

import type { Says } from '../core/says.ts';
import type { Snapshot } from '../j1979/snapshot.ts';
import { say } from './says.ts';
import type { Finding } from './types.ts';

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
    rule: say('codes.rule'),
    signals: [],
  };
  if (after === null || after.units.length === 0) return { ...base, needs: say('codes.need.read') };
  if (after.units.some((u) => u.stored.length > 0 || u.pending.length > 0 || u.mil === true))
    return { ...base, verdict: 'fault shown', pointsTo: say('codes.points') };
  const needs = codesNeeds(after);
  return { ...base, verdict: needs === null ? 'shown good' : 'not shown', needs };
}

function codesNeeds(after: Snapshot): Says | null {
  // Not every vehicle knows permanent codes; what a fault must show in is stored and pending codes and readiness.
  if (after.unanswered.some((name) => !name.startsWith('permanent'))) return say('codes.need.unanswered');
  if (after.units.some((u) => u.permanent.length > 0)) return say('codes.need.permanent');
  if (clearedRecently(after)) return say('codes.need.cleared');
  const open = after.units
    .flatMap((u) => u.readiness?.monitors ?? [])
    .filter((m) => m.supported && !m.complete).length;
  return open > 0 ? say('codes.need.monitors', { n: open }) : null;
}

/** The unit that was cleared last decides. Snapshots of older versions do not say. */
function least(snapshot: Snapshot, signal: string): number | null {
  const all = snapshot.units
    .flatMap((u) => u.sinceCleared ?? [])
    .flatMap((v) => (v.signal === signal && typeof v.value === 'number' ? [v.value] : []));
  return all.length === 0 ? null : Math.min(...all);
}
