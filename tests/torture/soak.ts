/**
 * Hours on the road with faults of all kinds, by a seed: `npx tsx tests/torture/soak.ts [HOURS] [SEED]`. One session each
 * over a text adapter and over serial-line CAN, half of the hours each. Characters lost both ways, noise, answers late or
 * not at all, ignition off and cranking, the cable pulled with and without a word; every six minutes another adapter is
 * plugged in, every other one of which refuses frames, forgets prompts or is late, or sits in a car that says "pending"
 * first, is busy, or answers over the newer services.
 * Judged by what the units truly gave and what truly reached the bus, read here anew.
 */
import { fileURLToPath } from 'node:url';
import type { WireEvent } from '../../src/adapter/adapter.ts';
import { ManualClock } from '../../src/core/clock.ts';
import { saying } from '../../src/core/error-says.ts';
import { HandbackError } from '../../src/core/errors.ts';
import { toHex } from '../../src/core/hex.ts';
import { type Random, seededRandom } from '../../src/core/random.ts';
import { asIs } from '../../src/core/says.ts';
import type { Link, LinkEvent, LinkFactory } from '../../src/link/link.ts';
import { VehicleSession } from '../../src/poll/session.ts';
import { type SimulationOptions, simLinkFactory } from '../../src/sim/bench.ts';
import type { CanFrame } from '../../src/sim/ecu/bus.ts';
import { askedBy } from './requests.ts';
import { steadyCar } from './steady-car.ts';

const WANTED = ['map_kpa', 'rpm', 'speed_kmh', 'pedal_d_pct', 'load_pct', 'timing_deg'];
export const FAULTS = [
  'loss',
  'noise',
  'late',
  'mute',
  'ignition',
  'cranking',
  'unplugged',
  'silent',
] as const;
type Fault = (typeof FAULTS)[number];

const SEGMENT_S = 360;
/** After a fault the session may come back, and how many PIDs go into a request is found out anew, before pace counts. */
const SETTLE_S = 15;
const STEP_MS = 200;

const ODD: Readonly<Record<'at' | 'slcan', readonly Partial<SimulationOptions>[]>> = {
  at: [
    { late: { share: 0.02, ms: 300 } },
    { pendingServices: [1] },
    { quirks: ['lost-prompt=0.01'] },
    { quirks: ['stall=0.002'] },
    { quirks: ['no-count-digit'] },
    { busy: 0.05 },
    { services: 'newer' },
  ],
  slcan: [
    { late: { share: 0.02, ms: 300 } },
    { pendingServices: [1] },
    { quirks: ['refuses-frames=0.05'] },
    { quirks: ['ack-z'] },
    { quirks: ['no-ack'] },
    { busy: 0.05 },
    { services: 'newer' },
  ],
};

export interface Soaked {
  readonly front: 'at' | 'slcan';
  readonly hours: number;
  readonly faults: Readonly<Record<Fault, number>>;
  readonly requests: number;
  readonly messages: number;
  /** Messages taken that no unit gave since their request. */
  readonly wrong: readonly string[];
  /** Such as came while characters were being changed: no checksum tells. */
  readonly wrongInNoise: number;
  readonly forbidden: readonly string[];
  readonly reopened: number;
  /** Values a second between faults on sound adapters, and on the same adapter without any fault before. */
  readonly perSecond: number;
  readonly limitPerSecond: number;
}

class Road {
  readonly clock = new ManualClock();
  fault: Fault | null = null;
  readonly random: Random;
  readonly answers: { tUs: number; response: string }[] = [];
  readonly forbidden: string[] = [];
  requests = 0;
  #changedUs = Number.NEGATIVE_INFINITY;
  #open: Link | null = null;

  constructor(seed: string) {
    this.random = seededRandom(seed);
  }

  /** Characters that arrived since then had been changed. */
  noisySince(tUs: number): boolean {
    return this.#changedUs >= tUs;
  }

  heardFrame(frame: CanFrame): void {
    const asked = askedBy(frame);
    if (asked.is === 'nothing' || asked.is === 'astray') return;
    this.requests++;
    if (asked.is === 'other') this.forbidden.push(asked.hex);
  }

