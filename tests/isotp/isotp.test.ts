/** ISO 15765-2: vectors written by hand, both ends against each other, and hostile frames. */
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { fromHex, toHex } from '../../src/core/hex.ts';
import { FUNCTIONAL, requestIdOf, responseIdOf } from '../../src/isotp/address.ts';
import { flowFrame, readFrame, separationOf } from '../../src/isotp/frame.ts';
import { Reassembler } from '../../src/isotp/reassembler.ts';
import { IsotpReceiver, type ReceiveEvent } from '../../src/isotp/receiver.ts';
import { type SendEvent, Sender } from '../../src/isotp/sender.ts';

const hex = (text: string): Uint8Array => fromHex(text.replaceAll(' ', ''))!;
const short = (e: ReceiveEvent | SendEvent): string => {
  if (e.kind === 'message') return `message ${toHex(e.payload)}`;
  if (e.kind === 'flow') return `flow ${toHex(e.frame)}`;
  if (e.kind === 'frame') return toHex(e.bytes);
  return e.kind === 'error' ? `error ${e.code}` : e.kind;
};
const shorts = (events: readonly (ReceiveEvent | SendEvent)[]): string[] => events.map(short);

/** Pushes frames a millisecond apart. */
const receive = (frames: readonly string[], receiver = new IsotpReceiver()): string[] =>
  frames.flatMap((f, i) => shorts(receiver.push(hex(f), i * 1000)));

// 20 bytes: answer of service 09 02 with an invented number.
const LONG = ['10 14 49 02 01 58 58 48', '21 42 44 45 4D 4F 30 30', '22 30 30 30 30 30 30 31'];
const LONG_PAYLOAD = '4902015858484244454D4F303030303030303031';

describe('receiver', () => {
  it('reads single frames with any padding or none', () => {
    for (const pad of ['', '00000000', '55555555', 'AAAAAAAA', 'CCCCCCCC', 'FFFFFFFF'])
      expect(receive([`0341057B${pad}`])).toEqual(['message 41057B']);
  });

  it('joins a long message, asks once, ignores padding in the last frame', () => {
    expect(receive(LONG)).toEqual(['flow 3000000000000000', `message ${LONG_PAYLOAD}`]);
    expect(receive(['100841020304 0506', '21 07 08 AA AA AA AA AA'])).toEqual([
      'flow 3000000000000000',
      'message 4102030405060708',
    ]);
    expect(receive(['1008410203040506', '21 07 08'])[1]).toBe('message 4102030405060708');
  });

  it('asks again after each block', () => {
    const receiver = new IsotpReceiver({ blockSize: 1, separation: 0x0a, padding: null });
    expect(receive(LONG, receiver)).toEqual(['flow 30010A', 'flow 30010A', `message ${LONG_PAYLOAD}`]);
  });

  it('counts 15 then 0', () => {
    const payload = Uint8Array.from({ length: 6 + 7 * 20 }, (_, i) => i);
    const frames = [`10${toHex(Uint8Array.of(payload.length))}${toHex(payload.subarray(0, 6))}`];
    for (let k = 0; k < 20; k++)
      frames.push(`2${((k + 1) % 16).toString(16)}${toHex(payload.subarray(6 + 7 * k, 13 + 7 * k))}`);
    expect(receive(frames).at(-1)).toBe(`message ${toHex(payload)}`);
  });

  it('takes the escape length when allowed and refuses it when not', () => {
    const first = '10 00 00 00 10 00 41 42';
    expect(receive([first])).toEqual(['flow 3200000000000000', 'error overflow']);
    expect(receive([first], new IsotpReceiver({ maxBytes: 5000 }))).toEqual(['flow 3000000000000000']);
    // Escape for what fits 12 bits is a lie.
    expect(receive(['10 00 00 00 0F FF 41 42'])).toEqual(['error length']);
  });

  it('gives up at a wrong, missing or repeated frame', () => {
    expect(receive([LONG[0]!, LONG[2]!])).toEqual(['flow 3000000000000000', 'error sequence']);
    expect(receive([LONG[0]!, LONG[1]!, LONG[1]!, LONG[2]!])).toEqual([
      'flow 3000000000000000',
      'error sequence',
      'error unexpected',
    ]);
    expect(receive([LONG[1]!])).toEqual(['error unexpected']);
  });

  it('a new message ends the unfinished one', () => {
    expect(receive([LONG[0]!, '0341057B'])).toEqual([
      'flow 3000000000000000',
      'error cut off',
      'message 41057B',
    ]);
    expect(receive([LONG[0]!, ...LONG]).slice(1)).toEqual([
      'error cut off',
      'flow 3000000000000000',
      `message ${LONG_PAYLOAD}`,
    ]);
  });

  it('names lies about length and goes on with the unfinished message', () => {
    expect(receive(['00', '0841', '0541057B', '', '1007414243444546', '10144902', '41 00', 'F0'])).toEqual([
      'error length', // single frame of nothing
      'error length', // single frame of 8
      'error length', // says 5, 3 came
      'error length', // empty
      'error length', // 7 bytes in a first frame
      'error length', // short first frame
      'error unknown type',
      'error unknown type',
    ]);
    expect(receive([LONG[0]!, 'F0', '30 00 00', LONG[1]!, LONG[2]!]).at(-1)).toBe(`message ${LONG_PAYLOAD}`);
    expect(receive([LONG[0]!, '21 42 44'])).toEqual(['flow 3000000000000000', 'error length']);
  });

  it('gives up when the next frame stays away', () => {
    const receiver = new IsotpReceiver({ timeoutUs: 1_000_000 });
    receiver.push(hex(LONG[0]!), 0);
    expect(receiver.dueUs).toBe(1_000_000);
    expect(shorts(receiver.tick(1_000_000))).toEqual([]);
    expect(shorts(receiver.tick(1_000_001))).toEqual(['error timeout']);
    expect(receiver.busy).toBe(false);
    // A late frame itself shows the timeout when nobody ticked.
    receiver.push(hex(LONG[0]!), 0);
    expect(shorts(receiver.push(hex(LONG[1]!), 2_000_000))).toEqual(['error timeout', 'error unexpected']);
  });
});

