/** From what the watches saw to the four coolant findings, by the decision rule of JCGM 106:2012. */
import type { Evidence, Finding } from '../types.ts';
import type { CoolantBaseline } from './baseline.ts';
import type { Bin, HeatSource } from './bins.ts';
import type { Climb, ClimbWatch } from './climb.ts';
import type { FanWatch } from './fan.ts';
import { type JumpWatch, SWING_C } from './jumps.ts';
import type { Plateau } from './plateau.ts';
import type { Regime, RegimeName } from './envelope.ts';
import type { Settled } from './settled.ts';
import type { TooColdWatch } from './too-cold.ts';
import type { WarmUp } from './warm-up-meter.ts';

export interface CoolantFacts {
  readonly limit: { readonly value: number; readonly source: string };
  /** Plateau known before the run. */
  readonly known: { readonly value: number; readonly source: string } | null;
  readonly baseline: CoolantBaseline | null;
  readonly plateau: Plateau;
  readonly climb: ClimbWatch;
  readonly cold: TooColdWatch;
  readonly jumps: JumpWatch;
  readonly settled: Settled;
  readonly fan: FanWatch;
  readonly warmUp: WarmUp | null;
  readonly heatSource: HeatSource | null;
  readonly firstEct: { readonly tS: number; readonly value: number } | null;
  readonly last: Bin | null;
  readonly regime: Regime | null;
  readonly signals: readonly string[];
}

/** From reaching the plateau, the five minutes of settling included; and of that under the climb test. */
const NEED_SETTLED_S = 480;
const NEED_WATCHED_S = 300;
/** The circuit is proved by what it was asked: load under the test, and time without driving wind. */
const NEED_LOAD_S = 60;
const NEED_SLOW_S = 60;
const NEED_MOVING_S = 120;
const NEED_TOWN_S = 480;
/** Coolant is read to 1 °C; differences inside a run carry no calibration error. */
const READING_C = 1;
/** A drive may end unremarked only while the test has gathered less than this share of an alarm. */
const QUIET = 0.35;
/** Settled this long without a single change of reading is no measurement. */
const FROZEN_S = 900;
/** Without a known plateau, one below this may still be an open thermostat in warm air. */
const SURE_WARM_C = 84;
const RESTLESS = 3;
/** A level from which one step in twenty falls further than this was no plateau: it may have been learned in a slow climb. */
const WANDERS_C = 4;
/** Bubbles pass in seconds: slower readings cannot show their absence. */
const QUICK_S = 2.5;
const SLOW_SHARE = 2;
const QUICK_SHARE = 1.3;

const STOP = 'Stop when safe; never open a hot cooling system.';

type Draft = Pick<Finding, 'id' | 'rule'>;

export function climbFinding(f: CoolantFacts): Finding {
  const draft: Draft = {
    id: 'coolant.climb',
    rule:
      `Fault shown: a sequential test (mean healthy time between false alarms at least 440 h under its stated assumption) says that the settled coolant rises more than a healthy circuit lets it; or 10 s at ${Math.round(f.limit.value)} °C and above, or 13 °C above the plateau. ` +
      `Shown good: at its plateau for at least ${NEED_SETTLED_S / 60} minutes, ${NEED_WATCHED_S / 60} of them under the test, ${NEED_LOAD_S} s of these under load at 40 km/h and above or ${NEED_TOWN_S / 60} minutes at 20 km/h and above, ${NEED_SLOW_S} s below 20 km/h, every reading and its uncertainty below the limit, 95 % of them no further than ${WANDERS_C} °C below the plateau, and no climb under suspicion when the drive ended.`,
  };
  const first = f.climb.climbs[0];
  if (first) return climbFault(f, draft, first);
  const s = f.settled;
  const needs = climbNeeds(f);
  const [low, high] = s.range;
  const measured =
    s.settledS > 0
      ? {
          value: high,
          unit: 'degC' as const,
          interval: [high - READING_C, high + READING_C] as [number, number],
        }
      : null;
  return {
    ...plain(f, draft),
    verdict: needs === null ? 'shown good' : 'not shown',
    fromS: s.fromS,
    toS: s.settledS > 0 ? s.toS : null,
    measured,
    limit: { ...f.limit, unit: 'degC' },
    evidence:
      s.settledS > 0
        ? [
            {
              fromS: s.fromS ?? 0,
              toS: s.toS,
              text: `Settled for ${minutes(s.settledS)} between ${low} and ${high} °C, ${minutes(s.loadS)} of it under load at speed.`,
            },
          ]
        : [],
    needs,
  };
}

