/** What `handback judge` does with its recordings: in the program's own thread, or in several side by side. */
import { beside, sideBySide, type ThreadOutcome } from '../run/threads.ts';
import type { During } from '../run/types.ts';
import type { JudgeAsked, JudgedOne, JudgeOne, JudgeTask } from './judge-one.ts';
import { digestOf } from './judged-apart.ts';

/**
 * In the order given, but what goes into files is judged once a content: what is the same as another comes last, when
 * that one's file is there.
 * @throws the signal's reason
 */
export async function* judgeMany(
  paths: readonly string[],
  asked: JudgeAsked,
  here: JudgeOne,
  most: number,
  during: During,
): AsyncGenerator<{ readonly path: string; readonly outcome: ThreadOutcome<JudgedOne> }> {
  const tasks = paths.map((path): JudgeTask => ({ asked, path, content: null }));
  const rounds =
    asked.out !== null && most > 1
      ? await eachOnce(tasks, during.signal)
      : { first: tasks, again: [] as JudgeTask[] };
  for (const [round, threads] of [
    [rounds.first, most],
    [rounds.again, 1],
  ] as const) {
    const outcomes = sideBySide<JudgeTask, JudgedOne>(round, {
      entry: beside(import.meta.url, 'judge-one'),
      here: (task, part) => here.judge(task, part),
      most: threads,
      during,
    });
    let i = 0;
    for await (const outcome of outcomes) yield { path: round[i++]!.path, outcome };
  }
}

/** What cannot be read is said by who judges it. */
async function eachOnce(tasks: readonly JudgeTask[], signal: AbortSignal) {
  const known = new Set<string>();
  const first: JudgeTask[] = [];
  const again: JudgeTask[] = [];
  for (const task of tasks) {
    signal.throwIfAborted();
    const content = await digestOf(task.path).catch(() => null);
    const isKnown = content !== null && known.has(content);
    if (content !== null) known.add(content);
    (isKnown ? again : first).push({ ...task, content });
  }
  return { first, again };
}
