/** How good is the coolant detector on the open drives? `npx tsx tests/evaluate/coolant.ts [tune|report]`. */

import { type CoolantBaseline, learnCoolant, mergeCoolant } from '../../src/analysis/coolant/baseline.ts';
import { CoolantDetector } from '../../src/analysis/coolant/detector.ts';
import { Plausibility } from '../../src/analysis/plausibility.ts';
import type { CleanSample, Finding } from '../../src/analysis/types.ts';
import { seededRandom } from '../../src/core/random.ts';
import type { Sample } from '../../src/core/signals.ts';
import type { Profile } from '../../src/run/profile.ts';
import { REPORT, readDrive, TUNE } from './coolant-drives.ts';
import * as inject from './inject-coolant.ts';

const which = process.argv[2] === 'report' ? REPORT : TUNE;
const verbose = process.argv.includes('-v');
const only = new RegExp(process.argv.find((a) => a.startsWith('--only='))?.slice(7) ?? '.');
const TRIES = 4;
const LEFT_S = 720;

function profileOf(name: string): Profile {
  return name.startsWith('trip')
    ? { induction: 'turbocharger', fuel: 'diesel' }
    : { induction: 'naturally aspirated', fuel: 'petrol' };
}

function clean(samples: readonly Sample[]): CleanSample[] {
  const front = new Plausibility();
  const out: CleanSample[] = [];
  for (const s of samples) out.push(...front.push(s));
  return [...out, ...front.finish()];
}

interface Outcome {
  readonly findings: readonly Finding[];
  readonly settledFromS: number | null;
  readonly endS: number;
}

function judge(samples: readonly Sample[], profile: Profile, baseline: CoolantBaseline | null): Outcome {
  const detector = new CoolantDetector({ profile, baseline });
  let settledFromS: number | null = null;
  let endUs = 0;
  for (const s of clean(samples)) {
    detector.step(s);
    endUs = s.tUs;
    if (settledFromS === null && detector.settledFromS !== null) settledFromS = detector.settledFromS;
  }
  return { findings: detector.finish(endUs), settledFromS, endS: endUs / 1e6 };
}

const drives = new Map(which.map((n) => [n, readDrive(n)]));
const lessons = new Map(
  TUNE.map((n) => [n, learnCoolant(clean(drives.get(n) ?? readDrive(n)), profileOf(n))] as const),
);

/** The other drives of the same car in the tune half. */
function baselineFor(name: string): CoolantBaseline {
  const kind = name.slice(0, 4);
  return mergeCoolant([...lessons].filter(([n]) => n !== name && n.startsWith(kind)).map(([, l]) => l));
}

const faults = (o: Outcome) => o.findings.filter((f) => f.verdict === 'fault shown');
const systemGood = (o: Outcome) => o.findings.every((f) => f.verdict === 'shown good' || f.aside === true);
const median = (xs: number[]) => [...xs].sort((a, b) => a - b)[xs.length >> 1] ?? Number.NaN;