  gave(tUs: number, response: string): void {
    this.answers.push({ tUs, response });
    if (this.answers.length > 4000) this.answers.splice(0, 2000);
  }

  unplug(): void {
    void this.#open?.close();
  }

  /** The adapter that is plugged in now, behind whatever the road does. */
  factory(inner: () => LinkFactory, lossShare: number): LinkFactory {
    const lose = (bytes: Uint8Array): Uint8Array =>
      this.fault === 'loss' ? bytes.filter(() => this.random.next() >= lossShare) : bytes;
    return {
      name: 'the road',
      baudRates: [],
      open: async (options) => {
        if (this.fault === 'unplugged') throw new HandbackError('link.open', saying('error.sim-busy'));
        const link = await inner().open(options);
        let listener: ((event: LinkEvent) => void) | null = null;
        let closed = false;
        let dueUs = Number.NEGATIVE_INFINITY;
        const tell = (event: LinkEvent): void => {
          if (closed) return;
          if (event.kind === 'closed') closed = true;
          listener?.(event);
        };
        link.listen((event) => {
          if (event.kind === 'closed') return tell(event);
          if (this.fault === 'silent' || this.fault === 'mute') return;
          const bytes = lose(this.#noise(event.bytes, event.tUs));
          if (bytes.length === 0) return;
          // A line keeps its order: what comes behind something late is late, too.
          if (this.fault === 'late' && this.random.next() < 0.02) dueUs = this.clock.nowUs() + 250_000;
          const waitMs = (dueUs - this.clock.nowUs()) / 1000;
          if (waitMs <= 0) tell({ ...event, bytes });
          else this.clock.after(waitMs, () => tell({ kind: 'data', tUs: this.clock.nowUs(), bytes }));
        });
        const outer: Link = {
          name: link.name,
          listen: (to) => {
            listener = to;
          },
          write: (bytes) => {
            const left = this.fault === 'silent' ? bytes.subarray(0, 0) : lose(bytes);
            return left.length > 0 ? link.write(left) : Promise.resolve();
          },
          close: async () => {
            tell({ kind: 'closed', tUs: this.clock.nowUs(), why: asIs('cable vanished') });
            await link.close();
          },
        };
        this.#open = outer;
        return outer;
      },
    };
  }

  #noise(bytes: Uint8Array, tUs: number): Uint8Array {
    if (this.fault !== 'noise') return bytes;
    return bytes.map((b) => {
      if (this.random.next() >= 0.001) return b;
      this.#changedUs = tUs;
      return b ^ (1 << Math.floor(7 * this.random.next()));
    });
  }
}

