/** The section of docs/reliability.md on mutations, from what `npm run mutate -- --keep` measured. */
import { existsSync, readFileSync } from 'node:fs';
import { resolve } from 'node:path';
import { reasonWhyEquivalent } from './equivalent.ts';

export const KEPT = resolve(import.meta.dirname, '../../docs/mutations.json');
export const TITLE = '## Do the tests notice?';

export interface Measured {
  readonly seed: string;
  readonly mutants: number;
  readonly tried: number;
  readonly killed: number;
  readonly timeout: number;
  /** By the tests of its own name alone. */
  readonly quick?: boolean;
  readonly survivors: readonly string[];
}

/** By module. */
export const kept = (): Record<string, Measured> =>
  existsSync(KEPT) ? (JSON.parse(readFileSync(KEPT, 'utf8')) as Record<string, Measured>) : {};

export function mutationSection(): string {
  const rows = Object.entries(kept()).map(([module, m]) => {
    const noticed = m.killed + m.timeout;
    const idle = m.survivors.filter((s) => reasonWhyEquivalent(s) !== null).length;
    return `| ${module}${m.quick ? ' *' : ''} | ${m.tried} of ${m.mutants} | ${noticed} | ${idle} | ${((100 * noticed) / (m.tried - idle)).toFixed(1)} % | ${m.seed} |`;
  });
  const survivors = Object.values(kept()).flatMap((m) =>
    m.survivors.map((s) => {
      const reason = reasonWhyEquivalent(s);
      return `- \`${s}\`${reason === null ? '' : `: ${reason}`}`;
    }),
  );
  return `${TITLE}

Measured by \`npm run mutate -- PATH… --keep\`: one change at a time (a comparison, a constant by a quarter, a negation,
a call left out, a wider pattern), and the drives of \`tests/judged\` where the module judges, the test files that import
it themselves, and such as reach it through another. Rows with \\*: the tests of the module's own name alone, so more may
be noticed than is said.

| module | changes tried | noticed | of which nothing becomes | share of the others | seed |
|---|---|---|---|---|---|
${rows.join('\n')}

${survivors.length > 0 ? `Not noticed:\n\n${survivors.join('\n')}\n` : 'None went unnoticed.\n'}`;
}
