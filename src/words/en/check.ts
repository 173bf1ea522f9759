/** English: what verifying a recording says of it. */
import type { CheckSays } from '../../core/check-says.ts';
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
  'check.cache.absent': 'It is not there; it is made again when it is needed.',
  'check.cache.altered':
    'It is not as this user’s program wrote it: damaged, edited, or from another computer. It is not believed, and made again.',
  'check.cache.large':
    'It is too large to be used. Each time it is needed, what it holds is made again from the recordings.',
  'check.cache.unvouched':
    'No judgement.json that is believed vouches for it, so nothing tells who wrote it. It is not believed, and made again.',
  'check.cache.seal-only':
    'It is as this user’s program wrote it. Of which capture and which build of the program it is was not looked at; it is believed only for those.',
  'check.cache.other':
    'Another build of the program made it, or it was made for another folder. It is not believed, and made again.',
  'check.cache.stale':
    'Entries that are not of the files as they are now: {$n :num}. They are not believed; the others agree: {$agree :num}.',
  'check.cache.differs':
    'Entries that would be believed and say something else than the files: {$n :num}. Delete it; nothing is lost.',
  'check.cache.agrees': 'It agrees with what it was made from, entry by entry: {$n :num}.',
  'check.cache.sealed': 'It is as this user’s program wrote it, and believed only for what it was made from.',
  'check.cache.old':
    'The decoded values are of another capture or of another build of the program. They are not believed, and made again.',
  'check.cache.same': 'It holds what the capture gives now.',
  'check.cache.other-found':
    'It would be believed, and holds something else than the capture gives. Delete it; nothing is lost.',
} as const satisfies Messages<CheckSays>;