describe('sender', () => {
  const twenty = Uint8Array.from({ length: 20 }, (_, i) => i);

  it('sends up to seven bytes at once', () => {
    expect(shorts(new Sender(hex('010C')).start(0))).toEqual(['02010C0000000000', 'done']);
    expect(shorts(new Sender(hex('010C'), { padding: null }).start(0))).toEqual(['02010C', 'done']);
    expect(shorts(new Sender(hex('010C'), { padding: 0x55 }).start(0))).toEqual(['02010C5555555555', 'done']);
  });

  it('keeps block size and separation', () => {
    const sender = new Sender(Uint8Array.from({ length: 30 }, (_, i) => i));
    expect(shorts(sender.start(0))).toEqual(['101E000102030405']);
    expect(shorts(sender.push(hex('30 02 0A'), 5000))).toEqual(['2106' + '0708090A0B0C']);
    expect(sender.dueUs).toBe(15_000);
    expect(shorts(sender.tick(14_999))).toEqual([]);
    expect(shorts(sender.tick(15_000))).toEqual(['220D0E0F10111213']);
    expect(shorts(sender.tick(40_000))).toEqual([]); // block over: waits for flow control
    expect(shorts(sender.push(hex('30 00 F3'), 50_000))).toEqual(['2314' + '15161718191A']);
    expect(sender.dueUs).toBe(50_300);
    expect(shorts(sender.tick(50_300))).toEqual(['241B1C1D00000000', 'done']);
    expect(sender.ended).toBe(true);
  });

  it('all legal separations, reserved ones as the longest', () => {
    for (let byte = 0; byte < 256; byte++) {
      const us = separationOf(byte);
      if (byte <= 0x7f) expect(us).toBe(byte * 1000);
      else if (byte >= 0xf1 && byte <= 0xf9) expect(us).toBe((byte & 0x0f) * 100);
      else expect(us).toBe(127_000);
    }
  });

  it('waits when asked, but not for ever', () => {
    const sender = new Sender(twenty, { maxWaits: 2, timeoutUs: 1_000_000 });
    sender.start(0);
    expect(shorts(sender.push(hex('31 00 00'), 900_000))).toEqual([]);
    expect(shorts(sender.tick(1_800_000))).toEqual([]);
    expect(shorts(sender.push(hex('31 00 00'), 1_800_000))).toEqual([]);
    expect(shorts(sender.push(hex('31 00 00'), 1_900_000))).toEqual(['error too many waits']);
  });

  it('ends on overflow, reserved status and silence', () => {
    const ends = (frame: string): string[] => {
      const sender = new Sender(twenty);
      sender.start(0);
      return shorts(sender.push(hex(frame), 10));
    };
    expect(ends('32 00 00')).toEqual(['error overflow']);
    expect(ends('33 00 00')).toEqual(['error flow status']);
    const sender = new Sender(twenty);
    sender.start(0);
    expect(shorts(sender.tick(1_000_001))).toEqual(['error timeout']);
    expect(shorts(sender.push(hex('30 00 00'), 1_000_002))).toEqual([]);
  });

  it('ignores what is no flow control, also unasked flow control', () => {
    const sender = new Sender(twenty);
    sender.start(0);
    for (const f of ['0341057B', '30 00', '21 00', '']) expect(shorts(sender.push(hex(f), 10))).toEqual([]);
    expect(shorts(sender.push(hex('30 01 7F'), 20))).toEqual(['2106' + '0708090A0B0C']);
    expect(new Sender(hex('0100')).push(hex('30 00 00'), 0)).toEqual([]);
  });

  it('refuses an empty message and a second start', () => {
    expect(() => new Sender(new Uint8Array())).toThrow(RangeError);
    const sender = new Sender(twenty);
    sender.start(0);
    expect(() => sender.start(1)).toThrow(Error);
  });
});

