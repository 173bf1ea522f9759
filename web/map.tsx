/** The evidence map: engine speed across, demand upwards; empty by outline, enough by fill, bad by hatch. */
import type { LiveView } from '../src/words/views.ts';
import { tape, view } from './state.ts';
import { t } from './words.ts';

const CELL_H = 22;
const LEFT = 44;
const BOTTOM = 20;
const MAP_WIDTH = 300;

const STATES = ['empty', 'some', 'enough', 'bad'] as const;
type State = (typeof STATES)[number];

export function EvidenceMap() {
  const cells = view.value?.boost.map ?? [];
  if (cells.length === 0) return null;
  const rpm = [...new Set(cells.map((c) => c.rpm[0]))].sort((a, b) => a - b);
  const demand = [...new Set(cells.map((c) => c.demandPct[0]))].sort((a, b) => b - a);
  const w = (MAP_WIDTH - LEFT) / rpm.length;
  const height = demand.length * CELL_H + BOTTOM;
  const count = (state: State) => cells.filter((c) => c.state === state).length;
  const every = Math.ceil(rpm.length / 6);
  const here = fieldNow(cells);
  return (
    <section class="map" aria-labelledby="map-h">
      <h2 id="map-h">{t('map.title')}</h2>
      <svg
        viewBox={`0 0 ${MAP_WIDTH} ${height}`}
        role="img"
        aria-label={t('map.says', {
          enough: count('enough'),
          all: cells.length,
          some: count('some'),
          bad: count('bad'),
        })}
      >
        <Patterns />
        {cells.map((c) => {
          const x = LEFT + rpm.indexOf(c.rpm[0]) * w;
          const y = demand.indexOf(c.demandPct[0]) * CELL_H;
          return (
            <g key={`${c.rpm[0]} ${c.demandPct[0]}`}>
              <rect
                x={x + 1.5}
                y={y + 1.5}
                width={w - 3}
                height={CELL_H - 3}
                class={`cell ${c.state}${c === here ? ' here' : ''}`}
              />
              {c.pulls > 0 && (
                <text x={x + w / 2} y={y + CELL_H / 2 + 4} text-anchor="middle" class={`count ${c.state}`}>
                  {c.pulls}
                </text>
              )}
            </g>
          );
        })}
        {demand.map((d, i) => (
          <text key={d} x={LEFT - 6} y={i * CELL_H + CELL_H / 2 + 4} text-anchor="end">
            {d} %
          </text>
        ))}
        {rpm.map((r, i) =>
          i % every === 0 ? (
            <text key={r} x={LEFT + i * w + 1} y={height - 5}>
              {r}
            </text>
          ) : null,
        )}
      </svg>
      <p class="key">
        {STATES.map((s) => (
          <span key={s}>
            <svg viewBox="0 0 16 12" aria-hidden="true">
              <rect x="1" y="1" width="14" height="10" class={`cell ${s}`} />
            </svg>
            {t(`map.${s}`)}
          </span>
        ))}
      </p>
    </section>
  );
}

/** The field that the car drives in now: a thicker outline, nothing that moves between fields. */
function fieldNow(cells: LiveView['boost']['map']): LiveView['boost']['map'][number] | null {
  const now = tape.value;
  const demandName = now.demand;
  if (!now.live || demandName === null) return null;
  const rpm = now.columns.get('rpm')?.at(now.lastS)?.v;
  const demand = now.columns.get(demandName)?.at(now.lastS)?.v;
  if (rpm === undefined || demand === undefined) return null;
  const inside = (v: number, [low, high]: readonly [number, number]) => v >= low && v < high;
  return cells.find((c) => inside(rpm, c.rpm) && inside(Math.min(demand, 99.9), c.demandPct)) ?? null;
}

function Patterns() {
  return (
    <defs>
      <pattern id="hatch" width="5" height="5" patternUnits="userSpaceOnUse" patternTransform="rotate(45)">
        <rect width="2" height="5" class="hatch-line" />
      </pattern>
      <pattern id="dots" width="5" height="5" patternUnits="userSpaceOnUse">
        <circle cx="2.5" cy="2.5" r="1" class="dot" />
      </pattern>
    </defs>
  );
}
