/** What `handback judge` does with one recording, in the program's own thread or, of many, beside others. */
import { basename, resolve } from 'node:path';
import { type Baseline, besideKind, judgeTable } from '../analysis/judge.ts';
import type { Judgement } from '../analysis/types.ts';
import type { Profile } from '../core/profile.ts';
import type { Says } from '../core/says.ts';
import type { Share } from '../core/share.ts';
import { OpenedRuns } from '../desk/opened-runs.ts';
import type { ImportOptions } from '../run/import/builder.ts';
import type { Stated } from '../run/import/stated.ts';
import { inThread } from '../run/threads.ts';
import type { During } from '../run/types.ts';
import { spelled } from '../words/spelled.ts';
import { readBaselines, readKind } from './inputs.ts';
import type { Io } from './io.ts';
import { digestOf, JudgedApart, type Placed } from './judged-apart.ts';

/** The same for every recording of a call. */
export interface JudgeAsked {
  /** Instead of what the recordings bring. */
  readonly profile: Profile | null;
  readonly stated: Stated;
  readonly table: ImportOptions;
  readonly baseline: readonly string[];
  readonly kind: readonly string[];
  /** Files instead of answers; absent where they are printed. */
  readonly out: { readonly folder: string; readonly share: Share; readonly given: unknown } | null;
}

export interface PartSaid {
  readonly number: number;
  readonly of: number;
  readonly startsAtS: number;
}

export interface JudgedOne {
  readonly warnings: readonly Says[];
  /** What was said of the drives that teach, once for each profile. */
  readonly taught: { readonly by: string; readonly said: readonly (string | Says)[] } | null;
  /** Of each part; none where they went into a file. */
  readonly judged: readonly { readonly judgement: Judgement; readonly part: PartSaid | null }[];
  readonly faulty: boolean;
  /** Null where they are printed. */
  readonly placed: Placed | null;
}

const NO_PROFILE: Profile = {};
const opened = OpenedRuns.beside();

/** What is kept of a run judged by itself; null where it is to be judged, or is asked for otherwise. */
async function keptOf(path: string, { profile, baseline, kind }: JudgeAsked) {
  if (profile !== null || baseline.length > 0 || kind.length > 0) return null;
  const entry = await opened.recorded.entryAt(path);
  return entry && opened.judgedAlone(entry);
}

/** Whether a run's answer is there without reading its capture. */
export async function isKept(path: string, asked: JudgeAsked): Promise<boolean> {
  return (await keptOf(path, asked)) !== null;
}

export class JudgeOne {
  readonly #asked: JudgeAsked;
  readonly #io: Pick<Io, 'progress' | 'progressDone' | 'during'>;
  readonly #apart: JudgedApart | null;
  readonly #taught = new Map<string, { baseline: Baseline | null; said: (string | Says)[] }>();

  /** @param io shows how far learning is */
  constructor(asked: JudgeAsked, io: Pick<Io, 'progress' | 'progressDone' | 'during'>) {
    this.#asked = asked;
    this.#io = io;
    this.#apart = asked.out && new JudgedApart(asked.out.folder, asked.out.share, asked.out.given);
  }

  /**
   * @param content its digest where that is known
   * @throws HandbackError input.*, run.write; the signal's reason
   */
  async judge({ path, content }: Pick<JudgeTask, 'path' | 'content'>, during: During): Promise<JudgedOne> {
    const place = (await this.#apart?.placeOf(content ?? (await digestOf(path)))) ?? null;
    const nothing = { warnings: [], taught: null, judged: [], faulty: false };
    if (place === 'there' || place === 'others') return { ...nothing, placed: place };
    const name = place === null ? path : basename(resolve(path));
    const kept = await keptOf(path, this.#asked);
    if (kept) {
      const judgement = { ...kept.judgement, path: name };
      return this.#concluded(place, kept.facts.warnings, null, [{ judgement, part: null }]);
    }
    const recording = await opened.recorded.inParts(path, this.#asked.table, during);
    const profile = this.#asked.profile ?? recording.profile ?? NO_PROFILE;
    const by = JSON.stringify(profile);
    const { baseline, said } = await this.#taughtUnder(by, profile);
    const marks = recording.marks.map((m) => m.text);
    const { parts } = recording;
    const judged = parts.map(({ table, startsAtS }, k) => ({
      judgement: judgeTable(table, profile, baseline, name, marks),
      part: parts.length === 1 ? null : { number: k + 1, of: parts.length, startsAtS },
    }));
    return this.#concluded(place, recording.warnings, { by, said }, judged);
  }

  async #concluded(
    place: { readonly file: string } | null,
    warnings: JudgedOne['warnings'],
    taught: JudgedOne['taught'],
    judged: JudgedOne['judged'],
  ): Promise<JudgedOne> {
    if (place !== null) await this.#apart!.write(place.file, judged.map(jsonOf));
    return {
      warnings,
      taught,
      judged: place === null ? judged : [],
      faulty: judged.some((j) => j.judgement.findings.some((f) => f.verdict === 'fault shown')),
      placed: place && 'judged',
    };
  }

  async #taughtUnder(by: string, profile: Profile) {
    const before = this.#taught.get(by);
    if (before) return before;
    const said: (string | Says)[] = [];
    const io = { ...this.#io, say: (line: string | Says) => void said.push(line) };
    const { stated, baseline, kind } = this.#asked;
    const own = await readBaselines(baseline, profile, stated, io);
    const learned = { baseline: besideKind(own, await readKind(kind, profile, stated, io)), said };
    this.#taught.set(by, learned);
    return learned;
  }
}

export function jsonOf({ judgement, part }: JudgedOne['judged'][number]): object {
  const json = spelled(judgement);
  return part === null ? json : { ...json, part };
}

export interface JudgeTask {
  readonly asked: JudgeAsked;
  readonly path: string;
  /** Null: to be found out where it is needed. */
  readonly content: string | null;
}

const silent = (during: During) => ({
  progress: () => undefined,
  progressDone: () => undefined,
  during: () => ({ ...during, progress: () => undefined }),
});
/** What the drives teach is learned once a thread; all its tasks are of one call. */
let one: JudgeOne | null = null;

export default inThread((task: JudgeTask, during): Promise<JudgedOne> => {
  one ??= new JudgeOne(task.asked, silent(during));
  return one.judge(task, during);
});
