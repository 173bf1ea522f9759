/** English: where a job stands, its fault memory, and what speaks against handing the car over. */
import type { VisitSays } from '../../core/visit-says.ts';
import type { Messages } from '../statements.ts';

export const visit = {
  'visit.opened': 'Opened; nothing driven yet.',
  'visit.unfiled': 'A drive is recorded; say what it was for.',
  'visit.before': 'Driven before the repair; the drive after it is still to come.',
  'visit.after': 'Driven after the repair; there is no drive from before it.',
  'visit.both': 'Driven before and after the repair.',
  'visit.back': 'Came back: not driven again yet.',
  'visit.back-driven': 'Came back: driven again.',
  'visit.handed': 'Handed over.',
  'visit.handed-as':
    '.input {$whole :string}\n.match $whole\ngood {{Handed over, all shown good.}}\nfault {{Handed over with a fault shown.}}\nmixed {{Handed over, not everything shown good.}}\n* {{Handed over, too little shown.}}',
  'visit.reason': 'Reason: {$reason}',
  'visit.reason-needed': 'Not handed over: write why, although {$doubts :says list=yes}.',
  'visit.doubt.no-drive': 'there is no drive after the work that shows anything',
  'visit.doubt.fault-boost': 'the drive shows a fault in the boost',
  'visit.doubt.fault-coolant': 'the drive shows a fault in the cooling',
  'visit.doubt.fault-charging': 'the drive shows a fault in the charging',
  'visit.doubt.fault-sensor': 'the drive shows a sensor that reads wrong',
  'visit.doubt.fault-codes': 'the car reports a fault or its lamp is on',
  'visit.doubt.coolant-alarm': 'a coolant alarm was spoken during the drive',
  'visit.doubt.codes-not-read': 'the codes were not read after the work',
  'visit.doubt.complaint': 'a complaint is still there',
  'visit.doubt.measured-fail': 'a measurement by hand after the work failed',
  'memory.lamp': '.input {$lamp :string}\n.match $lamp\non {{on}}\noff {{off}}\n* {{not answered}}',
  'memory.readiness-unknown': 'not answered',
  'memory.readiness-complete':
    '.input {$of :number}\n.match $of\none {{the only self-test complete}}\n* {{all {$of} self-tests complete}}',
  'memory.readiness-open':
    '{$complete :num} of {$of :num} self-tests complete; not complete: {$open :says list=yes}',
  'memory.monitor': '{$monitor :name of=monitor}',
  'memory.cleared-unknown': 'not answered',
  'memory.cleared-km': 'Codes were cleared {$km :distance finer=-1} ago.',
  'memory.cleared-warm-ups':
    '.input {$warmUps :number}\n.match $warmUps\n0 {{Codes were cleared {$warmUps} warm-ups ago. That is less than a drive ago: an empty memory proves nothing yet.}}\none {{Codes were cleared {$warmUps} warm-up ago.}}\n* {{Codes were cleared {$warmUps} warm-ups ago.}}',
  'memory.cleared':
    '.input {$warmUps :number}\n.match $warmUps\n0 {{Codes were cleared {$km :distance finer=-1} and {$warmUps} warm-ups ago. That is less than a drive ago: an empty memory proves nothing yet.}}\none {{Codes were cleared {$km :distance finer=-1} and {$warmUps} warm-up ago.}}\n* {{Codes were cleared {$km :distance finer=-1} and {$warmUps} warm-ups ago.}}',
  'memory.unanswered': '{$what :says list=yes}',
  'memory.frame':
    '.input {$reason :string}\n.match $reason\nrefused {{freeze frame: refused, {$why :says}}}\nunasked {{freeze frame: over this adapter no request for it is safe, so it was not asked for}}\n* {{freeze frame: no answer}}',
  'memory.service': '{$service :name of=service}',
  'since.sensor': 'Sensor: {$signal :name of=signal}',
  'since.and': '{$verdict :name of=verdict};',
  'since.compared': 'compared at the same operating points: {$effect :name of=effect} ({$region :says})',
  'since.absent': 'not there',
  'since.lists': '{$lists :says list=yes}',
  'since.list': '{$list :name of=list}',
  'since.lamp': 'Engine lamp (MIL)',
  'since.code': '{$code}: {$meaning :says}',
  'since.own': '{$what :says}: {$text}',
  'since.change.worse': 'worse',
  'since.change.new': 'found now',
  'since.change.better': 'better',
  'since.change.same': 'the same',
  'since.change.not told': 'not to be told',
} as const satisfies Messages<VisitSays>;
