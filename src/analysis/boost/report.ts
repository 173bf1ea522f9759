/** Boost findings with their evidence: which region, which pulls, which limit, what to do. */

import type { Profile } from '../../core/profile.ts';
import { hundredth, tenth } from '../../core/rounded.ts';
import { inTurn, isSays, type Says } from '../../core/says.ts';
import { CONFIDENCE, Z_BOTH, Z_FAULT, Z95 } from '../spread.ts';
import type { Evidence, Finding } from '../types.ts';
import { AIR_LIMIT, type AirExcess, airExcess, airIsLost } from './air.ts';
import { excludedBy, GOOD_FROM_PCT, GOOD_LOSS_PCT, openCell } from './cells.ts';
import type { ClutchWatch } from './clutch.ts';
import {
  ACT_STRETCHES,
  LATE_TIPS,
  LIGHT_LIMIT_KPA,
  LIGHT_MAP_KPA,
  MAP_STRETCHES,
  ONSET_LIMIT_S,
  ONSET_SHARE,
  PROMPT_TIPS,
  Z_CLUTCH,
} from './clutch.ts';
import { type RegionEvidence, SURPLUS_LIMITS } from './evidence.ts';
import { CARRY_RPM, CARRY_SD } from './expectation.ts';
import { GEAR_AT_RPM } from './gears.ts';
import type { InductionWatch } from './induction.ts';
import { GONE_SHARE, SURELY_SHARE, TIMES_LIKELIER } from './intermittent.ts';
import { ofKindAlone } from './kind.ts';
import type { BoostBaseline } from './lesson.ts';
import { askedRpm, hasClutch } from './regions.ts';
import { say } from './says.ts';
import {
  type Estimate,
  inWindow,
  LEAST_SAMPLES,
  LONE_PULL_S,
  LONE_PULLS,
  SPOOLING_PULLS,
  SPOOLING_TO_RPM,
} from './scan.ts';
import { GOOD_FROM_C, type Witness } from './witness.ts';

/** Share on either side of a bound of `Z95` standard errors. By definition of `Z95`. */
const SIDE = 0.95;
const RULE = say('boost.rule.region', {
  confidence: CONFIDENCE,
  side: SIDE,
  z: Z_FAULT,
  samples: LEAST_SAMPLES,
  lastingS: LONE_PULL_S,
  pulls: LONE_PULLS,
  spoolingRpm: SPOOLING_TO_RPM,
  spoolingPulls: SPOOLING_PULLS,
  air: AIR_LIMIT,
  goodLoss: GOOD_LOSS_PCT / 100,
  carryRpm: CARRY_RPM,
  carry: CARRY_SD,
});
/** A bound of what is listed. Chosen by hand, not measured. */
const MAX_EVIDENCE = 12;
/** Shorter than this a pull only brushed a region. Chosen by hand, not measured. */
const MOMENT_US = 400_000;
/** Nobody drives more than this to settle one region. Chosen by hand, not measured. */
const MANY_PULLS = 12;
/**
 * A pull asked for: demand, %, how long, and how many for a comparison on one day. Chosen by hand, not measured.
 */
const DRIVE_PCT = 70;
const PULL_HELD_S = 3;
const ONE_DAY_PULLS = 5;
/** After a baseline. Chosen by hand, not measured. */
export const TAUGHT_PULLS = 3;
/** Pulls that came, none missing, before boost is said to come at each. Chosen by hand, not measured. */
const HELD_PULLS = 6;
/**
 * Light demand asked for: how long, between which engine speeds, and the pulls after it. Chosen by hand, not
 * measured.
 */
export const LIGHT_ASK = { holdS: 30, fromRpm: 1500, toRpm: 3000, pulls: 2 } as const;
const MISSING_ELSEWHERE = say('boost.need.elsewhere');
/** Short by more than this is as good as none. Chosen by hand, not measured. */
const NONE_SHARE = -0.8;
/**
 * Between a leak's shortfall at the changeover and a slip's, as shares of the one in the clutch band (simulated car, even
 * seeds: 0.4 to 0.8, and up to 0.45): told apart where it lies a standard error to one side.
 */
