/** Deutsch, wie es auf einer Fahrt gebraucht wird: alle Aussagen außer denen des Vergleichs und der Fehlermeldungen. */
import { boost } from './boost.ts';
import { common } from './common.ts';
import { coolant } from './coolant.ts';
import { legs } from './legs.ts';
import { names } from './names.ts';
import { vehicle } from './vehicle.ts';

export const manner = { lang: 'de', locale: 'de-DE', rpm: '1/min' } as const;

export const live = { ...common, ...names, ...boost, ...coolant, ...legs, ...vehicle } as const;
