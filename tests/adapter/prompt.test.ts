/** The conversation with a text adapter by itself: lost line ends, adapters that echo none, what may stand for a line. */
import { expect, it } from 'vitest';
import { type AskOptions, PromptChannel } from '../../src/adapter/at/prompt.ts';
import { Wire } from '../../src/adapter/wire.ts';
import { ManualClock } from '../../src/core/clock.ts';
import { pipePair } from '../../src/link/pipe.ts';

interface Other {
  /** Of the line ends that come, counted from one: those that get lost. */
  readonly losesEnd?: (nth: number) => boolean;
  /** What it says back to a line end. Default: a line end. */
  readonly endEcho?: string;
  /** Until it says that, ms. Default: at once. */
  readonly echoMs?: number;
  /** Until it answers a line, ms. */
  readonly takesMs?: number;
  /** It no longer says a word. */
  readonly isMute?: () => boolean;
}

/** An adapter that says back what it hears, and `OK` to each line. */
async function bench({
  losesEnd = () => false,
  endEcho = '\r',
  echoMs = 0,
  takesMs = 5,
  isMute = () => false,
}: Other = {}) {
  const clock = new ManualClock();
  const [near, far] = pipePair(clock, 'pipe');
  const lines: string[] = [];
  let line = '';
  let ends = 0;
  const typed: string[] = [];
  const say = (text: string): void => {
    if (!isMute()) void far.write(Buffer.from(text, 'latin1'));
  };
  far.listen((event) => {
    if (event.kind !== 'data') return;
    const came = Buffer.from(event.bytes).toString('latin1');
    typed.push(came);
    for (const c of came) {
      if (c !== '\r') {
        line += c;
        say(c);
      } else if (!losesEnd(++ends)) {
        if (endEcho !== '') clock.after(echoMs, () => say(endEcho));
        lines.push(line);
        line = '';
        clock.after(takesMs, () => say('OK\r\r>'));
      }
    }
  });
  const channel = new PromptChannel(new Wire(near, () => undefined, clock));
  await clock.until(channel.findEcho(3000), 5);
  lines.length = 0;
  let sent = 0;
  const ask = async (text: string, ms: number, options: AskOptions = {}) => {
    const fromUs = clock.nowUs();
    const said = await clock.until(channel.ask(text, ms, { ...options, onSend: () => sent++ }), 5);
    const heard = Buffer.concat(said.rx.map((c) => c.bytes)).toString('latin1');
    return { end: said.end, heard, tookMs: (clock.nowUs() - fromUs) / 1000 };
  };
  return { channel, clock, lines, typed, ask, sent: () => sent };
}

it('types nothing upon what one that fell silent left half typed: it is spoilt first, until that is heard', async () => {
  let mute = false;
  const b = await bench({ isMute: () => mute });
  expect((await b.ask('0100', 5000)).end).toBe('prompt');
  mute = true;
  expect((await b.ask('ATAT0', 1000)).end).toBe('timeout');
  const before = b.typed.length;
  expect((await b.ask('010C', 1000)).end).toBe('timeout');
  expect(new Set(b.typed.slice(before))).toEqual(new Set(['QQQQQQQQ']));
  mute = false;
  expect((await b.ask('010C', 1000)).end).toBe('prompt');
  expect(b.lines.at(-1)).toBe('010C');
});

it('types a line anew whose end got lost, long before an answer would be given up', async () => {
  let lost = 0;
  const b = await bench({ losesEnd: (nth) => nth === lost });
  expect((await b.ask('0100', 5000)).end).toBe('prompt');
  const before = b.lines.length;
  lost = 2 + before; // one of findEcho, and those until now
  const said = await b.ask('010C', 5000);
  expect(said).toMatchObject({ end: 'prompt', heard: expect.stringContaining('OK') });
  expect(said.tookMs).toBeLessThan(3000);
  expect(b.sent()).toBe(3);
  expect(b.lines.at(-1)).toBe('010C');
  expect(b.lines.slice(before, -1).some((line) => line.startsWith('010C') && line !== '010C')).toBe(true); // spoilt
});

it('waits for the answer of one that echoes no line ends', async () => {
  const b = await bench({ endEcho: '', takesMs: 1200 });
  for (const line of ['0100', '010C']) {
    const said = await b.ask(line, 5000);
    expect(said.end).toBe('prompt');
    expect(said.tookMs).toBeGreaterThanOrEqual(1200);
  }
  expect(b.lines).toEqual(['0100', '010C']);
});

it.each(['\r', '\r\n', '\r\0', '\n', '\r '])(
  'the echo of a line end, %j, is no beginning of an answer',
  async (endEcho) => {
    const b = await bench({ endEcho, takesMs: 900 });
    const said = await b.ask('0100', 5000, { quietMs: 100 });
    expect(said).toMatchObject({ end: 'prompt', heard: expect.stringContaining('OK') });
  },
);

it('waits anew from the echo of a line end on', async () => {
  const b = await bench({ echoMs: 600, takesMs: 1200 });
  expect((await b.ask('0100', 1000)).end).toBe('prompt');
});

it('lets an empty line stand for the line before alone, and for none once it was looked at anew', async () => {
  const b = await bench();
  const ask = (text: string) => b.ask(text, 1000, { mayRepeat: true });
  await ask('0100');
  await ask('0100');
  expect(b.lines).toEqual(['0100', '']);
  await ask('010C');
  await ask('0100');
  expect(b.lines.slice(2)).toEqual(['010C', '0100']);
  await b.clock.until(b.channel.findEcho(3000), 5);
  await ask('0100');
  expect(b.lines.at(-1)).toBe('0100');
  await ask('ATI');
  await ask('ATI');
  expect(b.lines.slice(-2)).toEqual(['ATI', 'ATI']);
  expect(b.channel.quality.repeated).toBe(1);
});
