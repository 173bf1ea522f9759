/** Lines to and from a serial-line CAN adapter: greeting, commands with their answers, traffic of others counted. */

import { saying } from '../../core/error-says.ts';
import { HandbackError } from '../../core/errors.ts';
import type { Says } from '../../core/says.ts';
import { say } from '../../core/wire-says.ts';
import type { Haste } from '../adapter.ts';
import type { RxChunk } from '../received.ts';
import type { Wire } from '../wire.ts';
import { type FilterSetting, readStatus } from './filters.ts';
import { isOtherTraffic, readSlcanLine, type SlcanMeaning, SlcanSplitter, tellsOfWritten } from './read.ts';
import { ENDS, LineEnds } from './watch.ts';

/** For the answer to a command: before an adapter is known, and afterwards. */
const QUICK_MS = 150;
const COMMAND_MS = 400;
/** Against an adapter that has never said a word each command waits in vain. */
const UNHEARD_MS = 60;
export const LISTENS_A_SECOND = 4;
const LISTEN_MS = 1000 / LISTENS_A_SECOND;
/** What was still under way when the channel was closed has come when nothing more comes for this long. */
const SETTLE_MS = 40;
const SETTLE_TRIES = 60;

export interface HeardLine {
  readonly meaning: SlcanMeaning;
  readonly chunk: RxChunk;
}

/** Lines in and out. Traffic of others is counted, never kept: a busy bus brings thousands of frames a second. */
export class SlcanPort {
  readonly wire: Wire;
  others = 0;
  /** Acknowledgements and error bells, and lines that make no sense, since the greeting began. */
  #sensible = 0;
  #malformed = 0;
  #bytes = 0;
  #commandMs = COMMAND_MS;
  readonly #ends = new LineEnds();
  #heard: ((line: HeardLine) => void) | null = null;

  constructor(wire: Wire) {
    this.wire = wire;
    const splitter = new SlcanSplitter();
    wire.onData((chunk) => {
      this.#bytes += chunk.bytes.length;
      const lines = splitter.push(chunk);
      // All that came, before any of it is answered: none of it tells of a line that is written only then.
      for (const line of lines) {
        const told = tellsOfWritten(line);
        if (told !== null) this.#ends.heard(told);
      }
      for (const line of lines) {
        const meaning = readSlcanLine(line);
        if (isOtherTraffic(meaning)) {
          this.others++;
          continue;
        }
        if (meaning.kind === 'malformed') this.#malformed++;
        else this.#sensible++;
        const bytes = line.whole;
        wire.tap({ kind: 'rx', tUs: line.tUs, bytes });
        this.#heard?.({ meaning, chunk: { tUs: line.tUs, bytes } });
      }
    });
  }

  get heardAnything(): boolean {
    return this.#bytes > 0;
  }

  /** Characters, those of other traffic too. */
  get received(): number {
    return this.#bytes;
  }

  send(line: string): void {
    const text = `${this.#ends.sure ? '' : ENDS}${line}\r`;
    this.#ends.wrote(text);
    const bytes = new Uint8Array(text.length);
    for (let i = 0; i < bytes.length; i++) bytes[i] = text.charCodeAt(i);
    this.wire.send(bytes);
  }

  /** `hear` gets each line until `finish` is called, the link is lost, or nothing extends the wait. */
  async listen<T>(
    ms: number,
    start: (finish: (value: T) => void, extend: (ms: number) => void) => (line: HeardLine) => void,
    then: () => void = () => undefined,
  ): Promise<T | 'timeout' | 'lost'> {
    const end = await this.wire.wait<T>(ms, (finish, extend) => {
      this.#heard = start(finish, extend);
      then();
    });
    this.#heard = null;
    return end;
  }

  /** What comes back to a command, as text without its end; '' when nothing does. */
  async answerTo(text: string): Promise<string> {
    const answer = await this.listen<string>(
      this.#commandMs,
      (finish) =>
        ({ chunk }) =>
          finish(String.fromCharCode(...chunk.bytes)),
      () => this.send(text),
    );
    return answer === 'timeout' || answer === 'lost' ? '' : answer;
  }

