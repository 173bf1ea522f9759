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
  'visit.doubt.no-drive': 'no drive after the work shows anything',
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
  'memory.readiness-complete': 'all {$of :num} self-tests complete',
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
  'memory.service': '{$service :name of=service}',
} as const satisfies Messages<VisitSays>;
