/** No driver, wherever it came from, gets anything but a reading request to the vehicle. */
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { formOf } from '../../src/adapter/slcan/form.ts';
import { SlcanPort } from '../../src/adapter/slcan/port.ts';
import { Wire } from '../../src/adapter/wire.ts';
import { ManualClock } from '../../src/core/clock.ts';
import { seededRandom } from '../../src/core/random.ts';
import { asIs } from '../../src/core/says.ts';
import { buildFrame } from '../../src/isotp/frame.ts';
import type { Link, LinkEvent } from '../../src/link/link.ts';
import { pipePair } from '../../src/link/pipe.ts';
import { onlyReads, WireGate } from '../../src/poll/wire-gate.ts';

const READING = new Set([1, 2, 3, 6, 7, 9, 10]);
/** Of SAE J1979-2: they read with whatever stands behind them. */
const READING_TOO = new Set([0x19, 0x22]);

/**
 * A wire with an adapter at its other end that is as liberal as adapters are: blanks and control characters do not
 * count, nor does case; an empty line is the last one again; what follows a whole CAN frame is passed over. It says
 * back what it hears, and both ways characters may get lost.
 */
function wire(family: 'at' | 'slcan', lost: () => boolean = () => false) {
  let line = '';
  let last = '';
  let sent = '';
  const services: number[] = [];
  let answer = '';
  let hear: (event: LinkEvent) => void = () => undefined;
  const say = (text: string) => {
    const bytes = Buffer.from([...text].filter(() => !lost()).join(''), 'latin1');
    if (bytes.length > 0) hear({ kind: 'data', tUs: 0, bytes });
  };
  const carryOut = () => {
    const typed = line.toUpperCase().replaceAll(/[^0-9A-Z@]/g, '');
    line = '';
    if (family === 'at') {
      if (typed !== '') last = typed;
      if (/^[0-9A-F]{2,}$/.test(last)) services.push(Number.parseInt(last.slice(0, 2), 16));
      say(`${typed.startsWith('AT') ? answer : ''}\r\r>`);
      return;
    }
    const [, digits, data = ''] = /^[TR](?:[0-9A-F]{3}|[0-9A-F]{8})([0-8])([0-9A-F]*)$/.exec(typed) ?? [];
    const length = Number(digits);
    if (digits === undefined || data.length < 2 * length) return;
    const [pci = 0, ...rest] = Buffer.from(data.slice(0, 2 * length), 'hex');
    if (pci >> 4 === 0 && pci > 0 && rest.length >= pci) services.push(rest[0]!);
    // The first frame of several: a unit does nothing before the others have come, and no driver sends any.
    if (pci >> 4 === 1 && typed === sent.trim().split('\r').at(-1)) services.push(rest[1] ?? -1);
  };
  const link: Link = {
    name: 'wire',
    listen: (listener) => {
      hear = listener;
    },
    close: async () => undefined,
    async write(bytes) {
      sent += String.fromCharCode(...bytes);
      for (const c of String.fromCharCode(...bytes)) {
        if (lost()) continue;
        if (family === 'at') say(c);
        if (c === '\r') carryOut();
        else line += c;
      }
    },
  };
  const gate = new WireGate();
  const guarded = gate.guard(link, family);
  guarded.listen(() => undefined);
  const write = (text: string): Promise<boolean> =>
    guarded.write(Uint8Array.from(text, (c) => c.charCodeAt(0) & 255)).then(
      () => true,
      () => false,
    );
  /** A line in the pieces in which it may go. @returns whether its end went */
  const put = async (text: string): Promise<boolean> => {
    if (family === 'slcan') return write(`${text}\r`);
    return (await write(text)) && write('\r');
  };
  /** What a driver does first. */
  const begin = () => (family === 'at' ? write('QQQQQQQQ\r') : Promise.resolve(true));
  /** What it says to commands from now on. */
  const answers = (text: string): void => {
    answer = text;
  };
  return { gate, write, put, begin, answers, services: () => services, sent: () => sent };
}

const hexDigits = fc
  .array(fc.constantFrom(...'0123456789ABCDEFabcdef'), { maxLength: 20 })
  .map((d) => d.join(''));