const MIDDLE_TO_LOW = 0.35;
/** At the changeover any pull may miss for a moment: only the mean over the region counts, against a wider limit (chosen on the simulated car, even seeds: healthy ones to −5.5 ± 3.6 %). */
const DIP_LIMIT = 0.12;
/** What a leak takes from the boost is measured as air, at least this share of it (simulated leaks: 0.6 to 0.9; weak chargers: up to 0.06; even seeds). */
const AIR_OF_MISSING = 0.2;
const PRACTICE = say('boost.source.default');

/** All that a report needs to know of a run so far. */
export interface BoostCase {
  readonly profile: Profile;
  readonly baseline: BoostBaseline | null;
  readonly regions: readonly RegionEvidence[];
  /** Null when no clutch closes anything. */
  readonly clutch: ClutchWatch | null;
  /** Null when the profile says how the engine is charged. */
  readonly induction: InductionWatch | null;
  /** Boost high up against that below, where one machine makes both and both were driven. */
  readonly shape: Evidence | null;
  readonly signals: ReadonlySet<string>;
  readonly demandName: string | null;
  readonly saidAtS: (id: string) => number | null;
}

export function boostFindings(c: BoostCase): Finding[] {
  if (c.regions.length === 0) return [];
  const low = c.regions.find((r) => r.region.key === 'low');
  const high = c.regions.find((r) => r.region.key === 'high');
  const both = (f: (r: RegionEvidence) => boolean): boolean =>
    low !== undefined && high !== undefined && f(low) && f(high);
  const everywhere = both((r) => r.short && !r.absent && !r.intermittent) || sharedLoss(c);
  const out: Finding[] = [];
  for (const r of c.regions) out.push(regionFinding(c, r, everywhere));
  out.push(intermittentFinding(c), leakFinding(c, everywhere), surplusFinding(c));
  if (c.clutch !== null) out.push(lateFinding(c, c.clutch), clutchOpenFinding(c, c.clutch));
  const told = takenBack(c, out);
  return c.induction === null ? told : told.map((f) => guessed(f, c.induction!));
}

/** What was spoken of as a fault and is none any more is not good either: the technician heard it. */
function takenBack(c: BoostCase, findings: readonly Finding[]): Finding[] {
  const elsewhere = findings.some((f) => f.verdict === 'fault shown');
  return findings.map((f) => {
    const atS = c.saidAtS(f.id);
    if (atS === null || f.verdict === 'fault shown' || (elsewhere && f.verdict === 'not shown')) return f;
    const evidence = f.evidence.filter(({ text }) => text.id !== 'boost.good-range');
    return {
      ...f,
      ...{ verdict: 'not shown', aside: false, evidence },
      needs: say('boost.need.taken-back', { atS }),
    };
  });
}

/** A finding on a car whose profile does not say how it is charged names the guess that it rests on. */
function guessed(f: Finding, induction: InductionWatch): Finding {
  const guess = induction.guess();
  const judged = guess === null ? say('boost.rule.no-induction') : say('boost.rule.guessed', { guess });
  const rule = isSays(f.rule) ? inTurn([f.rule, judged]) : judged;
  if (f.verdict !== 'not shown') return { ...f, rule };
  const enter = guess === null ? say('boost.need.induction') : say('boost.need.induction-guessed', { guess });
  return { ...f, rule, needs: isSays(f.needs) ? inTurn([enter, f.needs]) : enter };
}

/** As good as no boost at all. */
function isDead(r: RegionEvidence): boolean {
  return r.absent || (r.estimate?.deviation ?? 0) <= NONE_SHARE;
}

