/**
 * The conversation with an AT-command adapter: a line typed, compared with its echo, ended; then text until the
 * prompt. Why it is typed like that stands in watch.ts, which lets nothing else pass. Bounded.
 */
import type { Discard } from '../adapter.ts';
import type { RxChunk } from '../received.ts';
import type { Wire } from '../wire.ts';
import { PROMPT } from './lines.ts';
import { goesBlind, heardAs, SPOIL } from './watch.ts';

const MAX_ANSWER = 64 * 1024;
const MAX_UNTIL = 2048;
/** An empty line stands before the prompt; when that came and no prompt with it, the prompt was lost. */
const PROMPT_DUE_MS = 200;
const MAX_STRAY = 100;
/** The prompt is the last thing in an answer; bytes right behind it mean that it belonged to an earlier one. */
const SETTLE_MS = 60;
const RESYNC_TRIES = 4;
const PROMPT_MS = 1000;
/** However much trickles in, an answer is over by then: first wait, quiet wait and this. */
const GRACE_MS = 2000;
/** An echo comes at once: what a link may add to that at first, and at least (a busy computer); chosen, no source. */
const ECHO_MS = { first: 400, least: 150, most: 1000 } as const;
/** Of typing a line: where one character in twenty is lost, one of four times it arrives whole and is heard whole. */
const TYPE_TRIES = 24;
const SPOIL_TRIES = 3;
/** What comes first and is no echo for so long is noise, or an answer that is being broken off. */
const NOISE_MS = 250;
const SEND_TRIES = 8;

export interface Conversation {
  readonly rx: readonly RxChunk[];
  /** `unsent`: the line could not be typed without characters being lost on the way. */
  readonly end: 'prompt' | 'timeout' | 'lost' | 'too much' | 'unsent';
}

/** What became of the characters on the line: for people, and to know a bad cable. */
export interface LineQuality {
  /** Lines typed, and those of them that did not come back as they were. */
  readonly typed: number;
  readonly retyped: number;
  /** Times that an empty line stood for the line before. */
  readonly repeated: number;
}

/** What the other end is at, as far as we can know. */
type At =
  /** At work, or nobody knows. */
  | 'unknown'
  /** A prompt came since the last line end: it waits for a line. */
  | 'ready'
  /** Likewise, and what came before that prompt was the answer to a checked request: an empty line asks it again. */
  | 'answered'
  /** It waits, and something stands half typed at its prompt. */
  | 'typed'
  /** Something stands half typed, and nobody knows whether it waits. */
  | 'half typed';

type Happens =
  /** Characters were sent, no line end. */
  | 'typed'
  /** A line end was sent. */
  | 'ended'
  /** One that was due was not sent any more. */
  | 'given up'
  /** A prompt came. */
  | 'prompt'
  /** It was that of a checked request. */
  | 'answered'
  /** Something else was done with the line: whether the adapter remembers its last request is not known. */
  | 'other';

const NEXT: Readonly<Record<At, Readonly<Record<Happens, At>>>> = {
  unknown: {
    ...{ typed: 'half typed', ended: 'unknown', 'given up': 'unknown' },
    ...{ prompt: 'ready', answered: 'unknown', other: 'unknown' },
  },
  ready: {
    ...{ typed: 'typed', ended: 'unknown', 'given up': 'unknown' },
    ...{ prompt: 'ready', answered: 'answered', other: 'ready' },
  },
  answered: {
    ...{ typed: 'typed', ended: 'unknown', 'given up': 'unknown' },
    ...{ prompt: 'answered', answered: 'answered', other: 'ready' },
  },
  typed: {
    ...{ typed: 'typed', ended: 'unknown', 'given up': 'half typed' },
    ...{ prompt: 'typed', answered: 'typed', other: 'typed' },
  },
  'half typed': {
    ...{ typed: 'half typed', ended: 'unknown', 'given up': 'half typed' },
    ...{ prompt: 'typed', answered: 'half typed', other: 'half typed' },
  },
};

/** Whatever is typed stands alone. */
const WAITS: ReadonlySet<At> = new Set(['ready', 'answered']);
const HOLDS_CHARACTERS: ReadonlySet<At> = new Set(['typed', 'half typed']);

