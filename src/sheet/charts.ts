/** The sheet's charts: the drive as strips, one engagement with its expected band, coolant in its corridor, a scale. */
import type { Evidence, Finding } from '../analysis/types.ts';
import type { Unit } from '../core/signals.ts';
import { type Points, thinned } from '../signal/thin.ts';
import { findingText } from '../words/finding-text.ts';
import type { Measures } from '../words/measures.ts';
import type { Context } from './context.ts';
import { type Html, html } from './html.ts';
import { type Axis, drawing, INK, Plot } from './svg.ts';
import type { Band, SheetRun } from './types.ts';

const WIDE = 720;
/** Of a pull: two rows beside each other fill what the strips leave of a page. */
const SMALL_HEIGHT = 110;
/** Two a unit of width is all that paper shows. */
const WIDE_POINTS = 1400;
const LEFT = 46;
const RIGHT = 12;
const EMPTY: Points = { t: [], v: [] };
/** A line is not drawn across more than so many usual steps of its signal, within these bounds: as on the page. */
const GAP_STEPS = 4;
const GAP_S = { least: 2, most: 20 };
/** Engagements drawn of a fault, and of what is no fault. */
const MOST_DRAWN = { fault: 4, other: 2 } as const;
const DRAWN_AROUND_S = 2;

const upTo = (value: number, step: number) => Math.ceil(value / step) * step;
const highest = (values: readonly number[], or: number) => values.reduce((a, b) => Math.max(a, b), or);
const lowest = (values: readonly number[], or: number) => values.reduce((a, b) => Math.min(a, b), or);

function gapOf(series: Points): number {
  const steps = series.t.slice(1).map((t, i) => t - series.t[i]!);
  const usual = steps.sort((a, b) => a - b)[steps.length >> 1] ?? 0;
  return Math.min(GAP_S.most, Math.max(GAP_S.least, GAP_STEPS * usual));
}

function within(series: Points, fromS: number, toS: number): Points {
  const keep = series.t.flatMap((t, i) => (t >= fromS && t <= toS ? [i] : []));
  return { t: keep.map((i) => series.t[i]!), v: keep.map((i) => series.v[i]!) };
}

/** Draws quantities of one unit in the units of the sheet. */
class Quantity {
  readonly #factor: number;
  readonly #offset: number;
  readonly text: string;
  readonly digits: number;

  constructor(context: Context, unit: Unit) {
    const c = context.measures.conversion(unit);
    this.#factor = c.factor;
    this.#offset = c.offset;
    this.text = c.text;
    this.digits = c.digits;
  }

  readonly of = (v: number): number => v * this.#factor + this.#offset;
}

function yAxis(context: Context, unit: Unit, name: string, from: number, to: number, space = 24): Axis {
  const q = new Quantity(context, unit);
  const digits = q.digits === 2 ? 1 : 0;
  return {
    from: q.of(from),
    to: q.of(to),
    label: q.text === '' ? name : `${name}, ${q.text}`,
    text: (v) => context.measures.number(v, digits),
    space,
  };
}

const drawn = (series: Points | undefined): Points => (series ? thinned(series, WIDE_POINTS) : EMPTY);

/** Same ranges as the page's strips. */
const boostRange = (series: Points, expected: readonly Band[]): [number, number] => [
  Math.min(-80, -upTo(-lowest(series.v, 0), 20)),
  Math.max(40, upTo(Math.max(highest(series.v, 0), ...expected.map((b) => highest(b.high, 0))) + 10, 20)),
];
const coolantRange = (series: Points, limitC: number | null): [number, number] => [
  Math.min(70, -upTo(-lowest(series.v, 70), 10)),
  Math.max(upTo((limitC ?? 105) + 3, 5), upTo(highest(series.v, 0), 5)),
];

const limitOf = (run: SheetRun): number | null =>
  run.judgement.findings.find((f) => f.id === 'coolant.climb')?.limit?.value ?? null;

/** A short run has ticks within the minute. */
const minutesText =
  (measures: Measures, endMin: number) =>
  (v: number): string =>
    endMin < 5 ? measures.clock(v * 60) : measures.number(v);

/** One signal of a drive above the others, all on one time axis; heights in the units of the drawing. */
interface DriveStrip {
  readonly name: string;
  readonly height: number;
  readonly y: Axis;
  readonly draw: (plot: Plot) => void;
}