it('both ends agree for any message, block size, separation and padding', () => {
  fc.assert(
    fc.property(
      fc.uint8Array({ minLength: 1, maxLength: 5000 }),
      fc.nat(255),
      fc.nat(255),
      fc.option(fc.nat(255)),
      (payload, blockSize, separation, padding) => {
        const sender = new Sender(payload, { padding });
        const receiver = new IsotpReceiver({ blockSize, separation, maxBytes: 5000, padding });
        let tUs = 0;
        let lastFrameUs = 0;
        let afterFlow = true;
        let got: Uint8Array | null = null;
        let queue: SendEvent[] = sender.start(tUs);
        for (let turns = 0; turns < 3000 && got === null; turns++) {
          const answers: Uint8Array[] = [];
          const frames = queue.filter((e) => e.kind === 'frame');
          if (separationOf(separation) > 0) expect(frames.length).toBeLessThanOrEqual(1);
          if (frames.length > 0 && !afterFlow)
            expect(tUs - lastFrameUs).toBeGreaterThanOrEqual(separationOf(separation));
          for (const e of frames) {
            lastFrameUs = tUs;
            expect(e.bytes.length).toBeLessThanOrEqual(8);
            for (const r of receiver.push(e.bytes, tUs)) {
              if (r.kind === 'error') throw new Error(r.why);
              if (r.kind === 'message') got = r.payload;
              else answers.push(r.frame);
            }
          }
          tUs = Math.max(tUs + 1, answers.length > 0 ? 0 : (sender.dueUs ?? 0));
          afterFlow = answers.length > 0;
          queue = afterFlow ? answers.flatMap((a) => sender.push(a, tUs)) : sender.tick(tUs);
        }
        expect(toHex(got!)).toBe(toHex(payload));
        expect(sender.ended).toBe(true);
      },
    ),
    { numRuns: 60, seed: 15765 },
  );
});

it('control units may interleave at every offset; each message comes out whole', () => {
  const other = ['10 08 49 04 01 41 42 43', '21 44 45 00 00 00 00 00'];
  for (let offset = 0; offset <= LONG.length; offset++) {
    const joiner = new Reassembler();
    const wire = LONG.map((f) => ['7E8', f] as const);
    const mixed = [
      ...wire.slice(0, offset),
      ['7E9', other[0]!] as const,
      ...wire.slice(offset),
      ['7E9', other[1]!] as const,
    ];
    const out = mixed.flatMap(([id, f], i) => joiner.push(id, hex(f), i).map((e) => `${id} ${short(e)}`));
    expect(out.filter((t) => t.includes('message'))).toEqual([
      `7E8 message ${LONG_PAYLOAD}`,
      '7E9 message 4904014142434445',
    ]);
    expect(joiner.open).toEqual([]);
  }
});

it('the number of open addresses is bounded and time frees them', () => {
  const joiner = new Reassembler();
  for (let i = 0; i < 256; i++) joiner.push(`18DA${i}`, hex(LONG[0]!), i);
  expect(joiner.push('7E8', hex('0341057B'), 300).map(short)).toEqual(['error overflow']);
  expect(joiner.dueUs).toBe(1_000_000);
  expect(joiner.tick(1_000_300).length).toBe(256);
  expect(joiner.push('7E8', hex('0341057B'), 1_000_301).map(short)).toEqual(['message 41057B']);
});

