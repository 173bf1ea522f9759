/** Driver for serial-line CAN adapters: single frames out, flow control to whoever answers long, messages in. */

import { afterAwaiting, type Clock, type Timer } from '../../core/clock.ts';
import { saying } from '../../core/error-says.ts';
import { HandbackError } from '../../core/errors.ts';
import { asIs, listed, type Says } from '../../core/says.ts';
import { say } from '../../core/wire-says.ts';
import { FUNCTIONAL, requestIdOf } from '../../isotp/address.ts';
import { buildFrame } from '../../isotp/frame.ts';
import {
  type Adapter,
  type AdapterDriver,
  type AdapterInfo,
  type DiagnosticRequest,
  type Dialect,
  type EcuMessage,
  type Exchange,
  newPort,
  type Outcome,
  type PortMemory,
  type Services,
} from '../adapter.ts';
import { answersTo, onlyAnswers } from '../answers.ts';
import { MOST_PIDS, PROBES, refused } from '../probes.ts';
import { Turns } from '../turns.ts';
import { Wire } from '../wire.ts';
import { SlcanAnswer, type SlcanAsked } from './answer.ts';
import { ALL_PASS, ANSWERS_ONLY, type FilterSetting } from './filters.ts';
import { formOf } from './form.ts';
import { carriesWell, LineMeter, MOST_LOST } from './meter.ts';
import { Outbox } from './outbox.ts';
import { LISTENS_A_SECOND, SlcanPort } from './port.ts';
import { readSlcan } from './read.ts';

/** Bit rates of legislated diagnostics (ISO 15765-4, from memory) and their command (common practice). */
const RATES = [
  { bitrate: 500_000, command: 'S6' },
  { bitrate: 250_000, command: 'S5' },
] as const;
const FORMATS = ['can11', 'can29'] as const;
const SERVICES: readonly Services[] = ['classic', 'newer'];
const REFUSED_BEFORE_REOPEN = 3;
/** Frames of others in a quarter of a second from which a filter in the adapter is worth a try. */
const BUSY = 25;
/** A filter that lets more than this share through does nothing. */
const LEFT = 0.1;
/** Of a full frame's line, start and stop bits included; and the share of the line's time that is no longer bearable. */
const LINE_BITS = 220;
const CROWDED = 0.8;
/** The flags are read only now and then: the question takes the time of a request. */
const STATUS_EVERY_US = 1e6;
/** A control unit answers within P2 = 50 ms (ISO 15765-4, from memory); the rest is for USB and the system. */
const FIRST_MS = 250;
/** One that answered within the last seconds is waited for longer: to ask anew meanwhile only makes it start again. */
const ALIVE_US = 2e6;
const LATE_MS = 750;
/** Nothing comes later than P2* = 5 s (ISO 14229-2, from memory). */
const STILL_LATE_US = 5e6;

export function slcanDriver(clock: Clock): AdapterDriver {
  return {
    async connect(link, tap, baud, haste = 'patient', memory = newPort(false)) {
      const port = new SlcanPort(new Wire(link, tap, clock, false));
      const identity = await port.identify(haste);
      if (identity !== null && !(await carriesWell(() => port.answerTo('V'), memory.lossy))) {
        // Answers that differ, from something that never said a version: it need not be such an adapter at all.
        if (!/^v/i.test(identity)) throw new HandbackError('adapter.nonsense', saying('error.no-lines'));
        memory.lossy = true;
        throw lossy();
      }
      memory.lossy = false;
      const adapter = new SlcanAdapter(port, identity ?? 'no name', baud, memory);
      try {
        await adapter.findVehicle(identity === null ? 1 : 2);
      } catch (thrown) {
        // Neither a word from an adapter nor a frame from a vehicle: nothing is known to be there.
        if (identity === null && !port.heardAnything)
          throw new HandbackError('adapter.silent', saying('error.nothing-back-nor-bus'));
        throw thrown;
      }
      return adapter;
    },
  };
}

function lossy(): HandbackError {
  return new HandbackError('link.lossy', saying('error.lossy', { mostShare: MOST_LOST }), {
    hint: saying('error.lossy-hint'),
  });
}

