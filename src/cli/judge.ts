/** `handback judge`: findings for each recording, for people or as JSON Lines. */

import { Command } from 'commander';
import type { Finding, Judgement } from '../analysis/types.ts';
import { saying } from '../core/error-says.ts';
import { EXIT, HandbackError } from '../core/errors.ts';
import { inTurn, type Says } from '../core/says.ts';
import { shareIn, WHOLE } from '../core/share.ts';
import type { Unit } from '../core/signals.ts';
import { findingText } from '../words/finding-text.ts';
import { drivesOf, type TableOptions, tableOf, threadsFor, unitsOf, withTables } from './inputs.ts';
import { type Io, ioOf, say } from './io.ts';
import { judgeMany } from './judge-many.ts';
import { isKept, type JudgeAsked, JudgeOne, jsonOf } from './judge-one.ts';
import { digestOf, MOST_SHARES, type Placed, recordingsIn } from './judged-apart.ts';
import { collect, readProfile } from './values.ts';

interface Options extends TableOptions {
  readonly profile?: string;
  readonly baseline: readonly string[];
  readonly kind: readonly string[];
  readonly failOnFault?: boolean;
  readonly out?: string;
  readonly share?: string;
}

export function judgeCommand(): Command {
  const command = new Command('judge')
    .description('findings for each run folder, capture or table (.csv, .csv.gz, .parquet)')
    .argument('<path...>', 'what to judge; with --out also whole libraries')
    .option('--profile <file>', 'what is known of the vehicle (JSON); a run brings its own')
    .option('--baseline <path>', 'a healthy drive of the same vehicle; may be repeated', collect, [])
    .option(
      '--kind <path>',
      'healthy drives of another car of the same kind, one or a folder; once a car',
      collect,
      [],
    );
  return withTables(command)
    .option('--fail-on-fault', 'exit status 3 when a fault is shown')
    .option('--out <folder>', 'a file for each judgement, named after what was judged; what is there stays')
    .option('--share <k/n>', 'only this share of the recordings, told by their content; needs --out')
    .action(async (paths: string[], options: Options, command: Command) => {
      process.exitCode = await judge(paths, options, ioOf(command));
    });
}

async function judge(named: readonly string[], options: Options, io: Io): Promise<number> {
  const given = options.profile === undefined ? null : await readProfile(options.profile);
  const stated = unitsOf(options);
  const asked: JudgeAsked = {
    profile: given,
    stated,
    table: tableOf(options),
    baseline: options.baseline,
    kind: options.kind,
    out: await outOf(options, given, stated),
  };
  const paths = asked.out ? await recordingsIn(named) : named;
  const counts: Record<Placed, number> = { judged: 0, there: 0, others: 0 };
  const taught = new Set<string>();
  let unreadable = 0;
  let faults = 0;
  const here = new JudgeOne(asked, io);
  const most = await threadsFor(paths, (path) => isKept(path, asked));
  const during = io.during(say('cli.doing.judge'));
  for await (const { path, outcome } of judgeMany(paths, asked, here, most, during)) {
    if ('thrown' in outcome) {
      // one unreadable file does not keep the others from being judged
      const { thrown } = outcome;
      if (!(thrown instanceof HandbackError) || (named.length === 1 && paths.length === 1)) throw thrown;
      io.progressDone();
      const { message, hint } = thrown.told;
      io.say(inTurn(hint === null ? [message] : [message, hint]));
      unreadable++;
      continue;
    }
    const one = outcome.value;
    io.progressDone();
    for (const what of one.warnings) io.say(saying('warn.of', { path, what }));
    if (one.taught && !taught.has(one.taught.by)) for (const line of one.taught.said) io.say(line);
    if (one.taught) taught.add(one.taught.by);
    for (const judged of one.judged) {
      io.result(jsonOf(judged));
      if (judged.part !== null) io.print(say('cli.judge.part', judged.part));
      printJudgement(judged.judgement, io);
    }
    if (one.placed) counts[one.placed]++;
    if (one.faulty) faults++;
  }
  io.progressDone();
  if (asked.out) {
    io.result(counts);
    io.print(say('cli.judge.shared', counts));
  }
  if (unreadable > 0) return EXIT.badInput;
  return options.failOnFault === true && faults > 0 ? EXIT.faultShown : EXIT.ok;
}

/** Null where the judgements are printed. @throws HandbackError input.usage, input.file */
async function outOf(options: Options, profile: unknown, stated: unknown): Promise<JudgeAsked['out']> {
  if (options.out === undefined) {
    if (options.share === undefined) return null;
    throw new HandbackError('input.usage', saying('error.share-out'));
  }
  const share = options.share === undefined ? WHOLE : shareIn(options.share, MOST_SHARES);
  const baselines = await Promise.all(options.baseline.map(digestOf));
  const given = [profile, stated, options.map, options.time ?? null, baselines];
  if (options.kind.length === 0) return { folder: options.out, share, given };
  const kind = options.kind.map(async (car) => Promise.all((await drivesOf(car)).map(digestOf)));
  return { folder: options.out, share, given: [...given, await Promise.all(kind)] };
}

const ORDER = { 'fault shown': 0, 'not shown': 1, 'shown good': 2 } as const;

function printJudgement(judgement: Judgement, io: Io): void {
  const { path, spanS, pulls, systems, findings } = judgement;
  io.print(say('cli.judge.run', { path, min: spanS / 60, pulls: pulls.length }));
  for (const [system, is] of Object.entries(systems)) {
    if (system === 'boost' && !findings.some((f) => f.system === system)) continue; // an engine without a charger
    const asked = !('asked' in is) || is.asked;
    io.print(
      asked
        ? say('cli.judge.system', { system, verdict: is.verdict })
        : say('cli.judge.not-asked', { system }),
    );
  }
  for (const f of findings.toSorted((a, b) => ORDER[a.verdict] - ORDER[b.verdict]))
    for (const line of findingLines(f, io)) io.print(line);
  io.print('');
}

const PRINTED_EVIDENCE = 5;

/** The id first, so that it can be looked up and searched for, whatever the language. */
function findingLines(f: Finding, { words }: Io): Says[] {
  const { measures } = words;
  const verdict = words.name('verdict', f.verdict).toUpperCase();
  const head = { verdict, id: f.id };
  const text = findingText(words, f);
  const limit = f.limit && {
    limit: text?.limit ?? measures.quantity(f.limit.value, f.limit.unit as Unit),
    source: f.limit.source,
  };
  const more = f.evidence.length - PRINTED_EVIDENCE;
  return [
    f.pointsTo ? say('cli.judge.points', { ...head, to: f.pointsTo }) : say('cli.judge.finding', head),
    ...(f.saidAtS === null ? [] : [say('cli.judge.spoken', { at: f.saidAtS })]),
    ...(text === null
      ? []
      : [say('cli.judge.measured', { value: text.measured, low: text.lowBare, high: text.high })]),
    ...(limit === null ? [] : [say('cli.judge.limit', limit)]),
    ...f.evidence
      .slice(0, PRINTED_EVIDENCE)
      .map((e) => say('cli.judge.evidence', { from: e.fromS, to: e.toS, text: e.text })),
    ...(more > 0 ? [say('cli.judge.more', { n: more })] : []),
    ...(f.needs ? [say('cli.next', { what: f.needs })] : []),
  ];
}
