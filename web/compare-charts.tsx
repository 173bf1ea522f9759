/** Charts of a comparison: axes by uPlot, everything in them drawn from the traces. Before is dashed and quiet, after is drawn through. */
import { useEffect, useRef } from 'preact/hooks';
import uPlot from 'uplot';
import 'uplot/dist/uPlot.min.css';
import type { Unit } from '../src/core/signals.ts';
import type { Comparison, RunTraces } from '../src/words/views.ts';
import { axisOf } from './axis.ts';
import { clipped, forgetInks, ink } from './paint.ts';
import { theme } from './state.ts';
import { t, unitText, words } from './words.ts';

/** Draws in canvas pixels; `x` and `y` turn values into them. */
type Draw = (pen: {
  readonly ctx: CanvasRenderingContext2D;
  readonly x: (value: number) => number;
  readonly y: (value: number) => number;
}) => void;

interface Axis {
  readonly range: readonly [number, number];
  readonly label: string;
  /** Of the catalogue; '1' for what has none. */
  readonly unit: Unit;
}

interface Plan {
  readonly title: string;
  /** What a reader who cannot see the chart needs to know of it. */
  readonly says: string;
  readonly x: Axis;
  readonly y: Axis;
  readonly draw: Draw;
}

const HEIGHT = 260;
type Side = RunTraces['role'];

/** Drawn again where the box gets another width or the page other colours. @returns what ends it, and takes it away */
export function keptDrawn(el: HTMLElement, drawnAt: (width: number) => uPlot): () => void {
  const width = () => Math.max(240, el.clientWidth);
  let plot: uPlot | null = null;
  const make = () => {
    plot?.destroy();
    forgetInks();
    plot = drawnAt(width());
  };
  make();
  const watch = new ResizeObserver(() => {
    if (plot && Math.abs(plot.width - width()) > 1) make();
  });
  watch.observe(el);
  const stop = theme.subscribe(() => queueMicrotask(make));
  const dark = matchMedia('(prefers-color-scheme: dark)');
  dark.addEventListener('change', make);
  return () => {
    dark.removeEventListener('change', make);
    stop();
    watch.disconnect();
    plot?.destroy();
  };
}

function Chart({ title, says, x, y, draw }: Plan) {
  const box = useRef<HTMLDivElement>(null);
  useEffect(() => {
    const el = box.current;
    if (!el) return;
    return keptDrawn(el, (width) => {
      const axis = ({ label, unit }: Axis, roomPx?: number): uPlot.Axis => ({
        label,
        ...axisOf(unit, roomPx),
        labelSize: 18,
        labelFont: '13px system-ui, sans-serif',
        font: '12px system-ui, sans-serif',
        stroke: () => ink('ink'),
        grid: { stroke: () => ink('rule'), width: 0.5 },
        ticks: { stroke: () => ink('rule'), width: 1 },
      });
      return new uPlot(
        {
          width,
          height: HEIGHT,
          legend: { show: false },
          cursor: { show: false },
          scales: { x: { time: false, range: [...x.range] }, y: { range: [...y.range] } },
          axes: [axis(x, 56), { ...axis(y), size: 52 }],
          series: [{}, { show: false }],
          hooks: {
            draw: [
              (u) =>
                clipped(u, (ctx) =>
                  draw({ ctx, x: (v) => u.valToPos(v, 'x', true), y: (v) => u.valToPos(v, 'y', true) }),
                ),
            ],
          },
        },
        [
          [x.range[0], x.range[1]],
          [y.range[0], y.range[0]],
        ],
        el,
      );
    });
  }, [draw, x.range[0], x.range[1], y.range[0], y.range[1], words.value]);
  return (
    <figure class="compare-chart">
      <figcaption>
        <h3>{title}</h3>
      </figcaption>
      <div ref={box} role="img" aria-label={`${title}. ${says}`} />
      <p class="quiet">{says}</p>
    </figure>
  );
}

/** A line in the manner of its side. */
function stroke(
  { ctx, x, y }: Parameters<Draw>[0],
  side: Side,
  xs: readonly number[],
  ys: readonly number[],
  width = 1.5,
) {
  const px = devicePixelRatio;
  ctx.beginPath();
  xs.forEach((v, i) => {
    if (i === 0) ctx.moveTo(x(v), y(ys[i]!));
    else ctx.lineTo(x(v), y(ys[i]!));
  });
  ctx.lineWidth = width * px;
  ctx.setLineDash(side === 'before' ? [5 * px, 4 * px] : []);
  ctx.strokeStyle = ink(side === 'before' ? 'quiet' : 'ink');
  ctx.stroke();
  ctx.setLineDash([]);
}

