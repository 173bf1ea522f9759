/** What a recorded run's chart can do besides being looked at: overview, figures, arrangement of the strips, files. */
import { useSignal } from '@preact/signals';
import { useEffect, useRef } from 'preact/hooks';
import type { SeriesView } from '../src/desk/api.ts';
import { unitOfName } from '../src/words/measures.ts';
import { csvOf, statsOf } from './chart-data.ts';
import { pictureOf } from './chart-picture.ts';
import { decimate, gridOver } from './columns.ts';
import { get } from './http.ts';
import { arranged, layout, resetLayout, setLayout, setY, yRanges } from './layout.ts';
import { ink } from './paint.ts';
import { attempt, cursorS, follow, hold, pinS, theme, win, windowEdges } from './state.ts';
import { type Strip, stripsAtHand } from './strips.tsx';
import type { Tape } from './tape.ts';
import { clockOf, signalText, t, unitText, words } from './words.ts';

interface Props {
  readonly tape: Tape;
  /** Of the run, for files. */
  readonly title: string;
}

export function ChartTools({ tape, title }: Props) {
  return (
    <div class="chart-tools">
      <Overview tape={tape} />
      <Figures tape={tape} />
      <Arrangement tape={tape} />
      <Files tape={tape} title={title} />
    </div>
  );
}

const edges = (): [number, number] => {
  void win.value; // drawn anew with the window
  return windowEdges(performance.now());
};

// ---- overview -----------------------------------------------------------------------------------------------

const OVERVIEW_HEIGHT = 44;

/** The whole run small, what is seen of it framed: drag the frame, or drag beside it to frame anew. */
function Overview({ tape }: { tape: Tape }) {
  const canvas = useRef<HTMLCanvasElement>(null);
  const [from, to] = edges();
  const last = Math.max(10, tape.lastS);
  void theme.value;
  useEffect(() => {
    const el = canvas.current!;
    const draw = () => paintOverview(el, tape, windowEdges(performance.now()));
    draw();
    const watch = new ResizeObserver(draw);
    watch.observe(el);
    return () => watch.disconnect();
  }, [tape, from, to, theme.value]);
  const dragged = useRef<{ kind: 'move' | 'new'; atS: number; from: number; to: number } | null>(null);
  const timeAt = (e: PointerEvent) => {
    const box = canvas.current!.getBoundingClientRect();
    return Math.min(last, Math.max(0, ((e.clientX - box.left) / box.width) * last));
  };
  return (
    <canvas
      ref={canvas}
      class="overview"
      height={OVERVIEW_HEIGHT}
      role="img"
      aria-label={t('chart.overview')}
      onPointerDown={(e) => {
        const atS = timeAt(e);
        const inside = atS >= from && atS <= to && !win.peek().follow;
        dragged.current = { kind: inside ? 'move' : 'new', atS, from, to };
        e.currentTarget.setPointerCapture(e.pointerId);
      }}
      onPointerMove={(e) => {
        const d = dragged.current;
        if (!d) return;
        const atS = timeAt(e);
        if (d.kind === 'move') hold(d.from + atS - d.atS, d.to + atS - d.atS);
        else if (Math.abs(atS - d.atS) > last / 100) hold(Math.min(atS, d.atS), Math.max(atS, d.atS));
      }}
      onPointerUp={(e) => {
        const d = dragged.current;
        dragged.current = null;
        // A click beside the frame brings the frame there.
        if (d?.kind === 'new' && Math.abs(timeAt(e) - d.atS) <= last / 100 && !win.peek().follow)
          hold(d.atS - (d.to - d.from) / 2, d.atS + (d.to - d.from) / 2);
      }}
      onDblClick={() => follow()}
    />
  );
}

function paintOverview(el: HTMLCanvasElement, tape: Tape, [from, to]: [number, number]): void {
  const ratio = devicePixelRatio;
  el.width = Math.max(50, el.clientWidth) * ratio;
  el.height = OVERVIEW_HEIGHT * ratio;
  const ctx = el.getContext('2d')!;
  const last = Math.max(10, tape.lastS);
  const x = (tS: number) => (tS / last) * el.width;
  const grid = gridOver(0, last, el.width / ratio);
  const name = tape.pressure() ?? 'rpm';
  for (const [signal, colour] of [
    ['rpm', 'rule'],
    [name, 'quiet'],
  ] as const) {
    const column = tape.columns.get(signal);
    if (!column) continue;
    const cells = decimate(column, grid, 20);
    const seen = cells.filter((v) => typeof v === 'number');
    const [low, high] = [Math.min(...seen), Math.max(...seen)];
    ctx.strokeStyle = ink(colour);
    ctx.lineWidth = ratio;
    ctx.beginPath();
    let down = false;
    for (const [i, v] of cells.entries()) {
      if (v === null) down = false;
      if (typeof v !== 'number') continue;
      const y = (OVERVIEW_HEIGHT - 4 - ((v - low) / (high - low || 1)) * (OVERVIEW_HEIGHT - 8)) * ratio;
      if (down) ctx.lineTo(x(grid.x[i]!), y);
      else ctx.moveTo(x(grid.x[i]!), y);
      down = true;
    }
    ctx.stroke();
  }
  ctx.fillStyle = ink('fault');
  for (const e of tape.engagements)
    if (e.held === false)
      ctx.fillRect(x(e.fromS), (OVERVIEW_HEIGHT - 5) * ratio, Math.max(3, x(e.toS) - x(e.fromS)), 5 * ratio);
  ctx.fillStyle = ink('ground');
  ctx.globalAlpha = 0.65;
  ctx.fillRect(0, 0, x(from), el.height);
  ctx.fillRect(x(to), 0, el.width, el.height);
  ctx.globalAlpha = 1;
  ctx.strokeStyle = ink('now');
  ctx.lineWidth = 2 * ratio;
  ctx.strokeRect(
    Math.max(1, x(from)),
    1,
    Math.min(el.width - 2, x(to)) - Math.max(1, x(from)),
    el.height - 2,
  );
}

