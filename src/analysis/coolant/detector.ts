/** The coolant detector: steps samples through the watches, speaks when one is sure, and sums up at the end. */
import { DEFAULT_COOLANT_LIMIT_C, type Profile } from '../../core/profile.ts';
import type { CleanSample, CoolantView, Detector, Finding, Spoken } from '../types.ts';
import type { CoolantBaseline } from './baseline.ts';
import { BIN_S, type Bin, BinMaker } from './bins.ts';
import { type Climb, ClimbWatch } from './climb.ts';
import { FanWatch } from './fan.ts';
import {
  type CoolantFacts,
  climbFinding,
  climbSentence,
  fanFinding,
  jumpsFinding,
  tooColdFinding,
  warmUpFinding,
} from './findings.ts';
import { JumpWatch } from './jumps.ts';
import { Plateau } from './plateau.ts';
import { Envelope, type Regime } from './envelope.ts';
import { Settled } from './settled.ts';
import { TooColdWatch } from './too-cold.ts';
import { WarmUpMeter } from './warm-up-meter.ts';

/** A thermostat controls a little above the temperature at which it begins to open (common practice). */
const ABOVE_OPENING_C = 2;
const NOTHING: readonly Spoken[] = [];
const CLIMB_AGAIN_S = 60;

export class CoolantDetector implements Detector {
  readonly #maker = new BinMaker();
  readonly #plateau: Plateau;
  readonly #envelope = new Envelope();
  readonly #climb: ClimbWatch;
  readonly #cold: TooColdWatch;
  readonly #jumps = new JumpWatch();
  readonly #fan: FanWatch;
  readonly #meter = new WarmUpMeter();
  #settled = new Settled();
  readonly #limit: { value: number; source: string };
  readonly #known: { value: number; source: string } | null;
  readonly #baseline: CoolantBaseline | null;
  #regime: Regime | null = null;
  #bin: Bin | null = null;
  /** The newest trusted reading, for the view alone: nothing is judged by it. */
  #latest: { readonly tS: number; readonly value: number } | null = null;
  #firstEct: { tS: number; value: number } | null = null;
  #saidClimbS = Number.NEGATIVE_INFINITY;

  constructor({ profile, baseline }: { profile: Profile; baseline: CoolantBaseline | null }) {
    this.#baseline = baseline;
    this.#known = knownPlateau(profile, baseline);
    this.#limit = limitOf(profile, this.#known?.value ?? null);
    this.#plateau = new Plateau(profile.thermostatC?.value ?? null);
    this.#climb = new ClimbWatch(this.#limit.value);
    this.#fan = new FanWatch(profile.fanOnC ?? null);
    this.#cold = new TooColdWatch(profile.thermostatC ? profile.thermostatC.value + ABOVE_OPENING_C : null);
  }

  /** When the coolant settled, run seconds; null before. */
  get settledFromS(): number | null {
    return this.#plateau.settledFromS;
  }

  /** Evidence for a climb as a share of what an alarm needs; below 0 is none. */
  get suspicion(): number {
    return this.#climb.suspicion;
  }

