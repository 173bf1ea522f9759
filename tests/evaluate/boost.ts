/**
 * The boost detector on the open drives with faults put in: `npx tsx tests/evaluate/boost.ts [tune|report|all-but-one] [-q]`.
 * Baselines of the halves are learned from the tuned half only; a drive never teaches its own judge.
 */
import { fileURLToPath } from 'node:url';
import { BoostDetector } from '../../src/analysis/boost/detector.ts';
import {
  type BoostBaseline,
  type BoostLesson,
  learnBoost,
  mergeLessons,
} from '../../src/analysis/boost/lesson.ts';
import { Plausibility } from '../../src/analysis/plausibility.ts';
import type { CleanSample, Finding, Pull } from '../../src/analysis/types.ts';
import { type Profile, profileSchema } from '../../src/core/profile.ts';
import type { Sample } from '../../src/core/signals.ts';
import { REPORT, readDrive, TUNE } from './coolant-drives.ts';
import { dropOuts, intermittent, scaleBoost, spikes, stuckAny, stuckMap, timeJumps } from './inject-boost.ts';

/** `hits` of `of` came out as wanted; for rows about false alarms the alarms themselves are counted. */
export interface BoostRow {
  readonly what: string;
  readonly goal: string;
  readonly hits: number;
  readonly of: number;
  readonly note: string;
}

const DIESEL = profileSchema.parse({ induction: 'turbocharger', fuel: 'diesel' });
const ASPIRATED = profileSchema.parse({ induction: 'naturally aspirated', fuel: 'petrol' });

export function clean(samples: readonly Sample[]): CleanSample[] {
  const front = new Plausibility();
  return [...samples.flatMap((s) => front.push(s)), ...front.finish()];
}

export interface Outcome {
  readonly findings: readonly Finding[];
  readonly pulls: readonly Pull[];
  readonly faults: readonly string[];
  readonly good: readonly string[];
  /** Every finding that the system waits for is shown good. */
  readonly systemGood: boolean;
}

export function judgeBoost(
  samples: readonly CleanSample[],
  profile: Profile,
  baseline: BoostBaseline | null,
): Outcome {
  const detector = new BoostDetector({ profile, baseline });
  for (const s of samples) detector.step(s);
  const findings = detector.finish(samples.at(-1)?.tUs ?? 0);
  const ids = (v: string): string[] => findings.filter((f) => f.verdict === v).map((f) => f.id);
  const own = findings.filter(
    (f) => f.system === 'boost' && !(f.aside === true && f.verdict === 'not shown'),
  );
  return {
    findings,
    pulls: detector.pulls(),
    faults: ids('fault shown'),
    good: ids('shown good'),
    systemGood: own.length > 0 && own.every((f) => f.verdict === 'shown good'),
  };
}

interface Injection {
  readonly what: string;
  readonly put: (s: readonly Sample[]) => Sample[];
  /** Findings that would name the wrong region. */
  readonly wrong: readonly string[];
  /** Findings that must not be shown good. */
  readonly ill: readonly string[];
}

const everywhere = ['boost.low-speed', 'boost.above-hand-over'];
const low = { wrong: ['boost.above-hand-over', 'boost.leak'], ill: ['boost.low-speed'] };
const high = { wrong: ['boost.low-speed', 'boost.leak'], ill: ['boost.above-hand-over'] };
const all = { wrong: [], ill: everywhere };

const INJECTIONS: readonly Injection[] = [
  { what: 'boost × 0.9', put: (s) => scaleBoost(s, 0.9, 'everywhere'), ...all },
  { what: 'boost × 0.8', put: (s) => scaleBoost(s, 0.8, 'everywhere'), ...all },
  { what: 'boost × 0.6', put: (s) => scaleBoost(s, 0.6, 'everywhere'), ...all },
  { what: 'boost × 0', put: (s) => scaleBoost(s, 0, 'everywhere'), ...all },
  { what: 'boost × 0.9 in pulls', put: (s) => scaleBoost(s, 0.9, 'pulls'), ...all },
  { what: 'boost × 0.6 in pulls', put: (s) => scaleBoost(s, 0.6, 'pulls'), ...all },
  { what: 'boost × 0 in pulls', put: (s) => scaleBoost(s, 0, 'pulls'), ...all },
  { what: 'boost × 0.9 below 2000 rpm', put: (s) => scaleBoost(s, 0.9, 'below 2000'), ...low },
  { what: 'boost × 0.8 below 2000 rpm', put: (s) => scaleBoost(s, 0.8, 'below 2000'), ...low },
  { what: 'boost × 0.6 below 2000 rpm', put: (s) => scaleBoost(s, 0.6, 'below 2000'), ...low },
  { what: 'boost × 0 below 2000 rpm', put: (s) => scaleBoost(s, 0, 'below 2000'), ...low },
  { what: 'boost × 0.9 above 2000 rpm', put: (s) => scaleBoost(s, 0.9, 'above 2000'), ...high },
  { what: 'boost × 0.8 above 2000 rpm', put: (s) => scaleBoost(s, 0.8, 'above 2000'), ...high },
];

