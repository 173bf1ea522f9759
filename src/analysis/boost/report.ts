/** Boost findings as sentences with their evidence: which region, which pulls, which limit, what to do. */
import type { Profile } from '../../run/profile.ts';
import type { Evidence, Finding } from '../types.ts';
import type { Baro } from './barometer.ts';
import { type RegionEvidence, type Witness, Z95 } from './evidence.ts';
import type { BoostBaseline } from './lesson.ts';

const RULE =
  'Shown good: the 90 % interval (95 % on either side) of the mean deviation from the expected boost lies wholly within the limit, over at least three pulls with a warm engine. Fault shown: it lies wholly beyond the limit and more than four standard errors from none, or no boost came throughout a settled pull. Anything between is not shown (JCGM 106:2012).';
const MAX_EVIDENCE = 12;

/** All that a report needs to know of a run so far. */
export interface BoostCase {
  readonly profile: Profile;
  readonly baseline: BoostBaseline | null;
  readonly regions: readonly RegionEvidence[];
  readonly baro: Baro | null;
  readonly signals: ReadonlySet<string>;
  readonly demandName: string | null;
  readonly saidAtS: (id: string) => number | null;
  readonly nowS: number;
}

/** Ids that must all be shown good before boost as a whole is. */
export function boostNeeds(profile: Profile): readonly string[] {
  switch (profile.induction) {
    case 'naturally aspirated':
      return [];
    case 'supercharger':
      return ['boost.clutch-band'];
    case 'twin-charged':
      return ['boost.clutch-band', 'boost.above-hand-over'];
    default:
      return ['boost.low-speed', 'boost.above-hand-over'];
  }
}

export function boostFindings(c: BoostCase): Finding[] {
  const out: Finding[] = [];
  const low = c.regions.find((r) => r.region.key === 'low');
  const high = c.regions.find((r) => r.region.key === 'high');
  const everywhere = low?.short === true && high?.short === true && !low.absent && !high.absent;
  for (const r of c.regions) if (r.region.id !== null) out.push(regionFinding(c, r, everywhere));
  if (c.regions.length > 0) {
    out.push(intermittentFinding(c));
    out.push(leakFinding(c, everywhere));
    out.push(surplusFinding(c));
  }
  return out;
}

function regionFinding(c: BoostCase, r: RegionEvidence, everywhere: boolean): Finding {
  const id = r.region.id ?? '';
  const neighbours = c.regions.filter((o) => o !== r);
  // A dip at the hand-over is one only between two healthy regions.
  const explained = r.region.key === 'middle' && neighbours.some((o) => o.short || o.absent);
  const fault = !explained && (r.short || (r.absent && !r.intermittent));
  const base = finding(c, id, r.witnesses, r);
  if (fault)
    return {
      ...base,
      verdict: 'fault shown',
      saidAtS: c.saidAtS(id),
      pointsTo: everywhere ? 'leak on the pressure side (boost is short at all speeds)' : r.region.pointsTo,
    };
  if (r.good) return { ...base, verdict: 'shown good' };
  return { ...base, verdict: 'not shown', needs: needs(c, r) };
}

function intermittentFinding(c: BoostCase): Finding {
  const id = 'boost.intermittent';
  const where = c.regions.filter((r) => r.intermittent);
  const witnesses = where.flatMap((r) => r.witnesses.filter((w) => w.held !== null));
  const base = finding(c, id, witnesses, null);
  const rule =
    'Fault shown: in one region of engine speed boost was missing in some pulls and came in others. Shown good: it came in at least six pulls and was never missing.';
  if (where.length > 0)
    return {
      ...base,
      rule,
      verdict: 'fault shown',
      saidAtS: c.saidAtS(id),
      pointsTo:
        where[0]?.region.id === 'boost.clutch-band'
          ? 'intermittent coil, connector, worn clutch'
          : 'actuator or control line that hangs, loose pipe',
    };
  const held = Math.max(0, ...c.regions.map((r) => r.held));
  const missed = c.regions.some((r) => r.missed > 0);
  if (held >= 6 && !missed) return { ...base, rule, verdict: 'shown good' };
  return {
    ...base,
    rule,
    verdict: 'not shown',
    needs: missed
      ? 'Boost was missing; see the other boost findings.'
      : `Drive ${6 - Math.min(5, held)} more full-demand pulls.`,
  };
}

