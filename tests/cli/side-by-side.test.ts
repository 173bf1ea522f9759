/** Recordings judged and compared side by side: to the last digit what one after another gives, in the order asked. */
import { cpSync, mkdirSync, readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { type GatheredOne, type GatherTask, gatherOne } from '../../src/cli/gather-one.ts';
import { judgeMany } from '../../src/cli/judge-many.ts';
import { type JudgeAsked, type JudgedOne, JudgeOne, type JudgeTask } from '../../src/cli/judge-one.ts';
import { HandbackError } from '../../src/core/errors.ts';
import { WHOLE } from '../../src/core/share.ts';
import { beside, sideBySide, type ThreadOutcome } from '../../src/run/threads.ts';
import type { During } from '../../src/run/types.ts';
import { put, scratch } from '../run/files.ts';
import { ROOT } from './program.ts';

const folder = scratch();
const library = join(folder, 'library');
mkdirSync(library);
const other = join(ROOT, 'captures/conformance/at-can11');
const runs = ['a', 'b', 'c'].map((name) => {
  cpSync(join(ROOT, 'captures/clutch-never-closes'), join(library, name), { recursive: true });
  return join(library, name);
});
const paths = [
  ...runs,
  join(folder, 'absent.csv'),
  put(folder, 'broken.csv', new Uint8Array([1, 0, 200, 3])),
  put(folder, 'drive.csv', 'time,rpm,speed\n0,800,0\n1,820,0\n2,900,3\n'),
];
const never: During = { signal: new AbortController().signal, progress: () => undefined };
const silent = { progress: () => undefined, progressDone: () => undefined, during: () => never };
const asked: JudgeAsked = {
  profile: null,
  stated: { units: {} },
  table: {},
  baseline: [runs[2]!],
  kind: [],
  out: null,
};
/** Where the program under test is: threads load the same files, built or not. */
const built = process.env.HANDBACK_BUILT === '1';
const cli = new URL(built ? '../../dist/src/cli/judge.js' : '../../src/cli/judge.ts', import.meta.url).href;

async function all<R>(outcomes: AsyncIterable<ThreadOutcome<R>>): Promise<unknown[]> {
  const out: unknown[] = [];
  for await (const o of outcomes)
    out.push('value' in o ? o.value : o.thrown instanceof HandbackError ? { told: o.thrown.told } : o.thrown);
  return out;
}
let doneHere = 0;
function judging(most: number, during = never, heapMb?: number, module = 'judge-one') {
  const one = new JudgeOne(asked, silent);
  return sideBySide<JudgeTask, JudgedOne>(
    paths.map((path) => ({ asked, path, content: null })),
    {
      entry: beside(cli, module),
      here: (task, d) => {
        doneHere++;
        return one.judge(task, d);
      },
      most,
      during,
      ...(heapMb === undefined ? {} : { heapMb }),
    },
  );
}

describe('judging many', () => {
  it('two threads give what one gives, errors with their recording, progress up to the end', async () => {
    const shares: number[] = [];
    const alone = await all(judging(1));
    doneHere = 0;
    const beside = await all(judging(2, { ...never, progress: (s) => shares.push(s) }));
    expect(doneHere).toBe(0);
    expect(beside).toStrictEqual(alone);
    expect(alone.map((o) => 'told' in (o as object))).toEqual([false, false, false, true, true, false]);
    expect(alone[0]).toMatchObject({ faulty: true, judged: [{ judgement: { path: runs[0] } }] });
    expect(shares.at(-1)).toBeCloseTo(1, 9);
    expect(shares).toEqual(shares.toSorted((a, b) => a - b));
  });

  it('stopped, nothing more comes', async () => {
    const gone = new AbortController();
    const heard: unknown[] = [];
    const stopped = (async () => {
      const progress = () => gone.abort(new Error('no more'));
      for await (const o of judging(2, { signal: gone.signal, progress })) heard.push(o);
    })();
    await expect(stopped).rejects.toThrow('no more');
    expect(heard).toEqual([]);
    await expect(all(judging(2, { ...never, signal: gone.signal }))).rejects.toThrow('no more');
  });

  it('what no thread could do, for want of memory or because none starts, is done here', async () => {
    const alone = await all(judging(1));
    // From source the loader has a thread of its own: when that runs out of memory, Node.js waits for it for ever.
    if (built) expect(await all(judging(2, never, 8))).toStrictEqual(alone);
    expect(await all(judging(2, never, undefined, 'no-such-module'))).toStrictEqual(alone);
  });
});

it('into files: the same content is judged once, as the first that has it', async () => {
  const into = async (name: string, most: number) => {
    const out = { folder: join(folder, name), share: WHOLE, given: null };
    const apart = { ...asked, baseline: [], out };
    const placed: unknown[] = [];
    const one = new JudgeOne(apart, silent);
    for await (const { path, outcome } of judgeMany([...runs, other], apart, one, most, never))
      placed.push([path, 'value' in outcome && outcome.value.placed]);
    const files = readdirSync(out.folder).sort();
    return { placed, files: files.map((f) => [f, readFileSync(join(out.folder, f), 'utf8')]) };
  };
  const [alone, beside] = [await into('alone', 1), await into('beside', 2)];
  expect(beside.files).toEqual(alone.files);
  expect(alone.placed).toEqual([
    [runs[0], 'judged'],
    [runs[1], 'there'],
    [runs[2], 'there'],
    [other, 'judged'],
  ]);
  expect(beside.placed).toEqual([0, 3, 1, 2].map((i) => alone.placed[i]));
});

it('what comparing takes from each is the same', async () => {
  const tasks = [other, ...runs].map((path): GatherTask => ({ path, table: {}, profile: {} }));
  const by = (most: number) =>
    sideBySide<GatherTask, GatheredOne>(tasks, {
      entry: beside(cli, 'gather-one'),
      here: gatherOne,
      most,
      during: never,
    });
  const alone = (await all(by(1))) as GatheredOne[];
  expect(await all(by(2))).toStrictEqual(alone);
  expect(alone[1]!.parts[0]!.pulls.length).toBeGreaterThan(0);
});
