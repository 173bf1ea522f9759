/** Decoded values packed as columns, and taken out again. */
import { parquetMetadata, parquetRead } from 'hyparquet';
import { ByteWriter, ParquetWriter, schemaFromColumnData } from 'hyparquet-writer';
import type { Sample } from '../core/signals.ts';

const GROUP = 65_536;
const COLUMNS = [
  { name: 't_us', type: 'DOUBLE', nullable: false },
  { name: 'signal', type: 'INT32', nullable: false },
  { name: 'value', type: 'DOUBLE', nullable: false },
] as const;

/** Gathers samples as they are decoded, packed group by group: a long run is never held as numbers. */
export class Decoded {
  readonly #t = new Float64Array(GROUP);
  readonly #signal = new Int32Array(GROUP);
  readonly #value = new Float64Array(GROUP);
  #n = 0;
  /** Samples, in all. */
  length = 0;
  #whole: Uint8Array | null = null;
  readonly #index = new Map<string, number>();
  readonly #bytes = new ByteWriter();
  readonly #file = new ParquetWriter({
    writer: this.#bytes,
    schema: schemaFromColumnData({ columnData: COLUMNS.map((c) => ({ ...c, data: [] })) }),
    createdBy: 'handback',
  });

  push(s: Sample): void {
    if (this.#n === GROUP) this.#pack();
    let k = this.#index.get(s.signal);
    if (k === undefined) {
      k = this.#index.size;
      this.#index.set(s.signal, k);
    }
    this.length++;
    this.#t[this.#n] = s.tUs;
    this.#value[this.#n] = s.value;
    this.#signal[this.#n++] = k;
  }

  /** What was gathered, once all of it has come: a file. */
  parquet(): Uint8Array {
    this.#whole ??= this.#finished();
    return this.#whole;
  }

  /** The same group by group, in the order in which it came, its times of asking left out. */
  async *groups(): AsyncGenerator<Iterable<Sample>> {
    const bytes = this.parquet();
    for (let from = 0; from < this.length; from += GROUP)
      yield samplesFrom(bytes, from, Math.min(this.length, from + GROUP));
  }

  #finished(): Uint8Array {
    this.#pack();
    this.#file.kvMetadata = [{ key: 'handback.signals', value: JSON.stringify([...this.#index.keys()]) }];
    this.#file.finish();
    return this.#bytes.getBytes();
  }

  #pack(): void {
    if (this.#n === 0) return;
    const data = [this.#t, this.#signal, this.#value].map((column) => column.subarray(0, this.#n));
    this.#file.write({
      columnData: COLUMNS.map(({ name }, i) => ({ name, data: data[i]! })),
      rowGroupSize: GROUP,
    });
    this.#n = 0;
  }
}

/** Of a file that this program wrote and sealed, or has in memory. @param rows of all: from, and up to before */
export async function samplesFrom(bytes: Uint8Array, from = 0, to?: number): Promise<Iterable<Sample>> {
  const file = bytes.byteLength === bytes.buffer.byteLength ? bytes.buffer : bytes.slice().buffer;
  const metadata = parquetMetadata(file as ArrayBuffer);
  const names = JSON.parse(
    metadata.key_value_metadata?.find((e) => e.key === 'handback.signals')?.value ?? '[]',
  ) as string[];
  const n = (to ?? Number(metadata.num_rows)) - from;
  const columns: Record<string, Float64Array> = {
    t_us: new Float64Array(n),
    signal: new Float64Array(n),
    value: new Float64Array(n),
  };
  await parquetRead({
    file: file as ArrayBuffer,
    metadata,
    rowStart: from,
    rowEnd: from + n,
    onChunk: ({ columnName, columnData, rowStart }) =>
      columns[columnName]!.set(columnData as ArrayLike<number>, rowStart - from),
  });
  const { t_us: t, signal, value } = columns;
  return {
    *[Symbol.iterator]() {
      for (let i = 0; i < n; i++)
        yield { tUs: t![i]!, sentUs: t![i]!, signal: names[signal![i]!]!, value: value![i]! };
    },
  };
}
