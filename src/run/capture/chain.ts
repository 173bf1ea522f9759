/** The running digest: each digest line covers the lines since the one before it, and that one's digest. */
import { createHash, type Hash } from 'node:crypto';
import { linesOf } from './format.ts';

const NOTHING_YET = '0'.repeat(64);

export class DigestChain {
  #previous = NOTHING_YET;
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
    const sha256 = this.#block.digest('hex');
    this.#next(sha256, this.#count + 1);
    return linesOf({ kind: 'digest', tUs, count: this.#count, sha256 })[0]!;
  }

  /** Ends the block with a digest that was read; the chain goes on from it, so later blocks stand on their own. */
  compare(count: number, sha256: string): { readonly matches: boolean; readonly missing: number } {
    const matches = this.#block.digest('hex') === sha256;
    const missing = count - this.#count - 1;
    this.#next(sha256, count);
    return { matches, missing };
  }

  #next(sha256: string, count: number): void {
    this.#previous = sha256;
    this.#count = count;
    this.#block = createHash('sha256').update(this.#previous);
    this.#empty = true;
  }
}
