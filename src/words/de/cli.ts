/** Deutsch: was die Befehlszeile von sich aus sagt. */
import type { cli as english } from '../en/cli.ts';
import type { Labels, Messages } from '../statements.ts';

export const cli = {
  'cli.at': 'Handback ist unter {$url} zu erreichen',
  'cli.runs-already': 'Handback läuft schon, unter {$url}',
  'cli.elsewhere': 'Von einem anderen Gerät in diesem Netz: {$url}',
  'cli.report': '{$path}: vor dem Verschicken durchlesen.',
  'cli.open': '{$url} in einem Browser öffnen.',
  'cli.port-taken':
    '.input {$who :string}\n.match $who\nhandback {{Port {$port} belegt ein anderes Handback mit einer anderen Bibliothek: der nächste freie wird genommen.}}\n* {{Port {$port} belegt ein anderes Programm: der nächste freie wird genommen.}}',
  'cli.next': '      als Nächstes: {$what :says}',
  'cli.judge.run':
    '.input {$pulls :number}\n.match $pulls\none {{{$path}: {$min :num finer=1} min, {$pulls} Volllastbeschleunigung}}\n* {{{$path}: {$min :num finer=1} min, {$pulls} Volllastbeschleunigungen}}',
  'cli.judge.system': '  {$system :name of=system}: {$verdict :name of=verdict}',
  'cli.judge.not-asked': '  {$system :name of=system}: nicht gefordert',
  'cli.judge.finding': '  {$verdict}  {$id}',
  'cli.judge.points': '  {$verdict}  {$id}: deutet auf {$to :says}',
  'cli.judge.spoken': '      angesagt bei {$at :clock}',
  'cli.judge.measured': '      gemessen {$value} ({$low} bis {$high})',
  'cli.judge.limit': '      Grenzwert {$limit} ({$source :says})',
  'cli.judge.evidence': '      {$from :clock} bis {$to :clock}: {$text :says}',
  'cli.judge.more': '      … und {$n :num} weitere (--json nennt alle)',
  'cli.judge.part': 'Teil {$number :num} von {$of :num}, ab {$startsAtS :clock}:',
  'cli.clear.saved': 'Gespeichert als {$path}',
  'cli.clear.rpm': 'Motordrehzahl: {$rpm :rpm}.',
  'cli.clear.no-rpm': 'Motordrehzahl: von keinem Steuergerät angegeben.',
  'cli.clear.speed': 'Fahrgeschwindigkeit: {$kmh :speed}.',
  'cli.clear.no-speed': 'Fahrgeschwindigkeit: von keinem Steuergerät angegeben.',
  'cli.clear.both-zero': 'Beide müssen null sein, Zündung an.',
  'cli.clear.erases':
    'Löschen entfernt Fehlercodes und Freeze Frames und setzt die Prüfbereitschaft zurück: Der Nachweis steht dann nur noch in der Datei.',
  'cli.clear.ask': 'Zum Löschen „{$words}“ eintippen, alles andere lässt es, wie es ist:',
  'cli.clear.unit': 'Steuergerät {$ecu}: {$end :says}',
  'cli.clear.cleared': 'gelöscht',
  'cli.ports.none': 'Kein serieller Anschluss gefunden. Adapter einstecken, oder mit --link sim üben.',
  'cli.ports.likely': 'vermutlich ein Adapter',
  'cli.codes.vin': 'FIN {$vin}',
  'cli.codes.no-vin': 'FIN nicht angegeben',
  'cli.codes.unit': 'Steuergerät {$ecu}, Motorkontrollleuchte: {$lamp :says}',
  'cli.codes.code': '  {$list :name of=list} {$code}  {$meaning :says}',
  'cli.codes.none': '  keine Fehlercodes',
  'cli.codes.open':
    '  nicht abgeschlossen: {$monitors :says list=yes}. „Keine Fehlercodes“ belegt dazu nichts: weiterfahren, bis sie abgeschlossen sind.',
  'cli.codes.itself': '  sagt von sich: {$text}',
  'cli.codes.frozen': '  Freeze Frame: {$what} {$value}',
  'cli.codes.unanswered': 'Ohne Antwort: {$service :name of=service}. Das heißt nicht, dass es keine gibt.',
  'cli.sheet.changed': 'Nicht wie aufgezeichnet: {$runs}. Das Blatt sagt es.',
  'cli.sheet.made': 'Übergabeblatt in {$file}',
  'cli.jobs.nothing': '    noch nichts gefahren',
  'cli.jobs.loose':
    '.input {$n :number}\n.match $n\none {{Eine Fahrt gehört zu keinem Auftrag.}}\n* {{{$n} Fahrten gehören zu keinem Auftrag.}}',
  'cli.jobs.taken-in': 'Auftrag {$id} ist in der Bibliothek.',
  'cli.sim.route': 'Strecke {$route}, {$min :num} min. Strg-C beendet.',
  'cli.compare.region':
    '{$verdict}  {$region :says}; {$before :num} und {$after :num} vergleichbare Beschleunigungen',
  'cli.compare.effect':
    '{$verdict}  {$region :says}: {$effect :percent finer=1 sign=always} ({$low :percent finer=1 sign=always bare=yes} bis {$high :percent finer=1 sign=always}), {$kpa :pressure finer=1 sign=always}; {$before :num} und {$after :num} vergleichbare Beschleunigungen',
  'cli.compare.tipIn': 'Ladedruck eine Sekunde nach dem Gasgeben',
  'cli.compare.plateau': 'Betriebstemperatur des Kühlmittels',
  'cli.compare.warmUp': 'Warmlauf, Wärme je Grad',
  'cli.compare.points':
    '{$n :num} Betriebspunkte, davon {$decided :num} für sich entschieden (--json nennt alle)',
  'cli.compare.back': 'Reklamation gegen nachher:',
  'cli.left': 'noch {$left :duration}',
  'cli.compress.doing': 'Komprimieren',
  'cli.doing.judge': 'Beurteilen',
  'cli.doing.read': 'Lesen',
  'cli.doing.learn': 'Aus den Ausgangsfahrten lernen',
  'cli.doing.kind': 'Aus anderen Fahrzeugen dieser Bauart lernen',
  'cli.doing.check': 'Prüfen',
  'cli.doing.check-kept': 'Prüfen, was aufbewahrt ist',
  'cli.check.kept':
    'Zwischenspeicher, die übereinstimmen: {$agree :num} von {$n :num}. Nur das Siegel wurde geprüft: {$sealed :num}.',
  'cli.doing.pack': 'Wird gepackt',
  'cli.doing.unpack': 'Wird übernommen',
  'cli.doing.sheet': 'Übergabeblatt wird erstellt',
  'cli.doing.practice': 'Übungsaufträge werden gefahren',
  'cli.compress.done':
    'Komprimiert: {$compressed :num} ({$plainMb :num finer=1} MB, jetzt {$mb :num finer=1} MB). Schon vorher: {$already :num}. In Aufzeichnung oder nie geschlossen: {$open :num}. Nicht wie aufgezeichnet, daher unberührt: {$changed :num}.',
  'cli.pool.leaves': `.input {$cases :number}
.match $cases
one {{Was den eigenen Bestand verlässt: {$cases :num} Auftrag, {$runs :num} Fahrten.}}
* {{Was den eigenen Bestand verlässt: {$cases :num} Aufträge, {$runs :num} Fahrten.}}`,
  'cli.pool.never':
    'Was ihn nicht verlässt: Kennzeichen, Namen von Personen, Orte, Uhrzeiten, Fotos, Notizen, Beanstandungen. Die Fahrgestellnummer verlässt ihn als Name, gebildet mit einem Schlüssel, der auf diesem Rechner bleibt, und mit ihren Stellen 1 bis 8 und 10.',
  'cli.pool.columns': '{$table}: {$columns}',
  'cli.pool.texts': 'Was eingetippt wurde und so hinausgeht, wie es hier steht:',
  'cli.pool.no-texts': 'Nichts Eingetipptes geht hinaus.',
  'cli.pool.text': '    {$text}',
  'cli.pool.not-yet': 'Noch wurde nichts aufgenommen. Soll das hinaus, den Befehl mit --yes wiederholen.',
  'cli.pool.taken': `.input {$cases :number}
.match $cases
one {{Aufgenommen: {$cases :num} Auftrag mit {$runs :num} Fahrten. Schon vorhanden und unverändert: {$unchanged :num}. Von endgültig herausgenommenen Fahrzeugen: {$forgotten :num}.}}
* {{Aufgenommen: {$cases :num} Aufträge mit {$runs :num} Fahrten. Schon vorhanden und unverändert: {$unchanged :num}. Von endgültig herausgenommenen Fahrzeugen: {$forgotten :num}.}}`,
  'cli.pool.tidied': 'Dateien: {$before :num} vorher, {$after :num} jetzt.',
  'cli.pool.forgotten':
    'Herausgenommen: {$cases :num} Aufträge, {$runs :num} Fahrten. Alle {$files :num} Dateien wurden durchsucht: {$left :num} Zeilen des Fahrzeugs sind übrig.',
  'cli.pool.no-rows': 'Keine Zeilen.',
  'cli.judge.shared':
    'Beurteilt: {$judged :num}. Schon vorhanden: {$there :num}. In anderen Anteilen: {$others :num}.',
  'cli.kinds.kind': `.input {$jobs :number}
.match $jobs
one {{{$kind}: {$jobs :num} Auftrag}}
* {{{$kind}: {$jobs :num} Aufträge}}`,
  'cli.kinds.none': `.input {$jobs :number}
.match $jobs
one {{kein Motor angegeben: {$jobs :num} Auftrag}}
* {{kein Motor angegeben: {$jobs :num} Aufträge}}`,
  'cli.kinds.descriptor': '    Fahrgestellnummer {$descriptor}: {$jobs :num}',
  'cli.kinds.suggested': '    {$job}: ähnliche nennen {$engine} ({$jobs :num})',
  'cli.kinds.merge': 'Zusammengelegt: {$from} zählt als {$into}.',
  'cli.kinds.split': 'Getrennt: von {$from} zählen die mit Fahrgestellnummer {$descriptor} als {$into}.',
  'cli.kinds.undone': 'Zurückgenommen.',
  'cli.kinds.nothing': 'Es gibt nichts zurückzunehmen oder wiederherzustellen.',
  'cli.kinds.stated': '{$job} gehört zur Art {$kind}.',
} as const satisfies Messages<Labels<typeof english>>;