  command(text: string): Promise<'ok' | 'refused' | 'timeout' | 'lost'> {
    return this.listen<'ok' | 'refused'>(
      this.#commandMs,
      (finish) =>
        ({ meaning }) => {
          if (meaning.kind === 'reply') finish('ok');
          else if (meaning.kind === 'error') finish('refused');
        },
      () => this.send(text),
    );
  }

  /**
   * @returns the version as received; null where nothing came back, which some adapters never do: the patient
   * then listens for frames and asks a vehicle.
   * @throws HandbackError adapter.silent or adapter.nonsense
   */
  async identify(haste: Haste): Promise<string | null> {
    const ms = haste === 'quick' ? QUICK_MS : COMMAND_MS;
    this.#commandMs = ms;
    // Closes the channel so that traffic does not drown the answer; twice, because the first may only end what
    // stood half-typed. Never an empty line: a text adapter would repeat its last command, whatever that was.
    await this.command('C');
    await this.command('C');
    this.#sensible = 0;
    this.#malformed = 0;
    this.#bytes = 0;
    for (let i = 0; i < (haste === 'quick' ? 1 : 2); i++) {
      const version = await this.listen<string>(
        ms,
        (finish) =>
          ({ chunk }) => {
            const text = String.fromCharCode(...chunk.bytes).trim();
            if (/^[Vv][0-9A-Za-z]{2,}/.test(text)) finish(text);
          },
        () => this.send('V'),
      );
      this.#commandMs = COMMAND_MS;
      if (version === 'lost')
        throw new HandbackError(
          'link.lost',
          saying('error.lost-because', { why: this.wire.lost ?? say('wire.link-closed') }),
        );
      if (version !== 'timeout') return version;
    }
    if (this.#malformed > 0 || (this.#bytes > 0 && this.#sensible + this.others === 0))
      throw new HandbackError('adapter.nonsense', saying('error.no-lines'));
    // Some do not know the question for the version; a bell or an empty line each time is an answer, too.
    if (this.#sensible >= (haste === 'quick' ? 1 : 2)) return 'no name';
    if (haste === 'quick') throw new HandbackError('adapter.silent', saying('error.nothing-back'));
    this.#commandMs = UNHEARD_MS;
    return null;
  }

  /** Frames of anyone in a quarter of a second, only listening; null when the adapter cannot just listen. */
  async traffic(rate: string, filter: FilterSetting | null = null): Promise<number | null> {
    await this.command('C');
    if ((await this.command(rate)) === 'refused') return null;
    if (filter && !(await this.setFilter(filter))) return null;
    if ((await this.command('L')) === 'refused') return null;
    const before = this.others;
    await this.listen(LISTEN_MS, () => () => undefined);
    const heard = this.others - before;
    await this.command('C');
    await this.#settle();
    return heard;
  }

  /** False unless the adapter says yes to both parts. The channel has to be closed, its bit rate chosen. */
  async setFilter({ code, mask }: FilterSetting): Promise<boolean> {
    return (await this.command(`M${code}`)) === 'ok' && (await this.command(`m${mask}`)) === 'ok';
  }

  /** What the adapter's flags say since they were read last; null where it gives none. */
  async status(): Promise<readonly Says[] | null> {
    const said = await this.listen<readonly Says[] | null>(
      this.#commandMs,
      (finish) =>
        ({ meaning, chunk }) => {
          const flags = readStatus(String.fromCharCode(...chunk.bytes));
          if (flags) finish(flags);
          else if (meaning.kind === 'error') finish(null);
        },
      () => this.send('F'),
    );
    return said === 'timeout' || said === 'lost' ? null : said;
  }

  async #settle(): Promise<void> {
    for (let i = 0; i < SETTLE_TRIES; i++) {
      const before = this.#bytes;
      if ((await this.listen(SETTLE_MS, () => () => undefined)) === 'lost' || this.#bytes === before) return;
    }
  }
}
