/** The first sentence of a drive's findings. */
import { expect, it } from 'vitest';
import { Judge } from '../../src/analysis/judge.ts';
import { spelled } from '../../src/words/spelled.ts';
import { systemsTold } from '../../web/systems-told.ts';

it('asks for no boost of an engine without a charger, and for it of every other', () => {
  const open = (induction: 'naturally aspirated' | 'turbocharger') =>
    systemsTold(spelled(new Judge({ induction, fuel: 'petrol' }, null).finish('')), 'not shown');
  expect(open('turbocharger')).toEqual(['boost', 'coolant', 'fan']);
  expect(open('naturally aspirated')).toEqual(['coolant', 'fan']);
});
