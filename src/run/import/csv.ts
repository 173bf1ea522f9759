/** Text tables: encoding, delimiter and headers found out, rows streamed into the builder. */

import { TextDecoder } from 'node:util';
import { parse } from 'csv-parse';
import { saying } from '../../core/error-says.ts';
import { HandbackError, toldOf } from '../../core/errors.ts';
import type { Says } from '../../core/says.ts';
import { type ImportOptions, TableBuilder } from './builder.ts';

const HEADER_ROWS = 30;
const MAX_ROW_CHARS = 1 << 18;
const LOOKED_AT_BYTES = 4096;

/**
 * @param chunks the file's bytes, already unpacked. A throw of theirs ends the reading; what came before is kept
 *   with a warning.
 * @throws HandbackError input.format or input.usage
 */
export async function importText(path: string, chunks: AsyncIterable<Uint8Array>, options: ImportOptions) {
  let builder: TableBuilder | null = null;
  let rows: Rows | null = null;
  let trouble: Says | null = null;
  const source = decoded(path, headFirst(chunks));
  try {
    for await (const text of source) {
      if (!rows) {
        const delimiter = sniffDelimiter(text);
        builder = new TableBuilder(path, options, delimiter === ',');
        rows = new Rows(builder, delimiter);
      }
      await rows.write(text);
      if (builder?.full) break;
    }
    await rows?.end();
  } catch (e) {
    if (e instanceof HandbackError) throw e;
    if (builder && rows?.isSwallowed(e)) throw builder.unclosedError(rows.line + 1);
    rows?.abandon(); // the row being read is torn: half a number is a wrong number
    trouble = toldOf(e);
  }
  if (!builder || !rows)
    throw new HandbackError(
      'input.format',
      trouble ? saying('error.not-read', { path, why: trouble }) : saying('error.empty', { path }),
    );
  if (trouble) builder.warn(saying('warn.ended-early', { line: rows.line, why: trouble }));
  rows.settleHeaders();
  builder.refuseMissingOverrides();
  return builder.finish();
}

/** Feeds the parser and finds the header row among the first rows (tables may begin with a title). */
class Rows {
  readonly #builder: TableBuilder;
  readonly #parser;
  readonly #ended: Promise<void>;
  #early: { cells: string[]; line: number }[] | null = [];
  #first = false;
  line = 0;
  #linesWritten = 0;

