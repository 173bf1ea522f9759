/** How the vehicle is being driven, smoothed, and how far above its plateau a healthy coolant may then stand. */
import { BIN_S, type Bin } from './bins.ts';
import { Droop } from './droop.ts';

/** Air through the radiator goes away at once when the vehicle stops, and needs a while to cool a warm engine. */
const SLOWING_S = 20;
const SPEEDING_S = 60;
/** A hill counts soon and is remembered while its heat leaves the block. */
const HEAT_RISING_S = 30;
const HEAT_FALLING_S = 90;
/** The run's own mean heat while it moves is the yardstick for "load"; it needs this much driving. */
const YARDSTICK_S = 120;

/**
 * Over road speed: how far above the plateau a healthy coolant may go on a short swing (`allowC`) and stay for
 * minutes (`levelC`), °C, and how strongly a healthy circuit pulls a swing back, 1/min. From the tune half of the
 * open drives, widened where the vehicle stands: a fan may let it swing by 9 °C.
 */
const BY_SPEED: readonly Row[] = [
  { kmh: 8, allowC: 10, levelC: 11, pullPerMin: 0.25, stake: 0.15 },
  { kmh: 15, allowC: 7, levelC: 2.7, pullPerMin: 0.3, stake: 0.5 },
  { kmh: 25, allowC: 6, levelC: 1.9, pullPerMin: 0.35, stake: 1 },
  { kmh: 45, allowC: 3.7, levelC: 1.1, pullPerMin: 0.7, stake: 1 },
  { kmh: 60, allowC: 2, levelC: 0.95, pullPerMin: 1, stake: 1 },
];
interface Row {
  readonly kmh: number;
  readonly allowC: number;
  readonly levelC: number;
  readonly pullPerMin: number;
  readonly stake: number;
}
/**
 * Without a speed signal the widest row holds. A steep hill adds as the heat leaves its yardstick; on a motorway
 * more heat comes with more air. Heat as a multiple of the run's mean, °C for each unit of it: chosen on the long hill
 * of three healthy simulated cars (the open drives have none); 94 others were then accused of nothing.
 */
const AIRY_KMH = 60;
const HILL_FROM = 1.25;
const HILL_C = 12;
const HILL_MOST_C = 10;
/** Of what a hill explains for a swing, this share lasts for minutes, and so many °C of it at most. */
const HILL_LASTS = 0.9;
const HILL_LASTS_MOST_C = 5;

/** The thermostat's droop explains at most this much. */
const DROOP_MOST_C = 3.5;
const DEMAND_S = 200;
/** The block takes this long to follow a change of demand. */
const FOLLOWS_S = 60;
/**
 * A thermostat opens warmer than it closes (common practice: 2 to 4 °C). How much is not known of this one until it
 * has held its plateau so closely while the demand changed by so much.
 */
const HYSTERESIS_C = 1.5;
const HELD_WITHIN_C = 1;
const HELD_RANGE = 0.8;

/** Full power for seconds heats the coolant before any air can carry it off, at whatever speed. */
const BURST_RISING_S = 8;
const BURST_FALLING_S = 45;
const BURST_FROM = 2;
const BURST_C = 3;
const UNSEEN_C = 3;
const UNSEEN_STAKE = 0.35;
const BURST_STAKE = 0.3;
const LEAST_STAKE = 0.2;
export type RegimeName = 'standing' | 'town' | 'load at speed' | 'light at speed';

export interface Regime {
  readonly name: RegimeName;
  readonly allowC: number;
  readonly levelC: number;
  readonly pullPerMin: number;
  /** How much the level test stakes on this regime, 0 to 1: standing tells little. */
  readonly stake: number;
  /** The same for the rise test: a burst of power makes the coolant rise for seconds. */
  readonly riseStake: number;
}

export class RegimeTracker {
  #speed: number | null = null;
  #heat: number | null = null;
  #burst = 0;
  #movingHeat = 0;
  #movingS = 0;
  /** Smoothed demand on the radiator, and what it was when the plateau was learned. */
  #demand: number | null = null;
  #settledDemand: number | null = null;
  readonly #droop = new Droop();
  /** Lowest and highest demand at which the plateau was held closely. */
  #held: [number, number];
  #slow: number | null = null;

  /** @param known drives of this vehicle have shown how closely it is held */
  constructor(known = false) {
    this.#held = known ? [0, HELD_RANGE] : [Number.POSITIVE_INFINITY, Number.NEGATIVE_INFINITY];
  }