  step(sample: CleanSample): readonly Spoken[] {
    if (sample.signal === 'ect_c' && sample.flag === null)
      this.#latest = { tS: sample.tUs / 1e6, value: sample.value };
    const jumped = this.#jumps.step(sample, this.#bin?.running ?? true);
    const bin = this.#maker.push(sample);
    if (!bin && !jumped) return NOTHING;
    const spoken: Spoken[] = [];
    if (bin) this.#take(bin, spoken);
    if (jumped) {
      const finding = jumpsFinding(this.#facts());
      spoken.push({
        atS: sample.tUs / 1e6,
        finding,
        sentence: 'Coolant jumps: look for air in the system. Stop when safe.',
      });
    }
    return spoken;
  }

  finish(endUs: number): readonly Finding[] {
    const bin = this.#maker.close();
    if (bin && bin.tS - BIN_S <= endUs / 1e6) this.#take({ ...bin, tS: Math.min(bin.tS, endUs / 1e6) }, []);
    const facts = this.#facts();
    return [climbFinding, tooColdFinding, jumpsFinding, warmUpFinding, fanFinding].map((make) => make(facts));
  }

  view(): CoolantView {
    const bin = this.#bin;
    const plateau = this.#referenceC();
    const climb = this.#climb.now;
    const newer = this.#latest !== null && this.#latest.tS > (bin?.tS ?? Number.NEGATIVE_INFINITY);
    const valueC = newer ? this.#latest!.value : (bin?.ect ?? null);
    const state = !bin || valueC === null ? 'no data' : climb ? 'climbing' : this.#plateau.phase;
    const minutes = this.#climb.minutesTo(this.#limit.value);
    return {
      state,
      valueC,
      plateauC: plateau,
      corridorC: plateau === null ? null : [plateau - 4, plateau + (this.#regime?.allowC ?? 4)],
      limitC: this.#limit.value,
      minutesToLimit: minutes,
      sentence: sentenceOf(state, valueC, minutes, this.#limit.value),
    };
  }

  #take(bin: Bin, spoken: Spoken[]): void {
    if (bin.ect !== null && this.#firstEct === null) this.#firstEct = { tS: bin.tS, value: bin.ect };
    const regime = this.#withBaseline(this.#envelope.step(bin));
    const doubtful = this.#climb.doubtful(bin.tS) || bin.unsure;
    this.#plateau.step(bin, regime, !doubtful, this.#climb.now !== null);
    const started = this.#climb.step(bin, regime, this.#referenceC());
    const cold = this.#cold.step(bin, regime, this.#plateau.learnedC);
    const noFan = this.#fan.step(bin, this.#plateau.learnedC, !doubtful);
    const warmedUp = this.#meter.result() === null && this.#meter.step(bin);
    this.#observe(bin, regime, doubtful);
    this.#bin = bin;
    this.#regime = regime;
    if (warmedUp) this.#sayWarmUp(bin.tS, spoken);
    const grows =
      !started && this.#climb.now !== null && bin.tS - this.#saidClimbS >= CLIMB_AGAIN_S
        ? this.#climb.now
        : null;
    const said: Climb | null = started ?? grows;
    if (said) {
      this.#saidClimbS = bin.tS;
      spoken.push({
        atS: bin.tS,
        finding: climbFinding(this.#facts()),
        sentence: climbSentence(
          bin.ect ?? said.peakC,
          this.#climb.minutesTo(this.#limit.value),
          this.#limit.value,
        ),
      });
    }
    if (noFan)
      spoken.push({
        atS: bin.tS,
        finding: fanFinding(this.#facts()),
        sentence: `Coolant ${Math.round(bin.ect ?? 0)} °C and the fan has not brought it down: stop the engine when safe.`,
      });
    if (cold)
      spoken.push({
        atS: bin.tS,
        finding: tooColdFinding(this.#facts()),
        sentence: `Coolant stays cold at ${Math.round(cold.ectC)} °C: check the thermostat back in the workshop.`,
      });
  }

  #observe(bin: Bin, regime: Regime, doubtful: boolean): void {
    const { phase, learnedC } = this.#plateau;
    // What was seen while it settled counts only if it went on to settle.
    if (learnedC === null && phase !== 'settling') {
      if (this.#settled.settledS > 0) this.#settled = new Settled();
    } else if (!doubtful) this.#settled.step(bin, regime, learnedC);
  }

  #sayWarmUp(atS: number, spoken: Spoken[]): void {
    const finding = warmUpFinding(this.#facts());
    if (finding.verdict !== 'fault shown') return;
    const sentence = 'The coolant warmed up too slowly: check the thermostat back in the workshop.';
    spoken.push({ atS, finding, sentence });
  }

  /** The run's plateau; what the baseline drives know of it can only raise it. */
  #referenceC(): number | null {
    const own = this.#plateau.referenceC;
    return own === null ? null : Math.max(own, this.#baseline?.leastPlateauC ?? own);
  }

  #withBaseline(regime: Regime): Regime {
    const more = this.#baseline?.beyondC ?? 0;
    return more > 0 ? { ...regime, allowC: regime.allowC + more } : regime;
  }

  #facts(): CoolantFacts {
    return {
      limit: this.#limit,
      known: this.#known,
      baseline: this.#baseline,
      plateau: this.#plateau,
      climb: this.#climb,
      cold: this.#cold,
      jumps: this.#jumps,
      settled: this.#settled,
      fan: this.#fan,
      warmUp: this.#meter.result(),
      heatSource: this.#maker.heatSource,
      firstEct: this.#firstEct,
      last: this.#bin,
      regime: this.#regime,
      signals: this.#maker.signals(),
    };
  }
}

function knownPlateau(
  profile: Profile,
  baseline: CoolantBaseline | null,
): { value: number; source: string } | null {
  if (baseline?.plateauC != null) return { value: baseline.plateauC, source: 'baseline run' };
  if (!profile.thermostatC) return null;
  return { value: profile.thermostatC.value + ABOVE_OPENING_C, source: profile.thermostatC.source };
}

function limitOf(profile: Profile, plateau: number | null): { value: number; source: string } {
  if (profile.coolantLimitC) return profile.coolantLimitC;
  // An engine made to run hot would sound the default limit in health.
  return {
    value: Math.max(DEFAULT_COOLANT_LIMIT_C, (plateau ?? 0) + 13),
    source: 'default (common practice, no source)',
  };
}

function sentenceOf(
  state: CoolantView['state'],
  valueC: number | null,
  minutes: readonly [number, number] | null,
  limitC: number,
): string {
  if (valueC === null) return 'No coolant temperature.';
  const at = `${Math.round(valueC)} °C`;
  if (state === 'no data') return `Coolant ${at}.`;
  if (state === 'climbing') return climbSentence(valueC, minutes, limitC);
  return `Coolant ${state} at ${at}.`;
}
