/** The strips: one chart per quantity on one time axis, drawn afresh from the tape ten times a second at most. */
import { useComputed, useSignal } from '@preact/signals';
import { useEffect, useRef } from 'preact/hooks';
import uPlot from 'uplot';
import { unitOfName } from '../src/words/measures.ts';
import 'uplot/dist/uPlot.min.css';
import type { Unit } from '../src/core/signals.ts';
import type { LinkHealth } from '../src/desk/api.ts';
import { axisOf, TIME_STEPS_S } from './axis.ts';
import { lookCloser } from './closer.ts';
import { type Columns, decimate, type Grid, gridOver } from './columns.ts';
import { gestures } from './gestures.ts';
import { arranged, layout, setY, yRanges } from './layout.ts';
import * as paint from './paint.ts';
import { ink } from './paint.ts';
import {
  back,
  canGoBack,
  connection,
  cursorS,
  extraStrips,
  follow,
  hold,
  tape as liveTape,
  pan,
  pinS,
  run,
  showWhole,
  stepS,
  theme,
  toggleFollow,
  togglePin,
  toggleStrip,
  view,
  win,
  windowEdges,
  zoom,
} from './state.ts';
import type { Tape } from './tape.ts';
import { ageOf, clockOf, signalText, t, unitText, withUnit, words } from './words.ts';

/** Figures change no oftener than an eye can read them. */
const READ_MS = 150;
/** A value older than this is no longer "now". */
const OLD_S = 3;

type Cells = (number | null | undefined)[];
export interface Readout {
  /** In `of`, the catalogue's unit. */
  readonly value: number;
  readonly of: Unit;
  /** How the unit is written behind the figure. */
  readonly unit: string;
  readonly tS: number;
}
export interface Strip {
  readonly id: string;
  readonly label: (tape: Tape) => string;
  readonly weight: number;
  /** Of its axis. */
  readonly unit: Unit;
  readonly series: readonly uPlot.Series[];
  readonly cells: (tape: Tape, grid: Grid) => Cells[];
  readonly range: (low: number | null, high: number | null, tape: Tape) => [number, number];
  readonly under?: (u: uPlot, tape: Tape, nowS: number) => void;
  readonly over?: (u: uPlot, tape: Tape, nowS: number) => void;
  readonly readings: (tape: Tape, tS: number) => (Readout | null)[];
  /** Where the line belongs at a time, in the axis's unit. */
  readonly band?: (tape: Tape, tS: number) => readonly [number, number] | null;
  /** Said under the value while the run is live and nothing is pointed at. */
  readonly note?: () => string;
}

const cellsOf = (tape: Tape, name: string | null, grid: Grid, minus: Columns | null = null): Cells => {
  const [fromS, toS] = [grid.firstBucket * grid.widthS, (grid.firstBucket + grid.buckets) * grid.widthS];
  const column = name === null ? undefined : tape.column(name, fromS, toS);
  if (!column) return grid.x.map(() => undefined);
  return decimate(column, grid, column.gapS(), minus);
};
const readingOf = (
  tape: Tape,
  name: string | null,
  tS: number,
  of: Unit,
  unit = unitText(of),
): Readout | null => {
  const sample = name === null ? null : tape.column(name, tS)?.at(tS);
  return sample ? { value: sample.v, of, unit, tS: sample.t } : null;
};
/** As shown, or as a change since another. */
const figure = ({ value, of }: Readout, since: Readout | null = null): string =>
  words.value.measures.bare(value - (since?.value ?? 0), of, since !== null);
const upTo = (value: number, step: number) => Math.ceil(value / step) * step;
const line = (width: number, colour: 'ink' | 'quiet' | 'now'): uPlot.Series => ({
  width,
  stroke: () => ink(colour),
  points: { show: false },
});

