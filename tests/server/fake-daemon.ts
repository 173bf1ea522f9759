/** A daemon that needs no car: a made-up drive computed from the time alone, for tests of the server and the page. */

import { dialectTitles } from '../../src/adapter/dialects.ts';
import type { Pull } from '../../src/analysis/types.ts';
import { compareRuns } from '../../src/compare/compare.ts';
import type { Clock, Timer } from '../../src/core/clock.ts';
import { saying } from '../../src/core/error-says.ts';
import { HandbackError } from '../../src/core/errors.ts';
import { asIs } from '../../src/core/says.ts';
import type {
  CompareRequest,
  ConnectionState,
  ConnectRequest,
  DaemonApi,
  DaemonState,
  ExpectedBand,
  MarkEdit,
  MarkRequest,
  MarkView,
  PortView,
  ReceiverRequest,
  ReceiverView,
  RunState,
  RunSummary,
  RunView,
  SeriesPart,
  SeriesRange,
  SeriesView,
  StartRunRequest,
  StreamEvents,
  UnderWay,
} from '../../src/desk/api.ts';
import { Written } from '../../src/desk/written.ts';
import { thinned } from '../../src/signal/thin.ts';
import { simSpeedupOf } from '../../src/sim/demos.ts';
import { spelled } from '../../src/words/spelled.ts';
import type { Comparison, Finding, Judgement, Leg, LiveView, Spoken } from '../../src/words/views.ts';

const TICK_S = 0.1;
const CYCLE_S = 40;
const BARO = 98;
const GAP = { everyS: 170, fromS: 150, toS: 155 };

interface Now {
  readonly rpm: number;
  readonly demand: number;
  readonly speed: number;
  readonly boost: number;
  readonly expected: number;
  readonly ect: number;
  readonly pulling: boolean;
  readonly engagement: boolean;
  readonly held: boolean;
  readonly cycle: number;
}

/** Every value of the drive at a second of it. Each cycle: idle, pull through the clutch band, cruise, let off. */
function drive(t: number): Now {
  const cycle = Math.floor(t / CYCLE_S);
  const x = t - cycle * CYCLE_S;
  const held = cycle % 4 !== 2;
  const pulling = x >= 10 && x < 16;
  const part = (x - 10) / 6;
  const ripple = Math.sin(t * 7.3) + Math.sin(t * 3.1);
  const rpm = pulling ? 1200 + 2600 * part : x < 10 ? 820 : x < 30 ? 2100 : 1400;
  const demand = pulling ? 88 : x < 10 ? 3 : x < 30 ? 28 : 0;
  const speed = x < 10 ? Math.max(0, 30 - x * 6) : pulling ? 20 + 45 * part : x < 30 ? 65 : 65 - (x - 30) * 4;
  const expected = pulling ? Math.min(70, 40 + 30 * part) : -30;
  const inBand = rpm < 2400;
  const boost = pulling
    ? held || !inBand
      ? expected * Math.min(1, (x - 10) / 0.5)
      : 4
    : demand > 10
      ? -35
      : -62;
  const ect = 90 - 45 * Math.exp(-t / 70) + (t > 60 ? 0.8 * Math.sin(t / 25) : 0);
  return {
    rpm: rpm + 6 * ripple,
    demand,
    speed,
    boost: boost + 0.7 * ripple,
    expected,
    ect,
    pulling,
    engagement: pulling && inBand,
    held,
    cycle,
  };
}

const inGap = (t: number): boolean => {
  const x = t % GAP.everyS;
  return x >= GAP.fromS && x < GAP.toS;
};

