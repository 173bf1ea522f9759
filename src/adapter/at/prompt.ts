/** One command out, text in until the prompt: the conversation with an AT-command adapter. Bounded. */
import type { Discard } from '../adapter.ts';
import type { Wire } from '../wire.ts';
import type { RxChunk } from './lines.ts';
import { PROMPT } from './lines.ts';

const MAX_ANSWER = 64 * 1024;
const MAX_UNTIL = 2048;
/** An empty line stands before the prompt; when that came and no prompt with it, the prompt was lost. */
const PROMPT_DUE_MS = 200;
const MAX_STRAY = 100;
/** The prompt is the last thing in an answer; bytes right behind it mean that it belonged to an earlier one. */
const SETTLE_MS = 60;
const RESYNC_TRIES = 4;
const NAME_MS = 1000;
/** However much trickles in, an answer is over by then: first wait, quiet wait and this. */
const GRACE_MS = 2000;

export interface Conversation {
  readonly rx: readonly RxChunk[];
  readonly end: 'prompt' | 'timeout' | 'lost' | 'too much';
}

export class PromptChannel {
  readonly #wire: Wire;
  #rx: RxChunk[] = [];
  #bytes = 0;
  #heard: (() => void) | null = null;
  #prompted = false;
  #stray: Discard[] = [];
  /** What shows that it listens: its name, or a setting where it keeps silent about that. */
  probe: 'ATI' | 'ATE0' = 'ATI';
  /** After this nothing is asked any more and everything times out: what a device may cost us while being set up. */
  limitUs = Number.POSITIVE_INFINITY;

  constructor(wire: Wire) {
    this.#wire = wire;
    wire.onData((chunk) => {
      if (!this.#heard) {
        if (this.#stray.length < MAX_STRAY)
          this.#stray.push({ ...chunk, why: 'came when nothing was asked' });
        return;
      }
      this.#rx.push(chunk);
      this.#bytes += chunk.bytes.length;
      if (chunk.bytes.includes(PROMPT)) this.#prompted = true;
      this.#heard();
    });
  }

  /** What came when nothing was asked, since the last look. */
  takeStray(): Discard[] {
    const stray = this.#stray;
    this.#stray = [];
    return stray;
  }

  /**
   * @param quietMs after the first byte, the answer is given up when nothing follows for this long.
   * @param longWords while the text so far matches, `ms` counts instead (the adapter says that it is searching).
   */
  async ask(text: string, ms: number, quietMs = ms, longWords: RegExp | null = null): Promise<Conversation> {
    this.#rx = [];
    this.#bytes = 0;
    this.#prompted = false;
    const { clock } = this.#wire;
    if (clock.nowUs() > this.limitUs) return { rx: [], end: 'timeout' };
    const deadlineUs = clock.nowUs() + (ms + quietMs + GRACE_MS) * 1000;
    const end = await this.#wire.wait<'prompt' | 'too much'>(ms, (finish, extendBy) => {
      const extend = (by: number) => extendBy(Math.max(0, Math.min(by, (deadlineUs - clock.nowUs()) / 1000)));
      this.#heard = () => {
        if (this.#prompted) finish('prompt');
        else if (this.#bytes > MAX_ANSWER) finish('too much');
        else if (endsInBlankLine(this.#rx)) extend(Math.min(quietMs, PROMPT_DUE_MS));
        else extend(longWords && this.#bytes < 64 && longWords.test(textOf(this.#rx)) ? ms : quietMs);
      };
      if (text !== '') this.#wire.send(ascii(text));
    });
    this.#heard = null;
    const rx = this.#rx;
    this.#rx = [];
    return { rx, end };
  }

  /**
   * Sends (unless '') and listens until `enough` or the time is over, prompt or not. @returns the text that came.
   * For the conversation that changes the line speed; everything else ends with a prompt.
   */
  async until(text: string, enough: (text: string) => boolean, ms: number): Promise<string> {
    this.#rx = [];
    this.#bytes = 0;
    if (this.#wire.clock.nowUs() > this.limitUs) return '';
    await this.#wire.wait<'enough'>(ms, (finish) => {
      this.#heard = () => {
        if (this.#bytes > MAX_UNTIL || enough(textOf(this.#rx))) finish('enough');
      };
      if (text !== '') this.#wire.send(ascii(text));
    });
    this.#heard = null;
    const came = textOf(this.#rx);
    this.#rx = [];
    return came;
  }

  /**
   * After a lost prompt: interrupt whatever the adapter is doing and ask for its name (the probe) until the answer to that,
   * and nothing else, comes back. A space interrupts a running command and does nothing otherwise; a bare CR
   * would make an idle adapter repeat its last command, and that must never happen behind the gate's back.
   */
  async resync(): Promise<boolean> {
    let silent = 0;
    for (let i = 0; i < RESYNC_TRIES && silent < 2 && !this.#wire.lost; i++) {
      const stopped = await this.ask(' ', 150 * (i + 1));
      const named = await this.ask(`${this.probe}\r`, NAME_MS);
      if (stopped.rx.length + named.rx.length === 0) {
        silent++;
        continue;
      }
      const more = await this.ask('', SETTLE_MS);
      if (named.end === 'prompt' && more.rx.length === 0) return true;
      // Something still came: let it run out, then ask again.
      await this.ask('', 4 * SETTLE_MS);
    }
    return false;
  }
}

function endsInBlankLine(rx: readonly RxChunk[]): boolean {
  const tail = textOf(rx.slice(-4)).replaceAll(/[\0\n]/g, '');
  return tail.endsWith('\r\r') && /[^\r]\r+$/.test(tail);
}

/** One character a byte. */
export function textOf(rx: readonly RxChunk[]): string {
  return rx.map((c) => String.fromCharCode(...c.bytes)).join('');
}

export function ascii(text: string): Uint8Array {
  return Uint8Array.from(text, (c) => c.charCodeAt(0));
}
