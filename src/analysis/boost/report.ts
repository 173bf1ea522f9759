/** Boost findings as sentences with their evidence: which region, which pulls, which limit, what to do. */
import type { Profile } from '../../core/profile.ts';
import { inTurn, type Told } from '../../core/says.ts';
import type { Evidence, Finding } from '../types.ts';
import { AIR_LIMIT, type AirExcess, airExcess, airIsLost } from './air.ts';
import { excludedBy, GOOD_LOSS_PCT, openCell } from './cells.ts';
import type { ClutchWatch } from './clutch.ts';
import { LIGHT_LIMIT_KPA, ONSET_LIMIT_S } from './clutch.ts';
import type { RegionEvidence } from './evidence.ts';
import type { InductionWatch } from './induction.ts';
import type { BoostBaseline } from './lesson.ts';
import { hasClutch } from './regions.ts';
import { say } from './says.ts';
import { Z_FAULT, Z95 } from './scan.ts';
import { GOOD_FROM_C, type Witness } from './witness.ts';

const RULE = `Fault shown: in some window of engine speed and demand the 90 % interval (95 % on either side) of the mean deviation from the expected boost lies wholly beyond the limit, the mean more than ${Z_FAULT} standard errors from none, over four samples of one lasting pull or of three pulls; or no boost came throughout a settled pull; or more air is measured than the pressure accounts for (by ${100 * AIR_LIMIT} % with the whole interval, and by ${Z_FAULT} standard errors). Shown good: over at least two pulls with a warm engine a loss of ${GOOD_LOSS_PCT} % lies outside the interval at each engine speed that the claim covers, and no driven cell speaks against it. Anything between is not shown (JCGM 106:2012).`;
const MAX_EVIDENCE = 12;
/** Shorter than this a pull only brushed a region. */
const MOMENT_US = 400_000;
/** Nobody drives more than this to settle one region. */
const MANY_PULLS = 12;
/** A pull asked for: demand, %, how long, and how many for a comparison on one day. */
const DRIVE_PCT = 70;
const HOLD_S = 3;
const ONE_DAY_PULLS = 5;
const MISSING_ELSEWHERE = 'Boost was missing; see the other boost findings.';
/** Short by more than this is as good as none. */
const NONE_SHARE = -0.8;
/** A leak's shortfall at the hand-over is at least this share of the one in the clutch band (simulated car: 0.6; slip 0.1). */
const MIDDLE_TO_LOW = 0.35;
/** The hand-over region must be known this well before it clears the pipes. */
const MIDDLE_SE = 0.08;
const LEAK = 'leak on the pressure side';
const PRACTICE = 'default (common practice, no source)';

/** All that a report needs to know of a run so far. */
export interface BoostCase {
  readonly profile: Profile;
  readonly baseline: BoostBaseline | null;
  readonly regions: readonly RegionEvidence[];
  /** Null when no clutch closes anything. */
  readonly clutch: ClutchWatch | null;
  /** Null when the profile says how the engine is charged. */
  readonly induction: InductionWatch | null;
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
  return c.induction === null ? out : out.map((f) => guessed(f, c.induction!));
}

/** A finding on a car whose profile does not say how it is charged names the guess that it rests on. */
function guessed(f: Finding, induction: InductionWatch): Finding {
  const guess = induction.guess();
  const rule = `${f.rule} The profile does not say how the engine is charged; judged as turbocharged${guess === null ? '' : ` (${guess})`}.`;
  if (f.verdict !== 'not shown') return { ...f, rule };
  const enter = `Enter in the profile how the engine is charged${guess === null ? '' : `: ${guess}`}.`;
  if (f.needs === null) return { ...f, rule, needs: enter };
  if (typeof f.needs === 'string') return { ...f, rule, needs: `${enter} ${f.needs}` };
  return { ...f, rule, needs: inTurn([{ id: 'text', args: { text: enter } }, f.needs]) };
}

/** As good as no boost at all. */
function isDead(r: RegionEvidence): boolean {
  return r.absent || (r.estimate?.deviation ?? 0) <= NONE_SHARE;
}

