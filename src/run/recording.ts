/** One way to open anything that was recorded: a run folder, a bare capture, or a table from elsewhere. */

import { open, stat } from 'node:fs/promises';
import { saying } from '../core/error-says.ts';
import { HandbackError, toldOf } from '../core/errors.ts';
import type { Profile } from '../core/profile.ts';
import { inTurn, type Says } from '../core/says.ts';
import { isReceiverSignal, type Sample } from '../core/signals.ts';
import { WireReader } from '../j1979/reader.ts';
import { FixReader } from '../nmea/fixes.ts';
import type { Places } from '../nmea/places.ts';
import { SampleTable } from '../signal/table.ts';
import type { CaptureRecord } from './capture/format.ts';
import { looksLikeCapture, pourCapture } from './capture/read.ts';
import { CaptureFacts } from './facts.ts';
import { Silences } from './gaps.ts';
import type { ImportOptions } from './import/builder.ts';
import { importText } from './import/csv.ts';
import { importParquet } from './import/parquet.ts';
import { captureOf, type RunMeta, readMeta } from './meta.ts';
import { TwoLinks } from './two-links.ts';
import type { During, Gap, Mark } from './types.ts';
import { isPackedDamage, unpacked } from './unpack.ts';

export interface Recording {
  readonly kind: 'run' | 'capture' | 'table';
  readonly path: string;
  /** In order of time. */
  readonly table: SampleTable;
  readonly marks: readonly Mark[];
  /** In order of time; a capture's own (link lost, computer asleep) and silences of more than 5 s. */
  readonly gaps: readonly Gap[];
  /** For people: what was odd about the file and what was done about it. */
  readonly warnings: readonly Says[];
  readonly meta: RunMeta | null;
  /** As it was when the run was recorded. */
  readonly profile: Profile | null;
}

/**
 * Opens a run folder, a capture, or a table (.csv, .csv.gz, .parquet; told by content, not by name).
 * @param options for tables: columns that recognition would miss.
 * @param places takes where it was driven; a recording does not hold it
 * @throws HandbackError input.file, input.format, input.version, input.usage; the signal's reason
 */
export async function openRecording(
  path: string,
  options: ImportOptions = {},
  during?: During,
  places?: Places,
): Promise<Recording> {
  try {
    if ((await stat(path)).isDirectory()) return await openRunFolder(path, during, places);
    const head = await firstBytes(path, 512);
    if (Buffer.from(head).toString('latin1', 0, 4) === 'PAR1')
      return ofTable(path, await importParquet(path, options));
    if (looksLikeCapture(await firstUnpacked(path))) return await openCapture(path, during, places);
    return ofTable(path, await importText(path, unpacked(path, during), options));
  } catch (e) {
    during?.signal.throwIfAborted();
    if (e instanceof HandbackError) throw e;
    const code = (e as NodeJS.ErrnoException).code;
    if (code === undefined) throw e;
    const text =
      code === 'ENOENT'
        ? saying('error.no-file', { path })
        : saying('error.not-read', { path, why: toldOf(e) });
    throw new HandbackError('input.file', text, { cause: e });
  }
}

/** What a recording holds besides its samples. */
export type RecordingFacts = Omit<Recording, 'table'>;

async function openRunFolder(folder: string, during?: During, places?: Places): Promise<Recording> {
  const table = new SampleTable();
  const reading = await readRun(folder, (sample) => table.push(sample), during, places);
  if (!table.isSorted()) table.sort();
  return { ...reading, table };
}

async function openCapture(path: string, during?: During, places?: Places): Promise<Recording> {
  const table = new SampleTable();
  const push = (sample: Sample): void => table.push(sample);
  const { sha256: _, ...reading } = await readOneCapture(path, push, during, places);
  if (!table.isSorted()) table.sort();
  return { ...reading, table };
}

