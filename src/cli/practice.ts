/** `handback practice`: the invented workshop's jobs, driven anew by the simulated vehicle. */
import { Command } from 'commander';
import { makePracticeJobs } from '../daemon-practice.ts';
import { defaultLibrary } from '../run/library.ts';
import { ioOf } from './io.ts';

export function practiceCommand(): Command {
  return new Command('practice')
    .description('adds practice jobs to the library: an invented workshop, driven by the simulated vehicle')
    .option('--library <dir>', 'folder with the jobs', defaultLibrary())
    .action(async (options: { library: string }, command: Command) => {
      const io = ioOf(command);
      await makePracticeJobs(options.library, (sentence) => {
        io.result({ making: sentence });
        io.print(sentence);
      });
    });
}
