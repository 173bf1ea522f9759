/** What link, adapter and vehicle say when nothing comes of a request, with the words in `src/words`. */
import { type Says, sayer } from './says.ts';

export interface WireSays {
  /** What people call each dialect of adapters. */
  'dialect.at': Record<never, never>;
  'dialect.slcan': Record<never, never>;
  'wire.vanished': { link: string; why: Says };
  'wire.failed': { link: string; why: Says };
  'wire.closed': { link: string };
  'wire.other-end': { link: string };
  'wire.link-closed': Record<never, never>;
  'wire.stopped': Record<never, never>;
  'wire.adapter-silent': Record<never, never>;
  'wire.adapter-deaf': Record<never, never>;
  'wire.no-prompt': { ms: number };
  'wire.loses': Record<never, never>;
  'wire.without-end': Record<never, never>;
  'wire.unreadable': Record<never, never>;
  'wire.empty': Record<never, never>;
  'wire.not-acknowledged': Record<never, never>;
  'wire.not-sent': Record<never, never>;
  'wire.no-unit': { ms: number };
  'wire.no-answer': Record<never, never>;
  'wire.vehicle-silent': Record<never, never>;
  'wire.not-in-answer': Record<never, never>;
  'wire.not-asked': Record<never, never>;
  /** `reason` is one of the `refusal` messages, or the code again. */
  'wire.refused': { code: string; reason: Says };
  'wire.asked-again': { why: Says; seconds: number };
  'wire.of-unit': { ecu: string; what: Says };
  /** A word of the adapter, and how it wrote it. */
  'wire.word': { meaning: Says; word: string };
  'wire.complains': { why: Says; flags: Says };
  'wire.crowded': { why: Says };
  'word.ok': Record<never, never>;
  'word.refused': Record<never, never>;
  'word.no-data': Record<never, never>;
  'word.no-bus': Record<never, never>;
  'word.no-wake-up': Record<never, never>;
  'word.bus-busy': Record<never, never>;
  'word.bus-level': Record<never, never>;
  'word.can-error': Record<never, never>;
  'word.no-echo': Record<never, never>;
  'word.checksum': Record<never, never>;
  'word.damaged': Record<never, never>;
  'word.overflow': Record<never, never>;
  'word.interrupted': Record<never, never>;
  'word.restarted': Record<never, never>;
  'word.low-voltage': Record<never, never>;
  'word.sleep': Record<never, never>;
  'word.internal': Record<never, never>;
  'word.searching': Record<never, never>;
  'flag.receive-full': Record<never, never>;
  'flag.send-full': Record<never, never>;
  'flag.errors': Record<never, never>;
  'flag.lost': Record<never, never>;
  'flag.passive': Record<never, never>;
  'flag.arbitration': Record<never, never>;
  'flag.bus-errors': Record<never, never>;
}

export const say = sayer<WireSays>();
