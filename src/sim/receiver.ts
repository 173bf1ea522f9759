/**
 * A satellite receiver aboard the simulated vehicle: what a plain one sends of a road with height and bends, with the
 * errors that such receivers have. Sizes of errors are common practice, no source.
 */
import type { Clock, Timer } from '../core/clock.ts';
import { saying } from '../core/error-says.ts';
import { HandbackError } from '../core/errors.ts';
import { type Random, seededRandom } from '../core/random.ts';
import { checksum } from '../nmea/sentence.ts';
import type { SimRoad } from './types.ts';

export interface SimReceiverOptions {
  /** Fixes a second, 1 to 10. */
  readonly hz: number;
  /** Of RECEIVER_FAULTS, as NAME or NAME=VALUE. */
  readonly faults?: readonly string[];
}

export const RECEIVER_FAULTS = {
  tunnel: { title: 'no fix for a minute from this second on', low: 0, high: 86_400, usual: 120 },
  jumps: {
    title: 'this share of the seconds begins a jump of 30 to 200 m that lasts for some',
    low: 0,
    high: 1,
    usual: 0.01,
  },
  checksums: { title: 'this share of the lines has a wrong checksum', low: 0, high: 1, usual: 0.05 },
  noise: {
    title: 'this share of the lines has bytes between them that are no sentence',
    low: 0,
    high: 1,
    usual: 0.05,
  },
} as const;
type FaultName = keyof typeof RECEIVER_FAULTS;

const TUNNEL_S = 60;
/** Height and place wander slowly and flicker little: standard deviations in m, and how long they hold, s. */
const HEIGHT_WANDER_M = 4;
const PLACE_WANDER_M = 2.5;
const WANDER_S = 150;
const HEIGHT_NOISE_M = 0.3;
/** Speed comes from the carrier's frequency: far better than the place, m/s. */
const SPEED_NOISE_MPS = 0.05;
/** After a tunnel the height is off by so much, and comes back over so long. */
const REGAINED_M = 12;
const REGAINED_S = 25;
const JUMP_S = 4;
/** From the moment of a fix to its first and to its last line, ms. */
const LATE_MS = [90, 160] as const;
const M_PER_DEG = 111_195;
/** Somewhere at sea: the road is invented. */
const START = { latDeg: 46.5, lonDeg: -30.25 };

export class SimReceiver {
  readonly #clock: Clock;
  readonly #road: () => SimRoad;
  readonly #seconds: () => number;
  readonly #random: Random;
  readonly #hz: number;
  readonly #faults = new Map<FaultName, number>();
  readonly #place = { ...START };
  #write: ((bytes: Uint8Array) => void) | null = null;
  #timer: Timer | null = null;
  #wander = { height: 0, north: 0, east: 0 };
  #before: SimRoad | null = null;
  #regainedM = 0;
  #jump = { untilS: -1, m: 0 };
  #lastS = 0;