  constructor(builder: TableBuilder, delimiter: string) {
    this.#builder = builder;
    this.#parser = parse({
      delimiter,
      bom: false,
      relax_quotes: true,
      relax_column_count: true,
      skip_empty_lines: false,
      max_record_size: MAX_ROW_CHARS,
    });
    this.#ended = new Promise((resolve, reject) => {
      this.#parser.on('end', resolve);
      this.#parser.on('error', reject);
    });
    this.#ended.catch(() => undefined); // reported by write() or end()
    this.#parser.on('data', (cells: string[]) => {
      try {
        this.#row(cells);
      } catch (e) {
        this.#parser.destroy(e as Error);
      }
    });
  }

  async write(text: string): Promise<void> {
    this.#linesWritten += text.split('\n').length - 1;
    if (!this.#parser.write(text))
      await Promise.race([new Promise((resolve) => this.#parser.once('drain', resolve)), this.#ended]);
  }

  end(): Promise<void> {
    this.#parser.end();
    return this.#ended;
  }

  /** Whether a quote that is not closed took the lines below it for its cell. In the last line the file was cut off instead. */
  isSwallowed(error: unknown): boolean {
    const { code } = error as { readonly code?: string };
    const unclosed = code === 'CSV_QUOTE_NOT_CLOSED' || code === 'CSV_MAX_RECORD_SIZE';
    return unclosed && this.#linesWritten > this.line + 1;
  }

  abandon(): void {
    this.#parser.destroy();
  }

  /** @throws HandbackError input.format when no row would do as headers. */
  settleHeaders(): void {
    const early = this.#early;
    if (!early) return;
    this.#early = null;
    const found = early.findIndex((r) => this.#builder.takeHeaders(r.cells, r.line));
    if (found < 0) {
      // The row that says most about what was meant: the first with several cells.
      const row = early.find((r) => r.cells.length > 1) ?? early[0] ?? { cells: [], line: 1 };
      throw this.#builder.headerError(row.cells, row.line);
    }
    this.#first = true;
    for (const r of early.slice(found + 1)) this.#body(r.cells, r.line);
  }

  #row(cells: string[]): void {
    const line = ++this.line;
    for (const cell of cells) if (cell.includes('\n')) this.line += cell.split('\n').length - 1;
    if (cells.length === 1 && cells[0]!.trim() === '') return;
    if (this.#early) {
      this.#early.push({ cells, line });
      if (this.#early.length >= HEADER_ROWS) this.settleHeaders();
    } else this.#body(cells, line);
  }

  #body(cells: string[], line: number): void {
    const first = this.#first;
    this.#first = false;
    if (first && this.#builder.takeUnits(cells, line)) return;
    this.#builder.row(cells, line);
  }
}

/** The same bytes with the first portion long enough to tell encoding and delimiter from. */
async function* headFirst(chunks: AsyncIterable<Uint8Array>): AsyncGenerator<Uint8Array> {
  let head: Uint8Array[] | null = [];
  let size = 0;
  let trouble: unknown = null;
  try {
    for await (const chunk of chunks) {
      if (head) {
        head.push(chunk);
        size += chunk.length;
        if (size < LOOKED_AT_BYTES) continue;
        yield Buffer.concat(head);
        head = null;
      } else yield chunk;
    }
  } catch (e) {
    trouble = e;
  }
  if (head && size > 0) yield Buffer.concat(head);
  if (trouble) throw trouble;
}

/** Bytes to text: a byte-order mark decides, else UTF-8, else the usual 8-bit code page; binary junk is refused. */
async function* decoded(path: string, chunks: AsyncIterable<Uint8Array>): AsyncGenerator<string> {
  let decoder: TextDecoder | null = null;
  let encoding = 'utf-8';
  for await (const chunk of chunks) {
    if (chunk.length === 0) continue;
    if (!decoder) {
      encoding = sniffEncoding(chunk);
      decoder = new TextDecoder(encoding);
      if (encoding !== 'utf-16le' && encoding !== 'utf-16be' && looksBinary(chunk))
        throw new HandbackError('input.format', saying('error.binary', { path }), {
          hint: saying('error.binary-hint'),
        });
    }
    const text = decoder.decode(chunk, { stream: true });
    if (text !== '') yield text;
  }
  const rest = decoder?.decode() ?? '';
  if (rest !== '') yield rest;
}

function sniffEncoding(first: Uint8Array): string {
  if (first[0] === 0xff && first[1] === 0xfe) return 'utf-16le';
  if (first[0] === 0xfe && first[1] === 0xff) return 'utf-16be';
  try {
    new TextDecoder('utf-8', { fatal: true }).decode(first, { stream: true });
    return 'utf-8';
  } catch {
    return 'windows-1252';
  }
}

function looksBinary(first: Uint8Array): boolean {
  let odd = 0;
  for (const b of first) {
    if (b === 0) return true;
    if (b < 32 && b !== 9 && b !== 10 && b !== 13) odd++;
  }
  return odd > first.length / 100;
}

/** The delimiter that parts the first lines most evenly; a lone comma may be a decimal mark, so it counts last. */
function sniffDelimiter(text: string): string {
  const lines = text.split(/\r\n|\n|\r/, 40).map((line) => line.replace(/"[^"]*"/g, ''));
  if (lines.length > 1) lines.pop(); // may be cut off
  let best = ',';
  let bestScore = 0;
  for (const delimiter of ['\t', ';', ',']) {
    const counts = lines.map((line) => line.split(delimiter).length - 1).filter((n) => n > 0);
    if (counts.length === 0) continue;
    const most = counts.toSorted((a, b) => a - b)[counts.length >> 1]!;
    const even = counts.filter((n) => n === most).length / lines.length;
    if (even > bestScore + 0.001) {
      best = delimiter;
      bestScore = even;
    }
  }
  return best;
}
