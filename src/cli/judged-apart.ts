/**
 * Judging that many computers share: each recording's judgement is a file of its own, named after what it was made
 * from, and whose share it is follows from its content. So nobody hands work out, and what was interrupted is done again.
 */

import { createHash } from 'node:crypto';
import { readFile, stat } from 'node:fs/promises';
import { join } from 'node:path';
import { saying } from '../core/error-says.ts';
import { HandbackError } from '../core/errors.ts';
import { inShare, type Share } from '../core/share.ts';
import { keyOf } from '../desk/kept-judgement.ts';
import { exists } from '../run/document.ts';
import { sha256OfFile } from '../run/hash.ts';
import { listRuns } from '../run/library.ts';
import { captureOf, META_FILE, makeFolder, replaceFile } from '../run/meta.ts';
import { plainDigest } from '../run/unpack.ts';

/** More than anybody has computers. */
export const MOST_SHARES = 10_000;

/** Folders of runs or jobs as the ended runs in them; everything else as it is. In order, each once. */
export async function recordingsIn(paths: readonly string[]): Promise<string[]> {
  const out: string[] = [];
  for (const path of paths) {
    const info = await stat(path).catch(() => null);
    if (!info?.isDirectory() || (await exists(join(path, META_FILE))) || (await captureOf(path)) !== null)
      out.push(path);
    else out.push(...(await listRuns(path)).runs.filter((r) => r.meta.sha256 !== null).map((r) => r.folder));
  }
  return [...new Set(out)].sort();
}

/** What became of a recording: judged now, in its file before, or another share's. */
export type Placed = 'judged' | 'there' | 'others';

export class JudgedApart {
  readonly #folder: string;
  readonly #share: Share;
  /** Profile, baselines, units: what is the same for every recording of the call. */
  readonly #given: unknown;

  constructor(folder: string, share: Share, given: unknown) {
    this.#folder = folder;
    this.#share = share;
    this.#given = given;
  }

  /** Where the judgement of that content goes (`digestOf`). */
  async placeOf(content: string): Promise<{ readonly file: string } | 'there' | 'others'> {
    if (!inShare(Number.parseInt(content.slice(0, 8), 16), this.#share)) return 'others';
    const file = join(this.#folder, `${keyOf([content, this.#given]).slice(0, 32)}.json`);
    return (await exists(file)) ? 'there' : { file };
  }

  /** Whole or not at all. @throws HandbackError run.write */
  async write(file: string, judgements: readonly unknown[]): Promise<void> {
    await makeFolder(this.#folder);
    await replaceFile(file, judgements.map((j) => `${JSON.stringify(j)}\n`).join(''));
  }
}

/** Of a run folder: of run.json, which holds the profile, and the capture. @throws HandbackError input.file */
export async function digestOf(path: string): Promise<string> {
  if (!(await exists(path))) throw new HandbackError('input.file', saying('error.no-file', { path }));
  if (!(await stat(path)).isDirectory()) return sha256OfFile(path);
  const meta = await readFile(join(path, META_FILE)).catch(() => '');
  const file = await captureOf(path);
  // the same whether it is compressed or not
  const capture = file === null ? '' : await plainDigest(file).catch(() => '');
  return createHash('sha256').update(meta).update(capture).digest('hex');
}
