/** English as it is needed on a drive: all statements but those of the comparison and of errors. */
import { boost } from './boost.ts';
import { common } from './common.ts';
import { coolant } from './coolant.ts';
import { legs } from './legs.ts';
import { names } from './names.ts';
import { vehicle } from './vehicle.ts';

export const manner = { lang: 'en', locale: 'en-GB', rpm: 'rpm' } as const;

export const live = { ...common, ...names, ...boost, ...coolant, ...legs, ...vehicle } as const;
