/** Two links joined in process: what one end writes, the other hears. For the simulated vehicle and for tests. */

import type { Clock } from '../core/clock.ts';
import { saying } from '../core/error-says.ts';
import { HandbackError } from '../core/errors.ts';
import { say } from '../core/wire-says.ts';
import { Inbox } from './inbox.ts';
import type { Link, LinkEvent } from './link.ts';

class PipeEnd implements Link {
  readonly name: string;
  readonly inbox = new Inbox();
  readonly #clock: Clock;
  #peer: PipeEnd | null = null;

  constructor(clock: Clock, name: string) {
    this.#clock = clock;
    this.name = name;
  }

  join(peer: PipeEnd): void {
    this.#peer = peer;
  }

  listen(listener: (event: LinkEvent) => void): void {
    this.inbox.listen(listener);
  }

  async write(bytes: Uint8Array): Promise<void> {
    const peer = this.#peer;
    if (this.inbox.ended || !peer)
      throw new HandbackError('link.lost', saying('error.link-closed', { link: this.name }));
    const copy = bytes.slice();
    // Never inside the writer's own call: a real wire does not answer before the write returns.
    queueMicrotask(() => peer.inbox.data(this.#clock.nowUs(), copy));
  }

  async close(): Promise<void> {
    const peer = this.#peer;
    this.inbox.end();
    if (!peer) return;
    this.#peer = null;
    queueMicrotask(() => peer.inbox.gone(this.#clock.nowUs(), say('wire.other-end', { link: this.name })));
  }
}

/**
 * A pair of joined links. Bytes arrive in order at the clock's time of writing, without pacing; closing one
 * end is heard at the other as `closed`. Writing to a closed pair rejects with link.lost.
 */
export function pipePair(clock: Clock, name = 'pipe'): [near: Link, far: Link] {
  const near = new PipeEnd(clock, name);
  const far = new PipeEnd(clock, `${name} (far end)`);
  near.join(far);
  far.join(near);
  return [near, far];
}
