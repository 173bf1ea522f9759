/** The running digest: each digest line covers the lines since the one before it, and that one's digest. */
import { createHash, type Hash } from 'node:crypto';
import { linesOf } from './format.ts';

const NOTHING_YET = '0'.repeat(64);

export class DigestChain {
  #count = 0;
  #block: Hash = createHash('sha256').update(NOTHING_YET);
  #empty = true;

  /** Bytes of complete lines, line ends included, digest lines left out. */
  update(bytes: Uint8Array): void {
    if (bytes.length === 0) return;
    this.#block.update(bytes);
    this.#empty = false;
  }

  /** Nothing was added since the last digest. */
  get empty(): boolean {
    return this.#empty;
  }

  /** Ends the block and returns the digest line, without line end, to be written. */
  seal(tUs: number): string {
    const count = this.#count + 1;
    const sha256 = this.#end(tUs, count);
    this.#next(sha256, count);
    return linesOf({ kind: 'digest', tUs, count, sha256 })[0]!;
  }

  /** Ends the block with a digest that was read; the chain goes on from it, so later blocks stand on their own. */
  matches(read: { readonly tUs: number; readonly count: number; readonly sha256: string }): boolean {
    const own = this.#end(read.tUs, read.count);
    this.#next(read.sha256, read.count);
    return own === read.sha256;
  }

  /** The digest line's own time and number are covered as well. */
  #end(tUs: number, count: number): string {
    return this.#block.update(`${tUs} digest ${count} `).digest('hex');
  }

  #next(sha256: string, count: number): void {
    this.#count = count;
    this.#block = createHash('sha256').update(sha256);
    this.#empty = true;
  }
}
