/** Bytes of a capture → records and damage with line numbers. Pure: fed in any portions, bounded, never throws. */
import { isAscii, isUtf8 } from 'node:buffer';
import type { Says } from '../../core/says.ts';
import { DigestChain } from './chain.ts';
import { type CaptureRecord, isVersionLine, MAX_LINE_BYTES, readLine, VERSION_LINE } from './format.ts';
import { QuickLine } from './quick.ts';

export type CaptureItem =
  | { readonly is: 'record'; readonly line: number; readonly record: CaptureRecord }
  /** A line that cannot be read; the rest still is. */
  | { readonly is: 'damage'; readonly line: number; readonly why: string }
  /** A digest that does not match: something between the two lines was changed, lost or added. */
  | { readonly is: 'mismatch'; readonly fromLine: number; readonly line: number }
  /** Something behind this line is missing or not as it was: of a compressed file that is damaged. */
  | { readonly is: 'packed'; readonly line: number; readonly why: Says }
  /** The last line has no end: it was being written when the recording stopped. Not used. */
  | { readonly is: 'torn'; readonly line: number; readonly bytes: Uint8Array };

/** Where a capture goes, in the order of the file. */
export interface CaptureSink {
  readonly item: (item: CaptureItem) => void;
  /**
   * Takes `rx` and `tx` lines, which are nearly all there is, in place of their items: the first `n` of `bytes`, during
   * the call.
   */
  readonly wire?: (kind: 'rx' | 'tx', tUs: number, bytes: Uint8Array, n: number) => void;
}

export class CaptureParser {
  readonly #quick = new QuickLine();
  readonly chain = new DigestChain();
  #carry: Uint8Array = NO_BYTES;
  #skipping = false;
  #line = 0;
  #blockFrom = 1;
  /** Bytes of all complete lines so far. */
  completeBytes = 0;
  /** False when the first line is not this format's; then every line is damage. null before the first. */
  versionOk: boolean | null = null;
  /** The first line as it was, capped, for messages. */
  firstLine = '';

  get lines(): number {
    return this.#line;
  }

  push(chunk: Uint8Array): CaptureItem[] {
    const items: CaptureItem[] = [];
    this.feed(chunk, { item: (item) => items.push(item) });
    return items;
  }

  feed(chunk: Uint8Array, sink: CaptureSink): void {
    let from = 0;
    if (this.#carry.length > 0) {
      // The line that began in the portion before is read by itself: the portion need not be copied for it.
      const end = chunk.indexOf(10);
      from = end < 0 ? chunk.length : end + 1;
      const line = Buffer.concat([this.#carry, chunk.subarray(0, from)]);
      this.#carry = line;
      if (end >= 0) this.#lines(line, 0, sink);
    }
    if (from < chunk.length) this.#lines(chunk, from, sink);
    if (this.#carry.length > MAX_LINE_BYTES) {
      if (!this.#skipping) sink.item({ is: 'damage', line: this.#line + 1, why: 'the line is too long' });
      this.#skipping = true;
      this.chain.update(this.#carry);
      this.completeBytes += this.#carry.length;
      this.#carry = NO_BYTES;
    }
  }

  /** All complete lines behind `start`; what is left of the last one is carried. */
  #lines(bytes: Uint8Array, start: number, sink: CaptureSink): void {
    const quick = this.#quick;
    const texts = new Texts(bytes);
    let from = start;
    let hashedTo = start;
    for (;;) {
      if (sink.wire && this.#line > 0 && !this.#skipping) {
        const next = quick.read(bytes, from);
        if (next > 0) {
          this.#line++;
          if (quick.kind !== null) sink.wire(quick.kind, quick.tUs, quick.bytes, quick.length);
          else sink.item({ is: 'record', line: this.#line, record: quick.record! });
          from = next;
          continue;
        }
      }
      const end = bytes.indexOf(10, from);
      if (end < 0) break;
      const item = this.#complete(from, end, texts);
      if (item?.is === 'record') {
        quick.learn(bytes, from, end, item.record);
        if (item.record.kind === 'digest') {
          this.chain.update(bytes.subarray(hashedTo, from));
          // Only `<t> digest <n> ` of this line is covered by its digest: a foreign line end behind it would not show.
          const own = this.chain.matches(item.record);
          if (!own || bytes[end - 1] === 13)
            sink.item({ is: 'mismatch', fromLine: this.#blockFrom, line: item.line });
          this.#blockFrom = item.line + 1;
          hashedTo = end + 1;
        }
      }
      if (item) sink.item(item);
      from = end + 1;
    }
    this.chain.update(bytes.subarray(hashedTo, from));
    this.completeBytes += from - start;
    this.#carry = from < bytes.length ? Uint8Array.from(bytes.subarray(from)) : NO_BYTES;
  }

  /** After the last bytes. */
  end(): CaptureItem[] {
    if (this.#carry.length === 0 && !this.#skipping) return [];
    return [{ is: 'torn', line: this.#line + 1, bytes: this.#carry }];
  }

  #complete(from: number, end: number, texts: Texts): CaptureItem | null {
    const line = ++this.#line;
    if (this.#skipping) {
      this.#skipping = false; // told when it became too long
      if (line === 1) this.versionOk = false;
      return null;
    }
    if (end - from >= MAX_LINE_BYTES) {
      if (line === 1) this.versionOk = false;
      return { is: 'damage', line, why: 'the line is too long' };
    }
    let text = texts.of(from, end);
    if (text?.endsWith('\r')) text = text.slice(0, -1);
    if (line === 1) {
      this.firstLine = text?.slice(0, 80) ?? '';
      this.versionOk = text !== null && isVersionLine(text);
      return this.versionOk ? null : { is: 'damage', line, why: `the first line is not "${VERSION_LINE}"` };
    }
    if (text === null) return { is: 'damage', line, why: 'not UTF-8' };
    const result = readLine(text);
    return result.ok
      ? { is: 'record', line, record: result.record }
      : { is: 'damage', line, why: result.why };
  }
}

/** Lines of one portion as text. */
class Texts {
  readonly #bytes: Buffer;
  #asked = 0;
  #ascii: string | null = null;

  constructor(bytes: Uint8Array) {
    this.#bytes = Buffer.from(bytes.buffer, bytes.byteOffset, bytes.byteLength);
  }

  /** Null when it is no UTF-8. */
  of(from: number, to: number): string | null {
    if (this.#ascii !== null) return this.#ascii.slice(from, to);
    // Where more than a few are wanted, one conversion for all is several times faster than one each.
    if (++this.#asked === FEW && isAscii(this.#bytes)) this.#ascii = this.#bytes.toString('latin1');
    return isUtf8(this.#bytes.subarray(from, to)) ? this.#bytes.toString('utf8', from, to) : null;
  }
}

const FEW = 1000;
const NO_BYTES = new Uint8Array(0);
