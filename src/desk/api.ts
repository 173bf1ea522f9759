/** What travels between the daemon and the page. Types only. */

import type { LinkCounters } from '../poll/counters.ts';
import type { Purpose } from '../run/types.ts';
import type { Comparison, Judgement, LiveView, Spoken } from '../words/views.ts';
import type { Written } from './written.ts';

export interface LinkHealth extends Omit<LinkCounters, 'samples' | 'perSecond'> {
  readonly samplesPerS: number;
}

export interface ConnectionState {
  readonly phase: 'disconnected' | 'connecting' | 'connected' | 'lost';
  /** Port path or "sim". */
  readonly link: string | null;
  /** One or two sentences for the technician: what is the case, and what to try when it is not well. */
  readonly sentence: string;
  readonly adapter: { readonly identity: string; readonly bus: string; readonly baud: number | null } | null;
  readonly vehicle: { readonly vin: string | null; readonly controlUnits: readonly string[] } | null;
  /** Signals being asked, and those that the road test wants but this vehicle does not offer. */
  readonly signals: readonly string[];
  readonly missing: readonly { readonly signal: string; readonly cost: string }[];
  /** Signals that stopped answering and are asked less often, with the reason and when they are asked again. */
  readonly silent: readonly { readonly signals: readonly string[]; readonly why: string }[];
  /** Signals that come less often than wanted, values a second: what this link and this vehicle do not carry. */
  readonly slower: readonly {
    readonly signals: readonly string[];
    readonly wantedPerS: number;
    readonly perS: number;
  }[];
  readonly health: LinkHealth;
  /** Set when the link is the simulated vehicle. */
  readonly simulated: boolean;
  /** The search of the newest connect; null before the first and after disconnecting. */
  readonly search: SearchView | null;
}

/** How far a search got, or where it stands: each stage builds on those before. */
export type SearchStage = 'port' | 'adapter' | 'vehicle' | 'values';

export interface SearchView {
  readonly stage: SearchStage;
  /** Why it ended without a car, and what to try. */
  readonly failed: { readonly sentence: string; readonly hint: string | null } | null;
  /** In order; the last one may still be under way. */
  readonly tries: readonly SearchTry[];
}

/** One opening of the port. */
export interface SearchTry {
  /** Port and line speed. */
  readonly what: string;
  /** What was asked last, in plain words. */
  readonly sent: string | null;
  /** What came back to it, as far as it can be printed. */
  readonly heard: string | null;
  /** Null while it is under way. */
  readonly result: string | null;
}

export interface RunState {
  readonly id: string;
  /** The job it is recorded into. */
  readonly job?: string | null;
  readonly purpose: Purpose;
  readonly startedAt: string; // ISO 8601
  readonly seconds: number;
  readonly samples: number;
  readonly marks: readonly MarkView[];
  /** Not null when writing to disk fails: what is happening and what to do. */
  readonly trouble: string | null;
}

export interface MarkView {
  readonly tS: number;
  readonly key: string;
  readonly text: string;
}

/** The satellite receiver that is wanted. */
export interface ReceiverView {
  readonly port: string;
  readonly phase: 'searching' | 'heard' | 'fix';
  readonly satellites: number | null;
  /** Of the position, one standard deviation, m. */
  readonly errorM: number | null;
  readonly sentence: string;
}

export interface DaemonState {
  readonly version: string;
  /** Why the library is only read, as a sentence; null where it can be written. */
  readonly readOnly: string | null;
  /** Null when none is wanted; absent: a version without receivers. */
  readonly receiver?: ReceiverView | null;
  readonly connection: ConnectionState;
  readonly run: RunState | null;
  readonly demos: readonly { readonly link: string; readonly title: string }[];
  /** What an adapter may speak, to choose from. */
  readonly dialects: readonly { readonly family: string; readonly title: string }[];
}

export interface PortView {
  readonly path: string;
  readonly identity: string;
  readonly likelyAdapter: boolean;
}

