/** What a page draws of a run besides its samples. */
import { expect, it } from 'vitest';
import { Judge } from '../../src/analysis/judge.ts';
import { Trail } from '../../src/desk/trail.ts';
import { spelled } from '../../src/words/spelled.ts';

it('gives what boost stands on, but of an engine without a charger nothing: its manifold is drawn as it was read', () => {
  const baroOf = (induction: 'naturally aspirated' | 'turbocharger') => {
    const judge = new Judge({ induction, fuel: 'petrol' }, null);
    const trail = new Trail();
    for (let k = 0; k < 40; k++) {
      const tUs = 0.5e6 * k;
      for (const [signal, value] of [
        ['rpm', 0],
        ['map_kpa', 99],
        ['baro_kpa', 99],
        ['ect_c', 20],
      ] as const)
        judge.push({ signal, tUs, sentUs: tUs, value });
      trail.add(spelled(judge.view()));
    }
    return trail.whole().baro.map((b) => b.kpa);
  };
  expect(baroOf('turbocharger')).toEqual([99]);
  expect(baroOf('naturally aspirated')).toEqual([]);
});
