/** Small hand-written stand-ins for a vehicle and for both kinds of adapter, at the far end of a pipe. */

import type { Clock } from '../../src/core/clock.ts';
import { fromHex, toHex } from '../../src/core/hex.ts';
import type { Link, LinkFactory } from '../../src/link/link.ts';
import { pipePair } from '../../src/link/pipe.ts';

export interface FakeUnit {
  /** Response address. */
  readonly ecu: string;
  readonly pids: ReadonlyMap<number, () => readonly number[]>;
}

export class FakeVehicle {
  on = true;
  vin = 'TEST0000000000001';
  units: FakeUnit[];
  /** Every request that reached the bus. */
  readonly asked: string[] = [];
  /** Answers instead of the usual ones; return null for the usual. */
  instead: (payload: Uint8Array) => { ecu: string; payload: number[] }[] | null = () => null;

  constructor(units: FakeUnit[]) {
    this.units = units;
  }

  /** @param target response address of the unit asked, null = all */
  answer(payload: Uint8Array, target: string | null): { ecu: string; payload: number[] }[] {
    this.asked.push(toHex(payload));
    if (!this.on) return [];
    const instead = this.instead(payload);
    if (instead) return instead;
    const out: { ecu: string; payload: number[] }[] = [];
    for (const u of this.units) {
      if (target !== null && target !== u.ecu) continue;
      if (payload[0] === 1) {
        const body = [...payload.subarray(1)].flatMap((pid) => {
          const data = pid % 32 === 0 ? bitmap(u, pid) : u.pids.get(pid)?.();
          return data ? [pid, ...data] : [];
        });
        if (body.length > 0) out.push({ ecu: u.ecu, payload: [0x41, ...body] });
      } else if (payload[0] === 9 && payload[1] === 2 && u === this.units[0])
        out.push({ ecu: u.ecu, payload: [0x49, 2, 1, ...Array.from(this.vin, (c) => c.charCodeAt(0))] });
      else if (payload[0] === 3) out.push({ ecu: u.ecu, payload: [0x43, 0] });
      else if (payload[0] === 4) out.push({ ecu: u.ecu, payload: [0x44] });
    }
    return out;
  }
}

function bitmap(u: FakeUnit, base: number): number[] | null {
  const highest = Math.max(...u.pids.keys());
  if (base > 0 && highest <= base) return null;
  const bytes = [0, 0, 0, 0];
  for (let k = 1; k <= 32; k++)
    if (u.pids.has(base + k) || (k === 32 && highest > base + 32))
      bytes[(k - 1) >> 3]! |= 0x80 >> ((k - 1) & 7);
  return bytes;
}

/** An engine with the usual signals; `tick` moves its values. */
export function engine(ecu = '7E8'): { unit: FakeUnit; values: Map<number, number[]> } {
  const values = new Map<number, number[]>([
    [0x04, [128]],
    [0x05, [130]],
    [0x0b, [100]],
    [0x0c, [0x1a, 0xf8]],
    [0x0d, [50]],
    [0x0f, [65]],
    [0x10, [1, 2]],
    [0x11, [60]],
    [0x33, [99]],
    [0x42, [0x36, 0xb0]],
    [0x46, [60]],
    [0x49, [90]],
  ]);
  return {
    unit: { ecu, pids: new Map([...values.keys()].map((pid) => [pid, () => values.get(pid)!])) },
    values,
  };
}

const asciiBytes = (text: string) => Uint8Array.from(text, (c) => c.charCodeAt(0) & 0xff);
const pad = (bytes: number[]) => [...bytes, ...Array(8 - bytes.length).fill(0xaa)];

/** ISO-TP frames of one message, padded. */
export function framesOf(payload: number[]): number[][] {
  if (payload.length <= 7) return [pad([payload.length, ...payload])];
  const frames = [[0x10 | (payload.length >> 8), payload.length & 0xff, ...payload.slice(0, 6)]];
  for (let i = 6, k = 1; i < payload.length; i += 7, k++)
    frames.push(pad([0x20 | (k & 15), ...payload.slice(i, i + 7)]));
  return frames;
}

