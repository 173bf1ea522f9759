/** Driver for AT-command text adapters: finds out what the adapter really can do, then exchanges requests. */

import type { Clock } from '../../core/clock.ts';
import { saying } from '../../core/error-says.ts';
import { HandbackError } from '../../core/errors.ts';
import { toHex } from '../../core/hex.ts';
import { asIs } from '../../core/says.ts';
import { FUNCTIONAL, requestIdOf } from '../../isotp/address.ts';
import type { Link } from '../../link/link.ts';
import {
  type Adapter,
  type AdapterDriver,
  type AdapterInfo,
  type DiagnosticRequest,
  type Dialect,
  type EcuMessage,
  type Exchange,
  type Haste,
  newPort,
  type Outcome,
  type PortMemory,
  type Services,
  type WireTap,
} from '../adapter.ts';
import { onlyAnswers } from '../answers.ts';
import { MOST_PIDS, PROBES, pidsOfProbe, refused, requestFor, shortestAnswer } from '../probes.ts';
import { Turns } from '../turns.ts';
import { Wire } from '../wire.ts';
import { type Conversation, PromptChannel } from './prompt.ts';
import { CAN_IN_ORDER, PROTOCOLS, TRY_IN_ORDER } from './protocols.ts';
import { type AtReading, isPadded, readAt } from './read.ts';
import { applySettings, command, NO_NAME, type Reply, type Settings, sayHello, setUp } from './setup.ts';
import { lowerSpeed, raiseSpeed } from './speed.ts';

/** Automatic search with slow wake-ups takes this long at worst (common practice, no source). */
const SEARCH_MS = 20_000;
/** One protocol, slow wake-up included. */
const ONE_PROTOCOL_MS = 7000;
/** No new try is begun after this. */
const GIVE_UP_MS = 45_000;
/** All of finding out, against a device that answers everything late or wrong. */
const CONNECT_MS = 90_000;
const FIRST_MS = { can: 1500, other: 6000 } as const;
const QUIET_MS = { can: 700, other: 3000 } as const;
const SEARCHING = /^[\s\0]*([0-9A-Fa-f ]{0,16}[\r\n]+)?[\s\0]*(SEARCHING|BUS INIT)/i;
const MAX_LEARNED = 500;
/** A K-line session ends when nothing passes for P3 = 5 s (ISO 14230-2 and ISO 9141-2, from memory). */
const SESSION_US = 5e6;
/** Of things that must not fail for one damaged byte. */
const TRIES = 3;
const AS_IT_IS = 'as it is';
/** ISO 14229-1, from memory: response pending. */
const PENDING = 0x78;
/**
 * One unit, told how many answers to wait for: then a long wait costs nothing where the answer comes, and one that
 * comes late (three times P2 and more) still belongs to its request. In the adapter's unit of 4 ms: 400 ms.
 */
const LATE_UNITS = '64';

export function atDriver(clock: Clock): AdapterDriver {
  return {
    async connect(
      link: Link,
      tap: WireTap,
      baud: number | null,
      haste: Haste = 'patient',
      memory: PortMemory = newPort(false),
    ): Promise<Adapter> {
      const wire = new Wire(link, tap, clock);
      const channel = new PromptChannel(wire);
      channel.limitUs = clock.nowUs() + CONNECT_MS * 1000;
      await sayHello(channel, haste);
      const adapter = new AtAdapter(wire, channel, await setUp(channel), baud, memory);
      await adapter.raiseSpeed();
      await adapter.findVehicle();
      channel.limitUs = Number.POSITIVE_INFINITY;
      return adapter;
    },
  };
}

interface AnswersSeen {
  readonly messages: number;
  readonly frames: number;
  /** "Answer pending" in front of them. */
  readonly pendings: number;
  missed: number;
}

