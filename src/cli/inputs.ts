/** What several commands read from their arguments: profiles, recordings, baselines, header maps, whole numbers. */

import { readdir, stat } from 'node:fs/promises';
import { availableParallelism } from 'node:os';
import { dirname, join, resolve } from 'node:path';
import type { Command } from 'commander';
import { type BoostLesson, mergeLessons } from '../analysis/boost/lesson.ts';
import { type CoolantLesson, mergeCoolant } from '../analysis/coolant/baseline.ts';
import {
  type Baseline,
  judgeTable,
  type Kind,
  learnBaseline,
  learnFromKind,
  lessonOf,
} from '../analysis/judge.ts';
import { saying } from '../core/error-says.ts';
import { HandbackError } from '../core/errors.ts';
import type { Profile } from '../core/profile.ts';
import { OpenedRuns } from '../desk/opened-runs.ts';
import { isPlainFile } from '../run/document.ts';
import type { ImportOptions } from '../run/import/builder.ts';
import type { Stated } from '../run/import/stated.ts';
import { defaultLibrary, isRecordingIn } from '../run/library.ts';
import { LIBRARY_FILE } from '../run/library-format.ts';
import { captureOf } from '../run/meta.ts';
import { partOf } from '../run/types.ts';
import { type Io, say } from './io.ts';
import { recordingsIn } from './judged-apart.ts';
import { collect, numberIn } from './values.ts';

/** What the options say of tables: of columns where the table is named, of units and times for every table of the call, baselines too. */
export interface TableOptions {
  readonly map: readonly string[];
  readonly time?: string;
  readonly unit: readonly string[];
  readonly timeUnit?: string;
  readonly baro?: number;
}

/** Adds what the refusal of a table asks for to a command that reads one: --map, --time, --unit, --time-unit, --baro. */
export function withTables(command: Command): Command {
  return command
    .option('--map <header=signal>', 'table column to signal; may be repeated', collect, [])
    .option('--time <header>', 'the table column with the time')
    .option('--unit <signal=unit>', 'unit of a table column, e.g. ect_c=degF; may be repeated', collect, [])
    .option('--time-unit <unit>', 'unit of the times in a table: s, ms, us, min, h, m.ss')
    .option('--baro <kpa>', 'barometric pressure for gauge pressures in a table', numberIn(50, 110, false));
}

/** @throws HandbackError input.usage */
export function tableOf(options: TableOptions): ImportOptions {
  return {
    ...unitsOf(options),
    map: pairs(options.map, '--map', 'Header text=signal'),
    ...(options.time === undefined ? {} : { time: options.time }),
  };
}

/** The same without names of columns, for tables beside the one that is asked about. @throws HandbackError input.usage */
export function unitsOf(options: TableOptions): Stated {
  return {
    units: pairs(options.unit, '--unit', 'signal=unit'),
    ...(options.timeUnit === undefined ? {} : { timeUnit: options.timeUnit }),
    ...(options.baro === undefined ? {} : { baroKpa: options.baro }),
  };
}

/** Healthy drives of the same vehicle, learned from; null when none are given. */
export async function readBaselines(
  paths: readonly string[],
  profile: Profile,
  stated: Stated,
  io: Teaching,
): Promise<Baseline | null> {
  if (paths.length === 0) return null;
  const tables = [];
  const opened = OpenedRuns.beside();
  const learning = io.during(say('cli.doing.learn'));
  for (const [i, path] of paths.entries()) {
    const recording = await opened.recorded.inParts(path, stated, partOf(learning, i, paths.length));
    for (const warning of recording.warnings) io.say(saying('warn.of', { path, what: warning }));
    tables.push(...recording.parts.map((part) => part.table));
  }
  const baseline = learnBaseline(tables, profile);
  io.progressDone();
  return baseline;
}

/**
 * Other cars of the same kind, learned from; null when none are given, or none taught anything. A drive that shows a
 * fault by itself teaches nothing of that system.
 * @param paths one a car: a drive of it, or a folder with its drives
 */
