/** English: what verifying a recording says of it. */
import type { CheckSays } from '../../run/says.ts';
import type { Messages } from '../statements.ts';

export const check = {
  'check.meta-changed': '{$file} is not as it was written.',
  'check.no-seal': '{$file} carries no seal: an older version wrote it.',
  'check.recovered': 'The run had been interrupted and was closed afterwards.',
  'check.recording': 'The run is being recorded.',
  'check.open': 'The run was interrupted and is not closed yet.',
  'check.hash': 'The capture is not as it was when the run was closed: its SHA-256 differs.',
  'check.end-missing': 'All that is there fits together: its end behind line {$line :num} is missing.',
  'check.unreadable': 'Line {$line :num} cannot be read: {$why}.',
  'check.between': 'Between lines {$fromLine :num} and {$toLine :num} something is not as it was recorded.',
  'check.torn': 'The last line is torn: the recording was interrupted while it was written.',
  'check.packed': '{$why :says}: something behind line {$line :num} is missing; the rest was read.',
  'check.empty': 'There is no record in it.',
} as const satisfies Messages<CheckSays>;