export interface RunSummary {
  readonly id: string;
  /** The job it lies in; null or absent outside jobs. */
  readonly job?: string | null;
  readonly purpose: string;
  readonly startedAt: string;
  readonly seconds: number | null;
  readonly vehicle: string | null;
  readonly closed: boolean;
  /** When it was just stopped on a disk that refused: what of its end could not be kept, as a sentence. */
  readonly missing?: string;
}

/** GET /api/network: where other devices reach the daemon; empty when it listens on this computer only. */
export interface NetworkView {
  readonly addresses: readonly string[];
}

/** POST /api/invite: addresses that let one more device in, once, within `validS` seconds. Any of them will do. */
export interface InviteView {
  readonly urls: readonly string[];
  readonly validS: number;
}

/** Columns of one signal: seconds of the run and values; null in `v` marks a hole. */
export interface SeriesView {
  readonly [signal: string]: { readonly t: readonly number[]; readonly v: readonly (number | null)[] };
}

export interface RunView {
  readonly summary: RunSummary;
  readonly judgement: Judgement;
  readonly marks: readonly MarkView[];
  readonly gaps: readonly { readonly fromS: number; readonly toS: number; readonly why: string }[];
  /** What is odd about the recording (interrupted, damaged, notes of its own), as sentences. */
  readonly warnings: readonly string[];
  /** Expected boost band at each pressure sample of each pull, for drawing behind the measured line. */
  readonly expected: readonly ExpectedBand[];
  readonly corridor: RunTrail['corridor'];
  readonly baro: RunTrail['baro'];
  readonly demand: RunTrail['demand'];
  /** Engine speed × demand: where pulls were driven, as at the end of the run. */
  readonly map: LiveView['boost']['map'];
  /** So many times faster than time a simulated vehicle was driven; null in its own time, and for a real one. */
  readonly speedup: number | null;
}

export interface ExpectedBand {
  readonly t: readonly number[];
  readonly lowKpa: readonly number[];
  readonly highKpa: readonly number[];
}

/**
 * What the live views of a run said so far, so that a page opened late can draw it: engagements, the expected
 * boost of each pull, the coolant corridor and the barometric pressure as they were learned (each entry holds until
 * the next, the first also before it), and which signal is the driver's demand. Kept by the server from `view` events; the stream event `trail` carries only what is new, to be merged by start time.
 */
export interface RunTrail {
  readonly engagements: readonly NonNullable<LiveView['boost']['last']>[];
  readonly expected: readonly ExpectedBand[];
  readonly corridor: readonly { readonly fromS: number; readonly lowC: number; readonly highC: number }[];
  /** What gauge pressures stand on; empty while it is not known. */
  readonly baro: readonly { readonly fromS: number; readonly kpa: number }[];
  readonly demand: string | null;
}

/**
 * Server-sent events on GET /api/stream; each has the event name as below and JSON as data.
 * state: DaemonState · samples: SeriesView (only what is new) · view: LiveView · spoken: Spoken · mark: MarkView
 * The server adds: hello {instance, page} first · trail: RunTrail · beat {} every few seconds · resync {} when a slow
 * or hidden client was spared samples and should fetch the series again.
 */
export interface StreamEvents {
  readonly state: DaemonState;
  readonly samples: SeriesView;
  readonly view: LiveView;
  readonly spoken: Spoken;
  readonly mark: MarkView;
}

/** One of them, with its name. */
export type StreamEvent = {
  readonly [K in keyof StreamEvents]: { readonly event: K; readonly data: StreamEvents[K] };
}[keyof StreamEvents];

