/** `handback pool`: what many jobs showed, as a folder of Parquet files; added to, asked, tidied, and a car taken out. */
import { join } from 'node:path';
import { Argument, Command } from 'commander';
import { saying } from '../core/error-says.ts';
import { EXIT, HandbackError } from '../core/errors.ts';
import { shareIn, WHOLE } from '../core/share.ts';
import { PoolCases } from '../desk/pool-cases.ts';
import { leavingOf, sharedSources, takeIn } from '../desk/pool-intake.ts';
import { ask } from '../pool/engine.ts';
import { PARTS, Pool } from '../pool/pool.ts';
import { type Answer, QUESTION_NAMES, QUESTIONS, type QuestionName } from '../pool/questions.ts';
import { SECRET_FILE, secretIn } from '../pool/secret.ts';
import { SAMPLE_COLUMNS, TABLE_NAMES, TABLES } from '../pool/tables.ts';
import { defaultLibrary } from '../run/library.ts';
import { readSettings, settingsFolder, writeSettings } from '../run/settings.ts';
import { type Io, ioOf, say } from './io.ts';

interface SecretOption {
  readonly secret: string;
}
interface CarOptions extends SecretOption {
  readonly car?: string;
  readonly vin?: string;
  readonly plate?: string;
}

export function poolCommand(): Command {
  const command = new Command('pool').description(
    'what many jobs showed, as a folder of Parquet files: added to, asked, a car taken out',
  );
  for (const inner of [
    addCommand(),
    askCommand(),
    sqlCommand(),
    tablesCommand(),
    tidyCommand(),
    forgetCommand(),
  ])
    command.addCommand(inner.exitOverride());
  return command;
}

const withSecret = (command: Command): Command =>
  command.option(
    '--secret <file>',
    'what names of cars are made with; made where it is missing',
    join(settingsFolder(), SECRET_FILE),
  );

const withCar = (command: Command): Command =>
  withSecret(command)
    .option('--car <name>', 'the car as the pool names it')
    .option('--vin <vin>', 'the car by its VIN')
    .option('--plate <plate>', 'the car by its plate, where the job has no VIN');

function addCommand(): Command {
  return withSecret(new Command('add'))
    .description('takes ended jobs and drives in; without --yes only tells what would leave the library')
    .argument('<pool>', 'its folder; begun where it is missing')
    .option('--library <dir>', 'folder with the jobs', defaultLibrary())
    .option('--share <k/n>', 'only this share of them, so that several computers may do it')
    .option('--practice', 'drives of the simulated car too')
    .option('--yes', 'what was listed may leave')
    .action(
      async (
        folder: string,
        options: SecretOption & { library: string; share?: string; practice?: boolean; yes?: boolean },
        command: Command,
      ) => {
        const io = ioOf(command);
        const share = options.share === undefined ? WHOLE : shareIn(options.share, PARTS);
        const secret = await secretIn(options.secret);
        const cases = new PoolCases(options.library, secret);
        const sources = sharedSources(await cases.sources(options.practice === true), share);
        const leaving = leavingOf(sources);
        io.say(say('cli.pool.leaves', { cases: leaving.cases, runs: leaving.runs }));
        for (const [table, columns] of tableList()) io.say(say('cli.pool.columns', { table, columns }));
        io.say(say('cli.pool.never'));
        io.say(say(leaving.texts.length > 0 ? 'cli.pool.texts' : 'cli.pool.no-texts'));
        for (const text of leaving.texts) io.say(say('cli.pool.text', { text }));
        if (options.yes !== true) {
          io.result({ leaving });
          io.print(say('cli.pool.not-yet'));
          return;
        }
        const pool = await Pool.begin(folder, secret);
        const progress = (part: number): void => io.progress(say('cli.doing.judge'), part);
        const { troubles, ...taken } = await takeIn(pool, secret, cases, sources, progress);
        io.progressDone();
        // The page asks the pool that was added to last, with the user's own secret.
        if (command.getOptionValueSource('secret') === 'default')
          await writeSettings({ ...readSettings(), pool: pool.folder });
        for (const { folder: path, why } of troubles) io.say(saying('warn.of', { path, what: why }));
        io.result({ ...taken, notRead: troubles.length });
        const { cases: n, runs, unchanged, forgotten } = taken;
        io.print(say('cli.pool.taken', { cases: n, runs, unchanged, forgotten }));
        if (troubles.length > 0) process.exitCode = EXIT.badInput;
      },
    );
}

