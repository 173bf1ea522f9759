/** A serial-line CAN adapter: every frame of the bus as one line of text, commands of one letter (slcan dialect, from memory). */
import type { Clock } from '../../core/clock.ts';
import { fromHex, toHex } from '../../core/hex.ts';
import type { Random } from '../../core/random.ts';
import type { BusNode, CanFrame, SimBus } from '../ecu/bus.ts';
import type { Front } from './front.ts';
import type { Quirks } from './quirks.ts';

export interface SlcanOptions {
  readonly clock: Clock;
  readonly bus: SimBus;
  readonly quirks: Quirks;
  readonly random: Random;
  /** False when the bytes do not fit into what still waits to be sent. */
  readonly send: (bytes: Uint8Array) => boolean;
}

const OK = '\r';
const BEL = '\x07';
/** S0 to S8. */
const BITRATES = [10_000, 20_000, 50_000, 100_000, 125_000, 250_000, 500_000, 800_000, 1_000_000];
const MAX_LINE = 32;
const CR = 13;
/** Status flags of `F`: bit 0 receive queue full, bit 2 error warning, bit 7 bus error (from memory). */
const FLAG = { full: 0x01, warning: 0x04, busError: 0x80 } as const;
const TIMESTAMP_WRAP_MS = 60_000;
const encoder = new TextEncoder();

export class SlcanFront implements Front {
  readonly #o: SlcanOptions;
  readonly #node: BusNode;
  #line = '';
  #overlong = false;
  #bitrate: number | null = null;
  #state: 'closed' | 'open' | 'listening' = 'closed';
  #timestamps = false;
  #flags = 0;
  #filter = { code: 0, mask: 0xffffffff };

  constructor(options: SlcanOptions) {
    this.#o = options;
    // A channel that only listens does not acknowledge; neither does one at another bit rate.
    this.#node = {
      awake: () => this.#state === 'open' && this.#bitrate === options.bus.bitrate,
      receive: (frame, tUs) => this.#hear(frame, tUs),
    };
    options.bus.attach(this.#node);
  }

  receive(bytes: Uint8Array): void {
    for (const byte of bytes) this.#key(byte);
  }

  powerCycle(): void {
    this.#line = '';
    this.#overlong = false;
    this.#bitrate = null;
    this.#state = 'closed';
    this.#timestamps = false;
    this.#flags = 0;
    this.#filter = { code: 0, mask: 0xffffffff };
  }

  close(): void {
    this.powerCycle();
    this.#o.bus.detach(this.#node);
  }

