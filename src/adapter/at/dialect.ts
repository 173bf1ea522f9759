import type { DialectEntry } from '../dialect.ts';
import { atDriver } from './driver.ts';
import { readAt } from './read.ts';
import { TextWatch } from './watch.ts';

export const atDialect: DialectEntry = {
  quickToFind: true,
  driver: atDriver,
  read: readAt,
  watch: (may) => new TextWatch(may),
};