/**
 * Reads a run folder without keeping its samples: each goes to `onSample` as it is decoded, in the order in which
 * they came live.
 * @param places takes where it was driven
 * @throws HandbackError input.file, input.format, input.version; the signal's reason
 */
export async function readRun(
  folder: string,
  onSample: (sample: Sample) => void,
  during?: During,
  places?: Places,
): Promise<RecordingFacts> {
  const warnings: Says[] = [];
  let meta: RunMeta | null = null;
  const path = await captureOf(folder);
  try {
    meta = await readMeta(folder);
  } catch (e) {
    // A capture without a readable run.json is still the drive; without a capture there is nothing to open.
    if (!(e instanceof HandbackError) || e.code === 'input.version') throw e;
    if (path === null) throw e;
    warnings.push(inTurn([e.told.message, saying('warn.read-without')]));
  }
  if (path === null) throw new HandbackError('input.file', saying('error.no-capture', { path: folder }));
  const { sha256, ...reading } = await readOneCapture(path, onSample, during, places);
  if (meta?.sha256 === null) warnings.push(saying('warn.not-closed'));
  else if (meta && sha256 !== meta.sha256) warnings.push(saying('warn.changed'));
  return {
    ...reading,
    kind: 'run',
    path: folder,
    warnings: [...warnings, ...reading.warnings],
    meta,
    profile: meta?.profile ?? null,
  };
}

async function readOneCapture(
  path: string,
  onSample: (sample: Sample) => void,
  during?: During,
  places?: Places,
): Promise<RecordingFacts & { readonly sha256: string }> {
  const reader = new WireReader();
  const fixes = new FixReader(places);
  const order = new TwoLinks();
  const facts = new CaptureFacts();
  const take = (sample: Sample): void => {
    if (facts.sample(sample)) onSample(sample);
  };
  const takeRecord = (record: CaptureRecord): void => {
    facts.record(record);
    switch (record.kind) {
      case 'sample':
        take(record);
        break;
      case 'nmea':
        for (const sample of order.receiver(fixes.read(record.line, record.tUs))) take(sample);
        break;
      case 'mark':
      case 'note':
      case 'receiver':
      case 'anchor':
      case 'digest':
        break;
      default:
        for (const sample of order.wire(record.kind)) take(sample);
        for (const sample of reader.read(record).samples)
          if (order.isEmpty) take(sample);
          else for (const next of order.vehicle(sample)) take(next);
    }
  };
  const sha256 = await pourCapture(
    path,
    {
      item: (item) => (item.is === 'record' ? takeRecord(item.record) : facts.damage(item)),
      wire(kind, tUs, bytes, n) {
        facts.wire(kind, tUs);
        if (kind === 'rx') reader.received(tUs, bytes, n);
      },
    },
    during,
  );
  for (const sample of order.finish()) take(sample);
  return { kind: 'capture', path, ...facts.finish(), meta: null, profile: null, sha256 };
}

function ofTable(path: string, imported: { table: SampleTable; warnings: readonly Says[] }): Recording {
  const silences = new Silences();
  for (const { tUs, signal } of imported.table) if (!isReceiverSignal(signal)) silences.feed(tUs);
  const gaps = silences.with([]);
  return { kind: 'table', path, ...imported, marks: [], gaps, meta: null, profile: null };
}

async function firstBytes(path: string, n: number): Promise<Uint8Array> {
  const file = await open(path, 'r');
  try {
    const { buffer, bytesRead } = await file.read(Buffer.alloc(n), 0, n, 0);
    return buffer.subarray(0, bytesRead);
  } finally {
    await file.close();
  }
}

/** The beginning of a file that may be packed; what cannot be unpacked is no capture. */
export async function firstUnpacked(path: string): Promise<Uint8Array> {
  try {
    for await (const chunk of unpacked(path)) return chunk.subarray(0, 512);
  } catch (e) {
    if ((e as NodeJS.ErrnoException).code && !isPackedDamage(e)) throw e;
  }
  return new Uint8Array(0);
}
