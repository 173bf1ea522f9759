/** The car's own word on its cooling: a code of the thermostat or of over-temperature that came in this drive. */

import type { Snapshot } from '../../core/snapshot.ts';
import { BLANK } from '../blank.ts';
import type { Finding } from '../types.ts';
import { say } from './says.ts';

/** Coolant temperature too low for closed loop or for stable operation, thermostat, over-temperature (SAE J2012; from memory). */
const COOLING_CODES: ReadonlySet<string> = new Set(['P0125', 'P0126', 'P0128', 'P0217']);

/**
 * A fault while the last snapshot holds such a code that the one before the drive did not; null when it holds none.
 * @param before null when none was taken: then any such code counts
 */
export function coolantCodes(before: Snapshot | null, after: Snapshot | null): Finding | null {
  const codesOf = (s: Snapshot | null): string[] =>
    (s?.units ?? []).flatMap((u) => [...u.stored, ...u.pending].map((c) => c.code));
  const known = new Set(codesOf(before));
  const fresh = [...new Set(codesOf(after))].filter((c) => COOLING_CODES.has(c) && !known.has(c));
  if (fresh.length === 0) return null;
  const seen = before === null ? 'coolant.seen.code-alone' : 'coolant.seen.code';
  return {
    id: 'coolant.codes',
    system: 'coolant',
    verdict: 'fault shown',
    ...BLANK,
    pointsTo: say('coolant.points.codes'),
    evidence: fresh.sort().map((code) => ({ fromS: 0, toS: 0, text: say(seen, { code }) })),
    rule: say('coolant.rule.codes'),
    signals: [],
  };
}