function regionFinding(c: BoostCase, r: RegionEvidence, everywhere: boolean): Finding {
  const id = r.region.id;
  const neighbours = c.regions.filter((o) => o !== r);
  const dip = r.region.key === 'middle';
  // A dip at the hand-over is one only between two regions that are not short themselves.
  const explained = dip && neighbours.some((o) => o.short || o.missed > 0 || o.estimate === null);
  // Where boost comes and goes its mean means nothing.
  const shown = r.short || r.absent;
  const fault = !explained && !r.intermittent && (shown || r.leaks);
  const base = {
    ...finding(c, id, r.all, r),
    // Where boost comes and goes nothing is ruled out.
    excluded: r.intermittent ? [] : excludedBy(r.scan, r.region),
    ...(dip ? { aside: true } : {}),
  };
  if (fault)
    return {
      ...base,
      ...(shown ? {} : measuredAir(airExcess(r.witnesses))),
      verdict: 'fault shown',
      saidAtS: c.saidAtS(id),
      pointsTo: hint(c, r, everywhere),
    };
  const { good } = r;
  if (good !== null) {
    const { fromRpm, toRpm, fromDemandPct, lossPct } = good;
    const text = say('boost.good-range', { fromRpm, toRpm, fromDemandPct, loss: lossPct / 100 });
    const over = { fromS: base.fromS ?? 0, toS: base.toS ?? 0, text };
    return { ...base, verdict: 'shown good', evidence: [over, ...base.evidence] };
  }
  return { ...base, verdict: 'not shown', needs: needs(c, r) };
}

function hint(c: BoostCase, r: RegionEvidence, everywhere: boolean): string {
  const air = airLost(everywhere ? c.regions : [r]);
  if (air === true)
    return 'leak on the pressure side: more air is measured than the manifold pressure accounts for';
  if (everywhere && c.profile.induction === 'twin-charged')
    return 'leak on the pressure side (boost is short at all speeds)';
  if (everywhere && air === null)
    return 'turbocharger, its actuator, its pipes, or a leak on the pressure side';
  if (r.region.id === 'boost.clutch-band' && r.estimate !== null && !isDead(r)) {
    const slip = 'clutch or belt slips, or control flap does not close fully';
    const middle = c.regions.find((o) => o.region.key === 'middle');
    const sound = middle?.estimate != null && !middle.short && middle.estimate.se < MIDDLE_SE;
    if (middle === undefined || sound) return slip;
    const { fromRpm, toRpm } = middle.region;
    return `${slip}, or a leak on the pressure side (pulls from ${fromRpm} to ${toRpm} rpm tell them apart)`;
  }
  return r.region.pointsTo;
}

/**
 * Twin-charged: a leak takes boost at the hand-over as well, where the turbocharger already helps; a clutch that slips
 * or stays open does so in its band alone, and a weak turbocharger leaves the band alone (simulated car).
 */
function sharedLoss(c: BoostCase): boolean {
  const low = c.regions.find((r) => r.region.key === 'low');
  const middle = c.regions.find((r) => r.region.key === 'middle');
  if (!low?.short || !middle?.short || low.absent || low.intermittent || middle.intermittent) return false;
  const e = low.estimate;
  return (
    e !== null && e.deviation > NONE_SHARE && (middle.estimate?.deviation ?? 0) < MIDDLE_TO_LOW * e.deviation
  );
}

/** Whether air gets lost between meter and engine; null when it cannot be told. */
function airLost(regions: readonly RegionEvidence[]): boolean | null {
  const witnesses = regions.flatMap((r) => r.witnesses);
  const air = airExcess(witnesses);
  if (air === null || witnesses.length < 2) return null;
  if (air.share - Z95 * air.se > AIR_LIMIT) return true;
  return air.share + Z95 * air.se < AIR_LIMIT ? false : null;
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
    ...finding(c, id, witnesses, null),
    aside: true,
    rule: 'Fault shown: in one region of engine speed boost was missing in some pulls (short by more than half) and came in others that asked as much (short by less than 15 %). Shown good: it came in at least six pulls and was never missing.',
  };
  if (where.length > 0)
    return {
      ...base,
      verdict: 'fault shown',
      // The first pull that brought nothing was spoken of as boost missing; that it comes and goes showed later.
      saidAtS: earliest([id, ...where.map((r) => r.region.id)].map(c.saidAtS)),
      pointsTo:
        where[0]?.region.id === 'boost.clutch-band'
          ? 'intermittent coil, connector, worn clutch'
          : 'actuator or control line that hangs, loose pipe',
    };
  const held = Math.max(0, ...c.regions.map((r) => r.held));
  if (c.regions.some((r) => r.missed > 0)) return { ...base, needs: MISSING_ELSEWHERE };
  if (held >= 6) return { ...base, verdict: 'shown good' };
  return { ...base, needs: `Drive ${6 - held} more full-demand ${held === 5 ? 'pull' : 'pulls'}.` };
}