const STRIPS: readonly Strip[] = [
  {
    id: 'engine',
    label: (tape) => t(tape.demand === null ? 'strips.engine' : 'strips.engine-demand'),
    weight: 1.1,
    unit: 'rpm',
    series: [
      {
        scale: 'share',
        width: 1,
        stroke: () => ink('rule'),
        fill: () => `color-mix(in srgb, ${ink('rule')} 45%, transparent)`,
        fillTo: 0,
        points: { show: false },
      },
      line(1.5, 'ink'),
    ],
    cells: (tape, grid) => [cellsOf(tape, tape.demand, grid), cellsOf(tape, 'rpm', grid)],
    range: (_low, high) => [0, Math.max(4000, upTo(high ?? 0, 1000))],
    over: (u, tape, nowS) => paint.paintMarks(u, tape, nowS, true),
    readings: (tape, tS) => [
      readingOf(tape, 'rpm', tS, 'rpm'),
      readingOf(tape, tape.demand, tS, '%', t('strips.demand')),
    ],
  },
  {
    id: 'boost',
    label: (tape) => t(tape.hasGauge ? 'strips.boost' : 'strips.map'),
    weight: 2,
    unit: 'kPa',
    series: [line(2, 'ink')],
    cells: (tape, grid) => [cellsOf(tape, tape.pressure(), grid, tape.hasGauge ? tape.baro : null)],
    range: (low, high, tape) =>
      tape.hasGauge
        ? [
            Math.min(-80, -upTo(-(low ?? 0), 20)),
            Math.max(40, upTo(Math.max(high ?? 0, tape.expectedTopKpa) + 10, 20)),
          ]
        : [0, Math.max(120, upTo(high ?? 0, 20))],
    under: (u, tape) => {
      paint.paintEngagements(u, tape);
      if (!tape.hasGauge) return;
      paint.paintZero(u);
      paint.paintExpected(u, tape);
    },
    band: (tape, tS) => tape.expectedAt(tS),
    readings: (tape, tS) => {
      const boost = tape.boostAt(tS);
      if (boost) return [{ value: boost.v, of: 'kPa', unit: unitText('kPa'), tS: boost.t }];
      const absolute = t('strips.absolute', { unit: unitText('kPa') });
      return [readingOf(tape, tape.pressure(), tS, 'kPa', absolute)];
    },
  },
  {
    id: 'coolant',
    label: () => t('strips.coolant'),
    weight: 1.6,
    unit: 'degC',
    series: [line(2, 'ink')],
    cells: (tape, grid) => [cellsOf(tape, 'ect_c', grid)],
    range: (low, high, tape) => [
      Math.min(70, -upTo(-(low ?? 70), 10)),
      Math.max(upTo((tape.limitC ?? 105) + 3, 5), upTo(high ?? 0, 5)),
    ],
    under: (u, tape, nowS) => {
      paint.paintCorridor(u, tape, nowS);
      paint.paintLimit(u, tape.limitC);
    },
    band: (tape, tS) => {
      const corridor = tape.corridor.findLast((c) => c.fromS <= tS);
      return corridor ? [corridor.lowC, corridor.highC] : null;
    },
    readings: (tape, tS) => [readingOf(tape, 'ect_c', tS, 'degC')],
    note: () => {
      const coolant = view.value?.coolant;
      const minutes = coolant?.state === 'climbing' ? coolant.minutesToLimit : null;
      return minutes ? t('strips.to-limit', { low: minutes[0], high: minutes[1] }) : '';
    },
  },
  {
    id: 'speed',
    label: () => t('strips.speed'),
    weight: 0.9,
    unit: 'km/h',
    series: [line(1.5, 'ink')],
    cells: (tape, grid) => [cellsOf(tape, 'speed_kmh', grid)],
    range: (_low, high) => [0, Math.max(60, upTo(high ?? 0, 20))],
    readings: (tape, tS) => [readingOf(tape, 'speed_kmh', tS, 'km/h')],
  },
  {
    id: 'link',
    label: () => t('strips.link'),
    weight: 0,
    unit: '1',
    series: [],
    cells: () => [],
    range: () => [0, 1],
    under: (u, tape, nowS) => paint.paintLink(u, tape, nowS),
    readings: () => [],
  },
];

function roomAround(low: number | null, high: number | null): [number, number] {
  const room = Math.max(0.5, ((high ?? 1) - (low ?? 0)) * 0.1);
  return [(low ?? 0) - room, (high ?? 1) + room];
}

const USUAL_IDS = STRIPS.map((s) => s.id);

/** Any other signal as a plain strip; its scale fits what is seen of it. */
function plain(name: string): Strip {
  return {
    id: name,
    label: () => signalText(name),
    weight: 1,
    unit: unitOfName(name),
    series: [line(1.5, 'ink')],
    cells: (tape, grid) => [cellsOf(tape, name, grid)],
    range: roomAround,
    readings: (tape, tS) => [readingOf(tape, name, tS, unitOfName(name))],
  };
}

/** A strip with another signal on it, dashed, on a scale of its own. */
function withSecond(strip: Strip, name: string): Strip {
  const second = plain(name);
  return {
    ...strip,
    label: (tape) => `${strip.label(tape)}, ${second.label(tape)}`,
    series: [...strip.series, { ...line(1.5, 'now'), scale: 'second', dash: [6, 3] }],
    cells: (tape, grid) => [...strip.cells(tape, grid), ...second.cells(tape, grid)],
    readings: (tape, tS) => [...strip.readings(tape, tS), ...second.readings(tape, tS)],
  };
}

