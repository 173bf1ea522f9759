/** `handback completion`, `handback manual`: what shells and man(1) want, from the commands themselves. */
import { Argument, Command } from 'commander';
import { VERSION } from '../core/version.ts';
import { completionOf, SHELLS, type Shell } from './completions.ts';
import { manualOf } from './manual.ts';
import { shownOf } from './shown.ts';

/** @param program all of it */
export function completionCommand(program: () => Promise<Command>): Command {
  return new Command('completion')
    .description('prints the script by which a shell completes what is typed; to be read at its start')
    .addArgument(new Argument('<shell>', 'which').choices(SHELLS))
    .action(async (shell: Shell) => {
      process.stdout.write(completionOf(shell, shownOf(await program())));
    });
}

/** @param program all of it */
export function manualCommand(program: () => Promise<Command>): Command {
  return new Command('manual').description('prints the manual page, for man(1)').action(async () => {
    process.stdout.write(manualOf(shownOf(await program()), VERSION));
  });
}