function askCommand(): Command {
  return withCar(new Command('ask'))
    .description('a question that stands ready')
    .argument('<pool>', 'its folder')
    .addArgument(new Argument('<question>', 'which').choices([...QUESTION_NAMES]))
    .option('--kind <kind>', 'only this kind of engine, as the pool writes it', '')
    .action(
      async (
        folder: string,
        name: QuestionName,
        options: CarOptions & { kind: string },
        command: Command,
      ) => {
        const pool = await Pool.open(folder);
        const question = QUESTIONS.find((q) => q.name === name)!;
        const car = question.needs.includes('car') ? await carOf(options) : '';
        printAnswer(await ask(pool, question.sql, { kind: options.kind, car }), ioOf(command));
      },
    );
}

function sqlCommand(): Command {
  return new Command('sql')
    .description('a SELECT of your own; nothing can be changed through it')
    .argument('<pool>', 'its folder')
    .argument('<sql>', 'one SELECT')
    .action(async (folder: string, sql: string, _: object, command: Command) => {
      printAnswer(await ask(await Pool.open(folder), sql), ioOf(command));
    });
}

function tablesCommand(): Command {
  return new Command('tables')
    .description('the tables, their columns, and the SQL of the questions that stand ready')
    .action((_: object, command: Command) => {
      const io = ioOf(command);
      for (const [table, columns] of tableList()) {
        io.result({ table, columns: columns.split(', ') });
        io.print(`${table}: ${columns}`);
      }
      for (const { name, sql } of QUESTIONS) {
        io.result({ question: name, sql });
        io.print(`\n-- ${name}\n${sql}`);
      }
    });
}

function tidyCommand(): Command {
  return new Command('tidy')
    .description('joins the many small files into few; run it now and then')
    .argument('<pool>', 'its folder')
    .action(async (folder: string, _: object, command: Command) => {
      const counts = await (await Pool.open(folder)).tidy();
      const io = ioOf(command);
      io.result(counts);
      io.print(say('cli.pool.tidied', counts));
    });
}

function forgetCommand(): Command {
  return withCar(new Command('forget'))
    .description('takes a car out of the pool for good, and shows that nothing of it is left')
    .argument('<pool>', 'its folder')
    .action(async (folder: string, options: CarOptions, command: Command) => {
      const secret = await secretIn(options.secret);
      await Pool.open(folder); // a misspelt folder is no pool to begin
      const pool = await Pool.begin(folder, secret);
      const { searched, ...gone } = await pool.forget(await carOf(options), secret);
      const io = ioOf(command);
      io.result({ ...gone, searched });
      io.print(say('cli.pool.forgotten', { ...gone, files: searched }));
      if (gone.left > 0) process.exitCode = EXIT.internal;
    });
}

/** @throws HandbackError input.usage */
async function carOf({ car, vin, plate, secret }: CarOptions): Promise<string> {
  if (car !== undefined && /^[0-9a-f]{20}$/.test(car)) return car;
  const names = new PoolCases('', await secretIn(secret));
  if (vin !== undefined) return names.carOfVin(vin);
  if (plate !== undefined) return names.carOfPlate(plate);
  throw new HandbackError('input.usage', saying('error.pool-no-car'));
}

const tableList = (): [string, string][] =>
  [...TABLE_NAMES.map((t) => [t, TABLES[t]] as const), ['samples', SAMPLE_COLUMNS] as const].map(
    ([table, columns]) => [table, Object.keys(columns).join(', ')],
  );

function printAnswer({ columns, rows }: Answer, io: Io): void {
  for (const row of rows) io.result(Object.fromEntries(columns.map((c, i) => [c, row[i]])));
  if (rows.length === 0) {
    io.print(say('cli.pool.no-rows'));
    return;
  }
  const shown = [columns, ...rows.map((row) => row.map(cell))];
  const widths = columns.map((_, i) => Math.max(...shown.map((row) => row[i]!.length)));
  for (const row of shown)
    io.print(
      row
        .map((text, i) =>
          typeof rows[0]![i] === 'number' ? text.padStart(widths[i]!) : text.padEnd(widths[i]!),
        )
        .join('  ')
        .trimEnd(),
    );
}

const cell = (value: number | string | null): string => {
  if (value === null) return '-';
  return typeof value === 'string' ? value : String(Math.round(value * 100) / 100);
};
