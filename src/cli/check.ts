/** `handback check`: is what was recorded still as it was? Reports, changes nothing. */

import { Command } from 'commander';
import { saying } from '../core/error-says.ts';
import { EXIT } from '../core/errors.ts';
import { checkCaches } from '../desk/check-caches.ts';
import { type CheckedItem, check } from '../run/check.ts';
import type { CheckedCache } from '../run/read-documents.ts';
import { spelled } from '../words/spelled.ts';
import type { Words } from '../words/words.ts';
import { type TableOptions, tableOf, withTables } from './inputs.ts';
import { ioOf, say } from './io.ts';

/** Nothing to be told of one by one, unless asked for. */
const QUIET: ReadonlySet<CheckedCache['state']> = new Set(['agrees', 'sealed', 'absent']);

interface Options extends TableOptions {
  readonly kept?: boolean;
}

export function checkCommand(): Command {
  return withTables(new Command('check'))
    .description(
      'verifies a run, a capture, a table or a library: grammar, torn tail, digests, hash, what was kept of it',
    )
    .argument('<path>', 'what to verify')
    .option('--kept', 'also judges each run anew and compares with what was kept of it')
    .action(async (path: string, options: Options, command: Command) => {
      const { kept = false } = options;
      const io = ioOf(command);
      const checked = await check(path, io.during(say('cli.doing.check')), tableOf(options));
      const caches = await checkCaches(checked, kept, io.during(say('cli.doing.check-kept')));
      io.progressDone();
      const report = { ...checked, ok: checked.ok && caches.every((c) => c.state !== 'disagrees'), caches };
      io.result(spelled(report));
      for (const item of report.items) for (const line of lines(item, io.words)) io.print(line);
      for (const trouble of report.troubles) io.print(saying('check.not-readable', { why: trouble }));
      for (const { path, state, says } of caches)
        if (kept || !QUIET.has(state)) io.print(saying('warn.of', { path, what: says }));
      const count = (state: CheckedCache['state']) => caches.filter((c) => c.state === state).length;
      const [agree, sealed] = [count('agrees'), count('sealed')];
      if (caches.length > 0) io.print(say('cli.check.kept', { agree, sealed, n: caches.length }));
      io.print(saying(report.ok ? 'check.all-well' : 'check.not-well'));
      process.exitCode = report.ok ? EXIT.ok : EXIT.badInput;
    });
}

function lines(item: CheckedItem, words: Words): string[] {
  const open = item.closed === false ? ', not closed' : '';
  return [
    `${item.ok ? 'in order' : 'DAMAGED '}  ${item.path}: ${item.records} records, ${item.digests} digests${open}`,
    ...item.remarks.map((remark) => `    ${words.say(remark)}`),
  ];
}