/** The last one carries the times. */
const LAST_TALLER = 22;

/** Engine speed with demand, boost, coolant, vehicle speed on one time axis. */
export function driveStrips(context: Context, run: SheetRun, id: string): Html {
  const { t } = context;
  const strips = [rpmStrip, boostStrip, coolantStrip, speedStrip].flatMap((of) => of(context, run) ?? []);
  if (strips.length === 0) return html``;
  let y = 0;
  const bodies = strips.map((strip, i) => {
    const last = i === strips.length - 1;
    const body = html`<g transform="translate(0 ${y})">${stripBody(context, run, strip, `${id}-${i}`, last)}</g>`;
    y += strip.height + (last ? LAST_TALLER : 0);
    return body;
  });
  return figure(
    context,
    `${t('tech.drive')}${t('sheet.colon')} ${context.runName(run)}`,
    drawing(
      id,
      WIDE,
      y,
      t('tech.drive'),
      t('tech.driveAlt', { parts: strips.map((s) => s.name).join(', ') }),
      bodies,
    ),
    ['band', ...pullKeys(run), 'limit', 'gap'],
    'wide',
  );
}

function stripBody(context: Context, run: SheetRun, strip: DriveStrip, id: string, last: boolean): Html {
  const endMin = Math.max(1, run.judgement.spanS) / 60;
  const height = strip.height + (last ? LAST_TALLER : 0);
  const x: Axis = {
    from: 0,
    to: endMin,
    label: context.t('tech.time'),
    text: minutesText(context.measures, endMin),
    space: 60,
    numbers: last,
  };
  const frame = { width: WIDE, height, left: LEFT, right: RIGHT, top: 18, bottom: last ? 28 : 6 };
  const plot = new Plot(id, frame, x, strip.y);
  for (const g of run.gaps) plot.span(g.fromS / 60, g.toS / 60, 1, 'open');
  strip.draw(plot);
  return plot.body();
}

const isRead = (run: SheetRun, name: string): boolean => (run.series[name]?.t.length ?? 0) > 1;
const minutes = (s: Points): number[] => s.t.map((at) => at / 60);
const drawMarks = (run: SheetRun, plot: Plot): void => {
  for (const m of run.marks) plot.mark(m.tS / 60, '');
};

function rpmStrip({ t, measures }: Context, run: SheetRun): DriveStrip | null {
  if (!isRead(run, 'rpm')) return null;
  const rpm = drawn(run.series.rpm);
  const demand = drawn(run.series.demand_pct);
  const top = Math.max(4000, upTo(highest(rpm.v, 0), 1000));
  const name = `${t('tech.axis.rpm')}, ${measures.rpm}`;
  return {
    name: t('tech.axis.rpm'),
    height: 72,
    y: {
      from: 0,
      to: top,
      label: demand.t.length > 1 ? `${name}; ${t('tech.axis.demand')}, %` : name,
      text: (v) => measures.number(v),
      space: 24,
    },
    draw(plot) {
      plot.area(
        minutes(demand),
        demand.v.map((v) => (v / 100) * top),
        gapOf(demand) / 60,
      );
      plot.line(minutes(rpm), rpm.v, { gap: gapOf(rpm) / 60, width: 1 });
      for (const m of run.marks) plot.mark(m.tS / 60, m.key);
    },
  };
}

function boostStrip(context: Context, run: SheetRun): DriveStrip | null {
  // Without a charger the pressure in the manifold is no boost.
  const charged = run.judgement.findings.some((f) => f.system === 'boost');
  if (!charged || !isRead(run, 'boost_kpa')) return null;
  const boost = drawn(run.series.boost_kpa);
  const q = new Quantity(context, 'kPa');
  const name = context.t('tech.axis.boost');
  return {
    name,
    height: 106,
    y: yAxis(context, 'kPa', name, ...boostRange(boost, run.expected)),
    draw(plot) {
      plot.zero();
      for (const p of run.judgement.pulls)
        if (p.engagement || p.held !== null)
          plot.span(p.fromS / 60, p.toS / 60, 0.4, p.held === false ? 'hatched' : 'grey');
      for (const b of run.expected)
        plot.band(
          b.t.map((at) => at / 60),
          b.low.map(q.of),
          b.high.map(q.of),
        );
      plot.line(minutes(boost), boost.v.map(q.of), { gap: gapOf(boost) / 60, width: 1 });
      drawMarks(run, plot);
    },
  };
}

