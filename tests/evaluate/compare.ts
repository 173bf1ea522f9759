/**
 * How good a comparison is: coverage of its intervals by pulls a side and spread between days, the change that it
 * detects, healthy trips of the open drives against each other, simulated repairs, and days unlike in warmth.
 * `npx tsx tests/evaluate/compare.ts [-q] [table|open|repairs|warmth…]`
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
import { simulate } from './boost-sim.ts';
import { REPORT, readDrive, TUNE } from './coolant-drives.ts';
import { drawnCar, drawnDay, drawnPulls } from './drawn-car.ts';
import { scaleBoost } from './inject-boost.ts';

const quick = process.argv.includes('-q');
const diesel = profileSchema.parse({ induction: 'turbocharger', fuel: 'diesel' });
const NO_AIR = { lnBaro: 0, baroSd: 0, baroKpa: 98, before: [15, 0], after: [15, 0] } as const;
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
  return { fromUs: 0, toUs: points.at(-1)!.tUs, airKpa: null, ratio: 17, points, way: null, grade: null };
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

// ---- days unlike in warmth: simulated diesels that follow the gas law --------------------------------------------

const COLD_C = 5;
const WARM_C = 30;
/** Drawn cars that no constant was chosen on. */
const CAR_SEEDS = Array.from({ length: quick ? 4 : 12 }, (_, i) => 301 + 2 * i);

function warmth(): void {
  const driven = new Map<string, Sample[]>();
  const simulated = (k: number, car: number, ambientC: number): Sample[] => {
    const key = `${k} ${car} ${ambientC}`;
    const { car: own, options } = drawnDay(drawnCar('turbo-diesel', car), car, k);
    const road = drawnPulls(`turbo-diesel/${car}/${k}`);
    const samples =
      driven.get(key) ?? simulate(own, road, 'healthy', 100_000 * k + car, { ...options, ambientC, hz: 5 });
    driven.set(key, samples);
    return samples;
  };
  const drive = (role: 'before' | 'after', car: number, ambientC: number, left: number) => {
    const samples = simulated(role === 'before' ? 4 : 5, car, ambientC);
    return {
      ...{ id: role, label: role, role, vin: null, profile: diesel },
      startedAt: role === 'before' ? '2026-01-02T08:00:00Z' : '2026-07-05T08:00:00Z',
      samples: left === 1 ? samples : scaleBoost(samples, left, 'everywhere'),
    };
  };
  for (const [beforeC, afterC, left] of [
    [COLD_C, COLD_C, 1],
    [COLD_C, WARM_C, 1],
    [WARM_C, COLD_C, 1],
    [COLD_C, COLD_C, 0.8],
    [COLD_C, WARM_C, 0.8],
    [WARM_C, COLD_C, 0.8],
  ] as const) {
    const rows = new Map<string, RegionComparison[]>();
    for (const car of CAR_SEEDS) {
      const c = compareRuns([drive('before', car, beforeC, 1), drive('after', car, afterC, left)]);
      for (const r of c.overall) {
        const region = english.say(r.region);
        rows.set(region, [...(rows.get(region) ?? []), r]);
      }
    }
    for (const [region, list] of rows) {
      const told = list.filter((r) => r.interval !== null);
      const count = (of: (r: RegionComparison) => boolean): number => told.filter(of).length;
      const middle = (of: (r: RegionComparison) => number): string =>
        (told.map(of).sort((a, b) => a - b)[told.length >> 1] ?? Number.NaN).toFixed(1);
      console.log(
        `simulated diesels, ${beforeC} then ${afterC} °C, × ${left}, ${region}: of ${told.length} lower ${count((r) => r.interval![1] < 0)}, higher ${count((r) => r.interval![0] > 0)}, worse ${count((r) => r.verdict === 'worse')}; effect ${middle((r) => r.effectPct!)} %, interval ± ${middle((r) => (r.interval![1] - r.interval![0]) / 2)} %`,
      );
    }
  }
}

const parts = { table, open: openDrives, repairs: simulated, warmth };
const asked = Object.keys(parts).filter((name) => process.argv.includes(name));
for (const [name, part] of Object.entries(parts)) if (asked.length === 0 || asked.includes(name)) part();
