/** Two runs on one time axis and one cursor, either moved against the other. */
import { useSignal } from '@preact/signals';
import { useEffect, useMemo, useRef } from 'preact/hooks';
import uPlot from 'uplot';
import type { Unit } from '../src/core/signals.ts';
import type { SeriesView } from '../src/desk/api.ts';
import type { Comparison, RunTraces } from '../src/words/views.ts';
import { axisOf, TIME_STEPS_S } from './axis.ts';
import { keptDrawn } from './compare-charts.tsx';
import { boostOf, nearest, overlaid, type Series } from './compare-series.ts';
import { get, sentenceOf } from './http.ts';
import { ink } from './paint.ts';
import { clockOf, t, unitText, withUnit, words } from './words.ts';

const POINTS = 3000;
const STRIP_HEIGHT = 150;
interface Row {
  readonly id: 'cmp.engine' | 'cmp.boost-short' | 'cmp.coolant';
  readonly unit: Unit;
  of(s: SeriesView): Series | null;
}
const ROWS: readonly Row[] = [
  { id: 'cmp.engine', unit: 'rpm', of: (s) => s.rpm ?? null },
  { id: 'cmp.boost-short', unit: 'kPa', of: boostOf },
  { id: 'cmp.coolant', unit: 'degC', of: (s) => s.ect_c ?? null },
];

const UNCHARGED = ROWS.filter((row) => row.id !== 'cmp.boost-short');

/** Of several runs on a side the last is drawn first: the drive that counts, and the one nearest to it. */
export function CompareStrips({ comparison: { runs, charged } }: { comparison: Comparison }) {
  const chosen = useSignal<Partial<Record<RunTraces['role'], string>>>({});
  const side = (role: RunTraces['role']) => runs.filter((r) => r.role === role);
  const of = (role: RunTraces['role']) =>
    side(role).find((r) => r.id === chosen.value[role]) ?? side(role).at(-1);
  const [before, after] = [of('before'), of('after')];
  if (!before || !after) return null;
  return (
    <section class="compare-strips" aria-labelledby="strips-h">
      <h2 id="strips-h">{t('cmp.over-time')}</h2>
      {(['before', 'after'] as const)
        .filter((role) => side(role).length > 1)
        .map((role) => (
          <label key={role}>
            {t(`cmp.run-of.${role}`)}{' '}
            <select
              value={of(role)!.id}
              onChange={(e) => (chosen.value = { ...chosen.value, [role]: e.currentTarget.value })}
            >
              {side(role).map((r) => (
                <option key={r.id} value={r.id}>
                  {r.label}
                </option>
              ))}
            </select>
          </label>
        ))}
      <Both
        key={`${before.id} ${after.id}`}
        before={before}
        after={after}
        rows={charged ? ROWS : UNCHARGED}
      />
    </section>
  );
}