function climbNeeds(f: CoolantFacts): string | null {
  const s = f.settled;
  if (!f.last || f.firstEct === null) return 'No coolant temperature was recorded: choose a signal for it.';
  if (!f.plateau.settled)
    return `The coolant did not settle: drive on until it holds still, then 5 minutes more with some load at 40 km/h or above.`;
  const [low, high] = s.range;
  const moreS = Math.max(NEED_SETTLED_S - s.settledS, NEED_WATCHED_S - s.watchedS);
  if (moreS > 0) return `Drive ${minutes(moreS)} more with the coolant settled.`;
  if (s.restless >= RESTLESS)
    return 'The coolant reading is restless: check the level and the sensor, let out air, then drive again.';
  if (low === high && s.settledS >= FROZEN_S)
    return 'The coolant reading did not move at all: check the sensor, then drive again.';
  if (s.loadS < NEED_LOAD_S && s.townS < NEED_TOWN_S)
    return `Drive at 40 km/h or above under load for ${minutes(NEED_LOAD_S - s.loadS)} more with the coolant settled.`;
  if (s.slowS < NEED_SLOW_S)
    return `Let it idle ${minutes(NEED_SLOW_S - s.slowS)} more straight after the drive, and watch the coolant.`;
  if (high + READING_C >= f.limit.value)
    return `The coolant came within ${READING_C} °C of the limit: drive on and watch it.`;
  if (f.known && f.plateau.learnedC !== null && f.plateau.learnedC > f.known.value + 4)
    return `The coolant settled at ${f.plateau.learnedC} °C, above the known ${f.known.value} °C: find out why, then drive again.`;
  if (s.quantile(0.05) < f.plateau.learnedC! - WANDERS_C)
    return `The coolant wandered between ${s.quantile(0.05)} and ${s.quantile(0.95)} °C: drive on at a steady 60 km/h or above until it holds still.`;
  if (f.climb.suspicion > QUIET  || f.climb.watch !== null)
    return 'The coolant stood high when the drive ended: drive on until it is back at its plateau, or the climb is plain.';
  return null;
}

function climbFault(f: CoolantFacts, draft: Draft, first: Climb): Finding {
  const worst = f.climb.climbs.reduce((a, b) => (b.peakC > a.peakC ? b : a));
  const limit =
    first.by === 'limit'
      ? { ...f.limit, unit: 'degC' as const }
      : {
          value: round1(first.limitC),
          unit: 'degC' as const,
          source: 'plateau of this run and what driving explains',
        };
  return {
    ...plain(f, draft),
    verdict: 'fault shown',
    pointsTo: pointsTo(f, first),
    saidAtS: first.saidAtS,
    fromS: first.fromS,
    toS: f.climb.climbs[f.climb.climbs.length - 1]!.toS,
    measured: {
      value: worst.peakC,
      unit: 'degC',
      interval: [worst.peakC - READING_C, worst.peakC + READING_C],
    },
    limit,
    evidence: f.climb.climbs.map(climbEvidence),
    needs: null,
  };
}

function climbEvidence(c: Climb): Evidence {
  const by =
    c.by === 'limit'
      ? `at the limit of ${Math.round(c.limitC)} °C`
      : c.by === 'far above plateau'
        ? 'far above its plateau'
        : 'rising more than driving explains';
  const [a, b] = c.slope.interval;
  return {
    fromS: c.fromS,
    toS: c.toS,
    text: `Coolant ${by}: plateau ${c.plateauC === null ? 'not known' : `${round1(c.plateauC)} °C`}, peak ${round1(c.peakC)} °C, ${round1(c.slope.perMin)} °C/min (${round1(a)} to ${round1(b)}) when said. ${STOP}`,
  };
}

