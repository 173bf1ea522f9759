/** Ctrl-C and its relatives as a promise: a recording or a daemon then ends in an orderly way. */

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
