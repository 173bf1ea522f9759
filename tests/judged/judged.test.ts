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

it('simulated drives are judged as they were', () => {
  expect(simulated()).toEqual(held.simulated);
});

needs(hasShared('drives') && hasShared('more-drives'), 'the open drives beside the repository')(
  'open drives are judged as they were',
  () => {
    expect(open()).toEqual(held.open);
  },
);
