/** `handback sheet`: the hand-over sheet of a job or of a single run, as HTML or PDF. */
import { stat } from 'node:fs/promises';
import { dirname, extname, resolve } from 'node:path';
import { Command, InvalidArgumentError, Option } from 'commander';
import { systemClock } from '../core/clock.ts';
import { saying } from '../core/error-says.ts';
import { HandbackError } from '../core/errors.ts';
import { LANGUAGE_IDS } from '../core/languages.ts';
import { VERSION } from '../core/version.ts';
import { gatherSheet } from '../desk/gather-sheet.ts';
import { OpenedRuns } from '../desk/opened-runs.ts';
import { Teaching } from '../desk/teaching.ts';
import { jobCalled } from '../job/search.ts';
import { defaultLibrary } from '../run/library.ts';
import { choicesOf, type SheetChoice, unitsIn } from '../sheet/choices.ts';
import { printPdf } from '../sheet/pdf.ts';
import { renderSheet } from '../sheet/render.ts';
import { HIDDEN, type Hidden, SHOWN, type Shown } from '../sheet/types.ts';
import { UNIT_NAMES } from '../words/measures.ts';
import { type TableOptions, tableOf, withTables } from './inputs.ts';
import { ioOf, say } from './io.ts';
import { numberIn } from './values.ts';
import { writeOut } from './write-out.ts';

interface Options extends SheetChoice, TableOptions {
  readonly part?: number;
  readonly out: string;
  readonly library: string;
}

export function sheetCommand(): Command {
  return withTables(new Command('sheet'))
    .description('the hand-over sheet of a job (or of one run): HTML that needs nothing else, or PDF')
    .argument('<job>', 'id, own reference, plate or folder of the job; or a run folder, capture or table')
    .requiredOption('--out <file>', 'FILE.html or FILE.pdf; replaced whole when it exists')
    .addOption(new Option('--lang <language>', "default: the job's choice, else en").choices(LANGUAGE_IDS))
    .option(
      '--units <units>',
      `comma-separated: ${UNIT_NAMES}; default: the job's choice, else metric`,
      unitsIn,
    )
    .option('--hide <what>', `leave out, comma-separated: ${HIDDEN.join(', ')}`, hidden)
    .option('--show <what>', `print as well, comma-separated: ${SHOWN.join(', ')} (the highest speed)`, shown)
    .option('--library <dir>', 'folder with the jobs', defaultLibrary())
    .option('--part <n>', 'of a table or capture whose time jumps: which drive in it', numberIn(1, 1000))
    .addOption(new Option('--paper <size>', 'paper of a PDF').choices(['A4', 'Letter']).default('A4'))
    .action(async (path: string, options: Options, command: Command) => {
      const io = ioOf(command);
      const kind = extname(options.out).toLowerCase();
      if (kind !== '.html' && kind !== '.htm' && kind !== '.pdf')
        throw new HandbackError('input.usage', saying('error.sheet-out', { out: options.out }));
      const pdf = kind === '.pdf';
      const folder = await folderOf(path, options.library);
      // As on the page, so that sheet and page say the same.
      const opened = OpenedRuns.beside();
      const teaching = new Teaching(dirname(resolve(folder)), opened);
      const input = await gatherSheet(folder, {
        tool: `handback ${VERSION}`,
        nowMs: systemClock.wallMs(),
        timeZone: Intl.DateTimeFormat().resolvedOptions().timeZone,
        taught: (run) => teaching.before(run),
        opened,
        during: io.during(say('cli.doing.sheet')),
        table: tableOf(options),
        ...(options.part === undefined ? {} : { part: options.part }),
      });
      io.progressDone();
      for (const trouble of input.troubles) io.say(trouble);
      const html = renderSheet(
        input,
        choicesOf(input, { ...options, ...command.optsWithGlobals<SheetChoice>() }, pdf),
      );
      const bytes = pdf ? await printPdf(html) : html;
      await writeOut(options.out, bytes);
      const changed = input.runs.filter((r) => !r.check.ok).map((r) => r.name);
      if (changed.length > 0) io.say(say('cli.sheet.changed', { runs: changed.join(', ') }));
      io.result({ out: options.out, runs: input.runs.length, notAsRecorded: changed });
      io.print(say('cli.sheet.made', { file: options.out }));
    });
}

/** A path that is there is taken as it is; anything else is what a job is called. */
async function folderOf(job: string, library: string): Promise<string> {
  const there = await stat(job).then(
    () => true,
    () => false,
  );
  if (there || /[\\/.]/.test(job)) return job;
  return (await jobCalled(library, job)).folder;
}

const hidden = (text: string): readonly Hidden[] => wordsOf(HIDDEN, text);
const shown = (text: string): readonly Shown[] => wordsOf(SHOWN, text);

function wordsOf<Word extends string>(known: readonly Word[], text: string): readonly Word[] {
  const words = text.split(',').map((w) => w.trim().toLowerCase());
  const wrong = words.find((w) => !(known as readonly string[]).includes(w));
  if (wrong !== undefined) throw new InvalidArgumentError(`"${wrong}" is none of ${known.join(', ')}.`);
  return words as Word[];
}
