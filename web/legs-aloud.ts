/** Of which legs something is said aloud: those that ticked themselves off, and those whose tick was taken back. Pure. */
import type { Leg, LiveView } from '../src/words/views.ts';

export function legsAloud(
  before: LiveView,
  now: LiveView,
): { readonly done: readonly Leg[]; readonly back: readonly Leg[] } {
  // Who has to stop now hears of the coolant alone.
  if (now.coolant.tooHot) return { done: [], back: [] };
  const known = new Set(before.legs.filter((l) => l.covered).map((l) => l.leg));
  return {
    done: now.legs.filter((l) => l.covered && !known.has(l.leg)),
    back: now.legs.filter((l) => !l.covered && known.has(l.leg)),
  };
}