  step(bin: Bin): Regime {
    if (bin.speed !== null) {
      const tau = this.#speed === null || bin.speed < this.#speed ? SLOWING_S : SPEEDING_S;
      this.#speed = this.#speed === null ? bin.speed : smooth(this.#speed, bin.speed, tau);
    } else this.#speed = null;
    if (bin.heat !== null && bin.running) {
      this.#heat =
        this.#heat === null
          ? bin.heat
          : smooth(this.#heat, bin.heat, bin.heat > this.#heat ? HEAT_RISING_S : HEAT_FALLING_S);
      this.#burst = smooth(this.#burst, bin.heat, bin.heat > this.#burst ? BURST_RISING_S : BURST_FALLING_S);
      if ((bin.speed ?? 0) > 20) {
        this.#movingHeat += bin.heat * BIN_S;
        this.#movingS += BIN_S;
      }
    }
    const load = this.load();
    const { allowC, levelC, pullPerMin, stake } = bySpeed(this.#speed ?? 0);
    // Unknown load at speed may be a hill.
    // Heat seen only now and then may have missed a burst.
    const least = load === null || bin.heat === null ? UNSEEN_C : 0;
    const hill = Math.max(least, load === null ? 0 : this.#explained(load));
    const demand = this.#demandNow(load);
    if (demand !== null) {
      this.#demand = this.#demand === null ? demand : smooth(this.#demand, demand, DEMAND_S);
      this.#slow = this.#slow === null ? demand : smooth(this.#slow, demand, FOLLOWS_S);
    }
    const droop = Math.min(DROOP_MOST_C, this.#droop.perUnit * this.#excess());
    const heldShare = Math.min(1, Math.max(0, this.#held[1] - this.#held[0]) / HELD_RANGE);
    return {
      name: this.#name(load),
      allowC: allowC + Math.max(droop, hill),
      levelC:
        levelC +
        HYSTERESIS_C * (1 - heldShare) +
        Math.max(droop, Math.min(HILL_LASTS_MOST_C, HILL_LASTS * hill)),
      pullPerMin,
      stake,
      riseStake:
        bin.heat === null ? UNSEEN_STAKE : Math.max(LEAST_STAKE, 1 - BURST_STAKE * this.#burstBeyond()),
    };
  }

  /** The plateau was learned just now. */
  settle(): void {
    this.#settledDemand = this.#demand;
  }

  /** @param d a quiet step's distance from the plateau, °C: how far heat beyond that of the plateau raises it. */
  teach(d: number): void {
    const slow = this.#slow;
    if (slow !== null && (this.#speed ?? 0) >= 20 && Math.abs(d) <= HELD_WITHIN_C)
      this.#held = [Math.min(this.#held[0], slow), Math.max(this.#held[1], slow)];
    this.#droop.teach(this.#excess(), d);
  }

  /** Demand on the radiator beyond that at which the plateau was learned; 0 while that is not known. */
  #excess(): number {
    return this.#slow === null ? 0 : Math.max(0, this.#slow - (this.#settledDemand ?? 1));
  }

  /** Load over the cooling that the driving wind gives, 1 at mean heat and 60 km/h; null when standing or not known. */
  #demandNow(load: number | null): number | null {
    const v = this.#speed ?? 0;
    return load === null || v < 20 ? null : load * Math.min(1.2, Math.max(0.8, (60 / v) ** (1 / 3)));
  }

  /** Smoothed heat over the run's mean while moving; null while the yardstick is short. */
  load(): number | null {
    if (this.#heat === null || this.#movingS < YARDSTICK_S || this.#movingHeat === 0) return null;
    return this.#heat / (this.#movingHeat / this.#movingS);
  }

  /** How far the burst exceeds what the run's mean heat makes usual. */
  #burstBeyond(): number {
    if (this.#movingS < YARDSTICK_S || this.#movingHeat === 0) return 0;
    return Math.max(0, this.#burst / (this.#movingHeat / this.#movingS) - BURST_FROM);
  }

  /** What hills and bursts of power explain, °C. */
  #explained(load: number): number {
    const steep = load * Math.min(1, AIRY_KMH / Math.max(1, this.#speed ?? 0));
    return Math.min(HILL_MOST_C, Math.max(0, steep - HILL_FROM) * HILL_C + this.#burstBeyond() * BURST_C);
  }

  #name(load: number | null): RegimeName {
    const v = this.#speed ?? 0;
    if (v < 10) return 'standing';
    if (v < 40) return 'town';
    return (load ?? 1) >= 1 ? 'load at speed' : 'light at speed';
  }
}

function smooth(old: number, value: number, tauS: number): number {
  return old + (value - old) * (1 - Math.exp(-BIN_S / tauS));
}

function bySpeed(kmh: number): Row {
  let a = BY_SPEED[0]!;
  for (const b of BY_SPEED) {
    if (kmh <= b.kmh) {
      const w = b.kmh > a.kmh ? Math.max(0, (kmh - a.kmh) / (b.kmh - a.kmh)) : 0;
      const mix = (x: number, y: number) => x + w * (y - x);
      return {
        kmh,
        allowC: mix(a.allowC, b.allowC),
        levelC: mix(a.levelC, b.levelC),
        pullPerMin: mix(a.pullPerMin, b.pullPerMin),
        stake: mix(a.stake, b.stake),
      };
    }
    a = b;
  }
  return a;
}
