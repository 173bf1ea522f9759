/** A closer look: finer points of the seconds that are seen, fetched when the window rests on thinned ones. */
import type { SeriesView } from '../src/desk/api.ts';
import { get } from './http.ts';
import type { Tape } from './tape.ts';

/** Three windows wide, so that panning a little needs nothing new. */
const CLOSER_POINTS = 12_000;
/** A window that still changes is not worth a request. */
const WINDOW_REST_MS = 120;
/** What was fetched is fine enough for windows this much smaller. */
const ENOUGH = 4;

let waiting: ReturnType<typeof setTimeout> | null = null;
let asking = false;
let wanted: { tape: Tape; fromS: number; toS: number } | null = null;

/** Called with every window that is drawn; what comes raises the tape's version, so that it is drawn anew. */
export function lookCloser(tape: Tape, fromS: number, toS: number): void {
  const end = Math.min(toS, tape.thinUntilS);
  const spanS = toS - fromS;
  // Over half of what was thinned the whole run's points are as many as can be seen.
  if (end <= fromS || spanS > tape.thinUntilS / 2 || tape.isFine(Math.max(0, fromS), end, ENOUGH * 3 * spanS))
    return;
  wanted = { tape, fromS: Math.max(0, fromS - spanS), toS: toS + spanS };
  if (asking) return;
  if (waiting) clearTimeout(waiting);
  waiting = setTimeout(() => void ask(), WINDOW_REST_MS);
}

async function ask(): Promise<void> {
  if (!wanted) return;
  const { tape, fromS, toS } = wanted;
  wanted = null;
  asking = true;
  try {
    const query = `points=${CLOSER_POINTS}&from=${fromS.toFixed(2)}&to=${toS.toFixed(2)}`;
    tape.addFine(await get<SeriesView>(`${tape.path}/series?${query}`), fromS, toS);
  } catch {
    tape.addFine({}, fromS, toS); // the thinned line stays; another window asks again
  }
  asking = false;
}