const piece = fc.oneof(
  fc.string({ unit: 'binary-ascii', maxLength: 12 }),
  hexDigits,
  hexDigits.map((h) => `${h}\r`),
  fc.constantFrom('QQQQQQQQ', 'QQQQQQQQ\r', '\r', '\r', '0104', '010C0D2', '0104', '03', 'ATSH7E0'),
  fc.constantFrom(
    '\r',
    ' ',
    '\n',
    'AT',
    'ATI\r',
    'ATMA\r',
    'ATPP0CSV00\r',
    'ATSH123\r',
    'ATWM010203\r',
    '04\r',
    '04',
    '2F',
    '0100\r',
    '010C04\r',
    '22F40CF40D',
    '22F190',
    '1904012345FF',
    '14FFFF33',
    '14FFFF33\r',
    '2EF40C00',
    '0100\r04\r',
    '0104\u0000\r',
  ),
  fc
    .tuple(
      fc.constantFrom('t', 'T', 'r', 'R'),
      fc.constantFrom('7DF', '7E0', '18DB33F1', '123', '7E8'),
      fc.nat(8),
      hexDigits,
    )
    .map(([t, id, n, data]) => `${t}${id}${n}${data}\r`),
  fc
    .constantFrom('010AC9CACB0C0D', '01060B0C0D4904', '010020406080A0', '02020004000500', '22F40CF40DF405')
    .map((p) => `t7E0807${p}\r`),
  fc
    .constantFrom('t7DF8020100000000000000', 't7E08023E80', 't7E08300000000000000', 't7E0830000000000000')
    .map((l) => `${l}\r`),
  fc.constantFrom('t7E08020902', 't7DF8010300').map((l) => `${l.padEnd(21, '0')}\r`),
  fc
    .constantFrom(
      '0522F40CF40D0000',
      '0322F80200000000',
      '0519421234000000',
      '0519428CFF000000',
      '0414FFFF33000000',
    )
    .map((d) => `t7E08${d}\r`),
  fc.nat(255).map((s) => `t7DF803${s.toString(16).padStart(2, '0').toUpperCase()}F40C00000000\r`),
  fc.nat(255).map((s) => `t7DF802${s.toString(16).padStart(2, '0').toUpperCase()}0C0000000000\r`),
  fc.nat(255).map((s) => `t7DF81014${s.toString(16).padStart(2, '0').toUpperCase()}0000000000\r`),
);

describe.each(['at', 'slcan'] as const)('whatever a driver writes to %s', (family) => {
  it.each([0, 0.001, 0.01, 0.05, 0.3])(
    'reaches the vehicle only as a reading request, with %d of the characters lost',
    async (share) => {
      let passed = 0;
      const random = seededRandom(`lost/${share}`);
      await fc.assert(
        fc.asyncProperty(fc.array(piece, { maxLength: 16 }), async (pieces) => {
          const w = wire(family, () => random.next() < share);
          await w.begin();
          for (const text of pieces) await w.write(text);
          for (const service of w.services()) {
            // 00 is no service; of a request for the map of PIDs it can be left over
            expect(
              READING.has(service) ||
                READING_TOO.has(service) ||
                (family === 'slcan' && service === 0 && share > 0),
            ).toBe(true);
            passed++;
          }
          expect(w.sent()).not.toMatch(/MA|PP|WM|SH123|\n|^\r/);
        }),
        { numRuns: 3000, seed: 17 },
      );
      expect(passed).toBeGreaterThan(share < 0.1 ? 20 : -1); // the reading ones did pass
    },
  );

  it('for each service byte: exactly the reading ones, and 04 only while it is let through', async () => {
    for (let service = 0; service < 256; service++) {
      const hex = service.toString(16).padStart(2, '0').toUpperCase();
      const forms = ['', '00', '0000'].map((rest) =>
        family === 'at' ? `${hex}${rest}` : `t7DF8${`0${1 + rest.length / 2}${hex}${rest}`.padEnd(16, '0')}`,
      );
      const passed: boolean[] = [];
      for (const form of forms) {
        const w = wire(family);
        await w.begin();
        passed.push(await w.put(form));
      }
      expect(passed.some(Boolean), hex).toBe(READING.has(service));
    }
    const w = wire(family);
    await w.begin();
    const clear = family === 'at' ? '04' : 't7DF80104000000000000';
    expect(await w.put(clear)).toBe(false);
    expect(await w.gate.whileClearing(() => w.put(clear))).toBe(true);
    expect(await w.gate.whileClearing(() => w.write('\r'))).toBe(false); // once
    expect(await w.gate.whileClearing(() => w.put(clear.replace('04', '14')))).toBe(false);
    expect(await w.put(clear)).toBe(false);
    expect(w.services()).toEqual([4]);
    const newer = family === 'at' ? '14FFFF33' : 't7DF80414FFFF33000000';
    const n = wire(family);
    await n.begin();
    for (const other of [newer.replace('33', 'FF'), newer.replace('14', '2E')])
      expect(await n.gate.whileClearing(() => n.put(other))).toBe(false);
    expect(await n.put(newer)).toBe(false);
    expect(await n.gate.whileClearing(() => n.put(newer))).toBe(true);
    expect(await n.gate.whileClearing(() => n.write('\r'))).toBe(false); // once
    expect(await n.put(newer)).toBe(false);
    expect(n.services()).toEqual([0x14]);
  });
});