function regionFinding(c: BoostCase, r: RegionEvidence, everywhere: boolean): Finding {
  const id = r.region.id;
  const neighbours = c.regions.filter((o) => o !== r);
  const dip = r.region.key === 'middle';
  // A dip at the changeover is one only between two regions that are not short themselves.
  const explained = dip
    ? neighbours.some((o) => o.short || o.missed > 0 || o.estimate === null)
    : r.region.key === 'low' && comesLate(c);
  // Where boost comes and goes its mean means nothing.
  const shown = dip ? dips(r) : r.short || r.absent;
  const fault = !explained && !r.intermittent && (shown || r.leaks);
  const base = {
    ...(dip ? finding(c, id, r.all, r.estimate, -dipLimit(r)) : finding(c, id, r.all, r.basis)),
    // Where boost comes and goes nothing is ruled out.
    excluded: r.intermittent ? [] : excludedBy(r.scan, r.region),
    ...(dip ? { aside: true, rule: inTurn([RULE, say('boost.rule.dip', { limit: DIP_LIMIT })]) } : {}),
  };
  if (fault)
    return {
      ...base,
      ...(shown ? {} : measuredAir(airExcess(r.witnesses))),
      evidence: [
        ...(shown && r.shortfall !== null ? surestAt(pullsBehind(c, r), r.shortfall) : []),
        ...base.evidence,
      ],
      verdict: 'fault shown',
      saidAtS: c.saidAtS(id),
      pointsTo: hint(c, r, everywhere),
    };
  if (shown && explained) return { ...base, verdict: 'not shown', needs: MISSING_ELSEWHERE };
  const { good } = r;
  if (good !== null) {
    const { fromRpm, toRpm, fromDemandPct, lossPct, weakest } = good;
    const source = sourceSays(c, r.all, weakest);
    const text = say('boost.good-range', { fromRpm, toRpm, fromDemandPct, loss: lossPct / 100 });
    const over = { fromS: base.fromS ?? 0, toS: base.toS ?? 0, text };
    return {
      ...base,
      // The claim rests on the speeds that rule out least, not on the mean over all.
      measured: measuredKpa(weakest),
      limit: { value: tenth(-(GOOD_LOSS_PCT / 100) * weakest.expectedKpa), unit: 'kPa', source },
      verdict: 'shown good',
      evidence: [over, ...base.evidence],
    };
  }
  // With nothing to hold it against, the drive itself still tells how level the boost was.
  const seen = r.region.key === 'high' && r.estimate === null && c.shape !== null ? [c.shape] : [];
  return { ...base, verdict: 'not shown', evidence: [...seen, ...base.evidence], needs: needs(c, r) };
}

/** As a share of the expected boost; wider by as much as cars of a kind differ. */
const dipLimit = (r: RegionEvidence): number =>
  r.estimate !== null && carsOf(r.all) > 0 ? Math.max(DIP_LIMIT, r.estimate.limit) : DIP_LIMIT;

function dips(r: RegionEvidence): boolean {
  const e = r.estimate;
  return r.absent || (e?.carried === true && e.deviation + Z95 * e.se < -dipLimit(r));
}

/** The clutch closes late, and then brings boost: what the pulls miss before is that, not a slip nor comings and goings. */
function comesLate(c: BoostCase): boolean {
  return c.clutch?.late === true && !c.regions.some((r) => r.region.key === 'low' && isDead(r));
}

function hint(c: BoostCase, r: RegionEvidence, everywhere: boolean): Says {
  const air = airLost(everywhere ? c.regions : [r]);
  if (air === true) return say('boost.points.leak-air');
  if (everywhere && c.profile.induction === 'twin-charged') return say('boost.points.leak-everywhere');
  if (everywhere && air === null) return say('boost.points.turbo-or-leak');
  if (r.region.id === 'boost.clutch-band' && r.estimate !== null && !isDead(r)) {
    const middle = c.regions.find((o) => o.region.key === 'middle');
    if (middle === undefined || besideBand(c) === 'alone') return say('boost.points.slip');
    const { fromRpm, toRpm } = middle.region;
    return say('boost.points.slip-or-leak', { fromRpm, toRpm });
  }
  return r.region.pointsTo;
}

/**
 * Twin-charged: a leak takes boost at the changeover as well, where the turbocharger already helps; a clutch that slips
 * or stays open does so in its band alone, and a weak turbocharger leaves the band alone (simulated car).
 */
function sharedLoss(c: BoostCase): boolean {
  const low = c.regions.find((r) => r.region.key === 'low');
  return low?.short === true && !isDead(low) && !low.intermittent && besideBand(c) === 'shared';
}

/** Whether the changeover misses boost as the clutch band does; null when it cannot be told. */
function besideBand(c: BoostCase): 'shared' | 'alone' | null {
  const low = c.regions.find((r) => r.region.key === 'low')?.estimate;
  const middle = c.regions.find((r) => r.region.key === 'middle')?.estimate;
  if (!low || !middle || low.deviation >= 0) return null;
  const between = MIDDLE_TO_LOW * low.deviation;
  if (middle.deviation + middle.se < between) return 'shared';
  return middle.deviation - middle.se > between ? 'alone' : null;
}

