/** Driver for serial-line CAN adapters: single frames out, flow control to whoever answers long, messages in. */
import type { Clock } from '../../core/clock.ts';
import { HandbackError } from '../../core/errors.ts';
import { toHex } from '../../core/hex.ts';
import { FUNCTIONAL, requestIdOf } from '../../isotp/address.ts';
import { buildFrame } from '../../isotp/frame.ts';
import { Reassembler } from '../../isotp/reassembler.ts';
import type { Link } from '../../link/link.ts';
import type {
  Adapter,
  AdapterDriver,
  AdapterInfo,
  DiagnosticRequest,
  Dialect,
  EcuMessage,
  Exchange,
  Haste,
  Outcome,
  WireTap,
} from '../adapter.ts';
import { answersTo } from '../answers.ts';
import type { RxChunk } from '../at/lines.ts';
import { isResponseId } from '../at/read.ts';
import { interpret } from '../interpret.ts';
import { Turns } from '../turns.ts';
import { Wire } from '../wire.ts';
import { isOtherTraffic, readSlcanLine, type SlcanMeaning, SlcanSplitter } from './read.ts';

/** Bit rates of legislated diagnostics (ISO 15765-4, from memory) and their command (common practice). */
const RATES = [
  { bitrate: 500_000, command: 'S6' },
  { bitrate: 250_000, command: 'S5' },
] as const;
const FORMATS = ['can11', 'can29'] as const;
/** For the answer to a command: before an adapter is known, and afterwards. */
const QUICK_MS = 150;
const COMMAND_MS = 400;
/** Against an adapter that has never said a word each command waits in vain. */
const UNHEARD_MS = 60;
const REFUSED_BEFORE_REOPEN = 3;
const LISTEN_MS = 250;
/** A control unit answers within P2 = 50 ms (ISO 15765-4, from memory); the rest is for USB and the system. */
const FIRST_MS = 250;
const MORE_MS = 100;
/** After "answer pending" it may take P2* = 5 s. */
const PENDING_MS = 5500;
/** We ask for no pause between frames; N_Cr of ISO 15765-2 (1 s, from memory) would cost a dozen other values. */
const NEXT_FRAME_MS = 300;
const READ_PIDS = Uint8Array.of(0x01, 0x00);

export function slcanDriver(clock: Clock): AdapterDriver {
  return {
    family: 'slcan',
    async connect(link: Link, tap: WireTap, baud: number | null, haste: Haste = 'patient'): Promise<Adapter> {
      const port = new SlcanPort(new Wire(link, tap, clock, false));
      const identity = await port.identify(haste);
      const adapter = new SlcanAdapter(port, identity ?? 'no name', baud);
      try {
        await adapter.findVehicle(identity === null ? 1 : 2);
      } catch (thrown) {
        // Neither a word from an adapter nor a frame from a vehicle: nothing is known to be there.
        if (identity === null && !port.heardAnything)
          throw new HandbackError('adapter.silent', 'nothing came back, nor any frame of a bus');
        throw thrown;
      }
      return adapter;
    },
  };
}

interface Heard {
  readonly meaning: SlcanMeaning;
  readonly chunk: RxChunk;
}

/** Lines in and out. Traffic of others is counted, never kept: a busy bus brings thousands of frames a second. */
class SlcanPort {
  readonly wire: Wire;
  others = 0;
  /** Acknowledgements and error bells, and lines that make no sense, since the greeting began. */
  #sensible = 0;
  #malformed = 0;
  #bytes = 0;
  #commandMs = COMMAND_MS;
  #heard: ((line: Heard) => void) | null = null;