it('a line to a text adapter ends only when it was heard back to the letter', async () => {
  let lose = -1; // the character with this number
  let n = 0;
  const w = wire('at', () => n++ === lose);
  await w.begin();
  expect(await w.write('0104')).toBe(true);
  lose = n = 0;
  expect(await w.write('0104')).toBe(false); // something is typed already
  expect(await w.write('QQQQQQQQ')).toBe(true);
  expect(await w.write('\r')).toBe(true);
  lose = 0;
  n = 0;
  expect(await w.write('0104')).toBe(true); // its first character is lost
  expect(await w.write('\r')).toBe(false);
  expect(await w.write('ATI\r')).toBe(false);
  expect(await w.write('QQQQQQQQ')).toBe(true);
  expect(await w.write('\r')).toBe(true);
  expect(await w.put('0104')).toBe(true);
  expect(await w.write('\r')).toBe(true); // the same again
  expect(w.services()).toEqual([1, 1]);
});

it('an empty line repeats only what was checked, read, and answered to its prompt', async () => {
  const w = wire('at');
  await w.begin();
  expect(await w.write('\r')).toBe(false);
  for (const before of ['ATI', 'ATBRT28', 'ATSH7E0']) {
    expect(await w.put(before)).toBe(true);
    expect(await w.write('\r')).toBe(false);
  }
  expect(await w.put('0100')).toBe(true);
  expect(await w.write('\r')).toBe(true);
  expect(await w.write('ATI\r')).toBe(true); // blind: what the adapter holds for its last line is no longer known
  expect(await w.write('\r')).toBe(false);
  expect(await w.put('ATPP0CSV08')).toBe(false); // kept for good in the adapter: never
  expect(await w.put('ATBRD08')).toBe(true);
  expect(await w.write('\r')).toBe(true);
  expect(await w.write('\r')).toBe(false);
});

it('sends what was looked at, even when the driver changes its bytes meanwhile', async () => {
  let sent: Uint8Array = new Uint8Array(0);
  const gate = new WireGate().guard(
    {
      name: 'x',
      listen: () => undefined,
      close: async () => undefined,
      async write(bytes) {
        await Promise.resolve();
        sent = Uint8Array.from(bytes);
      },
    },
    'slcan',
  );
  const bytes = Buffer.from('t7DF80103000000000000\r');
  const done = gate.write(bytes);
  bytes[8] = 0x34;
  await done;
  expect(Buffer.from(sent).toString()).toBe('t7DF80103000000000000\r');
});

const hex2 = (n: number): string => n.toString(16).toUpperCase().padStart(2, '0');

it('a text adapter is told to address nobody but all units and one: no other identifier, none of an answer', async () => {
  const may = ['7DF', ...range(0x7e0, 8), 'DB33F1', '18DB33F1', 'DA10F1', 'DAFFF1', '18DA10F1'];
  const mayNot = [
    ...range(0x7e8, 8),
    '7DE',
    '7DG',
    '7D',
    '7E',
    '7E00',
    '123',
    'DB33F2',
    'DA10F2',
    '18DA10',
    '19DA10F1',
  ];
  for (const id of [...may, ...mayNot]) {
    const w = wire('at');
    await w.begin();
    expect([id, await w.put(`ATSH${id}`)]).toEqual([id, may.includes(id)]);
  }
});