const GLITCHES: readonly [string, (s: readonly Sample[], seed: string) => Sample[]][] = [
  ['MAP stuck for 8 s', (s, seed) => stuckMap(s, 10, 8, seed)],
  ['MAP stuck for 30 s', (s, seed) => stuckMap(s, 6, 30, seed)],
  ['MAP stuck from before a pull to after it', (s, seed) => stuckMap(s, 6, 12, seed, true)],
  ['spikes in 2 % of the samples', (s, seed) => spikes(s, 0.02, seed)],
  ['drop-outs', (s, seed) => dropOuts(s, 30, seed)],
  ['any signal stuck for 3 to 40 s', (s, seed) => stuckAny(s, 20, seed)],
  ['time jumps', (s, seed) => timeJumps(s, 10, seed)],
];

const trips = (list: readonly string[]): string[] => list.filter((n) => n.startsWith('trip'));
const petrols = (list: readonly string[]): string[] => list.filter((n) => n.startsWith('petrol'));

/**
 * Rows for one half of the open drives, taught by the tuned half and by nothing; or for all of them, each taught by all the
 * others, as in a workshop that keeps its drives. `seeds`: random glitch files per drive.
 */
export function boostOpenDrives(
  half: 'tune' | 'report' | 'all but one',
  seeds = 2,
  say: (line: string) => void = () => undefined,
): { readonly taught: boolean; readonly rows: BoostRow[] }[] {
  const list = half === 'tune' ? TUNE : half === 'report' ? REPORT : [...TUNE, ...REPORT];
  const names = trips(list);
  const drives = new Map(names.map((n) => [n, readDrive(n)]));
  const lessons = new Map<string, BoostLesson>(
    (half === 'all but one' ? names : trips(TUNE)).map((n) => [
      n,
      learnBoost(clean(drives.get(n) ?? readDrive(n)), DIESEL),
    ]),
  );
  const baselineFor = (name: string): BoostBaseline =>
    mergeLessons([...lessons].filter(([n]) => n !== name).map(([, lesson]) => lesson));
  return (half === 'all but one' ? [true] : [true, false]).map((taught) => {
    const base = new Map(names.map((n) => [n, taught ? baselineFor(n) : null]));
    const judge = (n: string, s: readonly Sample[]): Outcome =>
      judgeBoost(clean(s), DIESEL, base.get(n) ?? null);
    const rows: BoostRow[] = [];
    const row = (what: string, goal: string, hits: number, of: number, note = ''): void => {
      rows.push({ what, goal, hits, of, note });
      say(`${taught ? 'baseline' : 'none    '} ${what}: ${hits}/${of} (goal ${goal}) ${note}`);
    };
    let hours = 0;
    let alarms = 0;
    const healthy = new Map<string, Outcome>();
    for (const n of names) {
      hours += (drives.get(n)!.at(-1)?.tUs ?? 0) / 3.6e9;
      const o = judge(n, drives.get(n)!);
      healthy.set(n, o);
      if (o.faults.length > 0) {
        alarms++;
        say(`   ${n}: ${o.faults.join(' ')}`);
      }
    }
    for (const n of taught ? [] : petrols(list)) {
      const s = readDrive(n);
      hours += (s.at(-1)?.tUs ?? 0) / 3.6e9;
      if (judgeBoost(clean(s), ASPIRATED, null).faults.length > 0) alarms++;
    }
    row(
      'healthy drives with an alarm',
      '0',
      alarms,
      names.length + (taught ? 0 : petrols(list).length),
      `${hours.toFixed(1)} h`,
    );
    if (taught) {
      const above = names.filter((n) => pullsIn(healthy.get(n)!, 2000, 9000) >= 2);
      const both = above.filter((n) => pullsIn(healthy.get(n)!, 1100, 2000) >= 2);
      const without = (list: readonly string[], isGood: (o: Outcome) => boolean): string => {
        const open = list.filter((n) => !isGood(healthy.get(n)!));
        return open.length > 0 ? `not ${open.map(short).join(', ')}` : '';
      };
      const high = (o: Outcome): boolean => o.good.includes('boost.above-hand-over');
      const whole = (o: Outcome): boolean => o.systemGood;
      row(
        'healthy, two pulls of 1.8 s above 2000 rpm: region shown good',
        '95 %',
        above.filter((n) => high(healthy.get(n)!)).length,
        above.length,
        without(above, high),
      );
      row(
        'healthy, two pulls of 1.8 s above and below 2000 rpm: boost shown good',
        '95 %',
        both.filter((n) => whole(healthy.get(n)!)).length,
        both.length,
        without(both, whole),
      );
      row(
        'healthy, any drive: boost shown good',
        'where the evidence is there',
        names.filter((n) => whole(healthy.get(n)!)).length,
        names.length,
        without(names, whole),
      );
    }
    const pulled = names.filter((n) => healthy.get(n)!.pulls.length > 0);
    for (const [what, glitch] of GLITCHES) {
      const bad: string[] = [];
      for (const n of names)
        for (let seed = 0; seed < seeds; seed++) {
          const o = judge(n, glitch(drives.get(n)!, `${n}/${seed}`));
          if (o.faults.length > 0) bad.push(`${short(n)}/${seed} ${o.faults.join(' ')}`);
        }
      row(`files with ${what}: alarms`, '0', bad.length, names.length * seeds, bad.join('; '));
    }
    let calledGood = 0;
    const spokenLate: number[] = [];
    let faulty = 0;
    for (const { what, put, wrong, ill } of INJECTIONS) {
      const missed: string[] = [];
      let wrongRegion = 0;
      let found = 0;
      for (const n of names) {
        const o = judge(n, put(drives.get(n)!));
        faulty++;
        const boost = o.faults.filter((id) => id.startsWith('boost'));
        if (boost.length > 0) found++;
        else missed.push(`${short(n)}${pulled.includes(n) ? '' : ' (no pull)'}`);
        if (boost.some((id) => wrong.includes(id))) wrongRegion++;
        if (o.systemGood || o.good.some((id) => ill.includes(id))) calledGood++;
        const first = o.pulls.find((p) => p.held === false);
        const said = Math.min(...o.findings.flatMap((f) => f.saidAtS ?? []));
        if (what === 'boost × 0 in pulls' && first && Number.isFinite(said))
          spokenLate.push(said - endOf(first, drives.get(n)!));
      }
      row(
        `${what}: found`,
        'all with a pull',
        found,
        names.length,
        `${missed.length > 0 ? `missed ${missed.join(', ')}; ` : ''}wrong region ${wrongRegion}`,
      );
    }
    row('faulty, yet shown good', '0', calledGood, faulty);
    row(
      'no boost in pulls: spoken within 2 s of the first missed pull',
      'all',
      spokenLate.filter((s) => s <= 2).length,
      spokenLate.length,
      spokenLate.length > 0 ? `latest ${Math.max(...spokenLate).toFixed(1)} s` : '',
    );
    let named = 0;
    let tried = 0;
    for (const n of names)
      for (let seed = 0; seed < 2 * seeds; seed++) {
        const engaged = healthy.get(n)!.pulls.filter((p) => p.held === true && p.toS - p.fromS >= 2.5);
        const i = intermittent(drives.get(n)!, 0, 0.3, `${n}/${seed}`);
        const failed = engaged.filter((p) => i.failedAtS.some((t) => t > p.fromS - 4 && t < p.toS));
        if (engaged.length < 6 || failed.length === 0) continue;
        tried++;
        if (judge(n, i.samples).faults.includes('boost.intermittent')) named++;
      }
    row('boost gone in 30 % of the pulls, six or more pulls: intermittent named', '95 %', named, tried);
    return { taught, rows };
  });
}

/** A pull ends between its last pressure sample and the next: by then the demand has fallen. */
function endOf(p: Pull, drive: readonly Sample[]): number {
  return (drive.find((s) => s.signal === 'map_kpa' && s.tUs > p.toS * 1e6)?.tUs ?? p.toS * 1e6) / 1e6;
}

/** Pulls that spent 1.8 s between two engine speeds, taken as passed through evenly. */
function pullsIn(o: Outcome, fromRpm: number, toRpm: number): number {
  return o.pulls.filter((p) => {
    const share =
      (Math.min(p.rpmTo, toRpm) - Math.max(p.rpmFrom, fromRpm)) / Math.max(1, p.rpmTo - p.rpmFrom);
    return Math.min(1, share) * (p.toS - p.fromS) >= 1.8 && p.toS - p.fromS >= 2.5;
  }).length;
}

function short(name: string): string {
  return name.replace('trip-', '');
}

if (process.argv[1] === fileURLToPath(import.meta.url)) {
  const half = (['tune', 'report'] as const).find((h) => process.argv.includes(h)) ?? 'all but one';
  console.log(`diesel drives, ${half}`);
  boostOpenDrives(half, process.argv.includes('-q') ? 1 : 3, (line) => console.log(line));
}