/** Whether air gets lost between meter and engine; null when it cannot be told. */
function airLost(regions: readonly RegionEvidence[]): boolean | null {
  const witnesses = regions.flatMap((r) => r.witnesses);
  const air = airExcess(witnesses);
  if (air === null || witnesses.length < 2) return null;
  const known = regions.flatMap((r) => r.estimate ?? []);
  const missing = known.length === 0 ? 0 : -Math.min(0, ...known.map((e) => e.deviation));
  const limit = Math.max(air.limit, AIR_OF_MISSING * missing);
  if (air.share - Z95 * air.se > limit) return true;
  return air.share + Z95 * air.se < limit ? false : null;
}

/** Air mass and pressure contradict each other beyond doubt, alike in two regions at least, and pressure is not high. */
function airContradicts(c: BoostCase): boolean {
  const air = airExcess(c.regions.flatMap((r) => r.witnesses));
  if (air === null || !airIsLost(air)) return false;
  const known = c.regions.flatMap((r) => r.estimate ?? []);
  const weight = known.reduce((a, e) => a + 1 / e.se ** 2, 0);
  const deviation = known.reduce((a, e) => a + e.deviation / e.se ** 2, 0) / weight;
  const own = c.regions.flatMap((r) => airExcess(r.witnesses) ?? []);
  // One region alone may have its own cause; seen in all, it is what they share.
  const alike = (o: AirExcess): boolean => o.share > Z95 * o.se && o.share + Z95 * o.se > air.share;
  return deviation < 0 && own.length > 1 && own.every(alike);
}

function intermittentFinding(c: BoostCase): Finding {
  const id = 'boost.intermittent';
  const where = c.regions.filter((r) => r.intermittent);
  const witnesses = where.flatMap((r) => r.witnesses.filter((w) => w.held !== null));
  const base = {
    ...finding(c, id, witnesses),
    aside: true,
    rule: say('boost.rule.intermittent', {
      gone: GONE_SHARE,
      surely: SURELY_SHARE,
      times: TIMES_LIKELIER,
      pulls: HELD_PULLS,
    }),
  };
  // A clutch that closes late, or a turbocharger that does not take over from it, leaves holes in its band as well.
  const turbo = c.regions.some((r) => r.region.key === 'high' && r.short && !r.intermittent);
  const elsewhere = comesLate(c) || (c.clutch !== null && turbo);
  if (where.length > 0 && elsewhere) return { ...base, needs: MISSING_ELSEWHERE };
  if (where.length > 0)
    return {
      ...base,
      verdict: 'fault shown',
      // The first pull that brought nothing was spoken of as boost missing; that it comes and goes showed later.
      saidAtS: earliest([id, ...where.map((r) => r.region.id)].map(c.saidAtS)),
      pointsTo:
        where[0]?.region.id === 'boost.clutch-band' ? say('boost.points.contact') : say('boost.points.hangs'),
    };
  const held = Math.max(0, ...c.regions.map((r) => r.held));
  const leftOut = c.regions.find((r) => r.unknown?.why === 'left-out-short');
  if (leftOut !== undefined) return { ...base, needs: needs(c, leftOut) };
  if (c.regions.some((r) => r.missed > 0)) return { ...base, needs: MISSING_ELSEWHERE };
  if (held >= HELD_PULLS) return { ...base, verdict: 'shown good' };
  return { ...base, needs: say('boost.need.full-pulls', { pulls: HELD_PULLS - held }) };
}

function leakFinding(c: BoostCase, everywhere: boolean): Finding {
  const id = 'boost.leak';
  const witnesses = c.regions.flatMap((r) => r.witnesses);
  const base = {
    ...finding(c, id, witnesses),
    aside: true,
    rule: say('boost.rule.leak', { confidence: CONFIDENCE, z: Z_FAULT }),
  };
  const lost = airLost(c.regions);
  const two = c.profile.induction === 'twin-charged';
  const measured = measuredAir(airExcess(witnesses));
  if (everywhere && (lost === true || (lost === null && two)))
    return {
      ...base,
      ...measured,
      verdict: 'fault shown',
      saidAtS: c.saidAtS(id),
      pointsTo: say('boost.points.leak'),
    };
  if (airContradicts(c))
    return {
      ...base,
      ...measured,
      verdict: 'fault shown',
      saidAtS: c.saidAtS(id),
      pointsTo: say('boost.points.leak-or-sensor'),
    };
  if (c.regions.every((r) => r.region.key === 'middle' || r.good !== null))
    return { ...base, verdict: 'shown good' };
  return {
    ...base,
    needs: everywhere ? say('boost.need.press-test') : firstNeeds(c),
  };
}

