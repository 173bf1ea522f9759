/** The satellite receiver that is wanted, if any: kept up for as long as it is, and how it stands for faces. */

import { Subject, type Subscription } from 'rxjs';
import type { Clock } from '../core/clock.ts';
import { saying } from '../core/error-says.ts';
import type { Says } from '../core/says.ts';
import type { LinkFactory } from '../link/link.ts';
import type { ReceiverEvent } from '../nmea/event.ts';
import { FixReader } from '../nmea/fixes.ts';
import { spelled } from '../words/spelled.ts';
import type { ReceiverView } from './api.ts';
import { SatelliteReceiver } from './receiver.ts';

/** A fix older than this is none. */
const STALE_US = 5e6;

export class ReceiverDesk {
  readonly #clock: Clock;
  readonly #events = new Subject<ReceiverEvent>();
  /** Of whichever receiver is wanted now. */
  readonly events$ = this.#events.asObservable();
  #now: { readonly port: string; readonly receiver: SatelliteReceiver; readonly heard: Subscription } | null =
    null;
  #fixes = new FixReader();
  #left: Promise<void> = Promise.resolve();

  constructor(clock: Clock) {
    this.#clock = clock;
  }

  /** Where it is looked for; null when none is wanted. */
  get port(): string | null {
    return this.#now?.port ?? null;
  }

  /** What a capture that begins now is to know of it: null while nothing is heard. */
  get begun(): ReceiverEvent | null {
    const now = this.#now;
    return now?.receiver.state.phase === 'heard'
      ? { kind: 'receiver', tUs: this.#clock.nowUs(), state: 'heard', text: now.port }
      : null;
  }

  /** Looks for it from now on, whether it is there or not; null: none is wanted any more. */
  async use(port: string | null, factoryOf: (port: string) => LinkFactory): Promise<void> {
    // Two requests at once: the later one ends what the earlier one began.
    do await this.close();
    while (this.#now);
    if (port === null) return;
    const receiver = new SatelliteReceiver(factoryOf(port), this.#clock);
    const fixes = new FixReader();
    this.#fixes = fixes;
    const heard = receiver.events$.subscribe((event) => {
      if (event.kind === 'nmea') fixes.read(event.line, event.tUs);
      this.#events.next(event);
    });
    this.#now = { port, receiver, heard };
    receiver.start();
  }

  async close(): Promise<void> {
    const left = this.#now;
    this.#now = null;
    left?.heard.unsubscribe();
    if (left) this.#left = this.#left.then(() => left.receiver.stop());
    await this.#left;
  }

  view(): ReceiverView | null {
    const now = this.#now;
    if (!now) return null;
    const { port } = now;
    const { phase, trouble } = now.receiver.state;
    const newest = this.#fixes.fix;
    const fix = newest && this.#clock.nowUs() - newest.tUs <= STALE_US && newest.quality > 0 ? newest : null;
    return {
      port,
      phase: phase === 'heard' && fix ? 'fix' : phase,
      satellites: fix?.satellites ?? null,
      errorM: fix?.errorM ?? null,
      ...spelled({ sentence: sentenceOf(port, phase, trouble, fix) }),
    };
  }
}

function sentenceOf(
  port: string,
  phase: 'searching' | 'heard',
  trouble: Says | null,
  fix: FixReader['fix'],
): Says {
  if (phase === 'searching')
    return trouble === null
      ? saying('receiver.searching', { port })
      : saying('receiver.missing', { port, why: trouble });
  if (fix === null) return saying('receiver.no-fix', { port });
  return fix.errorM === null
    ? saying('receiver.fix', { satellites: fix.satellites ?? 0 })
    : saying('receiver.fix-error', { satellites: fix.satellites ?? 0, errorM: fix.errorM });
}
