/** An AT-command text adapter: commands and requests as lines of text, answers as lines of hex, then a prompt. */
import type { Clock, Timer } from '../../core/clock.ts';
import { fromHex } from '../../core/hex.ts';
import type { Random } from '../../core/random.ts';
import type { CanFrame, SimBus } from '../ecu/bus.ts';
import type { KLine } from '../ecu/kline.ts';
import { BusSide, type ExchangeEnd } from './at-exchange.ts';
import { KlineSide, klineKindOf, wokenBy, wokenKindOf } from './at-kline.ts';
import {
  type AtSettings,
  COMMANDS,
  factorySettings,
  type IdFilter,
  PROTOCOLS,
  SEARCH_ORDER,
} from './at-settings.ts';
import type { Front } from './front.ts';
import type { SerialLine } from './line.ts';
import type { Quirks } from './quirks.ts';

export interface AtOptions {
  readonly clock: Clock;
  readonly bus: SimBus;
  /** Where the vehicle has a K-line instead: then nobody is on `bus`. */
  readonly kline: KLine | null;
  readonly random: Random;
  readonly quirks: Quirks;
  /** V at the connector. */
  readonly voltage: () => number;
  /** False when the bytes do not fit into what still waits to be sent. */
  readonly send: (bytes: Uint8Array) => boolean;
  /** The line, whose speed it may change. */
  readonly line: Pick<SerialLine, 'changeSpeed' | 'waiting' | 'baud'>;
}

const IDENTITY = 'PRACTICE TEXT ADAPTER 1.4';
const DESCRIPTION = 'Simulated adapter, for practice';
const MAX_LINE = 256;
const MAX_TYPED = 512;
const COLD_START_MS = 700;
const WARM_START_MS = 120;
const COMMAND_MS = 1.5;
const STALL_MS = 5000;
const CR = 13;
const encoder = new TextEncoder();

const hex = (value: number, digits: number): string => value.toString(16).toUpperCase().padStart(digits, '0');

export class AtFront implements Front {
  readonly #o: AtOptions;
  readonly #bus: BusSide;
  readonly #kline: KlineSide | null;
  #s: AtSettings = factorySettings();
  #line = '';
  #overlong = false;
  #last = '';
  /** What is going on between a command and its prompt. */
  #busy: { readonly stop: () => void; readonly interruptible: boolean } | null = null;
  /** While another line speed is to be confirmed: what an empty line does. */
  #confirm: (() => void) | null = null;
  /** Bytes that came while nothing could interrupt. */
  #typed: number[] = [];
  #reading = false;
  /** Learned milliseconds from request to last answer. */
  #answerMs: number | null = null;

  constructor(options: AtOptions) {
    this.#o = options;
    const { clock, bus, kline, quirks } = options;
    this.#bus = new BusSide(clock, bus);
    this.#kline = kline && new KlineSide(clock, kline, !quirks.has('no-keep-alive'));
  }

  receive(bytes: Uint8Array): void {
    const room = MAX_TYPED - this.#typed.length;
    this.#typed.push(...bytes.subarray(0, room)); // the rest overruns the buffer
    this.#read();
  }