it('the header for one unit of a K-line passes on a confirmed K-line alone, and no other bus is chosen with it', async () => {
  const settles = (w: ReturnType<typeof wire>, line: string, answer: string) => {
    w.answers(answer);
    return w.put(line);
  };
  for (const [protocol, answer, may] of [
    ['ATSP5', 'OK', true],
    ['ATSP4', 'OK', true],
    ['ATSP5', '?', false],
    ['ATSP6', 'OK', false],
    ['ATSP0', 'OK', false],
    ['ATSP3', 'OK', false],
  ] as const) {
    const w = wire('at');
    await w.begin();
    expect(await settles(w, protocol, answer)).toBe(true);
    expect([protocol, answer, await settles(w, 'ATIIA10', 'OK')]).toEqual([protocol, answer, may]);
    expect([protocol, answer, await settles(w, 'ATSH8210F1', 'OK')]).toEqual([protocol, answer, may]);
    for (const other of ['ATSH8233F1', 'ATSH8210F2', 'ATSHC210F1', 'ATIIA33'])
      expect([other, await w.put(other)]).toEqual([other, false]);
    if (!may) continue;
    for (const other of ['ATSP6', 'ATSP0', 'ATSPA5', 'ATTP7']) expect(await w.put(other)).toBe(false);
    expect(await settles(w, 'ATD', '?')).toBe(true);
    expect(await w.put('ATSP0')).toBe(false);
    expect(await settles(w, 'ATD', 'OK')).toBe(true);
    expect(await settles(w, 'ATSP0', 'OK')).toBe(true);
    expect(await w.put('ATSH8210F1')).toBe(false);
  }
});

it('a serial-line CAN adapter sends to all units and to one: no other identifier, none of an answer', async () => {
  const may = ['t7DF', ...range(0x7e0, 8).map((id) => `t${id}`), 'T18DB33F1', 'T18DA10F1', 'T18DAFFF1'];
  const mayNot = [
    ...range(0x7e8, 8).map((id) => `t${id}`),
    't7DE',
    't123',
    'T18DAF110',
    'T18DB33F2',
    'T000007DF',
    'r7DF',
  ];
  for (const id of [...may, ...mayNot])
    expect([id, await wire('slcan').put(`${id}80103000000000000`)]).toEqual([id, may.includes(id)]);
});

it('a line without an echo passes only when nothing but reading can become of it', async () => {
  const may = ['010AC9CACBCC0C', '01190AC9CA1CF9', '0222099229F491', '060219F912C902']; // 0A, 19, 22, 02 and 19
  const mayNot = ['0104', '0208', '0201']; // 04, 08 and 10
  for (const payload of [...may, ...mayNot]) {
    const length = hex2(payload.length / 2);
    const passes = await wire('slcan').put(`t7DF8${`${length}${payload}`.padEnd(16, '0')}`);
    expect([payload, passes]).toEqual([payload, may.includes(payload)]);
  }
});

it('three identifiers go into one request, never a fourth', () => {
  const ids = [0x0c, 0x0d, 0x05, 0x04].flatMap((pid) => [0xf4, pid]);
  for (const n of [1, 2, 3, 4])
    expect([n, onlyReads(Uint8Array.of(0x22, ...ids.slice(0, 2 * n)))]).toEqual([n, n < 4]);
});

it.each([
  // service, fewest and most bytes of a request
  [0x01, 2, 7],
  [0x02, 3, 7],
  [0x03, 1, 1],
  [0x06, 2, 7],
  [0x07, 1, 1],
  [0x09, 2, 7],
  [0x0a, 1, 1],
])('service %i is asked in %i to %i bytes', (service, least, most) => {
  const lengths = Array.from({ length: 9 }, (_, n) => n).filter((n) =>
    onlyReads(Uint8Array.of(...[service, ...Array<number>(8).fill(0)].slice(0, n))),
  );
  expect(lengths).toEqual(Array.from({ length: most - least + 1 }, (_, k) => least + k));
});

it('what a maker keeps under service 22 stays unread: only PIDs, monitors and vehicle information', () => {
  const high = Array.from({ length: 256 }, (_, n) => n).filter((n) =>
    onlyReads(Uint8Array.of(0x22, n, 0x0c)),
  );
  expect(high).toEqual([0xf4, 0xf6, 0xf8]);
  for (const payload of [[0x22], [0x22, 0xf4], [0x22, 0xf4, 0x0c, 0xf4], [0x22, 0xf4, 0x0c, 0xf1, 0x90]])
    expect([payload, onlyReads(Uint8Array.from(payload))]).toEqual([payload, false]);
});

it('of service 19 five reports are asked for, each in its own length', () => {
  const asked = Array.from({ length: 256 }, (_, sub) => sub).flatMap((sub) =>
    Array.from({ length: 9 }, (_, n) => n).flatMap((n) =>
      onlyReads(Uint8Array.of(...[0x19, sub, ...Array<number>(7).fill(0)].slice(0, n))) ? [[sub, n]] : [],
    ),
  );
  expect(asked).toEqual([
    ...[
      [0x02, 3],
      [0x04, 6],
      [0x15, 2],
      [0x42, 5],
      [0x55, 3],
    ],
  ]);
});

