#!/usr/bin/env node
/** The `handback` command: one file a command, one place where errors become an exit status. */
import { Command, CommanderError, Option } from 'commander';
import { EXIT, HandbackError, reasonOf } from '../core/errors.ts';
import { VERSION } from '../core/version.ts';
import { harmless, LANGUAGE_NAMES, type LanguageName, wordsOf } from './io.ts';

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
  decode: async () => (await import('./decode.ts')).decodeCommand(),
  jobs: async () => (await import('./jobs.ts')).jobsCommand(),
  pack: async () => (await import('./jobs.ts')).packCommand(),
  unpack: async () => (await import('./jobs.ts')).unpackCommand(),
  kinds: async () => (await import('./kinds.ts')).kindsCommand(),
  pool: async () => (await import('./pool.ts')).poolCommand(),
  practice: async () => (await import('./practice.ts')).practiceCommand(),
  report: async () => (await import('./report.ts')).reportCommand(),
};

const program = new Command('handback')
  .description('Prove a big cooling or forced-induction repair on the road before the car goes home.')
  .version(VERSION)
  .option('--json', 'JSON Lines on stdout and nothing else there')
  .option('--quiet', 'no progress and no remarks on stderr')
  .addOption(language())
  .exitOverride()
  .configureOutput({ writeErr: (text) => process.stderr.write(harmless(text)) });

for (const command of await wanted()) {
  // the options of everywhere are accepted behind the command's name as well as before it
  command
    .option('--json', 'JSON Lines on stdout and nothing else there')
    .option('--quiet', 'no progress and no remarks on stderr')
    .exitOverride();
  // the sheet has its own, with the job's choice behind it
  if (!command.options.some((o) => o.long === '--lang')) command.addOption(language());
  program.addCommand(command);
}

// a reader that closes the pipe early (head, less) is no error of ours
process.stdout.on('error', (error: NodeJS.ErrnoException) => {
  process.exit(error.code === 'EPIPE' ? EXIT.ok : EXIT.internal);
});

try {
  await program.parseAsync();
} catch (thrown) {
  process.exitCode = explain(thrown);
}

/** The command that is named first; all of them where none is, or one that there is not. */
async function wanted(): Promise<Command[]> {
  const named = process.argv.slice(2).find((arg) => !arg.startsWith('-'));
  const one = named !== undefined && Object.hasOwn(COMMANDS, named) ? COMMANDS[named] : undefined;
  return Promise.all((one ? [one] : Object.values(COMMANDS)).map((load) => load()));
}

function language(): Option {
  return new Option('--lang <language>', 'of what is printed for people; JSON is the same in all').choices(
    LANGUAGE_NAMES,
  );
}

function explain(thrown: unknown): number {
  if (thrown instanceof CommanderError) return thrown.exitCode === 0 ? EXIT.ok : EXIT.badInput;
  if (thrown instanceof HandbackError) {
    const words = wordsOf(program.opts<{ lang?: LanguageName }>().lang);
    for (const told of [thrown.told.message, thrown.told.hint])
      if (told !== null) process.stderr.write(`${harmless(words.say(told))}\n`);
    return thrown.exitStatus;
  }
  process.stderr.write(`Internal error: ${harmless(reasonOf(thrown))}\n`);
  if (process.env.HANDBACK_DEBUG && thrown instanceof Error) process.stderr.write(`${thrown.stack}\n`);
  return EXIT.internal;
}
