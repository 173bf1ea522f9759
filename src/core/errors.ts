/** One error class for everything that cannot go on; bytes from outside are data and never throw this. */

import { saying } from './error-says.ts';
import { asIs, inTurn, type Says } from './says.ts';

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
  | 'link.lossy'
  | 'adapter.silent'
  | 'adapter.nonsense'
  | 'adapter.unsupported'
  | 'vehicle.silent'
  | 'gate.refused'
  | 'run.write'
  | 'run.busy'
  | 'library.path'
  | 'library.read-only'
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
  /** The same for faces, in whatever language. */
  readonly told: { readonly message: Says; readonly hint: Says | null };

  /** @param what happened, with names and numbers: what a technician is told. `message` and `hint` are its English, for logs. */
  constructor(code: ErrorCode, what: Says, options: { hint?: Says; cause?: unknown } = {}) {
    super(render(what), options.cause === undefined ? {} : { cause: options.cause });
    this.name = 'HandbackError';
    this.code = code;
    const hint = options.hint ?? (isFull(options.cause) ? saying('error.make-room') : null);
    this.told = { message: what, hint };
    this.hint = hint === null ? null : render(hint);
  }

  get exitStatus(): number {
    return EXIT_OF[this.code.split('.')[0] ?? 'internal'] ?? EXIT.internal;
  }
}

/** Whether a disk without room is the reason. */
export function isFull(thrown: unknown): boolean {
  if (!(thrown instanceof Error)) return false;
  const { code, cause } = thrown as { readonly code?: unknown; readonly cause?: unknown };
  return code === 'ENOSPC' || code === 'EDQUOT' || isFull(cause);
}

/** Words stand above this floor: who has them lends them (`src/words/spelled.ts`); until then a statement is spelt out. */
let render = (says: Says): string => `${says.id} ${JSON.stringify(says.args)}`;
export function sayErrorsWith(words: (says: Says) => string): void {
  render = words;
}

/** What a system says of files and devices, by its code (errno(3)). */
const OF_SYSTEM: Readonly<Record<string, Says>> = {
  EROFS: saying('reason.read-only'),
  ENOSPC: saying('reason.disk-full'),
  EDQUOT: saying('reason.quota'),
  EACCES: saying('reason.forbidden'),
  EPERM: saying('reason.forbidden'),
  EIO: saying('reason.device-error'),
  EBADF: saying('reason.device-gone'),
  ENODEV: saying('reason.device-gone'),
  ENXIO: saying('reason.device-gone'),
  EMFILE: saying('reason.files-open'),
  PACKED_CUT: saying('reason.packed-cut'),
  PACKED_DAMAGED: saying('reason.packed-damaged'),
  EADDRINUSE: saying('reason.port-taken'),
  EADDRNOTAVAIL: saying('reason.no-address'),
  ENOTFOUND: saying('reason.no-name'),
};

/** What is told of anything thrown: an error's own statement, the system's reason without paths, else its text as it came. */
export function toldOf(thrown: unknown): Says {
  if (thrown instanceof HandbackError) return thrown.told.message;
  if (!(thrown instanceof Error)) return asIs(String(thrown));
  const { code } = thrown as { readonly code?: unknown };
  return (typeof code === 'string' ? OF_SYSTEM[code] : undefined) ?? asIs(thrown.message);
}

/** What a mistake of the program says of itself names no part: told with the one that made it. Anything else stays as it is. */
export function mistakeIn(part: string, thrown: unknown): unknown {
  if (!(thrown instanceof TypeError || thrown instanceof RangeError || thrown instanceof ReferenceError))
    return thrown;
  return new HandbackError('internal', asIs(`${part} failed: ${thrown.message}`), { cause: thrown });
}

/** The same, and what to try. */
export function withHint(thrown: unknown): Says {
  const hint = thrown instanceof HandbackError ? thrown.told.hint : null;
  return inTurn(hint === null ? [toldOf(thrown)] : [toldOf(thrown), hint]);
}

/** The same as English text, for logs and captures. */
export const reasonOf = (thrown: unknown): string => inEnglish(toldOf(thrown));

/** A statement as English text, for logs and captures. */
export const inEnglish = (says: Says): string => (says.id === 'text' ? String(says.args.text) : render(says));
