/** Our own `:number` against the standard's, which it stands in for because that one makes its formats anew each time. */
import { MessageFormat } from 'messageformat';
import { expect, it } from 'vitest';
import type { Says } from '../../src/core/says.ts';
import { METRIC } from '../../src/words/measures.ts';
import { Words } from '../../src/words/words.ts';

const SOURCES = [
  '{$n :number}',
  '{$n :number useGrouping=never}',
  '.input {$n :number} .match $n one {{{$n} pull}} * {{{$n} pulls}}',
  '.input {$n :number}\n.match $n\n0 {{none}}\n1 {{just one}}\n* {{{$n} of many}}',
];
const VALUES = [0, -0, 1, -1, 2, 1.5, 0.1, 999, 1000, 12_345, 1234.5678, 1e7, 1e21];

it.each(['en-AU', 'en-IN', 'de-DE', 'de-CH'])('writes and chooses as the standard does (%s)', (locale) => {
  for (const message of SOURCES) {
    const own = new Words({ lang: 'en', locale, rpm: 'rpm', messages: { message } }, METRIC, 'UTC');
    const standard = new MessageFormat(locale, message, { bidiIsolation: 'none' });
    for (const n of VALUES)
      expect(own.say({ id: 'message', args: { n } } as Says)).toBe(standard.format({ n }));
  }
});
