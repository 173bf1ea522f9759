/** Nothing in judging changes unseen: whole judgements of simulated and of open drives (KIT, DOI 10.35097/1130; IEEE 8891367). */
import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { expect, it } from 'vitest';
import { hasShared, needs } from '../require.ts';
import { type Held, open, simulated } from './cases.ts';

const held = JSON.parse(readFileSync(join(import.meta.dirname, 'held.json'), 'utf8')) as {
  readonly simulated: Record<string, Held>;
  readonly open: Record<string, Held>;
};

const unrounded = (cases: Record<string, Held>) => Object.values(cases).flatMap((c) => c.unrounded);

it('simulated drives are judged as they were', () => {
  const judged = simulated();
  expect(unrounded(judged)).toEqual([]);
  expect(judged).toEqual(held.simulated);
});

needs(hasShared('drives') && hasShared('more-drives'), 'the open drives beside the repository')(
  'open drives are judged as they were',
  () => {
    const judged = open();
    expect(unrounded(judged)).toEqual([]);
    expect(judged).toEqual(held.open);
  },
);
