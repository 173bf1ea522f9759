/**
 * What is sent to somebody who is to find out what is wrong: one text file that the user reads first. No plate, no VIN,
 * no names, no place, no folder; of the jobs not more than how many there are.
 */
import { arch, homedir, platform, release, totalmem } from 'node:os';
import { resolve } from 'node:path';
import { HandbackError } from '../core/errors.ts';
import { VERSION } from '../core/version.ts';
import { listJobs } from '../job/library.ts';
import { secretPattern } from '../job/mask.ts';
import { LIBRARY_FORMAT, libraryStamp } from '../run/library-format.ts';
import type { DaemonState } from './api.ts';

export interface ReportParts {
  readonly library: string;
  readonly at: Date;
  /** Null where no daemon runs. */
  readonly state: DaemonState | null;
  /** As `Transcript.lines`. */
  readonly transcript: readonly string[];
  /** What the program wrote into its log, oldest first. */
  readonly log: readonly string[];
}

const LEFT_OUT = '(left out)';
/** A folder of a job or a run, which may be named after its car. */
const ID = /\b(\d{4}-\d{2}-\d{2})-[a-z0-9-]*[a-z][a-z0-9-]*/g;
/** ISO 3779, as it stands, and as the characters of an answer. */
const VIN = /\b[A-HJ-NPR-Z0-9]{17}\b/g;

/** JSON, indented, to be read by people. Never fails for what the library holds. */
export async function reportOf({ library, at, state, transcript, log }: ReportParts): Promise<string> {
  const { jobs, loose, troubles } = await listJobs(library);
  const stamp = await libraryStamp(library).catch((e: unknown) =>
    e instanceof HandbackError ? e.code : '?',
  );
  const secrets = jobs.flatMap(({ job }) => [
    job.vin,
    job.plate,
    job.reference,
    job.technician,
    job.workshop,
    job.workshopPhone,
  ]);
  if (state?.connection.vehicle?.vin) secrets.push(state.connection.vehicle.vin);
  const clean = cleaner(secrets, [resolve(library), homedir()]);
  const report = {
    format: 'handback.report/1',
    at: at.toISOString(),
    program: { version: VERSION, node: process.version, uptimeS: Math.round(process.uptime()) },
    computer: {
      platform: platform(),
      arch: arch(),
      release: release(),
      memoryMb: Math.round(totalmem() / 2 ** 20),
    },
    library: {
      format: typeof stamp === 'string' ? stamp : stamp.format,
      writes: LIBRARY_FORMAT,
      readOnly: state?.readOnly ?? null,
      jobs: jobs.length,
      runs: jobs.reduce((n, j) => n + j.runs.length, loose.length),
      leftOpen: [...jobs.flatMap((j) => j.runs), ...loose].filter((r) => r.leftOpen).length,
      notReadable: troubles.length,
    },
    connection: state && connectionOf(state),
    transcript,
    log,
  };
  return `${JSON.stringify(report, (_key, value: unknown) => (typeof value === 'string' ? clean(value) : value), 2)}\n`;
}

/** Without who the car is, and without the languages that each sentence is also told in. */
function connectionOf({ connection, receiver, run }: DaemonState) {
  const { vehicle, search, link, ...rest } = JSON.parse(
    JSON.stringify(connection, (key, value: unknown) => (key === 'says' ? undefined : value)),
  ) as DaemonState['connection'];
  return {
    ...rest,
    link: link?.startsWith('tcp:') ? 'tcp' : link,
    vinTold: (vehicle?.vin ?? null) !== null,
    controlUnits: vehicle?.controlUnits ?? [],
    // What was heard stands in the transcript, where answers that tell the VIN are left out.
    search: search && { ...search, tries: search.tries.map(({ what, result }) => ({ what, result })) },
    receiver: receiver ? receiver.phase : null,
    recording: run !== null,
  };
}

function cleaner(secrets: readonly string[], folders: readonly string[]): (text: string) => string {
  const needles = [...new Set(secrets)]
    .sort((a, b) => b.length - a.length)
    .flatMap((s) => secretPattern(s) ?? []);
  return (text) => {
    let out = text;
    for (const folder of folders) if (folder.length > 1) out = out.replaceAll(folder, LEFT_OUT);
    for (const needle of needles) out = out.replace(needle, LEFT_OUT);
    return out.replace(ID, `$1-${LEFT_OUT}`).replace(VIN, LEFT_OUT);
  };
}

/** The newest lines of a log, to be had when they are asked for. */
export class LogTail {
  readonly #lines: string[] = [];

  /** One line or several. */
  write(text: string): void {
    for (const line of text.split('\n')) if (line !== '') this.#lines.push(line.slice(0, 4000));
    this.#lines.splice(0, this.#lines.length - MAX_LOG);
  }

  lines(): readonly string[] {
    return this.#lines;
  }
}
const MAX_LOG = 200;
