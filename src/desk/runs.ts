/** Ended runs of the library as the page sees them: judged with what earlier runs of their job teach, compared. */
import { jobOfRun } from '../job/library.ts';
import { editMarkIn, readMarkEdits, withEdits } from '../job/marks.ts';
import { findRun, listRuns, type RunEntry } from '../run/library.ts';
import { simSpeedupOf } from '../sim/demos.ts';
import { spelled } from '../words/spelled.ts';
import type { Comparison } from '../words/views.ts';
import type { CompareRequest, MarkEdit, RunSummary, RunView, SeriesView } from './api.ts';
import { ComparedRuns } from './compared-runs.ts';
import { summaryOf } from './jobs.ts';
import type { OpenedRun, OpenedRuns } from './opened-runs.ts';
import type { Teaching } from './teaching.ts';

export class RunDesk {
  readonly #library: string;
  readonly #opened: OpenedRuns;
  readonly #teaching: Teaching;
  readonly #compared: ComparedRuns;

  constructor(library: string, opened: OpenedRuns, teaching: Teaching) {
    this.#library = library;
    this.#opened = opened;
    this.#teaching = teaching;
    this.#compared = new ComparedRuns(library);
  }

  async list(): Promise<readonly RunSummary[]> {
    const { runs } = await listRuns(this.#library);
    return Promise.all(runs.map((run) => this.#summary(run)));
  }

  async view(id: string): Promise<RunView> {
    const entry = await findRun(this.#library, id);
    const { facts, judgement, expected, corridor, map } = await this.#open(entry);
    const marks = facts.marks.map((m) => ({ tS: m.tUs / 1e6, key: m.key, text: m.text }));
    return {
      summary: await this.#summary(entry),
      judgement: spelled(judgement),
      marks: withEdits(marks, await readMarkEdits(entry.folder)),
      gaps: facts.gaps.map((g) => ({ fromS: g.fromUs / 1e6, toS: g.toUs / 1e6, why: g.why })),
      warnings: facts.warnings,
      expected,
      corridor,
      map,
      speedup: simSpeedupOf(entry.meta.link),
    };
  }

  async series(id: string, points: number, fromS?: number, toS?: number): Promise<SeriesView> {
    const { columns } = await this.#open(await findRun(this.#library, id));
    return columns.series(points, fromS, toS);
  }

  /** @throws HandbackError input.file, run.write */
  async editMark(id: string, edit: MarkEdit): Promise<void> {
    await editMarkIn((await findRun(this.#library, id)).folder, edit);
  }

  async compare(request: CompareRequest): Promise<Comparison> {
    return spelled(await this.#compared.compare(request));
  }

  async #open(entry: RunEntry): Promise<OpenedRun> {
    return this.#opened.open(entry, await this.#teaching.before(entry));
  }

  async #summary(entry: RunEntry): Promise<RunSummary> {
    return summaryOf(entry.meta, await jobOfRun(this.#library, entry.folder));
  }
}
