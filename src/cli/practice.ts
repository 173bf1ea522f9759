/** `handback practice`: the invented workshop's jobs, driven anew by the simulated vehicle. */

import { Command } from 'commander';
import { saying } from '../core/error-says.ts';
import { HandbackError } from '../core/errors.ts';
import type { Says } from '../core/says.ts';
import { makePracticeJobs, PRACTICE_JOBS } from '../desk/practice.ts';
import { defaultLibrary } from '../run/library.ts';
import { readyToWrite } from '../run/library-format.ts';
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
      await untilStopped(io, say('cli.doing.practice'), (during) =>
        makePracticeJobs(options.library, making, jobs, during),
      );
    });
}