function coolantStrip(context: Context, run: SheetRun): DriveStrip | null {
  if (!isRead(run, 'ect_c')) return null;
  const name = context.t('tech.axis.coolant');
  return {
    name,
    height: 94,
    y: yAxis(context, 'degC', name, ...coolantRange(run.series.ect_c!, limitOf(run))),
    draw(plot) {
      drawCoolant(context, run, plot, 60);
      drawMarks(run, plot);
    },
  };
}

function speedStrip(context: Context, run: SheetRun): DriveStrip | null {
  if (!isRead(run, 'speed_kmh')) return null;
  const speed = drawn(run.series.speed_kmh);
  const q = new Quantity(context, 'km/h');
  const name = context.t('tech.axis.speed');
  return {
    name,
    height: 60,
    y: yAxis(context, 'km/h', name, 0, Math.max(60, upTo(highest(speed.v, 0), 20)), 20),
    draw(plot) {
      plot.line(minutes(speed), speed.v.map(q.of), { gap: gapOf(speed) / 60, width: 1 });
      drawMarks(run, plot);
    },
  };
}

function drawCoolant(context: Context, run: SheetRun, plot: Plot, perX: number): void {
  const ect = drawn(run.series.ect_c);
  const q = new Quantity(context, 'degC');
  // One band with steps, so that its outline stays an outline.
  const steps = run.corridor.flatMap((c, i) => [
    { x: c.fromS / perX, low: q.of(c.lowC), high: q.of(c.highC) },
    {
      x: (run.corridor[i + 1]?.fromS ?? run.judgement.spanS) / perX,
      low: q.of(c.lowC),
      high: q.of(c.highC),
    },
  ]);
  plot.band(
    steps.map((s) => s.x),
    steps.map((s) => s.low),
    steps.map((s) => s.high),
  );
  plot.line(
    ect.t.map((at) => at / perX),
    ect.v.map(q.of),
    { gap: gapOf(ect) / perX },
  );
  const limit = limitOf(run);
  if (limit !== null)
    plot.limit(q.of(limit), `${context.t('tech.limit')} ${context.measures.quantity(limit, 'degC')}`);
}

/** A stretch of the drive, for telling whether it has its drawing. */
export const drawnKey = ({ fromS, toS }: Evidence): string => `${fromS} ${toS}`;

interface Drawing {
  readonly id: string;
  /** Stretches that have their drawing already; those drawn here are added. */
  readonly drawn: Set<string>;
  /** Of the line that says what was seen. */
  readonly numberOf: (e: Evidence) => number | undefined;
}

/** The evidence of a boost finding: boost over the time of each engagement, what a fault is surest by and the misses first. */
export function boostEvidence(
  context: Context,
  run: SheetRun,
  finding: Finding,
  { id, drawn, numberOf }: Drawing,
): Html {
  const boost = run.series.boost_kpa;
  if (!boost || boost.t.length < 2) return html``;
  const missed = (e: Evidence) =>
    run.judgement.pulls.some((p) => p.held === false && p.fromS < e.toS + 1 && p.toS > e.fromS - 1);
  const rank = (e: Evidence) =>
    finding.verdict === 'fault shown' && e === finding.evidence[0] ? 2 : Number(missed(e));
  const ranked = finding.evidence
    .filter((e) => !drawn.has(drawnKey(e)))
    .sort((a, b) => rank(b) - rank(a) || a.fromS - b.fromS);
  const chosen = ranked
    .slice(0, finding.verdict === 'fault shown' ? MOST_DRAWN.fault : MOST_DRAWN.other)
    .sort((a, b) => a.fromS - b.fromS);
  for (const e of chosen) drawn.add(drawnKey(e));
  const charts = chosen.map((e, i) => boostChart(context, run, e, { id: `${id}-${i}`, number: numberOf(e) }));
  if (charts.length === 0) return html``;
  return html`<div class="charts">${charts}</div>${keys(context, ['band', ...pullKeys(run)])}`;
}

