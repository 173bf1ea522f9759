/**
 * `npm run bench:wire [-- COMMIT]`: ugly adapters, bad lines and what else troubled a recording, met by the program as
 * it was at COMMIT and as it is now, in one run. Both are compiled as they ship; car, control units and adapters are
 * those of today for both. What is measured over a wire runs in simulated time, in a process of its own for each
 * version (`wire-asking-child.ts`); ports, signals and the opening of an hour's run are the programs themselves, in turn
 * (`wire-daemon.ts`). Prints the table and writes it into `docs/adapters.md`.
 */
import { execFileSync } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { cpus, loadavg, tmpdir } from 'node:os';
import { join } from 'node:path';
import { bestPerSecond } from './poller.ts';
import { ROOT, withBoth } from './versions.ts';
import { cannotListen, type Opened, opensAnHour, Program, twoSignals } from './wire-daemon.ts';

/** The last one before the wire was put under stress. */
const BEFORE = process.argv[2] ?? '9436144';
const DOC = join(ROOT, 'docs/adapters.md');
const [BEGIN, END] = ['<!-- npm run bench:wire -->', '<!-- end of npm run bench:wire -->'];
const MS = 1000;

interface Lost {
  readonly forbidden: number;
  readonly requests: number;
  readonly values: number;
}
interface Flagged {
  readonly share: number;
  readonly wrong: number;
}
type Measures = Readonly<Record<string, unknown>>;

interface Daemons {
  readonly busyPortS: number | null;
  readonly badHostS: number | null;
  readonly signalled: string;
  readonly opened: Opened;
}

/** One version, asking in simulated time. */
function asking(root: string): Measures {
  const child = join(ROOT, 'tests/bench/wire-asking-child.ts');
  const out = execFileSync(process.execPath, ['--import', 'tsx', child, root], {
    cwd: ROOT,
    encoding: 'utf8',
  });
  return Object.fromEntries(
    out
      .trim()
      .split('\n')
      .map((line) => JSON.parse(line) as [string, unknown]),
  );
}

async function daemons(root: string, home: string, port: string): Promise<Daemons> {
  const program = new Program(root, home);
  try {
    return {
      busyPortS: await cannotListen(program, 'busy port'),
      badHostS: await cannotListen(program, 'bad host'),
      signalled: await twoSignals(program, port),
      opened: await opensAnHour(program, port),
    };
  } finally {
    program.close();
  }
}

interface Version {
  readonly m: Measures;
  readonly d: Daemons;
}

interface Row {
  readonly what: string;
  readonly unit: string;
  readonly of: (v: Version) => number | string | null;
  /** The most that is possible, where it can be told. */
  readonly most?: number;
  readonly digits?: number;
}

const number = (name: string) => (v: Version) => v.m[name] as number;
const responseMs = 5.5;
const best = (front: 'at' | 'slcan', baud: number): number => bestPerSecond({ front, baud, responseMs });
/** The most with so many ms more for each request, on average. */
const slowed = (front: 'at' | 'slcan', ms: number): number => {
  const values = front === 'slcan' ? 5 : 6;
  return values / (values / best(front, 1_000_000) + ms / MS);
};
const LATE_MS = 0.05 * 300;
const PENDING_MS = 400;
const ended = (s: number | null): string => (s === null ? 'hangs' : s.toFixed(1));

const ROWS: readonly Row[] = [
  ['text, 115200', 'quiet at', best('at', 115_200)],
  ['serial-line CAN, 115200', 'quiet slcan', best('slcan', 115_200)],
  [
    'text, 115200, each value may be one more at each reading (slowest of 6 connections)',
    'flicker',
    best('at', 115_200),
  ],
  ['serial-line CAN, 115200, classic controller, 1,500 frames/s of others', 'busy 1500'],
  ['the same, 3,500 frames/s', 'busy 3500'],
  [
    'text, one answer in twenty late by 300 ms, each request answered in turn',
    'late at',
    slowed('at', LATE_MS),
  ],
  ['serial-line CAN, the same', 'late slcan', slowed('slcan', LATE_MS)],
  [
    'text, the same, and a new request puts an end to the late answer',
    'passed over at',
    slowed('at', LATE_MS),
  ],
  ['serial-line CAN, the same', 'passed over slcan', slowed('slcan', LATE_MS)],
  ['text, the line itself held back by 300 ms, one reading in fifty', 'held at'],
  ['serial-line CAN, the same', 'held slcan'],
  ['serial-line CAN, one transmission in fifty refused', 'refused 50'],
  ['the same, one in three', 'refused 3'],
  [
    'text, "answer pending" before each answer, which takes 400 ms more',
    'pending at',
    slowed('at', PENDING_MS),
  ],
  ['serial-line CAN, the same', 'pending slcan', slowed('slcan', PENDING_MS)],
].map(([what, name, most]) => ({
  what: what as string,
  unit: 'values/s',
  of: number(name as string),
  ...(most === undefined ? {} : { most: most as number }),
}));

