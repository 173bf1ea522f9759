/** The serial-line CAN adapter: commands, acknowledgements, frames both ways, a busy bus, hostile input. */
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { Host } from './host.ts';

const OK = '\r';
const BEL = '\x07';

async function opened(options: ConstructorParameters<typeof Host>[0] = {}): Promise<Host> {
  const host = new Host({ front: 'slcan', ...options });
  await host.ask('S6', 10);
  await host.ask('O', 10);
  host.fresh();
  return host;
}

describe('commands', () => {
  it('opens only with a bit rate and closes only what is open', async () => {
    const host = new Host({ front: 'slcan' });
    for (const [line, expected] of [
      ['O', BEL],
      ['C', BEL],
      ['t7DF0', BEL],
      ['F', BEL],
      ['S9', BEL],
      ['S', BEL],
      ['S6', OK],
      ['Z1', OK],
      ['M00000000', OK],
      ['O', OK],
      ['O', BEL],
      ['S6', BEL],
      ['Z0', BEL],
      ['F', `F00${OK}`],
      ['V', `V0207${OK}`],
      ['N', `N0H07${OK}`],
      ['', OK],
      ['Q', BEL],
      ['C', OK],
      ['L', OK],
      ['t7DF0', BEL],
      ['C', OK],
    ] as const)
      expect(await host.ask(line, 10), line).toBe(expected);
  });

  it.each([
    [[], OK],
    [['ack-z'], `z${OK}`],
    [['no-ack'], ''],
  ])('acknowledges a frame with quirks %j by %j', async (quirks, expected) => {
    const host = await opened({ quirks });
    expect(await host.ask('t1230', 5)).toBe(expected);
  });

  it('has no version where told', async () => {
    const host = new Host({ front: 'slcan', quirks: ['no-version'] });
    expect(await host.ask('V', 10)).toBe(BEL);
    expect(await host.ask('N', 10)).toBe(BEL);
  });

  it.each([
    't7DF',
    't7DF9',
    't7DF2010',
    't7DF20100FF',
    't8002AABB',
    'T7DF2AABB',
    'T200000000',
    'tXYZ0',
    'r7DF2AA',
  ])('refuses %s', async (line) => {
    const host = await opened();
    expect(await host.ask(line, 20)).toBe(BEL);
  });
});

describe('frames', () => {
  it('carries an exchange of any length', async () => {
    const host = await opened();
    expect(await host.ask('t7DF8020C00AAAAAAAAAA', 50)).toBe(OK); // no such service: silence
    expect(await host.ask('t7DF802010D0000000000', 50)).toMatch(
      /^\r(t7E8803410D3E55555555\rt7E9803410D3E55555555\r|t7E9803410D3E55555555\rt7E8803410D3E55555555\r)$/,
    );
    expect(await host.ask('t7E08020902', 10)).toBe(BEL); // says eight bytes, has three
    expect(await host.ask('t7E03020902', 50)).toBe('\rt7E88101449020131' + '4842\r');
    expect(await host.ask('t7e03300000', 50)).toBe('\rt7E882130303030303030\rt7E882230303030303137\r');
  });

  it('carries 29-bit frames and remote requests', async () => {
    const host = await opened({ bus: { extended: true, bitrate: 500_000 } });
    expect(await host.ask('T18DB33F1802010D0000000000', 50)).toContain('T18DAF110803410D3E55555555\r');
    expect(await host.ask('R18DB33F18', 50)).toBe(OK);
  });

  it('stamps frames with milliseconds within a minute', async () => {
    const host = new Host({ front: 'slcan' });
    for (const line of ['S6', 'Z1', 'O']) await host.ask(line, 10);
    await host.clock.advance(61_000);
    host.fresh();
    const text = await host.ask('t7E0802010D0000000000', 50);
    const stamp = Number.parseInt(/55555555([0-9A-F]{4})\r$/.exec(text)?.[1] ?? '', 16);
    expect(stamp).toBeGreaterThanOrEqual(1030 + 8);
    expect(stamp).toBeLessThanOrEqual(1030 + 18);
  });

  it('hears nothing at another bit rate and flags the error', async () => {
    const host = new Host({ front: 'slcan', traffic: 500 });
    for (const line of ['S5', 'O']) await host.ask(line, 10);
    host.fresh();
    expect(await host.ask('t7DF80201000000000000', 100)).toBe(OK);
    expect(await host.ask('F', 100)).toBe(`F84${OK}`);
    expect(await host.ask('F', 100)).toBe(`F00${OK}`);
  });

  it('flags what nobody acknowledged', async () => {
    const host = await opened();
    host.vehicle.ignition = false;
    expect(await host.ask('t7DF80201000000000000', 100)).toBe(OK);
    expect(await host.ask('F', 10)).toBe(`F80${OK}`);
  });

  it('passes a busy bus on whole, and loses frames with a flag when the line is too slow', async () => {
    const fast = await opened({ traffic: 2000, pace: 1_000_000 });
    await fast.clock.advance(2000);
    const frames = fast
      .fresh()
      .split('\r')
      .filter((line) => line.length === 21);
    expect(frames.length).toBeGreaterThan(3950);
    expect(frames.length).toBeLessThan(4050);
    const slow = await opened({ traffic: 2000, pace: 115_200 });
    await slow.clock.advance(2000);
    const got = slow.fresh();
    for (const line of got.split('\r').slice(0, -1)) expect(line).toMatch(/^(|t[0-9A-F]{20})$/);
    expect(got.length).toBeLessThan(2.1 * 11_520);
    expect(await slow.ask('F', 3000)).toMatch(/F01\r/);
  });
});

describe('hostile input', () => {
  it('always comes back', async () => {
    const piece = fc.oneof(
      fc.constantFrom(
        '\r',
        'O\r',
        'C\r',
        'S6\r',
        't7DF80201000000000000\r',
        'T18DB33F1',
        'Z1\r',
        '\n',
        'F\r',
      ),
      fc.string({ unit: 'binary-ascii', maxLength: 12 }),
      fc.uint8Array({ maxLength: 40 }).map((b) => String.fromCharCode(...b)),
    );
    await fc.assert(
      fc.asyncProperty(fc.array(piece, { maxLength: 25 }), async (pieces) => {
        const host = new Host({ front: 'slcan' });
        for (const text of pieces)
          host.simulation.fromHost(Uint8Array.from(text, (c) => c.charCodeAt(0) & 0xff));
        await host.clock.advance(200);
        for (const line of ['', 'C', 'Z0', 'S6', 'O']) await host.ask(line, 20);
        expect(await host.ask('t7E0802010D0000000000', 50)).toBe('\rt7E8803410D3E55555555\r');
      }),
      { seed: 7, numRuns: 100 },
    );
  });
});
