/** Verdicts by word and mark: tick, filled bar, open ring. */
import type { Verdict } from '../src/words/views.ts';
import { name } from './words.ts';

export function Mark({ verdict }: { verdict: Verdict }) {
  return (
    <svg class={`mark ${verdict.replace(' ', '-')}`} viewBox="0 0 20 20" aria-hidden="true">
      {verdict === 'shown good' && (
        <path d="M3 11l5 5 9-12" fill="none" stroke="currentColor" stroke-width="2.5" />
      )}
      {verdict === 'fault shown' && <rect x="7" y="1" width="6" height="18" fill="currentColor" />}
      {verdict === 'not shown' && (
        <circle cx="10" cy="10" r="7" fill="none" stroke="currentColor" stroke-width="2" />
      )}
    </svg>
  );
}

export function VerdictWord({ verdict }: { verdict: Verdict }) {
  return (
    <strong class={`verdict ${verdict.replace(' ', '-')}`}>
      <Mark verdict={verdict} /> {name('verdict', verdict)}
    </strong>
  );
}