// ---- figures ------------------------------------------------------------------------------------------------

/** As many as the daemon gives: all samples of a run of an hour and more. */
const ALL_POINTS = 50_000;
const OVERVIEW_REST_MS = 250;

const fetched = (tape: Tape, fromS: number, toS: number): Promise<SeriesView> =>
  get(`${tape.path}/series?points=${ALL_POINTS}&from=${Math.max(0, fromS).toFixed(3)}&to=${toS.toFixed(3)}`);

/** Every signal at the cursor, and what it did over the stretch: from the kept time to the cursor, or all that is seen. */
function Figures({ tape }: { tape: Tape }) {
  const open = useSignal(false);
  return (
    <details onToggle={(e) => (open.value = e.currentTarget.open)}>
      <summary>{t('chart.figures')}</summary>
      {open.value && <FiguresTable tape={tape} />}
    </details>
  );
}

function FiguresTable({ tape }: { tape: Tape }) {
  const seen = edges();
  const at = cursorS.value;
  const pinned = pinS.value;
  const [fromS, toS] =
    pinned !== null && at !== null && at !== pinned ? [Math.min(at, pinned), Math.max(at, pinned)] : seen;
  const all = useSignal<{ readonly key: string; readonly series: SeriesView } | null>(null);
  const key = `${fromS.toFixed(2)} ${toS.toFixed(2)}`;
  useEffect(() => {
    let gone = false;
    const timer = setTimeout(
      () =>
        void attempt(async () => {
          const series = await fetched(tape, fromS, toS);
          if (!gone) all.value = { key, series };
        }),
      OVERVIEW_REST_MS,
    );
    return () => {
      gone = true;
      clearTimeout(timer);
    };
  }, [tape, key]);
  const current = all.value?.key === key ? all.value.series : null;
  const names = [...tape.columns.keys()].sort((a, b) => signalText(a).localeCompare(signalText(b)));
  const { measures } = words.value;
  return (
    // biome-ignore lint/a11y/noNoninteractiveTabindex: a scrolling region must be reachable by keyboard
    <div class="scrolls" tabIndex={0}>
      <table class="figures-table">
        <caption>
          {t('chart.stretch', { from: Math.max(0, fromS), to: toS })}
          {at === null && ` ${t('chart.point')}`}
        </caption>
        <thead>
          <tr>
            <th scope="col">{t('chart.signal')}</th>
            <th scope="col">{at === null ? '–' : t('strips.at', { at })}</th>
            <th scope="col">{t('chart.least')}</th>
            <th scope="col">{t('chart.mean')}</th>
            <th scope="col">{t('chart.most')}</th>
            <th scope="col">{t('chart.slope')}</th>
          </tr>
        </thead>
        <tbody>
          {names.map((n) => {
            const unit = unitOfName(n);
            const now = at === null ? null : (tape.column(n, at)?.at(at) ?? null);
            const stats = current?.[n] ? statsOf(current[n], fromS, toS) : null;
            const shown = (v: number | null | undefined, difference = false, finer = 0) =>
              v === null || v === undefined ? '–' : measures.bare(v, unit, difference, finer);
            return (
              <tr key={n}>
                <th scope="row">
                  {signalText(n)} <span class="quiet">{unitText(unit)}</span>
                </th>
                <td>{shown(now?.v)}</td>
                <td>{shown(stats?.min)}</td>
                <td>{shown(stats?.mean, false, 1)}</td>
                <td>{shown(stats?.max)}</td>
                <td>{shown(stats?.slopePerMin, true, 1)}</td>
              </tr>
            );
          })}
        </tbody>
      </table>
    </div>
  );
}

// ---- arrangement --------------------------------------------------------------------------------------------

function Arrangement({ tape }: { tape: Tape }) {
  const { hidden, order } = layout.value;
  const everything = stripsAtHand();
  const place = (s: Strip) => (order.includes(s.id) ? order.indexOf(s.id) : order.length);
  const sorted = everything.toSorted((a, b) => place(a) - place(b));
  return (
    <details>
      <summary>{t('chart.arrange')}</summary>
      <ul class="arrange">
        {sorted.map((strip, i) => (
          <Row
            key={strip.id}
            strip={strip}
            tape={tape}
            at={i}
            ids={sorted.map((s) => s.id)}
            hidden={hidden}
          />
        ))}
      </ul>
      <p class="quiet">{t('chart.arrange-how')}</p>
      <button type="button" onClick={resetLayout}>
        {t('chart.usual')}
      </button>
    </details>
  );
}

