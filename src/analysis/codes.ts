/** The verdict on the fault memory: empty is good only when the car had the time and the means to find a fault. */

import type { Says } from '../core/says.ts';
import { clearedRecently, type Snapshot } from '../core/snapshot.ts';
import { BLANK } from './blank.ts';
import { say } from './says.ts';
import type { Finding } from './types.ts';

/**
 * @param after the last snapshot; null when none was taken
 * @param driven whether a drive after the work ended later than it was read: a code that came in that drive is not in it
 */
export function codesFinding(after: Snapshot | null, driven = false): Finding {
  const base: Finding = {
    id: 'codes.after',
    system: 'codes',
    verdict: 'not shown',
    ...BLANK,
    rule: say('codes.rule'),
    signals: [],
  };
  if (after === null || after.units.length === 0) return { ...base, needs: say('codes.need.read') };
  if (after.units.some((u) => u.stored.length > 0 || u.pending.length > 0 || u.mil === true))
    return { ...base, verdict: 'fault shown', pointsTo: say('codes.points') };
  const needs = driven ? say('codes.need.read') : codesNeeds(after);
  return { ...base, verdict: needs === null ? 'shown good' : 'not shown', needs };
}

function codesNeeds(after: Snapshot): Says | null {
  // Not every vehicle knows permanent codes; what a fault must show in is stored and pending codes, lamp and readiness.
  const told = after.units.some((u) => u.mil !== null && u.readiness !== null);
  if (!told || after.unanswered.some((name) => !name.startsWith('permanent')))
    return say('codes.need.unanswered');
  if (after.units.some((u) => u.permanent.length > 0)) return say('codes.need.permanent');
  if (clearedRecently(after)) return say('codes.need.cleared');
  const open = after.units
    .flatMap((u) => u.readiness?.monitors ?? [])
    .filter((m) => m.supported && !m.complete).length;
  return open > 0 ? say('codes.need.monitors', { n: open }) : null;
}
