/** Takes the jobs and runs of a library, or a share of them, into a pool: part by part, each judged as it stands. */
import { toldOf } from '../core/errors.ts';
import type { Says } from '../core/says.ts';
import { inShare, type Share } from '../core/share.ts';
import { type Pool, partNames, partOf, type Taken } from '../pool/pool.ts';
import type { Secret } from '../pool/secret.ts';
import type { Case } from '../pool/tables.ts';
import { type PoolCases, type PoolSource, textsOf } from './pool-cases.ts';

export interface Leaving {
  readonly cases: number;
  readonly runs: number;
  /** What a person typed, as it leaves: each once, in order. */
  readonly texts: readonly string[];
}

export function sharedSources(sources: readonly PoolSource[], share: Share): PoolSource[] {
  const parts = partNames();
  return sources.filter((s) => inShare(parts.indexOf(partOf(s.car)), share));
}

export function leavingOf(sources: readonly PoolSource[]): Leaving {
  const texts = new Set(sources.flatMap(textsOf));
  const runs = sources.reduce((n, s) => n + s.runs.length, 0);
  return { cases: sources.length, runs, texts: [...texts].sort() };
}

/** @returns what was taken in, and what could not be read, one sentence each */
export async function takeIn(
  pool: Pool,
  secret: Secret,
  cases: PoolCases,
  sources: readonly PoolSource[],
  progress: (share: number) => void,
): Promise<Taken & { readonly troubles: readonly { readonly folder: string; readonly why: Says }[] }> {
  const troubles: { folder: string; why: Says }[] = [];
  let sum: Taken = { cases: 0, runs: 0, files: 0, unchanged: 0, forgotten: 0 };
  let done = 0;
  for (const part of partNames()) {
    const known = await pool.sources(part);
    const read: Case[] = [];
    for (const source of sources.filter((s) => partOf(s.car) === part)) {
      progress(done++ / sources.length);
      if (known.get(source.caseId) === (await cases.stampOf(source))) {
        sum = { ...sum, unchanged: sum.unchanged + 1 };
        continue;
      }
      // one run that cannot be read does not keep the others out
      try {
        read.push(await cases.caseOf(source));
      } catch (thrown) {
        troubles.push({ folder: source.folder, why: toldOf(thrown) });
      }
    }
    if (read.length === 0) continue;
    const taken = await pool.add(part, read, secret);
    sum = {
      cases: sum.cases + taken.cases,
      runs: sum.runs + taken.runs,
      files: sum.files + taken.files,
      unchanged: sum.unchanged + taken.unchanged,
      forgotten: sum.forgotten + taken.forgotten,
    };
  }
  return { ...sum, troubles };
}
