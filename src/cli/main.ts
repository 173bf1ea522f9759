#!/usr/bin/env node
/** The `handback` command: one file a command, one place where errors become an exit status. */
import { Command, CommanderError, Option } from 'commander';
import { EXIT, HandbackError, reasonOf } from '../core/errors.ts';
import { VERSION } from '../core/version.ts';
import { checkCommand } from './check.ts';
import { clearCodesCommand } from './clear-codes.ts';
import { codesCommand } from './codes.ts';
import { compareCommand } from './compare.ts';
import { decodeCommand } from './decode.ts';
import { exportCommand } from './export.ts';
import { harmless, LANGUAGE_NAMES, type LanguageName, wordsOf } from './io.ts';
import { jobsCommand, packCommand, unpackCommand } from './jobs.ts';
import { judgeCommand } from './judge.ts';
import { kindsCommand } from './kinds.ts';
import { poolCommand } from './pool.ts';
import { portsCommand } from './ports.ts';
import { practiceCommand } from './practice.ts';
import { recordCommand } from './record.ts';
import { serveCommand } from './serve.ts';
import { sheetCommand } from './sheet.ts';
import { simCommand } from './sim.ts';
import { startCommand } from './start.ts';

const program = new Command('handback')
  .description('Prove a big cooling or forced-induction repair on the road before the car goes home.')
  .version(VERSION)
  .option('--json', 'JSON Lines on stdout and nothing else there')
  .option('--quiet', 'no progress and no remarks on stderr')
  .addOption(language())
  .exitOverride()
  .configureOutput({ writeErr: (text) => process.stderr.write(harmless(text)) });

for (const command of [
  startCommand(),
  serveCommand(),
  portsCommand(),
  simCommand(),
  recordCommand(),
  codesCommand(),
  clearCodesCommand(),
  judgeCommand(),
  compareCommand(),
  exportCommand(),
  sheetCommand(),
  checkCommand(),
  decodeCommand(),
  jobsCommand(),
  packCommand(),
  unpackCommand(),
  kindsCommand(),
  poolCommand(),
  practiceCommand(),
]) {
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