/** Hollow before, filled after: told apart without colour. */
function dot({ ctx, x, y }: Parameters<Draw>[0], side: Side, at: readonly [number, number]) {
  const r = 3 * devicePixelRatio;
  ctx.beginPath();
  ctx.arc(x(at[0]), y(at[1]), r, 0, 2 * Math.PI);
  ctx.lineWidth = 1.2 * devicePixelRatio;
  ctx.strokeStyle = ink(side === 'before' ? 'quiet' : 'ink');
  ctx.fillStyle = ink(side === 'before' ? 'ground' : 'ink');
  ctx.fill();
  ctx.stroke();
}

function level(pen: Parameters<Draw>[0], value: number, range: readonly [number, number]) {
  const { ctx, x, y } = pen;
  ctx.beginPath();
  ctx.moveTo(x(range[0]), y(value));
  ctx.lineTo(x(range[1]), y(value));
  ctx.lineWidth = devicePixelRatio;
  ctx.strokeStyle = ink('quiet');
  ctx.stroke();
}

const span = (values: readonly number[], step: number, least: readonly [number, number]) =>
  [
    Math.min(least[0], Math.floor(Math.min(...values, least[0]) / step) * step),
    Math.max(least[1], Math.ceil(Math.max(...values, least[1]) / step) * step),
  ] as const;

export function Charts({ comparison: c }: { comparison: Comparison }) {
  return (
    <div class="compare-charts">
      {c.charged && boostOverRpm(c.runs)}
      {c.charged && c.difference && difference(c.difference)}
      {c.charged && tipIns(c)}
      {warmUp(c.runs)}
      {settled(c.runs)}
    </div>
  );
}

function boostOverRpm(runs: readonly RunTraces[]) {
  const pulls = runs.flatMap((r) => r.pulls.map((p) => ({ side: r.role, ...p })));
  if (pulls.length === 0) return null;
  const x = span(
    pulls.flatMap((p) => p.rpm),
    500,
    [1000, 3500],
  );
  const y = span(
    pulls.flatMap((p) => p.boostKpa),
    20,
    [-20, 40],
  );
  const count = (side: Side) => pulls.filter((p) => p.side === side).length;
  return (
    <Chart
      title={t('chart.over-rpm')}
      says={t('chart.over-rpm-says', { before: count('before'), after: count('after') })}
      x={{ range: x, label: t('chart.rpm', { unit: unitText('rpm') }), unit: 'rpm' }}
      y={{ range: y, label: t('chart.boost', { unit: unitText('kPa') }), unit: 'kPa' }}
      draw={(pen) => {
        level(pen, 0, x);
        for (const p of pulls) {
          const order = p.rpm.map((_, i) => i).sort((a, b) => p.rpm[a]! - p.rpm[b]!);
          stroke(
            pen,
            p.side,
            order.map((i) => p.rpm[i]!),
            order.map((i) => p.boostKpa[i]!),
            1,
          );
          if (p.rpm.length < 8) for (const i of order) dot(pen, p.side, [p.rpm[i]!, p.boostKpa[i]!]);
        }
      }}
    />
  );
}

function difference(d: NonNullable<Comparison['difference']>) {
  const x = span(d.rpm, 500, [1000, 3500]);
  // a point with a very wide band must not flatten the others
  const y = span([...d.kpa, ...d.kpa.map((v) => v * 1.5)], 10, [-20, 20]);
  return (
    <Chart
      title={t('chart.difference')}
      says={t('chart.difference-says')}
      x={{ range: x, label: t('chart.rpm', { unit: unitText('rpm') }), unit: 'rpm' }}
      y={{ range: y, label: unitText('kPa'), unit: 'kPa' }}
      draw={(pen) => {
        const { ctx, x: X, y: Y } = pen;
        ctx.beginPath();
        for (const [i, rpm] of d.rpm.entries()) ctx.lineTo(X(rpm), Y(d.highKpa[i]!));
        for (let i = d.rpm.length - 1; i >= 0; i--) ctx.lineTo(X(d.rpm[i]!), Y(d.lowKpa[i]!));
        ctx.closePath();
        ctx.globalAlpha = 0.25;
        ctx.fillStyle = ink('now');
        ctx.fill();
        ctx.globalAlpha = 1;
        level(pen, 0, x);
        stroke(pen, 'after', d.rpm, d.kpa, 2);
        d.rpm.forEach((rpm, i) => {
          ctx.beginPath();
          ctx.moveTo(X(rpm), Y(d.lowKpa[i]!));
          ctx.lineTo(X(rpm), Y(d.highKpa[i]!));
          ctx.lineWidth = devicePixelRatio;
          ctx.strokeStyle = ink('now');
          ctx.stroke();
          dot(pen, 'after', [rpm, d.kpa[i]!]);
        });
      }}
    />
  );
}

