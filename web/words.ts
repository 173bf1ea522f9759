/** The page's language and units: chosen by the browser's languages or by hand, remembered; everything said goes through here. */

import { batch, signal } from '@preact/signals';
import { answerIn, markOfAnswer } from '../src/core/answers.ts';
import { LANGUAGE_IDS, type LanguageId } from '../src/core/languages.ts';
import { isSays, type Says } from '../src/core/says.ts';
import type { Unit } from '../src/core/signals.ts';
import type { PageTexts } from '../src/words/en/page.ts';
import { titleId } from '../src/words/finding-text.ts';
import { METRIC, parseUnits, type UnitChoice } from '../src/words/measures.ts';
import type { SaysOf } from '../src/words/spelled.ts';
import type { Variables } from '../src/words/statements.ts';
import type { Finding } from '../src/words/views.ts';
import { type Language, Words } from '../src/words/words.ts';
import { keep, kept, keptText } from './kept.ts';

/** In two parts: what a drive says, and the rest for the other places. */
const FETCH: Readonly<Record<LanguageId, Fetch>> = {
  en: { page: () => import('../src/words/en/page.ts'), more: () => import('../src/words/en/page-more.ts') },
  de: { page: () => import('../src/words/de/page.ts'), more: () => import('../src/words/de/page-more.ts') },
};
interface Fetch {
  page(): Promise<{ readonly page: Language }>;
  more(): Promise<{ readonly more: Language['messages']; readonly meanings: Language['messages'] }>;
}

/** Where pressure is read in bar, or in psi; elsewhere in kPa (common practice, no source). */
const BAR =
  'AT BE BG CH CY CZ DE DK EE ES FI FR GR HR HU IE IS IT LI LT LU LV MT NL NO PL PT RO SE SI SK TR'.split(
    ' ',
  );
const IMPERIAL: UnitChoice = { temperature: 'F', pressure: 'psi', speed: 'mph' };

/** Ids with a letter for each sort of unit, in the order of the help. */
export const UNIT_CHOICES = {
  temperature: { C: '°C', F: '°F' },
  pressure: { kPa: 'kPa', bar: 'bar', psi: 'psi' },
  speed: { 'km/h': 'km/h', mph: 'mph' },
} as const;

/** The units usual where this browser is at home. @param tag BCP 47 */
export function unitsOf(tag: string): UnitChoice {
  const locale = new Intl.Locale(tag);
  // Plain "en" is spoken everywhere.
  const region = locale.region ?? (locale.language === 'en' ? '' : (locale.maximize().region ?? ''));
  if (region === 'US' || region === 'LR') return IMPERIAL;
  if (region === 'GB') return { ...METRIC, pressure: 'psi', speed: 'mph' };
  return BAR.includes(region) ? { ...METRIC, pressure: 'bar' } : METRIC;
}

/** The first of the browser's languages that the page speaks. */
function languageOf(tags: readonly string[]): LanguageId {
  for (const tag of tags) {
    const id = LANGUAGE_IDS.find((known) => tag.toLowerCase().split('-')[0] === known);
    if (id) return id;
  }
  return 'en';
}

const asText = (u: UnitChoice) => `${u.temperature},${u.pressure},${u.speed}`;

function firstUnits(): UnitChoice {
  const before = parseUnits(keptText('units') ?? '');
  return 'unknown' in before ? unitsOf(navigator.languages[0] ?? 'en') : before;
}

const zone = Intl.DateTimeFormat().resolvedOptions().timeZone;
/** Nothing is said before a language is fetched. */
const MUTE: Language = { lang: '', locale: 'en', rpm: 'rpm', messages: {} };

export const words = signal(new Words(MUTE, METRIC, zone));
export const language = signal<LanguageId>('en');
export const units = signal<UnitChoice>(METRIC);

/** As the sheet's address wants it. */
export const unitsText = (): string => asText(units.value);

let whole = false;
/** What the other places say, once somebody wants it. */
let rest: Promise<void> = Promise.resolve();
/** What was asked for last: however the lines run, that is spoken in the end. */
let newest: Promise<void>;

/** Fetches and speaks a language; rejects where it cannot be fetched. */
function speak(id: LanguageId): Promise<void> {
  const fetched = Promise.all([FETCH[id].page(), whole ? FETCH[id].more() : null]);
  const spoken: Promise<void> = fetched.then(async ([{ page }, more]) => {
    if (spoken !== newest) return await newest;
    const own = navigator.languages.find((tag) => tag.toLowerCase().startsWith(`${page.lang}-`));
    const messages = { ...page.messages, ...more?.more, ...more?.meanings };
    batch(() => {
      language.value = id;
      words.value = new Words({ ...page, messages, locale: own ?? page.locale }, units.peek(), zone);
    });
    document.documentElement.lang = page.lang;
  });
  newest = spoken;
  return spoken;
}

/** Before a place other than the drive is shown. */
export function speakOfMore(): Promise<void> {
  if (whole) return rest;
  whole = true;
  rest = speak(language.peek()).catch((error) => {
    whole = false;
    throw error;
  });
  return rest;
}

/** The rest of the words comes when the drive has its own, however long nobody leaves the drive. */
const REST_AFTER_MS = 10_000;