  /** @throws HandbackError input.usage */
  constructor(
    options: SimReceiverOptions,
    seed: number | string,
    clock: Clock,
    road: () => SimRoad,
    seconds: () => number,
  ) {
    const { hz, faults = [] } = options;
    if (!(hz >= 1 && hz <= 10))
      throw new HandbackError(
        'input.usage',
        saying('error.sim-number', { name: 'receiver', value: String(hz), low: 1, high: 10 }),
      );
    for (const text of faults) this.#faults.set(...faultOf(text));
    this.#hz = hz;
    this.#clock = clock;
    this.#road = road;
    this.#seconds = seconds;
    this.#random = seededRandom(`receiver/${seed}`);
    const r = this.#random;
    this.#wander = {
      height: HEIGHT_WANDER_M * r.normal(),
      north: PLACE_WANDER_M * r.normal(),
      east: PLACE_WANDER_M * r.normal(),
    };
  }

  /** Speaks while somebody listens. */
  attach(write: ((bytes: Uint8Array) => void) | null): void {
    this.#write = write;
    this.#timer?.cancel();
    this.#timer = null;
    if (write) this.#tick();
  }

  #tick(): void {
    this.#timer = this.#clock.after(1000 / this.#hz, () => this.#tick());
    const lines = this.#lines();
    this.#clock.after(LATE_MS[0], () => this.#send(lines.slice(0, 2)));
    this.#clock.after(LATE_MS[1], () => this.#send(lines.slice(2)));
  }

  #send(bodies: readonly string[]): void {
    const r = this.#random;
    let text = '';
    for (const body of bodies) {
      const wrong = r.next() < (this.#faults.get('checksums') ?? 0);
      const sum = checksum(body) ^ (wrong ? 1 + Math.floor(r.next() * 255) : 0);
      text += `$${body}*${sum.toString(16).toUpperCase().padStart(2, '0')}\r\n`;
      if (r.next() < (this.#faults.get('noise') ?? 0)) text += '\u00ff\u0000$GP\u0080\n';
    }
    this.#write?.(Buffer.from(text, 'latin1'));
  }

  #lines(): string[] {
    const r = this.#random;
    const nowS = this.#seconds();
    const dtS = Math.max(0, nowS - this.#lastS);
    this.#lastS = nowS;
    const road = this.#road();
    this.#move(road, dtS);
    const wall = new Date(this.#clock.wallMs());
    const iso = wall.toISOString();
    const time = `${iso.slice(11, 19).replaceAll(':', '')}.${iso.slice(20, 22)}`;
    const date = `${iso.slice(8, 10)}${iso.slice(5, 7)}${iso.slice(2, 4)}`;
    const tunnelS = this.#faults.get('tunnel');
    if (tunnelS !== undefined && nowS >= tunnelS && nowS < tunnelS + TUNNEL_S) {
      this.#regainedM = REGAINED_M * (r.next() < 0.5 ? -1 : 1);
      const nothing = Array(12).fill('').join(',');
      return [
        `GPRMC,${time},V,,,,,,,${date},,,N`,
        'GPVTG,,,,,,,,,N',
        `GPGGA,${time},,,,,0,00,99.99,,,,,,`,
        `GPGSA,A,1,${nothing},99.99,99.99,99.99`,
      ];
    }
    if (r.next() < (this.#faults.get('jumps') ?? 0) * dtS && nowS > this.#jump.untilS)
      this.#jump = { untilS: nowS + JUMP_S, m: r.between(30, 200) * (r.next() < 0.5 ? -1 : 1) };
    const off = nowS < this.#jump.untilS ? this.#jump.m : 0;
    const hdop = 0.9 + 0.02 * Math.abs(this.#wander.east);
    const heightM = road.heightM + this.#wander.height + this.#regainedM + off + HEIGHT_NOISE_M * r.normal();
    const lat = angle(this.#place.latDeg + (this.#wander.north + off) / M_PER_DEG, 2, 'N', 'S');
    const lon = angle(this.#place.lonDeg + this.#wander.east / M_PER_DEG, 3, 'E', 'W');
    const mps = Math.max(0, road.speedMps + SPEED_NOISE_MPS * r.normal());
    // A standing receiver has no course.
    const course = mps < 0.7 ? '' : ((((road.courseDeg + 2 * r.normal()) % 360) + 360) % 360).toFixed(2);
    const knots = ((mps * 3.6) / 1.852).toFixed(3);
    return [
      `GPRMC,${time},A,${lat},${lon},${knots},${course},${date},,,A`,
      `GPVTG,${course},T,,M,${knots},N,${(mps * 3.6).toFixed(3)},K,A`,
      `GPGGA,${time},${lat},${lon},1,09,${hdop.toFixed(2)},${heightM.toFixed(1)},M,46.9,M,,`,
      `GPGSA,A,3,03,07,09,14,17,19,22,28,30,,,,1.85,${hdop.toFixed(2)},${(1.6 * hdop).toFixed(2)}`,
    ];
  }

  #move(road: SimRoad, dtS: number): void {
    const r = this.#random;
    // By the middle of the step, so that a road lies in the same place however often it is looked at.
    const before = this.#before ?? road;
    this.#before = road;
    const speedMps = (before.speedMps + road.speedMps) / 2;
    const rad = (((before.courseDeg + road.courseDeg) / 2) * Math.PI) / 180;
    this.#place.latDeg += (speedMps * dtS * Math.cos(rad)) / M_PER_DEG;
    this.#place.lonDeg +=
      (speedMps * dtS * Math.sin(rad)) / (M_PER_DEG * Math.cos((this.#place.latDeg * Math.PI) / 180));
    const keep = Math.exp(-dtS / WANDER_S);
    const fresh = Math.sqrt(1 - keep * keep);
    this.#wander = {
      height: keep * this.#wander.height + fresh * HEIGHT_WANDER_M * r.normal(),
      north: keep * this.#wander.north + fresh * PLACE_WANDER_M * r.normal(),
      east: keep * this.#wander.east + fresh * PLACE_WANDER_M * r.normal(),
    };
    this.#regainedM *= Math.exp(-dtS / REGAINED_S);
  }
}

/** "ddmm.mmmmm,N". */
function angle(deg: number, digits: number, plus: string, minus: string): string {
  const whole = Math.floor(Math.abs(deg));
  const minutes = ((Math.abs(deg) - whole) * 60).toFixed(5).padStart(8, '0');
  return `${String(whole).padStart(digits, '0')}${minutes},${deg < 0 ? minus : plus}`;
}

/** @throws HandbackError input.usage */
function faultOf(text: string): [FaultName, number] {
  const [name = '', value] = text.split(/=(.*)/s);
  if (!Object.hasOwn(RECEIVER_FAULTS, name))
    throw new HandbackError(
      'input.usage',
      saying('error.sim-unknown', {
        what: 'receiver fault',
        word: name,
        known: Object.keys(RECEIVER_FAULTS).join(', '),
      }),
    );
  const { low, high, usual } = RECEIVER_FAULTS[name as FaultName];
  const number = value === undefined ? usual : Number(value);
  if (value?.trim() === '' || !(number >= low && number <= high))
    throw new HandbackError(
      'input.usage',
      saying('error.sim-number', { name: `receiver fault ${name}`, value: value ?? '', low, high }),
    );
  return [name as FaultName, number];
}
