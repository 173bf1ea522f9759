/** A drive that teaches may be one of the broken car that showed no fault: nobody called it healthy. */
import { expect, it } from 'vitest';
import { de } from '../../src/words/de/de.ts';
import { en } from '../../src/words/en/en.ts';

const OF_TEACHERS = [
  ...['coolant.seen.warm-up-air', 'coolant.seen.warm-up-both', 'coolant.needs.fan-above-own'],
  ...['coolant.needs.warm-up-again', 'coolant.rule.warm-up', 'coolant.source.baseline'],
] as const;

it('calls the drives that teach baseline drives', () => {
  for (const id of OF_TEACHERS) {
    const [english = '', german = ''] = [en, de].map((l) => (l.messages as Record<string, string>)[id]);
    expect(english, id).toMatch(/baseline drives?/);
    expect(german, id).toMatch(/Ausgangsfahrt/);
    expect(english, id).not.toMatch(/healthy drive/);
    expect(german, id).not.toMatch(/Fahrt\w* (?:dieses Fahrzeugs )?in einwandfreiem Zustand|gesunde/);
  }
});