  /** A byte stops a request that waits for the bus; while a command is carried out it waits its turn. */
  #read(): void {
    if (this.#reading) return; // called again from within: the loop below goes on
    this.#reading = true;
    while (this.#typed.length > 0 && (this.#busy === null || this.#busy.interruptible))
      this.#key(this.#typed.shift() ?? 0);
    this.#reading = false;
  }

  powerCycle(): void {
    this.#abandon();
    this.#s = factorySettings();
    this.#line = '';
    this.#last = '';
    this.#typed = [];
    this.#answerMs = null;
    this.#o.line.changeSpeed(null);
    this.#finish(['', this.#identity]);
  }

  close(): void {
    this.#abandon();
    this.#kline?.stop();
    this.#bus.close();
  }

  #key(byte: number): void {
    if (byte === 0 || byte === 10) return;
    if (this.#confirm !== null) {
      if (byte === CR) this.#confirm();
      return; // anything else is not what it waits for
    }
    if (this.#busy !== null) {
      this.#abandon();
      this.#finish(['STOPPED']);
      return;
    }
    if (this.#s.echo) this.#text(byte === CR ? this.#eol() : String.fromCharCode(byte));
    if (byte !== CR) {
      if (byte < 0x20 || byte > 0x7e)
        this.#overlong = true; // noise: the line cannot be a command any more
      else if (this.#line.length >= MAX_LINE) this.#overlong = true;
      else this.#line += String.fromCharCode(byte);
      return;
    }
    const line = this.#overlong ? '?' : this.#line.replaceAll(' ', '').toUpperCase();
    this.#line = '';
    this.#overlong = false;
    if (line !== '') this.#last = line; // an empty line repeats the one before
    this.#execute(this.#last);
  }

  #execute(line: string): void {
    const { quirks, random } = this.#o;
    const stalled = random.next() < (quirks.get('stall') ?? 0);
    const extraMs = (quirks.get('slow') ?? 0) + (stalled ? STALL_MS : 0);
    this.#later(COMMAND_MS + extraMs, false, () => {
      if (line === '') this.#finish([]);
      else if (line.startsWith('AT')) this.#command(line.slice(2));
      else this.#request(line);
    });
  }

  #command(text: string): void {
    for (const command of COMMANDS) {
      const match = command.pattern.exec(text);
      if (match === null) continue;
      if (command.onlyWith !== undefined && !this.#o.quirks.has(command.onlyWith)) break;
      if (command.absentWith !== undefined && this.#o.quirks.has(command.absentWith)) break;
      const answer = command.run(this.#s, match, {
        identity: this.#identity,
        description: DESCRIPTION,
        reset: (kind) => this.#reset(kind),
        monitor: () => this.#monitor(),
        measuredVoltage: this.#o.voltage,
        changeSpeed: (baud) => this.#changeSpeed(baud),
      });
      this.#pretend();
      if (answer !== null) this.#finish([answer]);
      return;
    }
    this.#finish(['?']);
  }

  /** Settings that a quirk accepts by word only. */
  #pretend(): void {
    const { quirks } = this.#o;
    if (quirks.has('no-linefeed-off')) this.#s.linefeed = true;
    if (quirks.has('ignores-spaces-off')) this.#s.spaces = true;
    if (quirks.has('ignores-echo-off')) this.#s.echo = true;
  }

  #reset(kind: 'cold' | 'warm'): void {
    this.#later(kind === 'cold' ? COLD_START_MS : WARM_START_MS, false, () => {
      this.#s = factorySettings();
      this.#answerMs = null;
      this.#last = '';
      this.#typed = []; // what came during the restart was not heard
      this.#pretend();
      if (kind === 'cold') this.#o.line.changeSpeed(null);
      this.#finish(['', '', this.#identity]);
    });
  }

  get #identity(): string {
    return this.#o.quirks.has('wrong-identity') ? 'H0RN 0F PLENTY' : IDENTITY;
  }

  /** OK at the old speed, the name at the new one, and back unless an empty line confirms in time. */
  #changeSpeed(baud: number): void {
    const { clock, line, quirks } = this.#o;
    const before = line.baud;
    const { handshakeMs } = this.#s;
    let timer: Timer | null = null;
    const stop = (): void => {
      timer?.cancel();
      this.#confirm = null;
    };
    const after = (ms: number, fn: () => void): void => {
      timer = clock.after(ms, fn);
    };
    const goBack = (): void => {
      this.#confirm = null;
      line.changeSpeed(before);
      this.#finish([]);
    };
    const change = (): void => {
      if (line.waiting > 0) {
        after(1, change);
        return;
      }
      line.changeSpeed(baud);
      if (quirks.has('line-speed-sticks')) {
        stop();
        this.#finish([]);
        return;
      }
      after(handshakeMs, () => {
        this.#text(`${this.#identity}${this.#eol()}`);
        this.#confirm = () => {
          stop();
          this.#finish(['OK']);
        };
        after(handshakeMs, goBack);
      });
    };
    this.#busy = { stop, interruptible: true };
    this.#confirm = () => undefined;
    this.#text(`OK${this.#eol()}`);
    after(1, change);
  }

  #monitor(): void {
    this.#busy = { stop: () => this.#bus.stop(), interruptible: true };
    this.#bus.listen((frame) => {
      if (this.#print(frame)) return;
      this.#abandon();
      this.#finish(['BUFFER FULL']);
    });
  }

  #request(line: string): void {
    const request = readRequest(line, this.#s.autoFormat, this.#o.quirks);
    if (typeof request === 'string') this.#finish([request]);
    else if (this.#s.connected) this.#ask(request.payload, request.count);
    else this.#connect(request.payload, request.count);
  }

  /** First request on a protocol: find out whether a control unit answers there, searching when told to. */
  #connect(payload: Uint8Array, count: number | null): void {
    const s = this.#s;
    if (!s.auto) {
      const slow = wokenKindOf(s.protocol);
      if (slow !== null) this.#text(slow === 'kwp-fast' ? 'BUS INIT: ' : 'BUS INIT: ...');
      const found = (): void => {
        if (slow !== null) this.#text(`OK${this.#eol()}`);
        this.#ask(payload, count);
      };
      // Told which protocol to use it looks for nobody: what was asked is asked.
      const probe = payload[0] === 0x22 ? [0x22, 0xf4, 0x00] : undefined;
      this.#attempt(s.protocol, found, (end) => this.#failFixed(end), probe);
      return;
    }
    this.#text('SEARCHING...');
    const order = [...new Set([s.protocol, ...SEARCH_ORDER])].filter((p) => PROTOCOLS[p] !== undefined);
    const next = (i: number): void => {
      const protocol = order[i];
      if (protocol === undefined) {
        s.protocol = 0;
        this.#finish(['', 'UNABLE TO CONNECT']);
        return;
      }
      const found = (): void => {
        s.protocol = protocol;
        this.#text(this.#eol());
        this.#ask(payload, count);
      };
      this.#attempt(protocol, found, () => next(i + 1));
    };
    next(0);
  }

  /** What the adapter says when the one protocol it was told to use brings nothing. */
  #failFixed(end: ExchangeEnd | null): void {
    const { protocol } = this.#s;
    const isCan = PROTOCOLS[protocol]?.can !== null;
    if (isCan) this.#finish([end?.why === 'time over' ? 'NO DATA' : 'CAN ERROR']);
    else this.#finish([wokenKindOf(protocol) === null ? 'UNABLE TO CONNECT' : 'ERROR']);
  }

  #attempt(
    protocol: number,
    found: () => void,
    failed: (end: ExchangeEnd | null) => void,
    probe: readonly number[] = [0x01, 0x00],
  ): void {
    const def = PROTOCOLS[protocol];
    const attemptMs = def?.attemptMs ?? 0;
    const can = def?.can ?? null;
    const kind = klineKindOf(protocol);
    const line = this.#kline;
    if (kind !== null && line !== null) {
      this.#busy = { stop: () => line.stop(), interruptible: true };
      line.wake(kind, wokenBy(kind, this.#s), (awake) => {
        this.#busy = null;
        this.#s.connected = awake;
        if (awake) found();
        else failed(null);
      });
      return;
    }
    if (can === null || can.bitrate !== this.#o.bus.bitrate) {
      // Another kind of bus: nothing there answers. Another bit rate: nothing but errors.
      this.#later(can === null ? attemptMs : 30, true, () => failed(null));
      return;
    }
    this.#busy = { stop: () => this.#bus.stop(), interruptible: true };
    this.#bus.start({
      frame: this.#frame(can.extended, can.extended ? 0x18db33f1 : 0x7df, [probe.length, ...probe]),
      filter: answersOf(can.extended),
      timeoutMs: attemptMs,
      count: null, // a second unit's answer to the attempt must not be taken for one to the request after it
      flowFor: () => null,
      onFrame: () => undefined,
      onEnd: (end) => {
        this.#busy = null;
        this.#s.connected = end.frames > 0;
        if (end.frames > 0) found();
        else failed(end);
      },
    });
  }

  #ask(payload: Uint8Array, count: number | null): void {
    const s = this.#s;
    if (klineKindOf(s.protocol) !== null) {
      this.#askKline(payload, count);
      return;
    }
    const extended = PROTOCOLS[s.protocol]?.can?.extended ?? false;
    const content = s.autoFormat ? [payload.length, ...payload] : [...payload];
    const frame = this.#frame(extended, this.#header(extended), content);
    const wanted = s.responses ? count : 0;
    if (wanted === 0) {
      this.#o.bus.send(frame, this.#bus);
      this.#finish([]);
      return;
    }
    this.#busy = { stop: () => this.#bus.stop(), interruptible: true };
    this.#bus.start({
      frame,
      filter: s.filter ?? answersOf(extended),
      timeoutMs: this.#timeoutMs(),
      count: wanted,
      flowFor: (id) => this.#flow(id, extended),
      onFrame: (frame) => this.#print(frame),
      onEnd: (end) => {
        this.#busy = null;
        this.#learnAnswer(end.answerMs);
        if (end.why === 'not acknowledged') {
          s.connected = false;
          this.#finish(['CAN ERROR']);
        } else this.#finish(end.frames === 0 ? ['NO DATA'] : []);
      },
    });
  }

  #askKline(payload: Uint8Array, count: number | null): void {
    const line = this.#kline;
    const s = this.#s;
    if (line === null) {
      this.#finish(['NO DATA']);
      return;
    }
    this.#busy = { stop: () => line.stop(), interruptible: true };
    line.start({
      header: s.header?.length === 6 ? [...(fromHex(s.header) ?? [])] : null,
      payload,
      timeoutMs: this.#timeoutMs(),
      count: s.responses ? count : 0,
      onMessage: (message) => {
        const bytes = s.headers ? message : message.subarray(3, -1);
        const space = s.spaces ? ' ' : '';
        this.#text([...bytes].map((b) => hex(b, 2)).join(space) + space + this.#eol());
      },
      onEnd: (messages, answerMs) => {
        this.#busy = null;
        this.#learnAnswer(answerMs);
        this.#finish(messages === 0 ? ['NO DATA'] : []);
      },
    });
  }

  #learnAnswer(ms: number | null): void {
    if (ms === null) return;
    const old = this.#answerMs ?? ms;
    this.#answerMs = Math.max(ms, old + 0.2 * (ms - old));
  }

  /** Adaptive timing waits a little longer than answers have taken so far; the set time is the upper bound. */
  #timeoutMs(): number {
    const { adaptive, timeoutMs } = this.#s;
    if (adaptive === 0 || this.#answerMs === null) return timeoutMs;
    const [factor, extra] = adaptive === 1 ? [2, 16] : [1.3, 8];
    return Math.min(timeoutMs, factor * this.#answerMs + extra);
  }

  #header(extended: boolean): number {
    const text = this.#s.header;
    if (extended) {
      if (text?.length === 6) return Number.parseInt(this.#s.priority + text, 16) & 0x1fffffff;
      return text?.length === 8 ? Number.parseInt(text, 16) & 0x1fffffff : 0x18db33f1;
    }
    return text?.length === 3 ? Number.parseInt(text, 16) & 0x7ff : 0x7df;
  }

  #flow(id: number, extended: boolean): CanFrame | null {
    const s = this.#s;
    if (!s.flowControl) return null;
    const own = s.flowMode === 1 && s.flowHeader !== null ? Number.parseInt(s.flowHeader, 16) : null;
    const natural = extended ? (0x18da00f1 | ((id & 0xff) << 8)) >>> 0 : id - 8;
    return this.#frame(extended, own ?? natural, s.flowMode === 1 ? [...s.flowData] : [0x30, 0, 0]);
  }

  #frame(extended: boolean, id: number, content: readonly number[]): CanFrame {
    const data = new Uint8Array(8);
    data.set(content.slice(0, 8));
    return { id, extended, data };
  }

  /** One frame as a line; false when it did not fit into what waits to be sent. */
  #print(frame: CanFrame): boolean {
    const s = this.#s;
    const space = s.spaces ? ' ' : '';
    const bytes = [...frame.data].map((b) => hex(b, 2));
    if (s.headers) {
      const id = frame.extended ? (hex(frame.id, 8).match(/../g) ?? []) : [hex(frame.id, 3)];
      const length = s.showLength ? [String(frame.data.length)] : [];
      return this.#text([...id, ...length, ...bytes].join(space) + space + this.#eol());
    }
    if (!s.autoFormat) return this.#text(bytes.join(space) + space + this.#eol());
    const [first = 0, second = 0] = frame.data;
    const tail = (from: number, to = 8) => bytes.slice(from, to).join(space) + space + this.#eol();
    switch (first >> 4) {
      case 0:
        return this.#text(tail(1, 1 + (first & 0x0f)));
      case 1: {
        const length = hex(((first & 0x0f) << 8) | second, 3);
        return this.#text(`${length}${space}${this.#eol()}0:${space}${tail(2)}`);
      }
      case 2:
        return this.#text(`${hex(first & 0x0f, 1)}:${space}${tail(1)}`);
      default:
        return true; // flow control is the adapter's own business
    }
  }

  /** Prints lines, an empty line and the prompt; the adapter is ready again. */
  #finish(lines: readonly string[]): void {
    this.#busy = null;
    const eol = this.#eol();
    const lost = this.#o.random.next() < (this.#o.quirks.get('lost-prompt') ?? 0);
    this.#text(`${lines.map((line) => line + eol).join('')}${eol}${lost ? '' : '>'}`);
    this.#read();
  }

  #later(ms: number, interruptible: boolean, fn: () => void): void {
    const timer: Timer = this.#o.clock.after(ms, () => {
      this.#busy = null;
      fn();
      this.#read();
    });
    this.#busy = { stop: () => timer.cancel(), interruptible };
  }

  #abandon(): void {
    this.#busy?.stop();
    this.#busy = null;
  }

  #eol(): string {
    return this.#s.linefeed ? '\r\n' : '\r';
  }

  #text(text: string): boolean {
    return this.#o.send(encoder.encode(text));
  }
}

/** A line of hex is a message, with one digit more for the number of answers wanted; else what the adapter says to it. */
function readRequest(
  line: string,
  autoFormat: boolean,
  quirks: Quirks,
): { payload: Uint8Array; count: number | null } | string {
  const odd = line.length % 2 === 1;
  const payload = fromHex(odd ? line.slice(0, -1) : line);
  const count = odd ? Number.parseInt(line.slice(-1), 16) : null;
  if (payload === null || Number.isNaN(count)) return '?';
  if (odd && quirks.has('no-count-digit')) return '?';
  if (payload.length === 0 || payload.length > (autoFormat ? 7 : 8)) return '?';
  if (quirks.has('no-multi-pid') && payload[0] === 0x01 && payload.length > 2) return 'NO DATA';
  return { payload, count };
}

/** Addresses that control units answer from: 7E8–7EF, or 18DAF1xx (ISO 15765-4, from memory). */
function answersOf(extended: boolean): IdFilter {
  return extended ? { mask: 0x1fffff00, value: 0x18daf100 } : { mask: 0x7f8, value: 0x7e8 };
}
