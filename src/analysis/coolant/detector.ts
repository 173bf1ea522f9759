/** The coolant detector: steps samples through the watches, speaks when one is sure, and sums up at the end. */
import { DEFAULT_COOLANT_LIMIT_C, type Profile } from '../../core/profile.ts';
import type { Says } from '../../core/says.ts';
import { type Given, type GivenBy, later } from '../given.ts';
import { say as sayLeg } from '../leg-says.ts';
import type { RoadMeter } from '../road/road-meter.ts';
import type { CleanSample, CoolantView, Detector, Finding, Spoken } from '../types.ts';
import type { CoolantBaseline } from './baseline.ts';
import { BIN_S, type Bin, BinMaker } from './bins.ts';
import { CLEAR_BELOW_LIMIT_C, ClimbWatch, READING_C, WATCH_C_PER_MIN, WATCH_SHARE } from './climb.ts';
import { climbFinding, climbSentence } from './climb-finding.ts';
import { ENVELOPE, Envelope, type Regime, type SpeedTable } from './envelope.ts';
import type { CoolantFacts, Known } from './facts.ts';
import { type FanOn, FanWatch } from './fan.ts';
import { fanFinding } from './fan-finding.ts';
import { settledGiven } from './given.ts';
import { JumpWatch } from './jumps.ts';
import { jumpsFinding } from './jumps-finding.ts';
import { fanOf, type KindRange, plateauOf } from './kind.ts';
import { HIGH_C, Plateau, STILL_SPAN_C } from './plateau.ts';
import { say } from './says.ts';
import { Settled } from './settled.ts';
import { RUNS_WARM_C, TooColdWatch } from './too-cold.ts';
import { tooColdFinding } from './too-cold-finding.ts';
import { warmUpFinding } from './warm-up-finding.ts';
import { WarmUpMeter } from './warm-up-meter.ts';

/** A thermostat controls a little above the temperature at which it begins to open (common practice). */
const ABOVE_OPENING_C = 2;
/**
 * An engine made to run hot would sound the default limit in health: it lies so far above a known plateau. Chosen
 * by hand, not measured.
 */
const LIMIT_ABOVE_C = 13;
const NOTHING: readonly Spoken[] = [];
const CLIMB_AGAIN_S = 60;
/** A watch is spoken once, and once near the limit; a later one only after so long. Chosen by hand, not measured. */
const WATCH_AGAIN_S = 600;
/** So near to the limit nothing is driven on, °C: there an alarm ends, too. Chosen by hand, not measured. */
const NEAR_LIMIT_C = CLEAR_BELOW_LIMIT_C;
/** Further from its plateau than this no coolant is called settled, °C: below as while it settles. */
const BELOW_PLATEAU_C = STILL_SPAN_C;
/** And above. Chosen by hand, not measured. */
const ABOVE_PLATEAU_C = 3;
/** The corridor drawn around the plateau, °C. Chosen by hand, not measured. */
const CORRIDOR_C = 4;

export class CoolantDetector implements Detector {
  readonly #maker = new BinMaker();
  readonly #plateau: Plateau;
  readonly #envelope: Envelope;
  readonly #climb: ClimbWatch;
  readonly #cold: TooColdWatch;
  readonly #jumps = new JumpWatch();
  readonly #fan: FanWatch;
  readonly #meter = new WarmUpMeter();
  #settled = new Settled();
  readonly #limit: Known;
  readonly #known: Known | null;
  /** Where other cars of the kind settle; null where the car's own is known. */
  readonly #kind: KindRange | null;
  readonly #baseline: CoolantBaseline | null;
  readonly #measured: RoadMeter | null;
  #regime: Regime | null = null;
  #bin: Bin | null = null;
  /** The newest trusted reading, for the view alone: nothing is judged by it. */
  #latest: { readonly tS: number; readonly value: number } | null = null;
  #firstC: number | null = null;
  #saidClimbS = Number.NEGATIVE_INFINITY;
  #saidWatchS = Number.NEGATIVE_INFINITY;
  #watched = false;
  #saidNearS = Number.NEGATIVE_INFINITY;
  #saidWarmUp = false;
  #doubtful = false;
  /** Coolant readings, and those of them that are not believed. */
  #readings = 0;
  #leftOut = 0;

