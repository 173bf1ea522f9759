/** `handback report`: the one file to send when something is wrong; of the Handback that runs where one does. */
import { Command } from 'commander';
import { addressOf } from '../desk/address.ts';
import { reportOf } from '../desk/report.ts';
import { defaultLibrary } from '../run/library.ts';
import { ioOf, say } from './io.ts';
import { writeOut } from './write-out.ts';

export function reportCommand(): Command {
  return new Command('report')
    .description(
      'what to send when something is wrong, to be read first: versions, log, what the adapter said; no plate, VIN, name or place',
    )
    .option('--out <file>', 'the file; must not exist. Without it the text is printed')
    .option('--library <dir>', 'folder with the jobs', defaultLibrary())
    .action(async (options: { out?: string; library: string }, command: Command) => {
      const io = ioOf(command);
      const text = (await ofTheRunning(options.library)) ?? (await ofNone(options.library));
      if (options.out === undefined) {
        process.stdout.write(text);
        return;
      }
      await writeOut(options.out, text, 'wx');
      io.result({ out: options.out });
      io.print(say('cli.report', { path: options.out }));
    });
}

/** It alone knows its log and what its adapter said. */
async function ofTheRunning(library: string): Promise<string | null> {
  const url = await addressOf(library);
  if (url === null) return null;
  const token = new URL(url).searchParams.get('token') ?? '';
  const answer = await fetch(new URL('/api/house/report', url), {
    headers: { 'x-handback-token': token },
  }).catch(() => null);
  return answer?.ok ? answer.text() : null;
}

const ofNone = (library: string): Promise<string> =>
  reportOf({ library, at: new Date(), state: null, transcript: [], log: [] });