function samplesBetween(fromS: number, toS: number): SeriesView {
  const out: Record<string, { t: number[]; v: number[] }> = {};
  const put = (signal: string, t: number, value: number) => {
    out[signal] ??= { t: [], v: [] };
    const column = out[signal];
    column.t.push(Number(t.toFixed(3)));
    column.v.push(value);
  };
  for (let k = Math.ceil(fromS / TICK_S); k * TICK_S < toS; k++) {
    const t = k * TICK_S;
    if (inGap(t)) continue;
    const d = drive(t);
    put('rpm', t, Math.round(d.rpm));
    put('map_kpa', t + 0.02, Math.round(BARO + d.boost));
    if (k % 3 === 0) put('pedal_d_pct', t + 0.03, Math.round(d.demand));
    if (k % 3 === 1) put('speed_kmh', t + 0.04, Math.round(d.speed));
    if (k % 10 === 5) put('ect_c', t + 0.05, Math.round(d.ect));
    if (k % 100 === 7) put('baro_kpa', t + 0.06, BARO);
    if (k % 10 === 8) put('voltage_v', t + 0.07, 14.1);
  }
  return out;
}

function thinnedTo(points: number, series: SeriesView): SeriesView {
  return Object.fromEntries(
    Object.entries(series).map(([name, { t, v }]) => [name, thinned({ t, v: v as number[] }, points)]),
  );
}

/** The pulls that ended before `tS`. */
function pullsUntil(tS: number): Pull[] {
  const pulls: Pull[] = [];
  for (let cycle = 0; cycle * CYCLE_S + 16 <= tS; cycle++) {
    const held = cycle % 4 !== 2;
    const from = cycle * CYCLE_S + 10;
    pulls.push({
      fromS: from,
      toS: from + 6,
      gear: 3,
      kmhAt1000Rpm: 35.2,
      rpmFrom: 1200,
      rpmTo: 3800,
      engagement: true,
      boostKpa: [],
      shortfallPct: held ? 2 : 81,
      held,
    });
  }
  return pulls;
}

function boostFault(pulls: readonly Pull[]): Finding {
  const missed = pulls.filter((p) => p.held === false);
  return {
    id: 'boost.intermittent',
    system: 'boost',
    verdict: 'fault shown',
    pointsTo: 'the clutch closes at some engagements only: coil, connector or worn clutch',
    saidAtS: missed[0]?.toS ?? null,
    fromS: missed[0]?.fromS ?? null,
    toS: missed.at(-1)?.toS ?? null,
    measured: { value: -41, unit: 'kPa', interval: [-44, -38] },
    limit: { value: -12, unit: 'kPa', source: 'default' },
    evidence: missed.map((p) => ({
      fromS: p.fromS,
      toS: p.toS,
      text: 'No boost between 1200 and 2400 rpm; 41 kPa below what is expected.',
    })),
    needs: null,
    rule: 'A fault is shown when the whole interval of an engagement lies below the limit.',
    signals: ['map_kpa', 'baro_kpa', 'rpm', 'pedal_d_pct'],
  };
}

const coolantGood: Finding = {
  id: 'coolant.climb',
  system: 'coolant',
  verdict: 'shown good',
  pointsTo: null,
  saidAtS: null,
  fromS: 120,
  toS: 420,
  measured: { value: 91, unit: 'degC', interval: [89.5, 92] },
  limit: { value: 105, unit: 'degC', source: 'default' },
  evidence: [{ fromS: 120, toS: 420, text: 'Settled between 89 and 92 °C for 5 minutes.' }],
  needs: null,
  rule: 'Good is shown when the coolant stayed settled for 5 minutes with the whole interval below the limit.',
  signals: ['ect_c', 'speed_kmh'],
};

const openClutch: Finding = {
  id: 'boost.clutch-open',
  system: 'boost',
  verdict: 'not shown',
  pointsTo: null,
  saidAtS: null,
  fromS: null,
  toS: null,
  measured: { value: 3, unit: 'kPa', interval: [-9, 15] },
  limit: { value: 10, unit: 'kPa', source: 'default' },
  evidence: [],
  needs: 'Drive 20 seconds at light pedal between 2000 and 3000 rpm.',
  rule: 'Good is shown when the whole interval at light demand lies below the limit.',
  signals: ['map_kpa', 'baro_kpa', 'rpm'],
  excluded: [{ fromRpm: 2250, toRpm: 2400, fromDemandPct: 60, toDemandPct: 100, lossPct: 7 }],
};

