/**
 * The buses before CAN with their control units. A diagnostic line of one wire (K-line): wake-up, messages of at most eleven bytes with
 * header and checksum, and a session that ends when nobody speaks. From memory of ISO 9141-2 and ISO 14230-2/-4.
 * SAE J1850 in both kinds (from memory): the same messages with other headers and a CRC, no wake-up and no session.
 */
import type { Clock, Timer } from '../../core/clock.ts';
import type { Random } from '../../core/random.ts';
import { CODE_SERVICES } from '../../j1979/codes.ts';
import { encodeNegative, NEGATIVE } from '../../j1979/negative.ts';
import type { Responder, UnitName } from './content.ts';
import type { UnitAnswer } from './unit.ts';

/** `iso9141` and `kwp-slow` are woken at five baud, `kwp-fast` by a short pulse; the others are never asleep. */
export const KLINE_KINDS = ['iso9141', 'kwp-slow', 'kwp-fast', 'j1850-pwm', 'j1850-vpw'] as const;
export type KlineKind = (typeof KLINE_KINDS)[number];

export interface KlineOptions {
  readonly clock: Clock;
  readonly random: Random;
  readonly kind: KlineKind;
  readonly units: readonly { readonly name: UnitName; readonly respond: Responder }[];
  readonly powered: () => boolean;
  /** ISO 14230 alone: units wake and answer only when each is called by its own address. */
  readonly physicalOnly?: boolean;
  /** From request to answer, ms; held within P2, 25 to 50 ms. */
  readonly responseMs: number;
  readonly jitterMs: number;
  /** Services first answered with "answer follows" (negative response 78). */
  readonly pendingServices: readonly number[];
  readonly onAnswer: (answer: UnitAnswer) => void;
}

const ADDRESS: Readonly<Record<UnitName, number>> = { engine: 0x10, transmission: 0x18 };
const TESTER = 0xf1;
/** Ten bits at 10.4 kbit/s on the K-line; eight on J1850, at 41.6 kbit/s with PWM. */
const BYTE_MS: Readonly<Record<KlineKind, number>> = {
  ...{ iso9141: 10_000 / 10_400, 'kwp-slow': 10_000 / 10_400, 'kwp-fast': 10_000 / 10_400 },
  ...{ 'j1850-pwm': 8000 / 41_600, 'j1850-vpw': 8000 / 10_400 },
};
/** Three header bytes of a request to all and the first two of an answer; null: ISO 14230, with length and address. */
const HEADERS: Readonly<Record<KlineKind, { readonly asks: Header; readonly answers: Header } | null>> = {
  iso9141: { asks: [0x68, 0x6a, 0xf1], answers: [0x48, 0x6b] },
  'kwp-slow': null,
  'kwp-fast': null,
  'j1850-pwm': { asks: [0x61, 0x6a, 0xf1], answers: [0x41, 0x6b] },
  'j1850-vpw': { asks: [0x68, 0x6a, 0xf1], answers: [0x48, 0x6b] },
};
type Header = readonly number[];

export const isJ1850 = (kind: KlineKind): boolean => kind.startsWith('j1850');

/** A whole message of the tester: header (its own or the one given), data, check byte. */
export function requestMessage(kind: KlineKind, header: Header | null, payload: Uint8Array): Uint8Array {
  const [format = 0, target = 0, source = 0] = header ?? HEADERS[kind]?.asks ?? [0xc0, 0x33, TESTER];
  const first = HEADERS[kind] ? format : (format & 0xc0) | payload.length;
  return checked(kind, [first, target, source, ...payload]);
}

function checked(kind: KlineKind, bytes: readonly number[]): Uint8Array {
  return Uint8Array.of(...bytes, checkByte(kind, bytes));
}

const checkByte = (kind: KlineKind, bytes: Iterable<number>): number =>
  isJ1850(kind) ? crc8(bytes) : checksum(bytes);
