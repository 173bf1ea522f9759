/** Which systems the first sentence of a drive's findings names. */
import type { Judgement, Verdict } from '../src/words/views.ts';

const TOLD = ['boost', 'coolant', 'fan'] as const;

/** Those of this verdict; nobody asks for the boost of an engine without a charger, of which nothing is found. */
export const systemsTold = (
  { findings, systems }: Pick<Judgement, 'findings' | 'systems'>,
  verdict: Verdict,
): readonly (typeof TOLD)[number][] =>
  TOLD.filter(
    (s) => systems[s].verdict === verdict && (s !== 'boost' || findings.some((f) => f.system === s)),
  );