export interface AtQuirks {
  refuses?: readonly string[]; // command prefixes answered with "?"
  accepts?: readonly string[]; // said OK to, but ignored
  mute?: readonly string[]; // command prefixes that bring nothing at all, not even a prompt
  searching?: boolean;
  answerMs?: number;
  waitMs?: number; // how long it waits for more answers when not told how many
  bare?: boolean; // never prints headers
  maxPids?: number;
  bootMs?: number; // hears and says nothing for so long after a reset, then says its name
}

export class FakeAt {
  readonly commands: string[] = [];
  readonly #vehicle: FakeVehicle;
  readonly #clock: Clock;
  readonly #q: AtQuirks;
  #link: Link | null = null;
  #input = '';
  #last = '';
  #echo = true;
  #spaces = true;
  #headers = false;
  #lineFeed = true;
  #found = false;
  #target: string | null = null;
  #job = 0;
  /** Called before each text goes out; may change it, or return null to swallow it. */
  garble: (text: string) => string | null = (t) => t;
  dead = false;
  supply = '12.6V';

  constructor(vehicle: FakeVehicle, clock: Clock, quirks: AtQuirks = {}) {
    this.#vehicle = vehicle;
    this.#clock = clock;
    this.#q = quirks;
  }

  attach(link: Link): void {
    this.#link = link;
    this.#input = '';
    link.listen((e) => {
      if (e.kind === 'data' && link === this.#link && !this.dead)
        for (const b of e.bytes) this.#char(String.fromCharCode(b));
    });
  }

  /** Power lost and back: everything forgotten. */
  restart(): void {
    this.#echo = this.#spaces = this.#lineFeed = true;
    this.#headers = this.#found = false;
    this.#target = null;
  }

  #say(text: string): void {
    const out = this.dead ? null : this.garble(text);
    if (out !== null) void this.#link?.write(asciiBytes(out)).catch(() => undefined);
  }

  #char(c: string): void {
    if (this.#job > 0) {
      this.#job++; // any character stops what is running
      this.#job = 0;
      this.#reply(['STOPPED']);
      return;
    }
    if (this.#echo) this.#say(c);
    if (c !== '\r') {
      this.#input += c;
      return;
    }
    const typed = this.#input.replaceAll(/[\s\0]/g, '').toUpperCase();
    this.#input = '';
    this.commands.push(typed);
    const line = typed || this.#last; // an empty one is the last one again
    this.#last = line;
    if (line.startsWith('AT')) this.#at(line.slice(2));
    else this.#diagnose(line);
  }

