/** What verifying a recording says of it. */
import { type Says, sayer } from './says.ts';

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
  'check.packed': { line: number; why: Says };
  'check.cache.absent': None;
  'check.cache.altered': None;
  'check.cache.large': None;
  'check.cache.unvouched': None;
  'check.cache.seal-only': None;
  'check.cache.other': None;
  'check.cache.stale': { n: number; agree: number };
  'check.cache.differs': { n: number };
  'check.cache.agrees': { n: number };
  'check.cache.sealed': None;
  'check.cache.old': None;
  'check.cache.same': None;
  'check.cache.other-found': None;
}

export const say = sayer<CheckSays>();