function legs(tS: number): Leg[] {
  const leg = (
    id: string,
    title: string,
    how: string,
    counts: string,
    startS: number,
    lengthS: number,
  ): Leg => {
    const progress = Math.max(0, Math.min(1, (tS - startS) / lengthS));
    const covered = progress === 1;
    return {
      leg: id,
      title,
      why: `Shows what ${title.toLowerCase()} can show.`,
      how,
      counts,
      covered,
      over: false,
      progress,
      left: null,
      fromS: progress > 0 ? startS : null,
      toS: covered ? startS + lengthS : null,
    };
  };
  return [
    leg('warm-up', 'Warm-up', 'Drive gently until the coolant settles.', 'Counts from 70 °C.', 0, 60),
    leg('hot-idle', 'Hot idle', 'Stand and idle.', 'Counts after 60 seconds standing, warm.', 60, 80),
    leg(
      'pull',
      'Pull through the clutch band',
      'Pull from 1200 to 3800 rpm in 3rd gear, pedal over 60 %.',
      'Counts when engine speed rises through the band in one gear.',
      90,
      400,
    ),
    leg(
      'cruise',
      'Steady cruise',
      'Hold 60 km/h or more for 5 minutes.',
      'Counts while the coolant is settled.',
      200,
      600,
    ),
  ];
}

function viewAt(tS: number): LiveView {
  const d = drive(tS);
  const pulls = pullsUntil(tS);
  const last = pulls.at(-1);
  const missed = pulls.filter((p) => p.held === false).length;
  const settled = tS > 200;
  const all = legs(tS);
  const map = [750, 1250, 1750, 2250, 2750, 3250].flatMap((rpm, i) =>
    [0, 30, 60].map((demand) => {
      const count = demand === 60 ? Math.max(0, pulls.length - i) : demand === 30 && i === 2 ? 1 : 0;
      const bad = demand === 60 && missed > 0 && (i === 1 || i === 2);
      const state = bad ? 'bad' : count >= 3 ? 'enough' : count > 0 ? 'some' : 'empty';
      return {
        rpm: [rpm, rpm + 500],
        demandPct: [demand, demand === 60 ? 100 : demand + 30],
        pulls: count,
        state,
      } as const;
    }),
  );
  return {
    tS,
    coolant: {
      state: settled ? 'settled' : d.ect > 80 ? 'settling' : 'warming',
      valueC: Math.round(d.ect),
      plateauC: settled ? 90 : null,
      corridorC: settled ? [86, 94] : null,
      limitC: 105,
      minutesToLimit: null,
      tooHot: false,
      sentence: settled ? 'Coolant settled at 90 °C.' : `Coolant warming, ${Math.round(d.ect)} °C.`,
    },
    boost: {
      demandName: 'pedal_d_pct',
      baroKpa: BARO,
      expectedKpa: d.pulling ? [d.expected - 8, d.expected + 8] : null,
      boostKpa: Math.round(d.boost),
      pulling: d.pulling,
      engagement: d.engagement,
      last: last
        ? {
            fromS: last.fromS,
            toS: last.toS,
            held: last.held,
            text: last.held ? 'Last engagement held.' : 'Last engagement missed.',
          }
        : null,
      engagements: { held: pulls.length - missed, missed },
      map,
      sentence: last
        ? last.held
          ? 'Last engagement held.'
          : 'Last engagement missed.'
        : 'No engagement yet.',
    },
    legs: all,
    nextLeg: all.find((l) => !l.covered) ?? null,
    asks: [],
  };
}

type Listener = <K extends keyof StreamEvents>(event: K, data: StreamEvents[K]) => void;

export interface FakeOptions {
  readonly clock: Clock;
  /** Seconds of the drive that lie behind when a run is started. */
  readonly prerollS?: number;
  readonly ports?: readonly PortView[];
}

