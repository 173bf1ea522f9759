import type { DialectEntry } from '../dialect.ts';
import { slcanDriver } from './driver.ts';
import { readSlcan } from './read.ts';
import { FrameWatch } from './watch.ts';

export const slcanDialect: DialectEntry = {
  quickToFind: false, // one that never says a word has to be listened to, then its vehicle asked
  driver: slcanDriver,
  read: (_dialect, _sent, rx) => readSlcan(rx),
  watch: (may) => new FrameWatch(may),
};