function measuredAir(air: AirExcess | null): Pick<Finding, 'measured' | 'limit'> {
  if (air === null) return { measured: null, limit: null };
  return {
    measured: {
      value: tenth(100 * air.share),
      unit: '%',
      interval: [tenth(100 * (air.share - Z95 * air.se)), tenth(100 * (air.share + Z95 * air.se))],
    },
    limit: {
      value: tenth(100 * air.limit),
      unit: '%',
      source:
        air.cars > 0
          ? say('boost.source.air-kind', { cars: air.cars, within: air.within })
          : say('boost.source.air'),
    },
  };
}

function surplusFinding(c: BoostCase): Finding {
  const id = 'boost.surplus';
  const where = c.regions.filter((r) => r.surplus && r.region.key !== 'middle');
  const witnesses = where.flatMap((r) => r.witnesses);
  const base = {
    ...(where[0] === undefined ? finding(c, id, witnesses) : tooMuch(c, id, witnesses, where[0])),
    aside: true,
    rule: say('boost.rule.surplus', { confidence: CONFIDENCE, z: Z_FAULT, limits: SURPLUS_LIMITS }),
  };
  if (where.length > 0)
    return {
      ...base,
      verdict: 'fault shown',
      saidAtS: c.saidAtS(id),
      // A car that was weak before its repair makes a weak teacher.
      pointsTo: OTHER_DRIVES.has(sourceOf(witnesses))
        ? say('boost.points.control-or-teacher')
        : say('boost.points.control'),
    };
  if (c.regions.every((r) => r.region.key === 'middle' || r.good !== null))
    return { ...base, verdict: 'shown good' };
  return { ...base, needs: firstNeeds(c) };
}

/** Held against the limit that a surplus must exceed. */
const tooMuch = (
  c: BoostCase,
  id: string,
  witnesses: readonly Witness[],
  { estimate }: RegionEvidence,
): Finding => finding(c, id, witnesses, estimate, estimate === null ? 0 : SURPLUS_LIMITS * estimate.limit);

function lateFinding(c: BoostCase, clutch: ClutchWatch): Finding {
  const id = 'boost.late';
  const o = clutch.onset;
  const base: Finding = {
    ...finding(c, id, []),
    fromS: o === null ? null : clutch.onsets[0]!.fromUs / 1e6,
    toS: o === null ? null : clutch.onsets.at(-1)!.toUs / 1e6,
    measured: o === null ? null : { value: hundredth(o.mean), unit: 's', interval: around(o, hundredth) },
    limit: { value: ONSET_LIMIT_S, unit: 's', source: PRACTICE },
    evidence: clutch.evidence(clutch.onsets, (v) => say('boost.seen.onset', { afterS: v.value })),
    rule: say('boost.rule.late', {
      share: ONSET_SHARE,
      confidence: CONFIDENCE,
      goodTips: PROMPT_TIPS,
      z: Z_CLUTCH,
      faultTips: LATE_TIPS,
    }),
  };
  // Where the band brings nothing, what came at last was the turbocharger's.
  if (clutch.late && c.regions.some((r) => r.region.key === 'low' && isDead(r)))
    return { ...base, needs: MISSING_ELSEWHERE };
  if (clutch.late)
    return {
      ...base,
      verdict: 'fault shown',
      saidAtS: c.saidAtS(id),
      pointsTo: say('boost.points.closes-late'),
    };
  if (clutch.prompt) return { ...base, verdict: 'shown good' };
  return {
    ...base,
    needs: say('boost.need.tip-ins', { tips: PROMPT_TIPS, holdS: PULL_HELD_S }),
  };
}