export async function readKind(
  paths: readonly string[],
  profile: Profile,
  stated: Stated,
  io: Teaching,
): Promise<Kind | null> {
  const cars: Baseline[] = [];
  const learning = io.during(say('cli.doing.kind'));
  const opened = OpenedRuns.beside();
  for (const [i, path] of paths.entries()) {
    const boost: BoostLesson[] = [];
    const coolant: CoolantLesson[] = [];
    const drives = await drivesOf(path);
    for (const [k, drive] of drives.entries()) {
      const car = partOf(learning, i, paths.length);
      const recording = await opened.recorded.inParts(drive, stated, partOf(car, k, drives.length));
      for (const warning of recording.warnings) io.say(saying('warn.of', { path: drive, what: warning }));
      for (const { table } of recording.parts) {
        const { systems } = judgeTable(table, profile, null, drive);
        const lesson = lessonOf(table, profile);
        const teaches = (system: 'boost' | 'coolant'): boolean => {
          if (systems[system].verdict !== 'fault shown') return true;
          io.say(saying('warn.of', { path: drive, what: saying('warn.teaches-nothing', { system }) }));
          return false;
        };
        if (teaches('boost')) boost.push(lesson.boost);
        if (teaches('coolant')) coolant.push(lesson.coolant);
      }
    }
    cars.push({ boost: mergeLessons(boost), coolant: mergeCoolant(coolant) });
  }
  io.progressDone();
  return learnFromKind(cars);
}

/** What learning tells. */
type Teaching = Pick<Io, 'say' | 'progress' | 'progressDone' | 'during'>;

/** A thread costs a second of a processor before it is as quick as this one. Chosen by hand on captures of 0.6 to 60 MB. */
const WORTH_THREADS_BYTES = 32e6;
/** Captures and tables become so many times smaller; measured with gzip on captures. */
const PACKED = 6;

/**
 * Threads for judging or comparing these: as many as there are processors; one where there is little to read, and while a
 * drive is recorded into the usual library or into that of one of these, so that the recorder goes first.
 * @param isAnswered of what need not be read
 */
export async function threadsFor(
  paths: readonly string[],
  isAnswered: (path: string) => Promise<boolean>,
): Promise<number> {
  const most = Math.min(paths.length, availableParallelism());
  if (most < 2) return 1;
  let bytes = 0;
  for (const path of paths) if (!(await isAnswered(path))) bytes += await plainBytes(path);
  if (bytes < WORTH_THREADS_BYTES) return 1;
  const above = paths.map((path) => dirname(resolve(path)));
  // a run lies in a library or in a job of one
  for (const folder of new Set([defaultLibrary(), ...above, ...above.map(dirname)]))
    if ((await isLibrary(folder)) && (await isRecordingIn(folder))) return 1;
  return most;
}

/** None where that cannot be told: what lies there is said by who reads it. */
const isLibrary = (folder: string): Promise<boolean> =>
  isPlainFile(join(folder, LIBRARY_FILE)).catch(() => false);

/** About; what cannot be read is said by who reads it. */
async function plainBytes(path: string): Promise<number> {
  const file = (await captureOf(path).catch(() => null)) ?? path;
  const size = await stat(file).then(
    (s) => s.size,
    () => 0,
  );
  return /\.(gz|parquet)$/.test(file) ? PACKED * size : size;
}

/** The drives of one car: one recording, or all runs, else all tables, of a folder. */
export async function drivesOf(path: string): Promise<string[]> {
  const runs = await recordingsIn([path]);
  if (runs.length > 0) return runs;
  const names = (await readdir(path)).filter((name) => /\.(csv|csv\.gz|parquet)$/.test(name)).sort();
  return names.map((name) => join(path, name));
}

function pairs(given: readonly string[], option: string, form: string): Record<string, string> {
  return Object.fromEntries(
    given.map((pair) => {
      const cut = pair.lastIndexOf('=');
      if (cut < 1 || cut === pair.length - 1)
        throw new HandbackError('input.usage', saying('error.pair', { option, pair, form }));
      return [pair.slice(0, cut).trim(), pair.slice(cut + 1).trim()];
    }),
  );
}
