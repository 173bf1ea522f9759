/**
 * ISO 15765-2:2016 clause by clause, from memory of the standard: hand-written frames, the clause that rules them and
 * what has to come of it, on the classic CAN frame of eight bytes with normal addressing.
 */
import { describe, expect, it } from 'vitest';
import { fromHex, toHex } from '../../src/core/hex.ts';
import { readFrame, separationOf } from '../../src/isotp/frame.ts';
import { IsotpReceiver, type IsotpReceiverOptions, type ReceiveEvent } from '../../src/isotp/receiver.ts';
import { type SendEvent, Sender, type SenderOptions } from '../../src/isotp/sender.ts';

const hex = (text: string): Uint8Array => fromHex(text.replaceAll(' ', ''))!;
const short = (e: ReceiveEvent | SendEvent): string => {
  if (e.kind === 'message') return `message ${toHex(e.payload)}`;
  if (e.kind === 'flow') return `flow ${toHex(e.frame)}`;
  if (e.kind === 'frame') return toHex(e.bytes);
  return e.kind === 'error' ? `error ${e.code}` : e.kind;
};
const MS = 1000;
const FF = '10 14 49 02 01 31 48 42';
const CF1 = '21 30 30 30 30 30 30 30';
const CF2 = '22 30 30 30 30 30 31 37';
const MESSAGE = 'message 4902013148423030303030303030303030303137';
const FLOW = 'flow 300000';

/** Steps: "frame" at a millisecond each, or "+N ms" for time that passes with a tick at its end. */
function received(steps: readonly string[], options: IsotpReceiverOptions = {}): string[] {
  const receiver = new IsotpReceiver({ padding: null, ...options });
  let tUs = 0;
  return steps.flatMap((step) => {
    const wait = /^\+(\d+(?:\.\d+)?) ms$/.exec(step);
    tUs += wait ? Number(wait[1]) * MS : MS;
    return (wait ? receiver.tick(tUs) : receiver.push(hex(step), tUs)).map(short);
  });
}

const DATA = Uint8Array.from({ length: 34 }, (_, i) => i); // first frame and four consecutive ones
/** The sender's frames with the time each left, in ms, after the steps of its receiver. */
function sent(steps: readonly string[], options: SenderOptions = {}, payload = DATA): string[] {
  const sender = new Sender(payload, options);
  let tUs = 0;
  const out: string[] = [];
  const note = (events: readonly SendEvent[]) => {
    for (const e of events) out.push(`${tUs / MS}: ${short(e).slice(0, 24)}`);
  };
  note(sender.start(0));
  for (const step of steps) {
    const wait = /^\+(\d+(?:\.\d+)?) ms$/.exec(step);
    if (!wait) {
      note(sender.push(hex(step), tUs));
      continue;
    }
    const untilUs = tUs + Number(wait[1]) * MS;
    while (sender.dueUs !== null && sender.dueUs <= untilUs && !sender.ended) {
      tUs = Math.max(tUs, sender.dueUs);
      const before = out.length;
      note(sender.tick(tUs));
      if (out.length === before) break; // due, and borne to the last microsecond
    }
    tUs = untilUs;
    note(sender.tick(tUs));
  }
  return out;
}
const F = [
  '0: 1022000102030405',
  '21060708090A0B0C',
  '220D0E0F10111213',
  '231415161718191A',
  '241B1C1D1E1F2021',
];

describe('9.6.2 single frame', () => {
  it.each([
    ['9.6.2.1 length 1', '01 3E', 'message 3E'],
    ['9.6.2.1 length 7 fills the frame', '07 41 0C 1A F8 0D 32 00', 'message 410C1AF80D3200'],
    ['9.6.2.1 what is beyond the length is padding', '03 41 0D 32 FF FF FF FF', 'message 410D32'],
    [
      '9.6.2.2 length 0 is ignored (an escape only in longer CAN FD frames)',
      '00 0A 01 02 03 04 05 06',
      'error length',
    ],
    ['9.6.2.2 length above 7 is ignored', '08 41 0C 1A F8 0D 32 00', 'error length'],
    ['9.6.2.2 length beyond the bytes that came is ignored', '05 41 0C 1A F8', 'error length'],
  ])('%s', (_, frame, result) => expect(received([frame])).toEqual([result]));
});

