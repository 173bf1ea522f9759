/**
 * The road's null: how far above its plateau a healthy coolant goes, by how the vehicle is driven and was driven before.
 * Chosen on the open drives of two healthy cars, split by trip (docs/analysis.md, "What comes from one car").
 */
import type { Road } from '../road/road-meter.ts';
import { BIN_S, BIN_STALE_S, type Bin } from './bins.ts';
import { RoadLoad } from './road-load.ts';

/**
 * Driving wind leaves the radiator as soon as the vehicle slows down, and needs minutes to cool what stood: the
 * envelope follows road speed with these time constants, s (KIT: 95 to 91 °C in two minutes from 20 km/h up).
 */
const SLOWING_S = 20;
/**
 * The shortest, in steps of 5 s, with which no healthy drive stands half a degree beyond is 20 s on one half of the open
 * drives and 30 s on the other; this is a step longer than either.
 */
const SPEEDING_S = 35;
/** Heat of a hill comes soon and stays while it leaves the block, s. Chosen with the 80 open drives in view. */
const HEAT_RISING_S = 45;
const HEAT_FALLING_S = 120;
/**
 * The run's own mean heat and speed while it moves are the yardstick for "steep"; they need this much driving, s.
 * Chosen by hand, not measured.
 */
const YARDSTICK_S = 120;
const YARDSTICK_KMH = 20;
/**
 * A hill is held against what is older than this, s, as soon as there is so much of it: it must not raise its own
 * yardstick (KIT, cut to begin hot eight minutes before 91 to 103 °C uphill: 3 and 5 minutes do, 1 and 10 do not).
 */
const YARDSTICK_AGE_S = 300;
/**
 * So many times the most heat that older driving held was never held before: a plateau learned of less says little of it, for a thermostat
 * opens over 13 °C. Chosen on one simulated car (1.6 to 2.1); on the open drives 1.3 costs a degree a minute 2 s and two 10 s, 1.5 nothing.
 */
const UNSEEN_HEAT = 1.5;

/**
 * Over smoothed road speed, km/h: the largest excess over the plateau of any healthy open drive, °C, rounded up by
 * half a degree to a degree; below 8 km/h a fan may let it swing.
 */
export type SpeedTable = readonly { readonly kmh: number; readonly allowC: number }[];
export const ENVELOPE: SpeedTable = [
  { kmh: 8, allowC: 13 },
  { kmh: 15, allowC: 7.5 },
  { kmh: 20, allowC: 6 },
  { kmh: 25, allowC: 4.5 },
  { kmh: 30, allowC: 3.6 },
  { kmh: 40, allowC: 3 },
  { kmh: 60, allowC: 2.8 },
  { kmh: 90, allowC: 2.5 },
];
/**
 * Steepness is heat over the run's mean, divided by (speed over the run's mean speed + STILL_AIR): 0.7 to 1.2 on the
 * flat. From STEEP_FROM on it allows STEEP_C for each unit, as far as standing does (KIT: 1.8 at an excess of 8 °C).
 */
const STILL_AIR = 0.25;
const STEEP_FROM = 1.1;
const STEEP_C = 9;
const STEEP_LEAST_C = 2.5;
/**
 * On a road that is measured to be flat heat needs another reason than a hill: only from here on does it explain.
 * Chosen on simulated hills.
 */
const FLAT_FROM = 1.4;
/**
 * Heat that nobody measures may be a hill, °C, and so may heat without a yardstick from before it. Chosen with the 80
 * open drives in view.
 */
const UNSEEN_C = 3;

/** Slower is called standing, and town (common practice, no source); they only name where a climb comes from. */
const CALLED_STANDING_KMH = 10;
const CALLED_TOWN_KMH = 40;

export type RegimeName = 'standing' | 'town' | 'load at speed' | 'light at speed';

export interface Regime {
  readonly name: RegimeName;
  /** How far above the plateau this driving explains, °C. */
  readonly allowC: number;
  /** Smoothed road speed, km/h; null without the signal. */
  readonly kmh: number | null;
  /** More heat for the air than on the flat: a hill explains what it allows. */
  readonly steep: boolean;
  /** More heat by far than the run held before: where its plateau was learned nothing was seen of it. */
  readonly unseen: boolean;
  /** Smoothed heat over the run's mean while moving; null while the yardstick is short. */
  readonly load: number | null;
}

/** Mean heat and speed. */
class Yardstick {
  #heat = 0;
  #kmh = 0;
  #steps = 0;

  add(heat: number, kmh: number): void {
    this.#heat += heat;
    this.#kmh += kmh;
    this.#steps++;
  }

  get enough(): boolean {
    return this.#steps * BIN_S >= YARDSTICK_S && this.#heat > 0;
  }