function boostChart(
  context: Context,
  run: SheetRun,
  e: Evidence,
  { id, number }: { readonly id: string; readonly number: number | undefined },
): Html {
  const { t, measures } = context;
  const [from, to] = [e.fromS - DRAWN_AROUND_S, Math.min(e.toS, e.fromS + 60) + DRAWN_AROUND_S];
  const all = run.series.boost_kpa ?? EMPTY;
  const part = within(all, from - 5, to + 5);
  const bands = run.expected.filter((b) => b.t[0]! <= to && b.t.at(-1)! >= from);
  const q = new Quantity(context, 'kPa');
  // One scale for all engagements of a run, so that they can be compared by eye.
  const [low, high] = boostRange(all, run.expected);
  const x: Axis = { from, to, label: '', text: (v) => measures.clock(v), space: 62 };
  const plot = new Plot(
    id,
    { width: 340, height: SMALL_HEIGHT, left: LEFT, right: 8, top: 18, bottom: 18 },
    x,
    yAxis(context, 'kPa', t('tech.axis.boost'), low, high),
  );
  plot.zero();
  for (const p of run.judgement.pulls)
    if (p.fromS <= to && p.toS >= from && (p.engagement || p.held !== null))
      plot.span(p.fromS, p.toS, 0.4, p.held === false ? 'hatched' : 'grey');
  for (const b of bands) plot.band(b.t, b.low.map(q.of), b.high.map(q.of));
  plot.line(part.t, part.v.map(q.of), { gap: gapOf(part), width: 1.8 });
  if (part.t.length < 60) for (const [i, t] of part.t.entries()) plot.dot(t, q.of(part.v[i]!), true);
  const inside = within(all, e.fromS, e.toS);
  const expectedTop = Math.max(...bands.map((b) => highest(b.high, 0)), 0);
  const expectedLow = Math.min(...bands.map((b) => lowest(b.low, Number.POSITIVE_INFINITY)));
  const seen = { fromS: e.fromS, toS: e.toS, max: inside.v.length > 0 ? highest(inside.v, -Infinity) : 0 };
  const alt =
    bands.length === 0
      ? t('tech.boostAlt', seen)
      : t('tech.boostExpectedAlt', { ...seen, low: expectedLow, high: expectedTop });
  const [began, ended] = [measures.clock(e.fromS), measures.clock(e.toS)];
  const caption = html`${number === undefined ? '' : html`<strong>${number}.</strong> `}${began}${began === ended ? '' : html` ${t('sheet.to')} ${ended}`}${t('sheet.colon')} ${context.say(e.text)}`;
  return html`<figure class="small">${drawing(id, 340, SMALL_HEIGHT, t('tech.boostChart'), alt, plot.body())}<figcaption>${caption}</figcaption></figure>`;
}

/** Coolant over the whole run in its corridor, the evidence framed. */
export function coolantEvidence(context: Context, run: SheetRun, finding: Finding, id: string): Html {
  const ect = run.series.ect_c;
  if (!ect || ect.t.length < 2) return html``;
  const { t, measures } = context;
  const endMin = Math.max(1, run.judgement.spanS) / 60;
  const limit = limitOf(run);
  const plot = new Plot(
    id,
    { width: WIDE, height: 150, left: LEFT, right: RIGHT, top: 18, bottom: 28 },
    {
      from: 0,
      to: endMin,
      label: t('tech.time'),
      text: minutesText(measures, endMin),
      space: 60,
    },
    yAxis(context, 'degC', t('tech.axis.coolant'), ...coolantRange(ect, limit)),
  );
  for (const g of run.gaps) plot.span(g.fromS / 60, g.toS / 60, 1, 'open');
  drawCoolant(context, run, plot, 60);
  for (const e of finding.evidence) plot.span(e.fromS / 60, e.toS / 60, 1, 'framed');
  const seen = { fromS: 0, toS: run.judgement.spanS, max: highest(ect.v, -Infinity) };
  const alt = limit === null ? t('tech.coolantAlt', seen) : t('tech.coolantLimitAlt', { ...seen, limit });
  return figure(
    context,
    t('tech.coolantChart'),
    drawing(id, WIDE, 150, t('tech.coolantChart'), alt, plot.body()),
    ['band', 'limit', 'evidence', 'gap'],
    'wide',
  );
}

