/** Verifies what was recorded: grammar, torn tail, digests, hash. Changes nothing. */

import { lstat, stat } from 'node:fs/promises';
import { join } from 'node:path';
import { say } from '../core/check-says.ts';
import { saying } from '../core/error-says.ts';
import { HandbackError, toldOf, withHint } from '../core/errors.ts';
import type { Says } from '../core/says.ts';
import type { CaptureItem } from './capture/parser.ts';
import { looksLikeCapture, pourCapture } from './capture/read.ts';
import type { ImportOptions } from './import/builder.ts';
import { listRuns } from './library.ts';
import { isLocked } from './lock.ts';
import { CAPTURE_FILE, COMPRESSED_FILE, captureOf, META_FILE, readMeta, sealOfMeta } from './meta.ts';
import { firstUnpacked, openRecording } from './recording.ts';
import { type During, partOf } from './types.ts';

export interface CheckedItem {
  readonly path: string;
  readonly kind: 'run' | 'capture' | 'table';
  /** Nothing is wrong. A run that was left open without damage is not wrong, but `closed` is false. */
  readonly ok: boolean;
  readonly closed: boolean | null;
  /** Whole-file hash against run.json; null where there is none to compare with. */
  readonly hash: 'matches' | 'differs' | null;
  /** SHA-256 of the capture's plain bytes; null where it could not be read, and of a table. */
  readonly sha256: string | null;
  /** The seal of run.json; null where there is none. */
  readonly seal: 'matches' | 'differs' | null;
  readonly records: number;
  /** Lines of a capture. */
  readonly lines: number;
  /** Digest lines that match, and blocks that do not (line numbers from–to). */
  readonly digests: number;
  readonly changed: readonly { readonly fromLine: number; readonly toLine: number }[];
  /** Lines that cannot be read, the first 100; `damagedLines` counts all. */
  readonly damaged: readonly { readonly line: number; readonly why: string }[];
  readonly damagedLines: number;
  readonly tornTail: boolean;
  /** For people: everything wrong, and everything odd. */
  readonly remarks: readonly Says[];
}

export interface CheckReport {
  readonly path: string;
  readonly ok: boolean;
  readonly items: readonly CheckedItem[];
  /** Run folders that could not be opened at all. */
  readonly troubles: readonly Says[];
}

const MAX_LISTED_LINES = 100;

/**
 * Checks a run folder, a capture, a table, or a library of runs.
 * @param table how a table is to be read
 * @throws HandbackError input.file when there is nothing of the kind at `path`; the signal's reason
 */
export async function check(path: string, during?: During, table?: ImportOptions): Promise<CheckReport> {
  const info = await stat(path).catch(() => null);
  if (!info) throw new HandbackError('input.file', saying('error.no-file', { path }));
  if (!info.isDirectory()) return report(path, [await checkFile(path, during, table)], []);
  const has = (file: string) =>
    lstat(join(path, file)).then(
      () => true,
      () => false,
    );
  for (const file of [META_FILE, CAPTURE_FILE, COMPRESSED_FILE])
    if (await has(file)) return report(path, [await checkRun(path, during)], []);
  const { runs, troubles } = await listRuns(path);
  if (runs.length === 0 && troubles.length === 0)
    throw new HandbackError('input.file', saying('error.holds-no-run', { path }), {
      hint: saying('error.holds-no-run-hint'),
    });
  const items: CheckedItem[] = [];
  for (const [i, run] of runs.entries())
    items.push(await checkRun(run.folder, during && partOf(during, i, runs.length)));
  return report(path, items, troubles);
}

function report(path: string, items: CheckedItem[], troubles: Says[]): CheckReport {
  return { path, ok: troubles.length === 0 && items.every((i) => i.ok), items, troubles };
}

