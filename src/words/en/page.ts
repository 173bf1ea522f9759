/** English as the page speaks it: the statements, and what the page itself says on a drive. */
import type { Language } from '../words.ts';
import { live, manner } from './live.ts';
import type { names } from './names.ts';
import { app } from './page-app.ts';
import { drive } from './page-drive.ts';
import type { more } from './page-more.ts';

const texts = { ...app, ...drive };

/** Ids of what the page says, each with its message; the other languages have the same. */
export type PageTexts = typeof texts & typeof more & typeof names;

export const page: Language = { ...manner, messages: { ...live, ...texts } };
