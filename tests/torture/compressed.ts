/** Captures being compressed while the power goes, and compressed ones altered. */
import { cpSync, existsSync, mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { basename, dirname, join, resolve } from 'node:path';
import { seededRandom } from '../../src/core/random.ts';
import { check } from '../../src/run/check.ts';
import { compressRun } from '../../src/run/compress.ts';
import { CAPTURE_FILE, COMPRESSED_FILE, captureOf } from '../../src/run/meta.ts';
import { openRecording } from '../../src/run/recording.ts';
import { unpacked } from '../../src/run/unpack.ts';
import { altered } from './caches.ts';
import { type DiskOp, FsTap } from './fs-tap.ts';
import { digestOfDisk, diskAfter, FATES, put } from './power.ts';
import type { Row } from './row.ts';

export const IN_FULL = { signal: new AbortController().signal, progress: () => undefined };
const ROOT = resolve(import.meta.dirname, '../..');
/** One of several members, and one of a single small one. */
export const LONG_RUN = join(ROOT, 'captures', 'clutch-never-closes');
export const SHORT_RUN = join(ROOT, 'captures', 'conformance', 'at-can11');

export async function plainOf(folder: string): Promise<Buffer> {
  const parts: Uint8Array[] = [];
  for await (const chunk of unpacked((await captureOf(folder))!)) parts.push(chunk);
  return Buffer.concat(parts);
}

/** Every disk that a power cut could leave while a run is compressed: whole before the next look, and after it. */
export async function compressedInPowerCuts(from: string): Promise<{ states: number; broken: string[] }> {
  const home = mkdtempSync(join(tmpdir(), 'handback-compress-'));
  try {
    const real = join(home, 'real');
    const run = join(real, 'run');
    cpSync(from, run, { recursive: true });
    const evidence = readFileSync(join(run, CAPTURE_FILE));
    const tap = new FsTap();
    const before: DiskOp[] = [{ op: 'mkdir', path: run }];
    for (const name of readdirSync(run)) {
      const [path, file] = [join(run, name), tap.know(join(run, name))];
      before.push({ op: 'create', path, file }, { op: 'write', file, at: 0, bytes: readFileSync(path) });
      before.push({ op: 'sync', file });
    }
    before.push({ op: 'sync folder', path: run }, { op: 'sync folder', path: dirname(run) });
    tap.install();
    try {
      await compressRun(run, IN_FULL);
    } finally {
      tap.uninstall();
    }
    const ops = [...before, ...tap.ops];
    const broken: string[] = [];
    let states = 0;
    const known = new Set<string>();
    for (let n = before.length; n <= ops.length; n++)
      for (const [dataName, data] of Object.entries(FATES))
        for (const [namesName, names] of Object.entries(FATES).slice(0, 4)) {
          const left = join(home, `state-${states++}`);
          const disk = diskAfter(ops, n, () => data, names);
          const digest = digestOfDisk(disk);
          if (known.has(digest)) continue; // many cuts leave the same disk
          known.add(digest);
          put(disk, real, left);
          const wrong = await wrongWith(join(left, 'run'), evidence).catch(String);
          if (wrong)
            broken.push(`after ${n} of ${ops.length}, data ${dataName}, names ${namesName}: ${wrong}`);
          rmSync(left, { recursive: true, force: true });
        }
    return { states, broken };
  } finally {
    rmSync(home, { recursive: true, force: true });
  }
}

async function wrongWith(run: string, evidence: Buffer): Promise<string | null> {
  if (!(await check(run)).ok || !(await plainOf(run)).equals(evidence)) return 'not whole as it was left';
  await compressRun(run, IN_FULL);
  if (!(await check(run)).ok || !(await plainOf(run)).equals(evidence)) return 'not whole afterwards';
  const files = readdirSync(run).filter((name) => name.startsWith('capture'));
  return files.join() === COMPRESSED_FILE ? null : `there are ${files.join(' ')}`;
}

export interface Alterations {
  readonly tried: number;
  /** The plain bytes came out as they were recorded: gzip has bits that mean nothing. */
  readonly harmless: number;
  /** Other bytes came out, and `check` had nothing to say. */
  readonly believed: number;
  /** Opening it failed, in place of a warning and what could be read. */
  readonly notOpened: number;
}

/** @param open also opens the run each time, which takes longer */
export async function alterCompressed(
  from: string,
  times: number,
  open: boolean,
  seed = 11,
): Promise<Alterations> {
  const home = mkdtempSync(join(tmpdir(), 'handback-altered-'));
  try {
    const run = join(home, basename(from));
    cpSync(from, run, { recursive: true });
    const evidence = readFileSync(join(run, CAPTURE_FILE));
    await compressRun(run, IN_FULL);
    if (existsSync(join(run, CAPTURE_FILE))) throw new Error('it was not compressed');
    const file = join(run, COMPRESSED_FILE);
    const whole = readFileSync(file);
    const random = seededRandom(seed);
    const counts = { tried: 0, harmless: 0, believed: 0, notOpened: 0 };
    for (let i = 0; i < times; i++) {
      const spoilt = altered(whole, random);
      if (spoilt.equals(whole)) continue;
      writeFileSync(file, spoilt);
      counts.tried++;
      if ((await check(run)).ok) {
        if ((await plainOf(run)).equals(evidence)) counts.harmless++;
        else counts.believed++;
      } else if (open)
        await openRecording(run).then(
          ({ warnings }) => {
            if (warnings.length === 0) counts.believed++;
          },
          () => counts.notOpened++,
        );
    }
    return counts;
  } finally {
    rmSync(home, { recursive: true, force: true });
  }
}

export async function compressedRows(times = 20_000): Promise<Row[]> {
  const power = await compressedInPowerCuts(LONG_RUN);
  const [long, short] = [
    await alterCompressed(LONG_RUN, times / 10, true),
    await alterCompressed(SHORT_RUN, times, true),
  ];
  const sum = (of: keyof Alterations) => long[of] + short[of];
  return [
    {
      fault: 'Power cut while the capture of an ended run is compressed',
      how: 'every write, sync, rename, removal recorded; after each, the disks that could be left; opened, and compressed again',
      times: power.states,
      lost: `nothing; ${power.broken.length} states in which neither file was whole`,
      kept: power.broken.length === 0,
    },
    {
      fault: 'A compressed capture altered',
      how: 'bits and stretches changed, removed, doubled, cut off or added, at random places; `check`, opened',
      times: sum('tried'),
      lost: `nothing is believed that was not recorded: ${sum('believed')}; ${sum('notOpened')} could not be opened; ${sum('harmless')} changed nothing that came out, the others were all noticed`,
      kept: sum('believed') + sum('notOpened') === 0,
    },
  ];
}