for (const withBaseline of process.argv.includes('-b')
  ? [true]
  : process.argv.includes('-n')
    ? [false]
    : [false, true]) {
  console.log(
    `\n== ${which === TUNE ? 'tune' : 'report'} half, ${withBaseline ? 'with' : 'without'} baseline`,
  );
  const baselineOf = (n: string) => (withBaseline ? baselineFor(n) : null);
  const healthy = new Map([...drives].map(([n, s]) => [n, judge(s, profileOf(n), baselineOf(n))]));
  let hours = 0;
  let settledHours = 0;
  const count = { good: 0, fault: 0, open: 0 };
  for (const [n, o] of healthy) {
    hours += o.endS / 3600;
    settledHours += o.settledFromS === null ? 0 : (o.endS - o.settledFromS) / 3600;
    count[faults(o).length > 0 ? 'fault' : systemGood(o) ? 'good' : 'open']++;
    for (const f of o.findings)
      if (f.verdict === 'fault shown' || (verbose && f.verdict === 'not shown'))
        console.log(n, f.id, f.verdict, f.saidAtS, f.needs ?? f.evidence[0]?.text);
  }
  console.log(
    `healthy: ${hours.toFixed(1)} h (${settledHours.toFixed(1)} h settled), false alarms ${count.fault}, shown good ${count.good}, not shown ${count.open}`,
  );

  for (const [label, glitch] of Object.entries({
    spikes: inject.spikes,
    endStops: inject.endStops,
    dropouts: inject.dropouts,
    stuck: inject.stuck,
    levels: inject.plateausOfNoise,
    timeJumps: inject.timeJumps,
  })) {
    if (!only.test(label)) continue;
    const c = { good: 0, fault: 0, open: 0 };
    for (const [n, s] of drives) {
      const o = judge(glitch(s, seededRandom(`${label}${n}`)), profileOf(n), baselineOf(n));
      c[faults(o).length > 0 ? 'fault' : systemGood(o) ? 'good' : 'open']++;
      for (const f of faults(o)) console.log(label, n, f.id, f.saidAtS, f.evidence[0]?.text);
    }
    console.log(`glitch ${label}: false alarms ${c.fault} of ${drives.size}, shown good ${c.good}`);
  }

  const climbs: Record<string, (s: readonly Sample[], onsetS: number) => Sample[]> = {
    '+15 τ120': inject.climb(15, 120),
    '+25 τ120': inject.climb(25, 120),
    '+40 τ120': inject.climb(40, 120),
    '+15 τ60': inject.climb(15, 60),
    '+25 τ60': inject.climb(25, 60),
    '+15 in 3 min': inject.straight(15, 180),
    '+25 in 3 min': inject.straight(25, 180),
    '+25 at once': inject.climb(25, 0.1),
    '2 °C/min': inject.ramp(2),
    '1 °C/min': inject.ramp(1),
    '0.5 °C/min': inject.ramp(0.5),
  };
  for (const [label, fault] of Object.entries(climbs)) {
    if (!only.test(label)) continue;
    const delays: number[] = [];
    let n = 0;
    let good = 0;
    let early = 0;
    const causes = new Map<string, number>();
    for (const [name, s] of drives) {
      const h = healthy.get(name)!;
      const from = h.settledFromS;
      const left = label.startsWith('0.5') ? 1200 : LEFT_S;
      if (from === null || h.endS - left < from) continue;
      for (let k = 0; k < TRIES; k++) {
        const onset = seededRandom(`${label}${name}${k}`).between(from, h.endS - left);
        const o = judge(fault(s, onset), profileOf(name), baselineOf(name));
        const said = o.findings.find((f) => f.id === 'coolant.climb')!;
        n++;
        if (said.saidAtS === null) {
          if (systemGood(o)) good++;
          if (verbose) console.log(label, name, Math.round(onset), 'missed', said.needs);
        } else if (said.saidAtS < onset) early++;
        else {
          delays.push((said.saidAtS - onset) / 60);
          const cause = said.pointsTo?.split(':')[0] ?? '';
          causes.set(cause, (causes.get(cause) ?? 0) + 1);
        }
      }
    }
    console.log(
      `${label.padEnd(13)} found ${delays.length}/${n}, early ${early}, median ${median(delays).toFixed(1)} min, worst ${Math.max(...delays).toFixed(1)}, shown good ${good}, points to ${[...causes].map(([c, k]) => `${c.slice(0, 14)} ${k}`).join(', ')}`,
    );
  }

  for (const [label, fault] of Object.entries({
    'open 76 flat': inject.stuckOpen(76, 0),
    'open 72 sag 2': inject.stuckOpen(72, 2),
    'open 66 sag 4': inject.stuckOpen(66, 4),
    'open 80 sag 3': inject.stuckOpen(80, 3),
    'scaled 70': inject.scaledCold(70, 89),
    'scaled 76': inject.scaledCold(76, 89),
  })) {
    if (!only.test(label)) continue;
    const delays: number[] = [];
    let n = 0;
    let good = 0;
    for (const [name, s] of drives) {
      const o = judge(fault(s), profileOf(name), baselineOf(name));
      if (o.endS < 900) continue;
      n++;
      const said = o.findings.find((f) => f.id === 'coolant.too-cold')!;
      if (said.saidAtS !== null) delays.push(said.saidAtS / 60);
      else {
        if (systemGood(o)) good++;
        if (verbose) console.log(label, name, 'missed', said.needs);
      }
    }
    console.log(
      `${label.padEnd(13)} found ${delays.length}/${n}, median ${median(delays).toFixed(1)} min from start, worst ${Math.max(...delays).toFixed(1)}, shown good ${good}`,
    );
  }
}
