/** What the strips draw besides their lines: bands, shaded engagements, hatched gaps, limits, marks, now. */
import type uPlot from 'uplot';
import { pinS, stepS } from './state.ts';
import { NO_DATA, type Tape } from './tape.ts';
import { t } from './words.ts';

const INK = ['ground', 'raised', 'ink', 'quiet', 'rule', 'now', 'fault'] as const;
type Ink = (typeof INK)[number];
let inks: Record<Ink, string> | null = null;

/** The page's colours for canvas; read once per theme. */
export function ink(name: Ink): string {
  if (!inks) {
    const style = getComputedStyle(document.documentElement);
    inks = Object.fromEntries(INK.map((n) => [n, style.getPropertyValue(`--${n}`).trim()])) as Record<
      Ink,
      string
    >;
  }
  return inks[name];
}

export function forgetInks(): void {
  inks = null;
}

export const FONT = '12px system-ui, sans-serif';
const font = () => `${12 * devicePixelRatio}px system-ui, sans-serif`;

/** Runs `draw` clipped to the plotting area with its state put back afterwards. */
export function clipped(u: uPlot, draw: (ctx: CanvasRenderingContext2D) => void): void {
  const { ctx } = u;
  const { left, top, width, height } = u.bbox;
  ctx.save();
  ctx.beginPath();
  ctx.rect(left, top, width, height);
  ctx.clip();
  ctx.textAlign = 'left'; // the axes leave their own
  draw(ctx);
  ctx.restore();
}

const X = (u: uPlot, tS: number) => u.valToPos(tS, 'x', true);
const Y = (u: uPlot, v: number) => u.valToPos(v, 'y', true);

/** Diagonal lines over a rectangle, in canvas pixels. */
function hatch(
  ctx: CanvasRenderingContext2D,
  x: number,
  y: number,
  w: number,
  h: number,
  colour: string,
  step: number,
): void {
  ctx.save();
  ctx.beginPath();
  ctx.rect(x, y, w, h);
  ctx.clip();
  ctx.strokeStyle = colour;
  ctx.lineWidth = devicePixelRatio;
  ctx.beginPath();
  // Lines sit on a fixed raster of the run's time, as seen from the rectangle, so they move with it.
  for (let d = -h; d < w; d += step) {
    ctx.moveTo(x + d, y + h);
    ctx.lineTo(x + d + h, y);
  }
  ctx.stroke();
  ctx.restore();
}

/** Engagements shaded from below: filled when the boost came, hatched and outlined when it was missed. */
export function paintEngagements(u: uPlot, tape: Tape): void {
  clipped(u, (ctx) => {
    const { top, height, left, width } = u.bbox;
    const h = height * 0.4;
    const y = top + height - h;
    for (const e of tape.engagements) {
      const x0 = X(u, e.fromS);
      const w = Math.max(3 * devicePixelRatio, X(u, e.toS) - x0);
      if (x0 + w < left || x0 > left + width) continue;
      if (e.held === false) {
        hatch(ctx, x0, y, w, h, ink('fault'), 7 * devicePixelRatio);
        ctx.strokeStyle = ink('fault');
        ctx.lineWidth = 1.5 * devicePixelRatio;
        ctx.strokeRect(x0, y, w, h + 4);
      } else {
        ctx.globalAlpha = e.held ? 0.28 : 0.1;
        ctx.fillStyle = ink('quiet');
        ctx.fillRect(x0, y, w, h);
        ctx.globalAlpha = 1;
      }
    }
  });
}

/** The expected boost of each pull as a band. */
export function paintExpected(u: uPlot, tape: Tape): void {
  clipped(u, (ctx) => {
    const { min, max } = u.scales.x!;
    ctx.fillStyle = ink('now');
    ctx.strokeStyle = ink('now');
    for (const band of tape.expected) {
      const n = band.t.length;
      if (n < 2 || band.t[n - 1]! < min! || band.t[0]! > max!) continue;
      ctx.beginPath();
      for (let i = 0; i < n; i++) ctx.lineTo(X(u, band.t[i]!), Y(u, band.highKpa[i]!));
      for (let i = n - 1; i >= 0; i--) ctx.lineTo(X(u, band.t[i]!), Y(u, band.lowKpa[i]!));
      ctx.closePath();
      ctx.globalAlpha = 0.25;
      ctx.fill();
      ctx.globalAlpha = 0.7;
      ctx.lineWidth = devicePixelRatio;
      ctx.stroke();
      ctx.globalAlpha = 1;
    }
  });
}

/** The corridor that the coolant settled in, from when it was learned. */
export function paintCorridor(u: uPlot, tape: Tape, nowS: number): void {
  clipped(u, (ctx) => {
    ctx.fillStyle = ink('now');
    ctx.globalAlpha = 0.18;
    tape.corridor.forEach((c, i) => {
      const x0 = X(u, c.fromS);
      const x1 = X(u, tape.corridor[i + 1]?.fromS ?? nowS);
      ctx.fillRect(x0, Y(u, c.highC), x1 - x0, Y(u, c.lowC) - Y(u, c.highC));
    });
    ctx.globalAlpha = 1;
  });
}

