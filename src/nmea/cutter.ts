/** Bytes of a receiver → lines. The library cuts; what it may hold back is bounded here. */
import { ReadlineParser } from '@serialport/parser-readline';

/** More than this without a line end is no receiver, or not its line speed. */
const MAX_HELD_BYTES = 1024;

/**
 * Lines come during `push`, without their line end, one character a byte; empty ones do not come.
 *
 * The library joins what it holds with every portion: 1 MB without a line end in portions of 256 bytes took 0.7 s, 4 MB
 * 21 s (measured once, one core), on the thread that records. So it is started anew when it holds more than any line.
 */
export class LineCutter {
  readonly #onLine: (line: string) => void;
  #parser: ReadlineParser;
  #held = 0;
  /** The rest of a line that was too long is not the beginning of one. */
  #skipping = false;

  constructor(onLine: (line: string) => void) {
    this.#onLine = onLine;
    this.#parser = this.#fresh();
  }

  push(bytes: Uint8Array): void {
    for (let at = 0; at < bytes.length; at += MAX_HELD_BYTES) {
      const part = bytes.subarray(at, at + MAX_HELD_BYTES);
      this.#held += part.length;
      const last = part.lastIndexOf(10);
      this.#parser.write(part);
      if (last >= 0) this.#held = part.length - 1 - last;
      else if (this.#held > MAX_HELD_BYTES) {
        this.#parser.destroy();
        this.#parser = this.#fresh();
        this.#held = 0;
        this.#skipping = true;
      }
    }
  }

  #fresh(): ReadlineParser {
    const parser = new ReadlineParser({ delimiter: '\n', encoding: 'latin1' });
    parser.on('data', (line: string) => {
      const whole = !this.#skipping;
      this.#skipping = false;
      if (whole) this.#onLine(line.endsWith('\r') ? line.slice(0, -1) : line);
    });
    return parser;
  }
}