  get heat(): number {
    return this.#heat / this.#steps;
  }

  get kmh(): number {
    return this.#kmh / this.#steps;
  }
}

export class Envelope {
  readonly #table: SpeedTable;
  #kmh: number | null = null;
  #heat: number | null = null;
  #heatS = Number.NEGATIVE_INFINITY;
  /** Over all of the run while it moves, and over what is older than YARDSTICK_AGE_S. */
  readonly #run = new Yardstick();
  readonly #older = new Yardstick();
  readonly #waiting: {
    readonly tS: number;
    readonly heat: number;
    readonly smoothed: number;
    readonly kmh: number;
  }[] = [];
  /** The most that was held, smoothed, of what is older. */
  #mostHeat = 0;
  readonly #road = new RoadLoad();

  /** @param table from slow to fast; another one than the usual only to try it */
  constructor(table: SpeedTable = ENVELOPE) {
    this.#table = table;
  }

  /** @param road as a satellite receiver measures it; null where there is none */
  step(bin: Bin, road: Road | null = null): Regime {
    const { speed, heat } = bin;
    this.#kmh =
      speed === null || this.#kmh === null
        ? speed
        : smooth(this.#kmh, speed, speed < this.#kmh ? SLOWING_S : SPEEDING_S);
    // What is not measured any more may be a hill.
    if (heat === null && bin.running && bin.tS - this.#heatS > BIN_STALE_S) this.#heat = null;
    if (heat !== null && bin.running) {
      this.#heatS = bin.tS;
      this.#heat =
        this.#heat === null
          ? heat
          : smooth(this.#heat, heat, heat > this.#heat ? HEAT_RISING_S : HEAT_FALLING_S);
      if ((speed ?? 0) > YARDSTICK_KMH) {
        this.#run.add(heat, speed!);
        this.#waiting.push({ tS: bin.tS, heat, smoothed: this.#heat, kmh: speed! });
      }
    }
    while (this.#waiting.length > 0 && bin.tS - this.#waiting[0]!.tS >= YARDSTICK_AGE_S) {
      const { heat, smoothed, kmh } = this.#waiting.shift()!;
      this.#older.add(heat, kmh);
      this.#mostHeat = Math.max(this.#mostHeat, smoothed);
    }
    this.#road.step(speed, road);
    const kmh = this.#kmh;
    const measured = this.#heat !== null && this.#run.enough;
    const load = measured ? this.#heat! / this.#run.heat : null;
    const { heat: flat, kmh: usual } = this.#older.enough ? this.#older : this.#run;
    const steep = measured ? this.#heat! / flat / ((kmh ?? 0) / usual + STILL_AIR) : null;
    return {
      name: nameOf(kmh ?? 0, load),
      allowC: this.#allow(kmh ?? 0, steep),
      steep: (steep ?? 0) > STEEP_FROM,
      unseen: measured && this.#older.enough && this.#heat! >= UNSEEN_HEAT * this.#mostHeat,
      kmh,
      load,
    };
  }

  #allow(kmh: number, steep: number | null): number {
    const flat = bySpeed(this.#table, kmh);
    const most = this.#table[0]!.allowC;
    // A road that was measured is not guessed: a hill explains what it takes, and the flat explains no hill.
    const sure = this.#road.flat;
    const beyond = Math.max(
      (steep ?? 0) - (sure ? FLAT_FROM : STEEP_FROM),
      (this.#road.steepness ?? 0) - STEEP_FROM,
    );
    const hill = beyond <= 0 ? 0 : STEEP_LEAST_C + beyond * STEEP_C;
    const unseen = steep === null || !this.#older.enough;
    const least = unseen && !sure ? flat + UNSEEN_C : flat;
    return Math.max(flat, Math.min(most, Math.max(least, hill)));
  }
}

function nameOf(kmh: number, load: number | null): RegimeName {
  if (kmh < CALLED_STANDING_KMH) return 'standing';
  if (kmh < CALLED_TOWN_KMH) return 'town';
  return (load ?? 1) >= 1 ? 'load at speed' : 'light at speed';
}

function smooth(old: number, value: number, tauS: number): number {
  return old + (value - old) * (1 - Math.exp(-BIN_S / tauS));
}

function bySpeed(table: SpeedTable, kmh: number): number {
  let a = table[0]!;
  for (const b of table) {
    if (kmh <= b.kmh) {
      const w = b.kmh > a.kmh ? Math.max(0, (kmh - a.kmh) / (b.kmh - a.kmh)) : 0;
      return a.allowC + w * (b.allowC - a.allowC);
    }
    a = b;
  }
  return a.allowC;
}