/** All strips that can be shown but the link, as they are without a second signal. */
export const stripsAtHand = (): readonly Strip[] => [...STRIPS.slice(0, -1), ...extraStrips.value.map(plain)];

/** Those that are shown, and the link with the time axis at the bottom. */
export function stripsShown(): readonly Strip[] {
  const { second } = layout.value;
  const chosen = arranged(stripsAtHand()).map((s) => (second[s.id] ? withSecond(s, second[s.id]!) : s));
  return [...chosen, STRIPS.at(-1)!];
}

/** Left: axis numbers. The same for every strip, so that one second is one column of pixels in all of them. */
const AXIS_WIDTH = 46;
const TIME_HEIGHT = 22;

function chartOf(strip: Strip, box: HTMLElement, tape: () => Tape): uPlot {
  const isLink = strip.id === 'link';
  const nowS = () => tape().nowS(performance.now());
  const quiet = { stroke: () => ink('quiet'), font: paint.FONT, ticks: { show: false } };
  return new uPlot(
    {
      width: Math.max(50, box.clientWidth),
      height: Math.max(20, box.clientHeight),
      legend: { show: false },
      padding: [isLink ? 2 : 7, 16, isLink ? 0 : 7, 0],
      scales: {
        x: { time: false, auto: false },
        y: { range: (_u, low, high) => [...(yRanges.peek()[strip.id] ?? strip.range(low, high, tape()))] },
        share: { range: [0, 100] },
        second: { range: (_u, low, high) => roomAround(low, high) },
      },
      axes: [
        {
          ...quiet,
          show: true,
          size: isLink ? TIME_HEIGHT : 0,
          grid: { stroke: () => ink('rule'), width: 0.5, show: !isLink },
          incrs: TIME_STEPS_S,
          space: 64,
          values: (_u, splits) => splits.map((s) => (s < 0 || !isLink ? '' : clockOf(s))),
        },
        {
          ...quiet,
          size: AXIS_WIDTH,
          gap: 4,
          space: 26,
          grid: { stroke: () => ink('rule'), width: 0.5, show: !isLink },
          ...(isLink ? { values: (_u, splits) => splits.map(() => '') } : axisOf(strip.unit)),
        },
      ],
      series: [{}, ...strip.series],
      cursor: {
        y: false,
        points: { show: false },
        drag: { setScale: false, x: true, y: true, uni: 24 },
        // The pointer is on all strips; what is dragged over is one strip's.
        sync: {
          key: 'strips',
          setSeries: false,
          filters: { pub: (type) => type === 'mousemove' || type === 'mouseleave' },
        },
        bind: {
          dblclick: () => () => {
            follow();
            setY(strip.id, null);
            return null;
          },
        },
      },
      hooks: {
        drawAxes: [
          (u) => {
            if (!isLink) paint.paintGaps(u, tape(), nowS());
            strip.under?.(u, tape(), nowS());
          },
        ],
        draw: [(u) => (strip.over ?? ((c, t, n) => paint.paintMarks(c, t, n, false)))(u, tape(), nowS())],
        setCursor: [
          (u) => {
            const { left } = u.cursor;
            const outside = left === undefined || left === null || left < 0;
            if (!outside) stepS.value = null;
            cursorS.value = outside ? stepS.peek() : u.posToVal(left, 'x');
          },
        ],
        setSelect: [
          (u) => {
            const { left, top, width, height } = u.select;
            const [all, tall] = [u.over.clientWidth, u.over.clientHeight];
            if (width < 4 && height < 4) return;
            if (width >= 4 && width < all) hold(u.posToVal(left, 'x'), u.posToVal(left + width, 'x'));
            if (height >= 4 && height < tall && !isLink)
              setY(strip.id, [u.posToVal(top + height, 'y'), u.posToVal(top, 'y')]);
            u.setSelect({ left: 0, top: 0, width: 0, height: 0 }, false);
          },
        ],
      },
    },
    [[], ...strip.series.map(() => [])] as uPlot.AlignedData,
    box,
  );
}

