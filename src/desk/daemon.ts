/**
 * The one place where parts are put together: the connection, the run being recorded, the library. `serve` and `record`
 * both run on it. It decides nothing about cars.
 */

import { availableParallelism } from 'node:os';
import { interval, merge, Subject, takeUntil } from 'rxjs';
import { dialectTitles } from '../adapter/dialects.ts';
import type { Clock } from '../core/clock.ts';
import { saying } from '../core/error-says.ts';
import { HandbackError } from '../core/errors.ts';
import type { Says } from '../core/says.ts';
import { schedulerOf } from '../core/scheduler.ts';
import { VERSION } from '../core/version.ts';
import { editMarkIn } from '../job/marks.ts';
import { listPorts } from '../link/ports.ts';
import type { LinkCounters } from '../poll/counters.ts';
import type { VehicleSession } from '../poll/session.ts';
import { findRun, type NewRun } from '../run/library.ts';
import { SIM_DEMOS } from '../sim/demos.ts';
import { spelled } from '../words/spelled.ts';
import type { Comparison, Spoken } from '../words/views.ts';
import type {
  CompareRequest,
  ConnectRequest,
  DaemonApi,
  DaemonState,
  MarkEdit,
  MarkRequest,
  MarkView,
  PortView,
  ReceiverRequest,
  RunState,
  RunSummary,
  RunView,
  SeriesPart,
  SeriesRange,
  SeriesView,
  StartRunRequest,
  StreamEvent,
  StreamEvents,
  UnderWay,
} from './api.ts';
import { Connection, type ConnectionOptions } from './connection.ts';
import { JobDesk, type RunContext } from './jobs.ts';
import { JudgedAgain } from './judged-again.ts';
import { KeptJudgements } from './kept-judgement.ts';
import { KindDesk } from './kinds.ts';
import { LibraryHold } from './library-hold.ts';
import type { LiveRun } from './live-run.ts';
import { heardOn, newRun, runEndOf } from './new-run.ts';
import type { PracticeMaker } from './practice-desk.ts';
import { QuietWork } from './quiet-work.ts';
import { ReadingRoom } from './reading-room.ts';
import { ReceiverDesk } from './receiver-desk.ts';
import { sheetStamp } from './sheet-stamp.ts';
import type { SheetRequest } from './stored-runs.ts';
import { summariesIn } from './summary.ts';
import type { Written } from './written.ts';

const STATE_EVERY_MS = 1000;
const LIBRARY_EVERY_MS = 5000;

export interface DaemonOptions extends ConnectionOptions {
  readonly clock: Clock;
  /** Folder that holds the runs. */
  readonly library: string;
  /** Drives the practice jobs and puts them into the library; absent where that is not offered. */
  readonly makePractice?: PracticeMaker;
  /** Keeps what was found out about runs beside them, and captures of ended ones compressed; absent: a library is read and nothing is added to it. */
  readonly keepJudged?: boolean;
  /** For tests: a computer that sleeps. */
  readonly sinceBootMs?: () => number;
}

export class Daemon implements DaemonApi {
  readonly jobs: JobDesk;
  readonly kinds: KindDesk;
  readonly #o: DaemonOptions;
  readonly #hold: LibraryHold;
  readonly #connection: Connection;
  readonly #receiver: ReceiverDesk;
  readonly #room: ReadingRoom;
  readonly #quiet: QuietWork;
  readonly #kept = new KeptJudgements();
  readonly #events = new Subject<StreamEvent>();
  readonly #end = new Subject<void>();
  #run: LiveRun | null = null;
  /** From the request on: what a run learns from others may take seconds, and nothing else begins meanwhile. */
  #starting = false;
  #stopping: Promise<RunSummary> | null = null;
  #closed = false;