/** What it says back of what it hears. Until it is known to, only lines go out of which no part is a request. */
interface Echo {
  readonly characters: boolean;
  /** Line ends, too: then a silence behind one means that it was lost. */
  readonly ends: boolean;
  /** How long we wait for it. */
  readonly ms: number;
}

/** What comes while somebody listens. */
interface Heard {
  readonly rx: RxChunk[];
  bytes: number;
  prompted: boolean;
  readonly look: () => void;
}

export interface AskOptions {
  /** After the first byte, the answer is given up when nothing follows for this long; default: as long as for the first. */
  readonly quietMs?: number;
  /** While the text so far matches, `ms` counts instead (the adapter says that it is searching). */
  readonly longWords?: RegExp;
  /** An empty line makes the adapter do the last thing again, proved: it may stand for the line. */
  readonly mayRepeat?: boolean;
  /** Called right before each line end. */
  readonly onSend?: () => void;
}

export class PromptChannel {
  readonly #wire: Wire;
  /** `last`: the checked request that was answered last. */
  #line: { readonly at: At; readonly last: string } = { at: 'unknown', last: '' };
  #echo: Echo = { characters: false, ends: false, ms: ECHO_MS.first };
  #quality: LineQuality = { typed: 0, retyped: 0, repeated: 0 };
  #heard: Heard | null = null;
  #stray: Discard[] = [];
  /** After this nothing is asked any more and everything times out: what a device may cost us while being set up. */
  limitUs = Number.POSITIVE_INFINITY;