function leakFinding(c: BoostCase, everywhere: boolean): Finding {
  const id = 'boost.leak';
  const witnesses = c.regions.flatMap((r) => r.witnesses);
  const base = {
    ...finding(c, id, witnesses, null),
    aside: true,
    rule: `Fault shown: boost is short by more than the limit both at low and at high engine speed but not absent, and the air mass, where measured, exceeds what the pressure accounts for; two machines at once short point to what they share. Or the air mass exceeds what the pressure accounts for by more than the limit (90 % interval) and by ${Z_FAULT} standard errors, alike in two regions, while boost is not above the expected.`,
  };
  const lost = airLost(c.regions);
  const two = c.profile.induction === 'twin-charged';
  const measured = measuredAir(airExcess(witnesses));
  if (everywhere && (lost === true || (lost === null && two)))
    return { ...base, ...measured, verdict: 'fault shown', saidAtS: c.saidAtS(id), pointsTo: LEAK };
  if (airContradicts(c))
    return {
      ...base,
      ...measured,
      verdict: 'fault shown',
      saidAtS: c.saidAtS(id),
      pointsTo: `${LEAK}; else MAP reads low or the air mass meter high`,
    };
  if (c.regions.every((r) => r.region.key === 'middle' || r.good !== null))
    return { ...base, verdict: 'shown good' };
  return {
    ...base,
    needs: everywhere
      ? 'Press-test the charge pipes: the data cannot tell a leak from the turbocharger.'
      : firstNeeds(c),
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
    limit: { value: 100 * AIR_LIMIT, unit: '%', source: 'air mass of the baseline runs' },
  };
}

function surplusFinding(c: BoostCase): Finding {
  const id = 'boost.surplus';
  const where = c.regions.filter((r) => r.surplus && r.region.key !== 'middle');
  const base = {
    ...finding(
      c,
      id,
      where.flatMap((r) => r.witnesses),
      where[0] ?? null,
    ),
    aside: true,
    rule: `Fault shown: the 90 % interval of the mean deviation lies wholly above twice the limit and the mean more than ${Z_FAULT} standard errors from none.`,
  };
  if (where.length > 0)
    return {
      ...base,
      verdict: 'fault shown',
      saidAtS: c.saidAtS(id),
      // A car that was weak before its repair makes a weak teacher.
      pointsTo:
        base.limit?.source === 'baseline run'
          ? 'boost control, over-boost; or the earlier drive that set the limit was itself weak: check it against the handbook'
          : 'boost control, over-boost',
    };
  if (c.regions.every((r) => r.region.key === 'middle' || r.good !== null))
    return { ...base, verdict: 'shown good' };
  return { ...base, needs: firstNeeds(c) };
}

function lateFinding(c: BoostCase, clutch: ClutchWatch): Finding {
  const id = 'boost.late';
  const o = clutch.onset;
  const base: Finding = {
    ...finding(c, id, [], null),
    fromS: o === null ? null : clutch.onsets[0]!.fromUs / 1e6,
    toS: o === null ? null : clutch.onsets.at(-1)!.toUs / 1e6,
    measured: o === null ? null : { value: hundredth(o.mean), unit: 's', interval: around(o, hundredth) },
    limit: { value: ONSET_LIMIT_S, unit: 's', source: PRACTICE },
    evidence: clutch.evidence(clutch.onsets, (v) => `Boost came ${v.value.toFixed(1)} s after the tip-in.`),
    rule: 'From the tip-in inside the clutch band to six tenths of the boost then reached. Shown good: the 90 % interval lies wholly below the limit, over at least three tip-ins. Fault shown: wholly above it by 2.6 standard errors, over at least two.',
  };
  // Where the band brings nothing, what came at last was the turbocharger's.
  if (clutch.late && c.regions.some((r) => r.region.key === 'low' && isDead(r)))
    return { ...base, needs: MISSING_ELSEWHERE };
  if (clutch.late)
    return {
      ...base,
      verdict: 'fault shown',
      saidAtS: c.saidAtS(id),
      pointsTo: 'clutch closes late: slip, low voltage, control flap',
    };
  if (clutch.prompt) return { ...base, verdict: 'shown good' };
  return {
    ...base,
    needs:
      'Drive three sudden tip-ins from light demand to full pedal in the clutch band, hold each for three seconds, with as many samples a second as the link gives.',
  };
}

