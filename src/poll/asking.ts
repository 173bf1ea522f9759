/**
 * One request after another to the vehicle there is: in the services that it speaks, asked again where it was put off,
 * and understood as SAE J1979 has it.
 */
import type { DiagnosticRequest, EcuMessage, Exchange } from '../adapter/adapter.ts';
import { isAbsence } from '../core/absence.ts';
import type { Clock } from '../core/clock.ts';
import { saying } from '../core/error-says.ts';
import { HandbackError } from '../core/errors.ts';
import type { Says } from '../core/says.ts';
import { say } from '../core/wire-says.ts';
import { decodePid } from '../j1979/decode.ts';
import { decodeNegative, NEGATIVE } from '../j1979/negative.ts';
import { classicAnswer, classicRequest, newerRequest } from '../j1979/newer.ts';
import { splitCurrentData } from '../j1979/split.ts';
import type { LinkTally } from './counters.ts';
import { type ClearEvidence, type GuardedAdapter, permitClear } from './gate.ts';
import { narrowed } from './narrow.ts';
import type { Pauses } from './pauses.ts';

const PENDING_MS = 5500;
const MOST_REPEATS = 3;
/** A dip of the supply so long ago has to do with a silence now: cranking and the start of the units behind it. */
const DIPPED_US = 20e6;

export class Asking {
  /** Null while there is none. */
  adapter: GuardedAdapter | null = null;
  /** Why the last exchange brought nothing, when it did not. */
  lastWhy: Says | null = null;
  readonly #clock: Clock;
  readonly #counting: LinkTally;
  readonly #pauses: Pauses;
  /** When the adapter said last that its supply dipped. */
  #dippedUs = Number.NEGATIVE_INFINITY;

  constructor(clock: Clock, counting: LinkTally, pauses: Pauses) {
    this.#clock = clock;
    this.#counting = counting;
    this.#pauses = pauses;
  }

  /** @throws HandbackError link.lost while there is none */
  connected(): GuardedAdapter {
    if (!this.adapter) throw new HandbackError('link.lost', saying('error.no-contact'));
    return this.adapter;
  }

  /** The supply dipped a short time ago. */
  get hasDipped(): boolean {
    return this.#clock.nowUs() - this.#dippedUs < DIPPED_US;
  }

  /** "Busy" and "pending" answers are waited for. @throws HandbackError gate.refused, link.lost */
  async ask(request: DiagnosticRequest): Promise<Exchange> {
    const asked = { ...request, payload: this.spoken(request.payload) };
    let r: DiagnosticRequest = asked;
    const kept = new Map<string, readonly EcuMessage[]>();
    for (let repeats = 0; ; repeats++) {
      const adapter = this.connected();
      if (adapter.formOf(r.payload) === null) return this.#notAsked(request.payload);
      const x = await adapter.request(r);
      this.#counting.discarded(x.discards);
      this.lastWhy = x.why;
      if (x.noted?.includes('supply dipped')) this.#dippedUs = this.#clock.nowUs();
      const putOff = withAnswers(x, kept);
      if (repeats >= MOST_REPEATS || this.#pauses.stopped || putOff === null)
        return understood(repeats === 0 ? x : { ...x, messages: [...kept.values()].flat() });
      if (putOff === NEGATIVE.pending) r = { ...asked, timeoutMs: PENDING_MS };
      else await this.#pauses.pause(50 * 2 ** repeats);
    }
  }

  /** As `ask`, without what the adapter's form of the request brought besides. */
  async askOnly(request: DiagnosticRequest): Promise<Exchange> {
    return narrowed(await this.ask(request), request.payload);
  }

  /**
   * Service 04, or 14 in its place, behind its guard: engine and vehicle speed are read from every control unit here and now.
   * @throws HandbackError gate.refused with what is missing
   */
  async clearCodes(proof: Pick<ClearEvidence, 'snapshotSavedAs' | 'typed'>): Promise<Exchange> {
    const permit = permitClear({ ...proof, ...(await this.standstill()) });
    const adapter = this.connected();
    const payload = this.spoken(Uint8Array.of(0x04));
    const x = await adapter.request({ payload, timeoutMs: PENDING_MS }, permit);
    this.#counting.discarded(x.discards);
    return understood(x);
  }

  /** Engine and vehicle speed read now, the highest of all control units; NaN where none tells. */
  async standstill(): Promise<{ readonly rpm: number; readonly speedKmh: number }> {
    return { rpm: await this.#highestNow(0x0c), speedKmh: await this.#highestNow(0x0d) };
  }

  /** The request in the services that this vehicle answers. */
  spoken(payload: Uint8Array): Uint8Array {
    return this.connected().info.services === 'newer' ? newerRequest(payload) : payload;
  }

  /** What this adapter has no harmless form for stays unasked: no data, and the link stays as it is. */
  #notAsked(payload: Uint8Array): Exchange {
    const nowUs = this.#clock.nowUs();
    return {
      ...{ asked: payload, sentUs: nowUs, doneUs: nowUs, outcome: 'no data', messages: [], discards: [] },
      why: say('wire.not-asked'),
    };
  }

  /** The highest value that any control unit gives for a PID of one number; not known counts as moving. */
  async #highestNow(pid: number): Promise<number> {
    const asked = Uint8Array.of(pid);
    const x = await this.askOnly({ payload: Uint8Array.of(0x01, pid) });
    let highest = Number.NEGATIVE_INFINITY;
    for (const m of x.messages) {
      const split = splitCurrentData(m.payload, asked);
      if (!split.ok) continue;
      for (const part of split.parts)
        for (const { value } of decodePid(pid, part.data).readings)
          if (!isAbsence(value)) highest = Math.max(highest, value);
    }
    return highest === Number.NEGATIVE_INFINITY ? Number.NaN : highest;
  }
}

/** As SAE J1979 has it, whatever services it was asked in. */
function understood(x: Exchange): Exchange {
  const messages = x.messages.map((m) => ({ ...m, payload: classicAnswer(x.asked, m.payload) }));
  return { ...x, asked: classicRequest(x.asked), messages };
}

/**
 * Adds what control units said to what they said before: an answer stays when the next is "busy".
 * @returns "pending" or "busy", where that is all that one of them said so far; null otherwise
 */
function withAnswers(x: Exchange, kept: Map<string, readonly EcuMessage[]>): number | null {
  for (const ecu of new Set(x.messages.map((m) => m.ecu))) {
    const own = x.messages.filter((m) => m.ecu === ecu);
    if (putOffWith(own) === null || !kept.has(ecu)) kept.set(ecu, own);
  }
  return [...kept.values()].map(putOffWith).find((code) => code !== null) ?? null;
}

function putOffWith(messages: readonly EcuMessage[]): number | null {
  if (messages.some((m) => m.payload[0] !== 0x7f)) return null;
  const code = decodeNegative(messages.at(-1)!.payload)?.code;
  return code === NEGATIVE.pending || code === NEGATIVE.busy ? code : null;
}
