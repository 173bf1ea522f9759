/** Why a vehicle does not answer any more, as far as its adapter can tell. */
import type { Exchange } from '../adapter/adapter.ts';
import { saying } from '../core/error-says.ts';
import type { Says } from '../core/says.ts';

/** Volts at the plug: below the first nothing feeds it, below the second the engine is being cranked or the battery is weak. Common practice, no source. */
const FED_V = 6;
const CRANKING_V = 10.5;

/**
 * A plug that is loose, a key that is off and an engine being started look alike from the road: told by what the adapter says.
 * @param dipped its supply did a short time ago
 */
export function whySilent(x: Exchange, why: Says, dipped: boolean): Says {
  const volts = x.supplyV ?? null;
  if (x.outcome === 'garbled') return saying('link.garbled', { why: x.why ?? why });
  if (volts !== null && volts < FED_V) return saying('link.no-supply', { volts });
  if (dipped || (volts !== null && volts < CRANKING_V)) return saying('link.cranking');
  if (volts === null) return saying('link.car-silent', { why });
  const searched = x.noted?.includes('searched') ? 'yes' : 'no';
  return saying('link.ignition-off', { volts, searched });
}
