/** Puts a simulated vehicle, its control units, its bus and an adapter together, and serves them on a wire. */

import { type Clock, sleep, type Timer } from '../core/clock.ts';
import { saying } from '../core/error-says.ts';
import { HandbackError } from '../core/errors.ts';
import { type Random, seededRandom } from '../core/random.ts';
import type { Link, LinkFactory } from '../link/link.ts';
import { pipePair } from '../link/pipe.ts';
import { type CanFrame, SimBus } from './ecu/bus.ts';
import { responderOf, type UnitName } from './ecu/content.ts';
import { KLine, type KlineKind } from './ecu/kline.ts';
import { newerResponderOf } from './ecu/newer.ts';
import { Traffic } from './ecu/traffic.ts';
import { type Late, SimControlUnit, type UnitAnswer } from './ecu/unit.ts';
import type { HostWire } from './front/front.ts';
import { FRONTS, type FrontName, USUAL_FRONT } from './front/fronts.ts';
import { mindsSpeed, SerialLine } from './front/line.ts';
import { type Quirks, readQuirks } from './front/quirks.ts';
import { orderlyClock } from './orderly-clock.ts';
import { openPty, type Pty } from './pty.ts';
import { SimReceiver, type SimReceiverOptions } from './receiver.ts';
import type { SimVehicle } from './types.ts';

export interface SimulationOptions {
  readonly vehicle: SimVehicle;
  readonly clock: Clock;
  /** Dialect of the adapter. Default at. */
  readonly front?: FrontName;
  /** Line speed of the adapter in bit/s; null = no pacing. Default 115200. */
  readonly pace?: number | null;
  /** Simulated seconds in each second of the clock, 0.1 to 100. Default 1. */
  readonly speedup?: number;
  /** For jitter, noise and quirks. Default 1. */
  readonly seed?: number | string;
  /** Of QUIRKS, as NAME or NAME=VALUE. */
  readonly quirks?: readonly string[];
  /** A satellite receiver lies on the dashboard. */
  readonly receiver?: SimReceiverOptions;
  /** What the vehicle's diagnostic bus is. Default 11 bit, 500 kbit/s. */
  readonly bus?: { readonly extended: boolean; readonly bitrate: 250_000 | 500_000 };
  /** The vehicle has a K-line instead of a CAN bus; text adapter only. */
  readonly kline?: KlineKind;
  /** On a K-line of ISO 14230: units answer only to their own address. */
  readonly physicalOnly?: boolean;
  /** `newer`: control units answer the services of ISO 14229 as SAE J1979-2 uses them. CAN only. Default classic. */
  readonly services?: 'classic' | 'newer';
  /** Share of requests that a control unit refuses as busy (negative response 21). CAN only. Default none. */
  readonly busy?: number;
  /** Answer time of control units in ms: at least, and up to this much more. Defaults 8 and 8. */
  readonly responseMs?: number;
  readonly jitterMs?: number;
  /** The share of answers that takes so many ms longer. CAN only. Default none. */
  readonly late?: Late;
  /** Frames a second of other units. Default 0. */
  readonly traffic?: number;
  /** Services answered late, after a negative response 78. Default none. */
  readonly pendingServices?: readonly number[];
  /** Hears every frame on the bus. */
  readonly onFrame?: (frame: CanFrame) => void;
  /** Hears everything that a control unit truly sends. */
  readonly onAnswer?: (answer: UnitAnswer) => void;
}

/** How often the vehicle is moved on when nobody asks, ms of the clock. */
const TICK_MS = 50;
/** A machine that slept, or a link that was closed, moves the vehicle on by no more than this. */
const MAX_CATCH_UP_S = 60;
const ABSENT_MS = 3000;
const UNITS: readonly UnitName[] = ['engine', 'transmission'];
const DEFAULT_PACE = 115_200;
const FALLBACK_VOLTAGE = 12.4;

export interface Simulation {
  readonly vehicle: SimVehicle;
  readonly line: SerialLine;
  readonly quirks: Quirks;
  readonly receiver: SimReceiver | null;
  /** What the host wrote. */
  fromHost(bytes: Uint8Array): void;
  /** While nobody is attached time goes on, up to a minute; a longer absence the vehicle waits out. */
  attach(wire: HostWire | null): void;
  close(): void;
}