/** Supply voltage over the run, the limit across. */
export function voltageEvidence(context: Context, run: SheetRun, finding: Finding, id: string): Html {
  const volts = drawn(run.series.voltage_v);
  if (volts.t.length < 2) return html``;
  const { t, measures } = context;
  const endMin = Math.max(1, run.judgement.spanS) / 60;
  const plot = new Plot(
    id,
    { width: WIDE, height: 130, left: LEFT, right: RIGHT, top: 18, bottom: 28 },
    {
      from: 0,
      to: endMin,
      label: t('tech.time'),
      text: minutesText(measures, endMin),
      space: 60,
    },
    {
      from: 11,
      to: Math.max(15, upTo(highest(volts.v, 0), 1)),
      label: `${t('tech.axis.voltage')}, V`,
      text: (v) => measures.number(v),
      space: 20,
    },
  );
  plot.line(
    volts.t.map((at) => at / 60),
    volts.v,
    { gap: gapOf(volts) / 60 },
  );
  if (finding.limit)
    plot.limit(finding.limit.value, `${t('tech.limit')} ${measures.quantity(finding.limit.value, 'V')}`);
  return figure(
    context,
    t('tech.voltageChart'),
    drawing(id, WIDE, 130, t('tech.voltageChart'), t('tech.voltageChart'), plot.body()),
    ['limit'],
    'wide',
  );
}

const SCALE_WIDTH = 360;
const SCALE_EDGE = 30;

/** The interval as a bar, the value as a dot in it, the limit as a line, on one axis drawn to scale. */
export function scale(context: Context, finding: Finding, id: string): Html {
  const { measured, limit } = finding;
  const { t } = context;
  const text = findingText(context.words, finding);
  if (!measured || !text) return html``;
  const [low, high] = measured.interval;
  const all = [low, high, measured.value, ...(limit ? [limit.value] : [])];
  const min = lowest(all, Number.POSITIVE_INFINITY);
  const span = highest(all, Number.NEGATIVE_INFINITY) - min || 1;
  const x = (v: number) => Math.round(SCALE_EDGE + ((v - min) / span) * (SCALE_WIDTH - 2 * SCALE_EDGE));
  // A label near an edge leans inwards.
  const anchor = (v: number) => (x(v) < 70 ? 'start' : x(v) > SCALE_WIDTH - 70 ? 'end' : 'middle');
  const at = (v: number) =>
    anchor(v) === 'middle' ? x(v) : x(v) < 70 ? Math.max(4, x(v) - 20) : Math.min(SCALE_WIDTH - 4, x(v) + 20);
  const barWidth = Math.max(3, x(high) - x(low));
  const seen = { value: text.measured, low: text.low, high: text.high };
  const alt = text.limit ? t('tech.scaleLimitAlt', { ...seen, limit: text.limit }) : t('tech.scaleAlt', seen);
  const body = html`<path d="M${SCALE_EDGE - 14} 22H${SCALE_WIDTH - SCALE_EDGE + 14}" stroke="${INK.rule}" stroke-width="1"/>
<rect x="${x(low)}" y="16" width="${barWidth}" height="12" fill="#d9d2c5" stroke="${INK.ink}" stroke-width="1"/>
<circle cx="${x(measured.value)}" cy="22" r="4.5" fill="${INK.ink}"/>
${limit ? html`<path d="M${x(limit.value)} 8V36" stroke="${INK.fault}" stroke-width="2" stroke-dasharray="4 2"/><text x="${at(limit.value)}" y="48" text-anchor="${anchor(limit.value)}" fill="${INK.fault}">${t('tech.limit')} ${text.limit}</text>` : ''}
<text x="${at(measured.value)}" y="11" text-anchor="${anchor(measured.value)}" fill="${INK.ink}">${text.measured}</text>`;
  return html`<div class="scale">${drawing(id, SCALE_WIDTH, 52, t('tech.measured'), alt, body)}</div>`;
}

type Key = 'band' | 'held' | 'pull' | 'missed' | 'limit' | 'gap' | 'evidence';

/** What the marked pulls of a run mean: only where a clutch had to close are they its engagements. */
function pullKeys(run: SheetRun): readonly Key[] {
  const marked = run.judgement.pulls.filter((p) => p.engagement || p.held !== null);
  if (marked.length === 0) return [];
  return [marked.some((p) => p.engagement) ? 'held' : 'pull', 'missed'];
}

function keys(context: Context, which: readonly Key[]): Html {
  return html`<p class="key">${which.map((k) => context.t(`tech.key.${k}`)).join(' · ')}</p>`;
}

function figure(context: Context, caption: string, drawn: Html, which: readonly Key[], kind: string): Html {
  return html`<figure class="${kind}"><figcaption>${caption}</figcaption><div class="scroll" tabindex="0" role="group" aria-label="${caption}">${drawn}</div>${keys(context, which)}</figure>`;
}
