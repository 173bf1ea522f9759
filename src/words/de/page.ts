/** Deutsch, wie die Seite es spricht: die Aussagen, und was die Seite selbst auf einer Fahrt sagt. */
import type { PageTexts } from '../en/page.ts';
import type { Foreign } from '../statements.ts';
import type { Language } from '../words.ts';
import { live, manner } from './live.ts';
import { app } from './page-app.ts';
import { drive } from './page-drive.ts';
import type { more } from './page-more.ts';

const texts = { ...app, ...drive };

/** Übersetzt nicht, wo eine Meldung ein Argument braucht, das die englische nicht hat. */
const founded: Foreign<PageTexts, typeof texts & typeof more> extends never ? true : false = true;
void founded;

export const page: Language = { ...manner, messages: { ...live, ...texts } };
