/**
 * `npm run evaluate`: measures the judging on open drives, injected faults and a simulated fleet, and writes
 * docs/analysis-quality.md, in about an hour on two idle cores. `--quick` takes every third open drive and fewer tries of
 * everything, `--quick-rest` takes all open drives with one try each and less of the rest, and the document says so; `--print` prints it instead of writing it; `--results FILE` keeps what each
 * part gave, a line each, and goes on with what the file lacks.
 */
import { fork } from 'node:child_process';
import { appendFileSync, existsSync, readFileSync, writeFileSync } from 'node:fs';
import { resolve } from 'node:path';
import { LEVEL } from '../../src/analysis/coolant/climb.ts';
import { type BoostCase, boostCases, TAUGHT } from './boost.ts';
import { HALVES } from './boost-drives.ts';
import { type HeldOutCase, heldOutCases } from './boost-held-out.ts';
import { boostConfusion, type ConfusionCase, type GuidedCase, guidedCases } from './boost-sim.ts';
import { type ChangedCase, changedCases } from './changed.ts';
import * as coolant from './coolant-cases.ts';
import { type CoolantCase, coolantCases } from './coolant-report.ts';
import { COOLING_FAULTS, type FleetDrive, fleetDrive } from './fleet.ts';
import { delayHours, nullRate } from './null-streams.ts';
import { documentOf } from './report.ts';
import type { Results } from './results.ts';

type Job =
  | {
      readonly do: 'drive';
      readonly name: string;
    }
  | { readonly do: 'assumption' }
  | { readonly do: 'nulls' }
  | { readonly do: 'fleet'; readonly fault: string; readonly seeds: readonly number[] }
  | { readonly do: 'boost' | 'held out' | 'changed'; readonly name: string }
  | { readonly do: 'confusion'; readonly seed: number }
  | { readonly do: 'guided'; readonly seed: number };

const quick = process.argv.includes('--quick');
const less = quick || process.argv.includes('--quick-rest');
/** `seeds`: of each cell of the simulated fleets. */
const SIZE = {
  tries: less ? 1 : 2,
  nullHours: less ? 20_000 : 100_000,
  seeds: quick ? 4 : less ? 20 : 40,
};
/** Odd ones report, of the cooling from 461 on, of boost from 501 on; all below and even ones were looked at while rules were mended. */
const reported = (n: number, from: number): number[] => Array.from({ length: n }, (_, k) => 2 * k + from);

const some = (list: readonly string[], third: boolean): string[] =>
  list.filter((_, i) => !third || i % 3 === 0);
const allDrives = (): string[] => (['A', 'B'] as const).flatMap((h) => some(coolant.halfOf(h), quick));
const allTrips = (): string[] => (['A', 'B'] as const).flatMap((h) => some(HALVES[h], quick));

function jobs(): Job[] {
  const list: Job[] = [
    ...allTrips().flatMap((name): Job[] => [
      { do: 'boost', name },
      { do: 'held out', name },
    ]),
    ...reported(SIZE.seeds, 501).map((seed): Job => ({ do: 'confusion', seed })),
    ...reported(SIZE.seeds, 501).map((seed): Job => ({ do: 'guided', seed })),
    { do: 'nulls' },
    { do: 'assumption' },
  ];
  for (const name of allDrives()) list.push({ do: 'drive', name });
  for (const h of ['A', 'B'] as const)
    for (const name of some(coolant.halfOf(h), less)) list.push({ do: 'changed', name });
  for (const fault of Object.keys(COOLING_FAULTS)) {
    const seeds = reported(fault === 'healthy' ? 2 * SIZE.seeds : SIZE.seeds, 461);
    for (let k = 0; k < seeds.length; k += 10)
      list.push({ do: 'fleet', fault, seeds: seeds.slice(k, k + 10) });
  }
  return list;
}

