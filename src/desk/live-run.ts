/** The run that is being recorded: its capture, what is known of it so far, and how it ends. */

import { type Observable, Subject, tap } from 'rxjs';
import { type Baseline, Judge } from '../analysis/judge.ts';
import type { Clock } from '../core/clock.ts';
import { saying } from '../core/error-says.ts';
import { HandbackError } from '../core/errors.ts';
import type { Says } from '../core/says.ts';
import { schedulerOf } from '../core/scheduler.ts';
import { editMarkIn, type MarkEdits, readMarkEdits, withEdits } from '../job/marks.ts';
import type { VehicleSession } from '../poll/session.ts';
import type { OpenRun, RunEnd } from '../run/library.ts';
import { MAX_MARKS } from '../run/recording.ts';
import { TwoLinks } from '../run/two-links.ts';
import { spelled } from '../words/spelled.ts';
import type { Spoken } from '../words/views.ts';
import type { MarkEdit, MarkRequest, MarkView, RunState, RunSummary, StreamEvent } from './api.ts';
import { type Heard, liveGraph } from './live.ts';
import { pushNewest } from './newest.ts';
import { RECORDED, SeriesKeeper } from './series-keeper.ts';
import { summaryOf } from './summary.ts';

/** A refused stop that is repeated so soon means it: the run ends without what the disk does not take. */
const STOP_AGAIN_US = 120e6;

export class LiveRun {
  readonly id: string;
  /** What a page that comes late draws. */
  readonly columns = new SeriesKeeper(RECORDED);
  /** The newest, as many as a page keeps. */
  readonly spoken: Spoken[] = [];
  readonly #open: OpenRun;
  readonly #job: string | null;
  readonly #clock: Clock;
  readonly #marks: MarkView[] = [];
  readonly #ended = new Subject<void>();
  #judge: Judge | null = null;
  #markEdits: MarkEdits = [];
  #trouble: Says | null = null;
  /** When the disk refused to let it be stopped; by the clock. */
  #refusedUs: number | null = null;

  /** @param job the job it is recorded into */
  constructor(open: OpenRun, job: string | null, clock: Clock) {
    this.id = open.id;
    this.#open = open;
    this.#job = job;
    this.#clock = clock;
  }

  /** Records and judges from now on; whoever subscribes gets what the page is to see. To be called once. */
  begin(
    session: Pick<VehicleSession, 'beginCapture'>,
    heard: Heard,
    baseline: Baseline | null,
  ): Observable<StreamEvent> {
    const { capture, meta } = this.#open;
    const order = new TwoLinks();
    for (const event of session.beginCapture()) {
      capture.wire({ ...event, tUs: capture.startUs });
      order.wire(event.kind);
    }
    if (heard.begun) capture.wire({ ...heard.begun, tUs: capture.startUs });
    const judge = new Judge(meta.profile ?? {}, baseline);
    this.#judge = judge;
    const parts = {
      recorder: capture,
      judge,
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
    this.#judge?.marked(this.#markTexts());
    return mark;
  }

  /** @throws HandbackError input.file, run.write */
  async editMark(edit: MarkEdit): Promise<void> {
    await editMarkIn(this.#open.folder, edit);
    this.#markEdits = await readMarkEdits(this.#open.folder);
    this.#judge?.marked(this.#markTexts());
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