function tipIns(c: Comparison) {
  const tips = c.runs.flatMap((r) => r.tipIns.map((tip) => ({ side: r.role, ...tip })));
  if (tips.length === 0) return null;
  const x = [-1, 4] as const;
  const y = span(
    tips.flatMap((tip) => tip.boostKpa),
    20,
    [-60, 40],
  );
  const count = (side: Side) => tips.filter((tip) => tip.side === side).length;
  return (
    <Chart
      title={t('chart.tip-in')}
      says={t('chart.tip-in-says', { before: count('before'), after: count('after') })}
      x={{ range: x, label: t('chart.seconds'), unit: '1' }}
      y={{ range: y, label: t('chart.boost', { unit: unitText('kPa') }), unit: 'kPa' }}
      draw={(pen) => {
        level(pen, 0, x);
        for (const tip of tips) stroke(pen, tip.side, tip.t, tip.boostKpa, 1);
      }}
    />
  );
}

function warmUp(runs: readonly RunTraces[]) {
  const curves = runs.flatMap((r) =>
    r.warmUp && r.warmUp.heat.length > 3 ? [{ side: r.role, ...r.warmUp }] : [],
  );
  if (curves.length === 0) return null;
  // up to where all of them have warmed: the rest is the plateau, which has its own chart
  const most = Math.max(...curves.map((w) => w.heat[w.ectC.findIndex((c) => c >= 80)] ?? w.heat.at(-1)!));
  const x = [0, Math.max(1, most * 1.3)] as const;
  const y = span(
    curves.flatMap((w) => w.ectC),
    10,
    [60, 100],
  );
  const inGrams = curves.every((w) => w.unit === 'g');
  return (
    <Chart
      title={t('chart.warm-up')}
      says={t('chart.warm-up-says')}
      x={{ range: x, label: t(inGrams ? 'chart.air' : 'chart.heat'), unit: '1' }}
      y={{ range: y, label: t('chart.coolant', { unit: unitText('degC') }), unit: 'degC' }}
      draw={(pen) => {
        for (const w of curves) stroke(pen, w.side, w.heat, w.ectC, 2);
      }}
    />
  );
}

function settled(runs: readonly RunTraces[]) {
  const all = runs.flatMap((r) => (r.settled ? [{ side: r.role, ...r.settled }] : []));
  if (all.length === 0) return null;
  const x = span(
    all.flatMap((s) => [s.fromC - 1, s.fromC + s.share.length]),
    5,
    [80, 100],
  );
  const y = [0, Math.ceil(10 * Math.max(...all.flatMap((s) => s.share))) * 10] as const;
  const minutes = (side: Side) =>
    Math.round(all.filter((s) => s.side === side).reduce((a, s) => a + s.minutes, 0));
  return (
    <Chart
      title={t('chart.settled')}
      says={t('chart.settled-says', { before: minutes('before'), after: minutes('after') })}
      x={{ range: x, label: t('chart.coolant', { unit: unitText('degC') }), unit: 'degC' }}
      y={{ range: y, label: t('chart.share'), unit: '1' }}
      draw={(pen) => {
        for (const s of all) {
          const xs: number[] = [];
          const ys: number[] = [];
          s.share.forEach((share, i) => {
            xs.push(s.fromC + i - 0.5, s.fromC + i + 0.5);
            ys.push(100 * share, 100 * share);
          });
          stroke(pen, s.side, [xs[0]!, ...xs, xs.at(-1)!], [0, ...ys, 0], 2);
        }
      }}
    />
  );
}
