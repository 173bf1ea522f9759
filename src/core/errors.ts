/** One error class for everything that cannot go on; bytes from outside are data and never throw this. */

import type { Says, Told } from './says.ts';

/** Exit statuses of the command line. */
export const EXIT = {
  ok: 0,
  internal: 1,
  badInput: 2,
  faultShown: 3,
  noAnswer: 4,
  stoppedEarly: 5,
} as const;

/** Codes by layer; a code is stable and may be relied on, a sentence may be reworded. */
export type ErrorCode =
  | 'input.usage'
  | 'input.file'
  | 'input.format'
  | 'input.profile'
  | 'input.version'
  | 'link.open'
  | 'link.busy'
  | 'link.lost'
  | 'adapter.silent'
  | 'adapter.nonsense'
  | 'adapter.unsupported'
  | 'vehicle.silent'
  | 'gate.refused'
  | 'run.write'
  | 'run.busy'
  | 'library.path'
  | 'internal';

const EXIT_OF: Record<string, number> = {
  input: EXIT.badInput,
  link: EXIT.noAnswer,
  adapter: EXIT.noAnswer,
  vehicle: EXIT.noAnswer,
  gate: EXIT.badInput,
  run: EXIT.stoppedEarly,
  library: EXIT.badInput,
  internal: EXIT.internal,
};

export class HandbackError extends Error {
  readonly code: ErrorCode;
  /** What to try next, in English; null when the message says it all. */
  readonly hint: string | null;
  /** The same for faces, in whatever language: statements, or sentences of rooms that still make them. */
  readonly told: { readonly message: Told; readonly hint: Told | null };

  /** @param what happened, with names and numbers: what a technician is told. `message` and `hint` are its English, for logs. */
  constructor(code: ErrorCode, what: Told, options: { hint?: Told; cause?: unknown } = {}) {
    super(english(what), options.cause === undefined ? {} : { cause: options.cause });
    this.name = 'HandbackError';
    this.code = code;
    this.told = { message: what, hint: options.hint ?? null };
    this.hint = options.hint === undefined ? null : english(options.hint);
  }

  get exitStatus(): number {
    return EXIT_OF[this.code.split('.')[0] ?? 'internal'] ?? EXIT.internal;
  }
}

/** What is told of anything thrown: an error's own statement, else the reason as it came. */
export const toldOf = (thrown: unknown): Told =>
  thrown instanceof HandbackError ? thrown.told.message : reasonOf(thrown);

/** Words stand above this floor: who has them lends them (`src/words/spelled.ts`); until then a statement is spelt out. */
let render = (says: Says): string => `${says.id} ${JSON.stringify(says.args)}`;
export function sayErrorsWith(words: (says: Says) => string): void {
  render = words;
}
const english = (told: Told): string => (typeof told === 'string' ? told : render(told));

/** What a system says in its own words, for people. */
const IN_WORDS: Readonly<Record<string, string>> = {
  EROFS: 'the folder can only be read',
  ENOSPC: 'the disk is full',
  EDQUOT: 'the space given to this user is used up',
  EACCES: 'this user may not do that there',
  EPERM: 'this user may not do that there',
  EIO: 'the device reports an error: is it still plugged in?',
  EBADF: 'the device is gone',
  ENODEV: 'the device is gone',
  ENXIO: 'the device is gone',
  EMFILE: 'too many files are open',
  EADDRINUSE: 'another program listens there already',
  EADDRNOTAVAIL: 'this computer has no such address',
  ENOTFOUND: 'there is no such name in this network',
};

/** The text of anything thrown; what the system says about files and devices in plain words, without paths. */
export function reasonOf(thrown: unknown): string {
  if (!(thrown instanceof Error)) return String(thrown);
  const { code } = thrown as { readonly code?: unknown };
  return (typeof code === 'string' ? IN_WORDS[code] : undefined) ?? thrown.message;
}
