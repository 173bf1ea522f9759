/** English as the page speaks it: the statements, and what only the page says. */
import type { Language } from '../words.ts';
import { en } from './en.ts';
import type { names } from './names.ts';
import { app } from './page-app.ts';
import { connect } from './page-connect.ts';
import { drive } from './page-drive.ts';
import { findings } from './page-findings.ts';
import { jobs } from './page-jobs.ts';

const texts = { ...app, ...drive, ...connect, ...findings, ...jobs };

/** Ids of what the page says, each with its message; the other languages have the same. */
export type PageTexts = typeof texts & typeof names;

export const page: Language = { ...en, messages: { ...en.messages, ...texts } };
