/** `handback export`: a recording as a long table for other programs. */
import { Command, Option } from 'commander';
import { exportTable } from '../run/export.ts';
import { openRecording } from '../run/recording.ts';
import { ioOf } from './io.ts';

export function exportCommand(): Command {
  return new Command('export')
    .description('a run, capture or table as one long table: t_s, signal, value')
    .argument('<path>', 'what to export')
    .addOption(new Option('--to <kind>', 'kind of file').choices(['csv', 'parquet']).makeOptionMandatory())
    .requiredOption('--out <file>', 'file to write; replaced whole when it exists')
    .action(async (path: string, options: { to: 'csv' | 'parquet'; out: string }, command: Command) => {
      const io = ioOf(command);
      const recording = await openRecording(path);
      for (const warning of recording.warnings) io.say(`${path}: ${warning}`);
      await exportTable(recording.table, options.to, options.out);
      io.result({ out: options.out, samples: recording.table.length, signals: recording.table.names });
      io.print(
        `${recording.table.length} samples of ${recording.table.names.length} signals in ${options.out}`,
      );
    });
}
