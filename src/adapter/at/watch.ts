/**
 * The gate's view of a text adapter. Characters may be lost on the way to it, and what is left of `0104` may be `04`.
 * So a line is typed first, without its end. The adapter says back what it heard (echo); only when that is the line,
 * to the letter, may the line end follow, and that is one character: it arrives or it does not. What was lost on the
 * way there cannot be made good by what is lost on the way back: both only take characters away.
 *
 * What is half typed and wrong is spoilt with letters that stand in no request, and ended when one of them was heard.
 * Blind, in one piece, go only lines of which no part is a request, whatever is lost of them.
 * Common practice, from memory: the echo is on after a reset; a line with other letters than hex digits, that is no
 * command, is refused whole.
 */
import type { LineWatch, Permission } from '../dialect.ts';

/** Stands in no request and begins, ends or continues no command. */
export const SPOIL = 'QQQQQQQQ';

/** Settings of a text adapter; none of them makes it send anything of its own but what a vehicle search needs. */
const SETTINGS = [
  /^AT(I|Z|WS|D|PC|RV|DP|DPN|AR|@1)$/,
  /^AT[LSH][01]$/,
  /^ATAT[012]$/,
  /^ATST[0-9A-F]{2}$/,
  /^AT[ST]PA?[0-9A-C]$/,
  /^ATBR[DT][0-9A-F]{2}$/, // line speed and the time to confirm it in
  /^ATCRA([0-9A-F]{3}|[0-9A-F]{8})?$/,
  // requests to all units and to one; with another identifier even a reading request would be some other message
  /^ATSH(7DF|7E[0-7]|(18)?DB33F1|(18)?DA[0-9A-F]{2}F1)$/,
];
/** The header for one unit of a K-line, and the address that a slow wake-up calls: on ISO 14230 alone. */
const UNIT_HEADER = /^ATSH8210F1$/;
const UNIT_WAKE = /^ATIIA10$/;
const PROTOCOL = /^AT[ST]P/;
const KLINE_PROTOCOL = /^AT[ST]P[45]$/;
const FORGETS_HEADER = /^AT(D|Z|WS)$/;
/** No part of them is two hex digits. */
const BLIND = new Set([SPOIL, 'ATI', 'ATZ', 'ATWS']);
const REQUEST = /^[0-9A-F]{2,15}$/;

export function goesBlind(line: string): boolean {
  return BLIND.has(line);
}

/** What an echo is compared by: without what adapters slip in, leave out or write otherwise. */
export function heardAs(bytes: Uint8Array): string {
  return String.fromCharCode(...bytes)
    .replaceAll(/[\0\n ]/g, '')
    .toUpperCase();
}

export class TextWatch implements LineWatch {
  readonly #may: Permission;
  /** Written since the last line end; what was heard since then. */
  #typed = '';
  #echo = '';
  /** What stands half typed at the other end is not known, or an answer is under way: no prompt since. */
  #open = true;
  /** The line that an empty one would repeat; '' when that is not known to be a checked one. */
  #last = '';
  /** The last line whole, and what was heard of its answer. */
  #command = '';
  #answer = '';
  /** A protocol of ISO 14230 was chosen and confirmed. */
  #onKline = false;
  /** A header for one unit of a K-line may be set: on another bus it would be somebody's identifier. */
  #unitHeader = false;

  constructor(may: Permission) {
    this.#may = may;
  }

  heard(bytes: Uint8Array): void {
    if (this.#typed !== '') this.#echo += heardAs(bytes).slice(0, 2048);
    else {
      this.#answer = (this.#answer + heardAs(bytes)).slice(-2048);
      if (!bytes.includes(0x3e)) return;
      this.#open = false;
      this.#answered();
    }
  }

  #answered(): void {
    const command = this.#command;
    if (KLINE_PROTOCOL.test(command) && this.#answer.includes('OK')) this.#onKline = true;
    if (FORGETS_HEADER.test(command) && !this.#answer.includes('?')) this.#unitHeader = false;
    this.#command = '';
  }

  mayPass(bytes: Uint8Array): boolean {
    if (bytes.length > 64) return false;
    const text = String.fromCharCode(...bytes);
    if (text === '\r') return this.#end();
    const [, line = '', end = ''] = /^([0-9A-Z@]+)(\r?)$/.exec(text) ?? [];
    if (line === '') return false;
    return end === '' ? this.#type(line) : this.#blind(line);
  }

  #type(line: string): boolean {
    const spoils = line === SPOIL;
    if (!spoils && (this.#open || this.#typed !== '' || !this.#isKnown(line))) return false;
    if (this.#typed === '') this.#echo = '';
    this.#typed += line;
    if (this.#typed.length > 256) this.#typed = SPOIL;
    return true;
  }

  #end(): boolean {
    if (this.#typed === '') return this.#mayRepeat();
    const spoilt = this.#typed.endsWith(SPOIL);
    if (spoilt ? !this.#echo.includes(SPOIL[0]!) : this.#echo !== this.#typed) return false;
    this.#last = spoilt ? '' : this.#typed;
    this.#ended(this.#last);
    this.#typed = '';
    this.#open = true;
    return true;
  }

  #ended(line: string): void {
    this.#command = line;
    this.#answer = '';
    if (PROTOCOL.test(line) || FORGETS_HEADER.test(line)) this.#onKline = false;
    if (UNIT_HEADER.test(line)) this.#unitHeader = true;
  }

  /**
   * An empty line makes the adapter do the last thing again: that is one checked request, answered to its prompt; or
   * the change of line speed, which it confirms, and where again is the same.
   */
  #mayRepeat(): boolean {
    const last = this.#last;
    if (last.startsWith('ATBRD')) {
      this.#last = '';
      return true;
    }
    if (this.#open || this.#asks(last) !== 'yes') return false;
    this.#open = true;
    return true;
  }

  #blind(line: string): boolean {
    if (!goesBlind(line) || this.#typed !== '') return false;
    this.#ended(line);
    this.#last = '';
    this.#open = true;
    return true;
  }

  #isKnown(line: string): boolean {
    if (UNIT_HEADER.test(line) || UNIT_WAKE.test(line)) return this.#onKline;
    if (this.#unitHeader && PROTOCOL.test(line) && !KLINE_PROTOCOL.test(line)) return false;
    return SETTINGS.some((setting) => setting.test(line)) || this.#asks(line) !== 'no';
  }

  #asks(line: string): ReturnType<Permission['ask']> {
    // a last odd digit tells how many answers to wait for
    return REQUEST.test(line) ? this.#may.ask(Buffer.from(line.slice(0, line.length & ~1), 'hex')) : 'no';
  }
}
