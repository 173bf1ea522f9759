/**
 * How good a comparison is: coverage of its intervals by pulls a side and spread between days, the change that it
 * detects, healthy trips of the open drives against each other, and simulated repairs.
 * `npx tsx tests/evaluate/compare.ts [-q]`
 */
import { existsSync } from 'node:fs';
import { join } from 'node:path';
import { compareBoost, DAY_SD } from '../../src/compare/boost.ts';
import { compareRuns } from '../../src/compare/compare.ts';
import type { Gathered, GatheredPull } from '../../src/compare/gather.ts';
import type { BoostRun } from '../../src/compare/points.ts';
import type { RegionComparison } from '../../src/compare/types.ts';
import { profileSchema } from '../../src/core/profile.ts';
import { type Random, seededRandom } from '../../src/core/random.ts';
import type { Sample } from '../../src/core/signals.ts';
import { english } from '../../src/words/spelled.ts';
import { driveSamples } from '../analysis/vehicle.ts';
import { SHARED } from '../require.ts';
import { REPORT, readDrive, TUNE } from './coolant-drives.ts';

const quick = process.argv.includes('-q');
const diesel = profileSchema.parse({ induction: 'turbocharger', fuel: 'diesel' });
const NO_AIR = { lnBaro: 0, lnKelvin: 0, baroSd: 0 };
const share = (n: number, of: number): string => `${((100 * n) / of).toFixed(1)} %`;

// ---- made-up pulls: the truth is known ----------------------------------------------------------------------

interface Truth {
  readonly pulls: readonly [before: number, after: number];
  /** Standard deviations as shares of the pressure. */
  readonly pullSd: number;
  readonly pullSdBefore?: number;
  readonly daySd: number;
  readonly sameDay: boolean;
}

function madeUp(truth: Truth, random: Random): RegionComparison {
  const shared = truth.daySd * random.normal();
  const runs = (['before', 'after'] as const).map((role, k): BoostRun => {
    const day = truth.sameDay ? shared : truth.daySd * random.normal();
    const sd = role === 'before' ? (truth.pullSdBefore ?? truth.pullSd) : truth.pullSd;
    const pulls = Array.from({ length: truth.pulls[k]! }, () => madePull(day, sd, random));
    return {
      role,
      day: truth.sameDay ? 'one' : role,
      gathered: { pulls } as unknown as Gathered,
      airFactor: 1,
    };
  });
  return compareBoost(runs, diesel, 5, NO_AIR).overall.at(-1)!;
}

/** A sweep of part of the band, as drivers do it. */
function madePull(day: number, sd: number, random: Random): GatheredPull {
  const from = random.between(1400, 1900);
  const to = random.between(2600, 3300);
  const error = sd * random.normal();
  const points = [];
  for (let rpm = from, tUs = 0; rpm < to; rpm += 90, tUs += 250_000) {
    const demand = random.between(92, 100);
    const curve = 180 + 40 * Math.sin((rpm - 1200) / 900) + 0.15 * (demand - 96);
    points.push({
      tUs,
      rpm,
      demand,
      mapKpa: curve * Math.exp(day + error + 0.5 * sd * random.normal()),
      power: null,
    });
  }
  return { fromUs: 0, toUs: points.at(-1)!.tUs, ratio: 17, points, way: null, grade: null };
}

function table(): void {
  const trials = quick ? 100 : 600;
  console.log(`coverage of the 95 % interval and change detected with 95 % power, ${trials} trials each`);
  const cases: readonly (readonly [string, Omit<Truth, 'pulls'>])[] = [
    ['one day, pulls scatter 1.3 %', { pullSd: 0.013, daySd: 0.01, sameDay: true }],
    ['one day, pulls scatter 2 %', { pullSd: 0.02, daySd: 0.01, sameDay: true }],
    ['one day, 6 % before, 2 % after', { pullSd: 0.02, pullSdBefore: 0.06, daySd: 0.01, sameDay: true }],
    ['other day, days spread as assumed', { pullSd: 0.013, daySd: DAY_SD, sameDay: false }],
    ['other day, days spread half of it', { pullSd: 0.013, daySd: DAY_SD / 2, sameDay: false }],
    ['other day, days spread 1.5 %', { pullSd: 0.013, daySd: 0.015, sameDay: false }],
    ['other day, days spread twice', { pullSd: 0.013, daySd: 2 * DAY_SD, sameDay: false }],
  ];
  for (const [name, truth] of cases)
    for (const pulls of [
      [2, 2],
      [3, 3],
      [4, 4],
      [5, 5],
      [6, 6],
      [8, 8],
      [3, 8],
    ] as const) {
      const random = seededRandom(`${name} ${pulls}`);
      let [told, covered, accused] = [0, 0, 0];
      const reach: number[] = [];
      for (let k = 0; k < trials; k++) {
        // in the shape of changed pulls the truth is "no change": a change only shifts the interval
        const region = madeUp({ ...truth, pulls }, random);
        if (region.interval === null) continue;
        told++;
        const [low, high] = region.interval;
        if (low <= 0 && high >= 0) covered++;
        if (region.verdict === 'worse') accused++;
        // a change of this size would just be told from none
        reach.push(-low);
      }
      reach.sort((a, b) => a - b);
      const detected = reach[Math.floor(0.95 * reach.length)] ?? Number.NaN;
      console.log(
        `  ${name}; ${pulls.join(' and ')} pulls: told ${share(told, trials)}, covered ${share(covered, told)}, called worse ${share(accused, told)}, detects ${detected.toFixed(1)} %`,
      );
    }
}

