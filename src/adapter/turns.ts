/** Requests one after the other, in the order of asking: one in flight per adapter. */

import { HandbackError } from '../core/errors.ts';
import { asIs } from '../core/says.ts';
import type { DiagnosticRequest, Exchange } from './adapter.ts';

export class Turns {
  readonly #exchange: (request: DiagnosticRequest) => Promise<Exchange>;
  #tail: Promise<unknown> = Promise.resolve();

  constructor(exchange: (request: DiagnosticRequest) => Promise<Exchange>) {
    this.#exchange = exchange;
  }

  /** Rejects only on a programming mistake: a payload that no single frame carries. */
  take(request: DiagnosticRequest): Promise<Exchange> {
    if (request.payload.length < 1 || request.payload.length > 7)
      return Promise.reject(new HandbackError('internal', asIs('a request has one to seven bytes')));
    const turn = this.#tail.then(() => this.#exchange(request));
    this.#tail = turn.catch(() => undefined);
    return turn;
  }
}
