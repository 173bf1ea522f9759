/** Bytes of a capture → records and damage with line numbers. Pure: fed in any portions, bounded, never throws. */
import { isAscii, isUtf8 } from 'node:buffer';
import type { Says } from '../../core/says.ts';
import { DigestChain } from './chain.ts';
import {
  type CaptureRecord,
  isVersionLine,
  MAX_LINE_BYTES,
  readLine,
  VERSION_LINE,
  WireLine,
} from './format.ts';

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
  readonly #wire = new WireLine();
  readonly chain = new DigestChain();
  #carry: Uint8Array = new Uint8Array(0);
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
    const bytes = this.#carry.length === 0 ? chunk : Buffer.concat([this.#carry, chunk]);
    // One conversion for many lines is several times faster than one each; nearly every portion is plain ASCII.
    const ascii = isAscii(bytes) ? latin1(bytes) : null;
    const wire = this.#wire;
    let from = 0;
    let hashedTo = 0;
    for (;;) {
      if (sink.wire && ascii !== null && this.#line > 0 && !this.#skipping) {
        const next = wire.read(bytes, from);
        if (next > 0) {
          this.#line++;
          sink.wire(wire.kind, wire.tUs, wire.bytes, wire.length);
          from = next;
          continue;
        }
      }
      const end = bytes.indexOf(10, from);
      if (end < 0) break;
      const item = this.#complete(bytes, from, end, ascii);
      if (item?.is === 'record' && item.record.kind === 'digest') {
        this.chain.update(bytes.subarray(hashedTo, from));
        // Only `<t> digest <n> ` of this line is covered by its digest: a foreign line end behind it would not show.
        const own = this.chain.matches(item.record);
        if (!own || bytes[end - 1] === 13)
          sink.item({ is: 'mismatch', fromLine: this.#blockFrom, line: item.line });
        this.#blockFrom = item.line + 1;
        hashedTo = end + 1;
      }
      if (item) sink.item(item);
      from = end + 1;
    }
    this.chain.update(bytes.subarray(hashedTo, from));
    this.completeBytes += from;
    this.#carry = bytes.slice(from);
    if (this.#carry.length > MAX_LINE_BYTES) {
      if (!this.#skipping) sink.item({ is: 'damage', line: this.#line + 1, why: 'the line is too long' });
      this.#skipping = true;
      this.chain.update(this.#carry);
      this.completeBytes += this.#carry.length;
      this.#carry = new Uint8Array(0);
    }
  }

  /** After the last bytes. */
  end(): CaptureItem[] {
    if (this.#carry.length === 0 && !this.#skipping) return [];
    return [{ is: 'torn', line: this.#line + 1, bytes: this.#carry }];
  }

  #complete(bytes: Uint8Array, from: number, end: number, ascii: string | null): CaptureItem | null {
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
    let text = ascii === null ? utf8(bytes.subarray(from, end)) : ascii.slice(from, end);
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

const asBuffer = (bytes: Uint8Array): Buffer => Buffer.from(bytes.buffer, bytes.byteOffset, bytes.byteLength);
const latin1 = (bytes: Uint8Array): string => asBuffer(bytes).toString('latin1');
const utf8 = (bytes: Uint8Array): string | null => (isUtf8(bytes) ? asBuffer(bytes).toString('utf8') : null);