function run(job: Job): unknown {
  if (job.do === 'boost') return boostCases(job.name, quick ? [0, 3, 13] : TAUGHT);
  if (job.do === 'held out') return heldOutCases(job.name);
  if (job.do === 'changed') return changedCases(job.name);
  if (job.do === 'fleet') return job.seeds.map((seed) => fleetDrive(job.fault, seed));
  if (job.do === 'confusion') return boostConfusion([job.seed]);
  if (job.do === 'guided') return guidedCases(job.seed);
  if (job.do === 'nulls') {
    const hours = SIZE.nullHours;
    return {
      level: nullRate(LEVEL, hours, 'level'),
      delays: [1, 2, 4].map((x) => delayHours(LEVEL, x, 400, String(x))),
    };
  }
  if (job.do === 'assumption') {
    const all = allDrives().map(coolant.assumption);
    return LEVEL.lambdas.map((lambda, i) => ({
      lambda,
      sum: all.reduce((a, d) => a + d[i]!.sum, 0),
      n: all.reduce((a, d) => a + d[i]!.n, 0),
    }));
  }
  return coolantCases(job.name, SIZE.tries);
}

/** Where results are kept; null when nowhere. */
const KEPT = process.argv.includes('--results') ? process.argv[process.argv.indexOf('--results') + 1]! : null;

/** What an earlier run gave, by job; a last line that was cut counts for nothing. */
function kept(): Map<string, unknown> {
  if (KEPT === null || !existsSync(KEPT)) return new Map();
  const lines = readFileSync(KEPT, 'utf8').split('\n').slice(0, -1);
  return new Map(lines.map((line) => JSON.parse(line) as [string, unknown]));
}

/** Two processes, each given the next job when it has done one. */
async function all(list: readonly Job[]): Promise<unknown[]> {
  const known = kept();
  const results: unknown[] = list.map((job) => known.get(JSON.stringify(job)));
  const todo = [...list.keys()].filter((k) => results[k] === undefined);
  let next = 0;
  let done = list.length - todo.length;
  const worker = () =>
    new Promise<void>((whole, failed) => {
      const child = fork(import.meta.filename, [
        '--worker',
        ...process.argv.filter((a) => a.startsWith('--quick')),
      ]);
      let mine = -1;
      const give = () => {
        if (next >= todo.length) {
          child.disconnect();
          return whole();
        }
        mine = todo[next++]!;
        child.send(list[mine]!);
      };
      child.on('message', (result) => {
        results[mine] = result;
        if (KEPT !== null) appendFileSync(KEPT, `${JSON.stringify([JSON.stringify(list[mine]), result])}\n`);
        done++;
        process.stderr.write(`\r${done} of ${list.length} `);
        give();
      });
      child.on('error', failed);
      child.on('exit', (code) => code !== 0 && failed(new Error(`worker ended with ${code}`)));
      give();
    });
  await Promise.all([worker(), worker()]);
  process.stderr.write('\n');
  return results;
}

if (process.argv.includes('--worker'))
  process.on('message', (job: Job) => {
    process.send!(run(job));
  });
else {
  const list = jobs();
  const results = await all(list);
  const of = <T>(kind: Job['do'], more: (j: Job) => boolean = () => true): T[] =>
    list.flatMap((j, k) => (j.do === kind && more(j) ? [results[k] as T] : []));
  const text = documentOf({
    quick: quick ? 'all' : less ? 'the rest' : null,
    coolant: of<CoolantCase[]>('drive').flat(),
    assumption: of<Results['assumption']>('assumption')[0]!,
    nulls: of<Results['nulls']>('nulls')[0]!,
    fleet: of<FleetDrive[]>('fleet').flat(),
    boost: of<BoostCase[]>('boost').flat(),
    confusion: of<ConfusionCase[]>('confusion').flat(),
    guided: of<GuidedCase[]>('guided').flat(),
    heldOut: of<HeldOutCase[]>('held out').flat(),
    changed: of<ChangedCase[]>('changed').flat(),
  });
  if (process.argv.includes('--print')) console.log(text);
  else writeFileSync(resolve(import.meta.dirname, '../../docs/analysis-quality.md'), text);
}
