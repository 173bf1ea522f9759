/** Deutsch: wie weit ein Auftrag ist, sein Fehlerspeicher, und was gegen die Übergabe spricht. */
import type { VisitSays } from '../../core/visit-says.ts';
import type { Messages } from '../statements.ts';

export const visit = {
  'visit.opened': 'Angelegt; noch nichts gefahren.',
  'visit.unfiled': 'Eine Fahrt ist aufgezeichnet; wozu sie diente, fehlt noch.',
  'visit.before': 'Vor der Reparatur gefahren; die Fahrt danach steht noch aus.',
  'visit.after': 'Nach der Reparatur gefahren; eine Fahrt von vorher fehlt.',
  'visit.both': 'Vor und nach der Reparatur gefahren.',
  'visit.back': 'Zurückgekommen: noch nicht wieder gefahren.',
  'visit.back-driven': 'Zurückgekommen: wieder gefahren.',
  'visit.handed': 'Übergeben.',
  'visit.handed-as':
    '.input {$whole :string}\n.match $whole\ngood {{Übergeben, alles nachweislich in Ordnung.}}\nfault {{Übergeben mit nachgewiesenem Fehler.}}\nmixed {{Übergeben, nicht alles belegt.}}\n* {{Übergeben, zu wenig belegt.}}',
  'visit.reason': 'Grund: {$reason}',
  'visit.reason-needed': 'Nicht übergeben: Der Grund fehlt, denn: {$doubts :says list=yes}.',
  'visit.doubt.no-drive': 'es gibt keine aussagekräftige Fahrt nach der Arbeit',
  'visit.doubt.fault-boost': 'die Fahrt zeigt einen Fehler am Ladedruck',
  'visit.doubt.fault-coolant': 'die Fahrt zeigt einen Fehler an der Kühlung',
  'visit.doubt.fault-charging': 'die Fahrt zeigt einen Fehler am Ladesystem',
  'visit.doubt.fault-sensor': 'die Fahrt zeigt einen Sensor, der falsch misst',
  'visit.doubt.fault-codes': 'das Fahrzeug meldet einen Fehler, oder seine Warnlampe leuchtet',
  'visit.doubt.coolant-alarm': 'während der Fahrt wurde Kühlmittelalarm gegeben',
  'visit.doubt.codes-not-read': 'der Fehlerspeicher wurde nach der Arbeit nicht ausgelesen',
  'visit.doubt.complaint': 'eine Beanstandung besteht noch',
  'visit.doubt.measured-fail': 'eine Messung von Hand nach der Arbeit ist nicht bestanden',
  'memory.lamp': '.input {$lamp :string}\n.match $lamp\non {{an}}\noff {{aus}}\n* {{nicht beantwortet}}',
  'memory.readiness-unknown': 'nicht beantwortet',
  'memory.readiness-complete':
    '.input {$of :number}\n.match $of\none {{die einzige Selbstprüfung abgeschlossen}}\n* {{alle {$of} Selbstprüfungen abgeschlossen}}',
  'memory.readiness-open':
    '{$complete :num} von {$of :num} Selbstprüfungen abgeschlossen; nicht abgeschlossen: {$open :says list=yes}',
  'memory.monitor': '{$monitor :name of=monitor}',
  'memory.cleared-unknown': 'nicht beantwortet',
  'memory.cleared-km': 'Der Fehlerspeicher wurde vor {$km :distance finer=-1} gelöscht.',
  'memory.cleared-warm-ups':
    '.input {$warmUps :number}\n.match $warmUps\n0 {{Der Fehlerspeicher wurde vor {$warmUps} Warmläufen gelöscht. Das ist weniger als eine Fahrt her: ein leerer Speicher beweist noch nichts.}}\none {{Der Fehlerspeicher wurde vor {$warmUps} Warmlauf gelöscht.}}\n* {{Der Fehlerspeicher wurde vor {$warmUps} Warmläufen gelöscht.}}',
  'memory.cleared':
    '.input {$warmUps :number}\n.match $warmUps\n0 {{Der Fehlerspeicher wurde vor {$km :distance finer=-1} und {$warmUps} Warmläufen gelöscht. Das ist weniger als eine Fahrt her: ein leerer Speicher beweist noch nichts.}}\none {{Der Fehlerspeicher wurde vor {$km :distance finer=-1} und {$warmUps} Warmlauf gelöscht.}}\n* {{Der Fehlerspeicher wurde vor {$km :distance finer=-1} und {$warmUps} Warmläufen gelöscht.}}',
  'memory.unanswered': '{$what :says list=yes}',
  'memory.frame':
    '.input {$reason :string}\n.match $reason\nrefused {{Freeze Frame: abgelehnt, {$why :says}}}\nunasked {{Freeze Frame: über diesen Adapter gibt es dafür keine sichere Anfrage, daher nicht abgefragt}}\n* {{Freeze Frame: keine Antwort}}',
  'memory.service': '{$service :name of=service}',
  'since.sensor': 'Sensor: {$signal :name of=signal}',
  'since.and': '{$verdict :name of=verdict};',
  'since.compared': 'bei gleichen Betriebspunkten verglichen: {$effect :name of=effect} ({$region :says})',
  'since.absent': 'nicht vorhanden',
  'since.lists': '{$lists :says list=yes}',
  'since.list': '{$list :name of=list}',
  'since.lamp': 'Motorkontrollleuchte (MIL)',
  'since.code': '{$code}: {$meaning :says}',
  'since.own': '{$what :says}: {$text}',
  'since.change.worse': 'schlechter',
  'since.change.new': 'jetzt festgestellt',
  'since.change.better': 'besser',
  'since.change.same': 'unverändert',
  'since.change.not told': 'nicht feststellbar',
} as const satisfies Messages<VisitSays>;
