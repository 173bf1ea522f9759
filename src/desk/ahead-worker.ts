/** Reads one of several runs that a question needs, beside others, and keeps what was found out where the answer will look. */
import { constants, setPriority } from 'node:os';
import type { Profile } from '../core/profile.ts';
import type { RunEntry } from '../run/library.ts';
import { inThread } from '../run/threads.ts';
import { KeptJudgements } from './kept-judgement.ts';
import { OpenedRuns } from './opened-runs.ts';

export interface Ahead {
  readonly entry: RunEntry;
  /** What comparing takes under it; null: decoded and judged by itself. */
  readonly profile: Profile | null;
}

/** Its errors are told by the answer. */
export default inThread(async ({ entry, profile }: Ahead, during): Promise<void> => {
  // Elsewhere than on Linux the call means the whole process, the recorder with it.
  if (process.platform === 'linux') setPriority(constants.priority.PRIORITY_BELOW_NORMAL);
  const opened = new OpenedRuns(new KeptJudgements());
  try {
    if (profile === null) await opened.open(entry, null, during);
    else await opened.gathered.of(entry, profile, during);
  } finally {
    await opened.settled();
  }
});
