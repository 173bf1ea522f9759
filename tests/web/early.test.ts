/** What the page asks for before its place is shown: had once, given up with who wants it, never when it has grown old. */
import { afterEach, beforeEach, expect, it } from 'vitest';
import { askEarly, early, runPaths } from '../../web/early.ts';

const usual = { fetch: globalThis.fetch, now: performance.now };
let asked: { path: string; signal: AbortSignal }[];
let nowMs: number;

beforeEach(() => {
  asked = [];
  nowMs = 0;
  performance.now = () => nowMs;
  globalThis.fetch = ((path: string, { signal }: { signal: AbortSignal }) => {
    asked.push({ path, signal });
    return Promise.resolve(new Response(path));
  }) as typeof fetch;
});
afterEach(() => {
  globalThis.fetch = usual.fetch;
  performance.now = usual.now;
});

it('is had once, by its path alone', async () => {
  const [view, series] = runPaths('a/b');
  askEarly(view);
  expect(asked.map((a) => a.path)).toEqual(['/api/runs/a%2Fb']);
  expect(early(series, null)).toBeNull();
  expect(await (await early(view, null))!.text()).toBe(view);
  expect(early(view, null)).toBeNull();
});

it('is given up with who took it, and too old given to nobody', () => {
  askEarly('/one');
  const gone = new AbortController();
  expect(early('/one', gone.signal)).not.toBeNull();
  expect(asked[0]!.signal.aborted).toBe(false);
  gone.abort();
  expect(asked[0]!.signal.aborted).toBe(true);

  askEarly('/two');
  nowMs = 60_000;
  expect(early('/two', null)).toBeNull();
  expect(asked[1]!.signal.aborted).toBe(true);
});
