/** Charts as inline SVG: axes, lines that break at holes, bands, hatches. Inks are those of the page; shape says it first. */
import { type Html, html, raw } from './html.ts';

export const INK = {
  ink: '#211c15',
  quiet: '#51483b',
  rule: '#b5aa97',
  now: '#00564d',
  fault: '#8a2a00',
} as const;

export interface ChartFrame {
  readonly width: number;
  readonly height: number;
  readonly left: number;
  readonly right: number;
  readonly top: number;
  readonly bottom: number;
}

export interface Axis {
  readonly from: number;
  readonly to: number;
  readonly label: string;
  readonly text: (value: number) => string;
  /** Smallest room between two ticks, in units of the drawing. */
  readonly space: number;
  /** False: grid lines without numbers. */
  readonly numbers?: boolean;
}

/** Room for half of "1:02:03" or "5500" at the right edge. */
const HALF_LABEL = 16;

const f = (n: number): string => (Math.round(n * 10) / 10).toString();

/** One plotting area. Everything drawn is clipped to it; x and y are in the quantities of the axes. */
export class Plot {
  readonly #frame: ChartFrame;
  readonly #x: Axis;
  readonly #y: Axis;
  readonly #id: string;
  readonly #under: Html[] = [];
  readonly #over: Html[] = [];

  /** @param id unique in the sheet; letters, digits and - */
  constructor(id: string, frame: ChartFrame, x: Axis, y: Axis) {
    this.#id = id;
    this.#frame = frame;
    this.#x = x;
    this.#y = y;
  }

  x(v: number): number {
    const { left, right, width } = this.#frame;
    return left + ((v - this.#x.from) / (this.#x.to - this.#x.from)) * (width - left - right);
  }

  y(v: number): number {
    const { top, bottom, height } = this.#frame;
    return height - bottom - ((v - this.#y.from) / (this.#y.to - this.#y.from)) * (height - top - bottom);
  }

  /** @param gap no line is drawn across more than this in x */
  line(
    xs: readonly number[],
    ys: readonly number[],
    options: { ink?: string; width?: number; dash?: string; gap?: number } = {},
  ): void {
    const { ink = INK.ink, width = 1.4, dash, gap = Number.POSITIVE_INFINITY } = options;
    let d = '';
    let last = Number.NaN;
    for (const [i, x] of xs.entries()) {
      const y = ys[i]!;
      if (!Number.isFinite(x) || !Number.isFinite(y)) {
        last = Number.NaN;
        continue;
      }
      const move = Number.isNaN(last) || x - last > gap;
      d += `${move ? 'M' : 'L'}${f(this.x(x))} ${f(this.y(y))}`;
      last = x;
    }
    if (d === '') return;
    this.#over.push(
      html`<path d="${d}" fill="none" stroke="${ink}" stroke-width="${width}" stroke-linejoin="round"${dash ? raw(` stroke-dasharray="${dash}"`) : ''}/>`,
    );
  }

  /** Filled from the floor, for context that must stay quiet. */
  area(xs: readonly number[], ys: readonly number[], gap: number): void {
    let d = '';
    let start = 0;
    const floor = f(this.y(this.#y.from));
    for (let i = 0; i <= xs.length; i++) {
      if (i < xs.length && (i === start || xs[i]! - xs[i - 1]! <= gap)) continue;
      if (i - start > 1) {
        d += `M${f(this.x(xs[start]!))} ${floor}`;
        for (let k = start; k < i; k++) d += `L${f(this.x(xs[k]!))} ${f(this.y(ys[k]!))}`;
        d += `L${f(this.x(xs[i - 1]!))} ${floor}Z`;
      }
      start = i;
    }
    if (d !== '') this.#under.push(html`<path d="${d}" fill="${INK.rule}" fill-opacity="0.45"/>`);
  }

  band(xs: readonly number[], low: readonly number[], high: readonly number[]): void {
    if (xs.length < 2) return;
    const at = (i: number, v: number) => `${f(this.x(xs[i]!))} ${f(this.y(v))}`;
    const upper = high.map((v, i) => at(i, v)).join('L');
    const lower = low
      .map((v, i) => at(i, v))
      .reverse()
      .join('L');
    this.#under.push(
      html`<path d="M${upper}L${lower}Z" fill="${INK.now}" fill-opacity="0.2" stroke="${INK.now}" stroke-opacity="0.7" stroke-width="0.8"/>`,
    );
  }

  /** A span of x over a share of the height from below. */
  span(from: number, to: number, share: number, kind: 'grey' | 'hatched' | 'open' | 'framed'): void {
    const { top, bottom, height } = this.#frame;
    const h = (height - top - bottom) * share;
    const y = height - bottom - h;
    const x = this.x(from);
    const w = Math.max(2, this.x(to) - x);
    const box = raw(`x="${f(x)}" y="${f(y)}" width="${f(w)}" height="${f(h)}"`);
    if (kind === 'grey') this.#under.push(html`<rect ${box} fill="${INK.quiet}" fill-opacity="0.22"/>`);
    else if (kind === 'hatched') {
      this.#under.push(html`<rect ${box} fill="none" stroke="${INK.fault}" stroke-width="1.2"/>`);
      this.#under.push(this.#hatch(x, y, w, h, INK.fault, 5));
    } else if (kind === 'open') {
      this.#under.push(html`<rect ${box} fill="#fff"/>`, this.#hatch(x, y, w, h, INK.rule, 7));
    } else
      this.#over.push(
        html`<rect ${box} fill="none" stroke="${INK.ink}" stroke-width="1" stroke-dasharray="1.5 1.5"/>`,
      );
  }

  /** A dashed line across at a limit, with its name. */
  limit(v: number, text: string): void {
    const { left, right, width } = this.#frame;
    const y = f(this.y(v));
    this.#over.push(
      html`<path d="M${left} ${y}H${width - right}" stroke="${INK.fault}" stroke-width="1.3" stroke-dasharray="6 4"/>`,
      // Readable over a curve that runs through it.
      html`<text x="${left + 4}" y="${f(this.y(v) + 11)}" fill="${INK.fault}" stroke="#fff" stroke-width="3" paint-order="stroke">${text}</text>`,
    );
  }

  zero(): void {
    if (this.#y.from >= 0) return;
    const { left, right, width } = this.#frame;
    this.#under.push(
      html`<path d="M${left} ${f(this.y(0))}H${width - right}" stroke="${INK.quiet}" stroke-width="1"/>`,
    );
  }

  /** A thin line upright with a letter above. */
  mark(x: number, letter: string): void {
    const { top, bottom, height } = this.#frame;
    this.#over.push(
      html`<path d="M${f(this.x(x))} ${top}V${height - bottom}" stroke="${INK.ink}" stroke-width="1" stroke-dasharray="2 3"/>`,
    );
    if (letter !== '')
      this.#over.push(
        html`<text x="${f(this.x(x) + 2)}" y="${top + 9}" font-weight="700" fill="${INK.ink}">${letter}</text>`,
      );
  }