async function checkRun(folder: string, during?: During): Promise<CheckedItem> {
  const remarks: Says[] = [];
  let sha256: string | null = null;
  let closed: boolean | null = null;
  let seal: CheckedItem['seal'] = null;
  let metaOk = true;
  try {
    const meta = await readMeta(folder);
    seal = await sealOfMeta(folder);
    if (seal === 'differs') remarks.push(say('check.meta-changed', { file: META_FILE }));
    if (seal === null) remarks.push(say('check.no-seal', { file: META_FILE }));
    sha256 = meta.sha256;
    closed = sha256 !== null;
    if (meta.recovered) remarks.push(say('check.recovered'));
  } catch (e) {
    metaOk = false;
    remarks.push(toldOf(e));
  }
  if (closed === false) remarks.push((await isLocked(folder)) ? say('check.recording') : say('check.open'));
  const item = await checkOwnCapture(folder, closed === true, during);
  let hash: CheckedItem['hash'] = null;
  if (sha256 !== null) {
    hash = item.sha256 === sha256 ? 'matches' : 'differs';
    if (hash === 'differs') remarks.push(say('check.hash'));
    if (hash === 'differs' && item.ok && seal !== 'differs')
      remarks.push(say('check.end-missing', { line: item.lines }));
  }
  return {
    ...item,
    path: folder,
    kind: 'run',
    ok: item.ok && metaOk && hash !== 'differs' && seal !== 'differs',
    closed,
    hash,
    seal,
    remarks: [...remarks, ...item.remarks],
  };
}

async function checkOwnCapture(folder: string, closed: boolean, during?: During): Promise<CheckedItem> {
  try {
    const path = await captureOf(folder);
    if (path === null) return unreadable(folder, 'capture', saying('error.no-file', { path: CAPTURE_FILE }));
    return await checkCapture(path, closed, during);
  } catch (e) {
    during?.signal.throwIfAborted();
    return unreadable(folder, 'capture', toldOf(e));
  }
}

async function checkFile(path: string, during?: During, options?: ImportOptions): Promise<CheckedItem> {
  try {
    if (looksLikeCapture(await firstUnpacked(path))) return await checkCapture(path, false, during);
    const { table, warnings } = await openRecording(path, options, during);
    return { ...empty(path, 'table'), ok: warnings.length === 0, records: table.length, remarks: warnings };
  } catch (e) {
    return unreadable(path, 'table', withHint(e));
  }
}

/** @param closed its end must be a digest: what stands behind the last one was added or lost its digest */
async function checkCapture(path: string, closed = false, during?: During): Promise<CheckedItem> {
  const changed: { fromLine: number; toLine: number }[] = [];
  const damaged: { line: number; why: string }[] = [];
  const remarks: Says[] = [];
  let records = 0;
  let digests = 0;
  let mismatches = 0;
  let damagedLines = 0;
  let tornTail = false;
  let packing = false;
  let lines = 1;
  let sealedTo = 0;
  const take = (item: CaptureItem): void => {
    if (item.is !== 'torn') lines = Math.max(lines, item.line);
    if (item.is === 'record') {
      if (item.record.kind === 'digest') {
        digests++;
        sealedTo = item.line;
      } else records++;
    } else if (item.is === 'mismatch') {
      mismatches++;
      if (changed.length < MAX_LISTED_LINES) changed.push({ fromLine: item.fromLine, toLine: item.line });
    } else if (item.is === 'damage') {
      damagedLines++;
      if (damaged.length < MAX_LISTED_LINES) damaged.push({ line: item.line, why: item.why });
    } else if (item.is === 'packed') {
      packing = true;
      remarks.push(say('check.packed', { line: item.line, why: item.why }));
    } else tornTail = true;
  };
  const sha256 = await pourCapture(path, { item: take }, during);
  if (closed && sealedTo < lines) {
    mismatches++;
    changed.push({ fromLine: sealedTo + 1, toLine: lines });
  }
  for (const d of damaged) remarks.push(say('check.unreadable', d));
  for (const c of changed) remarks.push(say('check.between', c));
  if (tornTail) remarks.push(say('check.torn'));
  if (records === 0) remarks.push(say('check.empty'));
  return {
    ...empty(path, 'capture'),
    ok: mismatches === 0 && damagedLines === 0 && !tornTail && !packing && records > 0,
    sha256,
    records,
    lines,
    digests: Math.max(0, digests - mismatches),
    changed,
    damaged,
    damagedLines,
    tornTail,
    remarks,
  };
}

const empty = (path: string, kind: CheckedItem['kind']): CheckedItem => ({
  path,
  kind,
  ok: true,
  closed: null,
  hash: null,
  sha256: null,
  seal: null,
  records: 0,
  lines: 0,
  digests: 0,
  changed: [],
  damaged: [],
  damagedLines: 0,
  tornTail: false,
  remarks: [],
});

const unreadable = (path: string, kind: CheckedItem['kind'], why: Says): CheckedItem => ({
  ...empty(path, kind),
  ok: false,
  remarks: [why],
});
