/** The page knows a signal's unit by the end of its name: held to the catalogue, which it does not carry. */
import { expect, it } from 'vitest';
import { SIGNALS } from '../../src/core/signals.ts';
import { unitOfName } from '../../src/words/measures.ts';

it('is the unit of the catalogue, for every signal', () => {
  const other = Object.entries(SIGNALS).filter(([name, { unit }]) => unitOfName(name) !== unit);
  expect(other.map(([name, { unit }]) => `${name}: ${unitOfName(name)}, not ${unit}`)).toEqual([]);
});
