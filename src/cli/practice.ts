/** `handback practice`: the invented workshop's jobs, driven anew by the simulated vehicle. */

import { Command } from 'commander';
import { saying } from '../core/error-says.ts';
import { HandbackError } from '../core/errors.ts';
import type { Says } from '../core/says.ts';
import { makePracticeJobs, PRACTICE_JOBS } from '../desk/practice.ts';
import { defaultLibrary } from '../run/library.ts';
import { readyToWrite } from '../run/library-format.ts';
import { seldom } from '../run/threads.ts';
import { spelled } from '../words/spelled.ts';
import { ioOf, say } from './io.ts';
import { untilStopped } from './stop.ts';

const REFERENCES = PRACTICE_JOBS.map((job) => job.fields.reference ?? '');

export function practiceCommand(): Command {
  return new Command('practice')
    .description('adds practice jobs to the library: an invented workshop, driven by the simulated vehicle')
    .argument('[references...]', `only these: ${REFERENCES.join(', ')}`)
    .option('--library <dir>', 'folder with the jobs', defaultLibrary())
    .action(async (references: string[], options: { library: string }, command: Command) => {
      const io = ioOf(command);
      const unknown = references.find((r) => !REFERENCES.includes(r));
      if (unknown !== undefined)
        throw new HandbackError(
          'input.usage',
          saying('error.none-of', { word: unknown, known: REFERENCES.join(', ') }),
        );
      const jobs = PRACTICE_JOBS.filter(
        ({ fields }) => references.length === 0 || references.includes(fields.reference ?? ''),
      );
      const making = (sentence: Says) => {
        io.progressDone();
        io.result(spelled({ making: sentence }));
        io.print(sentence);
      };
      await readyToWrite(options.library);
      heedDaemon();
      const told = seldom((share) => process.send?.(share));
      await untilStopped(io, say('cli.doing.practice'), ({ signal, progress }) =>
        makePracticeJobs(options.library, making, jobs, {
          signal,
          progress(share) {
            progress(share);
            told(share);
          },
        }),
      );
    });
}

/** Begun by a daemon, which hears how far it is: when that turns away, or is gone, it stops as by Ctrl-C. */
function heedDaemon(): void {
  process.once('disconnect', () => process.emit('SIGTERM'));
  process.channel?.unref();
}
