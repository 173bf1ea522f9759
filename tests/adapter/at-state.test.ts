/** The text driver's state machines by themselves: which step follows which answer, without a wire or a clock. */
import { describe, expect, it } from 'vitest';
import type { DiagnosticRequest, EcuMessage, Outcome } from '../../src/adapter/adapter.ts';
import { newPort } from '../../src/adapter/adapter.ts';
import { countAnswers, digitFor, NOTHING_COUNTED } from '../../src/adapter/at/counting.ts';
import { type Effect, next, voltsIn } from '../../src/adapter/at/finding.ts';
import { afterExchange, type Ended, type Health, MENDS, WELL } from '../../src/adapter/at/health.ts';
import { type Asked, type AtState, newlySetUp } from '../../src/adapter/at/state.ts';
import { fromHex, toHex } from '../../src/core/hex.ts';
import { asIs } from '../../src/core/says.ts';

const message = (text: string): EcuMessage => {
  const [ecu = '', payload = ''] = text.split(':');
  return { ecu, payload: fromHex(payload)!, tUs: 0 };
};

/** What the other end makes of a request: messages, or an outcome with a reason. */
type Answer = readonly string[] | { readonly outcome: Outcome; readonly why: string; readonly raw?: string };

interface Car {
  /** Taken as said OK unless it is in here. */
  readonly commands?: Readonly<Record<string, { ok?: boolean; text?: string }>>;
  readonly answer: (request: string, s: AtState, nth: number) => Answer;
  readonly settings?: { headers?: boolean; autoProtocol?: boolean };
  /** An empty line may stand for the same request again. */
  readonly repeats?: boolean;
  /** Default: the header is set as asked. */
  readonly aims?: 'refused' | 'ignored';
  /** The bytes of its answers. */
  readonly raw?: string;
  readonly lostAfter?: number;
  /** Of each step. */
  readonly takesUs?: number;
}

/** Goes through finding out; what was done, in order: commands, requests `UNIT>BYTES`, with `#` where the digit is on. */
function findOut(car: Car) {
  let s = newlySetUp(
    {
      identity: 'X',
      headers: car.settings?.headers ?? true,
      autoProtocol: car.settings?.autoProtocol ?? true,
    },
    null,
    newPort(false),
  );
  const done: string[] = [];
  const waits = new Set<number | undefined>();
  let nowUs = 0;
  let last = '';
  const asked = new Map<string, number>();
  const step = (effect: Effect): AtState => {
    if (effect.do === 'give up') throw effect.error;
    if (effect.do === 'command') {
      done.push(effect.text);
      const { ok = true, text = '' } = car.commands?.[effect.text] ?? {};
      return effect.after(s, { end: 'prompt', ok, refused: !ok, text }, nowUs);
    }
    if (effect.do !== 'ask') {
      if (effect.do !== 'go on') done.push(effect.do);
      return effect.after(s);
    }
    const { payload, ecu, timeoutMs }: DiagnosticRequest = effect.request;
    waits.add(timeoutMs);
    if (car.aims === 'refused') s = { ...s, aim: { can: s.aim.can && ecu === undefined, at: null } };
    else if (car.aims === undefined && s.aim.can) s = { ...s, aim: { ...s.aim, at: ecu ?? null } };
    const text = `${ecu ?? 'all'}>${toHex(payload)}${s.counting.digit ? '#' : ''}`;
    const nth = (asked.get(text) ?? 0) + 1;
    asked.set(text, nth);
    const repeated = s.repeats && (car.repeats ?? true) && text === last;
    last = text;
    done.push(repeated ? `again ${text}` : text);
    const said = car.answer(text, s, nth);
    const messages = 'outcome' in said ? [] : said.map(message);
    const raw = ('outcome' in said ? said.raw : car.raw) ?? '';
    return effect.after(s, {
      ...{ asked: payload, sentUs: 0, doneUs: 0, messages, discards: [], repeated },
      outcome: 'outcome' in said ? said.outcome : 'answered',
      why: 'outcome' in said ? asIs(said.why) : null,
      rx: [{ tUs: 0, bytes: Uint8Array.from(raw, (c) => c.charCodeAt(0)) }],
    } satisfies Asked);
  };
  for (let n = 0; ; n++) {
    const effect = next(s, {
      nowUs,
      lost: n >= (car.lostAfter ?? Number.POSITIVE_INFINITY) ? asIs('unplugged') : null,
    });
    if (effect === null) return { s, done, waits };
    if (n > 300) throw new Error('no end');
    s = step(effect);
    nowUs += car.takesUs ?? 1000;
  }
}