class SlcanAdapter implements Adapter {
  info: AdapterInfo;
  readonly #port: SlcanPort;
  readonly #meter = new LineMeter();
  readonly #memory: PortMemory;
  readonly #turns = new Turns((request) => this.#exchange(request));
  #answeredUs = Number.NEGATIVE_INFINITY;
  /** The request before this one, when its answer stayed away: it may still come. */
  #givenUp: SlcanAsked | null = null;
  /** Whether this adapter acknowledges frames: then a missing acknowledgement means that it is gone. */
  #acknowledges = false;
  /** Exchanges one after the other of which nothing was heard, not even an acknowledgement. */
  #unheardInARow = 0;
  /** Refused frames one after the other: the adapter may have restarted and forgotten that its channel is open. */
  #notSentInARow = 0;
  #rate = '';
  /** Null: all pass. */
  #filter: FilterSetting | null = null;
  /** One was set at some time: the adapter keeps it until told otherwise. */
  #filtered = false;
  #givesStatus = false;
  /** When they were read last, and what they said then. */
  #statusUs = Number.NEGATIVE_INFINITY;
  #flags: readonly Says[] = [];
  #takesFilters = true;
  /** The bus alone fills the line to the adapter. */
  #crowded = false;
  #closed = false;

  constructor(port: SlcanPort, identity: string, baud: number | null, memory: PortMemory) {
    this.#port = port;
    this.#memory = memory;
    this.info = {
      family: 'slcan',
      identity,
      baud,
      bus: 'not known yet',
      dialect: { family: 'slcan', bus: 'unknown' },
      maxPidsPerRequest: MOST_PIDS.classic,
      voltageV: null,
    };
  }

  get damaged(): number {
    return this.#meter.damaged;
  }

  formOf(payload: Uint8Array): Uint8Array | null {
    return formOf(payload);
  }

  request(request: DiagnosticRequest): Promise<Exchange> {
    return this.#turns.take(request);
  }

