/**
 * One vehicle on one link for as long as it takes: connects, finds out what can be asked, polls, notices silence,
 * reopens by itself and goes on. The run being recorded never notices more than a gap.
 */

import { BehaviorSubject, type Observable, Subject } from 'rxjs';
import {
  type AdapterInfo,
  type Exchange,
  newPort,
  type PortMemory,
  type WireEvent,
  type WireTap,
} from '../adapter/adapter.ts';
import type { Clock } from '../core/clock.ts';
import { saying } from '../core/error-says.ts';
import { HandbackError, inEnglish, toldOf, withHint } from '../core/errors.ts';
import { asIs, inTurn, type Says } from '../core/says.ts';
import type { Sample } from '../core/signals.ts';
import { say } from '../core/wire-says.ts';
import { decodeNegative, type NegativeResponse, refusalOf } from '../j1979/negative.ts';
import { WireReader } from '../j1979/reader.ts';
import { splitCurrentData } from '../j1979/split.ts';
import { abortable } from '../link/abortable.ts';
import type { LinkFactory } from '../link/link.ts';
import { Asking } from './asking.ts';
import { type LinkCounters, LinkTally } from './counters.ts';
import { type ClearEvidence, connectGuarded } from './gate.ts';
import { type ControlUnit, identifyVehicle, type Vehicle } from './identify.ts';
import { Pauses } from './pauses.ts';
import { DEFAULT_SIGNALS, type Plan, planPids } from './plan.ts';
import { Preamble } from './preamble.ts';
import { Scheduler, type Shortfall, type Silence } from './scheduler.ts';
import { whySilent } from './why-silent.ts';

export interface SessionOptions {
  readonly factory: LinkFactory;
  readonly family: string;
  /** Only this line speed, bit/s. */
  readonly baud?: number;
  readonly clock: Clock;
  /** Gets every wire event in order, before anything is made of it. Times are the clock's. */
  readonly tap: WireTap;
  /** Signals to poll; default: all that the road test can use. */
  readonly wanted?: readonly string[];
  /** From one request for a fast signal to the next, at least. Default: what is wanted; 0 asks as fast as the link goes, to measure it. */
  readonly fastRestUs?: number;
}

export interface SessionState {
  readonly phase: 'connecting' | 'connected' | 'lost' | 'stopped';
  /** For the technician: what is the case, and what to try when it is not well. */
  readonly says: Says;
  /** The same in English, for logs. */
  readonly sentence: string;
  readonly adapter: AdapterInfo | null;
  readonly vehicle: { readonly vin: string | null; readonly controlUnits: readonly string[] } | null;
  /** Signals being asked. */
  readonly signals: readonly string[];
  /** Wanted signals that this vehicle does not offer. */
  readonly missing: readonly string[];
  /** PIDs that stopped answering and are asked less often, with the reason. */
  readonly silent: readonly Silence[];
}

/** Expected answers that stay away this long mean that something is gone. */
const SILENCE_MS = { can: 3000, other: 8000 } as const;
const REOPEN_AFTER_MS = [200, 500, 1000, 2000, 5000] as const;
/** Every so many reopenings everything is searched anew, otherwise only what worked last is tried. */
const SEARCH_EVERY = 4;
const VEHICLE_WAIT_MS = [300, 500, 1000, 2000, 3000] as const;
/** Probes of a silent vehicle before the adapter is started anew. */
const VEHICLE_PROBES = 20;
const IDLE_MS = 1000;
const STOP_MS = 2000;

export class VehicleSession {
  readonly samples$: Observable<Sample>;
  readonly state$: Observable<SessionState>;
  readonly #options: SessionOptions;
  readonly #clock: Clock;
  readonly #links: ReturnType<typeof abortable>;
  readonly #samples = new Subject<Sample>();
  readonly #state: BehaviorSubject<SessionState>;
  /** Its state is that of a reader of the capture being recorded. */
  #reader = new WireReader();
  readonly #preamble = new Preamble();
  readonly #counting = new LinkTally();
  readonly #pauses: Pauses;
  readonly #asking: Asking;
  #last: { family: string; baud: number | null } | undefined;
  readonly #port: PortMemory;
  #vehicle: Vehicle | null = null;
  #unit: ControlUnit | null = null;
  #plan: Plan = { pids: [], signals: [], missing: [] };
  #scheduler: Scheduler | null = null;
  #samplesOfExchange = 0;
  #running: Promise<void> | null = null;

