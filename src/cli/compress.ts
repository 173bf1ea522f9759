/** `handback compress`: ended captures kept as gzip, those of earlier versions too. */
import { constants, setPriority } from 'node:os';
import { Command } from 'commander';
import { saying } from '../core/error-says.ts';
import { EXIT, HandbackError } from '../core/errors.ts';
import { compressRun } from '../run/compress.ts';
import { defaultLibrary, listRuns } from '../run/library.ts';
import { readyToWrite } from '../run/library-format.ts';
import { partOf } from '../run/types.ts';
import { type Io, ioOf, say } from './io.ts';
import { stopRequested } from './stop.ts';

export function compressCommand(): Command {
  return new Command('compress')
    .description(
      'keeps captures of ended runs as gzip, verified; each is read as before, and `gzip -d` undoes it',
    )
    .argument('[paths...]', 'runs, jobs or folders of them (default: the library)')
    .option('--library <dir>', 'folder with the jobs', defaultLibrary())
    .action(async (paths: string[], options: { library: string }, command: Command) => {
      process.exitCode = await compress(paths, options.library, ioOf(command));
    });
}

async function compress(named: readonly string[], library: string, io: Io): Promise<number> {
  // A recording goes first, whichever program makes it.
  setPriority(constants.priority.PRIORITY_BELOW_NORMAL);
  const stop = new AbortController();
  void stopRequested().then(() => stop.abort());
  if (named.length === 0) await readyToWrite(library);
  const lists = await Promise.all((named.length > 0 ? named : [library]).map((path) => listRuns(path)));
  const runs = lists.flatMap((list) => list.runs);
  const troubles = lists.flatMap((list) => list.troubles);
  if (named.length > 0 && runs.length === 0 && troubles.length === 0)
    throw new HandbackError('input.file', saying('error.holds-no-run', { path: named[0]! }));
  const counts = { compressed: 0, already: 0, open: 0, changed: 0 };
  let [plainBytes, bytes] = [0, 0];
  let failed = troubles.length;
  const whole = {
    signal: stop.signal,
    progress: (share: number) => io.progress(say('cli.compress.doing'), share),
  };
  for (const [i, { folder }] of runs.entries()) {
    if (stop.signal.aborted) break;
    try {
      const done = await compressRun(folder, partOf(whole, i, runs.length));
      counts[done.is]++;
      if (done.is === 'compressed') {
        plainBytes += done.plainBytes;
        bytes += done.bytes;
      }
      if (done.is === 'changed')
        troubles.push(saying('warn.of', { path: folder, what: saying('warn.changed') }));
    } catch (thrown) {
      if (stop.signal.aborted) break;
      if (!(thrown instanceof HandbackError)) throw thrown;
      failed++;
      troubles.push(thrown.told.message);
    }
  }
  io.progressDone();
  for (const trouble of troubles) io.say(trouble);
  io.result({ ...counts, plainBytes, bytes });
  io.print(say('cli.compress.done', { ...counts, plainMb: plainBytes / 1e6, mb: bytes / 1e6 }));
  if (stop.signal.aborted) return EXIT.stoppedEarly;
  return failed + counts.changed > 0 ? EXIT.badInput : EXIT.ok;
}