export async function soak(front: 'at' | 'slcan', hours: number, seed: number): Promise<Soaked> {
  const road = new Road(`soak ${front} ${seed}`);
  const { clock, random } = road;
  const quiet = steadyCar(() => clock.nowUs() / 1e6);
  const vehicle = {
    ...quiet,
    get timeS() {
      return clock.nowUs() / 1e6;
    },
    get ignition() {
      return road.fault !== 'ignition' && road.fault !== 'cranking';
    },
    signal: (name: string) => (name === 'voltage_v' && road.fault === 'cranking' ? 8.8 : quiet.signal(name)),
  };
  let sim: ReturnType<typeof simLinkFactory> | null = null;
  let plugged = 0;
  const plug = (odd: Partial<SimulationOptions>): void => {
    sim?.close();
    sim = simLinkFactory({
      vehicle,
      clock,
      front,
      pace: 115_200,
      responseMs: 15,
      jitterMs: 1,
      seed: `${seed} ${plugged++}`,
      onFrame: (frame) => road.heardFrame(frame),
      onAnswer: (a) => road.gave(a.tUs, toHex(a.response)),
      ...odd,
    });
  };
  plug({});
  let sentUs = 0;
  let messages = 0;
  const wrong: string[] = [];
  let wrongInNoise = 0;
  let samples = 0;
  const tap = (e: WireEvent): void => {
    if (e.kind === 'request') sentUs = e.tUs;
    if (e.kind !== 'done') return;
    for (const m of e.messages ?? []) {
      messages++;
      const payload = toHex(m.payload);
      if (/^7F..78$/.test(payload)) continue; // no value, and the units do not tell of it
      if (road.answers.findLast((a) => a.response === payload && a.tUs >= sentUs)) continue;
      // Told from older ones only by time: one that a unit gave before, too, is no other value.
      if (road.noisySince(sentUs)) wrongInNoise++;
      else wrong.push(`${payload} at ${(clock.nowUs() / 1e6).toFixed(1)} s, ${road.fault ?? 'no fault'}`);
    }
  };
  // Loss that a text adapter is asked through, and that serial-line CAN is refused for.
  const factory = road.factory(() => sim!, front === 'at' ? 0.01 : 0.005);
  const session = new VehicleSession({ factory, family: front, clock, tap, wanted: WANTED });
  session.samples$.subscribe(() => samples++);
  await clock.until(session.start(), 20, 120_000);
  await clock.advance(1000 * SETTLE_S);
  const ratedFrom = samples;
  await clock.advance(60_000);
  const limitPerSecond = (samples - ratedFrom) / 60;

  const faults = Object.fromEntries(FAULTS.map((f) => [f, 0])) as Record<Fault, number>;
  const endUs = clock.nowUs() + 3.6e9 * hours;
  let counted = 0;
  let countedS = 0;
  const between = async (seconds: number, counts: boolean): Promise<void> => {
    // Back first, however long that takes: then it is between faults.
    for (let s = 0; session.state.phase !== 'connected' && s < 120; s++) await clock.advance(1000);
    await clock.advance(1000 * SETTLE_S);
    const before = samples;
    const connected = session.state.phase === 'connected';
    await clock.advance(1000 * seconds);
    if (!counts || !connected) return;
    counted += samples - before;
    countedS += seconds;
  };
  for (let segment = 0; clock.nowUs() < endUs; segment++) {
    const sound = segment % 2 === 0;
    const odd = ODD[front][Math.floor(random.next() * ODD[front].length)]!;
    road.fault = 'unplugged';
    faults.unplugged++;
    road.unplug();
    plug(sound ? {} : odd);
    await clock.advance(1000 * (1 + 5 * random.next()));
    road.fault = null;
    const segmentEndUs = Math.min(endUs, clock.nowUs() + SEGMENT_S * 1e6);
    while (clock.nowUs() < segmentEndUs) {
      await between(20 + 40 * random.next(), sound);
      const fault = FAULTS[Math.floor(random.next() * FAULTS.length)]!;
      faults[fault]++;
      road.fault = fault;
      if (fault === 'unplugged') road.unplug();
      const seconds = fault === 'cranking' ? 1 + 2 * random.next() : 1 + 14 * random.next();
      for (let ms = 0; ms < 1000 * seconds; ms += STEP_MS) await clock.advance(STEP_MS);
      road.fault = null;
    }
  }
  const { reopened } = session.counters();
  await clock.until(session.stop(), 20);
  (sim as unknown as { close(): void }).close();
  const { requests, forbidden } = road;
  const result = { front, hours, faults, requests, messages, wrong, wrongInNoise, forbidden, reopened };
  return { ...result, perSecond: counted / countedS, limitPerSecond };
}

/** What is promised: nothing wrong but what no checksum can tell, nothing forbidden, the pace back after each fault. */
export function isKept(s: Soaked): boolean {
  return s.wrong.length === 0 && s.forbidden.length === 0 && s.perSecond >= 0.95 * s.limitPerSecond;
}

if (process.argv[1] === fileURLToPath(import.meta.url)) {
  const [hours = '8', seed = '1', ...fronts] = process.argv.slice(2);
  const both = fronts.length > 0 ? (fronts as ('at' | 'slcan')[]) : (['at', 'slcan'] as const);
  for (const front of both) {
    const s = await soak(front, Number(hours) / 2, Number(seed));
    console.log(JSON.stringify({ ...s, kept: isKept(s) }));
    if (!isKept(s)) process.exitCode = 1;
  }
}
