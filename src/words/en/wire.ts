/** English: why nothing came of a request, link, adapter and vehicle. */

import type { WireSays } from '../../core/wire-says.ts';
import { REASONS } from '../../j1979/negative.ts';
import type { Messages } from '../statements.ts';

export const wire = {
  'dialect.at': 'AT-command text',
  'dialect.slcan': 'serial-line CAN',
  'wire.vanished': '{$link} vanished: {$why :says}',
  'wire.failed': '{$link} failed: {$why :says}',
  'wire.closed': '{$link} closed',
  'wire.other-end': '{$link}: the other end closed the connection',
  'wire.link-closed': 'the link closed',
  'wire.stopped': 'stopped by the user',
  'wire.adapter-silent': 'the adapter fell silent',
  'wire.adapter-deaf': 'the adapter no longer answers, not even to its own commands',
  'wire.no-prompt': 'no prompt from the adapter within {$ms :num} ms',
  'wire.loses': 'the line between computer and adapter loses characters: nothing was sent',
  'wire.without-end': 'the adapter sends without end',
  'wire.unreadable': 'the answer could not be read',
  'wire.empty': 'empty answer',
  'wire.not-acknowledged': 'the adapter no longer acknowledges what it is to send',
  'wire.not-sent': 'the adapter could not send: nobody acknowledges on the bus (ignition off?)',
  'wire.no-unit': 'no control unit answered within {$ms :num} ms',
  'wire.no-answer': 'no answer',
  'wire.vehicle-silent': 'the vehicle was silent for long, the adapter is started anew',
  'wire.not-in-answer': 'not in the answer',
  'wire.not-asked': 'over this adapter it could turn into another request on a bad line: not asked',
  'wire.refused': 'refused with code {$code}, {$reason :says}',
  'wire.asked-again': '{$why :says}; asked again in {$seconds :num} s',
  'wire.of-unit': '{$ecu}: {$what :says}',
  'wire.word': '{$meaning :says} ({$word})',
  'wire.complains': '{$why :says}; the adapter says: {$flags :says}',
  'wire.crowded':
    '{$why :says}; the line is full of other traffic of the bus, which this adapter does not keep back',
  'word.ok': 'done',
  'word.refused': 'the adapter does not know this command',
  'word.no-data': 'no control unit answered',
  'word.no-bus': 'the adapter found no bus it can talk on: is the ignition on?',
  'word.no-wake-up': 'the vehicle did not answer the wake-up of the diagnostic line: is the ignition on?',
  'word.bus-busy': 'the bus was busy; another device may be talking on it',
  'word.bus-level': 'the bus level is wrong: wiring or another device',
  'word.can-error': 'nobody acknowledges on the CAN bus: ignition off, wrong speed or wiring',
  'word.no-echo': 'what was sent did not come back on the line: wiring',
  'word.checksum': 'an answer came with a wrong checksum',
  'word.damaged': 'an answer came damaged',
  'word.overflow': 'the adapter could not pass on the answers fast enough',
  'word.interrupted': 'the adapter was interrupted while waiting',
  'word.restarted': 'the adapter restarted: supply voltage too low',
  'word.low-voltage': 'supply voltage too low',
  'word.sleep': 'the adapter is about to sleep',
  'word.internal': 'the adapter reports an internal error',
  'word.searching': 'looking for the bus',
  'flag.receive-full': 'its receive queue ran over: the bus brings more than the line carries',
  'flag.send-full': 'its send queue is full',
  'flag.errors': 'many errors on the bus',
  'flag.lost': 'frames were lost in it',
  'flag.passive': 'so many errors that it no longer disturbs the bus with them',
  'flag.arbitration': 'another device spoke first',
  'flag.bus-errors': 'errors on the bus: bit rate, wiring, or nobody who acknowledges',
} as const satisfies Messages<WireSays>;

/** Why a control unit refuses, by the code of its answer. */
export const refusals: Readonly<Record<string, string>> = Object.fromEntries(
  Object.entries(REASONS).map(([code, text]) => [`refusal.${code}`, text]),
);
