/** The section of docs/reliability.md on mutations, from what `npm run mutate -- --keep` measured. */
import { existsSync, readdirSync, readFileSync } from 'node:fs';
import { resolve } from 'node:path';
import { reasonWhyEquivalent } from './equivalent.ts';
import { mutantsOf } from './mutants.ts';

export const KEPT = resolve(import.meta.dirname, '../../docs/mutations.json');
export const TITLE = '## Do the tests notice?';

export interface Measured {
  readonly seed: string;
  readonly mutants: number;
  readonly tried: number;
  readonly killed: number;
  readonly timeout: number;
  /** By the tests of its own name alone, or the quick ones of its room. */
  readonly quick?: boolean;
  readonly survivors: readonly string[];
}

/** By module. */
export const kept = (): Record<string, Measured> =>
  existsSync(KEPT) ? (JSON.parse(readFileSync(KEPT, 'utf8')) as Record<string, Measured>) : {};

/** What became of changes: those tried, noticed, and of which nothing becomes. */
function tally(all: readonly Measured[]): { tried: number; noticed: number; idle: number; share: string } {
  const sum = (f: (m: Measured) => number): number => all.reduce((a, m) => a + f(m), 0);
  const tried = sum((m) => m.tried);
  const noticed = sum((m) => m.killed + m.timeout);
  const idle = sum((m) => m.survivors.filter((s) => reasonWhyEquivalent(s) !== null).length);
  return { tried, noticed, idle, share: `${((100 * noticed) / (tried - idle)).toFixed(1)} %` };
}

/** Modules of what judges and compares that were never measured and hold something to change. */
function inNoRow(): string[] {
  const root = resolve(import.meta.dirname, '../..');
  const measured = kept();
  return ['src/analysis', 'src/compare'].flatMap((folder) =>
    (readdirSync(resolve(root, folder), { recursive: true }) as string[])
      .filter((f) => f.endsWith('.ts'))
      .map((f) => `${folder}/${f}`)
      .sort()
      .filter((f) => !(f in measured) && mutantsOf(readFileSync(resolve(root, f), 'utf8')).length > 0),
  );
}

/** One row for each folder of src/ and seed. */
function draws(): string[] {
  const groups = new Map<string, Measured[]>();
  for (const [module, m] of Object.entries(kept())) {
    const key = `${module.split('/').slice(0, 2).join('/')}${m.quick ? ' *' : ''} | ${m.seed}`;
    groups.set(key, [...(groups.get(key) ?? []), m]);
  }
  return [...groups].map(([key, all]) => {
    const { tried, noticed, idle, share } = tally(all);
    return `| ${key} | ${all.length} | ${tried} | ${noticed} | ${idle} | ${share} |`;
  });
}

export function mutationSection(): string {
  const rows = Object.entries(kept()).map(([module, m]) => {
    const { noticed, idle, share } = tally([m]);
    return `| ${module}${m.quick ? ' *' : ''} | ${m.tried} of ${m.mutants} | ${noticed} | ${idle} | ${share} | ${m.seed} |`;
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
it themselves (where none does, those that import what imports it), and such as reach it through another. Rows with \\*:
the tests of the module's own name alone, or the quick ones of its room where there are none, so more may be noticed than
is said. Summed for each folder of \`src/\` and each seed by which changes were drawn:

| of | seed | modules | changes tried | noticed | of which nothing becomes | share of the others |
|---|---|---|---|---|---|---|
${draws().join('\n')}

Where tests were written for what a draw had left, its rows flatter once they are measured again: the next honest figure
needs another seed. A row is of its file as it was when it was measured: *of* counts the changes that could be made then,
and the lines below are of then; the row of a file that was split since is dropped. Of \`src/analysis\` and \`src/compare\` in no row: ${inNoRow().join(', ') || 'none'}. Module by module:

| module | changes tried | noticed | of which nothing becomes | share of the others | seed |
|---|---|---|---|---|---|
${rows.join('\n')}

${survivors.length > 0 ? `Not noticed:\n\n${survivors.join('\n')}\n` : 'None went unnoticed.\n'}`;
}
