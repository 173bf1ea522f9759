/**
 * The one place where parts are put together: which link, which driver, what is recorded, what judges it. `serve`
 * and `record` both run on it. It decides nothing about cars: it carries samples from the session to the capture,
 * to the judge and to whoever watches.
 */
import type { WireEvent } from '../adapter/adapter.ts';
import { Judge } from '../analysis/judge.ts';
import type { Clock, Timer } from '../core/clock.ts';
import { HandbackError, reasonOf } from '../core/errors.ts';
import type { Profile } from '../core/profile.ts';
import { profileSchema } from '../core/profile.ts';
import type { Sample } from '../core/signals.ts';
import { VERSION } from '../core/version.ts';
import { ExchangeReplay } from '../j1979/replay.ts';
import { jobOfRun } from '../job/library.ts';
import { editMarkIn, type MarkEdits, readMarkEdits, withEdits } from '../job/marks.ts';
import { followedLinkFactory } from '../link/follow.ts';
import type { LinkFactory } from '../link/link.ts';
import { listPorts } from '../link/ports.ts';
import { tcpLinkFactory } from '../link/tcp.ts';
import type { LinkCounters } from '../poll/counters.ts';
import { type SessionState, VehicleSession } from '../poll/session.ts';
import { createRun, findRun, listRuns, type OpenRun, type RunEntry, recoverRun } from '../run/library.ts';
import { lockLibrary } from '../run/lock.ts';
import { makeFolder } from '../run/meta.ts';
import { MAX_MARKS } from '../run/recording.ts';
import { simLinkFactory } from '../sim/bench.ts';
import { SIM_DEMOS, simOptionsOf, simProfileOf } from '../sim/demos.ts';
import { spelled } from '../words/spelled.ts';
import type { Comparison, Spoken } from '../words/views.ts';
import type {
  CompareRequest,
  ConnectionState,
  ConnectRequest,
  DaemonApi,
  DaemonState,
  MarkEdit,
  MarkRequest,
  MarkView,
  PortView,
  RunState,
  RunSummary,
  RunView,
  SeriesView,
  StartRunRequest,
  StreamEvents,
} from './api.ts';
import { Columns } from './columns.ts';
import { ComparedRuns } from './compared-runs.ts';
import { costOf } from './costs.ts';
import { JobDesk, type PracticeMaker, type RunContext, summaryOf } from './jobs.ts';
import { type OpenedRun, OpenedRuns } from './opened-runs.ts';
import { SearchLog } from './search.ts';
import { SheetDesk } from './sheets.ts';

/** Samples and views go to the page this often; the ear does not wait for it. */
const SAMPLES_EVERY_MS = 50;
const VIEW_EVERY_MS = 250;
const STATE_EVERY_MS = 1000;
/** A refused stop that is repeated so soon means it: the run ends without what the disk does not take. */
const STOP_AGAIN_US = 120e6;
/** Of before the run, enough for every control unit's bitmaps, names and scaling. */
const MAX_PREAMBLE = 5000;

type Listener = <K extends keyof StreamEvents>(event: K, data: StreamEvents[K]) => void;

export interface DaemonOptions {
  readonly clock: Clock;
  /** Folder that holds the runs. */
  readonly library: string;
  /** Drives the practice jobs and puts them into the library; absent where that is not offered. */
  readonly makePractice?: PracticeMaker;
  /** For tests: a computer that sleeps. */
  readonly sinceBootMs?: () => number;
  /** For tests: what a link's name leads to. */
  readonly linkFactory?: (link: string, clock: Clock) => LinkFactory & { close?(): void };
}

interface LiveRun {
  readonly open: OpenRun;
  readonly replay: ExchangeReplay;
  readonly judge: Judge;
  /** The job it is recorded into. */
  readonly job: string | null;
  /** What a page that comes late draws. */
  readonly columns: Columns;
  readonly marks: MarkView[];
  markEdits: MarkEdits;
  readonly spoken: Spoken[];
  /** When the disk refused to let it be stopped; by the clock. */
  refusedUs: number | null;
  /** For the next `samples` event. */
  fresh: Record<string, { t: number[]; v: number[] }>;
}