/** @param tape the run to draw; without it, the one being recorded. */
export function Strips({ tape: given }: { tape?: Tape }) {
  const boxes = useRef(new Map<string, HTMLDivElement>());
  const root = useRef<HTMLDivElement>(null);
  const givenRef = useRef(given);
  givenRef.current = given;
  const drawn = useSignal(0);
  const shown = stripsShown();

  useEffect(() => {
    const current = () => givenRef.current ?? liveTape.value;
    const charts = shown.map((strip) => {
      const box = boxes.current.get(strip.id)!;
      return { strip, box, chart: chartOf(strip, box, current) };
    });
    const sizes = new ResizeObserver(() => {
      for (const { box, chart } of charts)
        chart.setSize({ width: Math.max(50, box.clientWidth), height: Math.max(20, box.clientHeight) });
      last = '';
    });
    for (const { box } of charts) sizes.observe(box);
    let last = '';
    let frame = 0;
    let toldMs = 0;
    let untold = false;
    const draw = () => {
      frame = requestAnimationFrame(draw); // none come while the page is hidden
      const tape = current();
      const [from, to] = windowEdges(performance.now());
      const plot = charts[0]!.chart.bbox.width / devicePixelRatio;
      // A window that moved by less than half a pixel looks the same: what follows is smooth, and idles where it can.
      const halfPixels = Math.round((from / (to - from)) * plot * 2);
      const key = `${halfPixels} ${to - from} ${tape.version} ${tape.runId} ${theme.value} ${pinS.value} ${stepS.value} ${JSON.stringify(yRanges.value)}`;
      const nowMs = performance.now();
      if (key === last) return tellOf(nowMs);
      last = key;
      untold = true;
      lookCloser(tape, from, to);
      const grid = gridOver(from, to, Math.max(50, Math.round(plot)));
      for (const { strip, chart } of charts)
        chart.batch(() => {
          chart.setData([grid.x, ...strip.cells(tape, grid)] as uPlot.AlignedData, false);
          chart.setScale('x', { min: from, max: to });
        });
      tellOf(nowMs);
    };
    /** Figures follow what was drawn, at a pace that can be read. */
    const tellOf = (nowMs: number) => {
      if (!untold || nowMs - toldMs < READ_MS) return;
      untold = false;
      toldMs = nowMs;
      drawn.value++;
    };
    // Readings age while nothing new is drawn.
    const timer = setInterval(() => drawn.value++, 1000);
    const retheme = () => {
      paint.forgetInks();
      last = '';
    };
    const dark = matchMedia('(prefers-color-scheme: dark)');
    dark.addEventListener('change', retheme);
    const stopTheme = theme.subscribe(() => queueMicrotask(retheme));
    const stopWords = words.subscribe(() => {
      last = '';
    });
    const stopGestures = gestures(root.current!, () => charts[0]!.chart);
    draw();
    return () => {
      clearInterval(timer);
      cancelAnimationFrame(frame);
      sizes.disconnect();
      dark.removeEventListener('change', retheme);
      stopTheme();
      stopWords();
      stopGestures();
      cursorS.value = null;
      stepS.value = null;
      for (const { chart } of charts) chart.destroy();
    };
  }, [shown.map((s) => `${s.id} ${layout.value.second[s.id] ?? ''}`).join()]);

  return (
    <section class="strips" aria-label={t('strips.title')}>
      <div class="strip-rows" ref={root}>
        {shown.map((strip) => (
          <div
            key={strip.id}
            class={`strip strip-${strip.id}${USUAL_IDS.includes(strip.id) ? '' : ' extra'}`}
            style={{ '--grow': layout.value.grow[strip.id] ?? 1 }}
          >
            <div
              class="plot"
              aria-hidden="true"
              ref={(el: HTMLDivElement | null) => {
                if (el) boxes.current.set(strip.id, el);
              }}
            />
            <Readings strip={strip} given={given} drawn={drawn.value} />
          </div>
        ))}
      </div>
      <TimeBar given={given} drawn={drawn.value} />
    </section>
  );
}

/** What the strip reads: now, or under the pointer. Old values fade and say how old they are. */
function Readings({ strip, given, drawn }: { strip: Strip; given: Tape | undefined; drawn: number }) {
  void drawn; // drawn anew with the chart
  const tape = given ?? liveTape.value;
  const under = cursorS.value;
  const nowS = tape.nowS(performance.now());
  // Of an ended run, the last seconds that are seen: its end says nothing about the seconds one jumped to.
  const atS = under ?? (given ? Math.min(nowS, windowEdges(performance.now())[1]) : nowS);
  if (strip.id === 'link') return <LinkReading live={!given} />;
  const readings = strip.readings(tape, atS);
  const first = readings[0];
  const pinned = pinS.value === null ? null : (strip.readings(tape, pinS.value)[0] ?? null);
  const ageS = first ? atS - first.tS : 0;
  const old = tape.live && ageS > OLD_S;
  return (
    <div class={old ? 'readings old' : 'readings'}>
      <span class="label">{strip.label(tape)}</span>
      <span class="unseen">{toldOf(strip, tape, atS)}</span>
      <span class="figures">
        {readings.map((r, i) => (
          // The order of a strip's readings never changes.
          <span key={r?.unit ?? `none-${i}`} class={i === 0 ? 'figure' : 'figure small'}>
            {r ? <b>{figure(r)}</b> : <b>–</b>}
            {r && <span class="unit"> {r.unit}</span>}
          </span>
        ))}
      </span>
      {pinned && first && (
        <span class="age">{t('strips.since', { change: figure(first, pinned), at: pinS.value! })}</span>
      )}
      <span class="age">
        {first === null || first === undefined
          ? t('strips.no-value')
          : old
            ? t('drive.old', { age: ageOf(ageS) })
            : under === null
              ? (tape.live && strip.note?.()) || ''
              : t('strips.at', { at: under })}
      </span>
    </div>
  );
}

