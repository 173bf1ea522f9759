/** One language in one choice of units: says statements. Page, sheet, command line and voice all speak through it. */
import { MessageFormat } from 'messageformat';
import type { Says } from '../core/says.ts';
import { functionsFor } from './functions.ts';
import { Measures, type UnitChoice } from './measures.ts';

export interface Language {
  /** BCP 47, as in the page's `lang`. */
  readonly lang: string;
  /** For numbers and dates. */
  readonly locale: string;
  /** How the language writes revolutions per minute. */
  readonly rpm: string;
  readonly messages: Readonly<Record<string, string>>;
}

export class Words {
  readonly language: Language;
  readonly measures: Measures;
  readonly #functions: ReturnType<typeof functionsFor>;
  /** Messages as parsed, when first used. */
  readonly #parsed = new Map<string, MessageFormat<'string'>>();

  /** @param timeZone IANA name */
  constructor(language: Language, units: UnitChoice, timeZone: string) {
    this.language = language;
    this.measures = new Measures(language.locale, units, timeZone, language.rpm);
    this.#functions = functionsFor(this);
  }

  /**
   * The statement in words. An id that the language lacks (a statement of a newer version, read from a file) is
   * spelt as it is. An arg that a message cannot use throws: that is a mistake in the code.
   */
  say(says: Says): string {
    const message = this.#message(says.id);
    if (message === null) return `${says.id} ${JSON.stringify(says.args)}`;
    return message.format({ ...says.args }, (error) => {
      throw new Error(`${this.language.lang}: ${says.id}`, { cause: error });
    });
  }

  /** Whether the language has a message for it. */
  speaks(says: Says): boolean {
    return Object.hasOwn(this.language.messages, says.id);
  }

  /** The words of an id of a group (`verdict`, `signal` …), or the id itself. */
  name(group: string, id: string): string {
    return this.known(`${group}.${id}`) ?? id;
  }

  /** The words of an id without args, null when the language has none. */
  known(id: string): string | null {
    return this.#message(id)?.format({}) ?? null;
  }

  #message(id: string): MessageFormat<'string'> | null {
    const parsed = this.#parsed.get(id);
    if (parsed) return parsed;
    const source = Object.hasOwn(this.language.messages, id) ? this.language.messages[id] : undefined;
    if (source === undefined) return null;
    const message = new MessageFormat<'string'>(this.language.locale, source, {
      bidiIsolation: 'none',
      functions: this.#functions,
    });
    this.#parsed.set(id, message);
    return message;
  }
}
