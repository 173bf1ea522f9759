/** What healthy drives of the same vehicle teach about its coolant. */
import type { Profile } from '../../core/profile.ts';
import type { OfKind } from '../between-cars.ts';
import type { CleanSample } from '../types.ts';
import { BIN_S, type Bin, BinMaker, type HeatSource } from './bins.ts';
import { Envelope } from './envelope.ts';
import { FanWatch } from './fan.ts';
import { Plateau } from './plateau.ts';
import { WarmUpMeter } from './warm-up-meter.ts';

/** An excess that lasted so long in a healthy drive is this vehicle's way. Not known how chosen. */
const LASTED_S = 60;
/** Plateaus of one healthy car differ by so much between drives (open drives: 89 to 91 and 86 to 88 °C). */
const PLATEAU_SPREAD_C = 1;

/** One drive; JSON. Temperatures °C. */
export interface CoolantLesson {
  /** Null when the drive never settled, or only in a sag. */
  readonly plateauC: number | null;
  /** Excess over the plateau beyond the road's envelope that lasted a minute in all; 0 when none. */
  readonly beyondC: number;
  /** Heat per °C between 40 and 70 °C, in the unit of its source, with the air around the vehicle. */
  readonly warmUp: WarmUpLesson | null;
  /** From where a fan brought the coolant back at a stand; null where none was seen to. */
  readonly fanC: number | null;
}

export interface WarmUpLesson {
  readonly heatPerC: number;
  /** The same to 78 °C; null where it did not come so far in one go. */
  readonly furtherPerC: number | null;
  readonly source: HeatSource;
  readonly airC: number;
}

/** Every drive more can only widen it: more baselines never make more alarms. */
export interface CoolantBaseline {
  readonly drives: number;
  /** Median over the drives, for people. */
  readonly plateauC: number | null;
  /** The plateau lies at this or above, °C. */
  readonly leastPlateauC: number | null;
  /** The lowest of the drives' plateaus, °C: an open thermostat stands far below it. */
  readonly lowestPlateauC: number | null;
  readonly beyondC: number;
  readonly warmUps: readonly WarmUpLesson[];
  /** Of each drive that has one, °C. */
  readonly plateausC: readonly number[];
  readonly fansC: readonly number[];
  /** What other cars of the kind teach; all else may then be of no drive at all. */
  readonly kind?: CoolantKind;
}

/** What other cars of a kind teach (`kind.ts`); JSON-serialisable. */
export interface CoolantKind {
  readonly schema: 'handback.coolant-kind/1';
  readonly cars: number;
  /** °C. */
  readonly plateau: OfKind | null;
  /** From where a fan brought the coolant back at a stand, °C. */
  readonly fan: OfKind | null;
  /** Heat per °C by what tells it, in air of `airC`. */
  readonly warmUp: { readonly [S in HeatSource]?: OfKind & { readonly airC: number } };
}

/** Pure; never throws. Reads one healthy drive. */
export function learnCoolant(samples: Iterable<CleanSample>, profile: Profile): CoolantLesson {
  const maker = new BinMaker();
  const plateau = new Plateau(profile.thermostatC?.value ?? null);
  const envelope = new Envelope();
  const meter = new WarmUpMeter();
  const fan = new FanWatch(null);
  const excess: number[] = [];
  const take = (bin: Bin) => {
    const regime = envelope.step(bin);
    plateau.step(bin, regime, !bin.unsure);
    meter.step(bin);
    fan.step(bin, plateau.learnedC, !bin.unsure);
    if (!plateau.settled || bin.ect === null || !bin.running || bin.unsure) return;
    excess.push(bin.ect - plateau.referenceC! - regime.allowC);
  };
  for (const s of samples) {
    const bin = maker.push(s);
    if (bin) take(bin);
  }
  const last = maker.close();
  if (last) take(last);
  const warm = meter.result();
  const furtherPerC = meter.further()?.heatPerC ?? null;
  const lasted = excess.sort((a, b) => b - a)[LASTED_S / BIN_S] ?? 0;
  return {
    plateauC: plateau.proved ? plateau.learnedC : null,
    beyondC: Math.max(0, lasted),
    warmUp:
      warm && warm.airC !== null && maker.heatSource
        ? { heatPerC: warm.heatPerC, furtherPerC, source: maker.heatSource, airC: warm.airC }
        : null,
    fanC: fan.seenC,
  };
}

export function mergeCoolant(lessons: readonly CoolantLesson[]): CoolantBaseline {
  const plateaus = lessons.flatMap((l) => (l.plateauC === null ? [] : [l.plateauC])).sort((a, b) => a - b);
  const highest = plateaus[plateaus.length - 1];
  return {
    drives: lessons.length,
    plateauC: plateaus[plateaus.length >> 1] ?? null,
    leastPlateauC: highest === undefined ? null : highest - PLATEAU_SPREAD_C,
    lowestPlateauC: plateaus[0] ?? null,
    beyondC: Math.max(0, ...lessons.map((l) => l.beyondC)),
    warmUps: lessons.flatMap((l) => (l.warmUp === null ? [] : [l.warmUp])),
    plateausC: plateaus,
    fansC: lessons.flatMap((l) => (l.fanC === null ? [] : [l.fanC])),
  };
}