export class FakeDaemon implements DaemonApi {
  readonly calls: string[] = [];
  pagesFetched = 0;
  readonly #clock: Clock;
  readonly #prerollS: number;
  readonly #ports: readonly PortView[];
  readonly #listeners = new Set<Listener>();
  #phase: ConnectionState['phase'] = 'disconnected';
  #link: string | null = null;
  #receiver: ReceiverView | null = null;
  #search: ConnectionState['search'] = null;
  #run: {
    id: string;
    purpose: RunState['purpose'];
    vehicle: string | null;
    job: string | null;
    startUs: number;
  } | null = null;
  #sentS = 0;
  #marks: MarkView[] = [];
  #spoken: Spoken[] = [];
  #ended: RunSummary[] = [];
  #timer: Timer | null = null;

  constructor(options: FakeOptions) {
    this.#clock = options.clock;
    this.#prerollS = options.prerollS ?? 0;
    this.#ports = options.ports ?? [];
  }

  state(): DaemonState {
    const connected = this.#phase === 'connected';
    return {
      version: '0.0.0-fake',
      connection: {
        phase: this.#phase,
        link: this.#link,
        sentence: connected
          ? 'The car is talking.'
          : 'No adapter is connected. Plug one in, or use the simulated car.',
        adapter: connected
          ? { identity: 'practice adapter', bus: 'CAN 11 bit, 500 kbit/s', baud: 115200 }
          : null,
        vehicle: connected ? { vin: 'XHBSIM00000000001', controlUnits: ['7E8', '7E9'] } : null,
        signals: connected
          ? ['rpm', 'map_kpa', 'pedal_d_pct', 'speed_kmh', 'ect_c', 'baro_kpa', 'voltage_v']
          : [],
        missing: connected
          ? [{ signal: 'oil_c', cost: 'Oil temperature will not help to explain a hot engine.' }]
          : [],
        silent: [],
        slower: [],
        health: {
          samplesPerS: connected ? 31.4 : 0,
          roundTripMs: connected ? { p50: 24, p95: 31, p99: 48 } : null,
          silentMs: connected ? 20 : null,
          sent: 1200,
          answered: 1198,
          timeouts: 2,
          discardedBytes: 0,
          damaged: 0,
          reopened: 0,
          linkLimitPerSecond: connected ? 41 : null,
        },
        simulated: this.#link?.startsWith('sim') ?? false,
        search: this.#search,
      },
      run: this.#runState(),
      readOnly: null,
      receiver: this.#receiver,
      dialects: spelled(dialectTitles()),
      demos: [
        {
          link: 'sim:twin?fault=clutch-intermittent',
          title: 'Twin-charged estate whose clutch sometimes stays open',
        },
        { link: 'sim:twin', title: 'The same car, repaired' },
      ],
    };
  }

  subscribe(listener: Listener): () => void {
    this.#listeners.add(listener);
    return () => this.#listeners.delete(listener);
  }

  /** How many listeners there are: the server must let go of its own when it closes. */
  get listeners(): number {
    return this.#listeners.size;
  }

  /** Sends any event to the server, as the daemon would. */
  emit<K extends keyof StreamEvents>(event: K, data: StreamEvents[K]): void {
    for (const listener of this.#listeners) listener(event, data);
  }

  /** Sends the view of this moment once more, changed as given. */
  tell(change: Partial<LiveView> = {}): void {
    this.emit('view', { ...viewAt(this.#nowS()), ...change });
  }

  /** Says the boost fault once more. */
  sayAgain(): void {
    this.emit('spoken', this.#sayBoost(this.#nowS()));
  }

  async ports(): Promise<readonly PortView[]> {
    return this.#ports;
  }

  async connect(request: ConnectRequest): Promise<void> {
    this.calls.push(
      ['connect', request.link, ...(request.adapter === undefined ? [] : [request.adapter])].join(' '),
    );
    if (!request.link.startsWith('sim')) {
      const [sentence, hint] = [`${request.link} cannot be opened.`, 'Plug it in again.'];
      this.#search = { stage: 'port', failed: { sentence, hint }, tries: [] };
      this.#link = request.link;
      this.emit('state', this.state());
      throw new HandbackError('link.open', asIs(sentence), { hint: asIs(hint) });
    }
    this.#search = null;
    this.#phase = 'connected';
    this.#link = request.link;
    this.emit('state', this.state());
  }

  async useReceiver({ port }: ReceiverRequest): Promise<void> {
    this.calls.push('receiver');
    const sentence = 'Satellite receiver has a fix from 9 satellites.';
    this.#receiver = port === null ? null : { port, phase: 'fix', satellites: 9, errorM: null, sentence };
    this.emit('state', this.state());
  }

  async disconnect(): Promise<void> {
    this.calls.push('disconnect');
    this.#phase = 'disconnected';
    this.#link = null;
    this.#search = null;
    this.emit('state', this.state());
  }

  async startRun(request: StartRunRequest): Promise<RunState> {
    if (this.#run)
      throw new HandbackError('run.busy', saying('error.recording-already'), {
        hint: saying('error.stop-first'),
      });
    this.calls.push(`start ${JSON.stringify(request)}`);
    const startUs = this.#clock.nowUs() - this.#prerollS * 1e6;
    this.#run = {
      id: `run-${this.#ended.length + 1}`,
      purpose: request.purpose,
      vehicle: request.vehicle ?? null,
      job: request.job ?? null,
      startUs,
    };
    this.#sentS = this.#nowS();
    this.#marks = [];
    this.#spoken = this.#prerollS > 120 ? [this.#sayBoost(136)] : [];
    this.emit('state', this.state());
    for (let t = 0.5; t < this.#sentS; t += 0.25) this.emit('view', viewAt(t));
    this.#tick();
    return this.#runState()!;
  }

  async stopRun(): Promise<RunSummary> {
    const run = this.#run;
    if (!run) throw new HandbackError('run.busy', saying('error.not-recording'));
    this.#timer?.cancel();
    const summary = this.#summary(run, this.#nowS());
    this.#ended.unshift(summary);
    this.#run = null;
    this.emit('state', this.state());
    return summary;
  }

  async mark(request: MarkRequest): Promise<MarkView> {
    if (!this.#run) throw new HandbackError('run.busy', saying('error.not-recording'));
    const mark = { tS: this.#nowS(), key: request.key, text: request.text ?? '' };
    this.#marks.push(mark);
    this.emit('mark', mark);
    return mark;
  }

  async editMark(_runId: string, edit: MarkEdit): Promise<void> {
    this.#marks = this.#marks.flatMap((m) =>
      m.tS !== edit.tS || m.key !== edit.key ? [m] : edit.removed ? [] : [{ ...m, text: edit.text }],
    );
    this.emit('state', this.state());
  }

  liveSeries(points: number, fromS = 0, toS = Number.POSITIVE_INFINITY): SeriesView {
    return this.#run ? thinnedTo(points, samplesBetween(fromS, Math.min(this.#sentS, toS))) : {};
  }

  spoken(): readonly Spoken[] {
    return this.#spoken;
  }

  async runs(): Promise<readonly RunSummary[]> {
    return this.#ended;
  }

  async run(id: string): Promise<Written<RunView>> {
    const summary = this.#known(id);
    const spanS = summary.seconds ?? 0;
    const pulls = pullsUntil(spanS);
    const findings = [boostFault(pulls), coolantGood, openClutch];
    const judgement: Judgement = {
      schema: 'handback.judgement/1',
      path: summary.id,
      spanS,
      signals: [],
      pulls,
      legs: legs(spanS),
      systems: {
        boost: { verdict: 'fault shown', saidAtS: 96, needs: null },
        coolant: { verdict: 'shown good', saidAtS: null, needs: null },
        fan: { verdict: 'not shown', saidAtS: null, needs: 'Fan: not asked.', asked: false },
      },
      findings,
      spoken: [],
    };
    const gaps = [];
    for (let s = GAP.fromS; s < spanS; s += GAP.everyS)
      gaps.push({ fromS: s, toS: s + 5, why: 'The adapter was silent.' });
    return Written.of({
      summary,
      judgement,
      marks: this.#marks,
      gaps,
      warnings: [],
      expected: pulls.map(bandOf),
      corridor: [{ fromS: 200, lowC: 86, highC: 94 }],
      baro: [{ fromS: 0, kpa: BARO }],
      demand: 'pedal_d_pct',
      map: viewAt(spanS).boost.map,
      speedup: simSpeedupOf(this.#link),
    });
  }

  /** What is said to be under way. */
  asked: readonly UnderWay[] = [];
  pageFetched(): void {
    this.pagesFetched++;
  }

  underWay(): readonly UnderWay[] {
    return this.asked;
  }

  async compare(request: CompareRequest): Promise<Written<Comparison>> {
    this.calls.push(`compare ${JSON.stringify(request)}`);
    return Written.of(spelled(compareRuns([])));
  }

  async series(id: string, range: SeriesRange): Promise<Written<SeriesView>> {
    const { points, fromS = 0, toS = Number.POSITIVE_INFINITY } = range;
    this.calls.push(`series ${points} ${fromS} ${toS}`);
    const samples = samplesBetween(fromS, Math.min(this.#known(id).seconds ?? 0, toS));
    return Written.of(thinnedTo(points, samples));
  }

  /** Nothing is ever being read here. */
  async seriesPart(_id: string, _points: number, _after: number): Promise<Written<SeriesPart>> {
    return Written.of({ share: 1, toS: 0, series: {} });
  }

  #known(id: string): RunSummary {
    const summary = this.#ended.find((r) => r.id === id);
    if (!summary) throw new HandbackError('library.path', saying('error.no-run', { id }));
    return summary;
  }

  #nowS(): number {
    return this.#run ? (this.#clock.nowUs() - this.#run.startUs) / 1e6 : 0;
  }

  #runState(): RunState | null {
    const run = this.#run;
    if (!run) return null;
    return {
      id: run.id,
      job: run.job,
      purpose: run.purpose,
      startedAt: new Date(this.#clock.wallMs() - this.#nowS() * 1000).toISOString(),
      seconds: this.#nowS(),
      samples: Math.round(this.#nowS() * 31),
      marks: this.#marks,
      trouble: null,
    };
  }

  #summary(run: { id: string; purpose: string; vehicle: string | null }, seconds: number): RunSummary {
    const startedAt = new Date(this.#clock.wallMs() - seconds * 1000).toISOString();
    return { id: run.id, purpose: run.purpose, startedAt, seconds, vehicle: run.vehicle, closed: true };
  }

  #sayBoost(atS: number): Spoken {
    return {
      atS,
      finding: boostFault(pullsUntil(atS)),
      sentence: 'No boost at the last engagement. Pull once more from 1200 rpm.',
    };
  }

  #tick(): void {
    const now = this.#nowS();
    const fresh = samplesBetween(this.#sentS, now);
    if (Object.keys(fresh).length > 0) this.emit('samples', fresh);
    const missedBefore = pullsUntil(this.#sentS).filter((p) => p.held === false).length;
    const missedNow = pullsUntil(now).filter((p) => p.held === false).length;
    this.#sentS = now;
    this.emit('view', viewAt(now));
    if (missedNow > missedBefore) {
      const spoken = this.#sayBoost(now);
      this.#spoken.push(spoken);
      this.emit('spoken', spoken);
    }
    if (Math.floor(now) !== Math.floor(now - 0.2)) this.emit('state', this.state());
    this.#timer = this.#clock.after(200, () => this.#tick());
  }
}

function bandOf(pull: Pull): ExpectedBand {
  const t = Array.from({ length: 25 }, (_, i) => pull.fromS + i * 0.24);
  const expected = t.map((s) => drive(s).expected);
  return { t, lowKpa: expected.map((k) => k - 8), highKpa: expected.map((k) => k + 8) };
}