class AtAdapter implements Adapter {
  info: AdapterInfo;
  readonly #wire: Wire;
  readonly #channel: PromptChannel;
  #settings: Settings;
  #protocol: string | null = null;
  /** Control unit whose address is set as header; null = all (functional). */
  #target: string | null = null;
  #canAddress = true;
  /** Whether a digit behind the request that tells how many answers to wait for is honoured. */
  #countDigit = false;
  #countsFrames = false;
  /** The adapter takes "answer pending" for an answer. */
  #countsPendings = false;
  readonly #answersSeen = new Map<string, AnswersSeen>();
  #badInARow = 0;
  #damaged = 0;
  #answeredUs = 0;
  #mustWake = false;
  #mustSetUp = false;
  readonly #memory: PortMemory;
  #mustSlowDown = false;
  #outOfStep = false;
  readonly #turns = new Turns((request) => this.#answer(request));
  #closed = false;

  constructor(
    wire: Wire,
    channel: PromptChannel,
    settings: Settings,
    baud: number | null,
    memory: PortMemory,
  ) {
    this.#wire = wire;
    this.#channel = channel;
    this.#settings = settings;
    this.#memory = memory;
    this.info = {
      family: 'at',
      identity: settings.identity,
      baud,
      ...(memory.raised && memory.raised.to === baud ? { raisedFrom: memory.raised.from } : {}),
      bus: 'not known yet',
      dialect: { family: 'at', bus: 'unknown', headers: settings.headers, autoFormat: true },
      maxPidsPerRequest: 1,
      voltageV: null,
    };
    this.#sayDialect();
  }

  get damaged(): number {
    return this.#channel.quality.retyped + this.#damaged;
  }

  formOf(payload: Uint8Array): Uint8Array {
    return payload;
  }

  request(request: DiagnosticRequest): Promise<Exchange> {
    return this.#turns.take(request);
  }