function clutchOpenFinding(c: BoostCase, clutch: ClutchWatch): Finding {
  const id = 'boost.clutch-open';
  const high = c.regions.find((r) => r.region.key === 'high');
  const act = clutch.lightAct;
  const e = act ?? clutch.lightManifold;
  const list = act === null ? clutch.lightMap : clutch.light;
  const what = act === null ? 'Manifold' : 'Charge pressure';
  const base: Finding = {
    ...finding(c, id, [], null),
    fromS: e === null ? null : list[0]!.fromUs / 1e6,
    toS: e === null ? null : list.at(-1)!.toUs / 1e6,
    measured: e === null ? null : { value: tenth(e.mean), unit: 'kPa', interval: around(e, tenth) },
    limit: { value: act === null ? 5 : LIGHT_LIMIT_KPA, unit: 'kPa', source: PRACTICE },
    evidence: clutch.evidence(
      list,
      (v) => `${what} ${signed(v.value)} kPa against barometric at steady light demand.`,
    ),
    rule: 'With the clutch open nothing presses at steady light demand, and above the hand-over boost is not in surplus. Fault shown: pressure at light demand above the limit by 2.6 standard errors over at least three stretches, or a surplus above the hand-over. Shown good: the charge pressure lies below the limit, or the manifold does and the boost above the hand-over is as in the baseline.',
  };
  if (clutch.drivenAtLight || high?.surplus === true)
    return {
      ...base,
      verdict: 'fault shown',
      saidAtS: c.saidAtS(id),
      pointsTo: 'clutch does not open: stuck plate, air gap, control',
    };
  const manifold = clutch.lightManifold;
  const quiet = manifold !== null && manifold.n >= 4 && manifold.mean + Z95 * manifold.se < 0;
  const normal = (high?.good ?? null) !== null && c.baseline !== null;
  if (clutch.openAtLight || (act === null && quiet && normal)) return { ...base, verdict: 'shown good' };
  return {
    ...base,
    needs:
      'Hold light demand steady for 30 s between 1500 and 3000 rpm, then drive two pulls above the hand-over.',
  };
}

function finding(c: BoostCase, id: string, witnesses: readonly Witness[], r: RegionEvidence | null): Finding {
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
  const e = r?.basis ?? null;
  // An estimate rests on the pulls with an expectation; absence alone on the least of any healthy engine.
  const source = witnesses.findLast((w) => w.deviation !== null)?.source ?? null;
  return {
    id,
    system: 'boost',
    verdict: 'not shown',
    pointsTo: null,
    saidAtS: null,
    fromS: witnesses.length === 0 ? null : Math.min(...witnesses.map((w) => w.fromUs)) / 1e6,
    toS: witnesses.length === 0 ? null : Math.max(...witnesses.map((w) => w.toUs)) / 1e6,
    measured:
      e === null
        ? null
        : {
            value: tenth(e.deviation * e.expectedKpa),
            unit: 'kPa',
            interval: [
              tenth((e.deviation - Z95 * e.se) * e.expectedKpa),
              tenth((e.deviation + Z95 * e.se) * e.expectedKpa),
            ],
          },
    limit:
      e === null
        ? null
        : { value: tenth(-e.limit * e.expectedKpa), unit: 'kPa', source: sourceText(c, source) },
    evidence: chosen(witnesses).map(evidenceOf),
    needs: null,
    rule: RULE,
    signals: [...c.signals].filter((s) => used.has(s)).sort(),
  };
}

