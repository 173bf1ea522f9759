/** `npm run judged`: writes what is held fast of each drive anew. Read the diff. */
import { writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { open, simulated } from './cases.ts';

writeFileSync(
  join(import.meta.dirname, 'held.json'),
  `${JSON.stringify({ simulated: simulated(), open: open() }, null, 2)}\n`,
);
