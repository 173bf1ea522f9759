/**
 * The reading of columnar files, as the text of a worker of its own. A damaged file can make the reader
 * fail outside of any promise that could be caught (seen under fuzzing), and might make it loop or eat memory: a
 * thread can be stopped, and takes nothing with it.
 * Plain JavaScript in a text, so that it runs the same from source and when built.
 */
import { createRequire } from 'node:module';
import { pathToFileURL } from 'node:url';
import { Worker } from 'node:worker_threads';

const MAX_ROWS = 20_000_000;
const MAX_PAGE_BYTES = 1 << 28;

const CODE = `
const { parentPort, workerData } = require('node:worker_threads');
const { gunzipSync } = require('node:zlib');

async function open(path) {
  const { asyncBufferFromFile, parquetMetadataAsync, parquetScan } = await import(workerData.reader);
  const file = await asyncBufferFromFile(path);
  const metadata = await parquetMetadataAsync(file, { geoparquet: false });
  const rows = metadata.row_groups.reduce((sum, g) => sum + Number(g.num_rows), 0);
  if (!(rows >= 0 && rows <= ${MAX_ROWS})) throw new Error('it claims ' + rows + ' rows');
  const headers = metadata.schema.filter((s, i) => i > 0 && !s.num_children).map((s) => s.name);
  if (headers.length !== (metadata.schema[0]?.num_children ?? 0)) throw new Error('it has nested columns');
  if (new Set(headers).size !== headers.length) throw new Error('two columns have the same name');
  for (const group of metadata.row_groups) {
    const names = group.columns.map((c) => c.meta_data?.path_in_schema.join('.'));
    if (names.length !== headers.length || names.some((name, i) => name !== headers[i]))
      throw new Error('its row groups do not have the columns of its schema');
  }
  const scan = await parquetScan({
    file,
    metadata,
    useOffsetIndex: false,
    compressors: {
      GZIP: (input, length) => gunzipSync(input, { maxOutputLength: Math.min(length + 1, ${MAX_PAGE_BYTES}) }),
    },
    parsers: {
      timestampFromMilliseconds: (ms) => ({ epochUs: Number(ms) * 1000 }),
      timestampFromMicroseconds: (us) => ({ epochUs: Number(us) }),
      timestampFromNanoseconds: (ns) => ({ epochUs: Math.round(Number(ns) / 1000) }),
    },
  });
  return { headers, scan };
}

const opened = open(workerData.path);
opened.then(
  ({ headers, scan }) => parentPort.postMessage({ result: { headers, ranges: scan.ranges } }),
  (e) => parentPort.postMessage({ error: String(e?.message ?? e) }),
);
parentPort.on('message', (request) => {
  opened
    .then(({ scan }) => scan.readColumn(request))
    .then((result) => parentPort.postMessage({ result }))
    .catch((e) => parentPort.postMessage({ error: String(e?.message ?? e) }));
});
`;

interface Reply {
  readonly result?: unknown;
  readonly error?: string;
}

interface RowRange {
  readonly rowStart: number;
  readonly rowEnd: number;
}

/** One columnar file in a worker; one question at a time. */
export class ParquetReader {
  readonly #worker: Worker;
  readonly #patienceMs: number;
  /** Why the worker answers no more. */
  #ended: Error | null = null;

  /** @param patienceMs how long one answer may take. */
  constructor(path: string, patienceMs: number) {
    this.#patienceMs = patienceMs;
    const reader = createRequire(import.meta.url).resolve('hyparquet');
    this.#worker = new Worker(CODE, {
      eval: true,
      execArgv: [],
      workerData: { path, reader: pathToFileURL(reader).href },
      resourceLimits: { maxOldGenerationSizeMb: 1024 },
    });
    // Also between two questions, when nobody else listens: an error that nobody hears ends the program.
    this.#worker.once('error', (e) => {
      this.#ended ??= new Error(e.message);
    });
    this.#worker.once('exit', () => {
      this.#ended ??= new Error('reading it failed');
    });
  }

  /** To be called first. @throws Error saying what is wrong with the file. */
  async open(): Promise<{ readonly headers: readonly string[]; readonly ranges: readonly RowRange[] }> {
    return (await this.#reply()) as { headers: string[]; ranges: RowRange[] };
  }

  /** @throws Error saying what is wrong with the file. */
  async column(column: string, range: RowRange): Promise<ArrayLike<unknown>> {
    const reply = this.#reply();
    this.#worker.postMessage({ column, ...range });
    return (await reply) as ArrayLike<unknown>;
  }

  async close(): Promise<void> {
    await this.#worker.terminate();
  }

  #reply(): Promise<unknown> {
    if (this.#ended) return Promise.reject(this.#ended);
    return new Promise((resolve, reject) => {
      const settle = (act: () => void): void => {
        clearTimeout(timer);
        this.#worker.off('message', onMessage);
        this.#worker.off('error', onError);
        this.#worker.off('exit', onExit);
        act();
      };
      const onMessage = (reply: Reply): void =>
        settle(() => (reply.error === undefined ? resolve(reply.result) : reject(new Error(reply.error))));
      const onError = (e: Error): void => settle(() => reject(new Error(e.message)));
      const onExit = (): void => settle(() => reject(new Error('reading it failed')));
      const timer = setTimeout(
        () => settle(() => reject(new Error(`reading it did not end within ${this.#patienceMs / 1000} s`))),
        this.#patienceMs,
      );
      this.#worker.on('message', onMessage);
      this.#worker.on('error', onError);
      this.#worker.on('exit', onExit);
    });
  }
}
