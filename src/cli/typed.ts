/** Runs what was typed; one place where errors become an exit status. */
import { CommanderError } from 'commander';
import { EXIT, HandbackError, reasonOf } from '../core/errors.ts';
import type { LanguageId } from '../core/languages.ts';
import { harmless, wordsOf } from './io.ts';
import { handbackProgram } from './program.ts';

/** The command is the first that is no option; where there is none, or one that there is not, all are known. */
const program = await handbackProgram(process.argv.slice(2).find((arg) => !arg.startsWith('-')));

// a reader that closes the pipe early (head, less) is no error of ours
process.stdout.on('error', (error: NodeJS.ErrnoException) => {
  process.exit(error.code === 'EPIPE' ? EXIT.ok : EXIT.internal);
});

try {
  await program.parseAsync();
} catch (thrown) {
  process.exitCode = explain(thrown);
}

function explain(thrown: unknown): number {
  if (thrown instanceof CommanderError) return thrown.exitCode === 0 ? EXIT.ok : EXIT.badInput;
  if (process.env.HANDBACK_DEBUG && thrown instanceof Error)
    process.stderr.write(`${(thrown.cause instanceof Error ? thrown.cause : thrown).stack}\n`);
  if (thrown instanceof HandbackError) {
    const words = wordsOf(program.opts<{ lang?: LanguageId }>().lang);
    for (const told of [thrown.told.message, thrown.told.hint])
      if (told !== null) process.stderr.write(`${harmless(words.say(told))}\n`);
    return thrown.exitStatus;
  }
  process.stderr.write(`Internal error: ${harmless(reasonOf(thrown))}\n`);
  return EXIT.internal;
}
