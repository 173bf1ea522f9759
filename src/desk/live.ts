/**
 * The live side as one graph. What the session hears comes in once, hot, and everything that lives on it hangs here:
 *
 *   wire$ ────────────────► recorder   each event at once, none dropped, nobody waited for
 *   samples$ ─ run time ─┬► columns ─ bufferTime ─► page   all of 50 ms together
 *            (share)     ├► judge ─► spoken                at once: the ear does not wait
 *                        └► auditTime ─► view              the newest, four times a second
 *
 * A subscriber that fails ends alone: whatever the judge trips over, the drive is recorded. Pages that are too slow for
 * this are the server's business (server/stream.ts conflates for each).
 */

import {
  auditTime,
  bufferTime,
  catchError,
  concat,
  defer,
  EMPTY,
  filter,
  ignoreElements,
  map,
  merge,
  mergeMap,
  type Observable,
  of,
  type SchedulerLike,
  share,
  startWith,
  takeUntil,
  tap,
} from 'rxjs';
import type { WireEvent } from '../adapter/adapter.ts';
import type { Judge } from '../analysis/judge.ts';
import { saying } from '../core/error-says.ts';
import { toldOf } from '../core/errors.ts';
import type { Says } from '../core/says.ts';
import type { Sample } from '../core/signals.ts';
import { spelled } from '../words/spelled.ts';
import type { SeriesView, StreamEvent } from './api.ts';
import type { SeriesKeeper } from './series-keeper.ts';

/** Samples and views go to the page this often. */
const SAMPLES_EVERY_MS = 50;
const VIEW_EVERY_MS = 250;

export interface Heard {
  readonly wire$: Observable<WireEvent>;
  /** Times are the clock's. */
  readonly samples$: Observable<Sample>;
}

export interface LiveParts {
  readonly recorder: { readonly startUs: number; wire(event: WireEvent): void };
  readonly judge: Pick<Judge, 'push' | 'view'>;
  readonly columns: Pick<SeriesKeeper, 'push'>;
  readonly scheduler: SchedulerLike;
  /** What does not go on, for the technician. */
  readonly trouble: (what: Says) => void;
}

/** Runs while it is subscribed to. When `ended$` comes, what waited for the page is sent and it completes. */
export function liveGraph(
  { wire$, samples$ }: Heard,
  { recorder, judge, columns, scheduler, trouble }: LiveParts,
  ended$: Observable<unknown>,
): Observable<StreamEvent> {
  const inRun$ = samples$.pipe(
    map((s) => ({ ...s, tUs: s.tUs - recorder.startUs, sentUs: s.sentUs - recorder.startUs })),
    takeUntil(ended$),
    share(),
  );
  const recorded$ = wire$.pipe(
    takeUntil(ended$),
    tap((event) => recorder.wire(event)),
    ignoreElements(),
  );
  const drawn$ = inRun$.pipe(
    tap((s) => columns.push(s)),
    bufferTime(SAMPLES_EVERY_MS, scheduler),
    filter((batch) => batch.length > 0),
    map((batch) => ({ event: 'samples' as const, data: bySignal(batch) })),
  );
  const spoken$ = inRun$.pipe(
    mergeMap((s) => judge.push(s)),
    map((said) => ({ event: 'spoken' as const, data: spelled(said) })),
  );
  const viewNow$ = defer(() => of({ event: 'view' as const, data: spelled(judge.view()) }));
  const view$ = inRun$.pipe(
    startWith(null),
    auditTime(VIEW_EVERY_MS, scheduler),
    mergeMap(() => viewNow$),
    takeUntil(ended$),
  );
  const alone = <T>(
    branch$: Observable<T>,
    part: 'recording' | 'chart' | 'spoken' | 'judging',
  ): Observable<T> =>
    branch$.pipe(
      catchError((thrown: unknown) => {
        trouble(saying(`stopped.${part}`, { why: toldOf(thrown) }));
        return EMPTY;
      }),
    );
  return merge(
    alone(recorded$, 'recording'),
    alone(drawn$, 'chart'),
    alone(spoken$, 'spoken'),
    alone(concat(view$, viewNow$), 'judging'),
  );
}

function bySignal(batch: readonly Sample[]): SeriesView {
  const view: Record<string, { t: number[]; v: number[] }> = {};
  for (const { signal, tUs, value } of batch) {
    view[signal] ??= { t: [], v: [] };
    view[signal].t.push(tUs / 1e6);
    view[signal].v.push(value);
  }
  return view;
}
