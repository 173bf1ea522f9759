/** `handback check`: is what was recorded still as it was? Reports, changes nothing. */

import { Command } from 'commander';
import { saying } from '../core/error-says.ts';
import { EXIT } from '../core/errors.ts';
import { type CheckedItem, check } from '../run/check.ts';
import { spelled } from '../words/spelled.ts';
import type { Words } from '../words/words.ts';
import { ioOf, say } from './io.ts';

export function checkCommand(): Command {
  return new Command('check')
    .description('verifies a run, a capture or a library: grammar, torn tail, digests, hash')
    .argument('<path>', 'what to verify')
    .action(async (path: string, _options: unknown, command: Command) => {
      const io = ioOf(command);
      const report = await check(path, io.during(say('cli.doing.check')));
      io.progressDone();
      io.result(spelled(report));
      for (const item of report.items) for (const line of lines(item, io.words)) io.print(line);
      for (const trouble of report.troubles) io.print(saying('check.not-readable', { why: trouble }));
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