/**
 * The clearest misses and the newest pulls, in order of time. A moment at the edge of a region weighs next to nothing
 * and, shown beside whole pulls, would read as if it did.
 */
function chosen(all: readonly Witness[]): readonly Witness[] {
  const lasting = all.filter((w) => w.held === false || w.toUs - w.fromUs >= MOMENT_US);
  const witnesses = lasting.length > 0 ? lasting : all;
  if (witnesses.length <= MAX_EVIDENCE) return witnesses;
  const missed = witnesses.filter((w) => w.held === false).slice(0, MAX_EVIDENCE / 2);
  const rest = witnesses.filter((w) => !missed.includes(w)).slice(missed.length - MAX_EVIDENCE);
  return [...missed, ...rest].sort((a, b) => a.fromUs - b.fromUs);
}

function evidenceOf(w: Witness): Evidence {
  const gear = w.gear === null ? '' : ` in gear ${w.gear}`;
  const expected =
    w.expectedKpa === null
      ? ''
      : w.deviation === null
        ? `, at least ${Math.round(w.expectedKpa)} kPa due`
        : `, ${Math.round(w.expectedKpa)} kPa expected (${signed(100 * w.deviation)} %)`;
  return {
    fromS: tenth(w.fromUs / 1e6),
    toS: tenth(w.toUs / 1e6),
    text: `${Math.round(w.rpm[0])} to ${Math.round(w.rpm[1])} rpm${gear}: boost ${Math.round(w.boostKpa)} kPa${expected}.`,
  };
}

function sourceText(c: BoostCase, source: Witness['source'] | null): string {
  if (source === 'profile') return `profile (${c.profile.expectedBoost?.source ?? 'entered'})`;
  if (source === 'commanded boost') return 'commanded boost of the engine control unit';
  if (source === 'baseline run') return 'baseline run';
  return PRACTICE;
}

function firstNeeds(c: BoostCase): Told | null {
  const open = c.regions.find((r) => r.good === null && r.region.key !== 'middle');
  return open === undefined ? null : needs(c, open);
}

function needs(c: BoostCase, r: RegionEvidence): Told {
  if (!c.signals.has('map_kpa')) return 'The vehicle gives no MAP: measure boost with a gauge.';
  if (!c.signals.has('rpm')) return 'Record engine speed as well.';
  if (c.demandName === null) return 'Record pedal position as well: without demand no pull can be told.';
  if (r.intermittent) return 'Boost came at some pulls only: repair that first.';
  const from = Math.max(1200, r.region.fromRpm);
  const to = Math.min(r.region.toRpm, Math.max(from + 1500, 3500));
  const drive = `full pedal (70 % demand or more) for three seconds or longer in one gear, from ${from} to ${to} rpm, coolant from 70 °C`;
  const taught =
    c.baseline !== null || c.profile.expectedBoost !== undefined || c.signals.has('boost_cmd_kpa');
  if (r.estimate === null && !taught)
    return `Give a healthy drive of this vehicle as baseline (or its expected boost), then drive ${hasClutch(c.profile) ? 'three engagements' : 'three pulls'}: ${drive}.`;
  const { lacks } = r;
  // The speeds that block, the lowest first: no pull went there, or one cell does not rule the loss out.
  const at = lacks.through[0] ?? openCell(r.scan, r.region) ?? { fromRpm: from, toRpm: to };
  const how = {
    fromRpm: at.fromRpm,
    toRpm: at.toRpm,
    fromDemandPct: DRIVE_PCT,
    holdS: HOLD_S,
    warmC: GOOD_FROM_C,
  };
  if (lacks.pulls > 0 || !lacks.warm || lacks.through.length > 0)
    return say('boost.need.pulls', { ...how, pulls: Math.max(1, lacks.pulls) });
  const more = r.pullsToGo;
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

function signed(x: number): string {
  const n = Math.round(x);
  return n < 0 ? `−${-n}` : `+${n}`;
}

function tenth(x: number): number {
  return Math.round(x * 10) / 10;
}

function hundredth(x: number): number {
  return Math.round(x * 100) / 100;
}