  async close(): Promise<void> {
    if (this.#closed) return;
    this.#closed = true;
    if (!this.#port.wire.lost) {
      await this.#port.command('C');
      if (this.#filtered) await this.#port.setFilter(ALL_PASS); // for whoever comes next
    }
    await this.#port.wire.close();
  }

  /**
   * Listens before it speaks: a frame at the wrong bit rate disturbs a running bus. On a quiet bus (many
   * connectors sit behind a gateway) it asks at each rate in turn.
   * @throws HandbackError vehicle.silent
   */
  async findVehicle(attempts: number): Promise<void> {
    let rates: readonly (typeof RATES)[number][] = RATES;
    let heard = 0;
    for (const rate of RATES) {
      heard = (await this.#port.traffic(rate.command)) ?? 0;
      if (heard > 0) {
        rates = [rate];
        break;
      }
    }
    const { baud } = this.info;
    this.#crowded = baud !== null && heard * LISTENS_A_SECOND * LINE_BITS > CROWDED * baud;
    for (const { bitrate, command } of rates) {
      this.#rate = command;
      // A busy bus may bring more than the line carries: then the answers come through a filter or not at all.
      for (const filter of heard >= BUSY ? [...ANSWERS_ONLY, null] : [null])
        if (
          (filter === null || (await this.#dampens(filter, heard))) &&
          (await this.#asksWell(bitrate, filter, attempts))
        )
          return;
    }
    const { lost } = this.#port.wire;
    if (lost) throw new HandbackError('link.lost', saying('error.lost-looking', { why: lost }));
    throw new HandbackError(
      'vehicle.silent',
      saying('error.bus-silent', {
        adapter: this.info.identity,
        kbits: listed(rates.map((r) => asIs(String(r.bitrate / 1000)))),
        traffic: rates.length === 1 ? 'yes' : 'no',
        why: await this.#complaining(say('wire.no-answer')),
      }),
      {
        hint: saying('error.ignition'),
      },
    );
  }

  /** Only listening: does the traffic of others stay away with this filter? */
  async #dampens(filter: FilterSetting, heard: number): Promise<boolean> {
    if (!this.#takesFilters) return false;
    const left = await this.#port.traffic(this.#rate, filter);
    this.#takesFilters = left !== null;
    this.#filtered ||= left !== null;
    return left !== null && left <= LEFT * heard;
  }

  /**
   * Asks for a first answer in both kinds of address, and in both sets of services. With a filter the same is then asked without it: one that
   * keeps back a control unit is worse than none.
   */
  async #asksWell(bitrate: number, filter: FilterSetting | null, attempts: number): Promise<boolean> {
    this.#filter = filter;
    if ((await this.#openChannel()) === 'refused') return false;
    this.#givesStatus = (await this.#port.status()) !== null;
    for (const [bus, services] of FORMATS.flatMap((f) => SERVICES.map((s) => [f, s] as const))) {
      const dialect: Dialect = { family: 'slcan', bus, bitrate };
      this.info = {
        ...this.info,
        dialect,
        services,
        maxPidsPerRequest: MOST_PIDS[services],
        bus: `CAN ${bus === 'can11' ? 11 : 29} bit, ${bitrate / 1000} kbit/s`,
      };
      this.#port.wire.tap({ kind: 'dialect', tUs: this.#port.wire.clock.nowUs(), dialect });
      for (let attempt = 0; attempt < attempts; attempt++) {
        const x = await this.#exchange({ payload: PROBES[services] });
        if (x.messages.length === 0 || refused(x.messages)) continue;
        if (filter === null) return true;
        this.#filter = null;
        await this.#openChannel();
        const all = await this.#exchange({ payload: PROBES[services] });
        const through = new Set(x.messages.map((m) => m.ecu));
        if (all.messages.every((m) => through.has(m.ecu))) {
          this.#filter = filter;
          await this.#openChannel();
        }
        return true;
      }
    }
    return false;
  }

  /** What is known of the reason for a silence: the adapter's flags, a line full of other frames. */
  async #complaining(why: Says, gone = false): Promise<Says> {
    const { clock, lost } = this.#port.wire;
    if (!lost && !gone && this.#givesStatus && clock.nowUs() - this.#statusUs >= STATUS_EVERY_US) {
      this.#statusUs = clock.nowUs();
      this.#flags = (await this.#port.status()) ?? [];
    }
    const full = this.#crowded && this.#filter === null ? say('wire.crowded', { why }) : why;
    return this.#flags.length > 0 ? say('wire.complains', { why: full, flags: listed(this.#flags) }) : full;
  }

  async #exchange(request: DiagnosticRequest): Promise<Exchange> {
    const { wire } = this.#port;
    const payload = formOf(request.payload);
    if (payload === null)
      throw new HandbackError('internal', asIs('a request without a form in which it can be sent'));
    if (this.#meter.isBad) return this.#refused(payload);
    if (this.#notSentInARow >= REFUSED_BEFORE_REOPEN && !wire.lost) await this.#openChannel();
    const { bus } = this.info.dialect;
    const functional = bus === 'can29' ? FUNCTIONAL.can29 : FUNCTIONAL.can11;
    const address = request.ecu === undefined ? null : requestIdOf(request.ecu);
    const ecu = address === null ? null : (request.ecu ?? null);
    // A unit that answers may be late once; nobody knows whether the others are there at all.
    const alive = ecu !== null && wire.clock.nowUs() - this.#answeredUs < ALIVE_US;
    const firstMs = request.timeoutMs ?? FIRST_MS;
    const latestMs = alive && request.timeoutMs === undefined ? LATE_MS : firstMs;
    const outbox = new Outbox(wire.clock, (text) => this.#port.send(text));
    const sentUs = wire.clock.nowUs();
    const receivedBefore = this.#port.received;
    const asked = { payload, ecu, sentUs };
    wire.tap({ kind: 'request', tUs: sentUs, payload, ecu });
    const expect = request.expect ?? (ecu === null ? Number.POSITIVE_INFINITY : 1);
    const answer = new SlcanAnswer(asked, outbox, expect, latestMs, (late) => this.#isLate(asked, late));
    let early: Timer | null = null;
    const end = await this.#port.listen<'complete' | 'refused' | 'unheard'>(
      latestMs,
      (finish, extend) => {
        early = afterAwaiting(wire.clock, firstMs, () => {
          // Not even acknowledged: it did not get as far as the bus.
          if (this.#acknowledges && outbox.acknowledged === 0 && answer.rx.length === 0) finish('unheard');
        });
        return (line) => {
          const then = answer.hear(line);
          if (typeof then === 'number') extend(then);
          else if (then !== null) finish(then);
        };
      },
      () => outbox.put(address ?? functional, buildFrame([payload.length, ...payload], 0)),
    );
    (early as Timer | null)?.cancel();
    outbox.end();
    this.#acknowledges ||= outbox.acknowledged > 0;
    return this.#concluded(asked, answer, end, this.#port.received - receivedBefore, firstMs);
  }

  /** What it came to, and what it tells of adapter and line. */
  async #concluded(
    asked: SlcanAsked,
    { rx, notSent, damaged, droppedLate }: SlcanAnswer,
    end: 'complete' | 'refused' | 'unheard' | 'timeout' | 'lost',
    received: number,
    waitedMs: number,
  ): Promise<Exchange> {
    const { wire } = this.#port;
    const { payload, ecu, sentUs } = asked;
    const { messages, discards } = onlyAnswers(asked, readSlcan(rx));
    const doneUs = wire.clock.nowUs();
    this.#notSentInARow = notSent && messages.length === 0 ? this.#notSentInARow + 1 : 0;
    if (messages.length > 0) this.#answeredUs = doneUs;
    // Unheard, too: where the line itself is late the acknowledgement is, and the request got through all the same.
    const unanswered = end === 'timeout' || end === 'unheard';
    const mayStillCome = unanswered && messages.length === 0 && !droppedLate && !damaged;
    this.#givenUp = mayStillCome && ecu !== null ? asked : null;
    const gone = this.#acknowledges && rx.length === 0;
    this.#judgeLine(damaged, gone, received);
    const verdict = judge(
      end === 'lost' ? wire.lost : null,
      gone,
      notSent,
      messages,
      discards.length,
      waitedMs,
    );
    wire.tap({ kind: 'done', tUs: doneUs, outcome: verdict.outcome, messages });
    const why = verdict.why && (await this.#complaining(verdict.why, gone));
    return { asked: payload, sentUs, doneUs, outcome: verdict.outcome, why, messages, discards };
  }

  /** One request of which nothing was heard lost its line end; several in a row are an adapter that is gone. */
  #judgeLine(damaged: boolean, unheard: boolean, received: number): void {
    if (damaged || (!unheard && this.#unheardInARow === 1)) this.#meter.badly();
    else this.#meter.well(received);
    this.#unheardInARow = unheard ? this.#unheardInARow + 1 : 0;
    this.#memory.lossy ||= this.#meter.isBad;
  }

  /** Nothing is sent any more: the link is as good as lost, and is tried anew before it is used again. */
  #refused(asked: Uint8Array): Exchange {
    const nowUs = this.#port.wire.clock.nowUs();
    return {
      ...{ asked, sentUs: nowUs, doneUs: nowUs, outcome: 'lost', messages: [], discards: [] },
      why: lossy().told.message,
    };
  }

  async #openChannel(): Promise<string> {
    this.#notSentInARow = 0;
    await this.#port.command('C');
    await this.#port.command(this.#rate);
    if (this.#filtered) await this.#port.setFilter(this.#filter ?? ALL_PASS);
    return this.#port.command('O');
  }

  /** Is this the answer to the request that was given up, though it would do for the present one? That begins anew then. */
  #isLate({ payload, ecu, sentUs }: SlcanAsked, answer: Uint8Array): boolean {
    const before = this.#givenUp;
    this.#givenUp = null;
    const isLate =
      before !== null &&
      before.ecu === ecu &&
      sentUs - before.sentUs < STILL_LATE_US &&
      answersTo(before.payload, answer);
    if (!isLate) return false;
    const { tap, clock } = this.#port.wire;
    const tUs = clock.nowUs();
    tap({ kind: 'done', tUs, outcome: 'no data', messages: [] });
    tap({ kind: 'request', tUs, payload, ecu });
    return true;
  }
}

function judge(
  lost: Says | null,
  gone: boolean,
  notSent: boolean,
  messages: readonly EcuMessage[],
  discards: number,
  waitedMs: number,
): { outcome: Outcome; why: Says | null } {
  if (messages.length > 0) return { outcome: 'answered', why: null };
  if (lost !== null) return { outcome: 'lost', why: lost };
  if (gone) return { outcome: 'timeout', why: say('wire.not-acknowledged') };
  if (notSent) return { outcome: 'bus error', why: say('wire.not-sent') };
  if (discards > 0) return { outcome: 'garbled', why: say('wire.unreadable') };
  return { outcome: 'no data', why: say('wire.no-unit', { ms: waitedMs }) };
}
