/** What the place in the address is about is asked for while the page still fetches its words and its parts. */

/** Of each signal for a run as a whole: two for each column of pixels of a large screen. */
export const WHOLE_POINTS = 4000;

interface Asked {
  readonly answer: Promise<Response>;
  readonly gone: AbortController;
  readonly atMs: number;
}
/** Who comes later wants what is so then. Chosen by hand. */
const FRESH_MS = 10_000;
const asked = new Map<string, Asked>();

/** An ended run: itself, and its curves. */
export function runPaths(id: string): readonly [view: string, series: string] {
  const path = `/api/runs/${encodeURIComponent(id)}`;
  return [path, `${path}/series?points=${WHOLE_POINTS}`];
}

/** The list of jobs before anything is looked for. */
export const JOBS_PATH = '/api/jobs?q=';

export function askEarly(path: string): void {
  const gone = new AbortController();
  const answer = fetch(path, { signal: gone.signal });
  answer.catch(() => undefined); // whoever wants it hears of it
  asked.set(path, { answer, gone, atMs: performance.now() });
}

/** The answer that was asked for early, once; null where none was. @param signal gives it up */
export function early(path: string, signal: AbortSignal | null): Promise<Response> | null {
  const known = asked.get(path);
  if (!known) return null;
  asked.delete(path);
  if (performance.now() - known.atMs > FRESH_MS) {
    known.gone.abort();
    return null;
  }
  signal?.addEventListener('abort', () => known.gone.abort(), { once: true });
  return known.answer;
}