it('any frames whatever: no throw, every frame accounted for', () => {
  fc.assert(
    fc.property(fc.array(fc.uint8Array({ maxLength: 12 }), { maxLength: 60 }), (frames) => {
      const receiver = new IsotpReceiver();
      let open = 0; // bytes taken into an unfinished message
      for (const [i, bytes] of frames.entries()) {
        const before = receiver.busy;
        const events = receiver.push(bytes, i);
        const kind = readFrame(bytes).kind;
        // Silent only while a message grows.
        if (events.length === 0) expect(before && kind === 'consecutive' && receiver.busy).toBe(true);
        for (const e of events)
          if (e.kind === 'message') expect(e.payload.length).toBeGreaterThan(0);
          else if (e.kind === 'error') open += e.lost;
      }
      expect(open).toBeLessThanOrEqual(frames.length * 7);
    }),
    { numRuns: 2000, seed: 2 },
  );
});

it('a mutated long message never yields wrong bytes of the right length without a changed frame', () => {
  fc.assert(
    fc.property(fc.nat(2), fc.constantFrom('drop', 'double', 'swap'), (k, what) => {
      const frames = [...LONG];
      if (what === 'drop') frames.splice(k, 1);
      else if (what === 'double') frames.splice(k, 0, frames[k]!);
      else if (k < 2) [frames[k], frames[k + 1]] = [frames[k + 1]!, frames[k]!];
      const messages = receive(frames).filter((t) => t.startsWith('message'));
      expect(messages.every((m) => m === `message ${LONG_PAYLOAD}`)).toBe(true);
    }),
    { numRuns: 60, seed: 3 },
  );
});

it('addresses pair both ways', () => {
  for (let i = 0; i < 8; i++) {
    expect(requestIdOf(`7E${(8 + i).toString(16).toUpperCase()}`)).toBe(`7E${i}`);
    expect(requestIdOf(responseIdOf(`7E${i}`)!)).toBe(`7E${i}`);
  }
  expect(requestIdOf('18DAF110')).toBe('18DA10F1');
  expect(responseIdOf('18DA10F1')).toBe('18DAF110');
  for (const id of ['7DF', '7E0', '18DB33F1', '18DA10F1', '7e8', '', '123'])
    expect(requestIdOf(id)).toBeNull();
  expect(responseIdOf(FUNCTIONAL.can11)).toBeNull();
  expect(responseIdOf(FUNCTIONAL.can29)).toBeNull();
});

it('frames at their limits: what is wrong with them to the word, lengths of four bytes, flow control as sent', () => {
  const why = (text: string) => {
    const frame = readFrame(hex(text));
    return frame.kind === 'bad' ? `${frame.code}: ${frame.why}` : frame.kind;
  };
  expect(why('')).toBe('length: a frame of 0 bytes');
  expect(why('40')).toBe('unknown type: frame type 4 is reserved');
  expect(why('F0 00')).toBe('unknown type: frame type 15 is reserved');
  expect(why('03 41')).toBe('length: single frame says 3 bytes, 1 came');
  expect(why('20')).toBe('length: consecutive frame without data');
  expect(why('30 00')).toBe('length: flow control of 2 bytes');
  expect(why('10 01 00 00 20 00 00 00')).toBe('length: first frame says 1 bytes, which fit a single frame');
  expect(why('10 00 00 00 0F FF 01 02')).toBe('length: first frame with escape says 4095 bytes');
  expect(readFrame(hex('21 07'))).toEqual({ kind: 'consecutive', sequence: 1, from: 1 });
  expect(readFrame(hex('10 00 81 02 13 04 AA BB'))).toEqual({
    kind: 'first',
    total: 0x81021304,
    from: 6,
  });
  expect(
    (['continue', 'wait', 'overflow'] as const).map((status) => toHex(flowFrame(status, 4, 0x14, null))),
  ).toEqual(['300414', '310414', '320414']);
  expect(toHex(flowFrame('wait', 4, 0x14, 0xaa))).toBe('310414AAAAAAAAAA');
});

it('several units: options hold for each, and what is refused for want of room lost nothing', () => {
  const r = new Reassembler({ maxBytes: 10, padding: null });
  expect(shorts(r.push('7E8', hex(LONG[0]!), 0))).toEqual(['flow 320000', 'error overflow']);
  const full = new Reassembler();
  for (let i = 0; i < 256; i++) full.push(`18DAF1${i.toString(16).padStart(2, '0')}`, hex(LONG[0]!), 0);
  expect(full.push('7E8', hex(LONG[0]!), 0)).toMatchObject([{ code: 'overflow', lost: 0 }]);
  // Those that are open go on.
  expect(shorts(full.push('18DAF107', hex(LONG[1]!), 1))).toEqual([]);
  expect(shorts(full.push('18DAF107', hex(LONG[2]!), 2))).toEqual([`message ${LONG_PAYLOAD}`]);
  expect(shorts(full.push('7E8', hex(LONG[0]!), 3))).toEqual(['flow 3000000000000000']);
});

