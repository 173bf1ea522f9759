/** A third dialect, known to nothing outside this file: a plain line, its sum behind it. */
import type {
  Adapter,
  AdapterDriver,
  Dialect,
  EcuMessage,
  Exchange,
  WireEvent,
} from '../../src/adapter/adapter.ts';
import type { DialectEntry, LineWatch, Permission } from '../../src/adapter/dialect.ts';
import { Received, type RxChunk } from '../../src/adapter/received.ts';
import { Wire } from '../../src/adapter/wire.ts';
import type { Clock } from '../../src/core/clock.ts';
import { fromHex, toHex } from '../../src/core/hex.ts';

/** `ask 0105 fe` (its sum behind it) is answered by `7E8 410582` lines and `end`. */
const DIALECT: Dialect = { family: 'plain', bus: 'can11', bitrate: 500_000 };
const ascii = (text: string) => Buffer.from(text, 'latin1');
const sum = (hex: string) => toHex(Uint8Array.of([...fromHex(hex)!].reduce((n, b) => (n + b) & 255, 0)));

function read(rx: Received) {
  const messages: EcuMessage[] = [];
  const text = Buffer.from(rx.bytes.subarray(0, rx.length)).toString('latin1');
  for (const [, ecu, hex] of text.matchAll(/^(7E[89A-F]) ([0-9A-F]+)$/gm))
    messages.push({ ecu: ecu!, payload: fromHex(hex!)!, tUs: rx.tUs[rx.portions - 1]! });
  return { messages, discards: [] };
}

class PlainWatch implements LineWatch {
  readonly #may: Permission;
  constructor(may: Permission) {
    this.#may = may;
  }
  heard(): void {}
  mayPass(bytes: Uint8Array): boolean {
    const [, hex, check] =
      /^ask ((?:[0-9A-F]{2})+) ([0-9A-F]{2})\n$/.exec(Buffer.from(bytes).toString()) ?? [];
    return hex !== undefined && check === sum(hex) && this.#may.ask(fromHex(hex)!) !== 'no';
  }
}

const driverAt = (clock: Clock): AdapterDriver => ({
  async connect(link, tap, baud): Promise<Adapter> {
    return plainAdapter(clock, link, tap, baud);
  },
});

function plainAdapter(
  clock: Clock,
  link: Parameters<AdapterDriver['connect']>[0],
  tap: (e: WireEvent) => void,
  baud: number | null,
): Adapter {
  const wire = new Wire(link, tap, clock);
  let rx: RxChunk[] = [];
  let done: () => void = () => undefined;
  wire.onData((chunk) => {
    rx.push(chunk);
    if (Buffer.concat(rx.map((c) => c.bytes)).includes('end\n')) done();
  });
  tap({ kind: 'dialect', tUs: clock.nowUs(), dialect: DIALECT });
  return {
    info: {
      family: 'plain',
      identity: 'a plain one',
      baud,
      bus: 'CAN 11 bit, 500 kbit/s',
      dialect: DIALECT,
      maxPidsPerRequest: 6,
      voltageV: null,
    },
    damaged: 0,
    formOf: (payload) => payload,
    async request({ payload, ecu = null }): Promise<Exchange> {
      rx = [];
      const sentUs = clock.nowUs();
      tap({ kind: 'request', tUs: sentUs, payload, ecu });
      const end = await wire.wait<'end'>(200, (finish) => {
        done = () => finish('end');
        wire.send(ascii(`ask ${toHex(payload)} ${sum(toHex(payload))}\n`));
      });
      const messages = read(Received.of(rx)).messages.filter((m) => ecu === null || m.ecu === ecu);
      const outcome = messages.length > 0 ? 'answered' : end === 'lost' ? 'lost' : 'no data';
      tap({ kind: 'done', tUs: clock.nowUs(), outcome, messages });
      return { asked: payload, sentUs, doneUs: clock.nowUs(), outcome, why: null, messages, discards: [] };
    },
    close: () => wire.close(),
  };
}

export const plain: DialectEntry = {
  quickToFind: true,
  driver: driverAt,
  read: (_dialect, _sent, rx) => read(rx),
  watch: (may) => new PlainWatch(may),
};
