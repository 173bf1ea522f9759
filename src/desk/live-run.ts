/** The run that is being recorded: its capture, what is known of it so far, and how it ends. */

import { type Observable, Subject, tap } from 'rxjs';
import type { Clock } from '../core/clock.ts';
import { saying } from '../core/error-says.ts';
import { HandbackError } from '../core/errors.ts';
import type { Says } from '../core/says.ts';
import { schedulerOf } from '../core/scheduler.ts';
import type { Sample } from '../core/signals.ts';
import { editMarkIn, type MarkEdits, readMarkEdits, withEdits } from '../job/marks.ts';
import type { VehicleSession } from '../poll/session.ts';
import { MAX_MARKS } from '../run/facts.ts';
import type { OpenRun, RunEnd } from '../run/library.ts';
import { readMeta } from '../run/meta.ts';
import { TwoLinks } from '../run/two-links.ts';
import { spelled } from '../words/spelled.ts';
import type { Spoken } from '../words/views.ts';
import type { MarkEdit, MarkRequest, MarkView, RunState, RunSummary, StreamEvent } from './api.ts';
import { foundKey } from './found.ts';
import type { KeptJudgements } from './kept-judgement.ts';
import { type Heard, liveGraph } from './live.ts';
import type { LiveFindings } from './live-findings.ts';
import { pushNewest } from './newest.ts';
import { RECORDED, SeriesKeeper } from './series-keeper.ts';
import { summaryOf } from './summary.ts';

/** A refused stop that is repeated so soon means it: the run ends without what the disk does not take. */
const STOP_AGAIN_US = 120e6;

export interface LiveRunParts {
  readonly open: OpenRun;
  /** The job it is recorded into. */
  readonly job: string | null;
  readonly clock: Clock;
  /** Hear the capture's lines from its first on. */
  readonly findings: LiveFindings;
  /** Which runs taught what they know; null: none. */
  readonly taught: string | null;
  readonly isListed: boolean;
}

export class LiveRun {
  readonly id: string;
  /** Lies in the library, not in a folder of its own. */
  readonly isListed: boolean;
  /** What a page that comes late draws. */
  readonly columns = new SeriesKeeper(RECORDED);
  /** The newest, as many as a page keeps. */
  readonly spoken: Spoken[] = [];
  readonly #open: OpenRun;
  readonly #job: string | null;
  readonly #clock: Clock;
  readonly #marks: MarkView[] = [];
  readonly #ended = new Subject<void>();
  readonly #findings: LiveFindings;
  readonly #taught: string | null;
  #markEdits: MarkEdits = [];
  #trouble: Says | null = null;
  /** When the disk refused to let it be stopped; by the clock. */
  #refusedUs: number | null = null;

  constructor({ open, job, clock, findings, taught, isListed }: LiveRunParts) {
    this.id = open.id;
    this.isListed = isListed;
    this.#open = open;
    this.#job = job;
    this.#clock = clock;
    this.#findings = findings;
    this.#taught = taught;
  }

  /** Records and judges from now on; whoever subscribes gets what the page is to see. To be called once. */
  begin(session: Pick<VehicleSession, 'beginCapture'>, heard: Heard): Observable<StreamEvent> {
    const { capture } = this.#open;
    const findings = this.#findings;
    const order = new TwoLinks();
    for (const event of session.beginCapture()) {
      capture.wire({ ...event, tUs: capture.startUs });
      order.wire(event.kind);
    }
    if (heard.begun) capture.wire({ ...heard.begun, tUs: capture.startUs });
    const parts = {
      recorder: capture,
      judge: {
        take: (sample: Sample) => findings.take(sample, capture.takes),
        judged: () => findings.judged(),
        view: () => findings.view(),
      },
      columns: this.columns,
      order,
      scheduler: schedulerOf(this.#clock),
      trouble: (what: Says) => {
        this.#trouble ??= what;
      },
    };
    return liveGraph(heard, parts, this.#ended).pipe(
      tap(({ event, data }) => {
        if (event === 'spoken') pushNewest(this.spoken, data);
      }),
    );
  }

  mark({ key, text = '' }: MarkRequest): MarkView {
    if (this.#marks.length >= MAX_MARKS)
      throw new HandbackError('input.usage', saying('error.marks-full', { most: MAX_MARKS }));
    const mark = { tS: this.#open.capture.mark(key, text) / 1e6, key, text };
    this.#marks.push(mark);
    this.#findings.marked(this.#markTexts());
    return mark;
  }

  /** @throws HandbackError input.file, run.write */
  async editMark(edit: MarkEdit): Promise<void> {
    await editMarkIn(this.#open.folder, edit);
    this.#markEdits = await readMarkEdits(this.#open.folder);
    this.#findings.marked(this.#markTexts());
  }

  #markTexts(): string[] {
    return withEdits(this.#marks, this.#markEdits).map((m) => m.text);
  }

  /**
   * A disk that refuses is said once, and recording goes on in memory; stopped again, the run ends with what is there.
   * @throws HandbackError run.write the first time
   */
  async stop(end: RunEnd): Promise<RunSummary> {
    const { meta, missing } = await this.#open.close(end).then(
      (closed) => ({ meta: closed, missing: null }),
      (thrown: unknown) => {
        const nowUs = this.#clock.nowUs();
        if (this.#refusedUs !== null && nowUs - this.#refusedUs < STOP_AGAIN_US)
          return this.#open.giveUp(end);
        this.#refusedUs = nowUs;
        throw thrown instanceof HandbackError && thrown.code === 'run.write'
          ? new HandbackError('run.write', thrown.told.message, {
              hint: saying('error.still-recording-hint'),
              cause: thrown,
            })
          : thrown;
      },
    );
    this.#ended.next();
    return { ...summaryOf(meta, this.#job), ...(missing === null ? {} : spelled({ missing })) };
  }

  /** Leaves beside the run, which has ended, what was found while it was recorded; where that may not be what the capture gives, nothing. */
  async keep(kept: KeptJudgements): Promise<void> {
    const { folder } = this.#open;
    if (this.#trouble !== null) return;
    try {
      const meta = await readMeta(folder);
      if (meta.sha256 === null || meta.recovered) return;
      const said = { edits: await readMarkEdits(folder), answers: [] };
      const found = this.#findings.finish(meta.id, said);
      if (found === null) return;
      await kept.write(folder, foundKey(meta, meta.sha256, this.#taught, said), found, meta.sha256, null);
    } catch {
      // the capture is read
    }
  }

  state(): RunState {
    const { capture, meta } = this.#open;
    return {
      id: this.id,
      job: this.#job,
      purpose: meta.purpose,
      startedAt: meta.startedAt,
      seconds: capture.seconds,
      samples: this.columns.count,
      marks: withEdits(this.#marks, this.#markEdits),
      ...spelled({ trouble: capture.trouble ?? this.#trouble }),
    };
  }
}