/** @throws HandbackError input.usage for an unknown quirk or a number out of range. */
export function startSimulation(options: SimulationOptions): Simulation {
  const { vehicle } = options;
  const clock = orderlyClock(options.clock);
  const pace = within('pace', options.pace === undefined ? DEFAULT_PACE : options.pace, 300, 4_000_000);
  const speedup = within('speedup', options.speedup ?? 1, 0.1, 100) ?? 1;
  const traffic = within('traffic', options.traffic ?? 0, 0, 3500) ?? 0;
  const quirks = readQuirks(options.quirks ?? []);
  const random = seededRandom(`adapter/${options.seed ?? 1}`);
  const entry = FRONTS[options.front ?? USUAL_FRONT];
  refuseUnfit(options, entry.reachesKline);

  const catchUp = following(vehicle, clock, speedup);
  const bus = new SimBus(clock, options.bus?.bitrate ?? 500_000);
  const { onFrame } = options;
  if (onFrame) bus.attach({ awake: () => false, receive: onFrame });
  const { kline, units } = controlUnits(options, { clock, bus, random, catchUp });
  const line = new SerialLine({ clock, random: random.fork('line'), quirks, baud: pace });
  const front = entry.make({
    clock,
    bus,
    kline,
    quirks,
    random: random.fork('adapter'),
    voltage: () => vehicle.signal('voltage_v') ?? FALLBACK_VOLTAGE,
    send: (bytes) => line.toHost(bytes),
    line,
  });
  line.plug(front);
  const receiver = receiverAboard(options, clock, catchUp);

  let others: Traffic | null = null;
  let ticker: Timer | null = null;
  let restart: Timer | null = null;
  const tick = (): void => {
    catchUp();
    ticker = clock.after(TICK_MS, tick);
  };
  const rest = (): void => {
    ticker?.cancel();
    ticker = null;
    others?.close();
    others = null;
  };
  const restartS = quirks.get('restarts-after');
  return {
    vehicle,
    line,
    quirks,
    receiver,
    fromHost(bytes) {
      clock.settle();
      line.fromHost(bytes);
    },
    attach(wire) {
      line.attach(wire);
      rest();
      if (wire === null) return;
      tick();
      const powered = (): boolean => vehicle.ignition;
      if (traffic > 0) others = new Traffic(clock, bus, random.fork('traffic'), powered, traffic);
      if (restartS !== undefined) restart ??= clock.after(restartS * 1000, () => front.powerCycle());
    },
    close() {
      rest();
      restart?.cancel();
      receiver?.attach(null);
      line.attach(null);
      front.close();
      for (const unit of units) unit.close();
    },
  };
}

/** @throws HandbackError input.usage for what no such car has */
function refuseUnfit({ kline, services }: SimulationOptions, reachesKline: boolean): void {
  if (kline === undefined) return;
  if (services === 'newer')
    throw new HandbackError(
      'input.usage',
      saying('error.sim-unknown', { what: 'services', word: 'newer', known: 'classic' }),
    );
  if (!reachesKline)
    throw new HandbackError('input.usage', saying('error.sim-kline'), {
      hint: saying('error.sim-kline-hint'),
    });
}

/** Vehicle time follows the clock, exactly, however often or seldom this is called. */
function following(vehicle: SimVehicle, clock: Clock, speedup: number): () => void {
  let syncedUs = clock.nowUs();
  return () => {
    const nowUs = clock.nowUs();
    const passedS = (nowUs - syncedUs) / 1e6;
    syncedUs = nowUs;
    if (passedS > 0) vehicle.advance(Math.min(passedS * speedup, Math.max(MAX_CATCH_UP_S, speedup)));
  };
}

interface Aboard {
  readonly clock: Clock;
  readonly bus: SimBus;
  readonly random: Random;
  readonly catchUp: () => void;
}

/** Engine and transmission, on the CAN bus or on a K-line. */
function controlUnits(options: SimulationOptions, { clock, bus, random, catchUp }: Aboard) {
  const { vehicle } = options;
  const responders = UNITS.map((name) => {
    const respond = (options.services === 'newer' ? newerResponderOf : responderOf)(name, vehicle);
    return {
      name,
      respond: (request: Uint8Array, functional: boolean) => {
        catchUp();
        return respond(request, functional);
      },
    };
  });
  const onUnit = {
    clock,
    powered: () => vehicle.ignition,
    responseMs: options.responseMs ?? 8,
    jitterMs: options.jitterMs ?? 8,
    busy: within('busy', options.busy ?? 0, 0, 1) ?? 0,
    late: options.late ?? { share: 0, ms: 0 },
    pendingServices: options.pendingServices ?? [],
    onAnswer: (answer: UnitAnswer) => options.onAnswer?.(answer),
  };
  const { kline: kind, physicalOnly = false } = options;
  if (kind !== undefined) {
    const onLine = { ...onUnit, kind, physicalOnly, units: responders, random: random.fork('K-line') };
    return { kline: new KLine(onLine), units: [] };
  }
  const extended = options.bus?.extended ?? false;
  const units = responders.map(
    (unit) => new SimControlUnit({ ...onUnit, ...unit, bus, extended, random: random.fork(unit.name) }),
  );
  return { kline: null, units };
}

function receiverAboard(
  { receiver, seed = 1, vehicle }: SimulationOptions,
  clock: Clock,
  catchUp: () => void,
): SimReceiver | null {
  if (!receiver) return null;
  const timeS = (): number => {
    catchUp();
    return vehicle.timeS;
  };
  return new SimReceiver(receiver, seed, clock, () => vehicle.road, timeS);
}

function within(name: string, value: number | null, low: number, high: number): number | null {
  if (value === null || (value >= low && value <= high)) return value;
  throw new HandbackError(
    'input.usage',
    saying('error.sim-number', { name, value: String(value), low, high }),
  );
}

