/** Evaluates the boost detector on the open drives with injected faults; prints a table. `tsx tests/evaluate/boost.ts [tune|report|all] [-v]` */
import { BoostDetector } from '../../src/analysis/boost/detector.ts';
import {
  type BoostBaseline,
  type BoostLesson,
  learnBoost,
  mergeLessons,
} from '../../src/analysis/boost/lesson.ts';
import { Plausibility } from '../../src/analysis/plausibility.ts';
import type { CleanSample, Finding, Spoken } from '../../src/analysis/types.ts';
import type { Sample } from '../../src/core/signals.ts';
import { type Profile, profileSchema } from '../../src/run/profile.ts';
import { REPORT, readDrive, TUNE } from './coolant-drives.ts';
import { dropOuts, intermittent, scaleBoost, spikes, stuckMap, timeJumps } from './inject-boost.ts';

const which = process.argv[2] ?? 'all';
const quick = process.argv.includes('-q');
const verbose = process.argv.includes('-v');
const profile: Profile = profileSchema.parse({ induction: 'turbocharger', fuel: 'diesel' });

function clean(samples: readonly Sample[]): CleanSample[] {
  const front = new Plausibility();
  const out: CleanSample[] = [];
  for (const s of samples) out.push(...front.push(s));
  out.push(...front.finish());
  return out;
}

interface Outcome {
  readonly findings: readonly Finding[];
  readonly spoken: readonly Spoken[];
  readonly faults: readonly string[];
  readonly good: readonly string[];
}

function judge(samples: readonly Sample[], baseline: BoostBaseline | null): Outcome {
  const detector = new BoostDetector({ profile, baseline });
  const spoken: Spoken[] = [];
  for (const s of clean(samples)) spoken.push(...detector.step(s));
  const findings = detector.finish(samples.at(-1)?.tUs ?? 0);
  const ids = (v: string): string[] => findings.filter((f) => f.verdict === v).map((f) => f.id);
  return { findings, spoken, faults: ids('fault shown'), good: ids('shown good') };
}

const trips = (list: readonly string[]): string[] => list.filter((n) => n.startsWith('trip'));
const drives = new Map(trips([...TUNE, ...REPORT]).map((n) => [n, readDrive(n)]));
const lessons = new Map<string, BoostLesson>(
  [...drives].map(([n, samples]) => [n, learnBoost(clean(samples), profile)]),
);
const names = trips(which === 'tune' ? TUNE : which === 'report' ? REPORT : [...TUNE, ...REPORT]);
// A drive never teaches its own judge; the reported half is taught by the tuned half only.
const baselineFor = (name: string): BoostBaseline =>
  mergeLessons(
    trips(TUNE)
      .filter((n) => n !== name)
      .map((n) => lessons.get(n)!),
  );

const FAULTS: readonly [string, (s: readonly Sample[]) => Sample[], readonly string[]][] = [
  ['x0.9 everywhere', (s) => scaleBoost(s, 0.9, 'everywhere'), []],
  ['x0.8 everywhere', (s) => scaleBoost(s, 0.8, 'everywhere'), []],
  ['x0.6 everywhere', (s) => scaleBoost(s, 0.6, 'everywhere'), []],
  ['x0 everywhere', (s) => scaleBoost(s, 0, 'everywhere'), []],
  ['x0.9 pulls', (s) => scaleBoost(s, 0.9, 'pulls'), []],
  ['x0.6 pulls', (s) => scaleBoost(s, 0.6, 'pulls'), []],
  ['x0 pulls', (s) => scaleBoost(s, 0, 'pulls'), []],
  ['x0.8 below 2000', (s) => scaleBoost(s, 0.8, 'below 2000'), ['boost.above-hand-over', 'boost.leak']],
  ['x0.6 below 2000', (s) => scaleBoost(s, 0.6, 'below 2000'), ['boost.above-hand-over', 'boost.leak']],
  ['x0 below 2000', (s) => scaleBoost(s, 0, 'below 2000'), ['boost.above-hand-over', 'boost.leak']],
  ['x0.8 above 2000', (s) => scaleBoost(s, 0.8, 'above 2000'), ['boost.low-speed', 'boost.leak']],
];

