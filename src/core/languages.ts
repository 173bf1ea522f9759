/**
 * The languages that people choose from, each in its own name. One more is a line here: job, sheet, command line and
 * page take it from this table, and what each of them still lacks for it does not compile.
 */
export const LANGUAGES = { en: 'English', de: 'Deutsch' } as const;
export type LanguageId = keyof typeof LANGUAGES;
export const LANGUAGE_IDS = Object.keys(LANGUAGES) as [LanguageId, ...LanguageId[]];