  constructor(options: DaemonOptions) {
    const { clock, library } = options;
    const isBusy = (): boolean => this.#run !== null || this.#starting;
    this.#o = options;
    this.#hold = new LibraryHold(library);
    this.#connection = new Connection(clock, isBusy, options);
    this.#receiver = new ReceiverDesk(clock);
    this.#room = new ReadingRoom({
      library,
      keep: options.keepJudged ?? false,
      threads: () => (isBusy() ? 1 : availableParallelism()),
    });
    this.kinds = new KindDesk(library, this.#room);
    this.jobs = new JobDesk({
      ...options,
      room: this.#room,
      takeLibrary: () => this.#hold.take(),
      runsCame: () => this.#runsCame(),
      looked: () => this.#looked(),
      session: () => this.session,
    });
    const again = new JudgedAgain(this.#room);
    this.#quiet = new QuietWork({
      clock,
      end$: this.#end,
      isQuiet: () => !isBusy() && this.#room.isQuiet,
      work: async (signal) => {
        await this.#hold.take();
        await this.#room.askQuietly('index', [], signal);
        await this.#room.askQuietly('compress', [], signal);
        await again.work(signal);
      },
    });
    merge(this.#connection.changed$, interval(STATE_EVERY_MS, schedulerOf(clock)))
      .pipe(takeUntil(this.#end))
      .subscribe(() => this.#sayState());
    interval(LIBRARY_EVERY_MS, schedulerOf(clock))
      .pipe(takeUntil(this.#end))
      .subscribe(() => void this.#hold.tryAgain());
  }

  /**
   * Takes the library for this daemon alone and closes runs that a crash left open.
   * @returns one sentence for each thing worth saying
   * @throws HandbackError run.busy when another daemon holds the library
   */
  async open(): Promise<Says[]> {
    const said = await this.#hold.open();
    this.#runsCame();
    return said;
  }

  state(): DaemonState {
    return {
      version: VERSION,
      ...spelled({ readOnly: this.#hold.readOnly }),
      connection: this.#connection.view(),
      receiver: this.#receiver.view(),
      run: this.#run?.state() ?? null,
      demos: spelled(SIM_DEMOS),
      dialects: spelled(dialectTitles()),
    };
  }

  subscribe(listener: <K extends keyof StreamEvents>(event: K, data: StreamEvents[K]) => void): () => void {
    const subscription = this.#events.subscribe(({ event, data }) => listener(event, data));
    return () => subscription.unsubscribe();
  }

  async ports(): Promise<readonly PortView[]> {
    return (await listPorts()).ports;
  }

  /** @throws HandbackError link.*, adapter.*, vehicle.silent, input.usage, run.busy */
  connect(request: ConnectRequest): Promise<void> {
    return this.#connection.connect(request, this.#receiver.port);
  }

  /** @throws HandbackError input.usage, run.busy: the kind of capture is settled when a run begins */
  async useReceiver({ port }: ReceiverRequest): Promise<void> {
    if (this.#run || this.#starting)
      throw new HandbackError('run.busy', saying('error.recording'), { hint: saying('error.stop-first') });
    await this.#receiver.use(port, (name) => this.#connection.receiverOn(name));
    this.#sayState();
  }

  /** @throws HandbackError run.busy */
  disconnect(): Promise<void> {
    return this.#connection.disconnect();
  }

  /** The session for snapshots; requests go through its gate. @throws HandbackError link.lost */
  get session(): VehicleSession {
    return this.#connection.now.session;
  }

  /** Null when nothing is connected. */
  counters(): LinkCounters | null {
    return this.#connection.counters();
  }

  /** What was said on the wire since the last connect; empty before the first. */
  transcript(): readonly string[] {
    return this.#connection.transcript();
  }

  // ---- the run being recorded -------------------------------------------------------------------------------

  /** @throws HandbackError link.lost, run.*, library.path, input.profile */
  startRun(request: StartRunRequest): Promise<RunState> {
    return this.#oneStart(async () => {
      await this.#hold.take();
      if (request.job === undefined) return this.#start(request, { library: this.#o.library }, null);
      const vin = this.#connection.state?.vehicle?.vin ?? null;
      const job = await this.jobs.context(request.job, vin);
      const started = await this.#start(request, { library: job.folder }, job);
      await this.jobs.begun(request.job, vin);
      return started;
    });
  }

  /** As `startRun`, into a folder of its own. */
  startRunIn(folder: string, request: StartRunRequest): Promise<RunState> {
    return this.#oneStart(() => this.#start(request, { folder }, null));
  }

  /**
   * A disk that refuses is said once, and recording goes on in memory; stopped again, the run ends with what is there.
   * @throws HandbackError run.write the first time
   */
  stopRun(): Promise<RunSummary> {
    this.#stopping ??= this.#stop().finally(() => {
      this.#stopping = null;
    });
    return this.#stopping;
  }

  async mark(request: MarkRequest): Promise<MarkView> {
    if (!this.#run) throw new HandbackError('input.usage', saying('error.nothing-to-mark'));
    const mark = this.#run.mark(request);
    this.#events.next({ event: 'mark', data: mark });
    return mark;
  }

  liveSeries(points: number, fromS?: number, toS?: number): SeriesView {
    return this.#run?.columns.series(points, fromS, toS) ?? {};
  }

  spoken(): readonly Spoken[] {
    return this.#run?.spoken ?? [];
  }

  // ---- ended runs -------------------------------------------------------------------------------------------

  runs(): Promise<readonly RunSummary[]> {
    this.#looked();
    return summariesIn(this.#o.library);
  }

  run(id: string, signal?: AbortSignal): Promise<Written<RunView>> {
    return this.#room.ask('view', [id], signal);
  }

  series(id: string, range: SeriesRange, signal?: AbortSignal): Promise<Written<SeriesView>> {
    return this.#room.ask('series', [id, range], signal);
  }

  seriesPart(id: string, points: number, after: number, signal?: AbortSignal): Promise<Written<SeriesPart>> {
    return this.#room.ask('seriesPart', [id, points, after], signal);
  }

  compare(request: CompareRequest, signal?: AbortSignal): Promise<Written<Comparison>> {
    return this.#room.ask('compare', [request], signal);
  }

  underWay(): readonly UnderWay[] {
    return [...this.#room.underWay, ...this.jobs.underWay];
  }

  /** The hand-over sheet of a job or of one run as HTML, UTF-8. @throws HandbackError library.path, input.* */
  sheet(asked: SheetRequest, signal?: AbortSignal): Promise<Uint8Array> {
    return this.#room.ask('sheet', [{ ...asked, nowMs: this.#o.clock.wallMs() }], signal);
  }

  sheetStamp(of: SheetRequest['of']): Promise<string> {
    return sheetStamp(this.#o.library, of);
  }

  /** Of the run being recorded or of an ended one. @throws HandbackError input.file, run.write */
  async editMark(runId: string, edit: MarkEdit): Promise<void> {
    if (this.#run?.id !== runId) {
      await this.#hold.take();
      return editMarkIn((await findRun(this.#o.library, runId)).folder, edit);
    }
    await this.#run.editMark(edit);
    this.#sayState();
  }

  /** Ends run and connection; what was recorded is closed. @returns the run that this ended, if any */
  async close(): Promise<RunSummary | null> {
    if (this.#closed) return null;
    this.#closed = true;
    try {
      return this.#run ? await this.stopRun().catch(() => this.stopRun()) : null;
    } finally {
      this.#end.next();
      this.#quiet.giveWay();
      await this.jobs.close();
      await this.#receiver.close();
      await this.#connection.close();
      await this.#room.close();
      await this.#hold.release();
    }
  }

  /** @throws HandbackError run.busy while a run is being recorded or begun */
  async #oneStart(start: () => Promise<RunState>): Promise<RunState> {
    if (this.#run || this.#starting) throw new HandbackError('run.busy', saying('error.recording-already'));
    this.#starting = true;
    this.#quiet.giveWay();
    this.#room.giveWay();
    try {
      return await start();
    } finally {
      this.#starting = false;
    }
  }

  async #start(
    request: StartRunRequest,
    where: NewRun['where'],
    context: RunContext | null,
  ): Promise<RunState> {
    const { now } = this.#connection;
    const isClosed = (): boolean => this.#closed;
    const run = await newRun(
      { ...this.#o, now, receiver: this.#receiver, isClosed },
      request,
      where,
      context,
    );
    this.#run = run;
    run.begin(now.session, heardOn(now, this.#receiver)).subscribe((event) => this.#events.next(event));
    this.#sayState();
    return run.state();
  }

  async #stop(): Promise<RunSummary> {
    const run = this.#run;
    if (!run) throw new HandbackError('input.usage', saying('error.not-recording'));
    const summary = await run.stop(runEndOf(this.#connection));
    if (this.#o.keepJudged) await run.keep(this.#kept);
    this.#run = null;
    this.#sayState();
    // Where that was not all, it is read; if this fails, asking says why.
    if (this.#o.keepJudged && run.isListed && !this.#closed)
      this.#room.ask('keep', [summary.id]).catch(() => undefined);
    this.#runsCame();
    return summary;
  }

  pageFetched(): void {
    this.#looked();
  }

  /** Somebody looked at what there is, or fetched the page, and may open some of it. */
  #looked(): void {
    if (this.#run === null && !this.#starting && !this.#closed) this.#room.prepare();
  }

  /** Ended runs that may not be compressed or judged yet. */
  #runsCame(): void {
    if (this.#o.keepJudged) this.#quiet.due();
  }

  #sayState(): void {
    this.#events.next({ event: 'state', data: this.state() });
  }
}