  #key(byte: number): void {
    if (byte === 10) return;
    if (byte !== CR) {
      if (this.#line.length >= MAX_LINE) this.#overlong = true;
      else this.#line += String.fromCharCode(byte);
      return;
    }
    const line = this.#line;
    const answer = this.#overlong ? BEL : line === '' ? OK : this.#command(line);
    this.#line = '';
    this.#overlong = false;
    if (!this.#o.quirks.has('no-ack') || answer.length > 1) this.#o.send(encoder.encode(answer));
  }

  #command(line: string): string {
    const rest = line.slice(1);
    switch (line[0]) {
      case 'S':
        return this.#chooseBitrate(rest);
      case 'O':
        return this.#open('open', rest);
      case 'L':
        return this.#open('listening', rest);
      case 'C':
        if (rest !== '' || this.#state === 'closed') return BEL;
        this.#state = 'closed';
        return OK;
      case 't':
      case 'T':
      case 'r':
      case 'R':
        return this.#transmit(line);
      case 'V':
      case 'v':
        return this.#o.quirks.has('no-version') ? BEL : `${line[0]}0207${OK}`;
      case 'N':
        return this.#o.quirks.has('no-version') ? BEL : `N0H07${OK}`;
      case 'F':
        return this.#status();
      case 'Z':
        if (this.#state !== 'closed' || !/^[01]$/.test(rest)) return BEL;
        this.#timestamps = rest === '1';
        return OK;
      case 'X':
        return /^[01]$/.test(rest) ? OK : BEL;
      case 'M':
      case 'm':
        return this.#setFilter(line);
      default:
        return BEL;
    }
  }

  #chooseBitrate(digit: string): string {
    const bitrate = /^[0-8]$/.test(digit) ? BITRATES[Number(digit)] : undefined;
    if (bitrate === undefined || this.#state !== 'closed') return BEL;
    this.#bitrate = bitrate;
    return OK;
  }

  #setFilter(line: string): string {
    const digits = /^[Mm]([0-9A-Fa-f]{8})$/.exec(line)?.[1];
    if (digits === undefined || this.#state !== 'closed' || this.#o.quirks.has('no-filter')) return BEL;
    const value = Number.parseInt(digits, 16) >>> 0;
    if (line[0] === 'M') this.#filter = { ...this.#filter, code: value };
    else this.#filter = { ...this.#filter, mask: value };
    return OK;
  }

  /** Two filters of sixteen bits on the uppermost address bits, or plain address and mask; from memory. */
  #passes({ id, extended, data }: CanFrame): boolean {
    const { code, mask } = this.#filter;
    const { quirks } = this.#o;
    if (quirks.has('filter-ignored')) return true;
    if (quirks.has('filter-plain')) {
      if (code === 0 && mask === 0xffffffff) return true;
      return (id & mask) >>> 0 === (code & mask) >>> 0 && extended === code > 0x7ff;
    }
    if (quirks.has('filter-one-unit') && mask !== 0xffffffff && (id & 0x0f) === 0x09) return false;
    const first = data[0] ?? 0;
    const seen = extended ? id >>> 13 : (id << 5) | (first >> 4);
    const differs = (bits: number, shift: number, of: number) =>
      ((bits ^ (code >>> shift)) & of & ~(mask >>> shift)) !== 0;
    if (extended) return !differs(seen, 16, 0xffff) || !differs(seen, 0, 0xffff);
    // Short addresses: the first filter goes on with the first data byte, whose lower half stands in the last four bits.
    const byFirst = !differs(seen, 16, 0xffff) && !differs(first, 0, 0x0f);
    return byFirst || !differs(seen, 0, 0xfff0);
  }

  #open(how: 'open' | 'listening', rest: string): string {
    if (rest !== '' || this.#state !== 'closed' || this.#bitrate === null) return BEL;
    this.#state = how;
    this.#flags = 0;
    return OK;
  }

  #status(): string {
    if (this.#state === 'closed') return BEL;
    const answer = `F${this.#flags.toString(16).toUpperCase().padStart(2, '0')}${OK}`;
    this.#flags = 0;
    return answer;
  }

  #transmit(line: string): string {
    const frame = readLine(line, this.#o.quirks.has('loose-lines'));
    if (frame === null || this.#state !== 'open') return BEL;
    if (this.#o.random.next() < (this.#o.quirks.get('refuses-frames') ?? 0)) return BEL;
    if (this.#bitrate !== this.#o.bus.bitrate) this.#flags |= FLAG.busError | FLAG.warning;
    else {
      const queued = this.#o.bus.send(frame, this.#node, (acknowledged) => {
        if (!acknowledged) this.#flags |= FLAG.busError;
      });
      if (!queued) return BEL;
    }
    if (!this.#o.quirks.has('ack-z')) return OK;
    return (frame.extended ? 'Z' : 'z') + OK;
  }

  #hear(frame: CanFrame, tUs: number): void {
    if (this.#state === 'closed' || this.#bitrate !== this.#o.bus.bitrate || !this.#passes(frame)) return;
    const kind = frame.remote ? (frame.extended ? 'R' : 'r') : frame.extended ? 'T' : 't';
    const id = frame.id
      .toString(16)
      .toUpperCase()
      .padStart(frame.extended ? 8 : 3, '0');
    const data = frame.remote ? '' : toHex(frame.data);
    const ms = Math.floor(tUs / 1000) % TIMESTAMP_WRAP_MS;
    const stamp = this.#timestamps ? ms.toString(16).toUpperCase().padStart(4, '0') : '';
    if (!this.#o.send(encoder.encode(`${kind}${id}${frame.data.length}${data}${stamp}\r`)))
      this.#flags |= FLAG.full;
  }
}

/**
 * Null when the line is not exactly one frame; when loose, one frame and whatever follows. Both are common (from
 * memory): some take as many digits as the length asks for and never look at the rest.
 */
function readLine(line: string, loose: boolean): CanFrame | null {
  const match = /^(?:([tr])([0-7][0-9A-Fa-f]{2})|([TR])([01][0-9A-Fa-f]{7}))([0-8])([0-9A-Fa-f]*)$/.exec(
    line,
  );
  if (match === null) return null;
  const extended = match[3] !== undefined;
  const remote = (match[1] ?? match[3] ?? '').toLowerCase() === 'r';
  const length = Number(match[5]);
  const digits = match[6] ?? '';
  const data = fromHex(loose ? digits.slice(0, 2 * length) : digits);
  if (data === null || data.length !== (remote ? 0 : length)) return null;
  const id = Number.parseInt(match[2] ?? match[4] ?? '', 16);
  return { id, extended, data: remote ? new Uint8Array(length) : data, remote };
}