describe('9.6.3 first frame', () => {
  it.each([
    ['9.6.3.1 twelve bits of length: 8, the least that needs one', '10 08 49 04 01 41 42 43', [FLOW]],
    ['9.6.3.1 twelve bits of length: 4095, the most', '1F FF 49 04 01 41 42 43', [FLOW]],
    [
      '9.6.3.1 length 0 escapes to 32 bits: 4096, more than is taken here',
      '10 00 00 00 10 00 41 42',
      ['flow 320000', 'error overflow'],
    ],
    [
      '9.6.3.1 escaped, FFFFFFFF: nothing is reserved for it',
      '10 00 FF FF FF FF 41 42',
      ['flow 320000', 'error overflow'],
    ],
    ['9.6.3.2 a length that fits a single frame is ignored', '10 07 49 04 01 41 42 43', ['error length']],
    ['9.6.3.2 a length of 4095 by escape is ignored', '10 00 00 00 0F FF 41 42', ['error length']],
    ['9.6.3.2 a first frame does not end early', '10 14 49 02 01 31 48', ['error length']],
  ])('%s', (_, frame, result) => expect(received([frame])).toEqual(result));
});

describe('9.6.4 consecutive frame', () => {
  it.each([
    ['9.6.4.3 numbers begin with 1', [FF, '20 30 30 30 30 30 30 30'], [FLOW, 'error sequence']],
    ['9.6.4.3 in order', [FF, CF1, CF2], [FLOW, MESSAGE]],
    ['9.6.4.4 one is missing', [FF, CF2], [FLOW, 'error sequence']],
    ['9.6.4.4 one comes twice', [FF, CF1, CF1], [FLOW, 'error sequence']],
    ["9.6.4.4 after that the rest is nobody's", [FF, CF2, CF2], [FLOW, 'error sequence', 'error unexpected']],
    ['9.6.4.1 only the last may be short', [FF, '21 30 30', CF2], [FLOW, 'error length', 'error unexpected']],
    ['9.6.4.1 the last may end with its data', [FF, CF1, '22 30 30 30 30 30 31 37'], [FLOW, MESSAGE]],
  ])('%s', (_, steps, result) => expect(received(steps)).toEqual(result));

  it('9.6.4.3 numbers go 1 to 15, then 0', () => {
    const frames = [
      '10 7A 00 00 00 00 00 00',
      ...Array.from({ length: 17 }, (_, i) => `2${((i + 1) % 16).toString(16)} 00 00 00 00 00 00 00`),
    ];
    expect(received(frames)).toEqual([FLOW, `message ${'00'.repeat(122)}`]);
    expect(new Sender(new Uint8Array(122), { padding: null }).start(0).map(short)).toEqual([
      '107A000000000000',
    ]);
  });
});