  constructor(wire: Wire) {
    this.#wire = wire;
    wire.onData((chunk) => {
      const heard = this.#heard;
      if (heard === null) {
        if (this.#stray.length < MAX_STRAY)
          this.#stray.push({ ...chunk, why: 'came when nothing was asked' });
        return;
      }
      heard.rx.push(chunk);
      heard.bytes += chunk.bytes.length;
      if (chunk.bytes.includes(PROMPT)) heard.prompted = true;
      heard.look();
    });
  }

  get quality(): LineQuality {
    return this.#quality;
  }

  /** It says back what it hears. */
  get echoes(): boolean {
    return this.#echo.characters;
  }

  /** What came when nothing was asked, since the last look. */
  takeStray(): Discard[] {
    const stray = this.#stray;
    this.#stray = [];
    return stray;
  }

  /** Types a line, ends it, and listens until its prompt. @param ms for the first byte of the answer */
  async ask(line: string, ms: number, options: AskOptions = {}): Promise<Conversation> {
    const { quietMs = ms, longWords = null, mayRepeat = false, onSend } = options;
    for (let i = 0; i < SEND_TRIES; i++) {
      const typed = await this.#prepare(line, mayRepeat);
      if (typed !== 'typed') return { rx: [], end: typed };
      onSend?.();
      const said = await this.#answer(this.echoes ? '\r' : `${line}\r`, ms, quietMs, longWords);
      if (said.end === 'prompt' && this.echoes && !line.startsWith('AT')) this.#happens('answered', line);
      if (said.end !== 'timeout' || said.rx.length > 0 || !this.#echo.ends) return said;
      // Not even the line end came back: it was lost, or its echo was and the adapter is at work.
      this.#count('retyped');
      if (!(await this.#spoil(this.#echo.ms, PROMPT_MS)).ended) return said;
    }
    return { rx: [], end: 'unsent' };
  }

  /** Only listens, until a prompt or until nothing came for so long. */
  listen(ms: number): Promise<Conversation> {
    return this.#hear('', ms, ms, null);
  }

  /**
   * Sends (unless '') and listens until `enough` or the time is over, prompt or not. @returns the text that came.
   * For the conversation that changes the line speed; everything else ends with a prompt.
   * @param line `\r`: the empty line that confirms it
   */
  async until(line: string, enough: (text: string) => boolean, ms: number): Promise<string> {
    if (this.#wire.clock.nowUs() > this.limitUs) return '';
    const empty = line === '' || line === '\r';
    if (!empty && !goesBlind(line) && (await this.#prepare(line, false)) !== 'typed') return '';
    this.#happens('other');
    const blind = !empty && goesBlind(line);
    if (blind && HOLDS_CHARACTERS.has(this.#line.at)) return ''; // it would end what is half typed
    const text = empty ? line : blind ? `${line}\r` : '\r';
    return textOf(await this.#collect(text, (rx) => enough(textOf(rx)), ms));
  }

  /** Does it say back what it hears? Asked with a line that is no command. */
  async findEcho(ms: number): Promise<Conversation> {
    this.distrustEcho();
    const said = await this.#hear(`${SPOIL}\r`, ms, ms, null);
    this.#echo = { ...this.#echo, characters: heardAs(joined(said.rx)).includes(SPOIL[0]!) };
    return said;
  }

  /** What it said back was no echo, or something else speaks there. */
  distrustEcho(): void {
    this.#echo = { ...this.#echo, characters: false };
  }

  /**
   * After a lost prompt: interrupts whatever the adapter is doing, with letters that are then refused as no command,
   * until the answer to that, and nothing else, comes back. A bare line end would make an idle adapter repeat its
   * last command.
   */
  async resync(): Promise<boolean> {
    let silent = 0;
    for (let i = 0; i < RESYNC_TRIES && silent < 2 && !this.#wire.lost; i++) {
      const stopped = await this.#spoil(PROMPT_MS + 150 * (i + 1), PROMPT_MS, 1);
      if (!stopped.heard) {
        silent++;
        continue;
      }
      const more = await this.listen(SETTLE_MS);
      if (stopped.ended && more.rx.length === 0) return true;
      // Something still came: let it run out, then ask again.
      await this.listen(4 * SETTLE_MS);
    }
    return false;
  }

  /** Types what cannot be sent in one piece, and compares. */
  async #prepare(line: string, mayRepeat: boolean): Promise<'typed' | 'timeout' | 'lost' | 'unsent'> {
    if (this.#wire.clock.nowUs() > this.limitUs) return 'timeout';
    if (!this.echoes) return goesBlind(line) ? 'typed' : 'unsent';
    if (mayRepeat && this.#line.at === 'answered' && line === this.#line.last) {
      this.#count('repeated');
      return 'typed';
    }
    if (!WAITS.has(this.#line.at) && !(await this.#spoil(PROMPT_MS, PROMPT_MS)).ended)
      return this.#wire.lost ? 'lost' : 'timeout';
    for (let i = 0; i < TYPE_TRIES; i++) {
      const fromUs = this.#wire.clock.nowUs();
      this.#count('typed');
      const rx = await this.#collect(
        line,
        (came) => !line.startsWith(heardAs(joined(came))),
        this.#echo.ms,
        line,
      );
      if (this.#wire.lost) return 'lost';
      if (heardAs(joined(rx)) === line) {
        this.#learnEcho((this.#wire.clock.nowUs() - fromUs) / 1000);
        return 'typed';
      }
      this.#count('retyped');
      const { ended, heard } = await this.#spoil(this.#echo.ms, PROMPT_MS);
      if (!ended && !heard) return this.#wire.lost ? 'lost' : 'timeout';
      if (!ended) break;
    }
    return 'unsent';
  }

  #learnEcho(ms: number): void {
    const now = Math.min(ECHO_MS.most, Math.max(ECHO_MS.least, 4 * ms));
    const { ms: before } = this.#echo;
    this.#echo = { ...this.#echo, ms: now > before ? now : before + 0.1 * (now - before) };
  }

  /** Makes what stands half typed at the other end, whatever it is, no command, and ends it. */
  async #spoil(
    echoMs: number,
    promptMs: number,
    tries = SPOIL_TRIES,
  ): Promise<{ heard: boolean; ended: boolean }> {
    this.#happens('other');
    let heard = false;
    for (let i = 0; i < tries && !this.#wire.lost; i++) {
      const isSpoilt = (rx: readonly RxChunk[]) => heardAs(joined(rx)).includes(SPOIL[0]!);
      const rx = await this.#collect(SPOIL, isSpoilt, echoMs, null, NOISE_MS);
      heard ||= rx.length > 0;
      if (!isSpoilt(rx)) continue;
      if ((await this.#hear('\r', promptMs, promptMs, null)).end === 'prompt') return { heard, ended: true };
    }
    return { heard, ended: false };
  }

  async #answer(text: string, ms: number, quietMs: number, longWords: RegExp | null): Promise<Conversation> {
    if (!this.#echo.ends) {
      const said = await this.#hear(text, ms, quietMs, longWords);
      const first = said.rx[0]?.bytes.find((b) => b !== 0 && b !== 0x20);
      if (this.echoes && (first === 0x0d || first === 0x0a)) this.#echo = { ...this.#echo, ends: true };
      return said;
    }
    return this.#hear(text, ms, quietMs, longWords, this.#echo.ms);
  }

  /** @param firstMs within this the first byte has to come */
  async #hear(
    text: string,
    ms: number,
    quietMs: number,
    longWords: RegExp | null,
    firstMs = ms,
  ): Promise<Conversation> {
    const { clock } = this.#wire;
    if (clock.nowUs() > this.limitUs) {
      if (text !== '') this.#happens('given up');
      return { rx: [], end: 'timeout' };
    }
    const deadlineUs = clock.nowUs() + (ms + quietMs + GRACE_MS) * 1000;
    const end = await this.#wire.wait<'prompt' | 'too much'>(Math.min(ms, firstMs), (finish, extendBy) => {
      const extend = (by: number) => extendBy(Math.max(0, Math.min(by, (deadlineUs - clock.nowUs()) / 1000)));
      this.#listen(({ rx, bytes, prompted }) => {
        if (prompted) finish('prompt');
        else if (bytes > MAX_ANSWER) finish('too much');
        else if (isBlank(rx))
          extend(ms); // the echo of the line end: nothing was said yet
        else if (endsInBlankLine(rx)) extend(Math.min(quietMs, PROMPT_DUE_MS));
        else extend(longWords && bytes < 64 && longWords.test(textOf(rx)) ? ms : quietMs);
      });
      this.#send(text);
    });
    if (end === 'prompt') this.#happens('prompt');
    return { rx: this.#end(), end };
  }

  /** Until `enough`, or `whole` has come, or the time is over: `settleMs` from the first byte on where given. */
  async #collect(
    text: string,
    enough: (rx: readonly RxChunk[]) => boolean,
    ms: number,
    whole: string | null = null,
    settleMs: number | null = null,
  ): Promise<readonly RxChunk[]> {
    await this.#wire.wait<'enough'>(ms, (finish, extend) => {
      this.#listen(({ rx, bytes }) => {
        if (rx.length === 1 && settleMs !== null) extend(settleMs);
        if (bytes > MAX_UNTIL || enough(rx)) finish('enough');
        else if (whole !== null && heardAs(joined(rx)) === whole) finish('enough');
      });
      this.#send(text);
    });
    return this.#end();
  }

  #send(text: string): void {
    if (text === '') return;
    this.#happens(text.endsWith('\r') ? 'ended' : 'typed');
    this.#wire.send(ascii(text));
  }

  #happens(what: Happens, last = this.#line.last): void {
    this.#line = { at: NEXT[this.#line.at][what], last };
  }

