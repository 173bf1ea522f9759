/** What this program makes of each case of captures/conformance, in the shape of its `expected.json`. */
import { readdirSync } from 'node:fs';
import { join, resolve } from 'node:path';
import type { Dialect, EcuMessage } from '../../src/adapter/adapter.ts';
import { interpret } from '../../src/adapter/interpret.ts';
import { judgeTable } from '../../src/analysis/judge.ts';
import { HandbackError } from '../../src/core/errors.ts';
import { toHex } from '../../src/core/hex.ts';
import { readCapture } from '../../src/run/capture/read.ts';
import { captureOf } from '../../src/run/meta.ts';
import { openRecording } from '../../src/run/recording.ts';

const FOLDER = resolve(import.meta.dirname, '../../captures/conformance');

export const cases = (): string[] => readdirSync(FOLDER).toSorted();

/** A case is one file of any kind, or a run folder. */
function inputOf(name: string): string {
  const folder = join(FOLDER, name);
  const files = readdirSync(folder).filter((f) => f !== 'expected.json');
  return files.includes('run.json') ? folder : join(folder, files[0]!);
}

export const expectedFile = (name: string): string => join(FOLDER, name, 'expected.json');

export interface Expected {
  /** Code of the refusal; then there is nothing else. */
  readonly error?: string;
  /** `[request, control unit asked or null, outcome or null when its end is missing, messages "UNIT PAYLOAD tUs"]`. */
  readonly exchanges?: readonly (readonly [string, string | null, string | null, readonly string[]])[];
  /** `[signal, tUs, sentUs, value]` in order of time. */
  readonly samples?: readonly (readonly [string, number, number, number])[];
  readonly marks?: readonly (readonly [number, string, string])[];
  /** `[fromUs, toUs]`. */
  readonly gaps?: readonly (readonly [number, number])[];
  /** Line numbers that cannot be read; whether the last line is torn; whether a digest does not fit. */
  readonly damage?: { readonly lines: readonly number[]; readonly torn: boolean; readonly mismatch: boolean };
  /** `[id, verdict, measured value or null]`. */
  readonly findings?: readonly (readonly [string, string, number | null])[];
}

export async function actualOf(name: string): Promise<Expected> {
  const input = inputOf(name);
  try {
    const { table, marks, gaps, profile, kind } = await openRecording(input);
    const { findings } = judgeTable(table, profile ?? {}, null, name);
    const capture = kind === 'run' ? await captureOf(input) : kind === 'capture' ? input : null;
    return {
      ...(capture === null ? {} : await linesOf(capture)),
      samples: [...table].map((s) => [s.signal, s.tUs, s.sentUs, s.value] as const),
      marks: marks.map((m) => [m.tUs, m.key, m.text] as const),
      gaps: gaps.map((g) => [g.fromUs, g.toUs] as const),
      findings: findings.map((f) => [f.id, f.verdict, f.measured?.value ?? null] as const),
    };
  } catch (thrown) {
    if (thrown instanceof HandbackError) return { error: thrown.code };
    throw thrown;
  }
}

async function linesOf(path: string): Promise<Required<Pick<Expected, 'exchanges' | 'damage'>>> {
  const exchanges: [string, string | null, string | null, string[]][] = [];
  const lines: number[] = [];
  let torn = false;
  let mismatch = false;
  let dialect: Dialect | null = null;
  let open: { payload: Uint8Array; ecu: string | null; rx: { tUs: number; bytes: Uint8Array }[] } | null =
    null;
  const end = (outcome: string | null): void => {
    if (!open) return;
    const read = dialect ? interpret(dialect, open, open.rx).messages : [];
    exchanges.push([toHex(open.payload), open.ecu, outcome, read.map(inWords)]);
    open = null;
  };
  for await (const items of readCapture(path))
    for (const item of items) {
      if (item.is === 'damage') lines.push(item.line);
      else if (item.is === 'mismatch') mismatch = true;
      else if (item.is === 'packed' || item.is === 'torn') torn = true;
      else if (item.record.kind === 'dialect') dialect = item.record.dialect;
      else if (item.record.kind === 'rx') open?.rx.push(item.record);
      else if (item.record.kind === 'done') end(item.record.outcome);
      else if (item.record.kind === 'request') {
        end(null);
        open = { payload: item.record.payload, ecu: item.record.ecu, rx: [] };
      }
    }
  return { exchanges, damage: { lines, torn, mismatch } };
}

const inWords = (m: EcuMessage): string => `${m.ecu} ${toHex(m.payload)} ${m.tUs}`;

/** One entry a line, so that a change can be read. */
export function written(expected: Expected): string {
  const parts = Object.entries(expected).map(([key, value]) => {
    if (!Array.isArray(value)) return `  ${JSON.stringify(key)}: ${JSON.stringify(value)}`;
    const rows = value.map((row) => `    ${JSON.stringify(row)}`).join(',\n');
    return `  ${JSON.stringify(key)}: [${rows === '' ? '' : `\n${rows}\n  `}]`;
  });
  return `{\n${parts.join(',\n')}\n}\n`;
}
