/** `handback compare`: runs before a repair against runs after it, at the same operating points. */
import { basename } from 'node:path';
import { Command } from 'commander';
import { compareGathered, DEFAULT_MARGIN_PCT, profileFor } from '../compare/compare.ts';
import type { ComparedRun, GatheredRun } from '../compare/runs.ts';
import type { Comparison, RegionComparison, Shift } from '../compare/types.ts';
import { saying } from '../core/error-says.ts';
import { EXIT, HandbackError } from '../core/errors.ts';
import type { Says } from '../core/says.ts';
import { readMeta } from '../run/meta.ts';
import { beside, sideBySide } from '../run/threads.ts';
import { spelled } from '../words/spelled.ts';
import { type GatheredOne, type GatherTask, gatherOne, isGathered } from './gather-one.ts';
import { type TableOptions, tableOf, threadsFor, withTables } from './inputs.ts';
import { type Io, ioOf, say } from './io.ts';
import { collect, numberIn, readProfile } from './values.ts';

interface Options extends TableOptions {
  readonly before: readonly string[];
  readonly after: readonly string[];
  readonly comeBack: readonly string[];
  readonly margin: number;
  readonly profile?: string;
  readonly sameDay?: boolean;
}

export function compareCommand(): Command {
  const command = new Command('compare')
    .description('runs before a repair against runs after it, at the same operating points')
    .option('--before <path>', 'run folder, capture or table; needed, may be repeated', collect, [])
    .option('--after <path>', 'the same, after the repair; needed, may be repeated', collect, [])
    .option('--come-back <path>', 'the same, when the car came back; may be repeated', collect, [])
    .option('--margin <pct>', 'how much worse is no worse, %', numberIn(0.1, 50, false), DEFAULT_MARGIN_PCT)
    .option('--profile <file>', 'what is known of the vehicle (JSON); runs bring their own')
    .option('--same-day', 'all runs were driven on one day (runs with dates tell it themselves)');
  return withTables(command).action(async (options: Options, command: Command) => {
    process.exitCode = await compare(options, ioOf(command));
  });
}

async function compare(options: Options, io: Io): Promise<number> {
  if (options.before.length === 0 || options.after.length === 0)
    throw new HandbackError('input.usage', saying('error.two-sides'), {
      hint: saying('error.two-sides-hint'),
    });
  const given = options.profile === undefined ? null : await readProfile(options.profile);
  const paths = [
    ...options.before.map((path) => ({ path, role: 'before' as const })),
    ...options.after.map((path) => ({ path, role: 'after' as const })),
    ...options.comeBack.map((path) => ({ path, role: 'come-back' as const })),
  ];
  const table = tableOf(options);
  const asked = { marginPct: options.margin, profile: given, sameDay: options.sameDay === true };
  const profile = profileFor(await Promise.all(paths.map(profiled)), asked);
  const read: GatheredRun[] = [];
  const outcomes = sideBySide<GatherTask, GatheredOne>(
    paths.map(({ path }) => ({ path, table, profile })),
    {
      entry: beside(import.meta.url, 'gather-one'),
      here: gatherOne,
      most: await threadsFor(
        paths.map((p) => p.path),
        (path) => isGathered(path, profile),
      ),
      during: io.during(say('cli.doing.read')),
    },
  );
  let i = 0;
  for await (const outcome of outcomes) {
    if ('thrown' in outcome) throw outcome.thrown;
    const { path, role } = paths[i++]!;
    const { warnings, meta, parts } = outcome.value;
    for (const warning of warnings) io.say(saying('warn.of', { path, what: warning }));
    for (const [k, gathered] of parts.entries()) {
      const which = parts.length === 1 ? '' : `, part ${k + 1}`;
      const run = {
        id: `${path}${which}`,
        label: `${basename(path)}${which}`,
        role,
        startedAt: meta?.startedAt ?? null,
        vin: meta?.vin ?? null,
        profile: meta?.profile ?? null,
      };
      read.push({ run, gathered });
    }
  }
  io.progressDone();
  const comparison = compareGathered(read, asked);
  io.result(spelled(comparison));
  print(comparison, io);
  return EXIT.ok;
}

/** As far as it matters to the profile under which all are compared; what cannot be read is said when it is. */
async function profiled({ path, role }: { path: string; role: ComparedRun['role'] }): Promise<ComparedRun> {
  const profile = await readMeta(path).then(
    (meta) => meta.profile,
    () => null,
  );
  return { id: path, label: path, role, startedAt: null, vin: null, profile };
}

function print(c: Comparison, io: Io): void {
  for (const problem of c.problems) io.print(problem);
  if (c.charged) {
    for (const region of c.overall) printRegion(region, io);
    printShift(say('cli.compare.tipIn'), c.tipIn, io);
  }
  printShift(say('cli.compare.plateau'), c.coolant.plateau, io);
  printShift(say('cli.compare.warmUp'), c.coolant.warmUp, io);
  if (c.charged) {
    const decided = c.points.filter((p) => p.verdict !== 'not shown').length;
    io.print(say('cli.compare.points', { n: c.points.length, decided }));
  }
  for (const sentence of c.charged
    ? [...c.observations, c.days.sentence, ...c.corrections]
    : [c.days.sentence])
    io.print(sentence);
  io.print(c.rule);
  if (c.comeBack === null) return;
  io.print('');
  io.print(say('cli.compare.back'));
  print(c.comeBack, io);
}

function verdictIn(io: Io, verdict: string): string {
  return (io.words.known(`effect.${verdict}`) ?? verdict).toLocaleUpperCase(io.words.language.lang);
}

function printRegion(r: RegionComparison, io: Io): void {
  const sides = {
    verdict: verdictIn(io, r.verdict),
    region: r.region,
    before: r.before.pulls,
    after: r.after.pulls,
  };
  io.print(
    r.interval === null || r.effectPct === null || r.effectKpa === null
      ? say('cli.compare.region', sides)
      : say('cli.compare.effect', {
          ...sides,
          effect: r.effectPct,
          low: r.interval[0],
          high: r.interval[1],
          kpa: r.effectKpa,
        }),
  );
  if (r.needs !== null) io.print(say('cli.next', { what: r.needs }));
}

function printShift(what: Says, s: Shift, io: Io): void {
  const m = io.words.measures;
  const signed = (v: number) => `${v >= 0 ? '+' : ''}${m.quantity(v, s.unit, true, 1)}`;
  const change =
    s.interval === null || s.difference === null
      ? ''
      : `: ${signed(s.difference)} (${s.interval.map(signed).join(', ')})`;
  io.print(`${verdictIn(io, s.verdict)}  ${io.words.say(what)}${change}`);
  if (s.needs !== null) io.print(say('cli.next', { what: s.needs }));
}