export function climbSentence(
  nowC: number,
  minutesToLimit: readonly [number, number] | null,
  limitC: number,
): string {
  if (nowC >= limitC) return `Coolant at ${Math.round(nowC)} °C. ${STOP}`;
  const soon = minutesToLimit
    ? ` At this rate ${Math.round(limitC)} °C in ${range(minutesToLimit)} min.`
    : '';
  return `Coolant climbs, ${Math.round(nowC)} °C.${soon} ${STOP}`;
}

/** ANALYSIS §4: in which regime it rose, and in which it fell. */
function pointsTo(f: CoolantFacts, c: Climb): string {
  const of = (...names: RegimeName[]) => {
    let riseC = 0;
    let s = 0;
    for (const n of names) {
      riseC += c.byRegime.get(n)?.riseC ?? 0;
      s += c.byRegime.get(n)?.s ?? 0;
    }
    return { s, perMin: s > 0 ? (riseC / s) * 60 : 0 };
  };
  const slow = of('standing');
  const moving = of('town', 'load at speed', 'light at speed');
  const load = of('load at speed');
  const light = of('light at speed', 'standing', 'town');
  if (slow.s >= 20 && moving.s < 20 && f.settled.movingS < 60)
    return 'fan or airflow through the radiator, or no circulation: it climbs standing, and the drive shows no more';
  if (slow.s >= 20 && slow.perMin >= 1 && (moving.s < 20 || moving.perMin <= -0.5))
    return 'fan or airflow through the radiator: it climbs standing or crawling';
  if (load.s >= 20 && load.perMin >= 1 && light.s >= 30 && light.perMin <= 0)
    return 'coolant flow: pump, slipping belt, thermostat or blocked radiator: it climbs with load at speed';
  return 'no circulation or coolant lost: thermostat stuck shut, pump, level: it climbs whatever the driving';
}

export function tooColdFinding(f: CoolantFacts): Finding {
  const draft: Draft = {
    id: 'coolant.too-cold',
    rule:
      'Fault shown: after at least 6 minutes of driving the coolant stays 10 °C below the known plateau (with none known, at or below 78 °C) and 4 minutes of driving under power raise it by 4 °C at most, held for a minute; or heat that had raised it by 20 °C in this warm-up raises it by 3 °C at most; after 12 minutes 7 °C below (80 °C), with a rise of 2 °C at most; or, once settled, 3 minutes of driving 9 °C below the plateau. ' +
      'Shown good: settled above the limit, and held there at 40 km/h and above for 2 minutes or at 20 km/h and above for 8.',
  };
  const limitSource = f.known ? f.known.source : 'default (common practice, no source)';
  const cold = f.cold.found;
  if (cold)
    return {
      ...plain(f, draft),
      verdict: 'fault shown',
      pointsTo: cold.frozen
        ? 'thermostat stays open, or a coolant sensor that does not move: check the sensor first'
        : 'thermostat stays open',
      saidAtS: cold.saidAtS,
      fromS: cold.fromS,
      toS: cold.toS,
      measured: {
        value: round1(cold.ectC),
        unit: 'degC',
        interval: [round1(cold.ectC) - READING_C, round1(cold.ectC) + READING_C],
      },
      limit: {
        value: cold.limitC + READING_C,
        unit: 'degC',
        source: cold.by === 'sag' ? 'plateau of this run' : limitSource,
      },
      evidence: [
        {
          fromS: cold.fromS,
          toS: cold.saidAtS,
          text: `${minutes(cold.activeS)} of driving, and the coolant stands at ${Math.round(cold.ectC)} °C; the last ${minutes(cold.overS)} of driving changed it by ${round1(cold.riseC)} °C. Check the thermostat.`,
        },
      ],
      needs: null,
    };
  const needs = tooColdNeeds(f);
  const s = f.settled;
  const p = f.plateau.learnedC;
  return {
    ...plain(f, draft),
    verdict: needs === null ? 'shown good' : 'not shown',
    fromS: s.fromS,
    toS: s.settledS > 0 ? s.toS : null,
    measured:
      p === null ? null : { value: p, unit: 'degC', interval: [s.quantile(0.025), s.quantile(0.975)] },
    limit: { value: f.cold.lowC, unit: 'degC', source: limitSource },
    evidence:
      p === null
        ? []
        : [
            {
              fromS: s.fromS ?? 0,
              toS: s.toS,
              text: `Settled at ${p} °C${s.movingMeanC === null ? '' : `; mean at 40 km/h and above ${round1(s.movingMeanC)} °C`}.`,
            },
          ],
    needs,
  };
}

