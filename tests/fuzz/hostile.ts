/**
 * Seeded hostile input for every parser of bytes from outside, adapter and receiver: good transcripts with characters lost, added,
 * changed, swapped and cut, fed whole, byte by byte and split anywhere. A property that does not hold throws.
 */
import fc from 'fast-check';
import type { Dialect } from '../../src/adapter/adapter.ts';
import { answersTo } from '../../src/adapter/answers.ts';
import { interpret } from '../../src/adapter/interpret.ts';
import { SlcanSplitter } from '../../src/adapter/slcan/read.ts';
import { fromHex, toHex } from '../../src/core/hex.ts';
import { readFrame } from '../../src/isotp/frame.ts';
import { Reassembler } from '../../src/isotp/reassembler.ts';
import { Sender } from '../../src/isotp/sender.ts';
import { decodePid } from '../../src/j1979/decode.ts';
import { FrameDecoder } from '../../src/j1979/decode-frames.ts';
import { decodeInfo } from '../../src/j1979/info.ts';
import { explainRequest, explainResponse } from '../../src/j1979/message.ts';
import { splitCurrentData, splitFreezeFrame } from '../../src/j1979/split.ts';
import { LineCutter } from '../../src/nmea/cutter.ts';
import { FixReader } from '../../src/nmea/fixes.ts';
import { checksum, readSentence, withoutPlace } from '../../src/nmea/sentence.ts';

const ascii = (text: string): Uint8Array => Uint8Array.from(text, (c) => c.charCodeAt(0) & 0xff);
const hex = (text: string): Uint8Array => fromHex(text) ?? new Uint8Array();

interface Good {
  readonly dialect: Dialect;
  readonly ask: string;
  readonly lines: readonly string[];
  /** Each line ends with this. */
  readonly end: string;
  /** "ecu:payload" of each message. */
  readonly says: readonly string[];
  /** Lost and added characters are always noticed: by the frame's length, its own length digit or a checksum. */
  readonly lossShows: boolean;
}

const at = (bus: Dialect['bus'], more: Partial<Dialect> = {}): Dialect => ({
  family: 'at',
  bus,
  headers: true,
  ...more,
});
const VIN = '4902015445535430303030303030303030303030';
const GOOD: readonly Good[] = [
  {
    dialect: at('can11', { padded: true }),
    ask: '010C',
    lines: ['7E804410C1AF8555555', '7E903410C00AAAAAAAA'],
    end: '\r',
    says: ['7E8:410C1AF8', '7E9:410C00'],
    lossShows: true,
  },
  {
    dialect: at('can11', { padded: true }),
    ask: '0902',
    lines: [`7E81014${VIN.slice(0, 12)}`, `7E821${VIN.slice(12, 26)}`, `7E822${VIN.slice(26, 40)}`],
    end: '\r',
    says: [`7E8:${VIN}`],
    lossShows: true,
  },
  {
    dialect: at('can29', { padded: true }),
    ask: '0105',
    lines: ['18DAF110034105 7B00000000'],
    end: '\r\n',
    says: ['18DAF110:41057B'],
    lossShows: true,
  },
  {
    dialect: at('can11'),
    ask: '0100',
    lines: ['7E8 06 41 00 BE 3F A8 13 '],
    end: '\r',
    says: ['7E8:4100BE3FA813'],
    lossShows: false,
  },
  {
    dialect: at('can11', { headers: false }),
    ask: '0902',
    lines: ['014', `0:${VIN.slice(0, 12)}`, `1:${VIN.slice(12, 26)}`, `2:${VIN.slice(26, 40)}`],
    end: '\r',
    says: [`?:${VIN}`],
    lossShows: false,
  },
  {
    dialect: at('kline'),
    ask: '010C',
    lines: ['486B10410C1AF81C+'],
    end: '\r',
    says: ['10:410C1AF8'],
    lossShows: true,
  },
  {
    dialect: at('j1850'),
    ask: '0105',
    lines: ['486B1041057B+'],
    end: '\r',
    says: ['10:41057B'],
    lossShows: true,
  },
  {
    dialect: { family: 'slcan', bus: 'can11' },
    ask: '010C',
    lines: ['t12380011223344556677', 't7E8804410C1AF8000000', 'z'],
    end: '\r',
    says: ['7E8:410C1AF8'],
    lossShows: true,
  },
  {
    dialect: { family: 'slcan', bus: 'can29' },
    ask: '0105',
    lines: ['Z', 'T18DAF11080341057B00000000'],
    end: '\r',
    says: ['18DAF110:41057B'],
    lossShows: true,
  },
];

/** Changes of a text: what, where (as a share of its length), with which character. */
interface Change {
  readonly kind: 'lose' | 'add' | 'change' | 'swap' | 'cut' | 'double';
  readonly where: number;
  readonly byte: number;
}