  /**
   * @param measured the road as a satellite receiver measures it, stepped by whoever made it
   * @param road another envelope than the usual one only to try it
   */
  constructor(
    {
      profile,
      baseline,
      measured = null,
    }: { profile: Profile; baseline: CoolantBaseline | null; measured?: RoadMeter | null },
    road: SpeedTable = ENVELOPE,
  ) {
    this.#baseline = baseline;
    this.#measured = measured;
    const entered = enteredPlateau(profile);
    const taught = (value: number | null | undefined): Known | null =>
      value == null ? null : { value, source: say('coolant.source.baseline') };
    this.#known = taught(baseline?.plateauC) ?? entered;
    this.#kind = this.#known === null ? plateauOf(baseline?.kind) : null;
    const leastC = this.#kind && this.#kind.valueC - this.#kind.farC;
    this.#limit = limitOf(profile, this.#known?.value ?? leastC);
    this.#plateau = new Plateau(profile.thermostatC?.value ?? null);
    this.#envelope = new Envelope(road);
    this.#climb = new ClimbWatch(this.#limit.value, road[road.length - 1]!.allowC);
    this.#fan = new FanWatch(fanOnOf(profile, baseline));
    const lowest = taught(baseline?.lowestPlateauC);
    this.#cold = new TooColdWatch(
      lowest === null ? (entered ?? coldOf(this.#kind)) : { ...lowest, onlyLowers: true },
    );
  }

  /** When the coolant settled, run seconds; null before. */
  get settledFromS(): number | null {
    return this.#plateau.settledFromS;
  }

  /** Evidence for a climb as a share of what an alarm needs; below 0 is none. */
  get suspicion(): number {
    return this.#climb.suspicion;
  }

  /** The drive called for the fan. */
  get fanAsked(): boolean {
    return this.#fan.asked;
  }

  step(sample: CleanSample): readonly Spoken[] {
    if (sample.signal === 'ect_c') {
      this.#readings++;
      if (sample.flag === null) this.#latest = { tS: sample.tUs / 1e6, value: sample.value };
      else this.#leftOut++;
    }
    const jumped = this.#jumps.step(sample, this.#bin?.running ?? true);
    const bin = this.#maker.push(sample);
    if (!bin && !jumped) return NOTHING;
    const spoken: Spoken[] = [];
    if (bin) this.#take(bin, spoken);
    if (jumped)
      spoken.push({
        atS: sample.tUs / 1e6,
        finding: jumpsFinding(this.#facts()),
        sentence: say('coolant.spoken.jumps'),
      });
    return spoken;
  }

  finish(endUs: number): readonly Finding[] {
    const bin = this.#maker.close();
    if (bin && bin.tS - BIN_S <= endUs / 1e6) this.#take({ ...bin, tS: Math.min(bin.tS, endUs / 1e6) }, []);
    const facts = this.#facts();
    return afterRepair(
      [climbFinding, tooColdFinding, jumpsFinding, warmUpFinding, fanFinding].map((make) => make(facts)),
      this.#hotNow,
    );
  }

  /** What the drive has given its findings so far. */
  given(): GivenBy {
    const facts = this.#facts();
    const all: [string, Given][] = [
      ['coolant.climb', settledGiven(facts)],
      ['coolant.warm-up', this.#meter.given()],
      ['coolant.fan', this.#fan.given()],
    ];
    const cold = tooColdFinding(facts).verdict === 'fault shown';
    const left = this.legsWait ?? (cold ? sayLeg('leg.left.repair') : null);
    return new Map(left === null ? all : all.map(([id, g]) => [id, later(g, left)]));
  }

  /** Nothing is driven on: an alarm is on, the limit is near, or it stands high and has reached no plateau. */
  get tooHot(): boolean {
    return this.#climb.now !== null || this.#hotNow !== null;
  }

  /** Why no leg that drives the engine goes on, in a few words; null where nothing of the coolant forbids it. */
  get legsWait(): Says | null {
    if (this.#climb.climbs.length > 0) return sayLeg('leg.left.repair');
    return this.#hotNow === null ? null : sayLeg('leg.left.cool');
  }

  /** What is said in place of what asks for driving; null where nothing of the coolant forbids it. */
  get drivingWaits(): Says | null {
    return this.#climb.climbs.length > 0 ? say('coolant.needs.climb-first') : this.#hotNow;
  }

  /** What is said of coolant that stands too high to drive on; null where it does not. */
  get #hotNow(): Says | null {
    const nowC = this.#bin?.ect ?? null;
    if (nowC === null || this.#doubtful) return null;
    if (this.#plateau.phase === 'no plateau') return say('coolant.needs.no-plateau', { nowC });
    return this.#nearLimit ? say('coolant.needs.hot-at-end', { nowC }) : null;
  }

  get #nearLimit(): boolean {
    return !this.#doubtful && (this.#bin?.ect ?? 0) >= this.#limit.value - NEAR_LIMIT_C;
  }

  view(): CoolantView {
    const bin = this.#bin;
    const plateau = this.#referenceC();
    const newer = this.#latest !== null && this.#latest.tS > (bin?.tS ?? Number.NEGATIVE_INFINITY);
    const valueC = newer ? this.#latest!.value : (bin?.ect ?? null);
    const state =
      !bin || valueC === null
        ? 'no data'
        : this.#climb.now && !this.#climb.isBack
          ? 'climbing'
          : this.#climb.watch
            ? 'rising'
            : this.#plateau.phase;
    const minutes = this.#climb.minutesTo(this.#limit.value);
    const settled = plateau !== null && this.#plateau.settled;
    // What is only assumed is not shown.
    const seenC = this.#assumed ? this.#plateau.learnedC : plateau;
    return {
      state,
      valueC,
      plateauC: seenC,
      corridorC:
        settled && seenC !== null
          ? [seenC - CORRIDOR_C, plateau + (this.#regime?.allowC ?? CORRIDOR_C)]
          : null,
      limitC: this.#limit.value,
      minutesToLimit: minutes,
      tooHot: this.tooHot,
      sentence: this.#sentence(state, valueC, minutes),
    };
  }

  #sentence(
    state: CoolantView['state'],
    nowC: number | null,
    minutes: readonly [number, number] | null,
  ): Says {
    if (nowC === null) return say('coolant.view.none');
    if (state === 'climbing') return climbSentence(nowC, minutes, this.#limit.value, this.#rises(nowC));
    if (this.#nearLimit) return this.#nearSentence(nowC);
    // Out and back again, read slowly, would be settled and not from one reading to the next.
    if (this.#jumps.found !== null) return say('coolant.view.jumps', { nowC });
    if (state === 'no plateau' || state === 'rising') return this.#watchSentence(nowC);
    return say('coolant.view.state', { state: this.#fits(state, nowC) ? state : 'none of them', nowC });
  }

  /** Whether the newest reading is one of the state that the steps before it are in. */
  #fits(state: CoolantView['state'], nowC: number): boolean {
    if (state === 'opening' || state === 'settling') return Math.round(nowC) < HIGH_C;
    const plateau = this.#plateau.learnedC;
    if (state !== 'settled' || plateau === null) return true;
    if (this.#climb.movedC > STILL_SPAN_C) return false;
    return nowC >= plateau - BELOW_PLATEAU_C && nowC <= plateau + ABOVE_PLATEAU_C;
  }

  /** It rises, and the newest reading does not say otherwise. */
  #rises(nowC: number): boolean {
    return this.#climb.rises && nowC >= (this.#bin?.ect ?? nowC) - READING_C;
  }

  #nearSentence = (nowC: number): Says => say('coolant.view.near-limit', { nowC, limitC: this.#limit.value });

  #watchSentence(nowC: number): Says {
    const { watch, exceeds, risesStill } = this.#climb;
    const rises = risesStill && this.#rises(nowC);
    if (watch?.noPlateau ?? true)
      return say(rises ? 'coolant.spoken.no-plateau' : 'coolant.view.no-plateau', { nowC });
    // At a stand it may come near to the fan's temperature as any car does.
    if (!exceeds) return say(rises ? 'coolant.spoken.watch-high' : 'coolant.view.watch-high', { nowC });
    return say(rises ? 'coolant.spoken.watch' : 'coolant.view.watch', { nowC });
  }

  #take(bin: Bin, spoken: Spoken[]): void {
    const { tS, ect } = bin;
    if (ect !== null) this.#firstC ??= ect;
    const regime = this.#withBaseline(this.#envelope.step(bin, this.#measured?.at(tS) ?? null));
    const doubtful = this.#climb.doubtful(bin) || bin.unsure;
    this.#doubtful = doubtful;
    this.#plateau.step(bin, regime, !doubtful, this.#climb.now !== null);
    const started = this.#climb.step(bin, regime, this.#referenceC(), this.#assumed, this.#turnedC);
    if (started && this.#climb.climbs.length === 1) this.#settled.climbs(started.fromS);
    const cold = this.#cold.step(bin, regime, this.#plateau.learnedC);
    const noFan = this.#fan.step(bin, this.#plateau.learnedC, !doubtful);
    const warmedUp = this.#meter.step(bin);
    this.#observe(bin, regime, doubtful);
    this.#bin = bin;
    this.#regime = regime;
    const tell = (make: (f: CoolantFacts) => Finding, sentence: Says) =>
      spoken.push({ atS: tS, finding: make(this.#facts()), sentence });
    if (warmedUp && !this.#saidWarmUp && warmUpFinding(this.#facts()).verdict === 'fault shown') {
      this.#saidWarmUp = true;
      tell(warmUpFinding, say('coolant.spoken.warm-up'));
    }
    const climb = this.#climb.now;
    if (climb && !this.#climb.isBack && (started || tS - this.#saidClimbS >= CLIMB_AGAIN_S)) {
      this.#saidClimbS = tS;
      const minutes = this.#climb.minutesTo(this.#limit.value);
      const sentence = climbSentence(ect ?? climb.peakC, minutes, this.#limit.value, this.#climb.rises);
      tell(climbFinding, sentence);
    }
    if (noFan) tell(fanFinding, say('coolant.spoken.fan', { nowC: ect ?? 0 }));
    if (cold) tell(tooColdFinding, say('coolant.spoken.too-cold', { nowC: cold.ectC }));
    this.#sayWatch(tS, spoken);
  }

  /** A watch has no verdict: it is said once, calmly, once more where it comes near the limit, and ends by itself. */
  #sayWatch(tS: number, spoken: Spoken[]): void {
    const watch = this.#climb.watch;
    const near = this.#nearLimit && this.#climb.rises && this.#climb.now === null;
    const first = watch !== null && !this.#watched && tS - this.#saidWatchS >= WATCH_AGAIN_S;
    if (watch && (first || (near && tS - this.#saidNearS >= WATCH_AGAIN_S))) {
      this.#saidWatchS = tS;
      if (near) this.#saidNearS = tS;
      const finding: Finding = {
        ...climbFinding(this.#facts()),
        id: 'coolant.watch',
        verdict: 'not shown',
        rule: say('coolant.rule.watch', {
          perMinC: WATCH_C_PER_MIN,
          evidence: WATCH_SHARE,
          highC: HIGH_C,
        }),
      };
      const sentence = near ? this.#nearSentence(this.#bin!.ect!) : this.#watchSentence(watch.fromC);
      spoken.push({ atS: tS, finding, sentence });
    }
    this.#watched = watch !== null;
  }

  #observe(bin: Bin, regime: Regime, doubtful: boolean): void {
    const { phase, learnedC } = this.#plateau;
    // What was seen while it settled counts only if it went on to settle.
    if (learnedC === null && phase !== 'settling') {
      if (this.#settled.settledS > 0) this.#settled = new Settled();
    } else if (!doubtful) {
      const settled = learnedC === null ? null : { plateauC: learnedC, beyondC: this.#climb.beyondC };
      this.#settled.step(bin, regime, settled);
    }
  }

  /** The run's plateau; what the baseline drives know of it can only raise it. */
  #referenceC(): number | null {
    const own = this.#plateau.referenceC;
    return own === null ? null : Math.max(own, this.#baseline?.leastPlateauC ?? own);
  }

  /** From where a fan has brought the coolant back, in this drive or a healthy one of the car, °C; null where none was seen to. */
  get #turnedC(): number | null {
    const seen = [...(this.#baseline?.fansC ?? []), this.#fan.seenC ?? Number.NEGATIVE_INFINITY];
    const highest = Math.max(...seen);
    return Number.isFinite(highest) ? highest : null;
  }

  /** What a climb is held against is neither where this drive settled nor where its baseline drives did. */
  get #assumed(): boolean {
    const own = this.#plateau.referenceC;
    return own !== null && own === this.#referenceC() && own !== this.#plateau.learnedC;
  }

  #withBaseline(regime: Regime): Regime {
    const more = this.#baseline?.beyondC ?? 0;
    return more > 0 ? { ...regime, allowC: regime.allowC + more } : regime;
  }

  #facts(): CoolantFacts {
    return {
      limit: this.#limit,
      known: this.#known,
      kind: this.#kind,
      baseline: this.#baseline,
      plateau: this.#plateau,
      climb: this.#climb,
      cold: this.#cold,
      jumps: this.#jumps,
      settled: this.#settled,
      fan: this.#fan,
      warmUp: this.#meter.result(),
      warmUpFurther: this.#meter.further(),
      heatSource: this.#maker.heatSource,
      firstC: this.#firstC,
      last: this.#bin,
      signals: this.#maker.signals(),
      leftOut: { n: this.#leftOut, of: this.#readings },
    };
  }
}

/** Looks for a cause before it asks for a drive. */
const HELPS: ReadonlySet<string> = new Set(['coolant.needs.restless', 'coolant.needs.frozen']);

/** Asks that do not drive a hot engine on. */
const COOLS: ReadonlySet<string> = new Set([
  'coolant.needs.no-plateau',
  'coolant.needs.near-limit',
  'coolant.needs.quicker',
  'coolant.needs.cold-start',
  'coolant.needs.fan-hot',
  'coolant.needs.fan-above-own',
]);

/**
 * Nobody is sent out to drive, or to idle a hot engine, with a fault that must be put right before.
 * @param hot what is said where the drive ended too hot to be driven on
 */
function afterRepair(findings: readonly Finding[], hot: Says | null): Finding[] {
  const repair = firstRepair(findings);
  const first = repair ?? hot;
  const waits = (f: Finding): boolean =>
    f.verdict === 'not shown' &&
    !HELPS.has(f.needs?.id ?? '') &&
    (repair !== null || !COOLS.has(f.needs?.id ?? ''));
  return findings.map((f) => (first !== null && waits(f) ? { ...f, needs: first } : f));
}

function firstRepair(findings: readonly Finding[]): Says | null {
  const shown = (id: string): boolean => findings.some((f) => f.id === id && f.verdict === 'fault shown');
  if (shown('coolant.climb')) return say('coolant.needs.climb-first');
  return shown('coolant.too-cold') ? say('coolant.needs.thermostat-first') : null;
}

function enteredPlateau({ thermostatC }: Profile): Known | null {
  return thermostatC
    ? { value: thermostatC.value + ABOVE_OPENING_C, source: fromProfile(thermostatC) }
    : null;
}

/** What no healthy car of the kind stands below; null where that may be either side of what runs warm. */
function coldOf(kind: KindRange | null): Known | null {
  if (kind === null) return null;
  const [lowC, highC] = [kind.valueC - kind.farC, kind.valueC + kind.farC];
  if (lowC < RUNS_WARM_C && highC >= RUNS_WARM_C) return null;
  return { value: lowC, source: sourceOf(kind) };
}

function fanOnOf({ fanOnC }: Profile, baseline: CoolantBaseline | null): FanOn | null {
  if (fanOnC) return { value: fanOnC.value, source: fromProfile(fanOnC) };
  const kind = fanOf(baseline?.kind);
  return kind && { value: kind.valueC + kind.farC, source: sourceOf(kind), cars: kind.cars };
}

const sourceOf = ({ cars }: KindRange): Says => say('coolant.source.kind', { cars });

function limitOf(profile: Profile, plateau: number | null): Known {
  const entered = profile.coolantLimitC;
  if (entered) return { value: entered.value, source: fromProfile(entered) };
  return {
    value: Math.max(DEFAULT_COOLANT_LIMIT_C, (plateau ?? 0) + LIMIT_ABOVE_C),
    source: say('coolant.source.default'),
  };
}

const fromProfile = ({ source }: { readonly source: string }): Says =>
  say('coolant.source.profile', { from: source });
