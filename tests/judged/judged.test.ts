/** Nothing in judging changes unseen: whole judgements of simulated and of open drives (KIT, DOI 10.35097/1130; IEEE 8891367). */
import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { expect, it } from 'vitest';
import { hasShared, needs } from '../require.ts';
import { type Case, type Held, held, open, simulated } from './cases.ts';

const expected = JSON.parse(readFileSync(join(import.meta.dirname, 'held.json'), 'utf8')) as {
  readonly simulated: Record<string, Held>;
  readonly open: Record<string, Held>;
};

const judgedAsBefore = (c: Case, as: Record<string, Held>): void => {
  const judged = held(c);
  expect([...judged.unrounded, ...judged.contradicted]).toEqual([]);
  expect(judged, 'where this is meant: npm run judged, and read the diff').toEqual(as[c.name]);
};

for (const c of simulated()) it(c.name, () => judgedAsBefore(c, expected.simulated));

const openThere = needs(
  hasShared('drives') && hasShared('more-drives'),
  'the open drives beside the repository',
);
for (const c of open()) openThere(c.name, () => judgedAsBefore(c, expected.open));

it('no case is held fast that is judged no more', () => {
  const names = (cases: readonly Case[]) => cases.map((c) => c.name).sort();
  expect(names(simulated())).toEqual(Object.keys(expected.simulated).sort());
  expect(names(open())).toEqual(Object.keys(expected.open).sort());
});