// ---- open drives: healthy, so that every change is a false one ------------------------------------------------

function openDrives(): void {
  if (!existsSync(join(SHARED, 'drives'))) return void console.log('open drives are not there');
  const names = [...TUNE, ...REPORT].filter((n) => n.startsWith('trip'));
  const drives = new Map(names.map((n) => [n, readDrive(n)]));
  const run = (role: 'before' | 'after', id: string, samples: Iterable<Sample>) => ({
    id,
    label: id,
    role,
    startedAt: null,
    vin: null,
    profile: diesel,
    samples,
  });
  const verdicts = new Map<string, number>();
  let [regions, told, covered, points, accused] = [0, 0, 0, 0, 0];
  for (const [i, a] of names.entries())
    for (const b of names.slice(i + 1)) {
      const c = compareRuns([run('before', a, drives.get(a)!), run('after', b, drives.get(b)!)]);
      for (const r of c.overall) {
        regions++;
        verdicts.set(r.verdict, (verdicts.get(r.verdict) ?? 0) + 1);
        if (r.interval === null) continue;
        told++;
        if (r.interval[0] <= 0 && r.interval[1] >= 0) covered++;
        else
          console.log(
            `  ${a} ${b} ${r.region}: ${r.effectPct} % (${r.interval.join(' to ')}), ${r.before.pulls} and ${r.after.pulls} pulls`,
          );
      }
      points += c.points.filter((p) => p.interval !== null).length;
      accused += c.points.filter((p) => p.verdict === 'worse' || p.verdict === 'better').length;
    }
  console.log(
    `open drives, ${names.length} healthy trips pair by pair: ${regions} regions, ${told} with an interval, ${share(covered, told)} of them hold no change; ${[...verdicts].map(([v, n]) => `${v} ${n}`).join(', ')}; ${accused} of ${points} points called better or worse`,
  );
}

// ---- simulated repairs ----------------------------------------------------------------------------------------

function simulated(): void {
  const twin = profileSchema.parse({ induction: 'twin-charged', fuel: 'petrol' });
  const drive = (role: 'before' | 'after', seed: number, fault?: string) => ({
    id: `${role} ${seed}`,
    label: role,
    role,
    startedAt: role === 'before' ? '2026-03-02T08:00:00Z' : '2026-03-05T08:00:00Z',
    vin: null,
    profile: twin,
    samples: [...driveSamples({ seed, hz: 3, ...(fault === undefined ? {} : { fault }) })],
  });
  for (const [fault, region] of [
    [undefined, 'clutch band'],
    ['clutch-never-closes', 'clutch band'],
    ['clutch-sometimes', 'clutch band'],
    ['boost-leak', 'all'],
    ['weak-turbo', 'changeover'],
  ] as const) {
    const said: string[] = [];
    for (let seed = 1; seed <= (quick ? 2 : 5); seed++) {
      const c = compareRuns([drive('before', 2 * seed, fault), drive('after', 2 * seed + 1)]);
      const r = c.overall.find((o) => english.say(o.region) === region)!;
      said.push(`${r.verdict} ${r.effectPct} (${r.interval?.join(' to ')})`);
    }
    console.log(`simulated, ${fault ?? 'healthy'} then healthy, ${region}: ${said.join('; ')}`);
  }
}

table();
openDrives();
simulated();