describe('9.6.5 flow control', () => {
  it.each([
    ['9.6.5.1 continue to send', ['30 00 00'], [...F.map((f, i) => (i === 0 ? f : `0: ${f}`)), '0: done']],
    [
      '9.6.5.1 padded with anything',
      ['30 00 00 AA 55 FF 00 CC'],
      [...F.map((f, i) => (i === 0 ? f : `0: ${f}`)), '0: done'],
    ],
    [
      '9.6.5.2 wait, then continue',
      ['31 00 00', '+500 ms', '30 00 00'],
      [F[0]!, ...F.slice(1).map((f) => `500: ${f}`), '500: done'],
    ],
    ['9.6.5.2 overflow ends it', ['32 00 00'], [F[0]!, '0: error overflow']],
    ['9.6.5.3 a reserved flow status ends it', ['33 00 00'], [F[0]!, '0: error flow status']],
    ['9.6.5.3 the last reserved one, too', ['3F 00 00'], [F[0]!, '0: error flow status']],
    ['9.6.5.4 block size: two, then it waits', ['30 02 00', '+900 ms'], [F[0]!, `0: ${F[1]}`, `0: ${F[2]}`]],
    [
      '9.6.5.4 block size FF is one of 255',
      ['30 FF 00'],
      [...F.map((f, i) => (i === 0 ? f : `0: ${f}`)), '0: done'],
    ],
    [
      '9.6.5.5 separation 0A: 10 ms',
      ['30 00 0A', '+40 ms'],
      [F[0]!, `0: ${F[1]}`, `10: ${F[2]}`, `20: ${F[3]}`, `30: ${F[4]}`, '30: done'],
    ],
    [
      '9.6.5.5 separation F5: 500 µs',
      ['30 00 F5', '+2 ms'],
      [F[0]!, `0: ${F[1]}`, `0.5: ${F[2]}`, `1: ${F[3]}`, `1.5: ${F[4]}`, '1.5: done'],
    ],
    [
      '9.6.5.6 a reserved separation counts as 127 ms',
      ['30 00 80', '+254 ms'],
      [F[0]!, `0: ${F[1]}`, `127: ${F[2]}`, `254: ${F[3]}`],
    ],
    [
      '9.6.5.7 each flow control may change both',
      ['30 01 00', '30 00 05', '+20 ms'],
      [F[0]!, `0: ${F[1]}`, `0: ${F[2]}`, `5: ${F[3]}`, `10: ${F[4]}`, '10: done'],
    ],
    [
      '9.6.5.1 too short to be one: ignored',
      ['30 00', '30 00 00'],
      [...F.map((f, i) => (i === 0 ? f : `0: ${f}`)), '0: done'],
    ],
  ])('%s', (_, steps, result) => expect(sent(steps)).toEqual(result));

  it('9.6.5.5 and 9.6.5.6: every separation byte', () => {
    const expected = (byte: number) =>
      byte <= 0x7f ? byte * 1000 : byte >= 0xf1 && byte <= 0xf9 ? (byte - 0xf0) * 100 : 127_000;
    for (let byte = 0; byte < 256; byte++) expect(separationOf(byte)).toBe(expected(byte));
  });

  it.each([
    [
      '9.6.5.4 one flow control a block',
      { blockSize: 1 },
      [FF, CF1, CF2],
      ['flow 300100', 'flow 300100', MESSAGE],
    ],
    ['9.6.5.4 none behind the last frame', { blockSize: 2 }, [FF, CF1, CF2], ['flow 300200', MESSAGE]],
    ['9.6.5.5 the separation asked for', { separation: 0xf1 }, [FF], ['flow 3000F1']],
  ])('as a receiver: %s', (_, options, steps, result) => expect(received(steps, options)).toEqual(result));
});

describe('9.7 wait frames have a cap', () => {
  it.each([
    ['as many as are borne', 3, [F[0]!]],
    ['one more', 2, [F[0]!, '1500: error too many waits']],
    ['none are borne', 0, [F[0]!, '0: error too many waits']],
  ])('%s', (_, maxWaits, result) =>
    expect(sent(['31 00 00', '+500 ms', '31 00 00', '+1000 ms', '31 00 00'], { maxWaits })).toEqual(result),
  );

  it('a flow control that lets go on starts the count anew', () => {
    const steps = ['31 00 00', '30 01 00', '31 00 00', '30 00 00'];
    expect(sent(steps, { maxWaits: 1 }).at(-1)).toBe('0: done');
  });
});