function clutchOpenFinding(c: BoostCase, clutch: ClutchWatch): Finding {
  const id = 'boost.clutch-open';
  const high = c.regions.find((r) => r.region.key === 'high');
  const pressed = clutch.drivenAtLight;
  const { lightAct: act, lightManifold: manifold } = clutch;
  // What shows it is printed; with nothing shown, what would tell best.
  const byCharge = pressed === null ? act !== null : pressed === 'charge';
  const e = byCharge ? act : manifold;
  const list = byCharge ? clutch.light : clutch.lightMap;
  const rule = say('boost.rule.clutch-open', {
    z: Z_CLUTCH,
    mapStretches: MAP_STRETCHES,
    actStretches: ACT_STRETCHES,
  });
  const shown = {
    verdict: 'fault shown',
    saidAtS: c.saidAtS(id),
    pointsTo: say('boost.points.does-not-open'),
  } as const;
  if (pressed === null && high?.surplus === true)
    return { ...tooMuch(c, id, high.witnesses, high), rule, ...shown };
  const base: Finding = {
    ...finding(c, id, []),
    fromS: e === null ? null : list[0]!.fromUs / 1e6,
    toS: e === null ? null : list.at(-1)!.toUs / 1e6,
    measured: e === null ? null : { value: tenth(e.mean), unit: 'kPa', interval: around(e, tenth) },
    limit: { value: byCharge ? LIGHT_LIMIT_KPA : LIGHT_MAP_KPA, unit: 'kPa', source: PRACTICE },
    evidence: clutch.evidence(list, (v) =>
      say(byCharge ? 'boost.seen.light-charge' : 'boost.seen.light-manifold', { gaugeKpa: v.value }),
    ),
    rule,
  };
  if (pressed !== null) return { ...base, ...shown };
  const quiet = manifold !== null && manifold.n >= 4 && manifold.mean + Z95 * manifold.se < 0;
  const taughtItself = c.baseline !== null && !ofKindAlone(c.baseline);
  const normal = (high?.good ?? null) !== null && taughtItself;
  if (clutch.openAtLight || (act === null && quiet && normal)) return { ...base, verdict: 'shown good' };
  return {
    ...base,
    needs: say('boost.need.light', LIGHT_ASK),
  };
}

/** @param limit as a share of the expected boost, as it is applied to `e` */
function finding(
  c: BoostCase,
  id: string,
  witnesses: readonly Witness[],
  e: Estimate | null = null,
  limit = e === null ? 0 : -e.limit,
): Finding {
  const used = new Set([
    'map_kpa',
    'rpm',
    'speed_kmh',
    'baro_kpa',
    'ect_c',
    'boost_cmd_kpa',
    'boost_act_kpa',
    'maf_gps',
    c.demandName ?? '',
  ]);
  return {
    id,
    system: 'boost',
    verdict: 'not shown',
    pointsTo: null,
    saidAtS: null,
    fromS: witnesses.length === 0 ? null : Math.min(...witnesses.map((w) => w.fromUs)) / 1e6,
    toS: witnesses.length === 0 ? null : Math.max(...witnesses.map((w) => w.toUs)) / 1e6,
    measured: e === null ? null : measuredKpa(e),
    limit:
      e === null
        ? null
        : { value: tenth(limit * e.expectedKpa), unit: 'kPa', source: sourceSays(c, witnesses, e) },
    evidence: [...(e === null ? [] : heldAgainst(witnesses, e)), ...chosen(witnesses, e).map(evidenceOf)],
    needs: null,
    rule: RULE,
    signals: [...c.signals].filter((s) => used.has(s)).sort(),
  };
}

function measuredKpa(e: Estimate): Finding['measured'] {
  const kpa = (deviation: number): number => tenth(deviation * e.expectedKpa);
  const interval: [number, number] = [kpa(e.deviation - Z95 * e.se), kpa(e.deviation + Z95 * e.se)];
  return { value: kpa(e.deviation), unit: 'kPa', interval };
}

/**
 * The clearest misses, those that deviate most where the estimate was taken, and the newest pulls, in order of time. A
 * moment at the edge of a region weighs next to nothing and, shown beside whole pulls, would read as if it did.
 */
function chosen(all: readonly Witness[], e: Estimate | null): readonly Witness[] {
  const lasting = all.filter((w) => w.held === false || w.toUs - w.fromUs >= MOMENT_US);
  const witnesses = lasting.length > 0 ? lasting : all;
  if (witnesses.length <= MAX_EVIDENCE) return witnesses;
  const rank = (w: Witness): number =>
    w.held === false ? Number.NEGATIVE_INFINITY : e === null ? 0 : towards(w, e);
  const clearest = witnesses
    .map((w) => ({ w, rank: rank(w) }))
    .filter((r) => r.rank < 0)
    .sort((a, b) => (a.rank === b.rank ? 0 : a.rank - b.rank))
    .slice(0, MAX_EVIDENCE / 2)
    .map((r) => r.w);
  const rest = witnesses.filter((w) => !clearest.includes(w)).slice(clearest.length - MAX_EVIDENCE);
  return [...clearest, ...rest].sort((a, b) => a.fromUs - b.fromUs);
}

