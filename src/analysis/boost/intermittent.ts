/** Whether boost comes and goes: pulls as a mixture of those that held and those that brought nothing. */
import { Z_BOTH } from '../spread.ts';
import { MOMENT_S, type Witness } from './witness.ts';

/**
 * Gone, not weak: a slip or a leak is short by less than the first; and by the second with the whole interval.
 * Chosen by hand, not measured.
 */
export const GONE_SHARE = 0.5;
export const SURELY_SHARE = 0.2;
/** How often a sound pull looks gone because the link spoilt it, by its samples 0.6 s apart: one, two, three and more (chosen on half of the drives with glitches put in). */
const SPOILT = [0.1, 0.01, 0.0002] as const;
/**
 * The mixture must explain the pulls this many times better than spoilt readings do. Chosen by hand, not measured.
 */
export const TIMES_LIKELIER = 30;
/** Shares of failing pulls that are tried; the likeliest counts. Chosen by hand, not measured. */
const FAIL_SHARES = [0.05, 0.1, 0.15, 0.2, 0.3, 0.5, 0.7] as const;

/**
 * Likelihood ratio over the pulls: with share q failing, against all sound. Only pulls that ask no more than another
 * that held (`cameAlike`) may count as gone: a dead region is not called intermittent.
 */
export function isIntermittent(pulls: readonly Witness[], cameAlike: (w: Witness) => boolean): boolean {
  const known = pulls.filter((w) => !w.doubtful && (w.held === true || looksGone(w)));
  const spoilt = known
    .filter((w) => looksGone(w) && cameAlike(w))
    .map((w) => SPOILT[Math.min(SPOILT.length, badSamples(w)) - 1]!);
  const sound = known.filter((w) => w.held === true).length;
  return FAIL_SHARES.some((q) => {
    const gone = spoilt.reduce((a, s) => a + Math.log(q / s), 0);
    return gone + sound * Math.log(1 - q) >= Math.log(TIMES_LIKELIER);
  });
}

/**
 * Samples that a bad link must have spoilt for a sound pull to look like this one; a reading that stuck is two of them.
 * Several within a moment are one: they are not independent, and boost that is still on its way up is short in all.
 */
function badSamples(w: Witness): number {
  if (w.maybeMissed || w.frozen) return 2;
  const short = w.patches.reduce((a, p) => a + p.short, 0);
  return Math.min(w.absent || short === 0 ? w.n : short, 1 + Math.floor(w.spanS / MOMENT_S));
}

/** It brought nothing, or so little that it is counted as such. */
export function looksGone(w: Witness): boolean {
  if (w.maybeMissed || (w.held === false && w.absent)) return true;
  if (w.deviation === null) return false;
  const sd = Math.sqrt(w.variance + w.runVariance);
  return w.deviation < -GONE_SHARE && w.deviation + Z_BOTH * sd < -SURELY_SHARE;
}
