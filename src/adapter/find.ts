/** From a link factory to a ready adapter: tries kinds of adapter and line speeds, and says what was tried. */
import type { Clock } from '../core/clock.ts';
import { HandbackError, reasonOf } from '../core/errors.ts';
import type { LinkFactory } from '../link/link.ts';
import type { Adapter, WireTap } from './adapter.ts';
import { atDriver } from './at/driver.ts';
import { slcanDriver } from './slcan/driver.ts';

export interface FindOptions {
  readonly family: 'auto' | 'at' | 'slcan';
  /** Only this line speed, bit/s. */
  readonly baud?: number;
  /** Tried first: what worked last time. */
  readonly last?: { readonly family: 'at' | 'slcan'; readonly baud: number | null };
  readonly tap: WireTap;
  readonly clock: Clock;
  /** Asked before each try; true ends the search. */
  readonly cancelled?: () => boolean;
}

/**
 * Each try opens a link of its own; for each speed the text adapters, which are far more common, come first.
 * Nothing sent to find one kind does anything to the other: each knows the other's greeting as a mistake.
 * @throws HandbackError link.open, link.busy, vehicle.silent (an adapter answers, no vehicle does),
 * adapter.nonsense or adapter.silent with everything that was tried.
 */
export async function connectAdapter(factory: LinkFactory, options: FindOptions): Promise<Adapter> {
  const { tap, clock, last } = options;
  const drivers = { at: atDriver(clock), slcan: slcanDriver(clock) };
  const families = options.family === 'auto' ? (['at', 'slcan'] as const) : [options.family];
  const speeds: readonly (number | null)[] =
    options.baud !== undefined ? [options.baud] : factory.baudRates.length > 0 ? factory.baudRates : [null];
  const tries = speeds.flatMap((baud) => families.map((family) => ({ family, baud })));
  const known = tries.findIndex((t) => t.family === last?.family && t.baud === last?.baud);
  if (known > 0) tries.unshift(...tries.splice(known, 1));

  const tried: string[] = [];
  let nonsense = false;
  for (const { family, baud } of tries) {
    if (options.cancelled?.()) throw new HandbackError('link.lost', 'The search was stopped.');
    const link = await factory.open(baud === null ? {} : { baud });
    tap({
      kind: 'link',
      tUs: clock.nowUs(),
      state: 'opened',
      text: baud === null ? link.name : `${link.name} at ${baud} bit/s`,
    });
    try {
      const adapter = await drivers[family].connect(link, tap, baud);
      const { identity, bus } = adapter.info;
      tap({ kind: 'link', tUs: clock.nowUs(), state: 'identified', text: `${identity}; ${bus}` });
      return adapter;
    } catch (thrown) {
      await link.close();
      tap({ kind: 'link', tUs: clock.nowUs(), state: 'closed', text: reasonOf(thrown) });
      if (!(thrown instanceof HandbackError) || !thrown.code.startsWith('adapter.')) throw thrown;
      nonsense ||= thrown.code === 'adapter.nonsense';
      const kind = family === 'at' ? 'text adapter' : 'serial-line CAN';
      tried.push(`${kind}${baud === null ? '' : ` at ${baud}`}: ${thrown.message}`);
    }
  }
  throw nonsense
    ? new HandbackError(
        'adapter.nonsense',
        `Something answers on ${factory.name}, but not as an adapter. Tried ${tried.join('; ')}.`,
        {
          hint: 'Is this the right port? Close other programs, unplug the adapter and plug it in again; give its line speed if you know it.',
        },
      )
    : new HandbackError('adapter.silent', `Nothing answers on ${factory.name}. Tried ${tried.join('; ')}.`, {
        hint: 'Does the adapter have power (plugged into the vehicle, lamp lit)? Is this the right port? Then try again.',
      });
}