  dot(x: number, y: number, filled: boolean, r = 2.2): void {
    this.#over.push(
      html`<circle cx="${f(this.x(x))}" cy="${f(this.y(y))}" r="${r}" fill="${filled ? INK.ink : '#fff'}" stroke="${INK.ink}" stroke-width="1"/>`,
    );
  }

  /** The drawing without the svg element around it. */
  body(): Html {
    const { left, right, top, bottom, width, height } = this.#frame;
    const w = width - left - right;
    const h = height - top - bottom;
    const xs = ticks(this.#x.from, this.#x.to, w / this.#x.space);
    const ys = ticks(this.#y.from, this.#y.to, h / this.#y.space);
    const clip = `clip-${this.#id}`;
    return html`<clipPath id="${clip}"><rect x="${left}" y="${top}" width="${w}" height="${h}"/></clipPath>
<g stroke="${INK.rule}" stroke-width="0.5">${xs.map((v) => html`<path d="M${f(this.x(v))} ${top}V${height - bottom}"/>`)}${ys.map((v) => html`<path d="M${left} ${f(this.y(v))}H${width - right}"/>`)}</g>
<g clip-path="url(#${clip})">${this.#under}${this.#over}</g>
<g fill="${INK.quiet}">${ys.map((v) => html`<text x="${left - 4}" y="${f(this.y(v) + 3.5)}" text-anchor="end">${this.#y.text(v)}</text>`)}${
      this.#x.numbers === false
        ? ''
        : xs.map(
            (v) =>
              html`<text x="${f(Math.min(this.x(v), width - HALF_LABEL))}" y="${height - bottom + 12}" text-anchor="middle">${this.#x.text(v)}</text>`,
          )
    }</g>
<text x="${left}" y="${top - 5}" fill="${INK.ink}" font-weight="600">${this.#y.label}</text>${
      this.#x.numbers === false
        ? ''
        : html`<text x="${width - right}" y="${height - 3}" text-anchor="end" fill="${INK.quiet}">${this.#x.label}</text>`
    }`;
  }

  #hatch(x: number, y: number, w: number, h: number, ink: string, step: number): Html {
    let d = '';
    for (let k = -h; k < w; k += step) {
      const x0 = Math.max(0, k);
      const x1 = Math.min(w, k + h);
      if (x1 <= x0) continue;
      d += `M${f(x + x0)} ${f(y + h - (x0 - k))}L${f(x + x1)} ${f(y + h - (x1 - k))}`;
    }
    return html`<path d="${d}" stroke="${ink}" stroke-width="0.8"/>`;
  }
}

/** Round numbers between two ends, at most about `most` of them. */
export function ticks(from: number, to: number, most: number): number[] {
  const span = to - from;
  if (!(span > 0) || !Number.isFinite(span)) return [];
  const rough = span / Math.max(1, most);
  const power = 10 ** Math.floor(Math.log10(rough));
  const step = [1, 2, 5, 10].map((k) => k * power).find((s) => s >= rough)!;
  const out: number[] = [];
  for (let k = Math.ceil(from / step - 1e-9); k * step <= to + 1e-9 * step && out.length < 100; k++)
    out.push(Number((k * step).toPrecision(12)));
  return out;
}

/** An svg element with a name and a description for those who do not see it. */
export function drawing(
  id: string,
  width: number,
  height: number,
  title: string,
  desc: string,
  body: Value,
): Html {
  return html`<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 ${width} ${height}" role="img" aria-labelledby="${id}-t ${id}-d"><title id="${id}-t">${title}</title><desc id="${id}-d">${desc}</desc>
${body}</svg>`;
}

type Value = Html | readonly Html[];