/** In process: each `open` is a new link to the same running vehicle. One link at a time, as on a real port. */
export interface SimLinkFactory extends LinkFactory {
  readonly simulation: Simulation;
  /** Of the receiver aboard. */
  readonly receiver?: LinkFactory;
  /** Ends the simulation and its timers. */
  close(): void;
}

const SPEEDS_TO_TRY = [38_400, 115_200, 9600, 230_400, 500_000, 1_000_000];

export function simLinkFactory(options: SimulationOptions): SimLinkFactory {
  const { clock } = options;
  const simulation = startSimulation(options);
  const name = 'simulated vehicle';
  const vanishS = simulation.quirks.get('vanishes-after');
  let current: Link | null = null;
  let absentUntilUs = Number.NEGATIVE_INFINITY;
  let closed = false;
  return {
    name,
    // Speed has no meaning in a pipe, unless the adapter insists on its own.
    baudRates: mindsSpeed(simulation.quirks) ? SPEEDS_TO_TRY : [],
    simulation,
    ...(simulation.receiver ? { receiver: receiverFactory(simulation.receiver, clock) } : {}),
    async open({ baud }) {
      if (closed || clock.nowUs() < absentUntilUs)
        throw new HandbackError('link.open', saying('error.sim-absent'), {
          hint: saying(closed ? 'error.sim-ended-hint' : 'error.sim-absent-hint'),
        });
      if (current !== null) throw new HandbackError('link.busy', saying('error.sim-busy'));
      const [near, far] = pipePair(clock, name);
      current = far;
      let hostBaud = baud ?? null;
      let vanishing: Timer | null = null;
      const gone = (): void => {
        vanishing?.cancel();
        if (current !== far) return;
        current = null;
        simulation.attach(null);
      };
      far.listen((event) => {
        if (event.kind === 'closed') gone();
        else if (current === far) simulation.fromHost(event.bytes);
      });
      simulation.attach({
        write: (bytes) => void far.write(bytes).catch(gone),
        hostBaud: () => hostBaud,
      });
      if (vanishS !== undefined)
        vanishing = clock.after(vanishS * 1000, () => {
          absentUntilUs = clock.nowUs() + ABSENT_MS * 1000;
          gone();
          void far.close();
        });
      if (!mindsSpeed(simulation.quirks)) return near;
      return Object.assign(near, {
        setBaud: async (speed: number) => {
          hostBaud = speed;
          return true;
        },
      });
    },
    close() {
      closed = true;
      const link = current;
      current = null;
      simulation.close();
      void link?.close();
    },
  };
}

/** In process; whoever opens it last is spoken to. */
function receiverFactory(receiver: SimReceiver, clock: Clock): LinkFactory {
  return {
    name: 'simulated receiver',
    baudRates: [],
    async open() {
      const [near, far] = pipePair(clock, 'simulated receiver');
      far.listen((event) => {
        if (event.kind === 'closed') receiver.attach(null);
      });
      receiver.attach((bytes) => void far.write(bytes).catch(() => undefined));
      return near;
    },
  };
}

/**
 * Behind a pseudo-terminal, for any program that opens serial ports.
 * @param at symbolic link that keeps pointing at the port
 * @throws HandbackError link.open where there are no pseudo-terminals
 */
export async function servePty(
  options: SimulationOptions & { readonly at?: string; readonly receiverAt?: string },
): Promise<{
  readonly port: string;
  /** Null without a receiver. */
  readonly receiverPort: string | null;
  readonly simulation: Simulation;
  close(): Promise<void>;
}> {
  const { clock, at, receiverAt } = options;
  const simulation = startSimulation(options);
  const vanishS = simulation.quirks.get('vanishes-after');
  let closed = false;
  let vanishing: Timer | null = null;
  const vanish = async (pty: Pty): Promise<void> => {
    simulation.attach(null);
    pty.close();
    await sleep(clock, ABSENT_MS);
    if (!closed) current = serve();
  };
  const serve = (): Pty => {
    const pty = openPty(at === undefined ? { clock } : { clock, at });
    vanishing = null;
    pty.listen((bytes) => {
      // Openings cannot be seen from this end; the first byte of a host can.
      if (vanishS !== undefined) vanishing ??= clock.after(vanishS * 1000, () => void vanish(pty));
      simulation.fromHost(bytes);
    });
    simulation.attach(pty);
    return pty;
  };
  let current: Pty;
  try {
    current = serve();
  } catch (thrown) {
    simulation.close();
    throw thrown;
  }
  let receiverPty: Pty | null = null;
  if (simulation.receiver) {
    try {
      receiverPty = openPty(receiverAt === undefined ? { clock } : { clock, at: receiverAt });
    } catch (thrown) {
      simulation.close();
      current.close();
      throw thrown;
    }
    receiverPty.listen(() => undefined);
    const { write } = receiverPty;
    simulation.receiver.attach((bytes) => write(bytes));
  }
  return {
    port: current.port,
    receiverPort: receiverPty?.port ?? null,
    simulation,
    async close() {
      closed = true;
      vanishing?.cancel();
      simulation.close();
      current.close();
      receiverPty?.close();
    },
  };
}