function tooColdNeeds(f: CoolantFacts): string | null {
  const s = f.settled;
  const p = f.plateau.learnedC;
  if (p === null) return 'The coolant did not settle: drive on until it holds still.';
  if (f.known === null && p < SURE_WARM_C)
    return `The coolant settled at ${p} °C: enter the thermostat's opening temperature, or give a healthy drive of this vehicle.`;
  const held =
    (s.movingS >= NEED_MOVING_S && (s.movingMeanC ?? 0) >= p - 4) ||
    (s.townS >= NEED_TOWN_S && s.quantile(0.05) >= p - 3);
  if (!held)
    return `With the coolant settled drive ${minutes(Math.max(30, NEED_MOVING_S - s.movingS))} more at 40 km/h or above.`;
  if (s.quantile(0.025) <= f.cold.lowC || (f.last?.ect ?? 0) <= p - 6)
    return 'The coolant sagged below its plateau: drive on at a steady 60 km/h or above until it holds still.';
  return null;
}

export function jumpsFinding(f: CoolantFacts): Finding {
  const draft: Draft = {
    id: 'coolant.jumps',
    rule: `Fault shown: five swings of ${SWING_C} °C and more, out and back within 40 s, within 10 minutes. Shown good: settled without them, with a reading every ${QUICK_S} s. Instant steps are the sensor's matter.`,
  };
  const j = f.jumps.found;
  if (j)
    return {
      ...plain(f, draft),
      verdict: 'fault shown',
      pointsTo: "air in the system or low level; else the sensor's contact",
      saidAtS: j.saidAtS,
      fromS: j.fromS,
      toS: j.toS,
      measured: {
        value: round1(j.largestC),
        unit: 'degC',
        interval: [round1(j.largestC) - READING_C, round1(j.largestC) + READING_C],
      },
      limit: { value: 4, unit: 'degC', source: 'heat capacity of the coolant (common practice, no source)' },
      evidence: [
        {
          fromS: j.fromS,
          toS: j.toS,
          text: `${j.swings} swings of up to ${round1(j.largestC)} °C. Let it cool, check the level, bleed the system. ${STOP}`,
        },
      ],
      needs: null,
    };
  const quick = f.jumps.everyS <= QUICK_S;
  const good = quick && f.plateau.settled && f.settled.settledS >= NEED_SETTLED_S;
  return {
    ...plain(f, draft),
    aside: !quick,
    verdict: good ? 'shown good' : 'not shown',
    needs: good
      ? null
      : quick
        ? 'Drive until the coolant has been settled for 8 minutes.'
        : `Ask for the coolant temperature more often: a reading every ${QUICK_S} s shows bubbles.`,
  };
}

/** The fan has its own finding: most drives never need it, and then the system's verdict does not wait for it. */
export function fanFinding(f: CoolantFacts): Finding {
  const { seenAtS, askedAtS, missing, needed } = f.fan;
  const base: Finding = {
    ...plain(f, {
      id: 'coolant.fan',
      rule: "Shown good: standing, the settled coolant rose 4 °C above the plateau and came back by 2 °C. Fault shown: standing 30 s at 6 °C above the profile's switching temperature without falling; without that temperature a fan that fails shows as a climb. The system's verdict waits for it when the profile names the switching temperature, or when a stand raised the coolant by 2.5 °C and ended before it came back.",
    }),
    aside: !needed,
  };
  if (missing)
    return {
      ...base,
      verdict: 'fault shown',
      pointsTo: 'fan, its wiring or its switch',
      saidAtS: missing.saidAtS,
      fromS: missing.fromS,
      toS: missing.saidAtS,
      measured: {
        value: round1(missing.ectC),
        unit: 'degC',
        interval: [round1(missing.ectC) - READING_C, round1(missing.ectC) + READING_C],
      },
      limit: { value: missing.onC, unit: 'degC', source: missing.source },
      evidence: [
        {
          fromS: missing.fromS,
          toS: missing.saidAtS,
          text: `Standing, the coolant came to ${Math.round(missing.ectC)} °C and did not fall; the fan should cut in at ${Math.round(missing.onC)} °C. ${STOP}`,
        },
      ],
    };
  if (seenAtS !== null)
    return {
      ...base,
      verdict: 'shown good',
      fromS: seenAtS,
      toS: seenAtS,
      evidence: [
        { fromS: seenAtS, toS: seenAtS, text: 'Standing, the coolant rose and was cooled down again.' },
      ],
    };
  return {
    ...base,
    fromS: askedAtS,
    toS: askedAtS,
    needs:
      askedAtS === null
        ? 'Let the warm engine idle until the fan has cut in and out, hands and cables clear of belt and fan.'
        : 'A stand raised the coolant and ended before it came back: let the warm engine idle until the fan has cut in and out, hands and cables clear of belt and fan.',
  };
}