/** How far a pull deviates inside the window, the further the lower where it does so as the estimate does; 0 outside of it. */
function towards(w: Witness, e: Estimate): number {
  let [weight, deviation] = [0, 0];
  for (const p of w.patches)
    if (inWindow(p.at, e)) {
      weight += p.w;
      deviation += p.deviation;
    }
  return weight === 0 ? 0 : -Math.sign(e.deviation) * (deviation / weight);
}

/** The pulls of the region, or of all where only together they show the shortfall. */
const pullsBehind = (c: BoostCase, r: RegionEvidence): readonly Witness[] =>
  r.shortfall === r.shared ? c.regions.flatMap((o) => o.all) : r.all;

/** The window in which the shortfall was found, as far as it was driven; the times are those of the clearest pull in it. */
function surestAt(all: readonly Witness[], e: Estimate): Evidence[] {
  const inside = all.filter((w) => w.patches.some((p) => inWindow(p.at, e)));
  const [clearest] = inside.toSorted((a, b) => towards(a, e) - towards(b, e));
  if (clearest === undefined) return [];
  const text = say('boost.seen.surest', {
    fromRpm: Math.max(e.fromRpm, Math.min(...inside.map((w) => w.rpm[0]))),
    toRpm: Math.min(e.toRpm, Math.max(...inside.map((w) => w.rpm[1]))),
    fromDemandPct: e.fromDemandPct,
    byKpa: e.deviation * e.expectedKpa,
    expectedKpa: e.expectedKpa,
    deviation: e.deviation,
    pulls: e.pulls,
  });
  return [{ fromS: tenth(clearest.fromUs / 1e6), toS: tenth(clearest.toUs / 1e6), text }];
}

function evidenceOf(w: Witness): Evidence {
  return { fromS: tenth(w.fromUs / 1e6), toS: tenth(w.toUs / 1e6), text: pullSays(w) };
}

function pullSays(w: Witness): Says {
  const { boostKpa, expectedKpa, deviation, ratio } = w;
  const [fromRpm, toRpm] = w.rpm;
  const range =
    ratio === null
      ? say('boost.seen.range', { fromRpm, toRpm })
      : say('boost.seen.range-in-gear', { fromRpm, toRpm, kmh: GEAR_AT_RPM / ratio, atRpm: GEAR_AT_RPM });
  if (expectedKpa === null) return say('boost.seen.pull', { range, boostKpa });
  if (deviation === null) return say('boost.seen.pull-due', { range, boostKpa, leastKpa: expectedKpa });
  return say('boost.seen.pull-expected', { range, boostKpa, expectedKpa, deviation });
}

/** An estimate rests on the pulls with an expectation; absence alone on the least of any healthy engine. */
function sourceOf(witnesses: readonly Witness[]): Witness['source'] | null {
  return witnesses.findLast((w) => w.deviation !== null)?.source ?? null;
}

const OTHER_DRIVES: ReadonlySet<Witness['source'] | null> = new Set([
  'baseline run',
  'kind',
  'baseline run and kind',
] as const);

function sourceSays(c: BoostCase, witnesses: readonly Witness[], e: Estimate): Says {
  const source = sourceOf(witnesses);
  if (source === 'profile')
    return say('boost.source.profile', { from: c.profile.expectedBoost?.source ?? 'entered' });
  if (source === 'commanded boost') return say('boost.source.commanded');
  if (source === 'baseline run') return say('boost.source.baseline');
  if (source === 'kind') return say('boost.source.kind', ofKind(witnesses, e));
  if (source === 'baseline run and kind') return say('boost.source.baseline-and-kind', ofKind(witnesses, e));
  return PRACTICE;
}

/** Other cars of the kind that the pulls were held against, in the mean over their samples, rounded down; 0 without. */
function carsOf(witnesses: readonly Witness[]): number {
  const known = witnesses.filter((w) => w.deviation !== null && w.cars > 0);
  const n = known.reduce((a, w) => a + w.n, 0);
  return n === 0 ? 0 : Math.max(1, Math.floor(known.reduce((a, w) => a + w.n * w.cars, 0) / n));
}

