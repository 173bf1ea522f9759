/** Verdicts by word and mark (tick, filled bar, open ring), and a measurement against its limit drawn to scale. */
import type { Verdict } from '../src/analysis/types.ts';
import type { Finding } from '../src/words/views.ts';
import { name, t, told, withUnit } from './words.ts';

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

const WIDTH = 360;
const EDGE = 12;

/** The interval as a bar, the value as a dot in it, the limit as a line, all on one axis. */
export function Scale({ finding }: { finding: Finding }) {
  const { measured, limit } = finding;
  if (!measured) return null;
  const [low, high] = measured.interval;
  const all = [low, high, measured.value, ...(limit ? [limit.value] : [])];
  const min = Math.min(...all);
  const span = Math.max(...all) - min || 1;
  const x = (v: number) => EDGE + ((v - min + span * 0.12) / (span * 1.24)) * (WIDTH - 2 * EDGE);
  const text = (v: number) => withUnit(v, measured.unit);
  const seen = { value: text(measured.value), low: text(low).split('\u00a0')[0]!, high: text(high) };
  const sentence = limit
    ? t('found.measured-limit', {
        ...seen,
        limit: withUnit(limit.value, limit.unit),
        source: told(limit, 'source'),
      })
    : t('found.measured', seen);
  return (
    <figure class="scale">
      <svg viewBox={`0 0 ${WIDTH} 44`} role="img" aria-label={sentence}>
        <line x1="0" x2={WIDTH} y1="24" y2="24" class="axis" />
        <rect x={x(low)} y="17" width={Math.max(2, x(high) - x(low))} height="14" class="interval" />
        <circle cx={x(measured.value)} cy="24" r="4" class="value" />
        {limit && (
          <>
            <line x1={x(limit.value)} x2={x(limit.value)} y1="6" y2="42" class="limit" />
            <text
              x={x(limit.value)}
              y="12"
              dx={x(limit.value) > WIDTH * 0.6 ? -5 : 5}
              text-anchor={x(limit.value) > WIDTH * 0.6 ? 'end' : 'start'}
            >
              {t('found.limit')}
            </text>
          </>
        )}
      </svg>
      <figcaption>{sentence}.</figcaption>
    </figure>
  );
}