function leakFinding(c: BoostCase, everywhere: boolean): Finding {
  const id = 'boost.leak';
  const base = finding(
    c,
    id,
    c.regions.flatMap((r) => r.witnesses),
    null,
  );
  const rule =
    'Fault shown: boost is short by more than the limit both at low and at high engine speed, but not absent.';
  if (everywhere)
    return {
      ...base,
      rule,
      verdict: 'fault shown',
      saidAtS: c.saidAtS(id),
      pointsTo: 'leak on the pressure side',
    };
  const good = c.regions.length > 0 && c.regions.every((r) => r.region.key === 'middle' || r.good);
  if (good) return { ...base, rule, verdict: 'shown good' };
  return { ...base, rule, verdict: 'not shown', needs: c.regions.map((r) => needs(c, r))[0] ?? null };
}

function surplusFinding(c: BoostCase): Finding {
  const id = 'boost.surplus';
  const where = c.regions.filter((r) => r.surplus);
  const base = finding(
    c,
    id,
    where.flatMap((r) => r.witnesses),
    where[0] ?? null,
  );
  const rule =
    'Fault shown: the 90 % interval (95 % on either side) of the mean deviation lies wholly above twice the limit and more than four standard errors from none.';
  if (where.length > 0)
    return {
      ...base,
      rule,
      verdict: 'fault shown',
      saidAtS: c.saidAtS(id),
      pointsTo: 'boost control, over-boost',
    };
  const good = c.regions.length > 0 && c.regions.every((r) => r.region.key === 'middle' || r.good);
  if (good) return { ...base, rule, verdict: 'shown good' };
  return { ...base, rule, verdict: 'not shown', needs: c.regions.map((r) => needs(c, r))[0] ?? null };
}

function finding(c: BoostCase, id: string, witnesses: readonly Witness[], r: RegionEvidence | null): Finding {
  const used = new Set([
    'map_kpa',
    'rpm',
    'speed_kmh',
    'baro_kpa',
    'ect_c',
    'boost_cmd_kpa',
    c.demandName ?? '',
  ]);
  const e = r?.estimate ?? null;
  const source = witnesses.at(-1)?.source ?? null;
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
    evidence: witnesses.slice(-MAX_EVIDENCE).map(evidenceOf),
    needs: null,
    rule: RULE,
    signals: [...c.signals].filter((s) => used.has(s)).sort(),
  };
}

function evidenceOf(w: Witness): Evidence {
  const gear = w.gear === null ? '' : ` in gear ${w.gear}`;
  const expected =
    w.expectedKpa === null
      ? ''
      : w.deviation === null
        ? `, at least ${Math.round(w.expectedKpa)} kPa due`
        : `, ${Math.round(w.expectedKpa)} kPa expected (${w.deviation > 0 ? '+' : '−'}${Math.abs(Math.round(100 * w.deviation))} %)`;
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
  return 'default (common practice, no source)';
}

function needs(c: BoostCase, r: RegionEvidence): string {
  if (!c.signals.has('map_kpa')) return 'The vehicle gives no MAP: measure boost with a gauge.';
  if (!c.signals.has('rpm')) return 'Record engine speed as well.';
  if (c.demandName === null) return 'Record pedal position as well: without demand no pull can be told.';
  if (r.intermittent) return 'Boost came at some pulls only: repair that first.';
  const to = Math.min(r.region.toRpm, Math.max(r.region.fromRpm + 1500, 3500));
  const drive = `full pedal in one gear from ${Math.max(1200, r.region.fromRpm)} to ${to} rpm`;
  const knows = r.witnesses.some((w) => w.deviation !== null);
  const taught =
    c.baseline !== null || c.profile.expectedBoost !== undefined || c.signals.has('boost_cmd_kpa');
  if (!knows && !taught)
    return `Give a healthy drive of this vehicle as baseline (or its expected boost), then drive three pulls: ${drive}.`;
  const lacks = r.lacks;
  return lacks.length > 0 ? `Drive ${lacks.join(' and ')}: ${drive}.` : `Drive more pulls: ${drive}.`;
}

function tenth(x: number): number {
  return Math.round(x * 10) / 10;
}
