/** Statements in English, as tests read them. */
import type { Says } from '../src/core/says.ts';
import { english } from '../src/words/spelled.ts';

export const inWords = (says: Says | null | undefined): string => (says ? english.say(says) : '');
