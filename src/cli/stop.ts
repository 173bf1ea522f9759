/** Ctrl-C and its relatives as a promise: a recording or a daemon then ends in an orderly way. */
import { EXIT } from '../core/errors.ts';
import type { Says } from '../core/says.ts';
import type { During } from '../run/types.ts';
import type { Io } from './io.ts';

const SIGNALS = ['SIGINT', 'SIGTERM', 'SIGHUP'] as const;
/** The end of a session sends two kinds at once, a closed terminal too: only what comes later is impatience. */
const TOGETHER_MS = 2000;

/** What of a process is needed here. */
export interface Stoppable {
  on(signal: (typeof SIGNALS)[number], listener: () => void): unknown;
  exit(status: number): void;
  readonly stdout: { on(event: 'error', listener: () => void): unknown };
  readonly stderr: { on(event: 'error', listener: () => void): unknown };
}

/** Resolves at the first request to stop; a further Ctrl-C or kill, later, ends the program at once. */
export function stopRequested(
  from: Stoppable = process as unknown as Stoppable,
  nowMs: () => number = () => performance.now(),
): Promise<void> {
  // What is written to a terminal that is gone must not end the program before the run is closed.
  for (const stream of [from.stdout, from.stderr]) stream.on('error', () => undefined);
  return new Promise((resolve) => {
    let askedMs: number | null = null;
    for (const signal of SIGNALS)
      from.on(signal, () => {
        if (askedMs !== null && signal !== 'SIGHUP' && nowMs() - askedMs > TOGETHER_MS) from.exit(1);
        askedMs ??= nowMs();
        resolve();
      });
  });
}

/** Work that writes, with its progress: Ctrl-C gives it up in order, nothing of it is left, and the status is "stopped early". */
export async function untilStopped(
  io: Pick<Io, 'progress' | 'progressDone'>,
  what: Says,
  work: (during: During) => Promise<void>,
): Promise<void> {
  const stop = new AbortController();
  void stopRequested().then(() => stop.abort());
  try {
    await work({ signal: stop.signal, progress: (share) => io.progress(what, share) });
  } catch (thrown) {
    if (!stop.signal.aborted) throw thrown;
    process.exitCode = EXIT.stoppedEarly;
  } finally {
    io.progressDone();
  }
}
