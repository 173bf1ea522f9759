/** A measurement against its limit, in words and drawn to scale. */

import { findingText } from '../src/words/finding-text.ts';
import type { Finding } from '../src/words/views.ts';
import { t, told, words } from './words.ts';

const WIDTH = 360;
const EDGE = 12;

/** What was measured, with its interval, against which limit. @param source whether to say where the limit is from */
export function measuredText(finding: Finding, source: boolean): string {
  const text = findingText(words.value, finding);
  if (!text) return '';
  const seen = { value: text.measured, low: text.lowBare, high: text.high };
  if (!finding.limit || !text.limit) return t('found.measured', seen);
  const held = { ...seen, limit: text.limit };
  return source
    ? t('found.measured-limit', { ...held, source: told(finding.limit, 'source') })
    : t('found.measured-against', held);
}

/** The interval as a bar, the value as a dot in it, the limit as a line, all on one axis. */
export function Scale({ finding }: { finding: Finding }) {
  const { measured, limit } = finding;
  if (!measured) return null;
  const [low, high] = measured.interval;
  const all = [low, high, measured.value, ...(limit ? [limit.value] : [])];
  const min = Math.min(...all);
  const span = Math.max(...all) - min || 1;
  const x = (v: number) => EDGE + ((v - min + span * 0.12) / (span * 1.24)) * (WIDTH - 2 * EDGE);
  const sentence = measuredText(finding, true);
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