it('a receiver that is done is used again by one address alone, and what is given up is forgotten', () => {
  const r = new Reassembler();
  for (const id of ['7EA', '7EB']) expect(shorts(r.push(id, hex('0341057B'), 0))).toEqual(['message 41057B']);
  const [flow] = shorts(r.push('7E8', hex(LONG[0]!), 1));
  expect([flow, ...shorts(r.push('7E9', hex(LONG[0]!), 1))]).toEqual([flow, flow]);
  expect([r.open, r.dueUs]).toEqual([['7E8', '7E9'], 1_000_001]);
  for (const id of ['7E8', '7E9']) r.push(id, hex(LONG[1]!), 2);
  for (const id of ['7E8', '7E9'])
    expect(shorts(r.push(id, hex(LONG[2]!), 3))).toEqual([`message ${LONG_PAYLOAD}`]);
  r.push('7E8', hex(LONG[0]!), 4);
  r.forget();
  expect([r.open, r.dueUs, shorts(r.push('7E8', hex(LONG[1]!), 5))[0]]).toEqual([
    ...[[], null, expect.not.stringMatching(/^message/)],
  ]);
});

it('a receiver waits anew for each frame, sends flow control behind each block, and counts what it lost', () => {
  const timed = new IsotpReceiver({ timeoutUs: 1_000_000, padding: null });
  const at = (text: string, tUs: number) => shorts(timed.push(hex(text), tUs));
  expect(at(LONG[0]!, 0)).toEqual(['flow 300000']);
  expect(at(LONG[1]!, 999_000)).toEqual([]);
  expect(timed.dueUs).toBe(1_999_000);
  expect(at(LONG[2]!, 1_998_000)).toEqual([expect.stringMatching(/^message 4902/)]);
  timed.push(hex(LONG[0]!), 0);
  expect(timed.tick(1_000_001)).toMatchObject([{ why: 'frame 1 did not come within 1000 ms', lost: 6 }]);

  const blocks = new IsotpReceiver({ blockSize: 2, padding: null });
  const flows = ['10 30 49 02 01 58 58 48', ...[1, 2, 3, 4, 5].map((n) => `2${n} 00 00 00 00 00 00 00`)].map(
    (f) => shorts(blocks.push(hex(f), 0)).length,
  );
  expect(flows).toEqual([1, 0, 1, 0, 1, 0]);
  expect(shorts(blocks.push(hex('26 00 00 00 00 00 00 00'), 0))).toEqual([expect.stringMatching(/^message/)]);

  for (const text of ['30 00 00', '40', '21 00'])
    expect(new IsotpReceiver().push(hex(text), 0)).toMatchObject([{ kind: 'error', lost: 0 }]);
});

it('a sender writes every length as the standard does, bears sixteen waits, and has nothing due when it ended', () => {
  const head = (n: number) => shorts(new Sender(new Uint8Array(n)).start(0))[0]!.slice(0, 12);
  expect([8, 0x123, 4095].map((n) => head(n).slice(0, 4))).toEqual(['1008', '1123', '1FFF']);
  expect([4096, 0x12345, 0xc0c0c1, 0x01020304].map(head)).toEqual([
    '100000001000',
    '100000012345',
    '100000C0C0C1',
    '100001020304',
  ]);

  const twenty = new Uint8Array(20);
  const waiting = new Sender(twenty);
  waiting.start(0);
  for (let i = 0; i < 16; i++) expect(waiting.push(hex('31 00 00'), 0)).toEqual([]);
  expect(waiting.push(hex('31 00 00'), 0)).toMatchObject([{ why: 'the receiver asked to wait 17 times' }]);
  expect([waiting.ended, waiting.dueUs]).toEqual([true, null]);

  const alone = new Sender(twenty);
  alone.start(0);
  expect(alone.tick(1_000_001)).toMatchObject([{ why: 'no flow control within 1000 ms' }]);

  const whole = new Sender(twenty);
  whole.start(0);
  expect(shorts(whole.push(hex('30 00 00'), 0)).at(-1)).toBe('done');
  expect([whole.ended, whole.dueUs]).toEqual([true, null]);
});
