/** What verifying a recording says of it. */
import { sayer } from '../core/says.ts';

type None = Record<never, never>;

export interface CheckSays {
  /** Files are named as they are. */
  'check.meta-changed': { file: string };
  'check.no-seal': { file: string };
  'check.recovered': None;
  'check.recording': None;
  'check.open': None;
  'check.hash': None;
  'check.end-missing': { line: number };
  'check.unreadable': { line: number; why: string };
  'check.between': { fromLine: number; toLine: number };
  'check.torn': None;
  'check.empty': None;
}

export const say = sayer<CheckSays>();