const JUNK = [...ascii('0123456789ABCDEFabcdef:\r\n> tTrRzZ?<.XNODATA'), 0, 7, 0x80, 0xff];
const share = fc.double({ min: 0, max: 1, maxExcluded: true, noNaN: true });
const change = fc.record<Change>({
  kind: fc.constantFrom('lose', 'add', 'change', 'swap', 'cut', 'double'),
  where: share,
  byte: fc.constantFrom(...JUNK),
});

function mutate(text: string, changes: readonly Change[]): string {
  let t = text;
  for (const { kind, where, byte } of changes) {
    const i = Math.floor(where * t.length);
    const c = String.fromCharCode(byte);
    if (kind === 'lose') t = t.slice(0, i) + t.slice(i + 1);
    else if (kind === 'add') t = t.slice(0, i) + c + t.slice(i);
    else if (kind === 'change') t = t.slice(0, i) + c + t.slice(i + 1);
    else if (kind === 'swap')
      t =
        t.slice(0, i) +
        t
          .slice(i, i + 2)
          .split('')
          .reverse()
          .join('') +
        t.slice(i + 2);
    else if (kind === 'cut') t = t.slice(0, i);
    else t = t.slice(0, i) + t.slice(Math.max(0, i - 10), i) + t.slice(i);
  }
  return t;
}

function read(good: Good, chunks: readonly Uint8Array[]): string[] {
  const request = { payload: hex(good.ask), ecu: null };
  const { messages, discards } = interpret(
    good.dialect,
    request,
    chunks.map((bytes, i) => ({ tUs: i, bytes })),
  );
  for (const m of messages) check(answersTo(request.payload, m.payload), 'an answer to something else');
  for (const d of discards) check(d.why !== '', 'a discard without a reason');
  return messages.map((m) => `${m.ecu}:${toHex(m.payload)}`);
}

function check(holds: boolean, what: string): void {
  if (!holds) throw new Error(what);
}

const equal = (a: readonly string[], b: readonly string[]) =>
  a.length === b.length && a.every((x, i) => x === b[i]);

/** The check byte of the older buses stands as "+" in the table above. */
function withCheck(good: Good): Good {
  const sum = (t: string) => hex(t).reduce((s, b) => (s + b) & 0xff, 0);
  const crc = (t: string) =>
    hex(t).reduce((c, b) => {
      let r = c ^ b;
      for (let i = 0; i < 8; i++) r = r & 0x80 ? ((r << 1) ^ 0x1d) & 0xff : (r << 1) & 0xff;
      return r;
    }, 0xff) ^ 0xff;
  return {
    ...good,
    lines: good.lines.map((line) => {
      if (!line.endsWith('+')) return line;
      const body = good.dialect.bus === 'kline' ? line.slice(0, -3) : line.slice(0, -1);
      return body + toHex(Uint8Array.of(good.dialect.bus === 'kline' ? sum(body) : crc(body)));
    }),
  };
}
const TRANSCRIPTS = GOOD.map(withCheck);

/** One adapter transcript, spoilt. */
const transcript = fc.record({
  which: fc.nat(TRANSCRIPTS.length - 1),
  changes: fc.array(change, { minLength: 1, maxLength: 6 }),
  losses: fc.array(fc.tuple(share, fc.integer({ min: 1, max: 8 })), { minLength: 1, maxLength: 4 }),
  split: share,
});
type Transcript = typeof transcript extends fc.Arbitrary<infer T> ? T : never;

/** @returns lines that were read */
function tryTranscript({ which, changes, losses, split }: Transcript): number {
  const good = TRANSCRIPTS[which]!;
  const text = good.lines.map((line) => line + good.end).join('');
  const close = good.dialect.family === 'at' ? `${good.end}>` : '';
  const spoilt = mutate(text, changes);
  // However it is cut, it reads the same.
  const all = ascii(spoilt + close);
  const whole = read(good, [all]);
  const i = Math.floor(split * all.length);
  check(equal(read(good, [all.slice(0, i), all.slice(i)]), whole), `cut at ${i} it reads otherwise`);
  check(
    equal(
      read(
        good,
        Array.from(all, (b) => Uint8Array.of(b)),
      ),
      whole,
    ),
    'byte by byte it reads otherwise',
  );
  // After any garbage the next good answer is read, where lines name their sender.
  if (good.dialect.headers !== false) {
    const after = read(good, [ascii(`${spoilt}${good.end}${text}${close}`)]);
    for (const says of good.says) check(after.includes(says), `${says} is not read after garbage`);
  }
  // Lost characters never make another value.
  if (good.lossShows) {
    const fewer = losses.reduce((t, [where, n]) => {
      const i = Math.floor(where * t.length);
      return t.slice(0, i) + t.slice(i + n);
    }, text);
    for (const says of read(good, [ascii(fewer + close)]))
      check(good.says.includes(says), `${says} from what lost characters: ${JSON.stringify(fewer)}`);
  }
  return 4 * good.lines.length;
}

