/** `npm run judged`: writes what is held fast of each drive anew. Read the diff. */
import { writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { type Case, held, open, simulated } from './cases.ts';

const all = (cases: readonly Case[]) => Object.fromEntries(cases.map((c) => [c.name, held(c)]));

writeFileSync(
  join(import.meta.dirname, 'held.json'),
  `${JSON.stringify({ simulated: all(simulated()), open: all(open()) }, null, 2)}\n`,
);