export function warmUpFinding(f: CoolantFacts): Finding {
  const draft: Draft = {
    id: 'coolant.warm-up',
    rule: `Heat burnt per °C between 40 and 70 °C against healthy drives of this vehicle begun at most 8 °C warmer. Fault shown: more than ${SLOW_SHARE} times the largest of them, uncertainty of 10 % included. Shown good: at most ${QUICK_SHARE} times. The system's verdict does not wait for it.`,
  };
  const w = f.warmUp;
  const base: Finding = { ...plain(f, draft), aside: true };
  if (f.firstEct && f.firstEct.value > 35)
    return {
      ...base,
      needs: 'The engine was warm at the start: begin with a cold engine to show the warm-up.',
    };
  if (!w || !f.heatSource)
    return {
      ...base,
      needs: 'Record from a cold start to 70 °C, with air mass, or with manifold pressure and engine speed.',
    };
  const alike = (f.baseline?.warmUps ?? []).filter(
    (b) => b.source === f.heatSource && b.airC <= (w.airC ?? 0) + 8,
  );
  const value = w.heatPerC;
  const seen: Evidence = {
    fromS: w.fromS,
    toS: w.toS,
    text: `40 to 70 °C took ${minutes(w.toS - w.fromS)}${f.heatSource === 'maf_gps' ? ` and ${Math.round(value)} g of air per °C` : ''}, started at ${Math.round(w.startC)} °C.`,
  };
  const filled: Finding = {
    ...base,
    fromS: w.fromS,
    toS: w.toS,
    measured: { value: round1(value), unit: 'g', interval: [round1(value * 0.9), round1(value * 1.1)] },
    evidence: [seen],
  };
  if (alike.length < 2)
    return {
      ...filled,
      measured: f.heatSource === 'maf_gps' ? filled.measured : null,
      needs:
        'Nothing to compare the warm-up with: give two healthy cold starts of this vehicle in like weather.',
    };
  const most = Math.max(...alike.map((b) => b.heatPerC));
  const limit = { value: round1(most * SLOW_SHARE), unit: 'g' as const, source: 'baseline run' };
  if (value * 0.9 > most * SLOW_SHARE)
    return {
      ...filled,
      verdict: 'fault shown',
      pointsTo: 'thermostat weeping, or the heater full on',
      saidAtS: w.toS,
      limit,
    };
  if (value <= most * QUICK_SHARE) return { ...filled, verdict: 'shown good', limit };
  return {
    ...filled,
    limit,
    needs: 'The warm-up was slower than before, not surely so: repeat the cold start with the heater off.',
  };
}

function plain(f: CoolantFacts, draft: Draft): Finding {
  return {
    ...draft,
    system: 'coolant',
    verdict: 'not shown',
    pointsTo: null,
    saidAtS: null,
    fromS: null,
    toS: null,
    measured: null,
    limit: null,
    evidence: [],
    needs: null,
    signals: f.signals,
  };
}

function minutes(s: number): string {
  return s < 90 ? `${Math.max(1, Math.round(s))} s` : `${Math.round(s / 60)} min`;
}

function range([a, b]: readonly [number, number]): string {
  const low = Math.max(1, Math.floor(a));
  const high = Math.max(low, Math.ceil(b));
  return low === high ? String(low) : `${low} to ${high}`;
}

function round1(x: number): number {
  return Math.round(x * 10) / 10;
}