const frame = fc.oneof(
  { weight: 3, arbitrary: fc.uint8Array({ maxLength: 12 }) },
  {
    weight: 5,
    arbitrary: fc
      .tuple(
        fc.constantFrom(0x02, 0x03, 0x06, 0x10, 0x11, 0x20, 0x21, 0x22, 0x23, 0x2f, 0x30, 0x31, 0x32, 0x35),
        fc.uint8Array({ minLength: 7, maxLength: 7 }),
      )
      .map(([pci, rest]) => Uint8Array.of(pci, ...rest)),
  },
);
const frames = fc.array(fc.tuple(fc.constantFrom('7E8', '7E9', '18DAF110'), frame, fc.nat(400_000)), {
  minLength: 10,
  maxLength: 30,
});
type Frames = typeof frames extends fc.Arbitrary<infer T> ? T : never;

/** @returns frames that were read */
function tryFrames(list: Frames): number {
  const joiner = new Reassembler();
  const sender = new Sender(Uint8Array.from({ length: 300 }, (_, i) => i & 0xff));
  sender.start(0);
  let tUs = 0;
  for (const [id, bytes, afterUs] of list) {
    tUs += afterUs;
    const events = joiner.push(id, bytes, tUs);
    const kind = readFrame(bytes).kind;
    if (events.length === 0) check(kind === 'consecutive', `a ${kind} frame without a word`);
    for (const e of events)
      if (e.kind === 'message') check(e.payload.length >= 1 && e.payload.length <= 4095, 'length');
    sender.push(bytes, tUs);
  }
  // Whatever was before, the next good message comes out whole.
  const good = '490201544553543030303030303030303030303030'.slice(0, 40);
  const parts = [`1014${good.slice(0, 12)}`, `21${good.slice(12, 26)}`, `22${good.slice(26, 40)}`];
  const out = parts.flatMap((p) => joiner.push('7E8', hex(p), tUs));
  check(
    out.some((e) => e.kind === 'message' && toHex(e.payload) === good),
    'the next good message is not read',
  );
  return list.length + parts.length;
}

const payloads = fc.array(
  fc.oneof(
    fc.uint8Array({ maxLength: 40 }),
    fc
      .tuple(
        fc.constantFrom(0x41, 0x42, 0x43, 0x44, 0x46, 0x47, 0x49, 0x4a, 0x7f, 0x01, 0x02, 0x09),
        fc.uint8Array({ maxLength: 30 }),
      )
      .map(([service, rest]) => Uint8Array.of(service, ...rest)),
  ),
  { minLength: 10, maxLength: 20 },
);

/** @returns messages that were read */
function tryPayloads(list: readonly Uint8Array[]): number {
  for (const [i, payload] of list.entries()) {
    const request = list[i - 1] ?? null;
    const said = explainResponse(payload, request);
    for (const v of said.values)
      if (typeof v.value === 'number') check(Number.isFinite(v.value), 'no number');
    explainRequest(payload);
    for (const split of [
      splitCurrentData(payload, new Uint8Array()),
      splitFreezeFrame(payload, new Uint8Array()),
    ])
      if (split.ok) {
        // Nothing is lost and nothing twice: the parts make up the answer again.
        const again = split.parts.flatMap((p) => [p.pid, ...(p.frame === null ? [] : [p.frame]), ...p.data]);
        check(toHex(Uint8Array.from(again)) === toHex(payload.subarray(1)), 'parts are not the whole');
      } else check(split.why !== '' && split.at <= payload.length, 'no reason');
    decodePid(payload[0] ?? 0, payload.subarray(1));
    decodeInfo([payload, ...list.slice(0, 3)]);
  }
  return list.length;
}

const lines = fc.array(
  fc
    .tuple(
      fc.constantFrom(
        '7E8#04410C1AF8',
        '7DF#02010C',
        '18DAF110#1014490201544553',
        '7E8#2154303030303030',
        '7E8#037F0112',
        '7E0#300000',
      ),
      fc.array(change, { maxLength: 4 }),
    )
    .map(([text, changes]) => mutate(text, changes)),
  { minLength: 5, maxLength: 20 },
);

