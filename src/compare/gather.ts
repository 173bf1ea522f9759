/** One pass over a run's samples: its pulls, tip-ins, the air it breathed, and how its coolant warmed and settled. */

import { atRestKpa } from '../analysis/boost/absence.ts';
import { Barometer } from '../analysis/boost/barometer.ts';
import { type OperatingPoint, PointAligner } from '../analysis/boost/points.ts';
import { type Stretch, Stretcher, type StretchPoint } from '../analysis/boost/stretches.ts';
import { goesOn, UnreadPulls } from '../analysis/boost/unread-pulls.ts';
import { BIN_S, type Bin, BinMaker, type HeatSource } from '../analysis/coolant/bins.ts';
import { Envelope } from '../analysis/coolant/envelope.ts';
import { Plateau } from '../analysis/coolant/plateau.ts';
import { WarmUpMeter } from '../analysis/coolant/warm-up-meter.ts';
import { Plausibility } from '../analysis/plausibility.ts';
import type { CleanSample } from '../analysis/types.ts';
import { DEFAULT_COOLANT_LIMIT_C, type Profile } from '../core/profile.ts';
import type { Sample } from '../core/signals.ts';
import type { Places } from '../nmea/places.ts';
import { partsOf } from '../signal/parts.ts';
import type { SampleTable } from '../signal/table.ts';
import { type PointPower, type PullGrade, RoadPower } from './power.ts';
import { type Way, wayOf } from './same-road.ts';

/** A colder engine may be given less boost (KIT: one such drive), one at its limit is spared (common practice). */
const WARM_FROM_C = 60;
/**
 * Settled points nearer together than this repeat the same moment; no recorder's rate may count for more pulls.
 * Chosen by hand, not measured.
 */
const THIN_US = 250_000;
const LEAD_US = 1_000_000;
const RISE_US = 4_000_000;
const MAX_COMPARED_PULLS = 400;
const MAX_TIPS = 200;
/** A tip-in is compared when it is known to this, s, and so many readings lie around it. Not known how chosen. */
const TIP_ERROR_S = 0.6;
const TIP_POINTS = 3;
/** Bounds, chosen by hand: leads of pulls not yet closed, and readings of a slow quantity. */
const MOST_LEADS = 16;
const MOST_SLOW_READINGS = 20_000;
/** Bins of five seconds: a day's drive. A bound, chosen by hand. */
const MAX_BINS = 17_280;

/** A pressure sample of a pull at which boost had settled. */
export interface PullPoint {
  readonly tUs: number;
  readonly rpm: number;
  /** Demand as the charger sees it after its lag, 0 to 105 %. */
  readonly demand: number;
  /** Absolute, kPa. */
  readonly mapKpa: number;
  /** What is left for accelerating and climbing; null where no satellite receiver measured it. */
  readonly power: PointPower | null;
}

export interface GatheredPull {
  readonly fromUs: number;
  readonly toUs: number;
  /** Engine speed over vehicle speed, rpm per km/h: what names a gear across runs. */
  readonly ratio: number | null;
  /** Barometric pressure there, kPa, where the vehicle told it as it was driven; null: nothing but that of the run. */
  readonly airKpa: number | null;
  readonly points: readonly PullPoint[];
  /** Where it was driven; null where no satellite receiver told. */
  readonly way: Way | null;
  /** Of its way; null where no satellite receiver measured it. */
  readonly grade: PullGrade | null;
}

type TakenPoint = Omit<PullPoint, 'power'>;
/** A pull while the run is read. */
type TakenPull = Omit<GatheredPull, 'way' | 'grade' | 'points'> & { readonly points: readonly TakenPoint[] };

export interface GatheredTip {
  readonly atUs: number;
  /** As of a pull. */
  readonly airKpa: number | null;
  readonly rpm: number;
  readonly points: readonly { readonly tUs: number; readonly mapKpa: number }[];
}

export interface Gathered {
  readonly endUs: number;
  readonly mapCount: number;
  /** Pulls that were driven while no manifold pressure came that is believed. */
  readonly unreadPulls: number;
  readonly signals: ReadonlySet<string>;
  readonly demandName: string | null;
  /** The mean of its pulls, where the vehicle told it as they were driven; else what is known of it in the end. */
  readonly baro: { readonly kpa: number; readonly sdKpa: number; readonly source: string } | null;
  /** Air drawn in, °C. */
  readonly air: { readonly c: number; readonly source: string } | null;
  readonly pulls: readonly GatheredPull[];
  readonly tips: readonly GatheredTip[];
  readonly heatSource: HeatSource | null;
  /** Coolant over heat put in, one entry for each five seconds of running. */
  readonly warmUp: { readonly heat: readonly number[]; readonly ectC: readonly number[] };
  readonly heatPerC: number | null;
  readonly plateauC: number | null;
  /** Settled seconds by whole °C. */
  readonly settledS: ReadonlyMap<number, number>;
}

