/** The strips as they are seen, as a drawing that scales: lines, axes, marks, in the colours of the page. */
import { roundTicks, TIME_STEPS_S, tickTexts } from './axis.ts';
import { pathOf } from './chart-data.ts';
import { gridOver } from './columns.ts';
import { yRanges } from './layout.ts';
import { ink } from './paint.ts';
import { type Strip, stripsShown } from './strips.tsx';
import type { Tape } from './tape.ts';
import { clockOf, t, unitText, words } from './words.ts';

const [WIDTH, LEFT, RIGHT, TOP, FOOT, UNIT_H] = [1200, 56, 16, 40, 30, 110] as const;

const escaped = (text: string): string =>
  text.replace(/[&<>"]/g, (c) => ({ '&': '&amp;', '<': '&lt;', '>': '&gt;', '"': '&quot;' })[c]!);

/** @param title above the strips. @returns an SVG document */
export function pictureOf(tape: Tape, fromS: number, toS: number, title: string): string {
  const strips = stripsShown().filter((s) => s.id !== 'link');
  const grid = gridOver(fromS, toS, WIDTH - LEFT - RIGHT);
  const x = (tS: number) => LEFT + ((tS - fromS) / (toS - fromS)) * (WIDTH - LEFT - RIGHT);
  const xs = grid.x.map(x);
  const out: string[] = [];
  let y = TOP;
  for (const strip of strips) {
    const height = Math.round(UNIT_H * Math.max(0.7, strip.weight));
    out.push(stripOf(strip, { tape, xs, cells: strip.cells(tape, grid), top: y, height }));
    y += height + 14;
  }
  const stepS = TIME_STEPS_S.find((s) => (toS - fromS) / s <= 14) ?? 3600;
  for (let tS = Math.ceil(fromS / stepS) * stepS; tS <= toS; tS += stepS)
    if (tS >= 0)
      out.push(`<text x="${x(tS).toFixed(1)}" y="${y + 4}" text-anchor="middle">${clockOf(tS)}</text>`);
  for (const m of tape.marks)
    if (m.tS >= fromS && m.tS <= toS)
      out.push(
        `<line x1="${x(m.tS)}" x2="${x(m.tS)}" y1="${TOP}" y2="${y - 14}" stroke="${ink('ink')}" stroke-dasharray="2 3"/>`,
        `<text x="${x(m.tS) + 3}" y="${TOP + 10}" font-weight="700">${escaped(m.key)}</text>`,
      );
  const height = y + FOOT - 14;
  return `<svg xmlns="http://www.w3.org/2000/svg" width="${WIDTH}" height="${height}" viewBox="0 0 ${WIDTH} ${height}" font-family="system-ui, sans-serif" font-size="12" fill="${ink('ink')}"><defs><clipPath id="plot"><rect x="${LEFT}" y="0" width="${WIDTH - LEFT - RIGHT}" height="${height}"/></clipPath></defs><rect width="${WIDTH}" height="${height}" fill="${ink('ground')}"/><text x="${LEFT}" y="20" font-size="15" font-weight="600">${escaped(title)}</text>${out.join('')}</svg>`;
}

interface Place {
  readonly tape: Tape;
  readonly xs: readonly number[];
  readonly cells: ReturnType<Strip['cells']>;
  readonly top: number;
  readonly height: number;
}

function stripOf(strip: Strip, { tape, xs, cells, top, height }: Place): string {
  const main = strip.series.findIndex((s) => s.scale === undefined);
  const own = yRanges.peek()[strip.id] ?? rangeOf(strip, cells[main] ?? [], tape);
  const right = WIDTH - RIGHT;
  const pixel = (v: number, [low, high]: readonly [number, number]) =>
    top + height - ((Math.min(high, Math.max(low, v)) - low) / (high - low || 1)) * height;
  const lines = strip.series.map((s, i) => {
    const ys = cells[i] ?? [];
    const range = s.scale === undefined ? own : s.scale === 'share' ? ([0, 100] as const) : fitted(ys);
    const colour = s.scale === 'share' ? ink('quiet') : s.scale === 'second' ? ink('now') : ink('ink');
    const d = pathOf(
      xs,
      ys.map((v) => (typeof v === 'number' ? pixel(v, range) : v)),
    );
    return `<path d="${d}" fill="none" stroke="${colour}" stroke-width="${s.scale === 'share' ? 1 : 1.5}"${s.dash ? ' stroke-dasharray="6 3"' : ''}/>`;
  });
  const conversion = words.value.measures.conversion(strip.unit);
  const ticks = roundTicks(own[0], own[1], conversion, Math.floor(height / 30));
  const axis = tickTexts(ticks, conversion).map((text, i) => {
    const at = pixel(ticks[i]!, own).toFixed(1);
    return `<line x1="${LEFT}" x2="${right}" y1="${at}" y2="${at}" stroke="${ink('rule')}" stroke-width="0.5"/><text x="${LEFT - 6}" y="${Number(at) + 4}" text-anchor="end">${escaped(text)}</text>`;
  });
  const unit = unitText(strip.unit);
  const label = unit === '' ? strip.label(tape) : t('chart.label', { what: strip.label(tape), unit });
  return `<g>${axis.join('')}<g clip-path="url(#plot)">${lines.join('')}</g><rect x="${LEFT}" y="${top}" width="${right - LEFT}" height="${height}" fill="none" stroke="${ink('rule')}"/><text x="${LEFT + 6}" y="${top + 14}" font-weight="600">${escaped(label)}</text></g>`;
}

type Cells = Place['cells'][number];

const extremes = (cells: Cells): [number, number] | null => {
  let [low, high] = [Number.POSITIVE_INFINITY, Number.NEGATIVE_INFINITY];
  for (const v of cells)
    if (typeof v === 'number') {
      low = Math.min(low, v);
      high = Math.max(high, v);
    }
  return low <= high ? [low, high] : null;
};
const rangeOf = (strip: Strip, cells: Cells, tape: Tape) => {
  const seen = extremes(cells);
  return strip.range(seen?.[0] ?? null, seen?.[1] ?? null, tape);
};
const fitted = (cells: Cells): readonly [number, number] => {
  const [low, high] = extremes(cells) ?? [0, 1];
  const room = Math.max(0.5, (high - low) * 0.1);
  return [low - room, high + room];
};