  constructor(options: SessionOptions) {
    this.#options = options;
    this.#clock = options.clock;
    this.#pauses = new Pauses(options.clock);
    this.#asking = new Asking(options.clock, this.#counting, this.#pauses);
    // A speed that somebody named is kept.
    this.#port = newPort(options.baud === undefined);
    this.#links = abortable(options.factory, options.clock);
    this.#state = new BehaviorSubject<SessionState>({
      phase: 'connecting',
      ...worded(saying('link.looking', { link: options.factory.name })),
      adapter: null,
      vehicle: null,
      signals: [],
      missing: [],
      silent: [],
    });
    this.samples$ = this.#samples.asObservable();
    this.state$ = this.#state.asObservable();
  }

  /** Resolves when the vehicle is found and polling runs; rejects with link.*, adapter.* or vehicle.silent. */
  async start(): Promise<void> {
    if (this.#running) throw new HandbackError('internal', asIs('the session runs already'));
    try {
      await this.#connect('anew');
    } catch (thrown) {
      this.#say('stopped', withHint(thrown));
      throw thrown;
    }
    this.#running = this.#run();
  }

  /** Ends polling and closes the link; never rejects, bounded in time. */
  async stop(): Promise<void> {
    if (this.#pauses.stopped) return this.#running ?? undefined;
    this.#pauses.stop();
    const cut = () => this.#links.abort(say('wire.stopped'));
    if (!this.#running) cut();
    const timer = this.#clock.after(STOP_MS, cut);
    await this.#running;
    timer.cancel();
    this.#say('stopped', saying('link.disconnected'));
    this.#samples.complete();
    this.#state.complete();
  }

  counters(): LinkCounters {
    return this.#counting.read(this.#clock.nowUs(), this.#asking.adapter?.damaged ?? 0);
  }

  /** Signals that come less often than wanted, as it is now. */
  shortfalls(): readonly Shortfall[] {
    return this.#scheduler?.shortfalls() ?? [];
  }

  /**
   * For a capture that begins now: what was found out before and its samples need to be read. From here on
   * `samples$` brings what a replay of that capture brings.
   */
  beginCapture(): readonly WireEvent[] {
    const events = this.#preamble.events();
    this.#reader = new WireReader();
    for (const event of events) this.#reader.read(event);
    return events;
  }

  /** The state as it is now. */
  get state(): SessionState {
    return this.#state.value;
  }

  /**
   * One request of SAE J1979 through the gate, between two polls: for snapshots. To a vehicle that answers over the
   * newer services it goes as one of those, and the answer comes back as if it were not so. "Busy" and "pending" answers are waited for.
   * @param ecu response address of the control unit to ask; absent = all.
   * @throws HandbackError gate.refused; link.lost while not connected
   */
  request(payload: Uint8Array, ecu?: string): Promise<Exchange> {
    return this.#asking.askOnly({ payload, ...(ecu === undefined ? {} : { ecu }) });
  }

  /**
   * Service 04, or 14 in its place, behind its guard: engine and vehicle speed are read from every control unit here and now.
   * @throws HandbackError gate.refused with what is missing
   */
  clearCodes(proof: Pick<ClearEvidence, 'snapshotSavedAs' | 'typed'>): Promise<Exchange> {
    return this.#asking.clearCodes(proof);
  }

  /** Engine and vehicle speed read now, the highest of all control units; NaN where none tells. */
  standstill(): Promise<{ readonly rpm: number; readonly speedKmh: number }> {
    return this.#asking.standstill();
  }

  readonly #tap = (event: WireEvent): void => {
    this.#options.tap(event);
    this.#counting.event(event);
    this.#preamble.add(event);
    const { samples } = this.#reader.read(event);
    if (event.kind === 'done') this.#samplesOfExchange = samples.length;
    for (const s of samples) {
      this.#counting.sample(this.#clock.nowUs());
      this.#samples.next(s);
    }
  };

  #tapLink(state: 'lost' | 'reopening' | 'closed', text: string): void {
    this.#tap({ kind: 'link', tUs: this.#clock.nowUs(), state, text });
  }

  #say(phase: SessionState['phase'], says: Says): void {
    const vehicle = this.#vehicle;
    this.#state.next({
      phase,
      ...worded(says),
      adapter: this.#asking.adapter?.info ?? null,
      vehicle: vehicle && { vin: vehicle.vin, controlUnits: vehicle.units.map((u) => u.ecu) },
      signals: this.#plan.signals,
      missing: this.#plan.missing,
      silent: this.#scheduler?.silences() ?? [],
    });
  }

  /** @param where to search anew, or how many times what worked last was already tried */
  async #connect(where: 'anew' | number): Promise<void> {
    const { family, baud } = this.#options;
    const known = this.#last;
    const narrow = where !== 'anew' && known;
    const { raised } = this.#port;
    // One that lost its power is back at its own speed.
    const again = narrow && where % 2 === 1 && raised?.to === known.baud ? raised?.from : known?.baud;
    const speed = narrow ? (again ?? undefined) : baud;
    const adapter = await connectGuarded(this.#links.factory, {
      family: narrow ? known.family : family,
      ...(speed === undefined ? {} : { baud: speed }),
      ...(known ? { last: known } : {}),
      memory: this.#port,
      tap: this.#tap,
      clock: this.#clock,
      cancelled: () => this.#pauses.stopped,
    });
    this.#asking.adapter = adapter;
    this.#last = { family: adapter.info.family, baud: adapter.info.baud };
    try {
      if (!(await this.#identify()))
        throw new HandbackError(
          'vehicle.silent',
          saying('error.stopped-answering', {
            why: this.#asking.lastWhy ?? saying('error.nothing-back'),
          }),
          {
            hint: saying('error.stopped-answering-hint'),
          },
        );
    } catch (thrown) {
      this.#asking.adapter = null;
      await adapter.close();
      throw thrown;
    }
  }

  /** False when no control unit answers. */
  async #identify(): Promise<boolean> {
    const vehicle = await identifyVehicle((request) => this.#asking.askOnly(request));
    if (!vehicle) return false;
    const before = this.#vehicle?.vinCertain ? this.#vehicle.vin : null;
    const { wanted = DEFAULT_SIGNALS, fastRestUs } = this.#options;
    const plans = vehicle.units.map((unit) => ({ unit, plan: planPids(wanted, unit.supported, fastRestUs) }));
    // The control unit that offers most of what is wanted; the lowest address where that is undecided.
    const [best] = plans.sort((a, b) => b.plan.signals.length - a.plan.signals.length);
    if (!best) return false;
    this.#vehicle = vehicle;
    this.#unit = best.unit;
    this.#plan = best.plan;
    const adapter = this.#asking.connected();
    const { info } = adapter;
    const fits = (pids: readonly number[]) =>
      adapter.formOf(this.#asking.spoken(Uint8Array.of(0x01, ...pids))) !== null;
    this.#scheduler = new Scheduler(best.plan.pids, info.maxPidsPerRequest, this.#clock.nowUs(), fits);
    const said = [
      saying('link.connected', { bus: info.bus, ecu: best.unit.ecu, n: best.plan.signals.length }),
    ];
    if (best.plan.signals.length === 0) said.push(saying('link.no-signals'));
    if (before && vehicle.vinCertain && before !== vehicle.vin) said.push(saying('link.other-car'));
    if (vehicle.vin !== null && !vehicle.vinCertain)
      said.push(saying('link.vin-unsure', { vin: vehicle.vin }));
    this.#say('connected', inTurn(said));
    return true;
  }

  async #run(): Promise<void> {
    while (!this.#pauses.stopped) {
      const why = await this.#poll().catch((thrown: unknown) => toldOf(thrown));
      if (this.#pauses.stopped) break;
      this.#tapLink('lost', inEnglish(why));
      this.#say('lost', this.#port.lossy ? saying('link.lossy') : saying('link.no-contact', { why }));
      const adapter = this.#asking.adapter;
      this.#asking.adapter = null;
      this.#counting.closed(adapter?.damaged ?? 0);
      await adapter?.close();
      if (adapter) this.#last = { family: adapter.info.family, baud: adapter.info.baud };
      await this.#reopen();
    }
    const adapter = this.#asking.adapter;
    this.#asking.adapter = null;
    await adapter?.close();
    this.#tapLink('closed', 'closed by the user');
  }

  async #reopen(): Promise<void> {
    for (let attempt = 0; !this.#pauses.stopped; attempt++) {
      await this.#pauses.pause(REOPEN_AFTER_MS[Math.min(attempt, REOPEN_AFTER_MS.length - 1)]!);
      if (this.#pauses.stopped) return;
      this.#tapLink('reopening', `attempt ${attempt + 1}`);
      try {
        await this.#connect(attempt % SEARCH_EVERY === SEARCH_EVERY - 1 ? 'anew' : attempt);
        this.#counting.reopened++;
        return;
      } catch (thrown) {
        this.#say('lost', saying('link.again', { n: attempt + 1, why: withHint(thrown) }));
      }
    }
  }

  /** Asks until the link is judged gone; returns why. */
  async #poll(): Promise<Says> {
    const { bus } = this.#asking.connected().info.dialect;
    const silenceUs = SILENCE_MS[bus === 'can11' || bus === 'can29' ? 'can' : 'other'] * 1000;
    let heardUs = this.#clock.nowUs();
    while (!this.#pauses.stopped) {
      const scheduler = this.#scheduler;
      const nowUs = this.#clock.nowUs();
      const pids = scheduler?.next(nowUs) ?? [];
      const dueUs = scheduler?.dueUs() ?? null;
      if (pids.length === 0 && dueUs !== null) {
        await this.#pauses.pause(Math.max(1, Math.min(IDLE_MS, Math.ceil((dueUs - nowUs) / 1000))));
        continue;
      }
      const x = pids.length > 0 ? await this.#askPids(pids) : await this.#askAlive();
      if (x.outcome === 'lost') return x.why ?? say('wire.link-closed');
      if (x.messages.length > 0) {
        heardUs = this.#clock.nowUs();
        continue;
      }
      if (this.#clock.nowUs() - heardUs < silenceUs) continue;
      if (x.outcome === 'timeout') return x.why ?? say('wire.adapter-silent');
      const gone = await this.#waitForVehicle(x.why ?? say('wire.no-answer'));
      if (gone !== null) return gone;
      heardUs = this.#clock.nowUs();
    }
    return say('wire.stopped');
  }

  async #askPids(pids: readonly number[]): Promise<Exchange> {
    const payload = Uint8Array.of(0x01, ...pids);
    const x = await this.#asking.ask({ payload, ...this.#ecu() });
    const answered = new Set<number>();
    for (const m of x.messages) {
      const split = splitCurrentData(m.payload, x.asked.subarray(1));
      if (split.ok) for (const part of split.parts) answered.add(part.pid);
    }
    const nowUs = this.#clock.nowUs();
    const roundTripUs = x.doneUs - x.sentUs;
    const before = this.#scheduler?.silences().length;
    const refused = negativeCode(x);
    const why =
      refused === null
        ? (x.why ?? say('wire.not-in-answer'))
        : say('wire.refused', { code: refused.code.toString(16), reason: refusalOf(refused) });
    this.#scheduler?.done(pids, [...answered], roundTripUs, nowUs, why);
    if (answered.size > 0) this.#counting.answer(roundTripUs, this.#samplesOfExchange);
    if (this.#scheduler?.silences().length !== before) this.#say('connected', this.#state.value.says);
    return x;
  }

  /** Nothing to poll: one small request now and then tells that everything is still there. */
  async #askAlive(): Promise<Exchange> {
    await this.#pauses.pause(IDLE_MS);
    return this.#asking.ask({ payload: Uint8Array.of(0x01, 0x00), ...this.#ecu() });
  }

  /** The adapter answers, the vehicle does not: ignition off? Waits for it. @returns why the link is gone, or null. */
  async #waitForVehicle(why: Says): Promise<Says | null> {
    let timeouts = 0;
    for (let n = 0; n < VEHICLE_PROBES && !this.#pauses.stopped; n++) {
      const x = await this.#asking.ask({ payload: Uint8Array.of(0x01, 0x00), withSupply: n >= 1 });
      if (x.outcome === 'lost') return x.why ?? say('wire.link-closed');
      if (x.messages.length > 0) {
        if (n > 0 && !(await this.#identify())) continue;
        this.#scheduler?.forgive(this.#clock.nowUs());
        return null;
      }
      if (x.outcome === 'timeout' && ++timeouts >= 2) return x.why ?? say('wire.adapter-silent');
      if (n >= 1) this.#say('lost', whySilent(x, why, this.#asking.hasDipped));
      await this.#pauses.pause(VEHICLE_WAIT_MS[Math.min(n, VEHICLE_WAIT_MS.length - 1)]!);
    }
    return say('wire.vehicle-silent');
  }

  #ecu(): { ecu?: string } {
    const ecu = this.#unit?.ecu;
    return ecu === undefined || ecu === '?' ? {} : { ecu };
  }
}

/** The reason when every answer is negative; null otherwise. */
function negativeCode(x: Exchange): NegativeResponse | null {
  const [first] = x.messages;
  return first && x.messages.every((m) => m.payload[0] === 0x7f) ? decodeNegative(first.payload) : null;
}

const worded = (says: Says): Pick<SessionState, 'says' | 'sentence'> => ({ says, sentence: inEnglish(says) });
