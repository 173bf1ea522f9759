/**
 * The live side as one graph. What the session hears comes in once, hot, and everything that lives on it hangs here:
 *
 *   wire$, receiver$ ─────► recorder   each event at once, none dropped, nobody waited for
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
  NEVER,
  Observable,
  type OperatorFunction,
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
import type { ReceiverEvent } from '../nmea/event.ts';
import { FixReader } from '../nmea/fixes.ts';
import type { TwoLinks } from '../run/two-links.ts';
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
  /** A satellite receiver's, where one is wanted. */
  readonly receiver$?: Observable<ReceiverEvent>;
  /** That it was heard already. */
  readonly begun?: ReceiverEvent | null;
}

export interface LiveParts {
  readonly recorder: { readonly startUs: number; wire(event: WireEvent | ReceiverEvent): void };
  readonly judge: Pick<Judge, 'push' | 'view'>;
  readonly columns: Pick<SeriesKeeper, 'push'>;
  /** As told of what the capture begins with. */
  readonly order: TwoLinks;
  readonly scheduler: SchedulerLike;
  /** What does not go on, for the technician. */
  readonly trouble: (what: Says) => void;
}

/** Runs while it is subscribed to. When `ended$` comes, what waited for the page is sent and it completes. */
export function liveGraph(
  { wire$, samples$, receiver$ = NEVER }: Heard,
  { recorder, judge, columns, order, scheduler, trouble }: LiveParts,
  ended$: Observable<unknown>,
): Observable<StreamEvent> {
  const fixes = new FixReader();
  const arriving$ = merge(
    wire$.pipe(each((event) => order.wire(event.kind))),
    samples$.pipe(
      map((s) => ({ ...s, tUs: s.tUs - recorder.startUs, sentUs: s.sentUs - recorder.startUs })),
      each((s) => order.vehicle(s)),
    ),
    receiver$.pipe(
      filter((event) => event.kind === 'nmea'),
      each((event) => order.receiver(fixes.read(event.line, event.tUs - recorder.startUs))),
    ),
  ).pipe(takeUntil(ended$));
  const inRun$ = concat(
    arriving$,
    defer(() => order.finish()),
  ).pipe(share());
  const recorded$ = merge(wire$, receiver$).pipe(
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
    each((s) => judge.push(s)),
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

/** What is made of each, one after the other. `mergeMap` would subscribe hundreds of times a second, mostly to nothing. */
function each<T, R>(made: (one: T) => readonly R[]): OperatorFunction<T, R> {
  return (source$) =>
    new Observable((heard) =>
      source$.subscribe({
        next: (one) => {
          let all: readonly R[];
          try {
            all = made(one);
          } catch (thrown) {
            heard.error(thrown);
            return;
          }
          for (const next of all) heard.next(next);
        },
        error: (thrown) => heard.error(thrown),
        complete: () => heard.complete(),
      }),
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