const GLITCHES: readonly [string, (s: readonly Sample[], seed: string) => Sample[]][] = [
  ['stuck MAP 8 s', (s, seed) => stuckMap(s, 10, 8, seed)],
  ['stuck MAP 30 s', (s, seed) => stuckMap(s, 6, 30, seed)],
  ['spikes 2 %', (s, seed) => spikes(s, 0.02, seed)],
  ['drop-outs', (s, seed) => dropOuts(s, 30, seed)],
  ['time jumps', (s, seed) => timeJumps(s, 10, seed)],
];

for (const taught of process.argv.includes('-b') ? [true] : [true, false]) {
  console.log(`\n== ${taught ? 'with' : 'without'} baseline, ${names.length} diesel drives (${which})`);
  const base = new Map(names.map((n) => [n, taught ? baselineFor(n) : null]));
  let hours = 0;
  let alarms = 0;
  const goodOn: string[] = [];
  for (const n of names) {
    const samples = drives.get(n)!;
    hours += (samples.at(-1)?.tUs ?? 0) / 3.6e9;
    const o = judge(samples, base.get(n)!);
    if (o.faults.length > 0) alarms++;
    if (o.good.includes('boost.above-hand-over')) goodOn.push(n);
    if (verbose || o.faults.length > 0)
      for (const f of o.findings)
        if (f.measured || f.verdict === 'fault shown')
          console.log(
            `   ${n} ${f.id} ${f.verdict} ${JSON.stringify(f.measured)} ${JSON.stringify(f.limit)} pulls ${f.evidence.length} ${f.verdict === 'fault shown' ? JSON.stringify(f.evidence) : ''}`,
          );
  }
  console.log(
    `healthy: ${hours.toFixed(1)} h, drives with a boost alarm: ${alarms}; above-hand-over good on ${goodOn.length}: ${goodOn.join(' ')}`,
  );
  for (const [label, glitch] of GLITCHES) {
    let bad = 0;
    let runs = 0;
    for (const n of names)
      for (let seed = 0; seed < (quick ? 1 : 5); seed++) {
        const o = judge(glitch(drives.get(n)!, `${n}/${seed}`), base.get(n)!);
        runs++;
        if (o.faults.length > 0) {
          bad++;
          console.log(
            `   ${label} ${n} seed ${seed}: ${o.faults.join(' ')}`,
            verbose
              ? JSON.stringify(
                  o.findings.filter((f) => f.verdict === 'fault shown').map((f) => f.evidence.slice(-3)),
                )
              : '',
          );
        }
      }
    console.log(`glitch ${label}: ${runs} files, with an alarm ${bad}`);
  }
  for (const [label, inject, wrong] of FAULTS) {
    const found: string[] = [];
    const missed: string[] = [];
    let wrongCause = 0;
    let good = 0;
    for (const n of names) {
      const o = judge(inject(drives.get(n)!), base.get(n)!);
      const boost = o.faults.filter((id) => id.startsWith('boost'));
      if (boost.length > 0) found.push(n.slice(5));
      else missed.push(n.slice(5));
      if (boost.some((id) => wrong.includes(id))) wrongCause++;
      const bad = label.includes('below')
        ? ['boost.low-speed', 'boost.leak']
        : label.includes('above')
          ? ['boost.above-hand-over']
          : ['boost.low-speed', 'boost.above-hand-over'];
      if (o.good.some((id) => bad.includes(id))) good++;
    }
    console.log(
      `${label}: found ${found.length}/${names.length} (missed ${missed.join(' ')}), wrong region ${wrongCause}, shown good ${good}`,
    );
  }
  for (const p of [0.3]) {
    let found = 0;
    let able = 0;
    let any = 0;
    for (const n of names)
      for (let seed = 0; seed < (quick ? 1 : 5); seed++) {
        const i = intermittent(drives.get(n)!, 0, p, `${n}/${seed}`);
        const o = judge(i.samples, base.get(n)!);
        if (i.failed === 0 || i.pulls < 6) continue;
        able++;
        if (o.faults.includes('boost.intermittent')) found++;
        if (o.faults.length > 0) any++;
      }
    console.log(`intermittent ${p}: named ${found}, any ${any} of ${able}`);
  }
}
const big = drives.get('trip-76')!;
const cleaned = clean(big);
const t0 = performance.now();
const d = new BoostDetector({ profile, baseline: baselineFor('trip-76') });
for (const s of cleaned) d.step(s);
d.finish(0);
console.log(`\n${cleaned.length} samples in ${(performance.now() - t0).toFixed(0)} ms`);
