/** `handback judge`: findings for each recording, for people or as JSON Lines. */

import { Command } from 'commander';
import { judgeTable } from '../analysis/judge.ts';
import { saying } from '../core/error-says.ts';
import { EXIT, HandbackError } from '../core/errors.ts';
import type { Profile } from '../core/profile.ts';
import { inTurn } from '../core/says.ts';
import { openRecording } from '../run/recording.ts';
import { partsOf } from '../signal/parts.ts';
import { spelled } from '../words/spelled.ts';
import type { Finding, Judgement } from '../words/views.ts';
import {
  collect,
  headerMap,
  readBaselines,
  readProfile,
  type UnitOptions,
  unitsOf,
  withUnits,
} from './inputs.ts';
import { type Io, ioOf } from './io.ts';

interface Options extends UnitOptions {
  readonly profile?: string;
  readonly baseline: readonly string[];
  readonly map: readonly string[];
  readonly time?: string;
  readonly failOnFault?: boolean;
}

export function judgeCommand(): Command {
  const command = new Command('judge')
    .description('findings for each run folder, capture or table (.csv, .csv.gz, .parquet)')
    .argument('<path...>', 'what to judge')
    .option('--profile <file>', 'what is known of the vehicle (JSON); a run brings its own')
    .option('--baseline <path>', 'a healthy drive of the same vehicle; may be repeated', collect, [])
    .option('--map <header=signal>', 'table column to signal; may be repeated', collect, [])
    .option('--time <header>', 'the table column with the time');
  return withUnits(command)
    .option('--fail-on-fault', 'exit status 3 when a fault is shown')
    .action(async (paths: string[], options: Options, command: Command) => {
      process.exitCode = await judge(paths, options, ioOf(command));
    });
}

async function judge(paths: readonly string[], options: Options, io: Io): Promise<number> {
  const given = options.profile === undefined ? null : await readProfile(options.profile);
  const stated = unitsOf(options);
  const table = {
    ...stated,
    map: headerMap(options.map),
    ...(options.time === undefined ? {} : { time: options.time }),
  };
  const baselines = new Map<Profile, Awaited<ReturnType<typeof readBaselines>>>();
  const none: Profile = {};
  let unreadable = 0;
  let faults = 0;
  for (const [i, path] of paths.entries()) {
    io.progress('Judging', i / paths.length);
    try {
      const recording = await openRecording(path, table);
      for (const warning of recording.warnings) io.say(saying('warn.of', { path, what: warning }));
      const profile = given ?? recording.profile ?? none;
      if (!baselines.has(profile))
        baselines.set(profile, await readBaselines(options.baseline, profile, stated, io));
      const marks = recording.marks.map((m) => m.text);
      const parts = partsOf(recording.table);
      let faulty = false;
      for (const [k, { table: samples, startsAtS }] of parts.entries()) {
        const judgement = spelled(judgeTable(samples, profile, baselines.get(profile) ?? null, path, marks));
        const part = parts.length === 1 ? null : { number: k + 1, of: parts.length, startsAtS };
        io.progressDone();
        io.result(part === null ? judgement : { ...judgement, part });
        if (part !== null) io.print(`Part ${part.number} of ${part.of}, from ${clock(startsAtS)} on:`);
        printJudgement(judgement, io);
        faulty ||= judgement.findings.some((f) => f.verdict === 'fault shown');
      }
      if (faulty) faults++;
    } catch (thrown) {
      // one unreadable file does not keep the others from being judged
      if (!(thrown instanceof HandbackError) || paths.length === 1) throw thrown;
      io.progressDone();
      const { message, hint } = thrown.told;
      io.say(inTurn(hint === null ? [message] : [message, hint]));
      unreadable++;
    }
  }
  io.progressDone();
  if (unreadable > 0) return EXIT.badInput;
  return options.failOnFault === true && faults > 0 ? EXIT.faultShown : EXIT.ok;
}

const ORDER = { 'fault shown': 0, 'not shown': 1, 'shown good': 2 } as const;

function printJudgement(judgement: Judgement, io: Io): void {
  io.print(`${judgement.path}: ${(judgement.spanS / 60).toFixed(1)} min, ${judgement.pulls.length} pulls`);
  for (const [name, system] of Object.entries(judgement.systems))
    io.print(`  ${name}: ${'asked' in system && !system.asked ? 'not asked' : system.verdict}`);
  for (const f of judgement.findings.toSorted((a, b) => ORDER[a.verdict] - ORDER[b.verdict]))
    for (const line of findingLines(f)) io.print(`  ${line}`);
  io.print('');
}

function findingLines(f: Finding): string[] {
  const lines = [`${f.verdict.toUpperCase()}  ${f.id}${f.pointsTo ? `: points to ${f.pointsTo}` : ''}`];
  if (f.saidAtS !== null) lines.push(`    spoken at ${clock(f.saidAtS)}`);
  if (f.measured) {
    const [low, high] = f.measured.interval;
    const limit = f.limit ? `; limit ${round(f.limit.value)} ${f.limit.unit} (${f.limit.source})` : '';
    lines.push(
      `    measured ${round(f.measured.value)} ${f.measured.unit} (${round(low)} to ${round(high)})${limit}`,
    );
  }
  for (const e of f.evidence.slice(0, 5)) lines.push(`    ${clock(e.fromS)} to ${clock(e.toS)}: ${e.text}`);
  if (f.evidence.length > 5) lines.push(`    … and ${f.evidence.length - 5} more (--json lists all)`);
  if (f.needs) lines.push(`    next: ${f.needs}`);
  return lines;
}

const round = (x: number): string => String(Math.round(x * 10) / 10);

function clock(tS: number): string {
  const s = Math.floor(tS);
  return `${Math.floor(s / 60)}:${String(s % 60).padStart(2, '0')}`;
}