/** How many they are, and by how much what is expected may be off, however many pulls are driven (95 %, share). */
const ofKind = (witnesses: readonly Witness[], e: Estimate): { cars: number; within: number } => ({
  cars: carsOf(witnesses),
  within: Z_BOTH * Math.sqrt(e.runVariance),
});

/** Said before the pulls: another car's boost is no limit to hold a small loss against. */
function heldAgainst(witnesses: readonly Witness[], e: Estimate): Evidence[] {
  const source = sourceOf(witnesses);
  if (source !== 'kind' && source !== 'baseline run and kind') return [];
  const id = source === 'kind' ? 'boost.seen.kind' : 'boost.seen.baseline-and-kind';
  const over = { fromS: witnesses[0]!.fromUs / 1e6, toS: witnesses.at(-1)!.toUs / 1e6 };
  return [{ fromS: tenth(over.fromS), toS: tenth(over.toS), text: say(id, ofKind(witnesses, e)) }];
}

function firstNeeds(c: BoostCase): Says | null {
  const open = c.regions.find((r) => r.good === null && r.region.key !== 'middle');
  return open === undefined ? null : needs(c, open);
}

function needs(c: BoostCase, r: RegionEvidence): Says {
  if (!c.signals.has('map_kpa')) return say('boost.need.map');
  if (!c.signals.has('rpm')) return say('boost.need.rpm');
  if (c.demandName === null) return say('boost.need.demand');
  if (r.intermittent) return say('boost.need.repair-first');
  const { fromRpm: from, toRpm: to } = askedRpm(r.region);
  const asked = { fromDemandPct: DRIVE_PCT, holdS: PULL_HELD_S, warmC: GOOD_FROM_C };
  const taught =
    c.baseline !== null || c.profile.expectedBoost !== undefined || c.signals.has('boost_cmd_kpa');
  if (r.estimate === null && !taught)
    return say(hasClutch(c.profile) ? 'boost.need.baseline-engagements' : 'boost.need.baseline-pulls', {
      ...asked,
      pulls: TAUGHT_PULLS,
      fromRpm: from,
      toRpm: to,
    });
  const { lacks, unknown } = r;
  if (unknown !== null && taught) {
    const { fromRpm, toRpm, why } = unknown;
    const where = { fromRpm, toRpm, fromDemandPct: GOOD_FROM_PCT };
    return why === 'untaught'
      ? say('boost.need.untaught', where)
      : say('boost.need.left-out', { ...where, holdS: PULL_HELD_S });
  }
  const { odd } = r;
  if (odd !== null && odd.expectedKpa !== null)
    return say('boost.need.again', {
      atS: odd.fromUs / 1e6,
      fromRpm: odd.rpm[0],
      toRpm: odd.rpm[1],
      boostKpa: odd.boostKpa,
      expectedKpa: odd.expectedKpa,
    });
  // The speeds that block, the lowest first: no pull went there, or one cell does not rule the loss out.
  const at = lacks.through[0] ?? openCell(r.scan, r.region) ?? { fromRpm: from, toRpm: to };
  const how = { ...asked, fromRpm: at.fromRpm, toRpm: at.toRpm };
  if (lacks.pulls > 0 || !lacks.warm || lacks.through.length > 0)
    return say('boost.need.pulls', { ...how, pulls: Math.max(1, lacks.pulls) });
  const more = r.pullsToGo;
  if (r.estimate !== null && sourceOf(r.all) === 'kind' && (more === null || more > MANY_PULLS))
    return say('boost.need.own-baseline', { ...how, pulls: TAUGHT_PULLS, ...ofKind(r.all, r.estimate) });
  if (more === null || more > MANY_PULLS) return say('boost.need.one-day', { ...how, pulls: ONE_DAY_PULLS });
  return say('boost.need.pulls', { ...how, pulls: more });
}

function earliest(times: readonly (number | null)[]): number | null {
  const said = times.filter((t) => t !== null);
  return said.length === 0 ? null : Math.min(...said);
}

function around(e: { mean: number; se: number }, round: (x: number) => number): [number, number] {
  return [round(e.mean - Z95 * e.se), round(e.mean + Z95 * e.se)];
}