  #count(what: keyof LineQuality): void {
    this.#quality = { ...this.#quality, [what]: this.#quality[what] + 1 };
  }

  #listen(look: (heard: Heard) => void): void {
    const heard: Heard = { rx: [], bytes: 0, prompted: false, look: () => look(heard) };
    this.#heard = heard;
  }

  #end(): readonly RxChunk[] {
    const rx = this.#heard?.rx ?? [];
    this.#heard = null;
    return rx;
  }
}

function isBlank(rx: readonly RxChunk[]): boolean {
  return rx.every((c) => c.bytes.every((b) => b === 0 || b === 0x0d || b === 0x0a || b === 0x20));
}

function endsInBlankLine(rx: readonly RxChunk[]): boolean {
  const tail = textOf(rx.slice(-4)).replaceAll(/[\0\n]/g, '');
  return tail.endsWith('\r\r') && /[^\r]\r+$/.test(tail);
}

function joined(rx: readonly RxChunk[]): Uint8Array {
  return rx.length === 1 ? rx[0]!.bytes : Uint8Array.from(rx.flatMap((c) => [...c.bytes]));
}

/** One character a byte. */
export function textOf(rx: readonly RxChunk[]): string {
  return rx.map((c) => String.fromCharCode(...c.bytes)).join('');
}

export function ascii(text: string): Uint8Array {
  return Uint8Array.from(text, (c) => c.charCodeAt(0));
}
