/** Verifies what was recorded: grammar, torn tail, digests, hash. Changes nothing. */
import { lstat, stat } from 'node:fs/promises';
import { join } from 'node:path';
import { HandbackError, reasonOf } from '../core/errors.ts';
import { looksLikeCapture, readCapture } from './capture/read.ts';
import { isPlainFile } from './document.ts';
import { sha256OfFile } from './hash.ts';
import { listRuns } from './library.ts';
import { isLocked } from './lock.ts';
import { CAPTURE_FILE, META_FILE, readMeta, sealOfMeta } from './meta.ts';
import { openRecording } from './recording.ts';
import { unpacked } from './unpack.ts';

export interface CheckedItem {
  readonly path: string;
  readonly kind: 'run' | 'capture' | 'table';
  /** Nothing is wrong. A run that was left open without damage is not wrong, but `closed` is false. */
  readonly ok: boolean;
  readonly closed: boolean | null;
  /** Whole-file hash against run.json; null where there is none to compare with. */
  readonly hash: 'matches' | 'differs' | null;
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
  /** Sentences for people: everything wrong, and everything odd. */
  readonly remarks: readonly string[];
}

export interface CheckReport {
  readonly path: string;
  readonly ok: boolean;
  readonly items: readonly CheckedItem[];
  /** Run folders that could not be opened at all. */
  readonly troubles: readonly string[];
}

const MAX_LISTED = 100;

/**
 * Checks a run folder, a capture, a table, or a library of runs.
 * @throws HandbackError input.file when there is nothing of the kind at `path`
 */
export async function check(path: string): Promise<CheckReport> {
  const info = await stat(path).catch(() => null);
  if (!info) throw new HandbackError('input.file', `${path} does not exist.`);
  if (!info.isDirectory()) return report(path, [await checkFile(path)], []);
  const has = (file: string) =>
    lstat(join(path, file)).then(
      () => true,
      () => false,
    );
  if ((await has(META_FILE)) || (await has(CAPTURE_FILE))) return report(path, [await checkRun(path)], []);
  const { runs, troubles } = await listRuns(path);
  if (runs.length === 0 && troubles.length === 0)
    throw new HandbackError('input.file', `${path} holds no run.`, {
      hint: 'Name a run folder, a library or a file.',
    });
  const items: CheckedItem[] = [];
  for (const run of runs) items.push(await checkRun(run.folder));
  return report(path, items, troubles);
}

function report(path: string, items: CheckedItem[], troubles: string[]): CheckReport {
  return { path, ok: troubles.length === 0 && items.every((i) => i.ok), items, troubles };
}

async function checkRun(folder: string): Promise<CheckedItem> {
  const remarks: string[] = [];
  const path = join(folder, CAPTURE_FILE);
  let sha256: string | null = null;
  let closed: boolean | null = null;
  let seal: CheckedItem['seal'] = null;
  let metaOk = true;
  try {
    const meta = await readMeta(folder);
    seal = await sealOfMeta(folder);
    if (seal === 'differs') remarks.push(`${META_FILE} is not as it was written.`);
    if (seal === null) remarks.push(`${META_FILE} carries no seal: an older version wrote it.`);
    sha256 = meta.sha256;
    closed = sha256 !== null;
    if (meta.recovered) remarks.push('The run had been interrupted and was closed afterwards.');
  } catch (e) {
    metaOk = false;
    remarks.push(reasonOf(e));
  }
  if (closed === false)
    remarks.push(
      (await isLocked(folder))
        ? 'The run is being recorded.'
        : 'The run was interrupted and is not closed yet.',
    );
  const item = await checkOwnCapture(path, closed === true);
  let hash: CheckedItem['hash'] = null;
  if (sha256 !== null) {
    const now = item.lines > 0 ? await sha256OfFile(path).catch(() => '') : '';
    hash = now === sha256 ? 'matches' : 'differs';
    if (hash === 'differs')
      remarks.push('The capture is not as it was when the run was closed: its SHA-256 differs.');
    if (hash === 'differs' && item.ok && seal !== 'differs')
      remarks.push(`All that is there fits together: its end behind line ${item.lines} is missing.`);
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

async function checkOwnCapture(path: string, closed: boolean): Promise<CheckedItem> {
  try {
    if (!(await isPlainFile(path))) throw new Error(`there is no ${CAPTURE_FILE}`);
    return await checkCapture(path, closed);
  } catch (e) {
    return unreadable(path, 'capture', reasonOf(e));
  }
}

async function checkFile(path: string): Promise<CheckedItem> {
  try {
    for await (const head of unpacked(path)) {
      if (looksLikeCapture(head.subarray(0, 512))) return await checkCapture(path);
      break;
    }
    const { table, warnings } = await openRecording(path);
    return { ...empty(path, 'table'), ok: warnings.length === 0, records: table.length, remarks: warnings };
  } catch (e) {
    return unreadable(path, 'table', reasonOf(e));
  }
}

/** @param closed its end must be a digest: what stands behind the last one was added or lost its digest */
async function checkCapture(path: string, closed = false): Promise<CheckedItem> {
  const changed: { fromLine: number; toLine: number }[] = [];
  const damaged: { line: number; why: string }[] = [];
  const remarks: string[] = [];
  let records = 0;
  let digests = 0;
  let mismatches = 0;
  let damagedLines = 0;
  let tornTail = false;
  let lines = 1;
  let sealedTo = 0;
  for await (const items of readCapture(path))
    for (const item of items) {
      if (item.is !== 'torn') lines = Math.max(lines, item.line);
      if (item.is === 'record') {
        if (item.record.kind === 'digest') {
          digests++;
          sealedTo = item.line;
        } else records++;
      } else if (item.is === 'mismatch') {
        mismatches++;
        if (changed.length < MAX_LISTED) changed.push({ fromLine: item.fromLine, toLine: item.line });
      } else if (item.is === 'damage') {
        damagedLines++;
        if (damaged.length < MAX_LISTED) damaged.push({ line: item.line, why: item.why });
      } else tornTail = true;
    }
  if (closed && sealedTo < lines) {
    mismatches++;
    changed.push({ fromLine: sealedTo + 1, toLine: lines });
  }
  for (const d of damaged) remarks.push(`Line ${d.line} cannot be read: ${d.why}.`);
  for (const c of changed)
    remarks.push(`Between lines ${c.fromLine} and ${c.toLine} something is not as it was recorded.`);
  if (tornTail) remarks.push('The last line is torn: the recording was interrupted while it was written.');
  if (records === 0) remarks.push('There is no record in it.');
  return {
    ...empty(path, 'capture'),
    ok: mismatches === 0 && damagedLines === 0 && !tornTail && records > 0,
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

const unreadable = (path: string, kind: CheckedItem['kind'], why: string): CheckedItem => ({
  ...empty(path, kind),
  ok: false,
  remarks: [why],
});