const TREND_S = 15;

/** For who does not see the line: whether it rises or falls, and the band that it belongs in. */
function toldOf(strip: Strip, tape: Tape, atS: number): string {
  const now = strip.readings(tape, atS)[0];
  const before = strip.readings(tape, atS - TREND_S)[0];
  const band = strip.band?.(tape, atS);
  const words: string[] = [];
  if (now && before && now.tS > before.tS) {
    const change = figure({ ...now, value: Math.abs(now.value - before.value) }, { ...now, value: 0 });
    if (!/[1-9]/.test(change)) words.push(t('strips.steady', { s: TREND_S }));
    else words.push(t(now.value > before.value ? 'strips.rising' : 'strips.falling', { change, s: TREND_S }));
  }
  if (band)
    words.push(t('strips.band', { low: withUnit(band[0], strip.unit), high: withUnit(band[1], strip.unit) }));
  return words.join(' ');
}

function LinkReading({ live }: { live: boolean }) {
  const health = connection.value?.health;
  return (
    <div class="readings link">
      <span class="label">{live && health ? linkText(health) : t('strips.link')}</span>
    </div>
  );
}

function linkText({ samplesPerS: perS, roundTripMs }: LinkHealth): string {
  return roundTripMs
    ? t('strips.link-rate', { perS, ms: roundTripMs.p50 })
    : t('strips.link-rate-only', { perS });
}

const USUAL = ['rpm', 'map_kpa', 'baro_kpa', 'ect_c', 'speed_kmh'];

function MoreSignals({ tape }: { tape: Tape }) {
  const names = [...tape.columns.keys()].filter((n) => !USUAL.includes(n)).sort();
  if (names.length === 0) return null;
  return (
    <details class="more">
      <summary>{t('strips.more')}</summary>
      <ul>
        {names.map((n) => (
          <li key={n}>
            <label>
              <input
                type="checkbox"
                checked={extraStrips.value.includes(n)}
                onChange={() => toggleStrip(n)}
              />{' '}
              {signalText(n)}
            </label>
          </li>
        ))}
      </ul>
    </details>
  );
}

function TimeBar({ given, drawn }: { given: Tape | undefined; drawn: number }) {
  void drawn; // the range moves with the chart
  const live = !given;
  const following = useComputed(() => win.value.follow).value;
  const [from, edge] = windowEdges(performance.now());
  const to = given ? Math.min(edge, given.lengthS ?? given.lastS) : edge; // not the room beside an ended run
  return (
    <div class="timebar">
      {live && run.value && (
        <button type="button" aria-pressed={following} onClick={toggleFollow}>
          {t(following ? 'strips.following' : 'strips.held')} <kbd>F</kbd>
        </button>
      )}
      <button type="button" aria-label={t('strips.earlier')} onClick={() => pan(-0.25)}>
        ◂
      </button>
      <button type="button" aria-label={t('strips.later')} onClick={() => pan(0.25)}>
        ▸
      </button>
      <button type="button" aria-label={t('strips.less')} onClick={() => zoom(0.5)}>
        +
      </button>
      <button type="button" aria-label={t('strips.more-time')} onClick={() => zoom(2)}>
        −
      </button>
      <button type="button" onClick={showWhole}>
        {t('strips.whole')}
      </button>
      {canGoBack.value && (
        <button type="button" onClick={back}>
          {t('strips.back')} <kbd>B</kbd>
        </button>
      )}
      <button type="button" aria-pressed={pinS.value !== null} onClick={togglePin}>
        {pinS.value === null ? t('strips.pin') : t('strips.unpin', { at: pinS.value })} <kbd>C</kbd>
      </button>
      <MoreSignals tape={given ?? liveTape.value} />
      <span class="range">{t('strips.range', { from, to })}</span>
    </div>
  );
}
