/**
 * Power loss as database engines simulate it: every write, sync and rename of a recording is written down; after each
 * of them the disk is rebuilt as a power cut could have left it (what was not synced dropped, torn, applied out of
 * order), and what stands there is opened as the next start would.
 */

import { createHash } from 'node:crypto';
import { mkdirSync, mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { dirname, join } from 'node:path';
import { ManualClock } from '../../src/core/clock.ts';
import { seededRandom } from '../../src/core/random.ts';
import { readCapture } from '../../src/run/capture/read.ts';
import { check } from '../../src/run/check.ts';
import { createRun, listRuns, recoverRun } from '../../src/run/library.ts';
import { openRecording } from '../../src/run/recording.ts';
import { english } from '../../src/words/spelled.ts';
import { inWords } from '../in-words.ts';
import { type DiskOp, FsTap } from './fs-tap.ts';
import type { Row } from './row.ts';

interface Recorded {
  readonly ops: readonly DiskOp[];
  /** Run time of the clock at each operation, and what had been promised by then. */
  readonly at: readonly { readonly tUs: number; readonly started: boolean; readonly closed: boolean }[];
  /** When each numbered record was handed over, by the same clock. */
  readonly handedUs: readonly number[];
  readonly root: string;
  /** Operations that stood before what is tried. */
  readonly first: number;
}

/** Records a few seconds on real files and writes down what the disk was asked to do. */
async function recordOps(root: string, seconds: number): Promise<Recorded> {
  const clock = new ManualClock();
  const tap = new FsTap();
  const at: { tUs: number; started: boolean; closed: boolean }[] = [];
  const handedUs: number[] = [];
  let started = false;
  let closed = false;
  tap.onOp = () => at.push({ tUs: clock.nowUs(), started, closed });
  tap.install();
  try {
    const library = join(root, 'library');
    const run = await createRun({ where: { library }, purpose: 'other', tool: 'torture', clock });
    started = true;
    for (let i = 0; i < seconds * 20; i++) {
      handedUs.push(clock.nowUs());
      run.capture.wire({ kind: 'rx', tUs: clock.nowUs(), bytes: Buffer.from(`${i} `.padEnd(300, '.')) });
      await clock.advance(50);
      await tap.quiet();
    }
    await run.close();
    closed = true;
    at.push({ tUs: clock.nowUs(), started, closed });
    return { ops: [...tap.ops], at, handedUs, root, first: 1 };
  } finally {
    tap.uninstall();
  }
}

/** The same for the recovery of a run that was cut off, torn last line and all. */
async function recoveryOps(root: string, before: Recorded): Promise<Recorded> {
  const n = Math.floor(before.ops.length * 0.6);
  const all: Fate = (p) => p;
  const disk = diskAfter(before.ops, n, () => (p) => [...p.slice(0, -1), ...p.slice(-1).map(torn)], all);
  put(disk, before.root, root);
  const tap = new FsTap();
  const ops: DiskOp[] = [];
  for (const [path, content] of [...disk].sort(([a], [b]) => (a < b ? -1 : 1))) {
    const here = root + path.slice(before.root.length);
    if (content === null) ops.push({ op: 'mkdir', path: here });
    else {
      const file = tap.know(here);
      ops.push(
        { op: 'create', path: here, file },
        { op: 'write', file, at: 0, bytes: content },
        { op: 'sync', file },
      );
    }
    ops.push({ op: 'sync folder', path: dirname(here) });
  }
  const promised = { ...before.at[n]!, started: true, closed: false };
  const at = ops.map(() => promised);
  tap.onOp = () => at.push(promised);
  tap.install();
  try {
    const [run] = (await listRuns(join(root, 'library'))).runs;
    await recoverRun(run!.folder);
    at.push({ ...promised, closed: true });
    return { ops: [...ops, ...tap.ops], at, handedUs: before.handedUs, root, first: ops.length };
  } finally {
    tap.uninstall();
  }
}

/** Which of the changes that were not synced reached the disk. */
export type Fate = (pending: readonly DiskOp[]) => readonly DiskOp[];

const torn = (op: DiskOp): DiskOp =>
  op.op === 'write' ? { ...op, bytes: op.bytes.subarray(0, Math.ceil(op.bytes.length / 2)) } : op;
/** The file has grown, its new blocks hold nothing. */
const zeroed = (op: DiskOp): DiskOp =>
  op.op === 'write' ? { ...op, bytes: Buffer.alloc(op.bytes.length) } : op;
export const FATES: Readonly<Record<string, Fate>> = {
  all: (p) => p,
  none: () => [],
  'all but the last': (p) => p.slice(0, -1),
  'only the last': (p) => p.slice(-1),
  'the last torn': (p) => [...p.slice(0, -1), ...p.slice(-1).map(torn)],
  'the last as zeros': (p) => [...p.slice(0, -1), ...p.slice(-1).map(zeroed)],
};

interface Inode {
  durable: Buffer;
  pending: DiskOp[];
}

/** The disk after the first `n` operations and a power cut. Returns path → content; folders end in a slash. */
export function diskAfter(
  ops: readonly DiskOp[],
  n: number,
  data: (file: number) => Fate,
  names: Fate,
): Map<string, Buffer | null> {
  const inodes = new Map<number, Inode>();
  /** Name changes by the folder whose sync makes them last. */
  const pendingNames = new Map<string, DiskOp[]>();
  const lasting: DiskOp[] = [];
  const inode = (file: number): Inode => {
    const known = inodes.get(file) ?? { durable: Buffer.alloc(0), pending: [] };
    inodes.set(file, known);
    return known;
  };
  for (const op of ops.slice(0, n)) {
    if (op.op === 'write' || op.op === 'truncate') inode(op.file).pending.push(op);
    else if (op.op === 'sync') {
      const i = inode(op.file);
      i.durable = applied(i.durable, i.pending);
      i.pending = [];
    } else if (op.op === 'sync folder') {
      lasting.push(...(pendingNames.get(op.path) ?? []));
      pendingNames.delete(op.path);
    } else {
      const folder = dirname(op.op === 'rename' || op.op === 'link' ? op.to : op.path);
      pendingNames.set(folder, [...(pendingNames.get(folder) ?? []), op]);
    }
  }
  const entries = new Map<string, number | null>();
  for (const op of [...lasting, ...[...pendingNames.values()].flatMap((p) => names(p))]) {
    if (op.op === 'mkdir') entries.set(op.path, null);
    else if (op.op === 'create') entries.set(op.path, op.file);
    else if (op.op === 'remove') entries.delete(op.path);
    else if (op.op === 'rename' || op.op === 'link') {
      const file = entries.get(op.from);
      if (file === undefined) continue;
      entries.set(op.to, file);
      if (op.op === 'rename') entries.delete(op.from);
    }
  }
  const disk = new Map<string, Buffer | null>();
  for (const [path, file] of entries) {
    if (file === null) disk.set(path, null);
    else {
      const i = inode(file);
      disk.set(path, applied(i.durable, data(file)(i.pending)));
    }
  }
  return disk;
}

/** Of all that lies on it: two disks with one digest are the same to every program. */
export function digestOfDisk(disk: ReadonlyMap<string, Buffer | null>): string {
  const hash = createHash('sha256');
  for (const path of [...disk.keys()].sort()) {
    const content = disk.get(path);
    hash.update(content ? `${path} ${content.length}\n` : `${path} folder\n`);
    if (content) hash.update(content);
  }
  return hash.digest('hex');
}

function applied(content: Buffer, ops: readonly DiskOp[]): Buffer {
  let out = content;
  for (const op of ops) {
    if (op.op === 'truncate')
      out = Buffer.concat([out, Buffer.alloc(Math.max(0, op.length - out.length))]).subarray(0, op.length);
    if (op.op !== 'write') continue;
    const grown = Buffer.alloc(Math.max(out.length, op.at + op.bytes.length));
    out.copy(grown);
    op.bytes.copy(grown, op.at);
    out = grown;
  }
  return out;
}

/** Only what hangs together by folders: a file in a folder that was lost is lost. */
export function put(disk: Map<string, Buffer | null>, from: string, to: string): void {
  mkdirSync(to, { recursive: true });
  const there = (path: string): boolean => path === from || (disk.get(path) === null && there(dirname(path)));
  const paths = [...disk.keys()].sort();
  for (const path of paths) {
    if (!path.startsWith(from) || !there(dirname(path))) continue;
    const content = disk.get(path) ?? null;
    const target = join(to, path.slice(from.length));
    if (content === null) mkdirSync(target, { recursive: true });
    // after a power cut the process that held a lock is gone; here it is this one, and alive
    else if (path.endsWith('/lock'))
      writeFileSync(target, content.toString().replace(/"pid":\d+/, '"pid":4194305'));
    else writeFileSync(target, content);
  }
}

async function numbersIn(folder: string): Promise<number[]> {
  const out: number[] = [];
  for await (const items of readCapture(join(folder, 'capture.txt')))
    for (const i of items)
      if (i.is === 'record' && i.record.kind === 'rx')
        out.push(Number.parseInt(Buffer.from(i.record.bytes).toString(), 10));
  return out;
}

export interface PowerResult {
  readonly states: number;
  readonly broken: string[];
  /** The longest time, s, before the cut of which records were lost. */
  readonly worstS: number;
}

/** Opens one state as the next start would. @returns what was promised and is not so, or null; and seconds lost */
async function judgeState(
  library: string,
  promised: Recorded['at'][number],
  handedUs: readonly number[],
): Promise<{ wrong: string | null; lostS: number }> {
  const { runs, troubles } = await listRuns(library);
  const [run] = runs;
  if (!promised.started) {
    if (run?.leftOpen) await recoverRun(run.folder);
    return { wrong: null, lostS: 0 };
  }
  if (!run || troubles.length > 0)
    return { wrong: `not listed: ${troubles.map(inWords).join(' ')}`, lostS: 0 };
  if (promised.closed && run.leftOpen) return { wrong: 'closed, yet open again', lostS: 0 };
  if (run.leftOpen) await recoverRun(run.folder);
  const numbers = await numbersIn(run.folder);
  if (numbers.some((n, i) => n !== i)) return { wrong: 'records out of order or missing between', lostS: 0 };
  const firstLost = handedUs[numbers.length];
  const lostS = firstLost === undefined || firstLost > promised.tUs ? 0 : (promised.tUs - firstLost) / 1e6;
  if (lostS > 1) return { wrong: `${lostS} s lost`, lostS };
  await openRecording(run.folder);
  const checked = await check(run.folder);
  if (!checked.ok) return { wrong: checked.items[0]!.remarks.map((r) => english.say(r)).join(' '), lostS };
  return { wrong: null, lostS };
}

/** @param share how many of the states are tried, 0 to 1; which ones is seeded. */
export async function powerLoss(seconds: number, share: number): Promise<PowerResult> {
  const root = mkdtempSync(join(tmpdir(), 'handback-power-'));
  const random = seededRandom('power');
  const broken: string[] = [];
  let states = 0;
  let worstS = 0;
  const kinds = Object.entries(FATES);
  try {
    const real = join(root, 'real');
    mkdirSync(real);
    const recorded = await recordOps(real, seconds);
    const again = join(root, 'again');
    const recovered = await recoveryOps(again, recorded);
    const tryOne = async (
      from: string,
      ops: readonly DiskOp[],
      n: number,
      what: string,
      data: (file: number) => Fate,
      names: Fate,
      promised: Recorded['at'][number],
    ) => {
      if (random.next() >= share) return;
      const to = join(root, `state-${states++}`);
      try {
        put(diskAfter(ops, n, data, names), from, to);
        const { wrong, lostS } = await judgeState(join(to, 'library'), promised, recorded.handedUs);
        worstS = Math.max(worstS, lostS);
        if (wrong) broken.push(`after ${n} of ${ops.length} operations, ${what}: ${wrong}`);
      } catch (thrown) {
        broken.push(`after ${n} of ${ops.length} operations, ${what}: ${String(thrown)}`);
      } finally {
        rmSync(to, { recursive: true, force: true });
      }
    };
    for (const { ops, at, root: from, first } of [recorded, recovered])
      for (let n = first; n <= ops.length; n++) {
        const promised = at[n] ?? at.at(-1)!;
        for (const [dataName, data] of kinds)
          for (const [nameName, names] of kinds.slice(0, 4))
            await tryOne(from, ops, n, `data: ${dataName}, names: ${nameName}`, () => data, names, promised);
        for (let k = 0; k < 4; k++) {
          const mixed = (): Fate => kinds[Math.floor(random.next() * kinds.length)]![1];
          await tryOne(from, ops, n, 'mixed', mixed, mixed(), promised);
        }
      }
  } finally {
    rmSync(root, { recursive: true, force: true });
  }
  return { states, broken, worstS };
}

export async function powerRows(seconds = 4, share = 1): Promise<Row[]> {
  const r = await powerLoss(seconds, share);
  return [
    {
      fault: 'Power cut',
      how: 'every write, sync, rename recorded; after each, the disks that could be left: unsynced parts all there, dropped, torn, zeroed, out of order',
      times: r.states,
      lost: `at most ${r.worstS.toFixed(2)} s; ${r.broken.length} states that could not be opened and recovered`,
      kept: r.broken.length === 0,
    },
  ];
}