it('no service beside these reads, of any length', () => {
  const others = Array.from({ length: 256 }, (_, n) => n).filter(
    (n) => !READING.has(n) && !READING_TOO.has(n),
  );
  for (const service of others)
    for (let n = 0; n < 9; n++)
      expect(onlyReads(Uint8Array.of(...[service, ...Array<number>(8).fill(0xf4)].slice(0, n)))).toBe(false);
});

it('the driver hears what comes', async () => {
  let heard = 0;
  let come: (event: LinkEvent) => void = () => undefined;
  const link: Link = {
    name: 'x',
    listen: (listener) => {
      come = listener;
    },
    close: async () => undefined,
    write: async () => undefined,
  };
  new WireGate().guard(link, 'slcan').listen(() => heard++);
  come({ kind: 'data', tUs: 0, bytes: Uint8Array.of(0x0d) });
  come({ kind: 'closed', tUs: 0, why: asIs('x') });
  expect(heard).toBe(2);
});

it('settings pass whole and exactly, and none that is not on the list', async () => {
  const at = [
    'ATI',
    'ATZ',
    'ATWS',
    'ATD',
    'ATPC',
    'ATRV',
    'ATDP',
    'ATDPN',
    'ATAR',
    'AT@1',
    'ATL0',
    'ATS1',
    'ATH1',
  ];
  const more = [
    'ATAT0',
    'ATAT2',
    'ATST00',
    'ATSTFF',
    'ATSP0',
    'ATSPA6',
    'ATTPC',
    'ATBRD08',
    'ATBRT28',
    'ATCRA',
    'ATCRA7E8',
  ];
  const may = [...at, ...more, 'ATCRA18DAF110'];
  const mayNot = [
    'ATE0',
    'ATH2',
    'ATL2',
    'ATAT3',
    'ATST0',
    'ATST000',
    'ATSPD',
    'ATSP',
    'ATSPA66',
    'ATUP0',
    'ATBRD0',
  ];
  const never = [
    'ATBRD080',
    'ATCRA7E',
    'ATCRA7E8F',
    'ATCRA18DAF1100',
    'ATMA',
    'ATX',
    'ATII',
    'XATI',
    'ATPP',
    'AT@2',
  ];
  for (const line of [...may, ...mayNot, ...never]) {
    const w = wire('at');
    await w.begin();
    expect([line, await w.put(line)]).toEqual([line, may.includes(line)]);
  }
  const can = ['C', 'V', 'N', 'O', 'L', 'F', 'S0', 'S8', 'M00000700', 'm000007F8'];
  for (const line of [...can, 'S9', 'S', 'S88', 'M0000070', 'M000007000', 'W2', 'U1', 'CC', 'Z1', 'X'])
    expect([line, await wire('slcan').put(line)]).toEqual([line, can.includes(line)]);
});

function range(from: number, n: number): string[] {
  return Array.from({ length: n }, (_, i) => `7${hex2((from + i) & 0xff)}`);
}

it('serial-line CAN, lines that come late and together: what is written upon one of them passes, and so does what follows', async () => {
  const request = formOf(Uint8Array.of(1, 0x0c))!;
  const line = (id: string, data: Uint8Array) => `t${id}8${Buffer.from(data).toString('hex').toUpperCase()}`;
  const FLOW_CONTROL = buildFrame([0x30, 0, 0], 0);
  const REQUEST = line('7DF', buildFrame([request.length, ...request], 0));
  const said = fc.constantFrom(
    'z\r',
    '\r',
    '\x07',
    't7E88100A410411223344\r',
    't12380011223344556677\r',
    'zz\r',
  );
  let answered = 0;
  await fc.assert(
    fc.asyncProperty(
      fc.array(fc.array(said, { maxLength: 5 }), { minLength: 1, maxLength: 12 }),
      async (portions) => {
        const clock = new ManualClock();
        const [near, far] = pipePair(clock, 'pipe');
        far.listen(() => undefined);
        const wire = new Wire(new WireGate().guard(near, 'slcan'), () => undefined, clock);
        const port = new SlcanPort(wire);
        for (const portion of portions) {
          const heard = port.listen(
            100,
            () =>
              ({ meaning }) => {
                if (meaning.kind !== 'frame') return;
                answered++;
                port.send(line('7E0', FLOW_CONTROL));
              },
            () => port.send(REQUEST),
          );
          await far.write(Buffer.from(portion.join(''), 'latin1'));
          await clock.until(heard, 10);
          expect(wire.lost).toBeNull();
        }
      },
    ),
    { numRuns: 300, seed: 3 },
  );
  expect(answered).toBeGreaterThan(100);
});