describe('9.8.1 and 9.8.2 times', () => {
  it.each([
    ['N_Bs: a flow control is waited for 1000 ms after the first frame', ['+1000 ms'], [F[0]!]],
    ['N_Bs: and no longer', ['+1000.001 ms'], [F[0]!, '1000.001: error timeout']],
    [
      'N_Bs: after a block as well',
      ['30 02 00', '+1000.001 ms'],
      [F[0]!, `0: ${F[1]}`, `0: ${F[2]}`, '1000.001: error timeout'],
    ],
    ['N_Bs: a wait frame starts it anew', ['+900 ms', '31 00 00', '+1000 ms'], [F[0]!]],
    [
      'N_Cs: the next frame leaves when its separation is over, in the same call',
      ['30 00 01', '+3 ms'],
      [F[0]!, `0: ${F[1]}`, `1: ${F[2]}`, `2: ${F[3]}`, `3: ${F[4]}`, '3: done'],
    ],
  ])('%s', (_, steps, result) => expect(sent(steps)).toEqual(result));

  it.each([
    [
      'N_Cr: the next frame is waited for 1000 ms after the first',
      [FF, '+1000 ms', '+0.001 ms'],
      [FLOW, 'error timeout'],
    ],
    ['N_Cr: and each starts it anew', [FF, '+999 ms', CF1, '+1000 ms', '+0.001 ms'], [FLOW, 'error timeout']],
    [
      "N_Cr: one that comes after its time is nobody's",
      [FF, '+1000 ms', CF1],
      [FLOW, 'error timeout', 'error unexpected'],
    ],
    ['N_Br: the flow control leaves in the same call as the frame it answers', [FF], [FLOW]],
  ])('%s', (_, steps, result) => expect(received(steps)).toEqual(result));
});

describe('9.8.3 unexpected frames', () => {
  const OPEN = [FF, CF1];
  it.each([
    ['idle', 'single', [], '02 3E 00', ['message 3E00']],
    ['idle', 'first', [], FF, [FLOW]],
    ['idle', 'consecutive', [], CF1, ['error unexpected']],
    ['idle', 'flow control', [], '30 00 00', ['error unexpected']],
    ['idle', 'unknown', [], '40 00 00', ['error unknown type']],
    [
      'receiving',
      'single: ends the message, and is one',
      OPEN,
      '02 3E 00',
      ['error cut off', 'message 3E00'],
    ],
    ['receiving', 'first: ends the message, and begins one', OPEN, FF, ['error cut off', FLOW]],
    ['receiving', 'consecutive as due', OPEN, CF2, [MESSAGE]],
    ['receiving', 'flow control: ignored', OPEN, '30 00 00', ['error unexpected']],
    ['receiving', 'unknown: ignored', OPEN, 'F0 00 00', ['error unknown type']],
    ['receiving', 'single with a wrong length: ignored', OPEN, '09 3E 00', ['error length']],
  ])('%s, %s', (_state, _frame, before, frame, result) => {
    const events = received([...before, frame]);
    expect(events.slice(before.length > 0 ? 1 : 0)).toEqual(result);
    // What is ignored leaves an unfinished message as it was.
    if (before.length > 0 && result.length === 1 && result[0] !== MESSAGE)
      expect(received([...before, frame, CF2]).at(-1)).toBe(MESSAGE);
  });

  it.each([
    ['waiting for a flow control', 'single', ['02 3E 00']],
    ['waiting for a flow control', 'first', [FF]],
    ['waiting for a flow control', 'consecutive', [CF1]],
    ['waiting for a flow control', 'unknown', ['E0 00 00']],
  ])('sending, %s, %s: ignored, and the message goes on', (_state, _frame, steps) =>
    expect(sent([...steps, '30 00 00']).at(-1)).toBe('0: done'),
  );

  it.each([
    ['single', '02 3E 00'],
    ['flow control that nobody awaits', '32 00 00'],
    ['reserved flow status', '35 00 00'],
  ])('sending, between two frames, %s: ignored', (_, frame) =>
    expect(sent(['30 00 05', frame, '+20 ms']).at(-1)).toBe('15: done'),
  );

  it('a frame of no bytes or of more than eight is none', () => {
    for (const bytes of ['', '0341057B0000000000'])
      expect(readFrame(hex(bytes))).toMatchObject({ kind: 'bad', code: 'length' });
  });
});
