/** Ctrl-C and its relatives as a promise: a recording or a daemon then ends in an orderly way. */

const SIGNALS = ['SIGINT', 'SIGTERM', 'SIGHUP'] as const;

/** Resolves at the first request to stop; a second one ends the program at once. */
export function stopRequested(): Promise<void> {
  return new Promise((resolve) => {
    let asked = false;
    for (const signal of SIGNALS)
      process.on(signal, () => {
        if (asked) process.exit(1);
        asked = true;
        resolve();
      });
  });
}