/** Takes a run's samples one at a time, in order of time. Pure; never throws. */
export class Gathering {
  readonly #front = new Plausibility();
  readonly #aligner: PointAligner;
  readonly #stretcher: Stretcher;
  readonly #barometer: Barometer;
  readonly #bins = new BinMaker();
  readonly #envelope = new Envelope();
  readonly #plateau: Plateau;
  readonly #meter = new WarmUpMeter();
  readonly #hotC: number;
  readonly #signals = new Set<string>();
  readonly #air: number[] = [];
  readonly #pulls: TakenPull[] = [];
  readonly #power = new RoadPower();
  readonly #tips: GatheredTip[] = [];
  readonly #settledS = new Map<number, number>();
  readonly #heat: number[] = [];
  readonly #ectC: number[] = [];
  #heatSum = 0;
  #recent: OperatingPoint[] = [];
  readonly #unread: UnreadPulls;
  readonly #unreadPulls: Stretch[] = [];
  /** Points just before each stretch, by the time of its first point. */
  readonly #leads = new Map<number, readonly OperatingPoint[]>();
  #wasOpen = false;
  #mapCount = 0;
  #endUs = 0;

  constructor(profile: Profile) {
    this.#aligner = new PointAligner(profile);
    this.#stretcher = new Stretcher(profile);
    this.#unread = new UnreadPulls(profile);
    this.#barometer = new Barometer(profile, null);
    this.#plateau = new Plateau(profile.thermostatC?.value ?? null);
    this.#hotC = profile.coolantLimitC?.value ?? DEFAULT_COOLANT_LIMIT_C;
  }

