/**
 * The live side as one graph. What the session hears comes in once, hot, and everything that lives on it hangs here:
 *
 *   wire$, receiver$ ─────► recorder   each event at once, none dropped, nobody waited for
 *   samples$ ─ run time ─► all of 80 ms ─┬► columns ─► page   what is done one by one is cold each time
 *                            together    ├► judge ─► spoken   told of each as it comes
 *                            (share)     └► view              four times a second, with the samples of that moment
 *
 * A subscriber that fails ends alone: whatever the judge trips over, the drive is recorded. Pages that are too slow for
 * this are the server's business (server/stream.ts conflates for each).
 */

import {
  buffer,
  catchError,
  concat,
  defer,
  EMPTY,
  filter,
  ignoreElements,
  interval,
  map,
  merge,
  mergeMap,
  Observable,
  type OperatorFunction,
  of,
  type SchedulerLike,
  sample,
  share,
  startWith,
  takeUntil,
  tap,
} from 'rxjs';
import type { WireEvent } from '../adapter/adapter.ts';
import type { LiveView, Spoken } from '../analysis/types.ts';
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

/** Samples are judged and go to the page this often: neither ear nor eye waits for it. A view goes with every third of them. */
const SAMPLES_EVERY_MS = 80;
const VIEW_EVERY = 3;

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
  readonly judge: {
    /** A sample has come; to be judged with the next ones. */
    take(sample: Sample): void;
    /** Judges what was taken. @returns what is to be said of it */
    judged(): readonly Spoken[];
    view(): LiveView;
  };
  readonly columns: Pick<SeriesKeeper, 'push'>;
  /** As told of what the capture begins with. */
  readonly order: TwoLinks;
  readonly scheduler: SchedulerLike;
  /** What does not go on, for the technician. */
  readonly trouble: (what: Says) => void;
}

/** Runs while it is subscribed to. When `ended$` comes, what waited for the page is sent and it completes. */
export function liveGraph(
  { wire$, samples$, receiver$ }: Heard,
  { recorder, judge, columns, order, scheduler, trouble }: LiveParts,
  ended$: Observable<unknown>,
): Observable<StreamEvent> {
  const fixes = new FixReader();
  const arriving$ = merge(
    // Without a receiver there is nothing that an exchange could hold up.
    receiver$ ? wire$.pipe(each((event) => order.wire(event.kind))) : EMPTY,
    samples$.pipe(
      each((s) =>
        order.vehicle({ ...s, tUs: s.tUs - recorder.startUs, sentUs: s.sentUs - recorder.startUs }),
      ),
    ),
    (receiver$ ?? EMPTY).pipe(
      filter((event) => event.kind === 'nmea'),
      each((event) => order.receiver(fixes.read(event.line, event.tUs - recorder.startUs))),
    ),
  ).pipe(takeUntil(ended$));
  const inRun$ = concat(
    arriving$,
    defer(() => order.finish()),
  ).pipe(share());
  const recorded$ = merge(
    wire$.pipe(each((event) => recorded(recorder, event))),
    (receiver$ ?? EMPTY).pipe(each((event) => recorded(recorder, event))),
  ).pipe(takeUntil(ended$));
  const tick$ = interval(SAMPLES_EVERY_MS, scheduler).pipe(takeUntil(ended$), share());
  const batch$ = inRun$.pipe(
    buffer(tick$),
    filter((batch) => batch.length > 0),
    share(),
  );
  const drawn$ = batch$.pipe(
    tap((batch) => {
      for (const s of batch) columns.push(s);
    }),
    map((batch) => ({ event: 'samples' as const, data: bySignal(batch) })),
  );
  const spoken$ = merge(
    inRun$.pipe(
      tap((s) => judge.take(s)),
      ignoreElements(),
    ),
    batch$.pipe(each(() => judge.judged())),
  ).pipe(map((said) => ({ event: 'spoken' as const, data: spelled(said) })));
  const viewNow$ = defer(() => of({ event: 'view' as const, data: spelled(judge.view()) }));
  const view$ = batch$.pipe(
    startWith(null),
    sample(tick$.pipe(filter((_, i) => (i + 1) % VIEW_EVERY === 0))),
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

const NONE: readonly never[] = [];

function recorded(recorder: LiveParts['recorder'], event: WireEvent | ReceiverEvent): readonly never[] {
  recorder.wire(event);
  return NONE;
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