export class Daemon implements DaemonApi {
  readonly #clock: Clock;
  readonly #library: string;
  readonly #linkFactory: NonNullable<DaemonOptions['linkFactory']>;
  readonly #sinceBoot: { sinceBootMs?: () => number };
  readonly #listeners = new Set<Listener>();
  #session: VehicleSession | null = null;
  #sessionState: SessionState | null = null;
  #link: string | null = null;
  /** Ends what only this connection needs: the simulated vehicle. */
  #release: () => void = () => undefined;
  #connectTrouble: string | null = null;
  #search: SearchLog | null = null;
  readonly #preamble = new Preamble();
  /** Hand-over sheets of the library's jobs and runs. */
  readonly sheets: SheetDesk;
  readonly #opened = new OpenedRuns();
  readonly #compared: ComparedRuns;
  #run: LiveRun | null = null;
  /** From the request on: what a run learns from others may take seconds, and nothing else begins meanwhile. */
  #starting = false;
  #stopping: Promise<RunSummary> | null = null;
  /** Until the last session has let go of its port. */
  #leaving: Promise<void> = Promise.resolve();
  #timers: Timer[] = [];
  #unlock: Promise<() => Promise<void>> | null = null;
  #closed = false;

  readonly jobs: JobDesk;

  constructor(options: DaemonOptions) {
    this.#clock = options.clock;
    this.#library = options.library;
    this.#compared = new ComparedRuns(options.library);
    this.jobs = new JobDesk({
      ...options,
      opened: this.#opened,
      takeLibrary: () => this.#takeLibrary(),
      session: () => this.session,
    });
    this.sheets = new SheetDesk({
      ...options,
      taught: async (run) => (await this.jobs.teachingFor(run))?.value ?? null,
    });
    this.#linkFactory = options.linkFactory ?? linkFactoryOf;
    this.#sinceBoot = options.sinceBootMs ? { sinceBootMs: options.sinceBootMs } : {};
    this.#every(SAMPLES_EVERY_MS, () => this.#emitSamples());
    this.#every(VIEW_EVERY_MS, () => {
      if (this.#run) this.#emit('view', spelled(this.#run.judge.view()));
    });
    this.#every(STATE_EVERY_MS, () => this.#emit('state', this.state()));
  }

  /**
   * Takes the library for this daemon alone and closes runs that a crash left open. A library that cannot be written
   * can still be read. @returns one sentence for each thing worth saying
   * @throws HandbackError run.busy when another daemon holds the library
   */
  async open(): Promise<string[]> {
    const said: string[] = [];
    try {
      await this.#takeLibrary();
    } catch (thrown) {
      if (thrown instanceof HandbackError && thrown.code === 'run.busy') throw thrown;
      said.push(`The library cannot be written: runs can be opened, not recorded. ${reasonOf(thrown)}`);
    }
    const { runs, troubles } = await listRuns(this.#library);
    said.push(...troubles);
    for (const run of runs.filter((r) => r.leftOpen)) {
      try {
        await recoverRun(run.folder);
        said.push(`Run ${run.meta.id} was interrupted; it has been closed and is complete up to there.`);
      } catch (thrown) {
        said.push(`Run ${run.meta.id} was interrupted and cannot be closed: ${reasonOf(thrown)}`);
      }
    }
    return said;
  }

  state(): DaemonState {
    return {
      version: VERSION,
      connection: this.#connection(),
      run: this.#run ? this.#runState(this.#run) : null,
      demos: SIM_DEMOS,
    };
  }

  subscribe(listener: Listener): () => void {
    this.#listeners.add(listener);
    return () => this.#listeners.delete(listener);
  }

  async ports(): Promise<readonly PortView[]> {
    return (await listPorts()).ports;
  }

  /** @throws HandbackError link.*, adapter.*, vehicle.silent, input.usage */
  async connect(request: ConnectRequest): Promise<void> {
    const factory = this.#linkFactory(request.link, this.#clock);
    // Two requests at once: the later one ends what the earlier one began, never do two sessions run.
    do await this.disconnect();
    while (this.#session);
    if (this.#closed) throw new HandbackError('link.lost', 'Handback is being closed.');
    this.#connectTrouble = null;
    this.#search = new SearchLog();
    this.#link = request.link;
    this.#preamble.clear();
    this.#release = () => factory.close?.();
    const session = new VehicleSession({
      factory,
      family: request.adapter ?? 'auto',
      ...(request.baud === undefined ? {} : { baud: request.baud }),
      ...(request.signals === undefined ? {} : { wanted: request.signals }),
      clock: this.#clock,
      tap: (event) => this.#onWire(event),
    });
    this.#session = session;
    session.state$.subscribe((state) => {
      if (this.#session !== session) return;
      this.#sessionState = state;
      this.#emit('state', this.state());
    });
    try {
      await session.start();
    } catch (thrown) {
      if (this.#session === session) {
        this.#session = null;
        this.#sessionState = null;
        this.#search?.ended(thrown);
        this.#release();
        this.#connectTrouble =
          thrown instanceof HandbackError && thrown.hint
            ? `${thrown.message} ${thrown.hint}`
            : reasonOf(thrown);
        this.#emit('state', this.state());
      }
      throw thrown;
    }
  }

  async disconnect(): Promise<void> {
    if (this.#run || this.#starting)
      throw new HandbackError('run.busy', 'A run is being recorded.', { hint: 'Stop it first.' });
    await this.#leave();
    this.#emit('state', this.state());
  }

  /** @throws HandbackError link.lost, run.*, library.path, input.profile */
  startRun(request: StartRunRequest): Promise<RunState> {
    return this.#oneStart(async () => {
      await this.#takeLibrary();
      if (request.job === undefined)
        return this.#runState(await this.#start(request, { library: this.#library }, null));
      const vin = this.#sessionState?.vehicle?.vin ?? null;
      const job = await this.jobs.context(request.job, vin);
      const started = await this.#start(request, { library: job.folder }, job);
      await this.jobs.begun(request.job, vin);
      return this.#runState(started);
    });
  }

  /** As `startRun`, into a folder of its own. */
  startRunIn(folder: string, request: StartRunRequest): Promise<RunState> {
    return this.#oneStart(async () => this.#runState(await this.#start(request, { folder }, null)));
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

  async #stop(): Promise<RunSummary> {
    const run = this.#run;
    if (!run) throw new HandbackError('input.usage', 'No run is being recorded.');
    const counters = this.counters();
    const end = {
      counters: counters === null ? null : flatten(counters),
      vin: this.#sessionState?.vehicle?.vin ?? null,
    };
    const { meta, missing } = await run.open.close(end).then(
      (closed) => ({ meta: closed, missing: null }),
      (thrown: unknown) => {
        const nowUs = this.#clock.nowUs();
        if (run.refusedUs !== null && nowUs - run.refusedUs < STOP_AGAIN_US) return run.open.giveUp(end);
        run.refusedUs = nowUs;
        throw thrown instanceof HandbackError && thrown.code === 'run.write'
          ? new HandbackError('run.write', thrown.message, {
              hint: 'It is still being recorded. Make room, then stop again: if the disk still refuses, the run ends without what is only in memory.',
              cause: thrown,
            })
          : thrown;
      },
    );
    this.#emitSamples();
    this.#emit('view', spelled(run.judge.view()));
    this.#run = null;
    this.#emit('state', this.state());
    return { ...summaryOf(meta, run.job), ...(missing === null ? {} : { missing }) };
  }

  async mark(request: MarkRequest): Promise<MarkView> {
    const run = this.#run;
    if (!run) throw new HandbackError('input.usage', 'No run is being recorded: there is nothing to mark.');
    if (run.marks.length >= MAX_MARKS)
      throw new HandbackError('input.usage', `The run holds ${MAX_MARKS} marks already.`);
    const tUs = run.open.capture.mark(request.key, request.text ?? '');
    const mark = { tS: tUs / 1e6, key: request.key, text: request.text ?? '' };
    run.marks.push(mark);
    this.#emit('mark', mark);
    return mark;
  }

  /** @throws HandbackError input.file, run.write */
  async editMark(runId: string, edit: MarkEdit): Promise<void> {
    const run = this.#run;
    if (run?.open.id !== runId) return editMarkIn((await this.#entry(runId)).folder, edit);
    await editMarkIn(run.open.folder, edit);
    run.markEdits = await readMarkEdits(run.open.folder);
    this.#emit('state', this.state());
  }

  liveSeries(points: number, fromS?: number, toS?: number): SeriesView {
    return this.#run?.columns.series(points, fromS, toS) ?? {};
  }

  spoken(): readonly Spoken[] {
    return this.#run?.spoken ?? [];
  }

  async runs(): Promise<readonly RunSummary[]> {
    const { runs } = await listRuns(this.#library);
    return Promise.all(runs.map((r) => this.#summary(r)));
  }

  async run(id: string): Promise<RunView> {
    const entry = await this.#entry(id);
    const { reading, judgement, expected, corridor } = await this.#open(entry);
    const marks = reading.marks.map((m) => ({ tS: m.tUs / 1e6, key: m.key, text: m.text }));
    return {
      summary: await this.#summary(entry),
      judgement: spelled(judgement),
      marks: withEdits(marks, await readMarkEdits(entry.folder)),
      gaps: reading.gaps.map((g) => ({ fromS: g.fromUs / 1e6, toS: g.toUs / 1e6, why: g.why })),
      warnings: reading.warnings,
      expected,
      corridor,
    };
  }

  async series(id: string, points: number, fromS?: number, toS?: number): Promise<SeriesView> {
    const { columns } = await this.#open(await this.#entry(id));
    return columns.series(points, fromS, toS);
  }

  async compare(request: CompareRequest): Promise<Comparison> {
    return spelled(await this.#compared.compare(request));
  }

  /** Null when nothing is connected. */
  counters(): LinkCounters | null {
    return this.#session?.counters() ?? null;
  }

  /** The session for snapshots; requests go through its gate. @throws HandbackError link.lost */
  get session(): VehicleSession {
    if (!this.#session)
      throw new HandbackError('link.lost', 'No vehicle is connected.', { hint: 'Connect first.' });
    return this.#session;
  }

  /** Ends run and connection; what was recorded is closed. */
  async close(): Promise<void> {
    if (this.#closed) return;
    this.#closed = true;
    for (const timer of this.#timers) timer.cancel();
    try {
      if (this.#run) await this.stopRun().catch(() => this.stopRun());
    } finally {
      await this.#leave();
      await (await this.#unlock)?.();
    }
  }

  /** Two daemons never write into one library. @throws HandbackError run.busy, run.write */
  async #takeLibrary(): Promise<void> {
    this.#unlock ??= makeFolder(this.#library).then(() => lockLibrary(this.#library));
    try {
      await this.#unlock;
    } catch (thrown) {
      this.#unlock = null; // the next one tries again
      throw thrown;
    }
  }

  /** Ends the session and what only it needs; the next one waits until the port is free. */
  #leave(): Promise<void> {
    const session = this.#session;
    const release = this.#release;
    this.#session = null;
    this.#sessionState = null;
    this.#connectTrouble = null;
    this.#search = null;
    this.#link = null;
    this.#release = () => undefined;
    this.#leaving = this.#leaving.then(async () => {
      await session?.stop();
      release();
    });
    return this.#leaving;
  }

  /** @throws HandbackError run.busy while a run is being recorded or begun */
  async #oneStart(start: () => Promise<RunState>): Promise<RunState> {
    if (this.#run || this.#starting) throw new HandbackError('run.busy', 'A run is being recorded already.');
    this.#starting = true;
    try {
      return await start();
    } finally {
      this.#starting = false;
    }
  }

  async #start(
    request: StartRunRequest,
    where: Parameters<typeof createRun>[0]['where'],
    context: RunContext | null,
  ): Promise<LiveRun> {
    const state = this.#sessionState;
    if (!this.#session || !state?.adapter)
      throw new HandbackError('link.lost', 'No vehicle is connected.', { hint: 'Connect first.' });
    const known = { ...simProfileOf(this.#link ?? ''), ...context?.job.profile };
    const parsed = profileSchema.safeParse(request.profile ?? known);
    if (!parsed.success)
      throw new HandbackError(
        'input.profile',
        `The profile is not valid: ${parsed.error.issues[0]?.message}`,
      );
    const profile: Profile = parsed.data;
    const baseline = (await context?.taught(profile)) ?? null;
    const open = await createRun({
      where,
      purpose: request.purpose,
      tool: `handback ${VERSION}`,
      clock: this.#clock,
      vehicle: request.vehicle ?? (context?.job.vehicle || null),
      ...this.#sinceBoot,
      vin: state.vehicle?.vin ?? null,
      complaint: request.complaint ?? (context?.job.complaint || null),
      profile,
      adapter: state.adapter,
      link: this.#link,
    });
    if (this.#closed) {
      await open.close();
      throw new HandbackError('link.lost', 'Handback is being closed.');
    }
    const run: LiveRun = {
      open,
      replay: new ExchangeReplay(),
      judge: new Judge(profile, baseline),
      job: context?.job.id ?? null,
      columns: new Columns(),
      marks: [],
      markEdits: [],
      spoken: [],
      refusedUs: null,
      fresh: {},
    };
    for (const event of this.#preamble.events()) this.#record(run, { ...event, tUs: open.capture.startUs });
    this.#run = run;
    this.#emit('state', this.state());
    return run;
  }

  #onWire(event: WireEvent): void {
    this.#preamble.add(event);
    if (this.#sessionState?.phase === 'connecting') {
      this.#search?.event(event);
      if (event.kind === 'link') this.#emit('state', this.state());
    }
    if (this.#run) this.#record(this.#run, event);
  }

  /** Live samples are made exactly as a replay makes them: from the recorded events, by the same code. */
  #record(run: LiveRun, event: WireEvent): void {
    run.open.capture.wire(event);
    const relative = { ...event, tUs: Math.max(0, event.tUs - run.open.capture.startUs) };
    for (const sample of run.replay.feed(relative)) {
      run.columns.push(sample);
      run.fresh[sample.signal] ??= { t: [], v: [] };
      const fresh = run.fresh[sample.signal]!;
      fresh.t.push(sample.tUs / 1e6);
      fresh.v.push(sample.value);
      this.#judge(run, sample);
    }
  }

  #judge(run: LiveRun, sample: Sample): void {
    for (const said of run.judge.push(sample)) {
      const spoken = spelled(said);
      run.spoken.push(spoken);
      this.#emit('spoken', spoken);
    }
  }

  #emitSamples(): void {
    const run = this.#run;
    if (!run || Object.keys(run.fresh).length === 0) return;
    const { fresh } = run;
    run.fresh = {};
    this.#emit('samples', fresh);
  }

  #connection(): ConnectionState {
    const s = this.#sessionState;
    const counters = this.counters();
    const phase = s === null || s.phase === 'stopped' ? 'disconnected' : s.phase;
    return {
      phase,
      link: this.#link,
      sentence:
        s?.sentence ??
        this.#connectTrouble ??
        'Nothing is connected. Choose a port, or try the simulated car.',
      adapter: s?.adapter ? { identity: s.adapter.identity, bus: s.adapter.bus, baud: s.adapter.baud } : null,
      vehicle: s?.vehicle ?? null,
      signals: s?.signals ?? [],
      missing: (s?.missing ?? []).map((signal) => ({ signal, cost: costOf(signal) })),
      silent: (s?.silent ?? []).map(({ signals, why }) => ({ signals, why })),
      slower: (this.#session?.shortfalls() ?? []).map(({ signals, wantedPerS, perS }) => ({
        signals,
        wantedPerS: Math.round(10 * wantedPerS) / 10,
        perS: Math.round(10 * perS) / 10,
      })),
      health: {
        samplesPerS: counters?.perSecond ?? 0,
        roundTripMs: counters?.roundTripMs ?? null,
        silentMs: counters?.silentMs ?? null,
        sent: counters?.sent ?? 0,
        answered: counters?.answered ?? 0,
        timeouts: counters?.timeouts ?? 0,
        discardedBytes: counters?.discardedBytes ?? 0,
        reopened: counters?.reopened ?? 0,
        linkLimitPerSecond: counters?.linkLimitPerSecond ?? null,
      },
      simulated: this.#link?.startsWith('sim') ?? false,
      search: this.#search?.view() ?? null,
    };
  }

  #runState(run: LiveRun): RunState {
    return {
      id: run.open.id,
      job: run.job,
      purpose: run.open.meta.purpose,
      startedAt: run.open.meta.startedAt,
      seconds: run.open.capture.seconds,
      samples: run.columns.count,
      marks: withEdits(run.marks, run.markEdits),
      trouble: run.open.capture.trouble,
    };
  }

  /** Judged with what earlier runs of its job teach. */
  async #open(entry: RunEntry): Promise<OpenedRun> {
    return this.#opened.open(entry, await this.jobs.teachingFor(entry));
  }

  async #summary(entry: RunEntry): Promise<RunSummary> {
    return summaryOf(entry.meta, await jobOfRun(this.#library, entry.folder));
  }

  async #entry(id: string): Promise<RunEntry> {
    return findRun(this.#library, id);
  }

  #emit<K extends keyof StreamEvents>(event: K, data: StreamEvents[K]): void {
    for (const listener of this.#listeners) listener(event, data);
  }

  #every(ms: number, fn: () => void): void {
    const index = this.#timers.length;
    const again = (): void => {
      this.#timers[index] = this.#clock.after(ms, () => {
        if (this.#closed) return;
        fn();
        again();
      });
    };
    again();
  }
}

/**
 * What was found out before a run began and what its samples need to be read: the dialect, and the answers about
 * supported PIDs, scaling and identity. Measured values of before the run do not belong to it.
 */
class Preamble {
  #kept: WireEvent[] = [];
  #exchange: WireEvent[] | null = null;

  clear(): void {
    this.#kept = [];
    this.#exchange = null;
  }

  add(event: WireEvent): void {
    if (event.kind === 'request') this.#exchange = tellsOfVehicle(event.payload) ? [event] : [];
    else if (event.kind === 'done') {
      if (this.#exchange && this.#exchange.length > 0) this.#keep(...this.#exchange, event);
      this.#exchange = null;
    } else if (event.kind === 'dialect' || event.kind === 'link') this.#keep(event);
    else if (this.#exchange && this.#exchange.length > 0) this.#exchange.push(event);
  }

  events(): readonly WireEvent[] {
    return this.#kept;
  }

  #keep(...events: WireEvent[]): void {
    this.#kept.push(...events);
    if (this.#kept.length > MAX_PREAMBLE) this.#kept.splice(0, this.#kept.length - MAX_PREAMBLE);
  }
}

/** Services 09 and, of 01, the supported-PID maps and the maxima (4F, 50) that scale other PIDs. */
function tellsOfVehicle(payload: Uint8Array): boolean {
  if (payload[0] === 0x09) return true;
  return (
    payload[0] === 0x01 &&
    payload.length > 1 &&
    payload.subarray(1).every((pid) => pid % 0x20 === 0 || pid === 0x4f || pid === 0x50)
  );
}

/**
 * "sim…", "tcp:HOST:PORT", or a serial port.
 * @throws HandbackError input.usage
 */
function linkFactoryOf(link: string, clock: Clock): LinkFactory & { close?(): void } {
  if (link === 'sim' || link.startsWith('sim:')) return simLinkFactory({ ...simOptionsOf(link), clock });
  if (link.startsWith('tcp:')) return tcpLinkFactory(link, { clock });
  return followedLinkFactory(link, { clock });
}

function flatten(counters: LinkCounters): Record<string, number | null> {
  const { roundTripMs, ...rest } = counters;
  return {
    ...rest,
    roundTripP50Ms: roundTripMs?.p50 ?? null,
    roundTripP95Ms: roundTripMs?.p95 ?? null,
    roundTripP99Ms: roundTripMs?.p99 ?? null,
  };
}
