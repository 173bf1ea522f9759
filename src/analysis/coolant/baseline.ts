/** What healthy drives of the same vehicle teach about its coolant. */
import type { Profile } from '../../core/profile.ts';
import type { CleanSample } from '../types.ts';
import { BIN_S, type Bin, BinMaker, type HeatSource } from './bins.ts';
import { Plateau } from './plateau.ts';
import { RegimeTracker } from './regime.ts';
import { WarmUpMeter } from './warm-up-meter.ts';

/** One drive; JSON. Temperatures °C. */
export interface CoolantLesson {
  /** Null when the drive never settled. */
  readonly plateauC: number | null;
  readonly settledS: number;
  /** Largest excess over the plateau beyond what is allowed anyway; 0 when none. */
  readonly beyondAllowanceC: number;
  /** Heat per °C between 40 and 70 °C, in the unit of its source, with the ambient or intake temperature at the start. */
  readonly warmUp: {
    readonly heatPerC: number;
    readonly source: HeatSource;
    readonly startC: number;
  } | null;
}

export interface CoolantBaseline {
  readonly drives: number;
  readonly plateauC: number | null;
  readonly beyondAllowanceC: number;
  readonly warmUps: readonly NonNullable<CoolantLesson['warmUp']>[];
}

/** Pure; never throws. Reads one healthy drive. */
export function learnCoolant(samples: Iterable<CleanSample>, profile: Profile): CoolantLesson {
  const maker = new BinMaker();
  const plateau = new Plateau(profile.thermostatC?.value ?? null);
  const regimes = new RegimeTracker();
  const meter = new WarmUpMeter();
  const excess: number[] = [];
  let settledS = 0;
  const take = (bin: Bin) => {
    const regime = regimes.step(bin);
    const settled = plateau.settled;
    plateau.step(bin, !bin.unsure);
    if (plateau.settled && !settled) regimes.settle();
    if (settled && !bin.unsure && bin.ect !== null && bin.fresh) regimes.teach(bin.ect - plateau.valueC!);
    meter.step(bin);
    if (!plateau.settled || bin.ect === null || !bin.running || bin.unsure) return;
    settledS += BIN_S;
    excess.push(bin.ect - (plateau.valueC ?? bin.ect) - regime.allowC);
  };
  for (const s of samples) {
    const bin = maker.push(s);
    if (bin) take(bin);
  }
  const last = maker.close();
  if (last) take(last);
  const result = meter.result();
  return {
    plateauC: plateau.learnedC,
    settledS,
    beyondAllowanceC: Math.max(0, ...excess.sort((a, b) => b - a).slice(60 / BIN_S, 60 / BIN_S + 1)),
    warmUp:
      result && maker.heatSource
        ? { heatPerC: result.heatPerC, source: maker.heatSource, startC: result.startC }
        : null,
  };
}

/** The plateau is the drives' median; healthy excess is the largest seen. */
export function mergeCoolant(lessons: readonly CoolantLesson[]): CoolantBaseline {
  const plateaus = lessons.flatMap((l) => (l.plateauC === null ? [] : [l.plateauC])).sort((a, b) => a - b);
  return {
    drives: lessons.length,
    plateauC: plateaus[plateaus.length >> 1] ?? null,
    beyondAllowanceC: Math.max(0, ...lessons.map((l) => l.beyondAllowanceC)),
    warmUps: lessons.flatMap((l) => (l.warmUp === null ? [] : [l.warmUp])).slice(0, 50),
  };
}
