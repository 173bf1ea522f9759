/** `handback export`: a recording as a table for other programs. */

import { basename, resolve } from 'node:path';
import { Command, Option } from 'commander';
import { saying } from '../core/error-says.ts';
import { VERSION } from '../core/version.ts';
import { OpenedRuns } from '../desk/opened-runs.ts';
import { EXPORT_KINDS, type ExportKind, exportTable } from '../run/export.ts';
import { type TableOptions, tableOf, withTables } from './inputs.ts';
import { ioOf, say } from './io.ts';
import { untilStopped } from './stop.ts';

interface Options extends TableOptions {
  readonly to: ExportKind;
  readonly out: string;
  readonly hide?: 'vin';
}

export function exportCommand(): Command {
  return withTables(new Command('export'))
    .description('a run, capture or table as a table for other programs')
    .argument('<path>', 'what to export')
    .addOption(
      new Option(
        '--to <kind>',
        'csv: t_s, signal, value; wide: text with a column for each signal; parquet: as csv, with units and provenance',
      )
        .choices([...EXPORT_KINDS])
        .makeOptionMandatory(),
    )
    .requiredOption('--out <file>', 'file to write; replaced whole when it exists')
    .addOption(new Option('--hide <what>', 'leave VIN and vehicle out of the provenance').choices(['vin']))
    .action(async (path: string, options: Options, command: Command) => {
      const io = ioOf(command);
      await untilStopped(io, say('cli.doing.read'), async (during) => {
        const recording = await OpenedRuns.beside().recorded.at(path, tableOf(options), during);
        io.progressDone();
        for (const warning of recording.warnings) io.say(saying('warn.of', { path, what: warning }));
        const { table, meta } = recording;
        const provenance = {
          meta,
          from: basename(resolve(path)),
          tool: `handback ${VERSION}`,
          hideVin: options.hide === 'vin',
        };
        await exportTable(table, options.to, options.out, provenance, during.signal);
        io.result({ out: options.out, samples: table.length, signals: table.names });
        io.print(`${table.length} samples of ${table.names.length} signals in ${options.out}`);
      });
    });
}
