/**
 * The gate's view of a serial-line CAN adapter. Nothing is said back, so a line passes only when nothing else can
 * become of it whatever is lost (see lost.ts), and when the line before it has surely ended: two that run together are
 * another one. Where neither an acknowledgement nor an answer showed that, line ends go first, four of them.
 */
import type { LineWatch, Permission } from '../dialect.ts';
import { isHarmless } from './lost.ts';
import { SlcanSplitter, tellsOfWritten } from './read.ts';

const SETTINGS = /^([CVNOLF]|S[0-8]|[Mm][0-9A-F]{8})$/;
// requests to all units and to one; with another identifier even a reading request would be some other message
const FRAME = /^(?:t(7DF|7E[0-7])|T(18DB33F1|18DA[0-9A-F]{2}F1))8([0-9A-F]{16})$/;

/** In front of a line when it is not known that the one before ended. */
export const ENDS = '\r\r\r\r';

/**
 * Line ends of a frame's line, written and not yet acknowledged by a line end, a bell or an answer. Both sides of the
 * gate count them. Behind a setting none is due: settings that run together are refused.
 */
export class LineEnds {
  #due = 0;

  get sure(): boolean {
    return this.#due <= 0;
  }

  wrote(text: string): void {
    this.#due = /[tT]/.test(text) ? text.split('\r').length - 1 : 0;
  }

  heard(kind: 'answer' | 'acknowledged'): void {
    this.#due = kind === 'answer' ? 0 : this.#due - 1;
  }
}

export class FrameWatch implements LineWatch {
  readonly #may: Permission;
  readonly #splitter = new SlcanSplitter();
  readonly #ends = new LineEnds();

  constructor(may: Permission) {
    this.#may = may;
  }

  heard(bytes: Uint8Array): void {
    for (const line of this.#splitter.push({ tUs: 0, bytes })) {
      const told = tellsOfWritten(line);
      if (told !== null) this.#ends.heard(told);
    }
  }

  mayPass(bytes: Uint8Array): boolean {
    if (bytes.length > 64) return false;
    const text = String.fromCharCode(...bytes);
    const [, ends = '', line = ''] = /^(\r{4})?([0-9A-Za-z]+)\r$/.exec(text) ?? [];
    if (ends === '' && !this.#ends.sure) return false;
    if (!SETTINGS.test(line) && !this.#isAllowed(line)) return false;
    this.#ends.wrote(text);
    return true;
  }

  #isAllowed(line: string): boolean {
    const data = Buffer.from(FRAME.exec(line)?.[3] ?? '', 'hex');
    const [kind = 0xff, service = 0] = data;
    // flow control: takes an answer, asks for nothing
    if (kind >> 4 === 3) return isHarmless(line, null, this.#may);
    if (kind >> 4 !== 0 || kind < 1 || kind >= data.length) return false;
    return this.#may.ask(data.subarray(1, 1 + kind)) !== 'no' && isHarmless(line, service, this.#may);
  }
}