  #reply(lines: readonly string[]): unknown {
    const nl = this.#lineFeed ? '\r\n' : '\r';
    return this.#say(`${lines.map((l) => l + nl).join('')}${nl}>`);
  }

  #at(cmd: string): unknown {
    if (this.#q.mute?.some((r) => cmd.startsWith(r))) return undefined;
    if (this.#q.refuses?.some((r) => cmd.startsWith(r))) return this.#reply(['?']);
    const ignored = this.#q.accepts?.some((r) => cmd.startsWith(r)) ?? false;
    if (cmd === 'I' || cmd === 'WS' || cmd === 'Z') {
      if (cmd !== 'I') this.restart();
      const bootMs = cmd === 'I' ? 0 : (this.#q.bootMs ?? 0);
      if (bootMs === 0) return this.#reply(['TEXT ADAPTER 1']);
      this.dead = true;
      return this.#clock.after(bootMs, () => {
        this.dead = false;
        this.#reply(['', 'TEXT ADAPTER 1']);
      });
    }
    if (cmd === 'RV') return this.#reply([this.supply]);
    if (cmd === 'DPN') return this.#reply(['A6']);
    if (!ignored) {
      if (/^[ESHL][01]$/.test(cmd)) {
        const on = cmd[1] === '1';
        if (cmd[0] === 'E') this.#echo = on;
        if (cmd[0] === 'S') this.#spaces = on;
        if (cmd[0] === 'H') this.#headers = on;
        if (cmd[0] === 'L') this.#lineFeed = on;
      }
      if (cmd === 'D') this.restart();
      const header = /^SH7(..)$/.exec(cmd);
      if (header)
        this.#target =
          header[1] === 'DF'
            ? null
            : `7E${(Number.parseInt(header[1]![1]!, 16) + 8).toString(16).toUpperCase()}`;
    }
    return this.#reply(['OK']);
  }

  #diagnose(line: string): unknown {
    const digits = line.length % 2 === 1 ? line.slice(-1) : '';
    if (digits !== '' && this.#q.refuses?.includes('digit')) return this.#reply(['?']);
    const payload = fromHex(digits ? line.slice(0, -1) : line);
    if (!payload || payload.length === 0) return this.#reply(['?']);
    const tooMany = payload[0] === 1 && payload.length - 1 > (this.#q.maxPids ?? 6);
    const answers = tooMany ? [] : this.#vehicle.answer(payload, this.#target);
    const searching = this.#q.searching && !this.#found;
    if (searching) this.#say('SEARCHING...');
    if (answers.length === 0) {
      const job = ++this.#job;
      this.#clock.after(searching ? 3000 : (this.#q.waitMs ?? 200), () => {
        if (this.#job !== job) return;
        this.#job = 0;
        this.#reply([searching ? '\rUNABLE TO CONNECT' : 'NO DATA']);
      });
      return;
    }
    this.#found = true;
    const lines = this.#format(answers);
    const job = ++this.#job;
    const nl = this.#lineFeed ? '\r\n' : '\r';
    const told = digits !== '' && Number.parseInt(digits, 16) <= answers.length;
    this.#clock.after(this.#q.answerMs ?? 15, () => {
      if (this.#job !== job) return;
      for (const l of lines) this.#say((searching ? nl : '') + l + nl);
      const end = () => {
        if (this.#job !== job && !told) return;
        this.#job = 0;
        this.#say(`${nl}>`);
      };
      if (told) end();
      else this.#clock.after(this.#q.waitMs ?? 100, end);
    });
    return undefined;
  }

  #format(answers: readonly { ecu: string; payload: number[] }[]): string[] {
    const gap = this.#spaces ? ' ' : '';
    const text = (bytes: readonly number[]) =>
      Array.from(bytes, (b) => toHex(Uint8Array.of(b)) + gap).join('');
    if (this.#headers && !this.#q.bare)
      return answers.flatMap((a) => framesOf(a.payload).map((f) => a.ecu + gap + text(f)));
    return answers.flatMap((a) => {
      if (a.payload.length <= 7) return [text(a.payload)];
      const frames = framesOf(a.payload);
      return [
        a.payload.length.toString(16).toUpperCase().padStart(3, '0'),
        ...frames.map(
          (f, i) => `${(i & 15).toString(16).toUpperCase()}:${gap}${text(f.slice(i === 0 ? 2 : 1))}`,
        ),
      ];
    });
  }
}

export interface SlcanQuirks {
  acks?: boolean;
  /** False: does not know the question for its version. */
  version?: boolean;
  timestamps?: boolean;
  bitrate?: 'S5' | 'S6';
  wide?: boolean; // 29-bit addresses
  answerMs?: number;
}

export class FakeSlcan {
  readonly commands: string[] = [];
  readonly flowControls: string[] = [];
  readonly #vehicle: FakeVehicle;
  readonly #clock: Clock;
  readonly #q: SlcanQuirks;
  #link: Link | null = null;
  #input = '';
  #open: '' | 'O' | 'L' = '';
  #rate = '';
  readonly #rest = new Map<string, number[][]>();
  /** Text put in front of each answer frame: other traffic. */
  noise = '';
  dead = false;

  constructor(vehicle: FakeVehicle, clock: Clock, quirks: SlcanQuirks = {}) {
    this.#vehicle = vehicle;
    this.#clock = clock;
    this.#q = quirks;
  }