/** Pause of the tester between its bytes, P4, and of a unit, P1. */
const TESTER_GAP_MS = 5;
const UNIT_GAP_MS = 0.5;
const P2_MS = { min: 25, max: 50 } as const;
/** The session is over when no message passes for this long, P3. */
const SESSION_MS = 5000;
const WAKE_MS: Readonly<Record<KlineKind, { readonly there: number; readonly not: number }>> = {
  iso9141: { there: 2500, not: 2600 },
  'kwp-slow': { there: 2500, not: 2600 },
  'kwp-fast': { there: 180, not: 400 },
  'j1850-pwm': { there: 5, not: 150 },
  'j1850-vpw': { there: 5, not: 150 },
};
const PENDING_EXTRA_MS = 400;

export class KLine {
  readonly kind: KlineKind;
  readonly #o: KlineOptions;
  #awakeUntilUs = Number.NEGATIVE_INFINITY;
  #timers = new Set<Timer>();

  constructor(options: KlineOptions) {
    this.#o = options;
    this.kind = options.kind;
  }

  /**
   * True in `done` when a unit answered this kind of wake-up.
   * @param target null: all are called
   */
  wake(kind: KlineKind, target: number | null, done: (awake: boolean) => void): void {
    const { physicalOnly = false, units } = this.#o;
    const called = target === null ? !physicalOnly : units.some((unit) => ADDRESS[unit.name] === target);
    const there = kind === this.kind && called;
    this.#after(WAKE_MS[kind][there ? 'there' : 'not'], () => {
      const awake = there && this.#o.powered();
      if (awake) this.keepAlive(true);
      done(awake);
    });
  }

  /** A message that only keeps the session; it cannot bring back one that is over. */
  keepAlive(force = false): void {
    const nowUs = this.#o.clock.nowUs();
    if (force || nowUs <= this.#awakeUntilUs) this.#awakeUntilUs = nowUs + SESSION_MS * 1000;
  }

  /**
   * @param message header, data and checksum
   * @param sent when the last byte of it has passed
   * @param heard each answer, header and checksum included, when its last byte has passed
   */
  send(message: Uint8Array, sent: () => void, heard: (message: Uint8Array) => void): void {
    const gapMs = isJ1850(this.kind) ? 0 : TESTER_GAP_MS;
    this.#after(message.length * (BYTE_MS[this.kind] + gapMs), () => {
      sent();
      const { powered, clock, units } = this.#o;
      if (!powered() || (clock.nowUs() > this.#awakeUntilUs && !isJ1850(this.kind))) return;
      const request = this.#requestOf(message);
      if (request === null) return;
      this.keepAlive();
      let atMs = 0;
      for (const unit of units) {
        if (request.target !== null && request.target !== ADDRESS[unit.name]) continue;
        atMs = this.#answer(unit, request.data, request.target === null, atMs, heard);
      }
    });
  }

  /** What is under way is not heard any more. */
  stop(): void {
    for (const timer of this.#timers) timer.cancel();
    this.#timers.clear();
  }

  /** @returns when the last byte of its answers has passed, ms from now */
  #answer(
    unit: KlineOptions['units'][number],
    request: Uint8Array,
    functional: boolean,
    fromMs: number,
    heard: (message: Uint8Array) => void,
  ): number {
    const { random, responseMs, jitterMs, pendingServices, clock, onAnswer } = this.#o;
    const response = unit.respond(request, functional);
    const mute = HEADERS[this.kind] !== null;
    const messages = response === null ? [] : klineMessages(request, response, mute);
    const service = request[0] ?? 0;
    const waits = messages.length > 0 && !mute && pendingServices.includes(service);
    if (waits) messages.unshift(encodeNegative(service, NEGATIVE.pending));
    let atMs = fromMs;
    messages.forEach((data, i) => {
      const p2 = Math.max(P2_MS.min, responseMs + random.between(0, jitterMs));
      atMs += Math.min(P2_MS.max, p2) + (waits && i === 1 ? PENDING_EXTRA_MS : 0);
      const message = this.#framed(ADDRESS[unit.name], data);
      atMs += message.length * (BYTE_MS[this.kind] + UNIT_GAP_MS);
      this.#after(atMs, () => {
        onAnswer({ unit: unit.name, tUs: clock.nowUs(), functional, request, response: data });
        this.keepAlive(true);
        heard(message);
      });
    });
    return atMs;
  }

  /** Null: not for anybody here, or damaged. `target` null: for all. */
  #requestOf(message: Uint8Array): { readonly target: number | null; readonly data: Uint8Array } | null {
    const [format = 0, target = 0, source = 0] = message;
    const data = message.slice(3, -1);
    if (message.length < 5 || checkByte(this.kind, message.subarray(0, -1)) !== message.at(-1)) return null;
    const asks = HEADERS[this.kind]?.asks;
    if (asks) return [format, target, source].every((b, i) => b === asks[i]) ? { target: null, data } : null;
    if ((format & 0x3f) !== data.length || source !== TESTER) return null;
    if (format >> 6 === 3) return this.#o.physicalOnly ? null : { target: null, data };
    return format >> 6 === 2 ? { target, data } : null;
  }

  #framed(source: number, data: Uint8Array): Uint8Array {
    const header = HEADERS[this.kind]?.answers ?? [0x80 | (data.length & 0x3f), TESTER];
    return checked(this.kind, [...header, source, ...data]);
  }

  #after(ms: number, fn: () => void): void {
    const timer = this.#o.clock.after(ms, () => {
      this.#timers.delete(timer);
      fn();
    });
    this.#timers.add(timer);
  }
}