  constructor(wire: Wire) {
    this.wire = wire;
    const splitter = new SlcanSplitter();
    wire.onData((chunk) => {
      this.#bytes += chunk.bytes.length;
      for (const line of splitter.push(chunk)) {
        const meaning = readSlcanLine(line);
        if (isOtherTraffic(meaning)) {
          this.others++;
          continue;
        }
        if (meaning.kind === 'malformed') this.#malformed++;
        else this.#sensible++;
        const end = line.ended === 'cr' ? [0x0d] : line.ended === 'bel' ? [0x07] : [];
        const bytes = Uint8Array.from([...line.raw, ...end]);
        wire.tap({ kind: 'rx', tUs: line.tUs, bytes });
        this.#heard?.({ meaning, chunk: { tUs: line.tUs, bytes } });
      }
    });
  }

  get heardAnything(): boolean {
    return this.#bytes > 0;
  }

  send(text: string): void {
    this.wire.send(Uint8Array.from(`${text}\r`, (c) => c.charCodeAt(0)));
  }

  /** `hear` gets each line until `finish` is called, the link is lost, or nothing extends the wait. */
  async listen<T>(
    ms: number,
    start: (finish: (value: T) => void, extend: (ms: number) => void) => (line: Heard) => void,
    then: () => void = () => undefined,
  ): Promise<T | 'timeout' | 'lost'> {
    const end = await this.wire.wait<T>(ms, (finish, extend) => {
      this.#heard = start(finish, extend);
      then();
    });
    this.#heard = null;
    return end;
  }

  command(text: string): Promise<'ok' | 'refused' | 'timeout' | 'lost'> {
    return this.listen<'ok' | 'refused'>(
      this.#commandMs,
      (finish) =>
        ({ meaning }) => {
          if (meaning.kind === 'reply') finish('ok');
          else if (meaning.kind === 'error') finish('refused');
        },
      () => this.send(text),
    );
  }