/** Requests (JSON bodies), all same-origin and state-changing ones with header `x-handback: 1`. */
export interface ConnectRequest {
  readonly link: string; // "sim", "sim:VEHICLE?route=…&fault=…", or a port path
  /** A dialect's name, or `auto`. */
  readonly adapter?: string;
  readonly baud?: number;
  /** Only these signals are polled; absent = all that the road test can use. */
  readonly signals?: readonly string[];
}
/** Null: none is wanted any more. */
export interface ReceiverRequest {
  readonly port: string | null;
}
export interface StartRunRequest {
  readonly purpose: Purpose;
  /** Recorded into this job, with its profile, vehicle and complaint where the request has none. */
  readonly job?: string;
  readonly vehicle?: string;
  readonly complaint?: string;
  readonly profile?: unknown;
}
/** Words or takes out a mark afterwards; the recording itself stays as it is. */
export interface MarkEdit {
  /** Time and key name the mark. */
  readonly tS: number;
  readonly key: string;
  readonly text: string;
  readonly removed: boolean;
}
export interface MarkRequest {
  readonly key: string; // N S H V M
  readonly text?: string;
}

/** Ids of runs. */
export interface CompareRequest {
  readonly before: readonly string[];
  readonly after: readonly string[];
  readonly comeBack: readonly string[];
  readonly marginPct?: number;
}

/** A stretch of a run (seconds; absent: to its end), thinned to about `points` a signal. */
export interface SeriesRange {
  readonly points: number;
  readonly fromS?: number;
  readonly toS?: number;
}

/** What was read so far of a run whose capture is being read. */
export interface SeriesPart {
  /** Of the capture; 1: nothing is being read any more, and the series as a whole is there. */
  readonly share: number;
  /** So far it goes. */
  readonly toS: number;
  readonly series: SeriesView;
}

/** What the server needs from the daemon; the daemon implements it, tests may fake it. */
export interface DaemonApi {
  state(): DaemonState;
  /** Calls back on every stream event until the returned function is called. */
  subscribe(listener: <K extends keyof StreamEvents>(event: K, data: StreamEvents[K]) => void): () => void;
  ports(): Promise<readonly PortView[]>;
  connect(request: ConnectRequest): Promise<void>;
  disconnect(): Promise<void>;
  /** From where a satellite receiver is to be heard; it may come and go. */
  useReceiver(request: ReceiverRequest): Promise<void>;
  startRun(request: StartRunRequest): Promise<RunState>;
  stopRun(): Promise<RunSummary>;
  mark(request: MarkRequest): Promise<MarkView>;
  /** Of the run being recorded or of an ended one. */
  editMark(runId: string, edit: MarkEdit): Promise<void>;
  /** The run being recorded so far, or a stretch of it (seconds), thinned to about `points` a signal, extremes kept. */
  liveSeries(points: number, fromS?: number, toS?: number): SeriesView;
  /** Findings spoken in the run being recorded. */
  spoken(): readonly Spoken[];
  runs(): Promise<readonly RunSummary[]>;
  /** Of ended runs; the signal gives up what nobody waits for any longer. */
  run(id: string, signal?: AbortSignal): Promise<Written<RunView>>;
  series(id: string, range: SeriesRange, signal?: AbortSignal): Promise<Written<SeriesView>>;
  /** For while that of an ended run is waited for: once more than the share `after` of its capture was read. */
  seriesPart(id: string, points: number, after: number, signal?: AbortSignal): Promise<Written<SeriesPart>>;
  compare(request: CompareRequest, signal?: AbortSignal): Promise<Written<Comparison>>;
  /** What is being read for somebody, and how far that is. */
  underWay(): readonly UnderWay[];
  /** A page was fetched, and may ask for ended runs soon. */
  pageFetched(): void;
}

/** A question about ended runs that is being answered. */
export interface UnderWay {
  readonly what:
    | 'view'
    | 'compare'
    | 'sheet'
    | 'import'
    | 'verdicts'
    | 'since'
    | 'hand-over'
    | 'learn'
    | 'archive'
    | 'practice'
    | 'other';
  /** The run that is viewed; of a sheet the job or run; of what else a job asks for, the job. */
  readonly run: string | null;
  /** 0 to 1. */
  readonly share: number;
  /** Seconds; null before it can be told. */
  readonly leftS: number | null;
}