/** PIDs 01, 0C, 0D and four more. */
const MAP = '410098180003';
const nobody: Answer = { outcome: 'no data', why: 'silence' };
const garbled: Answer = { outcome: 'garbled', why: 'noise' };
const isGroup = (request: string) => />01.{4,}/.test(request);
const LONG = `7E8:4100${'00'.repeat(20)}`;

/** Two units, of which one can be asked by itself. */
const both = (request: string): Answer =>
  isGroup(request) ? [LONG] : request.startsWith('all') ? [`7E9:${MAP}`, `7E8:${MAP}`] : [`7E8:${MAP}`];

describe('finding out', () => {
  it('goes from the supply to the empty line on CAN', () => {
    const { s, done } = findOut({
      commands: { ATRV: { text: '12.4V' }, ATDPN: { text: 'A6' } },
      answer: both,
    });
    const group = `7E8>0100${'0104050C0D'}`;
    expect(done).toEqual([
      'ATRV',
      'all>0100',
      'ATDPN',
      '7E8>0100',
      ...['7E8>0100', '7E8>0100#'],
      group,
      ...[group, `${group}#`],
      'long wait',
      ...['7E8>0100#', 'again 7E8>0100#'],
    ]);
    expect(s.info).toMatchObject({ voltageV: 12.4, maxPidsPerRequest: 6, services: 'classic' });
    expect(s).toMatchObject({ protocol: '6', repeats: true, aim: { can: true, at: '7E8' } });
    expect(s.counting).toMatchObject({ digit: true, frames: false });
    expect(s.stage).toEqual({ at: 'ready' });
  });

  it('asks all, and one PID a request, on a K-line', () => {
    const { s, done } = findOut({
      commands: { ATDPN: { text: 'A5' } },
      answer: () => [`10:${MAP}`],
    });
    expect(done).toEqual([...['ATRV', 'all>0100', 'ATDPN', 'all>0100', 'all>0100#']]);
    // What an empty line would repeat there, the request or the adapter's own keeping of the session, is not known.
    expect(s).toMatchObject({ protocol: '5', counting: { digit: true }, repeats: false });
    expect(s.info).toMatchObject({ maxPidsPerRequest: 1, bus: 'K-line, ISO 14230-4, fast wake-up' });
  });

  it.each([
    ['7E8', 'can11', 'CAN 11 bit'],
    ['18DAF110', 'can29', 'CAN 29 bit'],
    ['10', 'kline', 'K-line or J1850'],
    ['?', 'unknown', 'bus not told by the adapter'],
  ] as const)('knows the bus by the answer of %s where the adapter does not say it', (ecu, bus, words) => {
    const { s } = findOut({ answer: () => [`${ecu}:${MAP}`] });
    expect(s).toMatchObject({ protocol: null, info: { bus: words, dialect: { bus } } });
  });

  it('chooses protocols one by one where the adapter does not search, and believes a clear silence', () => {
    const { s, done } = findOut({
      settings: { autoProtocol: false },
      commands: { ATSP8: { ok: false } },
      answer: (r, _, nth) => (done6(r, nth) ? nobody : both(r)),
    });
    // 6 is silent, 8 is refused, 7 answers.
    expect(done.slice(0, 6)).toEqual(['ATRV', 'ATSP6', 'all>0100', 'ATSP8', 'ATSP7', 'all>0100']);
    expect(s).toMatchObject({ protocol: '7', info: { dialect: { bus: 'can29', bitrate: 500_000 } } });
  });
  const done6 = (request: string, nth: number) => request === 'all>0100' && nth === 1;

  it('goes on with the protocol that the adapter has where it lets none be chosen', () => {
    const commands = Object.fromEntries([...'123456789'].map((n) => [`ATSP${n}`, { ok: false }] as const));
    const { s, done } = findOut({ settings: { autoProtocol: false }, commands, answer: both });
    expect(done.filter((d) => d.startsWith('ATSP'))).toHaveLength(9);
    expect(done.indexOf('all>0100')).toBe(10);
    expect(s.protocol).toBeNull();
    expect(() => findOut({ settings: { autoProtocol: false }, answer: () => nobody })).toThrow(/silence/);
  });

  it('asks three times what comes damaged, then in the newer services on CAN alone, then one unit of a K-line, then says what was said', () => {
    const asked: string[] = [];
    const thrown = error(() =>
      findOut({
        answer: (request) => {
          asked.push(request);
          return request === 'all>0100' ? garbled : nobody;
        },
      }),
    );
    const ofOne = Array(2 * 3).fill('all>0100');
    expect(asked).toEqual([...Array(3).fill('all>0100'), ...Array(4).fill('all>22F400'), ...ofOne]);
    expect(thrown).toMatchObject({
      code: 'vehicle.silent',
      message: expect.stringMatching(/^(?!.*noise, noise).*noise, silence(?!, silence)/),
    });
  });

  it('calls one unit of a K-line where nobody answers anything, and asks nothing more where its header is refused', () => {
    const { s, done } = findOut({
      commands: { ATDPN: { text: '5' } },
      answer: (_, { klineUnit }) => (klineUnit === null ? nobody : [`10:${MAP}`]),
    });
    const from = done.indexOf('ATSP5');
    expect(done.slice(from, from + 3)).toEqual(['ATSP5', 'ATSH8210F1', 'all>0100']);
    expect(s.klineUnit).toBe('10');
    const asked: string[] = [];
    const refused = error(() =>
      findOut({
        commands: { ATSH8210F1: { ok: false } },
        answer: (request) => {
          asked.push(request);
          return nobody;
        },
      }),
    );
    expect(asked.filter((r) => r === 'all>0100')).toHaveLength(1);
    expect(refused).toMatchObject({ code: 'vehicle.silent' });
  });

  it('turns to the newer services at once where all refuse the classic ones', () => {
    const { s, done } = findOut({
      commands: { ATDPN: { text: '6' } },
      answer: (request) =>
        request.includes('>01') ? ['7E8:7F0111'] : ['7E8:62F4009818000362F40C0000F40D00'],
    });
    expect(done.slice(0, 5)).toEqual(['ATRV', 'all>0100', 'ATSP6', 'all>22F400', 'ATDPN']);
    expect(s.info).toMatchObject({ services: 'newer', maxPidsPerRequest: 3 });
  });

  it('begins nothing new after three quarters of a minute, and says that the link is gone', () => {
    const slow = error(() => findOut({ answer: () => garbled, takesUs: 44e6 }));
    expect(slow).toMatchObject({ code: 'vehicle.silent' });
    let asks = 0;
    error(() =>
      findOut({
        answer: () => {
          asks++;
          return garbled;
        },
        takesUs: 22.5e6,
      }),
    );
    expect(asks).toBe(0); // the time is over when the first request is due
    error(() =>
      findOut({
        answer: () => {
          asks++;
          return garbled;
        },
        takesUs: 21e6,
      }),
    );
    expect(asks).toBe(1);
    expect(error(() => findOut({ answer: () => garbled, lostAfter: 3 }))).toMatchObject({
      code: 'link.lost',
    });
  });

  it.each([
    ['5.9V', /only 5\.9\sV/],
    ['6.0V', /ignition/],
    ['', /ignition/],
  ])('with %s at the plug says what to try', (text, hint) => {
    expect(error(() => findOut({ commands: { ATRV: { text } }, answer: () => nobody })).hint).toMatch(hint);
  });

  it('reads the same bytes without headers where they were promised and do not come', () => {
    const { s, done } = findOut({
      answer: (request, { info }) =>
        info.dialect.headers
          ? { outcome: 'garbled', why: 'unreadable', raw: `${MAP}\r\r>` }
          : request.startsWith('all')
            ? [`?:${MAP}`]
            : nobody,
    });
    expect(s.info.dialect.headers).toBe(false);
    expect(done.slice(0, 4)).toEqual(['ATRV', 'all>0100', 'ATDPN', 'all>0100']);
  });

  it('asks all again where one unit cannot be asked by itself', () => {
    const silent = findOut({
      commands: { ATDPN: { text: '6' } },
      answer: (request) => (request.startsWith('7E8') ? nobody : both(request)),
    });
    expect(silent.done.slice(3, 9)).toEqual([
      ...['7E8>0100', 'long wait', '7E8>0100', '7E8>0100', 'aim at all', 'all>0100'],
    ]);
    expect(silent.s).toMatchObject({ aim: { can: false }, wait: 'learnt' });
    // It answers, but the header was not taken.
    const deaf = findOut({ commands: { ATDPN: { text: '6' } }, answer: both, aims: 'ignored' });
    expect(deaf.done).toContain('aim at all');
    expect(deaf.done).not.toContain('long wait');
  });

  it('waits long for one unit once its answer stayed away, and no longer where it must wait for others each time', () => {
    const late = (digit: boolean) =>
      findOut({
        answer: (r, s, nth) => {
          if (nth === 1 && s.wait === 'learnt' && (r === '7E8>0100' || isGroup(r))) return nobody;
          return s.counting.digit && !digit && isGroup(r) ? nobody : both(r);
        },
      });
    const well = late(true);
    expect(well.done.slice(3, 6)).toEqual(['7E8>0100', 'long wait', '7E8>0100']);
    expect(well.s).toMatchObject({ aim: { at: '7E8' }, counting: { digit: true }, wait: 'long' });
    expect(well.done).not.toContain('short wait');
    const without = late(false);
    expect(without.done).toContain('short wait');
    expect(without.s).toMatchObject({ aim: { at: '7E8' }, counting: { digit: false }, wait: 'learnt' });
  });

  it('waits for a search longer than for one protocol, and elsewhere as the driver does', () => {
    expect([...findOut({ answer: both }).waits]).toEqual([20_000, undefined]);
    expect([...findOut({ answer: both, settings: { autoProtocol: false } }).waits]).toEqual([
      7000,
      undefined,
    ]);
  });

  it('does not guess which protocol a longer word names', () => {
    for (const text of ['XA6', 'A6X', '66', 'A0'])
      expect(findOut({ commands: { ATDPN: { text } }, answer: both }).s.protocol).toBeNull();
    expect(findOut({ commands: { ATDPN: { text: 'A 7' } }, answer: both }).s.protocol).toBe('7');
  });

  it('asks for no more PIDs at once than the vehicle has', () => {
    const groups = (map: string, answer = LONG) =>
      findOut({
        answer: (r) =>
          isGroup(r) ? [answer] : [`7E8:4100${map}`, ...(r.startsWith('all') ? [`7E9:4100${map}`] : [])],
      });
    const asked = (map: string) => groups(map).done.find(isGroup);
    expect(asked('F8000000')).toBe('7E8>01000102030405');
    expect(asked('F0000000')).toBe('7E8>01000102');
    expect(asked('C0000000')).toBe('7E8>01000102');
    expect(asked('80000000')).toBeUndefined();
    // Service, and for each of six PIDs its number and a byte; four of PID 00.
    expect(groups('F8000000', `7E8:4100${'00'.repeat(14)}`).s.info.maxPidsPerRequest).toBe(6);
    expect(groups('F8000000', `7E8:4100${'00'.repeat(13)}`).s.info.maxPidsPerRequest).toBe(3);
  });

  it('takes no answer to another question for the same, and values that flicker for no other', () => {
    let n = 0;
    const flicker = findOut({
      answer: (r) => [
        `7E8:4100${(0x10 + (n++ % 9)).toString(16)}180003`,
        ...(r.startsWith('all') ? ['7E9:410000000000'] : []),
      ],
    });
    expect(flicker.s.counting.digit).toBe(true);
    const other = findOut({ answer: (r) => (r.endsWith('#') ? ['7E8:410198180003'] : both(r)) });
    expect(other.s.counting.digit).toBe(false);
  });

  it('asks all at once where the header is refused', () => {
    const { s, done } = findOut({ answer: both, aims: 'refused' });
    expect(done.slice(3, 5)).toEqual(['7E8>0100', 'all>0100']);
    expect(s).toMatchObject({ aim: { can: false, at: null }, repeats: true });
    expect(s.stage.at).toBe('ready');
  });

  it('reads the map of the unit that is asked, not what it said before, and knows frames that are filled up', () => {
    const map = (filled: boolean) => {
      const [a, b] = ['7E8', '7E9'].map((ecu) => `${ecu}064100${MAP.slice(4)}${filled ? 'AA' : ''}\r`);
      return findOut({
        raw: `${a}${b}\r>`,
        answer: (request) =>
          request.startsWith('all')
            ? ['7E9:410000000000', '7E8:7F0178', '7E8:410098180003', '7E8:410000000000']
            : both(request),
      });
    };
    expect(map(true).done).toContain('7E8>01000104050C0D');
    expect(map(true).s.info.dialect.padded).toBe(true);
    expect(map(false).s.info.dialect.padded).toBeUndefined();
  });

  it('tries the next protocol where one brings nothing but damage', () => {
    const { done } = findOut({
      settings: { autoProtocol: false },
      answer: (request, _, nth) => (nth <= 3 && request === 'all>0100' ? garbled : both(request)),
    });
    expect(done.slice(0, 7)).toEqual(['ATRV', 'ATSP6', ...Array(3).fill('all>0100'), 'ATSP8', 'all>0100']);
  });

  it('does without the digit where it changes the answer, and shortens the wait', () => {
    const { s, done } = findOut({
      commands: { ATDPN: { text: '6' } },
      answer: (request) => (request.endsWith('#') ? nobody : both(request)),
    });
    expect(done.filter((d) => d === '7E8>0100#')).toHaveLength(3);
    expect(done).toContain('ATAT2');
    expect(done).not.toContain('long wait');
    expect(s).toMatchObject({ counting: { digit: false }, info: { maxPidsPerRequest: 6 } });
  });

  it('tells frames where a long answer needs it, and gives the digit up where that does not help', () => {
    const frames = findOut({
      commands: { ATDPN: { text: '6' } },
      answer: (request, s) =>
        isGroup(request) && request.endsWith('#') && !s.counting.frames ? nobody : both(request),
    });
    expect(frames.s.counting).toMatchObject({ digit: true, frames: true });
    const never = findOut({
      commands: { ATDPN: { text: '6' } },
      answer: (request) => (isGroup(request) && request.endsWith('#') ? nobody : both(request)),
    });
    expect(never.s.counting).toMatchObject({ digit: false, frames: true });
    expect(never.done.filter((d) => isGroup(d) && d.endsWith('#'))).toHaveLength(6);
  });

  it('takes half as many PIDs at once, or one, where more bring no more', () => {
    const most = (bytes: number) =>
      findOut({
        commands: { ATDPN: { text: '6' } },
        answer: (request) =>
          isGroup(request) && request.replaceAll(/.*>|#/g, '').length > bytes * 2
            ? [`7E8:${MAP}`]
            : both(request),
      });
    expect(most(6).s.info.maxPidsPerRequest).toBe(3);
    expect(most(1).s.info.maxPidsPerRequest).toBe(1);
    expect(most(1).done.filter(isGroup)).toHaveLength(6);
    expect(most(1).s.counting.digit).toBe(true);
    // A long answer that says no is none.
    const no = findOut({
      commands: { ATDPN: { text: '6' } },
      answer: (request) => (isGroup(request) ? [`7E8:7F01${'00'.repeat(20)}`] : both(request)),
    });
    expect(no.s.info.maxPidsPerRequest).toBe(1);
  });

  it('lets no empty line stand for a request that it answers otherwise, or not', () => {
    const other = findOut({
      commands: { ATDPN: { text: '6' } },
      answer: (request, s) => (s.stage.at === 'repeat' && s.stage.before ? nobody : both(request)),
    });
    expect(other.s.repeats).toBe(false);
    const never = findOut({ commands: { ATDPN: { text: '6' } }, answer: both, repeats: false });
    expect(never.s.repeats).toBe(false);
    expect(never.done.slice(-7)).toEqual(['long wait', ...Array(6).fill('7E8>0100#')]);
  });

  it.each([
    ['12.6V', 12.6],
    ['  9.81', 9.81],
    ['123.456', 23.45],
    ['?', null],
    ['', null],
  ])('reads %j as %s V', (text, volts) => expect(voltsIn(text)).toBe(volts));
});

function error(act: () => unknown): { code: string; message: string; hint: string } {
  try {
    act();
  } catch (thrown) {
    return thrown as { code: string; message: string; hint: string };
  }
  throw new Error('should have failed');
}

describe('health', () => {
  const GOOD: Ended = {
    ...{ end: 'prompt', outcome: 'answered', nowUs: 0, restarted: false, kline: false, raised: false },
  };
  const ended = (h: Health, x: Partial<Ended>) => afterExchange(h, { ...GOOD, ...x });
  const due = (h: Health, raised = false) => MENDS.filter((m) => m.due(h, raised)).map((m) => m.what);

  it.each([
    ['prompt', []],
    ['lost', []],
    ['timeout', ['resync']],
    ['too much', ['resync']],
    ['unsent', ['resync']],
  ] as const)('an exchange that ends by %s makes due: %j', (end, what) => {
    expect(due(ended(WELL, { end, outcome: 'no data' }))).toEqual(what);
  });

  it('settings are lost at a restart or at two bad answers in a row, no data being none', () => {
    expect(due(ended(WELL, { restarted: true }))).toEqual(['set up']);
    expect(due(ended(WELL, { restarted: true, raised: true }))).toEqual(['slow down', 'set up']);
    const once = ended(WELL, { outcome: 'garbled' });
    expect(due(once)).toEqual([]);
    expect(due(ended(once, { outcome: 'garbled' }))).toEqual(['set up']);
    for (const outcome of ['answered', 'no data', 'bus error', 'lost'] as const)
      expect(due(ended(ended(once, { outcome }), { outcome: 'garbled' }))).toEqual([]);
    const twice = ended(once, { outcome: 'timeout', end: 'timeout' });
    expect(due(twice)).toEqual(['resync']); // and when that is done:
    expect(due(MENDS[0]!.after(twice, true))).toEqual(['set up']);
    expect(twice.badInARow).toBe(0);
  });

  it('a K-line is woken when it was silent for five seconds, once in five seconds; another bus never', () => {
    const silent = { outcome: 'no data', kline: true } as const;
    expect(due(ended(WELL, { ...silent, nowUs: 5e6 }))).toEqual([]);
    const asleep = ended(WELL, { ...silent, nowUs: 5e6 + 1 });
    expect(due(asleep)).toEqual(['wake']);
    const woken = MENDS[2]!.after(asleep, false);
    expect(due(ended(woken, { ...silent, nowUs: 9e6 }))).toEqual([]);
    expect(due(ended(woken, { ...silent, nowUs: 11e6 }))).toEqual(['wake']);
    expect(due(ended(asleep, { outcome: 'answered', nowUs: 6e6 }))).toEqual(['wake']);
    expect(due(ended(WELL, { ...silent, kline: false, nowUs: 60e6 }))).toEqual([]);
    expect(due(ended(ended(WELL, { nowUs: 4e6 }), { ...silent, nowUs: 8e6 }))).toEqual([]);
  });

  it('where coming back into step fails, a raised line is slowed down, and nothing else is done', () => {
    const out = MENDS[0]!.after(ended(WELL, { end: 'timeout' }), false);
    expect(due(out)).toEqual(['resync']);
    expect(due(out, true)).toEqual(['resync', 'slow down']);
    expect(due(MENDS[1]!.after(out, true))).toEqual(['set up']);
    expect(due(MENDS[1]!.after(out, false))).toEqual(['resync']);
    expect(due({ ...out, wake: true, setUp: true })).toEqual(['resync']);
    expect(MENDS[3]!.after({ ...WELL, setUp: true }, true)).toEqual(WELL);
    expect(MENDS[3]!.after({ ...WELL, setUp: true }, false).setUp).toBe(true);
  });
});

describe('counting of answers', () => {
  const on = { ...NOTHING_COUNTED, digit: true };
  const request: DiagnosticRequest = { payload: fromHex('010C')! };
  const short = message('7E8:410C1AF8');
  const long = message(`7E9:41${'00'.repeat(20)}`);
  const pending = message('7E8:7F0178');
  const learn = (c: typeof on, messages: readonly EcuMessage[], digit = '', outcome: Outcome = 'answered') =>
    countAnswers(c, 'k', digit, messages, outcome, true);
  const digit = (c: typeof on, ecu: string | null = null, more: Partial<DiagnosticRequest> = {}) =>
    digitFor(c, 'k', { ...request, ...more }, ecu);

  it('is one for one unit, what is expected, or as many as came; none with a time of its own or without a digit', () => {
    expect(digit(on, '7E8')).toBe('1');
    expect(digit(on)).toBe('');
    expect(digit(on, null, { expect: 11 })).toBe('B');
    expect([0, 15, 16].map((expect) => digit(on, null, { expect }))).toEqual(['', 'F', '']);
    expect(digit(on, '7E8', { timeoutMs: 100 })).toBe('');
    expect(digit(NOTHING_COUNTED, '7E8')).toBe('');
    expect(digit(learn(on, [short, long]))).toBe('2');
    expect(digitFor(learn(on, [short, long]), 'other', request, null)).toBe('');
  });

  it('is not learnt from an answer of which something was damaged, and not made less by one', () => {
    const damaged = (c: typeof on, messages: readonly EcuMessage[]) =>
      countAnswers(c, 'k', '', messages, 'answered', false);
    expect(digit(damaged(on, [short]))).toBe('');
    expect(digit(damaged(learn(on, [short, long]), [short]))).toBe('2');
    expect(digit(damaged(learn(on, [short]), [short, long]))).toBe('2');
  });

  it('of an adapter that counts frames: 7 bytes in one, then 6 and 7 each', () => {
    const frames = { ...on, frames: true };
    expect(digit(frames, '7E8')).toBe('');
    expect(digit(learn(frames, [short, long]), '7E8')).toBe('5');
    const bytes = (n: number) => message(`7E8:41${'00'.repeat(n - 1)}`);
    expect([7, 8, 13, 14, 20].map((n) => digit(learn(frames, [bytes(n)])))).toEqual([
      '1',
      '2',
      '2',
      '3',
      '3',
    ]);
  });

  it('counts "pending" where it alone ended the wait', () => {
    const plain = learn(on, [pending, short]);
    expect(digit(plain)).toBe('1');
    expect(learn(plain, [pending], '').pendings).toBe(false);
    const counted = learn(plain, [pending], '1');
    expect(counted.pendings).toBe(true);
    expect(digit(counted)).toBe('2');
    expect(learn(on, [message('7E8:7F0121')], '1').pendings).toBe(false);
    // None is known of another request, and "pending" alone tells no number.
    expect(digitFor(counted, 'another', request, '7E8')).toBe('1');
    expect(learn(on, [pending]).seen.size).toBe(0);
    expect(learn(on, [], '1', 'no data').pendings).toBe(false);
  });

  it('forgets what did not come three times in a row, and learns no less than was there, and no refusal', () => {
    const two = learn(on, [short, long]);
    const miss = (c: typeof on) => learn(c, [], '2', 'no data');
    expect(digit(miss(miss(two)))).toBe('2');
    expect(digit(miss(miss(miss(two))))).toBe('');
    expect(digit(miss(learn(miss(miss(two)), [short, long])))).toBe('2');
    expect(digit(learn(two, [short], '2'))).toBe('2');
    expect(digit(learn(on, [short, message('7E9:7F0112')]))).toBe('');
    expect(digit(learn(on, [short], '', 'garbled'))).toBe('');
  });

  it('keeps five hundred requests, then begins anew', () => {
    let c: typeof on = on;
    for (let i = 0; i < 500; i++) c = countAnswers(c, `k${i}`, '', [short], 'answered', true);
    expect(c.seen.size).toBe(500);
    expect(countAnswers(c, 'k0', '', [short], 'answered', true)).toBe(c); // nothing new
    expect(countAnswers(c, 'one more', '', [short], 'answered', true).seen.size).toBe(1);
  });
});