/** @returns lines that were read */
function tryLines(list: readonly string[]): number {
  const decoder = new FrameDecoder();
  for (const text of list) {
    const result = decoder.line(text);
    if (!result.ok)
      check(result.why !== '' && result.column >= 1 && result.column <= text.length + 1, 'no place');
  }
  decoder.finish();
  const next = new FrameDecoder();
  for (const text of list) next.line(text);
  const good = next.line('7EB#04410C1AF8');
  check(
    good.ok && good.messages.some((m) => m.values.some((v) => v.value === 1726)),
    'the next good line is not read',
  );
  // Cut into pieces a line is the same line.
  const splitter = new SlcanSplitter();
  let taken = 0;
  for (const text of list)
    for (const line of splitter.push({ tUs: 0, bytes: ascii(`${text}\r`) })) taken += line.raw.length;
  for (const line of splitter.push({ tUs: 0, bytes: ascii('\r') })) taken += line.raw.length;
  check(taken <= list.join('').length, 'more came out than went in');
  return list.length;
}

const SENTENCES = [
  'GPGGA,123519,4807.038,N,01131.000,E,1,08,0.9,545.4,M,46.9,M,,',
  'GPRMC,123519,A,4807.038,N,01131.000,E,022.4,084.4,230394,003.1,W',
  'GNVTG,054.7,T,034.4,M,005.5,N,010.2,K,A',
  'GPGSA,A,3,04,05,,09,12,,,24,,,,,2.5,1.3,2.1',
] as const;
const sentenceOf = (body: string): string =>
  `$${body}*${checksum(body).toString(16).toUpperCase().padStart(2, '0')}`;
const sentences = fc.array(
  fc.tuple(fc.constantFrom(...SENTENCES), fc.array(change, { maxLength: 4 }), fc.boolean(), share),
  { minLength: 5, maxLength: 20 },
);
type Sentences = typeof sentences extends fc.Arbitrary<infer T> ? T : never;

/** @returns sentences that were read */
function trySentences(list: Sentences): number {
  const reader = new FixReader();
  const got: string[] = [];
  const cutter = new LineCutter((line) => got.push(line));
  let tUs = 0;
  for (const [body, changes, summed, split] of list) {
    // Spoilt behind its checksum, or spoilt and then summed: fields that the standard does not allow.
    const line = summed ? sentenceOf(mutate(body, changes)) : mutate(sentenceOf(body), changes);
    tUs += 100_000;
    for (const s of reader.read(line, tUs)) check(Number.isFinite(s.value) && s.tUs === tUs, 'no number');
    const bare = withoutPlace(line);
    if (bare !== null) {
      check(!/4807|1131/.test(bare), 'a place is left');
      check(readSentence(bare).ok, 'without its place it is no sentence');
    }
    // However it is cut, the next good line comes out as it is.
    const bytes = ascii(`${line}\r\n${sentenceOf(body)}\r\n`);
    const i = Math.floor(split * bytes.length);
    cutter.push(bytes.subarray(0, i));
    cutter.push(bytes.subarray(i));
    check(got.at(-1) === sentenceOf(body), 'the next good line is not cut out');
  }
  const before = reader.read(sentenceOf(SENTENCES[0]), tUs + 6e6);
  check(
    before.some((s) => s.signal === 'gnss_height_m' && s.value === 545.4),
    'the next good sentence is not read',
  );
  return 2 * list.length;
}

/** Every run of up to `longest` lost characters, everywhere, in every transcript. @returns transcripts read */
export function everyLoss(longest: number): number {
  let n = 0;
  for (const good of TRANSCRIPTS.filter((t) => t.lossShows)) {
    const text = good.lines.map((line) => line + good.end).join('');
    for (let length = 1; length <= longest; length++)
      for (let i = 0; i + length <= text.length; i++, n++)
        for (const says of read(good, [ascii(text.slice(0, i) + text.slice(i + length))]))
          check(good.says.includes(says), `${says} after losing ${length} from ${i} of ${text}`);
  }
  return n;
}

export interface Fuzzed {
  readonly lines: number;
  readonly frames: number;
  readonly messages: number;
}

/** Reads at least `atLeast` spoilt lines, frames and messages together. @throws Error with the smallest case that fails */
export function fuzz(atLeast: number, seed: number): Fuzzed {
  const done = { lines: 0, frames: 0, messages: 0 };
  for (let round = 0; done.lines + done.frames + done.messages < atLeast; round++) {
    const params = { numRuns: 100, seed: seed + round };
    fc.assert(
      fc.property(transcript, (x) => {
        done.lines += tryTranscript(x);
      }),
      { ...params, numRuns: 600 },
    );
    fc.assert(
      fc.property(frames, (x) => {
        done.frames += tryFrames(x);
      }),
      params,
    );
    fc.assert(
      fc.property(payloads, (x) => {
        done.messages += tryPayloads(x);
      }),
      params,
    );
    fc.assert(
      fc.property(lines, (x) => {
        done.lines += tryLines(x);
      }),
      params,
    );
    fc.assert(
      fc.property(sentences, (x) => {
        done.lines += trySentences(x);
      }),
      params,
    );
  }
  return done;
}