/** @param all also what the other places say, because one of them is shown first */
export async function startWords(all: boolean): Promise<void> {
  units.value = firstUnits();
  const id = kept('language', LANGUAGE_IDS, languageOf(navigator.languages));
  whole = all;
  await speak(id).catch((error) => {
    if (!all) throw error;
    whole = false; // the place asks again, and says so where it cannot be had
    return speak(id);
  });
  setTimeout(() => void speakOfMore().catch(() => undefined), REST_AFTER_MS); // a place asks for them again
}

export function chooseLanguage(id: LanguageId): Promise<void> {
  return speak(id).then(() => keep('language', id));
}

export const nextLanguage = (): LanguageId =>
  LANGUAGE_IDS[(LANGUAGE_IDS.indexOf(language.value) + 1) % LANGUAGE_IDS.length]!;

export function chooseUnits(next: UnitChoice): void {
  units.value = next;
  keep('units', asText(next));
  words.value = new Words(words.value.language, next, zone);
}

// ---- saying -------------------------------------------------------------------------------------------------

type ArgsOf<Id extends keyof PageTexts> = { readonly [Name in Variables<PageTexts[Id]>]: string | number };

/** A text of the page. */
export function t<Id extends keyof PageTexts>(
  id: Id,
  ...[args]: [Variables<PageTexts[Id]>] extends [never] ? [] : [ArgsOf<Id>]
): string {
  return said({ id, args: (args as Says['args'] | undefined) ?? {} }, id);
}

/**
 * A field that came from the daemon in the page's language: by its statement where it carries one that the language
 * knows, else the sentence as it came.
 */
export function told<Holder extends object, Field extends Sentences<Holder>>(
  holder: Holder,
  field: Field,
): string | Extract<Holder[Field], null> {
  const text = holder[field] as string | null;
  const says = one((holder as Tellable).says?.[field]);
  if (text === null) return text as Extract<Holder[Field], null>;
  return says && words.value.speaks(says) ? said(says, text) : text;
}

/** Types of rooms whose sentences are no statements yet do not name `says`. */
interface Tellable {
  readonly says?: SaysOf;
}
const one = (says: Says | readonly Says[] | undefined): Says | undefined => (isSays(says) ? says : undefined);
type Sentences<Holder> = {
  [Field in keyof Holder]: Holder[Field] extends string | null ? Field : never;
}[keyof Holder] &
  string;

/** The same for a field that lists sentences. */
export function toldAll<Field extends string>(
  holder: { readonly [F in Field]: readonly string[] },
  field: Field,
): readonly string[] {
  const says = (holder as Tellable).says?.[field];
  const list = Array.isArray(says) && says.length === holder[field].length ? (says as readonly Says[]) : [];
  return holder[field].map((text, i) =>
    list[i] && words.value.speaks(list[i]) ? said(list[i], text) : text,
  );
}

/** A mistake in a message must not take the page away from somebody who is driving. */
function said(says: Says, otherwise: string): string {
  try {
    return words.value.say(says);
  } catch (mistake) {
    console.error(mistake);
    return otherwise;
  }
}

/** The words of an id, such as a verdict or a signal; the id where there are none. */
export const name = (group: string, id: string): string => words.value.name(group, id);

/** A mark as it was typed; one that answers a question in the page's language. */
export function markShown(text: string): string {
  const { id, answer } = answerIn(text) ?? {};
  if (id === undefined || answer === undefined || markOfAnswer(id, answer) !== text) return text;
  if (words.value.known(`answer.${answer}`) === null) return text;
  return t('ask.answer', { what: name('ask.mark', id), answer: name('answer', answer) });
}

export const signalText = (id: string): string => name('signal', id);
export const signalsText = (ids: readonly string[]): string => ids.map(signalText).join(', ');

/** A heading for a finding of the drive; one without its own is headed by its system. */
export function titleOf({ id }: Pick<Finding, 'id'>, among: readonly Pick<Finding, 'id'>[]): string {
  const known = words.value.known(titleId(id, among));
  if (known) return known;
  const [system = '', ...rest] = id.split('.');
  if (system === 'sensor') return t('found.sensor', { signal: signalText(rest.join('.')) });
  return name('system', system);
}

// ---- numbers ------------------------------------------------------------------------------------------------

export const number = (value: number, digits = 0): string => words.value.measures.number(value, digits);

/** "+3.1", "−0.4", "0.0". */
export function signed(value: number): string {
  const text = number(value, 1);
  return value > 0 && text !== number(0, 1) ? `+${text}` : text;
}

/** "−41 kPa" or "−5.9 psi": no more digits than the sensor gives. */
export const withUnit = (value: number, unit: Unit): string => words.value.measures.quantity(value, unit);

/** How a unit of the catalogue is shown. */
export const unitText = (unit: Unit): string => words.value.measures.conversion(unit).text;

/** "12:41", "1:02:03". */
export const clockOf = (seconds: number): string => words.value.measures.clock(seconds);

/** "5 s", "3 min", "2 h": an age in one figure. */
export function ageOf(seconds: number): string {
  return seconds < 5400 ? words.value.measures.span(seconds) : `${number(seconds / 3600)}\u00a0h`;
}

export const dateOf = (iso: string): string => words.value.measures.dateTime(iso);

export const MARKS = ['N', 'S', 'H', 'V', 'M'] as const;
