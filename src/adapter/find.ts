/** From a link factory to a ready adapter: tries kinds of adapter and line speeds, and says what was tried. */
import type { Clock } from '../core/clock.ts';
import { saying } from '../core/error-says.ts';
import { HandbackError, mistakeIn, reasonOf } from '../core/errors.ts';
import type { Says } from '../core/says.ts';
import type { Link, LinkFactory } from '../link/link.ts';
import type { Adapter, Haste, PortMemory, WireTap } from './adapter.ts';
import { dialectOf, families, titleOf } from './dialects.ts';

export interface FindOptions {
  /** The only dialect to look for; `auto`: all of them. */
  readonly family: string;
  /** Only this line speed, bit/s. */
  readonly baud?: number;
  /** Tried first: what worked last time. */
  readonly last?: { readonly family: string; readonly baud: number | null };
  readonly tap: WireTap;
  readonly clock: Clock;
  /** What was learnt about this port; default: nothing, and its speed is not to be raised. */
  readonly memory?: PortMemory;
  /** Put in front of each link before a driver gets it. */
  readonly guard?: (link: Link, family: string) => Link;
  /** Asked before each try; true ends the search. */
  readonly cancelled?: () => boolean;
}

/** How many of the line speeds get a second, patient look. */
const PATIENT_SPEEDS = 2;
/** A first look that took longer than this had something to talk to: patience brings no more. */
const LOOKED_US = 5e6;

interface Try {
  readonly family: string;
  readonly baud: number | null;
  readonly haste: Haste;
}

/**
 * Each try opens a link of its own; for each speed the text adapters, which are far more common, come first. All
 * speeds are looked at quickly, then the first ones again patiently: an adapter that starts only when its port is
 * opened, or that never says a word of its own. Nothing sent to find one kind does anything to the other: each
 * knows the other's greeting as a mistake.
 * @throws HandbackError link.open, link.busy, vehicle.silent (an adapter answers, no vehicle does),
 * adapter.nonsense or adapter.silent with everything that was tried.
 */
export async function connectAdapter(factory: LinkFactory, options: FindOptions): Promise<Adapter> {
  const { tap, clock, memory } = options;
  const tried: Says[] = [];
  const looked = new Set<string>();
  let nonsense = false;
  let hint: Says | null = null;
  for (const { family, baud, haste } of triesOf(factory, options)) {
    if (looked.has(`${family} ${baud}`)) continue;
    if (options.cancelled?.()) throw new HandbackError('link.lost', saying('error.search-stopped'));
    const sinceUs = clock.nowUs();
    const link = await factory.open(baud === null ? {} : { baud });
    tap({
      kind: 'link',
      tUs: clock.nowUs(),
      state: 'opened',
      text: baud === null ? link.name : `${link.name} at ${baud} bit/s`,
    });
    try {
      const driver = dialectOf(family).driver(clock);
      const adapter = await driver.connect(options.guard?.(link, family) ?? link, tap, baud, haste, memory);
      const { identity, bus, raisedFrom } = adapter.info;
      const raised = raisedFrom === undefined ? '' : `; line raised to ${adapter.info.baud} bit/s`;
      tap({ kind: 'link', tUs: clock.nowUs(), state: 'identified', text: `${identity}; ${bus}${raised}` });
      return adapter;
    } catch (thrown) {
      await link.close();
      tap({ kind: 'link', tUs: clock.nowUs(), state: 'closed', text: reasonOf(thrown) });
      if (!(thrown instanceof HandbackError) || !thrown.code.startsWith('adapter.'))
        throw mistakeIn(`connecting, the driver of dialect "${family}"`, thrown);
      if (clock.nowUs() - sinceUs > LOOKED_US) looked.add(`${family} ${baud}`);
      hint ??= thrown.told.hint;
      nonsense ||= thrown.code === 'adapter.nonsense';
      tried.push(
        saying('error.tried', { dialect: titleOf(family), baud: baud ?? 0, haste, why: thrown.told.message }),
      );
    }
  }
  throw nonsense
    ? new HandbackError('adapter.nonsense', saying('error.no-adapter', { link: factory.name, tried }), {
        hint: hint ?? saying('error.no-adapter-hint'),
      })
    : new HandbackError('adapter.silent', saying('error.silent', { link: factory.name, tried }), {
        hint: hint ?? saying('error.silent-hint'),
      });
}

function triesOf(factory: LinkFactory, options: FindOptions): Try[] {
  const { baud, family, last } = options;
  const wanted = family === 'auto' ? families() : [family];
  let speeds: readonly (number | null)[] = factory.baudRates.length > 0 ? factory.baudRates : [null];
  if (baud !== undefined) speeds = [baud];
  const quick = speeds.flatMap((speed) =>
    wanted.map((f): Try => ({ family: f, baud: speed, haste: 'quick' })),
  );
  const again = speeds.slice(0, PATIENT_SPEEDS);
  const patient = again.flatMap((speed) =>
    wanted
      .filter((f) => dialectOf(f).quickToFind || family !== 'auto' || speed === again.at(-1))
      .map((f): Try => ({ family: f, baud: speed, haste: 'patient' })),
  );
  const known = quick.findIndex((t) => t.family === last?.family && t.baud === last?.baud);
  if (known > 0) quick.unshift(...quick.splice(known, 1));
  return [...quick, ...patient];
}
