/** The section of docs/reliability.md on mutations, from what `npm run mutate -- --keep` measured. */
import { existsSync, readFileSync } from 'node:fs';
import { resolve } from 'node:path';

export const KEPT = resolve(import.meta.dirname, '../../docs/mutations.json');
export const TITLE = '## Do the tests notice?';

export interface Measured {
  readonly seed: string;
  readonly mutants: number;
  readonly tried: number;
  readonly killed: number;
  readonly timeout: number;
  readonly survivors: readonly string[];
}

/** By module. */
export const kept = (): Record<string, Measured> =>
  existsSync(KEPT) ? (JSON.parse(readFileSync(KEPT, 'utf8')) as Record<string, Measured>) : {};

export function mutationSection(): string {
  const rows = Object.entries(kept()).map(
    ([module, m]) =>
      `| ${module} | ${m.tried} of ${m.mutants} | ${m.killed + m.timeout} | ${((100 * (m.killed + m.timeout)) / m.tried).toFixed(1)} % | ${m.seed} |`,
  );
  const survivors = Object.values(kept()).flatMap((m) => m.survivors.map((s) => `- \`${s}\``));
  return `${TITLE}

Measured by \`npm run mutate -- PATH… --keep\`: one change at a time (a comparison, a constant by a quarter, a negation,
a call left out, a wider pattern), and the test files that import the module themselves.

| module | changes tried | noticed | share | seed |
|---|---|---|---|---|
${rows.join('\n')}

${survivors.length > 0 ? `Not noticed:\n\n${survivors.join('\n')}\n` : 'None went unnoticed.\n'}`;
}