export function paintLimit(u: uPlot, limitC: number | null): void {
  if (limitC === null) return;
  clipped(u, (ctx) => {
    const y = Y(u, limitC);
    ctx.strokeStyle = ink('fault');
    ctx.lineWidth = 1.5 * devicePixelRatio;
    ctx.setLineDash([6 * devicePixelRatio, 4 * devicePixelRatio]);
    ctx.beginPath();
    ctx.moveTo(u.bbox.left, y);
    ctx.lineTo(u.bbox.left + u.bbox.width, y);
    ctx.stroke();
    ctx.font = font();
    ctx.fillStyle = ink('fault');
    ctx.textBaseline = 'top';
    ctx.fillText(
      t('strips.limit', { c: limitC }),
      u.bbox.left + 6 * devicePixelRatio,
      y + 3 * devicePixelRatio,
    );
  });
}

/** A zero line for gauge pressure: above it is boost. */
export function paintZero(u: uPlot): void {
  clipped(u, (ctx) => {
    ctx.strokeStyle = ink('quiet');
    ctx.lineWidth = devicePixelRatio;
    ctx.beginPath();
    ctx.moveTo(u.bbox.left, Y(u, 0));
    ctx.lineTo(u.bbox.left + u.bbox.width, Y(u, 0));
    ctx.stroke();
  });
}

/** Where the link was silent: a hatch with nothing in it, so that no one reads a line into it. */
export function paintGaps(u: uPlot, tape: Tape, nowS: number): void {
  const { min, max } = u.scales.x!;
  clipped(u, (ctx) => {
    const { top, height } = u.bbox;
    for (const g of tape.gapsIn(min!, max!, nowS)) {
      const x = X(u, g.fromS);
      const w = X(u, g.toS) - x;
      ctx.globalAlpha = 0.5;
      hatch(ctx, x, top, w, height, ink('rule'), 9 * devicePixelRatio);
      ctx.globalAlpha = 1;
    }
  });
}

/** The link as a bar that is broken where nothing came. */
export function paintLink(u: uPlot, tape: Tape, nowS: number): void {
  const { min, max } = u.scales.x!;
  clipped(u, (ctx) => {
    const { top, height } = u.bbox;
    const y = top + height * 0.3;
    const h = height * 0.4;
    let from = Math.max(0, min!);
    const end = Math.min(max!, nowS);
    ctx.fillStyle = ink('quiet');
    ctx.font = font();
    ctx.textBaseline = 'middle';
    const gaps = tape.gapsIn(min!, max!, nowS);
    for (const g of [...gaps, { fromS: end, toS: end, why: '' }]) {
      const x = X(u, from);
      if (g.fromS > from) ctx.fillRect(x, y, X(u, g.fromS) - x, h);
      from = Math.max(from, g.toS);
      const s = g.toS - g.fromS;
      const text = g.why === NO_DATA ? t('strips.gap', { s }) : t('strips.gap-why', { s, why: g.why });
      const room = X(u, g.toS) - X(u, g.fromS);
      if (room > ctx.measureText(text).width + 8) {
        ctx.fillStyle = ink('ink');
        ctx.fillText(text, X(u, g.fromS) + 4, top + height / 2);
        ctx.fillStyle = ink('quiet');
      }
    }
  });
}

/** Marks as thin lines, with their letter where `letters` is set; and the present as the accent at its right. */
export function paintMarks(u: uPlot, tape: Tape, nowS: number, letters: boolean): void {
  clipped(u, (ctx) => {
    const { top, height } = u.bbox;
    const line = (tS: number) => {
      ctx.beginPath();
      ctx.moveTo(X(u, tS), top);
      ctx.lineTo(X(u, tS), top + height);
      ctx.stroke();
    };
    ctx.lineWidth = devicePixelRatio;
    ctx.strokeStyle = ink('ink');
    ctx.setLineDash([2 * devicePixelRatio, 3 * devicePixelRatio]);
    for (const m of tape.marks) line(m.tS);
    ctx.setLineDash([]);
    if (letters) {
      ctx.font = `600 ${font()}`;
      ctx.textBaseline = 'top';
      for (const m of tape.marks) {
        const w = ctx.measureText(m.key).width + 8 * devicePixelRatio;
        ctx.fillStyle = ink('ink');
        ctx.fillRect(X(u, m.tS), top, w, 16 * devicePixelRatio);
        ctx.fillStyle = ink('ground');
        ctx.fillText(m.key, X(u, m.tS) + 4 * devicePixelRatio, top + 2 * devicePixelRatio);
      }
    }
    if (pinS.value !== null) {
      ctx.lineWidth = 3 * devicePixelRatio;
      ctx.strokeStyle = ink('quiet');
      line(pinS.value);
    }
    if (stepS.value !== null) {
      ctx.lineWidth = 1.5 * devicePixelRatio;
      ctx.strokeStyle = ink('ink');
      line(stepS.value);
    }
    if (tape.live) {
      ctx.lineWidth = 2 * devicePixelRatio;
      ctx.strokeStyle = ink('now');
      line(nowS);
    }
  });
}
