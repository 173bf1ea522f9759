/** `handback jobs`: the jobs of the library, found again by any words; `pack` and `unpack` carry one elsewhere. */

import { stat } from 'node:fs/promises';
import { join } from 'node:path';
import { Command } from 'commander';
import { saying } from '../core/error-says.ts';
import { EXIT, HandbackError } from '../core/errors.ts';
import { packJob, unpackJob } from '../job/archive.ts';
import { JOB_FILE } from '../job/files.ts';
import { leaveIndex, listJobs } from '../job/library.ts';
import { jobCalled, searchJobs } from '../job/search.ts';
import { exists } from '../run/document.ts';
import { defaultLibrary } from '../run/library.ts';
import { readyToWrite } from '../run/library-format.ts';
import { spelled } from '../words/spelled.ts';
import { ioOf, say } from './io.ts';
import { untilStopped } from './stop.ts';

const library = (command: Command): Command =>
  command.option('--library <dir>', 'folder with the jobs', defaultLibrary());

export function jobsCommand(): Command {
  return library(new Command('jobs'))
    .description('the jobs of the library, last touched first')
    .argument('[words...]', 'only those in which all of these occur: vehicle, plate, VIN, date, complaint')
    .action(async (words: string[], options: { library: string }, command: Command) => {
      const io = ioOf(command);
      const list = await listJobs(options.library);
      const { jobs, loose, troubles } = list;
      for (const entry of searchJobs(jobs, words.join(' '))) {
        const { job } = entry;
        const runs = entry.runs.map((r) => ({ id: r.meta.id, purpose: r.meta.purpose }));
        const { id, vehicle, plate, reference, complaint, openedAt, closedAt } = job;
        io.result({
          id,
          folder: entry.folder,
          vehicle,
          plate,
          reference,
          complaint,
          openedAt,
          closedAt,
          runs,
        });
        io.print(`${id}  ${[vehicle, plate, reference].filter(Boolean).join(', ')}`);
        const driven = runs.map((r) => io.words.name('purpose', r.purpose)).join(', ');
        io.print(driven === '' ? say('cli.jobs.nothing') : `    ${driven}`);
      }
      if (loose.length > 0) io.say(say('cli.jobs.loose', { n: loose.length }));
      for (const sentence of troubles) io.say(sentence);
      if (troubles.length > 0) process.exitCode = EXIT.badInput;
      await leaveIndex(options.library, list);
    });
}

interface PackOptions {
  readonly out: string;
  readonly library: string;
  readonly hidePlate?: boolean;
  readonly hideVin?: boolean;
  readonly withPlaces?: boolean;
}

export function packCommand(): Command {
  return library(new Command('pack'))
    .description('a whole job as one .zip, to keep or to give away')
    .argument('<job>', 'id, own reference, plate or folder of the job')
    .requiredOption('--out <file>', 'the .zip; must not exist')
    .option('--hide-plate', 'leave the plate out of every text')
    .option('--hide-vin', 'leave the VIN out of every text and out of the captures')
    .option('--with-places', 'where it was driven goes along (a satellite receiver told it); else left out')
    .action(async (job: string, options: PackOptions, command: Command) => {
      const folder = await jobFolder(job, options.library);
      if (await exists(options.out))
        throw new HandbackError('input.usage', saying('error.exists', { path: options.out }), {
          hint: saying('error.exists-hint'),
        });
      const hide = {
        plate: options.hidePlate === true,
        vin: options.hideVin === true,
        withPlaces: options.withPlaces === true,
      };
      const io = ioOf(command);
      await untilStopped(io, say('cli.doing.pack'), async (during) => {
        await packJob(folder, options.out, hide, during);
        io.progressDone();
        const { size } = await stat(options.out);
        io.result({ out: options.out, bytes: size });
        io.print(
          `${options.out}: ${(size / 2 ** 20).toFixed(1)} MB. "handback unpack" verifies it and takes it in.`,
        );
      });
    });
}

export function unpackCommand(): Command {
  return library(new Command('unpack'))
    .description('takes a packed job into the library, verified; a damaged or hostile archive is refused')
    .argument('<file>', 'the .zip')
    .action(async (file: string, options: { library: string }, command: Command) => {
      const io = ioOf(command);
      await readyToWrite(options.library);
      await untilStopped(io, say('cli.doing.unpack'), async (during) => {
        const { id, remarks } = await unpackJob(file, options.library, during);
        io.progressDone();
        for (const remark of remarks) io.say(remark);
        io.result(spelled({ id, folder: join(options.library, id), remarks }));
        io.print(say('cli.jobs.taken-in', { id }));
      });
    });
}

async function jobFolder(job: string, root: string): Promise<string> {
  return (await exists(join(job, JOB_FILE))) ? job : (await jobCalled(root, job)).folder;
}