  /**
   * @returns the version as received; null where nothing came back, which some adapters never do: the patient
   * then listens for frames and asks a vehicle.
   * @throws HandbackError adapter.silent or adapter.nonsense
   */
  async identify(haste: Haste): Promise<string | null> {
    const ms = haste === 'quick' ? QUICK_MS : COMMAND_MS;
    this.#commandMs = ms;
    // Closes the channel so that traffic does not drown the answer; twice, because the first may only end what
    // stood half-typed. Never an empty line: a text adapter would repeat its last command, whatever that was.
    await this.command('C');
    await this.command('C');
    this.#sensible = 0;
    this.#malformed = 0;
    this.#bytes = 0;
    for (let i = 0; i < (haste === 'quick' ? 1 : 2); i++) {
      const version = await this.listen<string>(
        ms,
        (finish) =>
          ({ chunk }) => {
            const text = String.fromCharCode(...chunk.bytes).trim();
            if (/^[Vv][0-9A-Za-z]{2,}/.test(text)) finish(text);
          },
        () => this.send('V'),
      );
      this.#commandMs = COMMAND_MS;
      if (version === 'lost') throw new HandbackError('link.lost', `The link was lost: ${this.wire.lost}.`);
      if (version !== 'timeout') return version;
    }
    if (this.#malformed > 0 || (this.#bytes > 0 && this.#sensible + this.others === 0))
      throw new HandbackError('adapter.nonsense', 'what came back are no lines of this kind');
    // Some do not know the question for the version; a bell or an empty line each time is an answer, too.
    if (this.#sensible >= (haste === 'quick' ? 1 : 2)) return 'no name';
    if (haste === 'quick') throw new HandbackError('adapter.silent', 'nothing came back');
    this.#commandMs = UNHEARD_MS;
    return null;
  }

  /** Frames a second of anyone, opened for listening only; null when the adapter cannot just listen. */
  async traffic(rate: string): Promise<number | null> {
    await this.command('C');
    if ((await this.command(rate)) === 'refused') return null;
    if ((await this.command('L')) === 'refused') return null;
    const before = this.others;
    await this.listen(LISTEN_MS, () => () => undefined);
    const heard = this.others - before;
    await this.command('C');
    return heard;
  }
}

class SlcanAdapter implements Adapter {
  info: AdapterInfo;
  readonly #port: SlcanPort;
  readonly #turns = new Turns((request) => this.#exchange(request));
  #mayComeLate = false;
  /** Whether this adapter acknowledges frames: then a missing acknowledgement means that it is gone. */
  #acknowledges = false;
  /** Refused frames one after the other: the adapter may have restarted and forgotten that its channel is open. */
  #notSentInARow = 0;
  #rate = '';
  #closed = false;

  constructor(port: SlcanPort, identity: string, baud: number | null) {
    this.#port = port;
    this.info = {
      family: 'slcan',
      identity,
      baud,
      bus: 'not known yet',
      dialect: { family: 'slcan', bus: 'unknown' },
      maxPidsPerRequest: 6, // SAE J1979, from memory: up to six on CAN
      voltageV: null,
    };
  }

  request(request: DiagnosticRequest): Promise<Exchange> {
    return this.#turns.take(request);
  }

  async close(): Promise<void> {
    if (this.#closed) return;
    this.#closed = true;
    if (!this.#port.wire.lost) await this.#port.command('C');
    await this.#port.wire.close();
  }

  /**
   * Listens before it speaks: a frame at the wrong bit rate disturbs a running bus. On a quiet bus (many
   * connectors sit behind a gateway) it asks at each rate in turn.
   * @throws HandbackError vehicle.silent
   */
  async findVehicle(attempts: number): Promise<void> {
    let rates: readonly (typeof RATES)[number][] = RATES;
    for (const rate of RATES) {
      if (((await this.#port.traffic(rate.command)) ?? 0) > 0) {
        rates = [rate];
        break;
      }
    }
    for (const { bitrate, command } of rates) {
      this.#rate = command;
      if ((await this.#openChannel()) === 'refused') continue;
      for (const bus of FORMATS) {
        const dialect: Dialect = { family: 'slcan', bus, bitrate };
        this.info = {
          ...this.info,
          dialect,
          bus: `CAN ${bus === 'can11' ? 11 : 29} bit, ${bitrate / 1000} kbit/s`,
        };
        this.#port.wire.tap({ kind: 'dialect', tUs: this.#port.wire.clock.nowUs(), dialect });
        for (let attempt = 0; attempt < attempts; attempt++) {
          const x = await this.#exchange({ payload: READ_PIDS });
          if (x.messages.length > 0) return;
        }
      }
    }
    const { lost } = this.#port.wire;
    if (lost)
      throw new HandbackError('link.lost', `The link was lost while looking for the vehicle: ${lost}.`);
    const heard =
      rates.length === 1
        ? `Traffic is on the bus at ${(rates[0]?.bitrate ?? 0) / 1000} kbit/s, but no`
        : 'No';
    throw new HandbackError(
      'vehicle.silent',
      `The adapter "${this.info.identity}" answers. ${heard} control unit answers at ${rates.map((r) => r.bitrate / 1000).join(' or ')} kbit/s, 11 or 29 bit.`,
      {
        hint: 'Is the ignition on? Switch it on (engine may stay off), check that the adapter sits fully in the connector, and try again.',
      },
    );
  }

  async #exchange(request: DiagnosticRequest): Promise<Exchange> {
    const { wire } = this.#port;
    const { payload } = request;
    if (this.#notSentInARow >= REFUSED_BEFORE_REOPEN && !wire.lost) await this.#openChannel();
    if (this.#mayComeLate && !wire.lost) await this.#port.listen(MORE_MS, () => () => undefined);
    const { bus } = this.info.dialect;
    const functional = bus === 'can29' ? FUNCTIONAL.can29 : FUNCTIONAL.can11;
    const address = request.ecu === undefined ? null : requestIdOf(request.ecu);
    const ecu = address === null ? null : (request.ecu ?? null);
    const expect = request.expect ?? (ecu === null ? Number.POSITIVE_INFINITY : 1);
    const firstMs = request.timeoutMs ?? FIRST_MS;
    const rx: RxChunk[] = [];
    let notSent = false;
    let acknowledged = false;

    const sentUs = wire.clock.nowUs();
    wire.tap({ kind: 'request', tUs: sentUs, payload, ecu });
    const end = await this.#port.listen<'complete' | 'refused'>(
      firstMs,
      (finish, extend) => {
        const reassembler = new Reassembler();
        let finals = 0;
        let waitMs = firstMs;
        return ({ meaning, chunk }) => {
          rx.push(chunk);
          if (meaning.kind === 'error') {
            notSent = true;
            if (finals === 0 && reassembler.open.length === 0) finish('refused');
          }
          if (meaning.kind === 'reply') acknowledged = true;
          // The answer was probably in what cannot be read: no long wait for it.
          if (meaning.kind === 'malformed') extend(MORE_MS);
          if (meaning.kind !== 'frame' || !isResponseId(meaning.id)) return;
          for (const event of reassembler.push(meaning.id, meaning.data, chunk.tUs)) {
            if (event.kind === 'flow') this.#sendFrame(requestIdOf(meaning.id) ?? functional, event.frame);
            if (event.kind !== 'message' || !answersTo(payload, event.payload)) continue;
            if (ecu !== null && meaning.id !== ecu) continue;
            if (isPending(event.payload)) waitMs = PENDING_MS;
            else {
              finals++;
              waitMs = MORE_MS;
            }
          }
          if (finals >= expect && reassembler.open.length === 0) finish('complete');
          else extend(reassembler.open.length > 0 ? Math.max(NEXT_FRAME_MS, waitMs) : waitMs);
        };
      },
      () => this.#sendFrame(address ?? functional, buildFrame([payload.length, ...payload], 0)),
    );
    const { messages, discards } = interpret(this.info.dialect, { payload, ecu }, rx);
    const doneUs = wire.clock.nowUs();
    this.#notSentInARow = notSent && messages.length === 0 ? this.#notSentInARow + 1 : 0;
    this.#acknowledges ||= acknowledged;
    const gone = this.#acknowledges && rx.length === 0;
    const verdict = judge(
      end === 'lost' ? wire.lost : null,
      gone,
      notSent,
      messages,
      discards.length,
      firstMs,
    );
    wire.tap({ kind: 'done', tUs: doneUs, outcome: verdict.outcome });
    this.#mayComeLate = end === 'timeout' && ecu !== null;
    return { sentUs, doneUs, ...verdict, messages, discards };
  }

  async #openChannel(): Promise<string> {
    this.#notSentInARow = 0;
    await this.#port.command('C');
    await this.#port.command(this.#rate);
    return this.#port.command('O');
  }

  #sendFrame(id: string, data: Uint8Array): void {
    this.#port.send(`${id.length === 3 ? 't' : 'T'}${id}${data.length}${toHex(data)}`);
  }
}

/** ISO 14229-1, from memory: 7F, service, 78 = response pending. */
function isPending(payload: Uint8Array): boolean {
  return payload[0] === 0x7f && payload[2] === 0x78;
}

function judge(
  lost: string | null,
  gone: boolean,
  notSent: boolean,
  messages: readonly EcuMessage[],
  discards: number,
  waitedMs: number,
): { outcome: Outcome; why: string | null } {
  if (messages.length > 0) return { outcome: 'answered', why: null };
  if (lost !== null) return { outcome: 'lost', why: lost };
  if (gone) return { outcome: 'timeout', why: 'the adapter no longer acknowledges what it is to send' };
  if (notSent)
    return {
      outcome: 'bus error',
      why: 'the adapter could not send: nobody acknowledges on the bus (ignition off?)',
    };
  if (discards > 0) return { outcome: 'garbled', why: 'the answer could not be read' };
  return { outcome: 'no data', why: `no control unit answered within ${waitedMs} ms` };
}