  attach(link: Link): void {
    this.#link = link;
    this.#input = '';
    link.listen((e) => {
      if (e.kind !== 'data' || link !== this.#link || this.dead) return;
      for (const b of e.bytes) {
        if (b !== 0x0d) this.#input += String.fromCharCode(b);
        else {
          this.#line(this.#input);
          this.#input = '';
        }
      }
    });
  }

  say(text: string): void {
    if (!this.dead) void this.#link?.write(asciiBytes(text)).catch(() => undefined);
  }

  #ack(text = ''): void {
    if (this.#q.acks !== false) this.say(`${text}\r`);
  }

  #line(line: string): unknown {
    this.commands.push(line);
    if (line === '') return this.#ack();
    if (line === 'V' && this.#q.version !== false) return this.say('V0101\r');
    if (/^S[0-8]$/.test(line)) {
      if (this.#open) return this.say('\x07');
      this.#rate = line;
      return this.#ack();
    }
    if (line === 'O' || line === 'L' || line === 'C') {
      this.#open = line === 'C' ? '' : line;
      return this.#ack();
    }
    const m = /^(?:t(...)|T(.{8}))8(.{16})$/.exec(line);
    if (!m || this.#open !== 'O') return this.#q.acks === false ? undefined : this.say('\x07');
    this.#ack(m[1] ? 'z' : 'Z');
    if (this.#rate !== (this.#q.bitrate ?? 'S6')) return undefined;
    const id = m[1] ?? m[2] ?? '';
    const data = fromHex(m[3]!)!;
    const wide = id.length === 8;
    if (wide !== (this.#q.wide ?? false)) return undefined;
    const target =
      id === '7DF' || id === '18DB33F1'
        ? null
        : wide
          ? `18DAF1${id.slice(4, 6)}`
          : `7E${(Number.parseInt(id[2]!, 16) + 8).toString(16).toUpperCase()}`;
    if ((data[0]! & 0xf0) === 0x30) {
      this.flowControls.push(id);
      const rest = this.#rest.get(target ?? '') ?? [];
      this.#rest.delete(target ?? '');
      for (const f of rest) this.#frame(target ?? '', f);
      return undefined;
    }
    for (const a of this.#vehicle.answer(data.slice(1, 1 + data[0]!), target)) {
      const [first, ...rest] = framesOf(a.payload);
      if (rest.length > 0) this.#rest.set(a.ecu, rest);
      this.#clock.after(this.#q.answerMs ?? 5, () => this.#frame(a.ecu, first!));
    }
    return undefined;
  }

  #frame(id: string, data: number[]): void {
    const stamp = this.#q.timestamps ? '12AB' : '';
    this.say(`${this.noise}${id.length === 3 ? 't' : 'T'}${id}8${toHex(Uint8Array.from(data))}${stamp}\r`);
  }
}

/** A factory whose links all lead to `device`; `baud`: any other speed brings noise. */
export function factoryFor(
  clock: Clock,
  device: { attach(link: Link): void },
  options: { baud?: number; baudRates?: readonly number[] } = {},
): LinkFactory & { opened: { near: Link; far: Link; baud: number | undefined }[]; refuse: Error | null } {
  const factory = {
    name: 'fake port',
    baudRates: options.baudRates ?? [],
    opened: [] as { near: Link; far: Link; baud: number | undefined }[],
    refuse: null as Error | null,
    async open({ baud }: { readonly baud?: number }) {
      if (factory.refuse) throw factory.refuse;
      const [near, far] = pipePair(clock, 'fake port');
      factory.opened.push({ near, far, baud });
      if (options.baud === undefined || baud === options.baud) device.attach(far);
      else
        far.listen(
          (e) =>
            e.kind === 'data' &&
            void far.write(Uint8Array.from(e.bytes, (b) => b | 0x80)).catch(() => undefined),
        );
      return near;
    },
  };
  return factory;
}