  push(sample: Sample): void {
    for (const s of this.#front.push(sample)) this.#step(s);
  }

  #step(s: CleanSample): void {
    this.#endUs = Math.max(this.#endUs, s.tUs);
    this.#barometer.step(s);
    this.#power.step(s);
    if (s.flag === null) this.#signals.add(s.signal);
    if (s.signal === 'map_kpa') this.#mapCount++;
    const bin = this.#bins.push(s);
    if (bin) this.#bin(bin);
    const rests = s.flag === 'stuck' && s.signal === 'map_kpa' && this.#atRest(s.value);
    const believed = rests ? { ...s, flag: null } : s;
    for (const p of this.#aligner.step(believed)) this.#point(p);
    this.#unreadPulls.push(...this.#unread.step(believed));
  }

  /**
   * Ends the run; call once.
   * @param places where the whole of it was driven, as far as that was told
   */
  finish(places: Places | null = null): Gathered {
    for (const s of this.#front.finish()) this.#step(s);
    for (const p of this.#aligner.finish()) this.#point(p);
    for (const stretch of this.#stretcher.finish(this.#endUs)) this.#take(stretch);
    this.#unreadPulls.push(...this.#unread.finish(this.#endUs));
    const readUs = this.#pulls.map((p) => p.toUs);
    const last = this.#bins.close();
    if (last) this.#bin(last);
    return {
      endUs: this.#endUs,
      mapCount: this.#mapCount,
      unreadPulls: this.#unreadPulls.filter((u) => !goesOn(u, readUs)).length,
      signals: this.#signals,
      demandName: this.#aligner.demandName,
      baro: this.#baroOfAll(),
      air: this.#airOfAll(),
      pulls: this.#pulls.map((p) => this.#onItsRoad(p, places)),
      tips: this.#tips,
      heatSource: this.#bins.heatSource,
      warmUp: { heat: this.#heat, ectC: this.#ectC },
      heatPerC: this.#meter.result()?.heatPerC ?? null,
      plateauC: this.#plateau.learnedC,
      settledS: this.#settledS,
    };
  }

  /** On a road that goes up or down the pressure at its end is not that of its pulls. */
  #baroOfAll(): Gathered['baro'] {
    const known = this.#pulls.flatMap((p) => p.airKpa ?? []);
    const last = this.#barometer.now;
    if (last === null || known.length === 0) return last;
    return { ...last, kpa: known.reduce((a, b) => a + b, 0) / known.length };
  }

  #airHere(): number | null {
    const here = this.#barometer.now;
    return here?.source === 'barometric sensor' ? here.kpa : null;
  }

  /** A manifold without boost repeats barometric: that is the fault itself, not a stuck sensor. */
  #atRest(mapKpa: number): boolean {
    const baro = this.#barometer.now;
    return baro !== null && Math.abs(mapKpa - baro.kpa) <= atRestKpa(baro);
  }

  #point(p: OperatingPoint): void {
    for (const stretch of this.#stretcher.step(p)) this.#take(stretch);
    const open = this.#stretcher.open;
    if (open !== null && !this.#wasOpen) {
      if (this.#leads.size < MOST_LEADS) this.#leads.set(open[0]!.tUs, this.#recent);
      this.#recent = [];
    }
    this.#wasOpen = open !== null;
    if (open !== null) return;
    this.#recent.push(p);
    while (this.#recent.length > 0 && this.#recent[0]!.tUs < p.tUs - 2 * LEAD_US) this.#recent.shift();
  }

  #take(stretch: Stretch): void {
    const lead = this.#leads.get(stretch.fromUs) ?? [];
    for (const key of this.#leads.keys()) if (key <= stretch.fromUs) this.#leads.delete(key);
    const good = stretch.points.filter((p) => this.#counts(p));
    const points: TakenPoint[] = [];
    for (const p of good) {
      if (!p.settled || p.tUs - (points.at(-1)?.tUs ?? Number.NEGATIVE_INFINITY) < THIN_US) continue;
      points.push({ tUs: p.tUs, rpm: p.rpm, demand: p.lagged, mapKpa: p.map });
    }
    const { fromUs, toUs, ratio, tip } = stretch;
    if (points.length > 0 && this.#pulls.length < MAX_COMPARED_PULLS)
      this.#pulls.push({ fromUs, toUs, ratio, airKpa: this.#airHere(), points });
    if (!stretch.sudden || tip === null || tip.errS > TIP_ERROR_S || this.#tips.length >= MAX_TIPS) return;
    const rise = [...lead, ...good]
      .filter((p) => p.tUs >= tip.atUs - LEAD_US && p.tUs <= tip.atUs + RISE_US)
      .map((p) => ({ tUs: p.tUs, mapKpa: p.map }));
    if (rise.length >= TIP_POINTS)
      this.#tips.push({
        ...{ atUs: tip.atUs, airKpa: this.#airHere(), rpm: stretch.points[0]!.rpm, points: rise },
      });
  }

  /** What the receiver tells of a pull, once the road after it is known as well. */
  #onItsRoad(p: TakenPull, places: Places | null): GatheredPull {
    const grade = this.#power.gradeOf(p.fromUs / 1e6, p.toUs / 1e6);
    const points = p.points.map((q) => ({ ...q, power: grade && this.#power.at(q.tUs / 1e6, grade) }));
    return { ...p, points, grade, way: places && wayOf(places, p.fromUs, p.toUs) };
  }

  #counts(p: StretchPoint): boolean {
    const sound = !p.echo && ((!p.frozen && !p.still) || this.#atRest(p.map));
    return sound && (p.ect ?? WARM_FROM_C) >= WARM_FROM_C && (p.ect ?? WARM_FROM_C) < this.#hotC;
  }

  /** The middle of what the judging took for the air around the vehicle. */
  #airOfAll(): Gathered['air'] {
    if (this.#air.length === 0) return null;
    const source = this.#signals.has('ambient_c') ? 'ambient temperature' : 'intake temperature on the move';
    return { c: quantile(this.#air, 0.5), source };
  }

  #bin(bin: Bin): void {
    if (bin.air !== null) keep(this.#air, bin.air);
    this.#plateau.step(bin, this.#envelope.step(bin), !bin.unsure);
    this.#meter.step(bin);
    if (bin.ect === null || !bin.running) return;
    this.#heatSum += (bin.heat ?? 0) * BIN_S;
    if (this.#heat.length < MAX_BINS) {
      this.#heat.push(this.#heatSum);
      this.#ectC.push(bin.ect);
    }
    if (!this.#plateau.settled || bin.unsure) return;
    const c = Math.round(bin.ect);
    this.#settledS.set(c, (this.#settledS.get(c) ?? 0) + BIN_S);
  }
}

/** Slow quantities: the first hours tell. */
function keep(list: number[], v: number): void {
  if (list.length < MOST_SLOW_READINGS) list.push(v);
}

function quantile(list: readonly number[], q: number): number {
  const sorted = [...list].sort((a, b) => a - b);
  return sorted[Math.min(sorted.length - 1, Math.floor(q * sorted.length))] ?? Number.NaN;
}

/**
 * Each drive of a table by itself.
 * @param places where it was driven; a later part has times of its own, so they are of the first alone
 */
export function gatherParts(table: SampleTable, profile: Profile, places: Places): Gathered[] {
  return partsOf(table).map((part) => {
    const gathering = new Gathering(profile);
    for (const sample of part.table) gathering.push(sample);
    return gathering.finish(part.startsAtS === 0 ? places : null);
  });
}
