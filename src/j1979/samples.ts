/** From answers to samples: the same code for the live poller and for the replay of a capture. */
import type { EcuMessage } from '../adapter/adapter.ts';
import type { Sample, SignalName } from '../core/signals.ts';
import { decodeNumbers } from './decode.ts';
import { resolutionOf } from './fields.ts';
import { classicAnswer, classicRequest } from './newer.ts';
import { PIDS } from './pids.ts';
import { cutCurrentData } from './split.ts';

/**
 * Stateful only for what the standard makes stateful: the maxima of PIDs 4F and 50, kept for each control unit.
 * Deterministic: the same messages in the same order give the same samples.
 */
export class SampleDecoder {
  readonly #maxima = new Map<string, Map<number, Uint8Array>>();

  /**
   * Samples in the order of the PIDs in the answers, in the order of the messages. Of several control units that
   * answer a PID, the one with the lowest address counts. Anything but an answer to a request for the PIDs asked, of
   * service 01 or of 22, gives nothing. Named values come as their code.
   */
  samples(requestPayload: Uint8Array, messages: readonly EcuMessage[], sentUs: number): Sample[] {
    const request = classicRequest(requestPayload);
    if (request[0] !== 0x01) return [];
    const asked = request.subarray(1);
    const samples: Sample[] = [];
    let tUs = 0;
    const take = (signal: SignalName, value: number): void => {
      samples.push({ signal, tUs, sentUs, value });
    };
    const answers: Answer[] = [];
    for (const message of messages) {
      const payload = classicAnswer(requestPayload, message.payload);
      const parts = cutCurrentData(payload, asked);
      if (parts === null) continue;
      const { ecu } = message;
      tUs = message.tUs;
      const maxima = this.#maximaOf(ecu);
      for (let k = 0; k < parts.count; k++) {
        const pid = parts.pids[k]!;
        if (isAmong(answers, pid, ecu)) continue;
        const [from, to] = [parts.from[k]!, parts.to[k]!];
        if (pid === 0x4f || pid === 0x50) maxima.set(pid, payload.slice(from, to));
        const count = decodeNumbers(pid, payload, from, to, maxima, take);
        if (count > 0) answers.push({ pid, ecu, count });
      }
    }
    return answers.every((a) => a.ecu === answers[0]!.ecu) ? samples : ofLowest(answers, samples);
  }

  #maximaOf(ecu: string): Map<number, Uint8Array> {
    let maxima = this.#maxima.get(ecu);
    if (!maxima) {
      // A bus has few control units; hostile bytes could name many.
      if (this.#maxima.size >= 256) this.#maxima.clear();
      maxima = new Map();
      this.#maxima.set(ecu, maxima);
    }
    return maxima;
  }
}

/** So many of the samples, in order, are of this PID of this unit. */
interface Answer {
  readonly pid: number;
  readonly ecu: string;
  readonly count: number;
}

function isAmong(answers: readonly Answer[], pid: number, ecu: string): boolean {
  for (const a of answers) if (a.pid === pid && a.ecu === ecu) return true;
  return false;
}

/** Without those of a PID that a unit with a lower address answered as well. */
function ofLowest(answers: readonly Answer[], samples: readonly Sample[]): Sample[] {
  let from = 0;
  return answers.flatMap((a) => {
    const own = samples.slice(from, from + a.count);
    from += a.count;
    return answers.some((b) => b.pid === a.pid && address(b.ecu) < address(a.ecu)) ? [] : own;
  });
}

/** An address that is no number ("?", headers off) comes last. */
function address(ecu: string): number {
  return /^[0-9A-F]+$/.test(ecu) ? Number.parseInt(ecu, 16) : Number.POSITIVE_INFINITY;
}

/** PIDs among the supported ones that carry a signal, the best to ask first: finer first, then fewer bytes. */
export function pidsFor(signal: string, supportedPids: Iterable<number>): number[] {
  const found: { pid: number; resolution: number; length: number }[] = [];
  for (const pid of new Set(supportedPids)) {
    const def = PIDS[pid];
    const field = def?.fields.find((x) => x.signal === signal);
    if (def && field) found.push({ pid, resolution: resolutionOf(field), length: def.lengths[0] ?? 0 });
  }
  return found
    .sort((a, b) => a.resolution - b.resolution || a.length - b.length || a.pid - b.pid)
    .map((x) => x.pid);
}