interface RowProps {
  readonly strip: Strip;
  readonly tape: Tape;
  readonly at: number;
  readonly ids: readonly string[];
  readonly hidden: readonly string[];
}

function Row({ strip, tape, at, ids, hidden }: RowProps) {
  const { id } = strip;
  const what = strip.label(tape);
  const move = (by: number) => {
    const next = [...ids];
    next.splice(at, 1);
    next.splice(at + by, 0, id);
    setLayout({ order: next });
  };
  const grow = layout.value.grow[id] ?? 1;
  const taller = (factor: number) =>
    setLayout({ grow: { ...layout.value.grow, [id]: Math.min(4, Math.max(0.5, grow * factor)) } });
  const isShown = !hidden.includes(id);
  const last = arranged(ids.map((i) => ({ id: i }))).length === 1 && isShown;
  const names = [...tape.columns.keys()].filter((n) => n !== id).sort();
  return (
    <li>
      <label class="check">
        <input
          type="checkbox"
          checked={isShown}
          disabled={last}
          onChange={() => setLayout({ hidden: isShown ? [...hidden, id] : hidden.filter((h) => h !== id) })}
        />
        {what}
      </label>
      <span class="row-tools">
        <Small label={t('chart.up', { what })} sign="↑" off={at === 0} act={() => move(-1)} />
        <Small label={t('chart.down', { what })} sign="↓" off={at === ids.length - 1} act={() => move(1)} />
        <Small label={t('chart.taller', { what })} sign="⇕+" off={grow >= 4} act={() => taller(1.5)} />
        <Small label={t('chart.lower', { what })} sign="⇕−" off={grow <= 0.5} act={() => taller(1 / 1.5)} />
        <Small
          label={t('chart.all-y', { what })}
          sign="y"
          off={!yRanges.value[id]}
          act={() => setY(id, null)}
        />
        <select
          aria-label={t('chart.second', { what })}
          value={layout.value.second[id] ?? ''}
          onChange={(e) => {
            const { [id]: _, ...others } = layout.value.second;
            const name = e.currentTarget.value;
            setLayout({ second: name === '' ? others : { ...others, [id]: name } });
          }}
        >
          <option value="">{t('chart.no-second')}</option>
          {names.map((n) => (
            <option key={n} value={n}>
              {signalText(n)}
            </option>
          ))}
        </select>
      </span>
    </li>
  );
}

function Small({ label, sign, off, act }: { label: string; sign: string; off: boolean; act: () => void }) {
  return (
    <button type="button" aria-label={label} title={label} disabled={off} onClick={act}>
      {sign}
    </button>
  );
}

// ---- files --------------------------------------------------------------------------------------------------

function Files({ tape, title }: Props) {
  const named = () => {
    const [from, to] = windowEdges(performance.now());
    const clock = (s: number) => clockOf(s).replaceAll(':', '-');
    return {
      from: Math.max(0, from),
      to: Math.min(to, tape.lastS),
      file: `${tape.runId}_${clock(from)}_${clock(to)}`,
    };
  };
  const svg = () => {
    const { from, to } = named();
    return pictureOf(tape, from, to, `${title}, ${t('strips.range', { from, to })}`);
  };
  return (
    <p class="actions files">
      <button
        type="button"
        onClick={() =>
          attempt(async () => {
            const { from, to, file } = named();
            save(
              new Blob([csvOf(await fetched(tape, from, to), from, to)], { type: 'text/csv' }),
              `${file}.csv`,
            );
          })
        }
      >
        {t('chart.csv')}
      </button>
      <button
        type="button"
        onClick={() => save(new Blob([svg()], { type: 'image/svg+xml' }), `${named().file}.svg`)}
      >
        {t('chart.svg')}
      </button>
      <button
        type="button"
        onClick={() => attempt(async () => save(await pngOf(svg()), `${named().file}.png`))}
      >
        {t('chart.png')}
      </button>
    </p>
  );
}

/** Twice as fine as it is large, for print. */
async function pngOf(svg: string): Promise<Blob> {
  const image = new Image();
  image.src = `data:image/svg+xml;charset=utf-8,${encodeURIComponent(svg)}`;
  await image.decode();
  const canvas = document.createElement('canvas');
  canvas.width = 2 * image.width;
  canvas.height = 2 * image.height;
  canvas.getContext('2d')!.drawImage(image, 0, 0, canvas.width, canvas.height);
  return new Promise((resolve, reject) =>
    canvas.toBlob((blob) => (blob ? resolve(blob) : reject(new Error('no picture'))), 'image/png'),
  );
}

function save(blob: Blob, name: string): void {
  const link = document.createElement('a');
  link.href = URL.createObjectURL(blob);
  link.download = name;
  link.click();
  setTimeout(() => URL.revokeObjectURL(link.href), 10_000);
}
