/** The `handback` program: one file a command, and the options of everywhere. */
import { Command, Option } from 'commander';
import { LANGUAGE_IDS } from '../core/languages.ts';
import { VERSION } from '../core/version.ts';
import { harmless } from './io.ts';

/**
 * Each with what it is made of, in the order of the help. A command is loaded alone: to load all of them takes three
 * times as long as what most of them do.
 */
const COMMANDS: Readonly<Record<string, () => Promise<Command>>> = {
  start: async () => (await import('./start.ts')).startCommand(),
  serve: async () => (await import('./serve.ts')).serveCommand(),
  ports: async () => (await import('./ports.ts')).portsCommand(),
  sim: async () => (await import('./sim.ts')).simCommand(),
  record: async () => (await import('./record.ts')).recordCommand(),
  codes: async () => (await import('./codes.ts')).codesCommand(),
  'clear-codes': async () => (await import('./clear-codes.ts')).clearCodesCommand(),
  judge: async () => (await import('./judge.ts')).judgeCommand(),
  compare: async () => (await import('./compare.ts')).compareCommand(),
  export: async () => (await import('./export.ts')).exportCommand(),
  sheet: async () => (await import('./sheet.ts')).sheetCommand(),
  check: async () => (await import('./check.ts')).checkCommand(),
  compress: async () => (await import('./compress.ts')).compressCommand(),
  decode: async () => (await import('./decode.ts')).decodeCommand(),
  jobs: async () => (await import('./jobs.ts')).jobsCommand(),
  pack: async () => (await import('./jobs.ts')).packCommand(),
  unpack: async () => (await import('./jobs.ts')).unpackCommand(),
  kinds: async () => (await import('./kinds.ts')).kindsCommand(),
  pool: async () => (await import('./pool.ts')).poolCommand(),
  practice: async () => (await import('./practice.ts')).practiceCommand(),
  report: async () => (await import('./report.ts')).reportCommand(),
  completion: async () => (await import('./completion.ts')).completionCommand(() => handbackProgram()),
  manual: async () => (await import('./completion.ts')).manualCommand(() => handbackProgram()),
};

/** @param named one command alone; absent or unknown: all of them */
export async function handbackProgram(named?: string): Promise<Command> {
  const program = new Command('handback')
    .description('Prove a big cooling or forced-induction repair on the road before the car goes home.')
    .version(VERSION)
    .option('--json', 'JSON Lines on stdout and nothing else there')
    .option('--quiet', 'no progress and no remarks on stderr')
    .addOption(language())
    .exitOverride()
    .configureOutput({ writeErr: (text) => process.stderr.write(harmless(text)) });

  for (const command of await wanted(named)) {
    // the options of everywhere are accepted behind the command's name as well as before it
    command
      .option('--json', 'JSON Lines on stdout and nothing else there')
      .option('--quiet', 'no progress and no remarks on stderr')
      .exitOverride();
    // the sheet has its own, with the job's choice behind it
    if (!command.options.some((o) => o.long === '--lang')) command.addOption(language());
    program.addCommand(command);
  }
  return program;
}

function wanted(named: string | undefined): Promise<Command[]> {
  const one = named !== undefined && Object.hasOwn(COMMANDS, named) ? COMMANDS[named] : undefined;
  return Promise.all((one ? [one] : Object.values(COMMANDS)).map((load) => load()));
}

function language(): Option {
  return new Option('--lang <language>', 'of what is printed for people; JSON is the same in all').choices(
    LANGUAGE_IDS,
  );
}