  async close(): Promise<void> {
    if (this.#closed) return;
    this.#closed = true;
    if (!this.#wire.lost && !this.#outOfStep) {
      await command(this.#channel, 'ATPC', 300);
      await this.#slowDown().catch(() => undefined);
      await command(this.#channel, 'ATD', 300);
    }
    await this.#wire.close();
  }

  /**
   * Where the line has a speed to change, both ends cope with a faster one and nobody said no.
   * @throws HandbackError adapter.silent when the adapter was lost over it
   */
  async raiseSpeed(): Promise<void> {
    const { baud, raisedFrom } = this.info;
    const { setBaud } = this.#wire;
    const { identity } = this.#settings;
    if (!this.#memory.mayRaise || raisedFrom !== undefined) return;
    if (baud === null || setBaud === null || identity === NO_NAME) return;
    this.#memory.mayRaise = false; // unless it goes well
    const end = await raiseSpeed({ channel: this.#channel, setBaud, identity }, baud);
    if (end.failed) this.#settings = await applySettings(this.#channel);
    // One that went well at a lower speed may do so again.
    this.#memory.mayRaise = !end.failed || end.baud !== baud;
    if (end.baud === baud) return;
    this.#memory.raised = { from: baud, to: end.baud };
    this.info = { ...this.info, baud: end.baud, raisedFrom: baud };
  }

  /** Back to the speed it was found at. @throws HandbackError adapter.silent */
  async #slowDown(silent = false): Promise<void> {
    const { baud, raisedFrom, ...info } = this.info;
    const { setBaud } = this.#wire;
    if (raisedFrom === undefined || baud === null || setBaud === null) return;
    this.info = { ...info, baud: raisedFrom };
    this.#memory.raised = null;
    const { identity } = this.#settings;
    await lowerSpeed({ channel: this.#channel, setBaud, identity }, baud, raisedFrom, silent);
  }

  get #isCan(): boolean {
    const { bus } = this.info.dialect;
    return bus === 'can11' || bus === 'can29';
  }

  /** @throws HandbackError vehicle.silent */
  async findVehicle(): Promise<void> {
    this.info = { ...this.info, voltageV: await this.#readVoltage() };
    const found = await this.#findBus();
    if (!this.#isCan) {
      // One answer at a time on one wire: the wait for a further one costs more than the answer.
      await this.#tryCountDigit({});
      await this.#tryRepeating({});
      return;
    }
    const [first] = found.messages
      .map((m) => m.ecu)
      .filter((e) => e !== '?')
      .sort();
    await this.#tryAddressing(first);
    const ecu = this.#canAddress && first !== undefined ? { ecu: first } : {};
    await this.#tryCountDigit(ecu);
    await this.#tryManyPids(
      ecu,
      found.messages.find((m) => m.ecu === first && m.payload[0] !== 0x7f) ?? found.messages[0],
    );
    if (this.#countDigit && this.#target !== null) await this.#setWait(true);
    await this.#tryRepeating(ecu);
  }

  get #probe(): Uint8Array {
    return PROBES[this.info.services ?? 'classic'];
  }

  /** May the adapter look for the bus by itself? It asks with service 01. */
  get #searches(): boolean {
    return this.#settings.autoProtocol && this.info.services !== 'newer';
  }

  async #findBus(): Promise<Exchange> {
    const said: string[] = [];
    const giveUpUs = this.#wire.clock.nowUs() + GIVE_UP_MS * 1000;
    for (const services of ['classic', 'newer'] as const) {
      const found = await this.#searchBus(services, said, giveUpUs);
      if (found) return found;
    }
    const volts = this.info.voltageV;
    throw new HandbackError(
      this.#wire.lost ? 'link.lost' : 'vehicle.silent',
      this.#wire.lost
        ? saying('error.lost-looking', { why: asIs(this.#wire.lost) })
        : saying('error.car-silent', {
            adapter: this.info.identity,
            said: said.join('; ') || 'no answer on any bus',
          }),
      {
        hint: volts !== null && volts < 6 ? saying('error.low-volts', { volts }) : saying('error.ignition'),
      },
    );
  }

  /** Null where nobody answers in these services, or all refuse them. */
  async #searchBus(services: Services, said: string[], giveUpUs: number): Promise<Exchange | null> {
    this.info = { ...this.info, services };
    const all = services === 'newer' ? CAN_IN_ORDER : TRY_IN_ORDER;
    // One that lets no protocol be chosen has one of its own.
    const protocols: readonly string[] = this.#searches ? ['0'] : [...all, AS_IT_IS];
    let chosen = 0;
    const timeoutMs = this.#searches ? SEARCH_MS : ONE_PROTOCOL_MS;
    for (const protocol of protocols) {
      if (this.#wire.lost || (protocol === AS_IT_IS && chosen > 0)) break;
      if (!this.#searches && protocol !== AS_IT_IS) {
        const set = await command(this.#channel, `ATSP${protocol}`);
        if (set.end === 'timeout') await this.#channel.resync();
        if (!set.ok) continue;
        chosen++;
      }
      for (let attempt = 0; attempt < TRIES && this.#wire.clock.nowUs() < giveUpUs; attempt++) {
        const x = await this.#exchange({ payload: this.#probe, timeoutMs });
        const messages = x.messages.length > 0 ? x.messages : this.#rereadBare();
        if (refused(messages)) return null;
        if (messages.length > 0) {
          await this.#learnBus(protocol, messages);
          return { ...x, messages };
        }
        if (x.why && !said.includes(x.why)) said.push(x.why);
        // A clear "nobody there" is believed; an unreadable answer is asked for again.
        if (x.outcome !== 'garbled' && x.outcome !== 'timeout') break;
      }
    }
    return null;
  }

  #lastReading: AtReading | null = null;
  #lastRx: Parameters<typeof readAt>[2] = [];

  /** Headers asked for and accepted but not printed: read the same bytes without, and remember. */
  #rereadBare(): readonly EcuMessage[] {
    if (!this.info.dialect.headers) return [];
    const bare = { ...this.info.dialect, headers: false };
    const { messages } = onlyAnswers(
      { payload: this.#probe, ecu: null },
      readAt(bare, this.#probe, this.#lastRx),
    );
    if (messages.length > 0) {
      this.info = { ...this.info, dialect: bare };
      this.#sayDialect();
    }
    return messages;
  }

  async #learnBus(tried: string, messages: readonly EcuMessage[]): Promise<void> {
    const answer = this.#lastRx;
    const described = await command(this.#channel, 'ATDPN');
    const number =
      /^A?([1-9])$/.exec(described.text.replaceAll(' ', ''))?.[1] ?? (/[1-9]/.test(tried) ? tried : null);
    const row = number === null ? undefined : PROTOCOLS[number];
    this.#protocol = row ? number : null;
    const ecu = messages[0]?.ecu ?? '?';
    const seen: Dialect['bus'] =
      ecu.length === 3 ? 'can11' : ecu.length === 8 ? 'can29' : ecu === '?' ? 'unknown' : 'kline';
    const told = row?.dialect ?? { bus: seen };
    this.info = {
      ...this.info,
      bus: row?.bus ?? busInWords(seen),
      dialect: { ...this.info.dialect, ...told },
    };
    if (this.info.dialect.headers && isPadded(this.info.dialect, answer))
      this.info = { ...this.info, dialect: { ...this.info.dialect, padded: true } };
    this.#sayDialect();
  }

  /** Asks one control unit by its own address; when that is refused or silent, all are asked as before. */
  async #tryAddressing(ecu: string | undefined): Promise<void> {
    if (ecu === undefined || !this.info.dialect.headers) {
      this.#canAddress = false;
      return;
    }
    for (let attempt = 0; attempt < TRIES && this.#canAddress; attempt++) {
      const x = await this.#exchange({ payload: this.#probe, ecu });
      if (x.outcome === 'answered' && this.#target === ecu) return;
    }
    if (this.#canAddress) await this.#aim(null);
    this.#canAddress = false;
  }

  /** The digit is trusted only when answers come back the same with it, a short one first, then a long one. */
  async #tryCountDigit(ecu: { ecu?: string }): Promise<void> {
    if (await this.#sameWithDigit(this.#probe, ecu)) return;
    this.#countDigit = false;
    // Without it the adapter waits for more answers each time: shorten that wait.
    await command(this.#channel, 'ATAT2');
  }

  async #sameWithDigit(payload: Uint8Array, ecu: { ecu?: string }): Promise<boolean> {
    for (let attempt = 0; attempt < TRIES; attempt++) {
      this.#countDigit = false;
      const without = await this.#exchange({ payload, ...ecu });
      this.#countDigit = true;
      const withDigit = await this.#exchange({ payload, ...ecu });
      if (without.outcome === 'answered' && sameShape(without, withDigit)) return true;
    }
    return false;
  }

  /** A real request with many PIDs that the vehicle says it supports; the answer must hold more than the first. */
  async #tryManyPids(ecu: { ecu?: string }, bitmap: EcuMessage | undefined): Promise<void> {
    const { services = 'classic' } = this.info;
    const pids = pidsOfProbe(services, bitmap?.payload);
    const digit = this.#countDigit;
    const most = MOST_PIDS[services];
    for (const n of [most, most >> 1]) {
      if (n < 2 || pids.length < n - 1) continue;
      const payload = requestFor(services, [0x00, ...pids.slice(0, n - 1)]);
      for (let attempt = 0; attempt < TRIES; attempt++) {
        this.#countDigit = false;
        const x = await this.#exchange({ payload, ...ecu });
        this.#countDigit = digit;
        const least = shortestAnswer(services, n);
        if (!x.messages.some((m) => m.payload[0] !== 0x7f && m.payload.length >= least)) continue;
        this.info = { ...this.info, maxPidsPerRequest: n };
        if (!digit || (await this.#sameWithDigit(payload, ecu))) return;
        this.#countsFrames = true;
        if (!(await this.#sameWithDigit(payload, ecu))) this.#countDigit = false;
        return;
      }
    }
  }

  /** An empty line for the line before: one character instead of all, and nothing to compare. */
  async #tryRepeating(ecu: { ecu?: string }): Promise<void> {
    const { quality } = this.#channel;
    this.#channel.repeats = true;
    let before: Exchange | null = null;
    for (let attempt = 0; attempt < 2 * TRIES; attempt++) {
      const x = await this.#exchange({ payload: this.#probe, ...ecu });
      const repeated = this.#channel.quality.repeated > quality.repeated;
      if (repeated && before && x.outcome === 'answered' && sameShape(before, x)) return;
      if (repeated) break;
      before = x;
    }
    this.#channel.repeats = false;
  }

  async #answer(request: DiagnosticRequest): Promise<Exchange> {
    const x = await this.#exchange(request);
    const look = request.withSupply === true && x.messages.length === 0 && !this.#outOfStep;
    return look && !this.#wire.lost ? { ...x, supplyV: await this.#readVoltage() } : x;
  }

  async #readVoltage(): Promise<number | null> {
    const { text } = await command(this.#channel, 'ATRV');
    const v = Number.parseFloat(/(\d{1,2}\.\d{1,2})\s*V?/i.exec(text)?.[1] ?? '');
    return Number.isFinite(v) ? v : null;
  }

  async #exchange(request: DiagnosticRequest): Promise<Exchange> {
    await this.#beReady();
    if (this.#outOfStep && !this.#wire.lost) {
      const nowUs = this.#wire.clock.nowUs();
      const why = 'the adapter no longer answers, not even to its own commands';
      return {
        asked: request.payload,
        sentUs: nowUs,
        doneUs: nowUs,
        outcome: 'timeout',
        why,
        messages: [],
        discards: this.#channel.takeStray(),
      };
    }
    const ecu = await this.#aim(request.ecu ?? null);
    const { payload } = request;
    const key = `${ecu ?? ''} ${toHex(payload)}`;
    const digit = this.#digitFor(request, ecu, this.#answersSeen.get(key));
    const pace = this.#isCan ? 'can' : 'other';
    const firstMs = request.timeoutMs ?? FIRST_MS[pace];
    const strays = this.#channel.takeStray();

    let sentUs: number | null = null;
    const onSend = () => {
      const tUs = this.#wire.clock.nowUs();
      if (sentUs !== null) this.#wire.tap({ kind: 'done', tUs, outcome: 'timeout' }); // sent anew
      sentUs = tUs;
      this.#wire.tap({ kind: 'request', tUs, payload, ecu });
    };
    const { rx, end } = await this.#channel.ask(
      `${toHex(payload)}${digit}`,
      firstMs,
      Math.min(QUIET_MS[pace], firstMs),
      SEARCHING,
      onSend,
    );
    if (sentUs === null) onSend();
    const reading = readAt(this.info.dialect, payload, rx);
    const { messages, discards } = onlyAnswers({ payload, ecu }, reading);
    const verdict = judge(end, messages, discards.length, reading, firstMs, this.#wire.lost);
    const doneUs = this.#wire.clock.nowUs();
    this.#wire.tap({ kind: 'done', tUs: doneUs, outcome: verdict.outcome, messages });

    if (reading.discards.length > 0) this.#damaged++;
    this.#lastReading = reading;
    this.#lastRx = rx;
    this.#outOfStep = end === 'timeout' || end === 'too much' || end === 'unsent';
    this.#learnCount(key, digit, messages, verdict.outcome);
    this.#noteHealth(verdict.outcome);
    return {
      asked: payload,
      sentUs: sentUs ?? doneUs,
      doneUs,
      ...verdict,
      messages,
      discards: [...strays, ...discards],
      noted: notedIn(reading),
    };
  }

  /** Back in step and set up before anything is asked. */
  async #beReady(): Promise<void> {
    if (this.#outOfStep && !this.#wire.lost) this.#outOfStep = !(await this.#channel.resync());
    if ((this.#mustSlowDown || (this.#outOfStep && this.info.raisedFrom !== undefined)) && !this.#wire.lost) {
      // Out of step at a raised speed: it may have restarted, and then it is back at its own.
      this.#mustSlowDown = false;
      this.#mustSetUp = true;
      this.#memory.mayRaise = false;
      this.#outOfStep = await this.#slowDown(this.#outOfStep).then(
        () => false,
        () => true,
      );
    }
    if (this.#mustWake && !this.#outOfStep && !this.#wire.lost) {
      this.#mustWake = false;
      // The adapter takes the session for open still; closed, the next request wakes the vehicle anew.
      await command(this.#channel, 'ATPC');
    }
    if (!this.#mustSetUp || this.#outOfStep || this.#wire.lost) return;
    this.#mustSetUp = false;
    this.#target = null;
    this.#answersSeen.clear();
    try {
      this.#settings = await applySettings(this.#channel);
      if (this.#protocol) await command(this.#channel, `ATSP${this.#searches ? 'A' : ''}${this.#protocol}`);
    } catch {
      this.#mustSetUp = true;
    }
  }

  /** Sets the header for one control unit or for all. @returns whom the next request will reach. */
  async #aim(ecu: string | null): Promise<string | null> {
    if (!this.#canAddress) return null;
    if (this.#wire.lost || this.#outOfStep || ecu === this.#target) return this.#target;
    const { bus } = this.info.dialect;
    // Elsewhere all are asked: who answers stands in the header.
    if (bus !== 'can11' && bus !== 'can29') return null;
    const address = ecu === null ? FUNCTIONAL[bus] : requestIdOf(ecu);
    if (address === null || (address.length === 3) !== (bus === 'can11')) return this.#target;
    // The priority byte of a 29-bit address keeps its default of 18.
    const header = await command(this.#channel, `ATSH${bus === 'can11' ? address : address.slice(2)}`);
    if (!header.ok) {
      if (header.refused) this.#canAddress = false;
      if (header.end === 'timeout') this.#outOfStep = true;
      return this.#target;
    }
    let filter: Reply;
    if (ecu === null) {
      filter = await command(this.#channel, 'ATAR');
      if (!filter.ok) filter = await command(this.#channel, 'ATCRA');
    } else filter = await command(this.#channel, `ATCRA${ecu}`);
    if (this.#countDigit) await this.#setWait(ecu !== null);
    if (filter.end === 'timeout') this.#outOfStep = true;
    this.#target = ecu;
    return ecu;
  }

  /** Long for one unit; for all of them what the adapter learns, since nobody knows how many there are. */
  async #setWait(long: boolean): Promise<void> {
    if (!long) await command(this.#channel, 'ATAT1');
    else if ((await command(this.#channel, 'ATAT0')).ok) await command(this.#channel, `ATST${LATE_UNITS}`);
  }

  /** None with a time of its own: then the control unit may first say "pending", and that must not end the wait. */
  #digitFor(request: DiagnosticRequest, ecu: string | null, seen: AnswersSeen | undefined): string {
    if (!this.#countDigit || request.timeoutMs !== undefined) return '';
    const messages = request.expect ?? (ecu === null ? seen?.messages : 1);
    const answers = this.#countsFrames ? seen?.frames : messages;
    const count =
      answers === undefined ? undefined : answers + (this.#countsPendings ? (seen?.pendings ?? 0) : 0);
    return count !== undefined && count >= 1 && count <= 15 ? count.toString(16).toUpperCase() : '';
  }

  /** How many answers, and how many lines, this request brings: told to the adapter next time. */
  #learnCount(key: string, digit: string, messages: readonly EcuMessage[], outcome: Outcome): void {
    const seen = this.#answersSeen.get(key);
    const finals = messages.filter((m) => !isPending(m.payload));
    const pendings = messages.length - finals.length;
    if (pendings > 0 && finals.length === 0 && digit !== '') this.#countsPendings = true;
    const final = finals.length > 0 && finals.every((m) => m.payload[0] !== 0x7f);
    if (outcome === 'answered' && final && finals.length >= (seen?.messages ?? 0)) {
      if (this.#answersSeen.size >= MAX_LEARNED) this.#answersSeen.clear();
      const frames = finals.reduce((n, m) => n + linesOf(m.payload.length), 0);
      this.#answersSeen.set(key, { messages: finals.length, frames, pendings, missed: 0 });
    } else if (seen && ++seen.missed >= TRIES) this.#answersSeen.delete(key); // one damaged answer proves nothing
  }

  /** Unreadable answers in a row, or a restart, mean that the adapter has lost its settings. */
  #noteHealth(outcome: Outcome): void {
    const nowUs = this.#wire.clock.nowUs();
    if (outcome === 'answered') this.#answeredUs = nowUs;
    else if (this.info.dialect.bus === 'kline' && nowUs - this.#answeredUs > SESSION_US) {
      this.#mustWake = true;
      this.#answeredUs = nowUs; // once in a while, not before every request
    }
    const bad = outcome === 'garbled' || outcome === 'timeout';
    this.#badInARow = bad ? this.#badInARow + 1 : 0;
    const restarted = this.#lastReading?.words.some((w) => w.word === 'power') ?? false;
    if (restarted || this.#badInARow >= 2) {
      this.#mustSlowDown = this.info.raisedFrom !== undefined;
      this.#mustSetUp = true;
      this.#badInARow = 0;
    }
  }

  #sayDialect(): void {
    this.#wire.tap({ kind: 'dialect', tUs: this.#wire.clock.nowUs(), dialect: this.info.dialect });
  }
}

function judge(
  end: Conversation['end'],
  messages: readonly EcuMessage[],
  discards: number,
  reading: AtReading,
  waitedMs: number,
  lost: string | null,
): { outcome: Outcome; why: string | null } {
  if (messages.length > 0) return { outcome: 'answered', why: null };
  if (end === 'lost') return { outcome: 'lost', why: lost };
  if (end === 'timeout')
    return { outcome: 'timeout', why: `no prompt from the adapter within ${waitedMs} ms` };
  if (end === 'unsent')
    return {
      outcome: 'timeout',
      why: 'the line between computer and adapter loses characters: nothing was sent',
    };
  if (end === 'too much') return { outcome: 'garbled', why: 'the adapter sends without end' };
  const word = reading.words.findLast((w) => w.word !== 'progress' && w.word !== 'ok');
  if (!word)
    return discards > 0
      ? { outcome: 'garbled', why: 'the answer could not be read' }
      : { outcome: 'no data', why: 'empty answer' };
  const why = `${word.says} (${word.text})`;
  if (word.word === 'no data') return { outcome: 'no data', why };
  if (word.word === 'bus' || word.word === 'power' || word.word === 'sleep')
    return { outcome: 'bus error', why };
  return { outcome: 'garbled', why };
}

function notedIn({ words }: AtReading): NonNullable<Exchange['noted']> {
  const said = (word: string) => words.some((w) => w.word === word);
  return [
    ...(said('progress') ? (['searched'] as const) : []),
    ...(said('power') ? (['supply dipped'] as const) : []),
  ];
}

function isPending(payload: Uint8Array): boolean {
  return payload[0] === 0x7f && payload[2] === PENDING;
}

/** CAN frames of a message. */
function linesOf(length: number): number {
  return length <= 7 ? 1 : 1 + Math.ceil((length - 6) / 7);
}

function busInWords(bus: Dialect['bus']): string {
  if (bus === 'can11') return 'CAN 11 bit';
  if (bus === 'can29') return 'CAN 29 bit';
  return bus === 'kline' ? 'K-line or J1850' : 'bus not told by the adapter';
}

/** From the same units, as long, to the same question. Not the same values: at idle those flicker. */
function sameShape(a: Exchange, b: Exchange): boolean {
  const shape = (x: Exchange) =>
    x.messages
      .map((m) => `${m.ecu} ${m.payload.length} ${toHex(m.payload.subarray(0, 2))}`)
      .sort()
      .join();
  return shape(a) === shape(b);
}
