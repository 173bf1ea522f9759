/** `handback kinds`: kinds of engine in the library: stated, listed, merged, split, and taken back. */
import { Command } from 'commander';
import { systemClock } from '../core/clock.ts';
import { saying } from '../core/error-says.ts';
import { HandbackError } from '../core/errors.ts';
import type { Job } from '../job/job.ts';
import {
  descriptorOf,
  edited,
  type KindEdit,
  type Kinds,
  kindIn,
  splitInto,
  suggestKind,
} from '../job/kinds.ts';
import { changeKinds, readKinds } from '../job/kinds-file.ts';
import { listJobs, updateFields } from '../job/library.ts';
import { jobCalled } from '../job/search.ts';
import { defaultLibrary } from '../run/library.ts';
import { readyToWrite } from '../run/library-format.ts';
import { ioOf, say } from './io.ts';
import { numberIn } from './values.ts';

interface Options {
  readonly library: string;
}

const library = (command: Command): Command =>
  command.option('--library <dir>', 'folder with the jobs', defaultLibrary());

export function kindsCommand(): Command {
  const command = new Command('kinds').description(
    'kinds of engine: what one car did is expected of the next of its kind',
  );
  const inner = [listCommand(), stateCommand(), mergeCommand(), splitCommand(), ...backCommands()];
  for (const c of inner) command.addCommand(c.exitOverride());
  return command;
}

function listCommand(): Command {
  return library(new Command('list'))
    .description('the kinds, how many jobs each has, and what jobs without one could be')
    .action(async (options: Options, command: Command) => {
      const io = ioOf(command);
      const kinds = await readKinds(options.library);
      const jobs = (await listJobs(options.library)).jobs.map((e) => e.job);
      const by = new Map<string, Job[]>();
      for (const job of jobs) by.set(kindIn(kinds, job), [...(by.get(kindIn(kinds, job)) ?? []), job]);
      for (const [kind, own] of [...by].sort(([a], [b]) => (a < b ? -1 : 1))) {
        const descriptors = countsOf(own.map((j) => descriptorOf(j.vin) ?? '?'));
        io.result({ kind, jobs: own.map((j) => j.id), descriptors: Object.fromEntries(descriptors) });
        io.print(
          kind === ''
            ? say('cli.kinds.none', { jobs: own.length })
            : say('cli.kinds.kind', { kind, jobs: own.length }),
        );
        for (const [descriptor, n] of kind === '' ? [] : descriptors)
          io.print(say('cli.kinds.descriptor', { descriptor, jobs: n }));
        for (const job of kind === '' ? own : []) {
          const found = suggestKind(jobs, job);
          if (!found) continue;
          io.result({ job: job.id, suggested: found });
          io.print(say('cli.kinds.suggested', { job: job.id, engine: found.engine, jobs: found.jobs }));
        }
      }
    });
}

function stateCommand(): Command {
  return library(new Command('state'))
    .description('states the kind of the car of a job; induction and fuel are those of its profile')
    .argument('<job>', 'id, own reference, plate or VIN of the job')
    .requiredOption('--engine <designation>', 'as the workshop writes it')
    .option('--cc <cm3>', 'displacement, cm³', numberIn(50, 20_000))
    .action(async (name: string, options: Options & { engine: string; cc?: number }, command: Command) => {
      await readyToWrite(options.library);
      const { job } = await jobCalled(options.library, name);
      const fields = {
        engine: options.engine.slice(0, 200),
        ...(options.cc === undefined ? {} : { displacementCc: options.cc }),
      };
      await updateFields(options.library, job.id, fields, systemClock);
      const io = ioOf(command);
      const kind = kindIn(await readKinds(options.library), { ...job, ...fields });
      io.result({ job: job.id, kind });
      io.print(say('cli.kinds.stated', { job: job.id, kind }));
    });
}

function mergeCommand(): Command {
  return library(new Command('merge'))
    .description('two kinds are one')
    .argument('<kind>', 'as "kinds list" writes it')
    .argument('<into>', 'the kind that it counts as')
    .action(async (from: string, into: string, options: Options, command: Command) => {
      await edit(options.library, async (kinds) => {
        for (const kind of [from, into]) await refuseUnknown(options.library, kinds, kind);
        return { is: 'merge', from, into };
      });
      const io = ioOf(command);
      io.result({ from, into });
      io.print(say('cli.kinds.merge', { from, into }));
    });
}

function splitCommand(): Command {
  return library(new Command('split'))
    .description('of one kind, the vehicles whose VIN has this descriptor are another')
    .argument('<kind>', 'as "kinds list" writes it')
    .requiredOption('--descriptor <text>', 'as "kinds list" writes it')
    .requiredOption('--engine <designation>', 'what they are called from now on')
    .action(
      async (from: string, options: Options & { descriptor: string; engine: string }, command: Command) => {
        const { descriptor } = options;
        const into = splitInto(from, options.engine);
        await edit(options.library, async (kinds) => {
          await refuseUnknown(options.library, kinds, from);
          return { is: 'split', from, descriptor, into };
        });
        const io = ioOf(command);
        io.result({ from, descriptor, into });
        io.print(say('cli.kinds.split', { from, descriptor, into }));
      },
    );
}

const backCommands = (): Command[] =>
  (
    [
      ['undo', 'takes the last merging or splitting back'],
      ['redo', 'makes what was taken back last again'],
    ] as const
  ).map(([name, what]) =>
    library(new Command(name))
      .description(what)
      .action(async (options: Options, command: Command) => {
        await readyToWrite(options.library);
        const now = await changeKinds(options.library, (kinds) => edited(kinds, name));
        const io = ioOf(command);
        io.result({ done: now !== null, edits: now?.edits.length ?? 0 });
        io.print(say(now ? 'cli.kinds.undone' : 'cli.kinds.nothing'));
      }),
  );

async function edit(root: string, change: (kinds: Kinds) => Promise<KindEdit>): Promise<void> {
  await readyToWrite(root);
  await changeKinds(root, async (kinds) => edited(kinds, await change(kinds)));
}

/** @throws HandbackError input.usage */
async function refuseUnknown(root: string, kinds: Kinds, kind: string): Promise<void> {
  const { jobs } = await listJobs(root);
  if (kind !== '' && jobs.some(({ job }) => kindIn(kinds, job) === kind)) return;
  throw new HandbackError('input.usage', saying('error.no-kind', { kind }), {
    hint: saying('error.no-kind-hint'),
  });
}

function countsOf(list: readonly string[]): [string, number][] {
  const out = new Map<string, number>();
  for (const one of list) out.set(one, (out.get(one) ?? 0) + 1);
  return [...out].sort(([a], [b]) => (a < b ? -1 : 1));
}
