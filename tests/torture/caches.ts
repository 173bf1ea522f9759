/** What is kept beside an ended run (`judgement.json`, `samples.parquet`, `compared.sealed`) and the index of a library, altered: none of it may be believed. */
import { cpSync, mkdirSync, mkdtempSync, readFileSync, rmSync, statSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join, resolve } from 'node:path';
import { type Random, seededRandom } from '../../src/core/random.ts';
import { KeptJudgements } from '../../src/desk/kept-judgement.ts';
import { OpenedRuns } from '../../src/desk/opened-runs.ts';
import { listRuns } from '../../src/run/library.ts';
import { bringUpToDate } from '../../src/run/library-format.ts';
import {
  COMPARED_FILE,
  JUDGEMENT_FILE,
  META_FILE,
  type RunMeta,
  readMeta,
  SAMPLES_FILE,
} from '../../src/run/meta.ts';
import { ReadDocuments } from '../../src/run/read-documents.ts';
import type { Row } from './row.ts';

const CAPTURE = join(resolve(import.meta.dirname, '../..'), 'captures', 'clutch-never-closes');

/** @returns how many alterations were tried, and how many of them were believed */
export async function alterCaches(times: number, seed = 7): Promise<{ tried: number; believed: number }> {
  const home = mkdtempSync(join(tmpdir(), 'handback-caches-'));
  try {
    const folder = join(home, 'library', 'run');
    cpSync(CAPTURE, folder, { recursive: true });
    const entry = (await listRuns(join(home, 'library'))).runs[0]!;
    const kept = new KeptJudgements(join(home, 'settings'));
    await new OpenedRuns(kept).open(entry);
    const files = [JUDGEMENT_FILE, SAMPLES_FILE, COMPARED_FILE].map((f) => join(folder, f));
    const key = /"entries":\[\{"key":"(\w+)"/.exec(readFileSync(files[0]!, 'utf8'))![1]!;
    await kept.writeAside(folder, COMPARED_FILE, key, (await kept.read(folder, key))!);
    // The values are believed by what is beside the judgement: an altered judgement takes both away.
    const told = async () => [
      await kept.read(folder, key),
      await kept.decoded(folder, entry.meta.sha256!),
      await kept.readAside(folder, COMPARED_FILE, key),
    ];
    const takenAway = [[0, 1], [1], [2]] as const;
    if ((await told()).includes(null)) throw new Error('nothing was kept');
    const random = seededRandom(seed);
    let tried = 0;
    let believed = 0;
    for (let i = 0; i < times; i++) {
      const k = i % files.length;
      const file = files[k]!;
      const bytes = readFileSync(file);
      const spoilt = altered(bytes, random);
      if (spoilt.equals(bytes)) continue;
      writeFileSync(file, spoilt);
      tried++;
      const now = await told();
      if (takenAway[k]!.some((n) => now[n] !== null)) believed++;
      writeFileSync(file, bytes);
    }
    return { tried, believed };
  } finally {
    rmSync(home, { recursive: true, force: true });
  }
}

/** The same of a library's index: how often a list was not read from the files. */
export async function alterIndex(times: number, seed = 5): Promise<{ tried: number; believed: number }> {
  const home = mkdtempSync(join(tmpdir(), 'handback-index-'));
  try {
    const library = join(home, 'library');
    const folders = Array.from({ length: 20 }, (_, i) => join(library, `run-${i}`));
    for (const folder of folders) {
      mkdirSync(folder, { recursive: true });
      cpSync(join(CAPTURE, META_FILE), join(folder, META_FILE));
    }
    await bringUpToDate(library);
    /** Of a program that starts now. */
    const read = async (asked: readonly string[]) => {
      let reads = 0;
      const of = (folder: string) => {
        reads++;
        return readMeta(folder);
      };
      const documents = new ReadDocuments<RunMeta>(of, 'runs.index', join(home, 'settings'));
      await documents.open(library);
      for (const folder of asked) await documents.in(folder, META_FILE);
      return { documents, reads };
    };
    // an index holds files whose times are old enough to be told apart
    while (statSync(join(folders.at(-1)!, META_FILE)).ctimeMs > Date.now() - 2500)
      await new Promise((done) => setTimeout(done, 100));
    await (await read(folders)).documents.leave(library, folders);
    if ((await read(folders)).reads > 0) throw new Error('nothing was kept');
    const file = join(library, 'runs.index');
    const whole = readFileSync(file);
    const random = seededRandom(seed);
    let tried = 0;
    let believed = 0;
    for (let i = 0; i < times; i++) {
      const spoilt = altered(whole, random);
      if (spoilt.equals(whole)) continue;
      writeFileSync(file, spoilt);
      tried++;
      if ((await read([folders[i % folders.length]!])).reads === 0) believed++;
    }
    return { tried, believed };
  } finally {
    rmSync(home, { recursive: true, force: true });
  }
}

/** A bit or a stretch changed, removed or doubled; the end cut off, or something put behind it. */
export function altered(whole: Buffer, random: Random): Buffer {
  const at = Math.floor(random.between(0, whole.length));
  const n = 1 + Math.floor(random.between(0, 40));
  const piece = whole.subarray(at, at + n);
  switch (Math.floor(random.between(0, 6))) {
    case 0:
      return Buffer.from(whole).fill(whole[at]! ^ (1 << Math.floor(random.between(0, 8))), at, at + 1);
    case 1:
      return Buffer.concat([whole.subarray(0, at), whole.subarray(at + n)]);
    case 2:
      return Buffer.concat([whole.subarray(0, at), piece, whole.subarray(at)]);
    case 3:
      return whole.subarray(0, at);
    case 4:
      return Buffer.concat([whole, piece]);
    default:
      return Buffer.from(whole).fill(Math.floor(random.between(0, 256)), at, at + piece.length);
  }
}

export async function cacheRows(times = 30_000): Promise<Row[]> {
  const { tried, believed } = await alterCaches(times);
  const index = await alterIndex(times);
  return [
    {
      fault: 'The judgement, the decoded values or what a comparison took, kept beside an ended run, altered',
      how: 'bits and stretches changed, removed, doubled, cut off or added, at random places of the files',
      times: tried,
      lost: `nothing: they are made again from the capture; ${believed} believed`,
      kept: believed === 0,
    },
    {
      fault: 'The index of a library altered',
      how: 'bits and stretches changed, removed, doubled, cut off or added, at random places',
      times: index.tried,
      lost: `nothing: the files are read; ${index.believed} believed`,
      kept: index.believed === 0,
    },
  ];
}