/** Sum of all bytes, low eight bits. */
function checksum(bytes: Iterable<number>): number {
  let sum = 0;
  for (const b of bytes) sum = (sum + b) & 0xff;
  return sum;
}

/** SAE J1850, from memory: polynomial 1D, start FF, inverted; of "123456789" it is 4B. */
export function crc8(bytes: Iterable<number>): number {
  let crc = 0xff;
  for (const byte of bytes)
    for (let bit = 7; bit >= 0; bit--) {
      const carry = ((crc >> 7) ^ (byte >> bit)) & 1;
      crc = ((crc << 1) & 0xff) ^ (carry * 0x1d);
    }
  return crc ^ 0xff;
}

/**
 * What a unit says on CAN, cut into the messages of the older buses: seven bytes at most, code lists without a
 * count, vehicle information in numbered pieces of four, monitor results with one limit; one PID a request.
 */
export function klineMessages(request: Uint8Array, response: Uint8Array, mute: boolean): Uint8Array[] {
  const [service = 0] = response;
  if (service === 0x7f) return mute ? [] : [response]; // ISO 9141-2 knows none; on J1850 they are left out here
  if ((request[0] === 0x01 && request.length > 2) || (request[0] === 0x02 && request.length > 3)) return [];
  if (Object.values(CODE_SERVICES).some((s) => service === (s | 0x40)))
    return pieces(response.subarray(2), 6, 'behind').map((codes) => Uint8Array.of(service, ...codes));
  const [, id = 0] = response;
  if (service === 0x49 && id === 0) return [Uint8Array.of(service, id, 1, ...response.subarray(2, 6))];
  if (service === 0x49)
    return pieces(response.subarray(3), 4, 'in front').map((piece, i) =>
      Uint8Array.of(service, id, i + 1, ...piece),
    );
  if (service === 0x46 && id % 0x20 === 0)
    return [Uint8Array.of(service, id, 0xff, ...response.subarray(2, 6))];
  if (service === 0x46)
    return pieces(response.subarray(1), 9, 'behind').map((r) =>
      Uint8Array.of(service, r[0]!, r[1]! & 0x7f, r[3]!, r[4]!, r[7]!, r[8]!),
    );
  return response.length <= 7 ? [response] : [];
}

/** At least one; filled up with zeros. */
function pieces(bytes: Uint8Array, size: number, fill: 'in front' | 'behind'): Uint8Array[] {
  const n = Math.max(1, Math.ceil(bytes.length / size));
  const all = new Uint8Array(n * size);
  all.set(bytes, fill === 'in front' ? all.length - bytes.length : 0);
  return Array.from({ length: n }, (_, i) => all.slice(i * size, (i + 1) * size));
}
