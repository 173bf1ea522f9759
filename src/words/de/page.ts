/** Deutsch, wie die Seite es spricht: die Aussagen, und was nur die Seite sagt. */
import type { PageTexts } from '../en/page.ts';
import type { Foreign } from '../statements.ts';
import type { Language } from '../words.ts';
import { de } from './de.ts';
import { app } from './page-app.ts';
import { connect } from './page-connect.ts';
import { drive } from './page-drive.ts';
import { findings } from './page-findings.ts';
import { jobs } from './page-jobs.ts';

const texts = { ...app, ...drive, ...connect, ...findings, ...jobs };

/** Übersetzt nicht, wo eine Meldung ein Argument braucht, das die englische nicht hat. */
const founded: Foreign<PageTexts, typeof texts> extends never ? true : false = true;
void founded;

export const page: Language = { ...de, messages: { ...de.messages, ...texts } };