function Both({ before, after, rows: asked }: { before: RunTraces; after: RunTraces; rows: readonly Row[] }) {
  const both = useSignal<readonly [SeriesView, SeriesView] | null>(null);
  const trouble = useSignal<string | null>(null);
  /** Seconds by which the run after is moved to the right. */
  const shiftS = useSignal(alignedS(before, after));
  const cursorS = useSignal<number | null>(null);
  useEffect(() => {
    let gone = false;
    const read = (id: string) =>
      get<SeriesView>(`/api/runs/${encodeURIComponent(id)}/series?points=${POINTS}`);
    Promise.all([read(before.id), read(after.id)]).then(
      (series) => {
        if (!gone) both.value = series;
      },
      (error) => {
        if (!gone) trouble.value = sentenceOf(error);
      },
    );
    return () => {
      gone = true;
    };
  }, [before.id, after.id]);
  // made once: a chart is made anew when its series are
  const rows = useMemo(
    () => asked.map((row) => ({ ...row, series: both.value?.map(row.of) ?? [null, null] })),
    [both.value],
  );
  if (!both.value)
    return <p class={trouble.value ? 'trouble' : 'quiet'}>{trouble.value ?? t('cmp.reading')}</p>;
  const at = cursorS.value;
  return (
    <>
      <div class="shift">
        <label>
          {t('cmp.moved')}{' '}
          <input
            type="number"
            step="1"
            value={Math.round(shiftS.value)}
            onInput={(e) => {
              const s = Number(e.currentTarget.value);
              if (Number.isFinite(s)) shiftS.value = Math.max(-86_400, Math.min(86_400, s));
            }}
          />{' '}
          s
        </label>
        <button type="button" onClick={() => (shiftS.value = 0)}>
          {t('cmp.starts')}
        </button>
        <button type="button" onClick={() => (shiftS.value = alignedS(before, after))}>
          {t('cmp.pulls-together')}
        </button>
        <span class="quiet">
          {at === null ? t('cmp.point') : t('cmp.at', { before: at, after: at - shiftS.value })}
        </span>
      </div>
      {rows.map((row) => {
        const [one = null, two = null] = row.series;
        if (!one && !two) return null;
        const value = (s: Series | null, tS: number) => {
          const v = s === null ? null : nearest(s, tS);
          return v === null ? '–' : withUnit(v, row.unit);
        };
        return (
          <div class="compare-strip" key={row.id}>
            <p>
              <b>{t(row.id)}</b>{' '}
              {at === null
                ? unitText(row.unit)
                : t('cmp.values', { before: value(one, at), after: value(two, at - shiftS.value) })}
            </p>
            <Strip
              title={t(row.id)}
              unit={row.unit}
              before={one}
              after={two}
              shiftS={shiftS.value}
              onCursor={(t) => (cursorS.value = t)}
            />
          </div>
        );
      })}
    </>
  );
}

/** Moves the run after so that the first pulls begin together; the starts, where one has none. */
function alignedS(before: RunTraces, after: RunTraces): number {
  const [b, a] = [before.pulls[0], after.pulls[0]];
  return b && a ? Math.round(b.fromS - a.fromS) : 0;
}

interface StripProps {
  readonly title: string;
  readonly unit: Unit;
  readonly before: Series | null;
  readonly after: Series | null;
  readonly shiftS: number;
  readonly onCursor: (tS: number | null) => void;
}

function Strip({ title, unit, before, after, shiftS, onCursor }: StripProps) {
  const box = useRef<HTMLDivElement>(null);
  useEffect(() => {
    const el = box.current;
    if (!el) return;
    return keptDrawn(el, (width) => {
      const axis = (more: uPlot.Axis): uPlot.Axis => ({
        font: '12px system-ui, sans-serif',
        stroke: () => ink('ink'),
        grid: { stroke: () => ink('rule'), width: 0.5 },
        ticks: { stroke: () => ink('rule'), width: 1 },
        ...more,
      });
      return new uPlot(
        {
          width,
          height: STRIP_HEIGHT,
          legend: { show: false },
          cursor: {
            sync: { key: 'compare', setSeries: false },
            drag: { x: true, y: false },
            points: { show: false },
          },
          scales: { x: { time: false } },
          axes: [
            axis({
              incrs: TIME_STEPS_S,
              space: 64,
              values: (_u, ticks) => ticks.map((tS) => (tS < 0 ? '' : clockOf(tS))),
            }),
            axis({ size: 52, space: 24, ...axisOf(unit) }),
          ],
          series: [
            {},
            { stroke: () => ink('quiet'), width: 1.5, dash: [5, 4], points: { show: false } },
            { stroke: () => ink('ink'), width: 1.5, points: { show: false } },
          ],
          hooks: {
            setCursor: [
              (u) => {
                const { left } = u.cursor;
                onCursor(left === undefined || left === null || left < 0 ? null : u.posToVal(left, 'x'));
              },
            ],
          },
        },
        overlaid(before, after, shiftS),
        el,
      );
    });
  }, [before, after, shiftS, words.value]);
  return <div ref={box} role="img" aria-label={t('cmp.strip', { what: title })} />;
}