const LOST: readonly Row[] = (['lost at', 'lost slcan', 'lost loose slcan'] as const).flatMap((name) => {
  const title = {
    'lost at': 'text, 0.5 % of characters lost both ways',
    'lost slcan': 'serial-line CAN, the same',
    'lost loose slcan': 'serial-line CAN that passes over what follows a frame, the same',
  }[name];
  const lost = (v: Version) => v.m[name] as Lost;
  return [
    {
      what: `${title}: requests of other services on the bus`,
      unit: 'of 20,000',
      of: (v) => `${lost(v).forbidden}${lost(v).requests < 20_000 ? ` of ${lost(v).requests}` : ''}`,
    },
    { what: '… and what came of the others', unit: 'values/s', of: (v) => lost(v).values, digits: 1 },
  ];
});

const OTHERS: readonly Row[] = [
  {
    what: 'vehicle number, one reading in three with a wrong character: wrong, and no doubt told',
    unit: 'of 30 connections',
    of: number('numbers'),
    digits: 0,
  },
  {
    what: 'values wrong by a fifth of their range or more (a bit of one character in a thousand is another): flagged',
    unit: '%',
    of: (v) => 100 * (v.m.flagged as Flagged).share,
    most: 100,
    digits: 0,
  },
  {
    what: "an hour's run opened while recording: values that come meanwhile, of those before",
    unit: '%',
    of: ({ d }) => (100 * d.opened.busy) / d.opened.quiet,
    most: 100,
  },
  {
    what: '… the daemon answers a look at its state within, 99 of 100',
    unit: 'ms',
    of: ({ d }) => d.opened.p99Ms,
  },
  { what: '… the longest', unit: 'ms', of: ({ d }) => d.opened.longestMs, digits: 0 },
  { what: '… opened, judged and drawn after', unit: 's', of: ({ d }) => d.opened.openedS, digits: 1 },
  {
    what: 'port busy: the process has ended, and so its hold on the library, after',
    unit: 's',
    of: ({ d }) => ended(d.busyPortS),
  },
  { what: 'no such address to listen on: the same', unit: 's', of: ({ d }) => ended(d.badHostS) },
  { what: 'two signals at once while recording: the run', unit: '', of: ({ d }) => d.signalled },
  {
    what: 'another page asks for the stream as /API/stream',
    unit: 'HTTP',
    of: ({ d }) => String(d.opened.crossSite),
  },
];

function table(before: Version, now: Version): string {
  const cell = (x: number | string | null, digits = 1): string =>
    typeof x === 'number' ? x.toFixed(digits) : (x ?? '');
  const lines = [...ROWS, ...LOST, ...OTHERS].map(({ what, unit, of, most, digits = 0 }) => {
    const [a, b] = [of(before), of(now)];
    const ratio =
      typeof a === 'number' && typeof b === 'number' && a > 0 && b > 0 ? (b / a).toPrecision(2) : '';
    const limit = most === undefined ? '' : most.toFixed(digits);
    return `| ${what} | ${cell(a, digits)} | ${cell(b, digits)} | ${unit} | ${ratio && Number(ratio)} | ${limit} |`;
  });
  return [
    '| what | before | now | unit | ratio | most possible |',
    '|---|---|---|---|---|---|',
    ...lines,
  ].join('\n');
}

const scratch = mkdtempSync(join(tmpdir(), 'handback-wire-'));
try {
  const loadBefore = loadavg()[0]!;
  const written = await withBoth(BEFORE, scratch, async (old, now) => {
    const measured = [asking(old), asking(now)];
    const car = new Program(now, join(scratch, 'car'));
    try {
      const versions: Version[] = [];
      for (const [i, root] of [old, now].entries()) {
        const { port } = await car.said(car.start('sim', '--front', 'slcan', '--route', 'motorway'));
        versions.push({ m: measured[i]!, d: await daemons(root, join(scratch, `home-${i}`), port!) });
      }
      return table(versions[0]!, versions[1]!);
    } finally {
      car.close();
    }
  });
  const load = `${cpus().length} cores, load ${loadBefore.toFixed(1)} at the start and ${loadavg()[0]!.toFixed(1)} at the end`;
  const block = `${BEGIN}\nBefore is commit \`${BEFORE}\`. ${load}.\n\n${written}\n${END}`;
  console.log(block);
  const doc = readFileSync(DOC, 'utf8');
  const [from, to] = [doc.indexOf(BEGIN), doc.indexOf(END)];
  if (from < 0 || to < from) throw new Error(`${DOC} has no place for the table`);
  writeFileSync(DOC, `${doc.slice(0, from)}${block}${doc.slice(to + END.length)}`);
} finally {
  rmSync(scratch, { recursive: true, force: true });
}
