/** Deutsch: was Fehler sagen und was zu versuchen ist. */
import type { ErrorSays } from '../../core/error-says.ts';
import type { Messages } from '../statements.ts';

export const errors = {
  'error.no-vehicle': 'Es ist kein Fahrzeug verbunden.',
  'error.connect-first': 'Zuerst verbinden.',
  'error.closing': 'Handback wird beendet.',
  'error.no-contact': 'Zurzeit besteht keine Verbindung zum Fahrzeug.',
  'error.recording': 'Es wird gerade eine Fahrt aufgezeichnet.',
  'error.recording-already': 'Es wird bereits eine Fahrt aufgezeichnet.',
  'error.this-recording': 'Diese Fahrt wird gerade aufgezeichnet.',
  'error.stop-first': 'Zuerst die Aufzeichnung beenden.',
  'error.not-recording': 'Es wird keine Fahrt aufgezeichnet.',
  'error.nothing-to-mark': 'Es wird keine Fahrt aufgezeichnet: es gibt nichts zu markieren.',
  'error.marks-full': 'Die Fahrt enthält bereits {$most :num} Markierungen.',
  'error.observations-full': 'Der Auftrag enthält bereits {$most :num} Beobachtungen.',
  'error.other-car': 'Das verbundene Fahrzeug meldet die FIN {$car}; der Auftrag gilt für {$job}.',
  'error.other-car-run': 'Diese Fahrt ist von dem Fahrzeug mit der FIN {$car}; der Auftrag gilt für {$job}.',
  'error.other-car-hint': 'Den Auftrag dieses Fahrzeugs öffnen oder die FIN im Auftrag berichtigen.',
  'error.no-run-in-job': 'Diese Fahrt gibt es in diesem Auftrag nicht.',
  'error.no-practice': 'Übungsaufträge gibt es hier nicht.',
  'error.no-practice-hint': 'Stattdessen „handback practice“ ausführen.',
  'error.profile-invalid': 'Die Fahrzeugdaten sind ungültig: {$why :says}',
  'error.no-browser': 'Für ein PDF ist ein installiertes Chromium nötig, und es wurde keines gefunden.',
  'error.no-browser-hint':
    'Chromium installieren (oder in CHROMIUM nennen); oder das HTML-Blatt erstellen und aus einem beliebigen Browser drucken.',
  'error.not-printed': '{$browser} hat nicht gedruckt: {$why :says}.',
  'error.not-printed-hint': 'Stattdessen das HTML-Blatt erstellen und aus einem beliebigen Browser drucken.',
  'error.sheet-parts':
    '{$path} enthält {$n :num} Fahrten: Die Zeit darin springt um eine Stunde oder mehr. Ein Blatt gilt für eine davon.',
  'error.sheet-parts-hint': 'Eine wählen: {$parts :says}.',
  'error.sheet-part': '--part {$number :num} (ab {$at :clock})',
  'error.no-part':
    '.input {$n :number}\n.match $n\none {{{$path} enthält eine Fahrt; einen Teil {$part :num} gibt es nicht.}}\n* {{{$path} enthält {$n} Fahrten; einen Teil {$part :num} gibt es nicht.}}',
  'error.sheet-out': '--out {$out}: erwartet wird DATEI.html oder DATEI.pdf.',
  'error.not-written': '{$path} kann nicht geschrieben werden: {$why :says}.',
  'error.none-of': '„{$word}“ gehört nicht zu {$known}.',
  'error.not-read': '{$path} kann nicht gelesen werden: {$why :says}.',
  'error.two-sides': 'Ein Vergleich braucht mindestens eine Fahrt vorher und eine nachher.',
  'error.two-sides-hint': '--before PFAD und --after PFAD angeben.',
  'error.no-signal': '--signals: „{$name}“ ist kein Signal.',
  'error.no-signal-hint': 'docs/signals.md nennt alle Signale.',
  'error.not-built': 'Die Seite ist nicht gebaut.',
  'error.not-built-hint': 'Zuerst „npm run build“ ausführen.',
  'error.exists': '{$path} gibt es bereits.',
  'error.exists-hint': 'Einen anderen Namen wählen; nichts wird überschrieben.',
  'error.person-only': 'clear-codes ist für einen Menschen an der Tastatur: kein --json.',
  'error.person-only-hint':
    'Ohne --json ausführen. Für Skripte liest „handback codes --json“ den Fehlerspeicher aus.',
  'error.clear-unconfirmed': 'Kein Steuergerät hat bestätigt: {$why :says}.',
  'error.clear-unconfirmed-hint':
    'Den Fehlerspeicher erneut auslesen: manche Steuergeräte löschen ohne Rückmeldung.',
  'error.clear-partly': 'Nicht jedes Steuergerät hat seine Fehler gelöscht ({$refused :says}).',
  'error.clear-partly-hint':
    'Zündung an, Motor aus, dann noch einmal; permanente Fehler verschwinden erst, wenn das Fahrzeug die Reparatur selbst bestätigt hat.',
  'error.library-named': 'Die Bibliothek wurde beim Start von Handback genannt (--library); das gilt.',
  'error.folder-whole': 'Den ganzen Pfad des Ordners nennen, vom Laufwerk oder von der Wurzel an.',
  'error.quit-recording': 'Es wird gerade eine Fahrt aufgezeichnet.',
  'error.quit-recording-hint':
    'Erst die Aufzeichnung beenden, oder beim Verlassen mit beenden: Was aufgezeichnet ist, bleibt erhalten.',
  'error.folder-not-made': 'Der Ordner {$path} kann nicht angelegt werden: {$why :says}.',
  'error.link-closed': '{$link} ist geschlossen.',
  'error.link-failed': '{$link}: {$why :says}',
  'error.port-busy': '{$port} wird von einem anderen Programm benutzt.',
  'error.port-busy-hint': 'Das andere Programm schließen, das den Adapter benutzt, dann erneut verbinden.',
  'error.port-forbidden': 'Dieser Benutzer darf {$port} nicht öffnen.',
  'error.port-forbidden-hint':
    'Unter Linux erlaubt es ein Befehl im Terminal: sudo usermod -aG {$group} {$user}. Dann abmelden, neu anmelden und verbinden. Auf einem geliehenen Laptop vorher den fragen, der ihn betreut.',
  'error.no-port': 'Den Anschluss {$port} gibt es nicht.',
  'error.no-port-hint':
    'Den Adapter einstecken oder, wenn er drahtlos ist, koppeln. Heißt er jetzt anders, ihn aus der Liste der Anschlüsse wählen; eine laufende Aufzeichnung muss dafür beendet werden.',
  'error.port-slow': '{$port} ließ sich nicht innerhalb von {$s :seconds} öffnen.',
  'error.port-slow-hint':
    'Hat der Adapter Strom (im Fahrzeug eingesteckt) und ist er in der Nähe? Abziehen, wieder einstecken, dann verbinden.',
  'error.port-not-opened': '{$port} kann nicht geöffnet werden: {$why :says}.',
  'error.port-not-opened-hint':
    'Einen seriellen Anschluss oder ein Pseudoterminal wählen; den Adapter abziehen und wieder einstecken.',
  'error.no-tcp': '„{$name}“ ist nicht tcp:HOST:PORT.',
  'error.no-tcp-hint': 'Zum Beispiel tcp:192.168.0.10:35000.',
  'error.host-silent': '{$host} Port {$port} antwortet nicht: {$why :says}.',
  'error.host-silent-hint': 'Ist der Laptop mit dem WLAN des Adapters verbunden, und hat der Adapter Strom?',
  'error.clear-snapshot': 'Der Fehlerspeicher wird erst gelöscht, wenn er ausgelesen und gesichert ist.',
  'error.clear-rpm-unknown': 'Gelöscht wird nur bei stehendem Motor; die Drehzahl war nicht lesbar.',
  'error.clear-speed-unknown': 'Gelöscht wird nur im Stand; die Geschwindigkeit war nicht lesbar.',
  'error.clear-running': 'Gelöscht wird nur bei stehendem Motor; er dreht mit {$rpm :rpm finer=2}.',
  'error.clear-moving': 'Gelöscht wird nur im Stand; das Fahrzeug fährt {$kmh :speed}.',
  'error.clear-words': 'Gelöscht wird erst, wenn „{$words}“ eingetippt ist.',
  'error.stopped-answering':
    'Die Steuergeräte haben während des Auslesens aufgehört zu antworten ({$why :says}).',
  'error.stopped-answering-hint': 'Ist die Zündung noch an? Dann noch einmal versuchen.',
  'error.search-stopped': 'Die Suche wurde abgebrochen.',
  'error.no-adapter':
    'An {$link} antwortet etwas, aber nicht wie ein Adapter. Versucht: {$tried :says list=parts}.',
  'error.no-adapter-hint':
    'Ist das der richtige Anschluss? Andere Programme schließen, den Adapter abziehen und wieder einstecken; die Leitungsgeschwindigkeit angeben, wenn bekannt.',
  'error.tried': `.input {$baud :number useGrouping=never}
.input {$haste :string}
.match $baud $haste
0 patient {{{$dialect :says}, geduldig: {$why :says}}}
0 * {{{$dialect :says}: {$why :says}}}
* patient {{{$dialect :says} mit {$baud} bit/s, geduldig: {$why :says}}}
* * {{{$dialect :says} mit {$baud} bit/s: {$why :says}}}`,
  'error.silent': 'An {$link} antwortet nichts. Versucht: {$tried :says list=parts}.',
  'error.silent-hint':
    'Hat der Adapter Strom (im Fahrzeug eingesteckt, Leuchte an)? Ist das der richtige Anschluss? Dann noch einmal versuchen.',
  'error.lost-looking': 'Die Verbindung brach bei der Suche nach dem Fahrzeug ab: {$why :says}.',
  'error.car-silent': 'Der Adapter „{$adapter}“ antwortet, das Fahrzeug nicht ({$said :says}).',
  'error.low-volts': 'Der Adapter misst nur {$volts :volt}: prüfen, ob er ganz in der Diagnosebuchse steckt.',
  'error.ignition':
    'Ist die Zündung an? Einschalten (Motor darf aus bleiben), prüfen, ob der Adapter ganz in der Buchse steckt, und noch einmal versuchen.',
  'error.snapshot-not-read':
    'Der ausgelesene Fehlerspeicher {$path} kann nicht gelesen werden: {$why :says}.',
  'error.no-photo-kind': 'Das ist kein Foto, das gespeichert werden kann.',
  'error.no-photo-kind-hint': 'Möglich sind JPEG, PNG und WebP.',
  'error.photo-large': 'Das Foto hat {$mb :num} MB.',
  'error.photo-large-hint': 'Höchstens {$most :num} MB: zuerst verkleinern.',
  'error.photo-damaged': 'Dieses Bild ist beschädigt: es enthält nicht alles, was es angibt.',
  'error.photo-damaged-hint': 'Mit einem Bildprogramm neu speichern oder noch einmal fotografieren.',
  'error.photos-full': 'Der Auftrag hat {$most :num} Fotos, mehr werden nicht gespeichert.',
  'error.no-photo': 'Dieses Foto gibt es in diesem Auftrag nicht.',
  'error.photo-missing': 'Das Foto {$file} fehlt im Auftragsordner.',
  'error.no-job': 'Den Auftrag „{$id}“ gibt es nicht.',
  'error.no-job-hint': 'Vielleicht wurde er gelöscht: im Papierkorb am Ende der Auftragsliste nachsehen.',
  'error.not-moved': '{$name} kann nicht verschoben werden: {$why :says}.',
  'reason.read-only': 'der Ordner ist schreibgeschützt',
  'reason.disk-full': 'der Datenträger ist voll',
  'reason.quota': 'der diesem Benutzer zugeteilte Speicherplatz ist aufgebraucht',
  'error.disk-full': 'Es kann gerade nichts geschrieben werden: {$why :says}.',
  'error.make-room': 'Auf dem Datenträger Platz schaffen und es dann noch einmal versuchen.',
  'reason.forbidden': 'dieser Benutzer darf das dort nicht',
  'reason.device-error': 'das Gerät meldet einen Fehler: ist es noch eingesteckt?',
  'reason.device-gone': 'das Gerät ist nicht mehr da',
  'reason.files-open': 'es sind zu viele Dateien geöffnet',
  'reason.packed-cut': 'die komprimierte Datei ist abgeschnitten',
  'reason.packed-damaged': 'die komprimierte Datei ist beschädigt',
  'reason.port-taken': 'dort lauscht bereits ein anderes Programm',
  'reason.no-address': 'dieser Computer hat keine solche Adresse',
  'reason.no-name': 'diesen Namen gibt es in diesem Netz nicht',
  'error.lost-first': 'Die Verbindung brach bei der ersten Frage ab.',
  'error.lost-reset': 'Die Verbindung brach beim Zurücksetzen ab.',
  'error.lost-because': 'Die Verbindung brach ab: {$why :says}.',
  'error.nothing-back': 'keine Antwort',
  'error.nothing-back-nor-bus': 'keine Antwort und keine Botschaft eines Busses',
  'error.no-prompt': 'es kamen {$bytes :num} Byte zurück, die kein Text mit Eingabeaufforderung sind',
  'error.no-lines': 'was zurückkam, sind keine Zeilen dieser Art',
  'error.lossy':
    'Die Leitung zwischen Rechner und Adapter verliert mehr als {$mostShare :share finer=1} der Zeichen. Ein serieller CAN-Adapter bemerkt das nicht, und beim Fahrzeug könnte etwas anderes ankommen als gesendet: Es wird nichts abgefragt.',
  'error.lossy-hint':
    'Stecker nachdrücken, anderes Kabel oder USB-Buchse ohne Verteiler versuchen, oder einen Text-Adapter nehmen, der zurücksagt, was er gehört hat.',
  'error.no-echo':
    'er wiederholt nicht, was er empfängt: was bei gestörter Leitung beim Fahrzeug ankäme, ist nicht feststellbar',
  'error.no-echo-hint':
    'Den Adapter vom Fahrzeug abziehen und wieder einstecken: er startet mit eingeschaltetem Echo.',
  'error.silent-setup': 'der Adapter ist beim Einrichten verstummt',
  'error.other-speed':
    'der Adapter hat eine andere Leitungsgeschwindigkeit als {$baud :num} bit/s angenommen und antwortet nicht mehr',
  'error.other-speed-hint':
    'Den Adapter vom Fahrzeug abziehen und wieder einstecken; beim Verbinden die Leitungsgeschwindigkeit angeben.',
  'error.bus-silent': `.input {$traffic :string}
.match $traffic
yes {{Der Adapter „{$adapter}“ antwortet. Auf dem Bus herrscht Verkehr mit {$kbits :says} kbit/s, aber kein Steuergerät antwortet, weder mit 11 noch mit 29 bit: {$why :says}.}}
* {{Der Adapter „{$adapter}“ antwortet. Kein Steuergerät antwortet bei {$kbits :says} kbit/s, weder mit 11 noch mit 29 bit: {$why :says}.}}`,
  'error.only-reads': 'Nicht gesendet: {$bytes} ist keine Leseanfrage. Handback liest nur.',
  'error.nothing-to-send': 'Nicht gesendet: eine leere Anfrage ist keine Leseanfrage. Handback liest nur.',
  'error.not-on-list': 'Der Treiber wollte senden, was nicht auf der Liste des Erlaubten steht.',
  'error.profile-not-read': 'Die Fahrzeugdaten {$path} können nicht gelesen werden: {$why :says}.',
  'error.profile-no-json': 'Die Fahrzeugdaten {$path} sind kein JSON: {$why :says}.',
  'error.key': '{$where}: {$key}: {$why :says}.',
  'error.whole': '{$where}: {$why :says}.',
  'error.profile-hint': 'Es genügt bereits {$example}.',
  'error.pair': '{$option} „{$pair}“: erwartet wird „{$form}“.',
  'error.no-file': '{$path} ist nicht vorhanden.',
  'error.archive-not-written': 'Das Archiv kann nicht geschrieben werden: {$why :says}.',
  'error.not-packed': 'Die Fahrt im Ordner „{$name}“ kann nicht gepackt werden.',
  'error.not-packed-hint':
    'Sie muss im Auftragsordner selbst liegen, benannt mit Kleinbuchstaben, Ziffern und „-“.',
  'error.has-job': 'Den Auftrag „{$id}“ gibt es in der Bibliothek bereits.',
  'error.has-job-hint': 'Zuerst diesen löschen: er kommt in den Papierkorb, und nichts geht verloren.',
  'error.has-run': 'Die Fahrt „{$id}“ gibt es in der Bibliothek bereits.',
  'error.has-run-hint': 'Sie liegt außerhalb dieses Auftrags: zuerst löschen oder herausnehmen.',
  'error.not-taken-in': 'Der Auftrag kann nicht übernommen werden: {$why :says}.',
  'error.archive-refused': 'Das Archiv wird abgelehnt: {$why :says}.',
  'error.archive-refused-hint':
    'Es wurde nichts übernommen. Um ein Archiv bitten, das mit „handback pack“ oder auf der Auftragsseite erstellt wurde. Die Tabelle einer Fahrt wird auf der Befehlszeile bewertet: handback judge DATEI.',
  'archive.no-zip': 'es ist keine lesbare .zip-Datei ({$why :says})',
  'archive.files': 'es enthält {$n :num} Dateien, mehr als {$most :num}',
  'archive.many': 'es enthält mehr als {$most :num} Dateien',
  'archive.twice': '„{$file}“ ist doppelt enthalten',
  'archive.huge': 'es würde ausgepackt mehr als 4 GB belegen',
  'archive.lacks': 'es enthält keine {$file}',
  'archive.device': '„{$file}“ ist der Name eines Geräts',
  'archive.foreign': '„{$file}“ ist keine Datei eines Auftrags',
  'archive.special': '„{$file}“ ist ein Verweis oder eine andere Sonderdatei',
  'archive.encrypted': '„{$file}“ ist verschlüsselt',
  'archive.packing': '„{$file}“ ist auf unbekannte Weise gepackt',
  'archive.large': '„{$file}“ ist zu groß',
  'archive.bomb': '„{$file}“ würde beim Auspacken unsinnig groß',
  'archive.overlap': 'seine Dateien überlappen sich',
  'archive.larger': '„{$file}“ ist größer als angegeben',
  'archive.unpacks': '„{$file}“ wird beim Auspacken unsinnig groß',
  'archive.not-unpacked': '„{$file}“ kann nicht ausgepackt werden ({$why :says})',
  'archive.unlisted': '„{$file}“ steht nicht in seiner eigenen Liste',
  'archive.changed': '„{$file}“ ist nicht mehr wie beim Packen',
  'archive.no-photo': '„{$file}“ ist kein solches Foto',
  'archive.missing': '„{$file}“ fehlt darin',
  'archive.no-list': 'Das Archiv enthält keine Liste seiner Dateien.',
  'error.no-photo-file': '{$file} ist kein Foto.',
  'error.photo-too-large': 'Das Foto {$file} ist zu groß.',
  'error.no-such': '„{$id}“ gibt es nicht.',
  'error.not-in-bin': '„{$id}“ liegt nicht im Papierkorb.',
  'error.in-library': '„{$id}“ ist bereits in der Bibliothek.',
  'error.in-library-hint': 'Zuerst diesen Ordner löschen oder umbenennen; beide bleiben erhalten.',
  'error.many-jobs': '„{$name}“ passt auf {$n :num} Aufträge: {$ids}.',
  'error.many-jobs-hint': 'Die Kennung eines davon angeben.',
  'error.jobs-hint': '„handback jobs“ listet sie auf.',
  'error.no-job-name': 'Das ist kein Name eines Auftrags.',
  'error.no-job-name-hint': 'Nur Kleinbuchstaben, Ziffern und -.',
  'error.edits-full': 'So viele Markierungen können nicht bearbeitet werden.',
  'remark.job-folder':
    'Der Auftragsordner „{$name}“ bleibt außen vor: in Kleinbuchstaben, Ziffern und „-“ umbenennen.',
  'error.capture-exists': '{$path} gibt es bereits; eine Aufzeichnung wird nie überschrieben.',
  'error.not-created': '{$path} kann nicht angelegt werden: {$why :says}.',
  'error.other-capture': '{$path} ist eine Aufzeichnung einer anderen Version ({$version}).',
  'error.update-hint': 'Zum Öffnen dieses Programm aktualisieren.',
  'error.holds-no-run': '{$path} enthält keine Fahrt.',
  'error.holds-no-run-hint': 'Den Ordner einer Fahrt, eine Bibliothek oder eine Datei angeben.',
  'error.no-plain-file': '{$path} ist keine gewöhnliche Datei und wird nicht geöffnet.',
  'error.no-plain-file-hint':
    'An ihrer Stelle steht ein Verweis oder eine Pipe: die Datei selbst dorthin legen.',
  'error.damaged': '{$path} ist beschädigt: {$why :says}.',
  'error.later': '{$path} wurde von einer neueren Version geschrieben ({$version}).',
  'error.holds-run': '{$path} enthält bereits eine Fahrt.',
  'error.holds-run-hint': 'Einen anderen Ordner wählen; eine Fahrt wird nie überschrieben.',
  'error.no-run': 'Die Fahrt „{$id}“ gibt es in der Bibliothek nicht.',
  'error.not-completed': '{$path} kann nicht abgeschlossen werden: {$why :says}.',
  'error.recorded-elsewhere': '{$path} wird von einem anderen Programm aufgezeichnet.',
  'error.recorded-elsewhere-hint': 'Zuerst die andere Aufzeichnung beenden.',
  'error.library-used': 'Ein anderes Handback benutzt die Bibliothek {$path}.',
  'error.library-used-hint':
    'Dieses benutzen oder zuerst beenden; oder diesem hier mit --library einen eigenen Ordner geben.',
  'error.library-later':
    'Diese Bibliothek stammt von einem neueren Handback ({$by}; dieses hier ist {$own}). Sie ist nur zum Lesen geöffnet: Nichts darin wird geändert.',
  'error.library-later-hint':
    'Fahrten lassen sich öffnen, beurteilen, vergleichen und drucken. Zum Aufzeichnen und Schreiben die neuere Version installieren oder eine andere Bibliothek wählen.',
  'error.library-stamp':
    'Welches Format diese Bibliothek hat, ist aus ihrer Datei {$path} nicht zu lesen. Sie ist nur zum Lesen geöffnet: Nichts darin wird geändert.',
  'error.library-stamp-hint':
    '{$path} aus einer Kopie der Bibliothek zurückholen. Ohne die Datei gilt die Bibliothek als eine vom ersten Format. {$why :says}',
  'error.held-by':
    'Sie wird vom Computer „{$host}“ gehalten. Ist das dieser hier unter früherem Namen oder ist er ausgeschaltet, die Datei {$path} löschen.',
  'error.bomb': '{$path} würde ausgepackt größer als {$mb :num} MB: so ist keine Aufzeichnung.',
  'error.bomb-hint':
    'Wer der Datei traut, packt sie mit einem anderen Programm aus und öffnet, was herauskommt.',
  'error.not-compressed': '{$path} bleibt, wie sie ist: {$why :says}.',
  'reason.not-the-same': 'was zurückgelesen wurde, ist nicht, was geschrieben wurde',
  'reason.compressed': 'es ist nur {$file} da, an die nichts angehängt werden kann',
  'error.no-capture': '{$path} enthält keine Aufzeichnung.',
  'warn.read-without': 'Die Aufzeichnung wurde ohne sie gelesen.',
  'warn.not-closed':
    'Die Fahrt wurde nicht abgeschlossen: sie wird gerade aufgezeichnet oder wurde unterbrochen.',
  'warn.changed':
    'Die Aufzeichnung ist nicht mehr, wie sie beim Schließen der Fahrt war: ihr SHA-256 weicht von run.json ab.',
  'error.no-archive': 'Das ist kein Archiv eines Auftrags.',
  'error.no-archive-hint': 'Erwartet wird eine .zip-Datei.',
  'error.archive-large': 'Das Archiv ist größer als 2 GB.',
  'error.token-needed': 'Unter {$host} erreichen auch andere diesen Computer: dafür ist ein Token nötig.',
  'error.token-needed-hint': 'Ein Token angeben oder nur unter 127.0.0.1 lauschen.',
  'error.not-listening': 'Unter {$host} Port {$port} kann nicht gelauscht werden: {$why :says}',
  'error.not-listening-hint': 'Einen anderen Port wählen oder 0 für irgendeinen freien.',
  'error.own-computer': 'Handback ist nur auf diesem Computer erreichbar.',
  'error.own-computer-hint': 'Um ein Telefon einzulassen, so starten: npm start -- --host 0.0.0.0',
  'error.printing': 'Es werden bereits mehrere Blätter gedruckt.',
  'error.printing-hint': 'Warten, bis sie fertig sind.',
  'error.field': '{$key}: {$why :says}',
  'error.still-recording-hint':
    'Es wird weiter aufgezeichnet. Platz schaffen, dann erneut beenden: verweigert der Datenträger noch immer, endet die Fahrt ohne das, was nur im Arbeitsspeicher liegt.',
  'error.sim-unknown': 'Die Simulation kennt „{$word}“ nicht ({$what}). Bekannt: {$known}.',
  'error.sim-number':
    'Simulation, {$name}: {$value}; erwartet wird eine Zahl von {$low :num} bis {$high :num}.',
  'error.sim-no-number': '{$name}: „{$value}“ ist keine Zahl.',
  'error.sim-no-value': '{$name} nimmt keinen Wert an.',
  'error.sim-kline': 'Diese Adapterart erreicht keine K-Leitung.',
  'error.sim-kline-hint': 'Den Textadapter oder einen CAN-Bus verwenden.',
  'error.sim-absent': 'Der simulierte Adapter ist nicht da.',
  'error.sim-ended-hint': 'Die Simulation neu starten.',
  'error.sim-absent-hint': 'Einige Sekunden warten: er kommt wieder.',
  'error.sim-busy': 'Der simulierte Adapter wird gerade benutzt.',
  'error.pty-taken': '{$path} gibt es bereits, und es ist kein symbolischer Verweis.',
  'error.pty-taken-hint': 'Einen anderen Pfad für den Anschluss nennen oder diese Datei verschieben.',
  'error.pty-link': 'Der Verweis {$path} kann nicht angelegt werden: {$why :says}.',
  'error.pty-none': 'Dieses System ({$system}) hat keine Pseudoterminals.',
  'error.pty-hint': 'Stattdessen im selben Prozess mit dem simulierten Fahrzeug verbinden: --link sim.',
  'error.pty-library': 'Die Systembibliothek für Pseudoterminals ist nicht benutzbar.',
  'error.pty-full': 'Das System hat kein Pseudoterminal vergeben.',
  'error.pty-full-hint': 'Programme schließen, die viele Terminals belegen, oder --link sim verwenden.',
  'error.pty-package': 'Das Paket, das Pseudoterminals brauchen, ist nicht installiert (koffi).',
  'error.pty-package-hint':
    'Installieren (npm install --include=optional) oder im selben Prozess mit dem simulierten Fahrzeug verbinden: --link sim.',
  'unfit.kind': 'erwartet wird {$expected :name of=unfit.type}',
  'unfit.type.number': 'eine Zahl',
  'unfit.type.string': 'ein Text',
  'unfit.type.boolean': 'true oder false',
  'unfit.type.object': 'ein Objekt',
  'unfit.type.array': 'eine Liste',
  'unfit.type.int': 'eine ganze Zahl',
  'unfit.small': `.input {$of :string}
.match $of
string {{erwartet werden mindestens {$least} Zeichen}}
array {{erwartet werden mindestens {$least} Einträge}}
* {{erwartet wird mindestens {$least}}}`,
  'unfit.big': `.input {$of :string}
.match $of
string {{erwartet werden höchstens {$most} Zeichen}}
array {{erwartet werden höchstens {$most} Einträge}}
* {{erwartet wird höchstens {$most}}}`,
  'unfit.value': 'erwartet wird eines von {$known}',
  'unfit.keys': 'nicht bekannt: {$keys}',
  'unfit.form': 'das hat nicht die erwartete Form ({$form})',
  'unfit.anyhow': 'das ist nicht, was erwartet wird',
  'error.of-file': '{$path}: {$why :says}.',
  'import.no-signal-mapped': '„{$signal}“ in der Zuordnung von „{$header}“ ist kein hier bekanntes Signal.',
  'import.signals': 'Signale: {$signals} und weitere.',
  'import.no-rows': 'Überschriften sind da, aber keine Zeilen',
  'import.no-rows-hint': 'Die Tabelle noch einmal mit ihren Daten exportieren.',
  'import.unclosed':
    'Zeile {$line :num}: ein Anführungszeichen wird geöffnet und nicht geschlossen, alle Zeilen darunter sind so eine einzige Zelle',
  'import.unclosed-hint': 'Das Anführungszeichen dort schließen oder herausnehmen.',
  'import.too-wide':
    '{$n :num} Zeilen haben mehr Zellen als Überschriften, zuerst Zeile {$line :num} mit {$cells :num} Zellen bei {$headers :num} Überschriften: die Zellen stehen nicht unter ihren Überschriften',
  'import.too-wide-hint':
    'Haben die Zahlen ein Dezimalkomma, kann das Komma nicht auch die Spalten trennen: mit Semikolon oder mit Dezimalpunkt exportieren.',
  'warn.cells': `.input {$n :number}
.match $n
one {{{$n :num} Zelle ohne brauchbaren Wert {$where :says}: {$places :says} (übersprungen)}}
* {{{$n :num} Zellen ohne brauchbaren Wert {$where :says}: {$places :says} (übersprungen)}}`,
  'import.no-number': '{$rows :num} Zeilen, aber keine einzige brauchbare Zahl.',
  'import.no-number-hint':
    'In jeder Zeile werden eine Zeit und Zahlen erwartet. Zeiten werden als Zahlen gelesen und geschrieben wie 2026-04-03 13:53:20,061, 03.04.2026 13:53:20, 04/03/2026 1:53:20 PM, 13:53:20,061 oder 53:20,061.',
  'warn.back': `.input {$n :number}
.match $n
one {{die Zeit springt einmal zurück, zuerst in Zeile {$line :num}; nach Zeit sortiert}}
* {{die Zeit springt {$n :num}-mal zurück, zuerst in Zeile {$line :num}; nach Zeit sortiert}}`,
  'warn.first-samples': 'nur die ersten {$most :num} Werte wurden gelesen',
  'warn.begin':
    'die Zeit beginnt bei {$s :seconds finer=1}; alles wurde verschoben, sodass die Fahrt bei 0 beginnt',
  'warn.another-drive':
    'im Stand fiel das Kühlmittel augenblicklich und blieb dort: eine andere Fahrt beginnt, Stellen: {$n :num}; davor und danach wird getrennt beurteilt',
  'warn.restarts': `.input {$n :number}
.match $n
one {{die Uhr beginnt einmal von vorn; davor und danach wird getrennt beurteilt}}
* {{die Uhr beginnt {$n :num}-mal von vorn; davor und danach wird getrennt beurteilt}}`,
  'warn.span': 'die Tabelle umfasst {$h :num} h; sind ihre Zeiten Millisekunden, --time-unit ms angeben',
  'warn.repeated': `.input {$n :number}
.match $n
one {{{$n :num} Messwert wiederholt den vorigen zur selben Zeit und wurde weggelassen}}
* {{{$n :num} Messwerte wiederholen die vorigen zur selben Zeit und wurden weggelassen}}`,
  'warn.spread': `.input {$n :number}
.match $n
one {{{$n :num} Messwert hat die Zeit eines anderen; er wurde zwischen diese und die nächste Zeit gelegt}}
* {{{$n :num} Messwerte haben die Zeit eines anderen; sie wurden gleichmäßig bis zur nächsten Zeit verteilt, höchstens über eine Sekunde}}`,
  'warn.carried':
    'Werte wurden von Ablesung zu Ablesung fortgeschrieben: von {$of :num} Werten können {$n :num} abgelesen sein, nur diese werden beurteilt',
  'warn.drawn':
    'Werte liegen auf Geraden zwischen Ablesungen: von {$of :num} Werten können {$n :num} abgelesen sein, nur diese werden beurteilt',
  'import.row-numbers':
    'die Zeiten haben keine Einheit und steigen von Zeile zu Zeile um genau eins, und Werte stehen über mehrere Zeilen still: es können Sekunden sein oder Zeilennummern',
  'import.row-numbers-hint':
    'Sekunden: --time-unit s angeben oder die Spalte mit „Zeit (s)“ überschreiben. Zeilennummern: jeder Zeile ihre Zeit in Sekunden geben.',
  'import.between':
    'die Werte liegen zwischen den Stufen, in denen Steuergeräte antworten: sie wurden zwischen Ablesungen gezeichnet, von den Ablesungen selbst ist nichts übrig',
  'import.between-hint': 'Die Ablesungen selbst exportieren, ohne Werte dazwischen, oder Werte alle 0,1 s.',
  'warn.headers-again':
    'Zeile {$line :num} enthält noch einmal Überschriften, andere als die ersten; von dort an so gelesen',
  'warn.row-numbers':
    'jede Zeit ist genau um eins größer als die vorige: als Sekunden genommen. Sind es Nummern von Zeilen, die Zeiten in Sekunden angeben',
  'import.unread':
    '{$n :num} von {$of :num} Zellen in „{$header}“ enthalten Ziffern und sind keine Zahlen, wie diese Tabelle sie schreibt, zuerst {$first :says}',
  'import.unread-hint':
    'Einfache Zahlen mit nur einem Dezimalzeichen exportieren; was ausgelassen wird, fehlte im Urteil.',
  'import.zeros':
    '{$signal} ist in {$n :num} von {$of :num} Werten 0 und kehrt immer wieder dorthin zurück, wo es war: Nullen stehen, wo nichts abgelesen wurde',
  'import.zeros-hint': 'Solche Zellen leer exportieren.',
  'import.headers': `.input {$missing :string}
.match $missing
time {{Zeile {$line :num}: keine Zeitspalte unter den Überschriften; verstanden: {$known}; nicht verstanden: {$unknown}}}
* {{Zeile {$line :num}: kein bekanntes Signal unter den Überschriften; verstanden: {$known}; nicht verstanden: {$unknown}}}`,
  'import.headers-hint':
    'Erwartet wird „t_s,signal,value“ oder eine Zeitspalte und eine Spalte je Signal. Benennen mit --time "Überschrift" und --map "Überschrift=Signal"; Signale: {$signals} und weitere.',
  'import.no-column': 'eine Spalte {$missing} gibt es nicht; die Überschriften sind {$headers}',
  'import.no-column-hint': 'Die Überschrift muss so angegeben werden, wie sie in der Tabelle steht.',
  'warn.both': 'die Spalten „{$first}“ und „{$second}“ bedeuten beide {$signal}; die erste wird benutzt',
  'warn.column': 'Spalte „{$header}“: {$why :says}',
  'warn.because': '„{$header}“ ({$why :says})',
  'column.second-time': 'eine zweite Zeit',
  'warn.not-used': 'Zeile {$line :num}: nicht benutzte Spalten: {$columns :says}',
  'warn.column-not-used': 'Zeile {$line :num}: Spalte „{$header}“ nicht benutzt: {$why :says}',
  'warn.signal-not-used': 'Zeile {$line :num}: Signal „{$name}“ nicht benutzt: {$why :says}',
  'warn.signal': 'Zeile {$line :num}: Signal „{$name}“: {$why :says}',
  'warn.kept':
    'Zeile {$line :num}: Signal „{$name}“ ist nicht im Katalog; unverändert behalten, nicht beurteilt',
  'where.time': 'in der Zeitspalte „{$header}“',
  'where.unknown': 'für ein unbekanntes Signal',
  'where.beyond': 'jenseits der ersten {$most :num} Signale',
  'where.column': 'in „{$header}“',
  'where.place': 'Zeile {$line :num}, Spalte {$column :num}: {$text}',
  'warn.stated-for-nothing':
    '{$signal} gibt es in der Tabelle nicht; die angegebene Einheit bleibt ohne Wirkung',
  'error.empty': '{$path} ist leer.',
  'warn.ended-early':
    'das Lesen endete vorzeitig nach Zeile {$line :num}: {$why :says}; was davor kam, bleibt erhalten',
  'error.binary': '{$path} ist keine Tabelle: sie enthält Binärdaten.',
  'error.binary-hint':
    'Erwartet wird der Ordner einer Fahrt, eine Aufzeichnung, .csv, .csv.gz oder .parquet.',
  'error.no-columnar': '{$path} ist keine lesbare spaltenweise Tabelle: {$why :says}.',
  'unit.no-time': '„{$unit}“ ist keine hier bekannte Zeiteinheit.',
  'unit.no-time-hint': 'Zeiten dürfen in s, ms, us, min, h oder m.ss (Minuten und Sekunden) sein.',
  'unit.no-signal': '„{$signal}“ ist kein hier bekanntes Signal.',
  'unit.no-unit': '„{$unit}“ ist keine Einheit von {$signal} (hier: {$own}).',
  'unit.no-unit-hint': 'Einheiten werden so geschrieben: {$units}.',
  'unit.gauge': '{$path} gibt {$signals} als Überdruck an und enthält keinen Luftdruck.',
  'unit.gauge-hint': 'Den Luftdruck des Tages in Kilopascal angeben: --baro 98.',
  'unit.wrong': `.input {$of :string}
.match $of
time {{die Zeit ist nicht in {$unit} ({$why :says}) {$likely :says}}}
* {{{$of} kann nicht in {$unit} sein ({$why :says}) {$likely :says}}}`,
  'unit.fits-none': 'und passt zu keiner anderen bekannten Einheit',
  'unit.fits': 'und passt zu {$first}',
  'unit.fits-also': 'und passt zu {$first} (oder {$others})',
  'unit.state':
    'Die Einheiten angeben: {$options}. Stimmen die Werte so, wie sie sind, auch das angeben: {$asIs}.',
  'unit.could': '{$of} in {$unit} (möglich wäre {$others})',
  'unit.taken':
    'Einheiten wurden aus den Namen übernommen, und nichts in der Tabelle belegt sie: {$taken :says}; angeben mit {$option}',
  'unit.outside': '{$part :share} der Werte liegen außerhalb von {$low :num} bis {$high :num} {$unit}',
  'unit.outside-low': '{$part :share} der Werte liegen unter {$low :num} {$unit}',
  'unit.boiling': '{$min :num} min davon lägen über {$limitC :temp}',
  'unit.idling': 'im Leerlauf wären es {$kpa :pressure finer=1} absolut',
  'unit.standing':
    'bei stehendem Motor wären es {$kpa :pressure finer=1}, und die Luft hat {$lowKpa :pressure bare=yes} bis {$highKpa :pressure}',
  'unit.running': 'bei laufendem Motor wären es {$kpa :pressure finer=1} absolut',
  'unit.running-low': 'bei laufendem Motor lägen {$part :share} der Werte unter {$kpa :pressure} absolut',
  'unit.air-hot': 'draußen wären es {$airC :temp}',
  'unit.above-coolant': 'in Fahrt wäre die Ansaugluft {$byC :diff finer=1} wärmer als das Kühlmittel',
  'unit.warmer': 'in Fahrt wäre die Ansaugluft {$byC :diff finer=1} wärmer als die Außenluft',
  'unit.colder': 'in Fahrt wäre die Ansaugluft {$byC :diff finer=1} kälter als die Außenluft',
  'unit.low-gear': 'der kleinste Gang ergäbe {$kmh :speed finer=1} bei {$rpm :rpm}',
  'unit.high-gear': 'der größte Gang ergäbe {$kmh :speed} bei {$rpm :rpm}',
  'unit.turning': 'der Motor drehte mit {$rpm :rpm}',
  'unit.never-passes': 'es wären nie mehr als {$most :percent finer=2}',
  'unit.litres': 'es wäre die Luft eines Motors mit {$litres :num finer=1} Liter Hubraum',
  'unit.hauls': 'beim Beschleunigen wäre es die Luft für {$tonnes :num finer=1} t',
  'unit.steps': 'die Werte springen in den Stufen eines Sensors in {$unit}',
  'unit.both': 'beides passt',
  'unit.dotted':
    'kein Bruchteil erreicht ,60, und auf ,59 folgt ,00 des nächsten: Minuten und Sekunden, geschrieben m.ss',
  'unit.every': 'ein Signal käme nur alle {$s :num finer=1} s',
  'unit.every-ms': 'ein Signal käme alle {$ms :num finer=2} ms',
  'unit.change': '{$signal} änderte sich um {$n :num} in einer Sekunde',
  'column.named': 'eine andere Spalte wurde als Zeit benannt',
  'column.none': 'keine Überschrift',
  'column.not-known': 'kein hier bekanntes Signal',
  'column.unit': '„{$unit}“ ist keine hier bekannte Einheit, als {$own} gelesen',
  'warn.signals': 'mehr als {$most :num} Signale; {$signal} wurde ausgelassen',
  'warn.note': 'bei {$s :seconds finer=1}: {$text}',
  'warn.line': 'Zeile {$line :num} ist nicht lesbar: {$why}; übersprungen',
  'warn.between':
    'zwischen den Zeilen {$from :num} und {$to :num} ist etwas nicht, wie es aufgezeichnet wurde',
  'warn.torn': 'die letzte Zeile ({$line :num}) ist abgerissen; verworfen',
  'warn.packed': '{$why :says}: hinter Zeile {$line :num} fehlt etwas',
  'warn.more': 'und {$n :num} weitere Hinweise dieser Art',
  'column.either':
    'kann {$which} sein: mit --map "Überschrift=Signal" sagen, welches, und mit --unit die Einheit',
  'column.not-from': 'lässt sich nicht von {$unit} in {$own} umrechnen',
  'remark.recording': 'Sie wird gerade aufgezeichnet.',
  'remark.no-curve':
    'Es wurde keine Volllastbeschleunigung gefahren: es gibt keine Kurve zu lernen. Zuerst drei fahren.',
  'remark.faulty-curve':
    'Diese Fahrt zeigt einen Fehler am Ladedruck: ihre Kurve ist die eines defekten Fahrzeugs.',
  'remark.open-curve':
    'Diese Fahrt belegt nicht, dass der Ladedruck in Ordnung war: ihre Kurve nur verwenden, wenn das anderweitig bekannt ist.',
  'practice.making': 'Die Übungsfahrten werden erzeugt.',
  'practice.drive': '{$drive :name of=practice.drive} ({$n :num} von {$of :num}).',
  'practice.drive.clutch-before': 'Kupplung, die nicht schließt: Fahrt vor der Reparatur',
  'practice.drive.clutch-after': 'Kupplung, die nicht schließt: Fahrt nach der Reparatur',
  'practice.drive.circulation': 'Kühlmittel zirkuliert nicht: gefunden auf der Probefahrt',
  'practice.drive.little': 'Eine Fahrt, die zu wenig zeigt',
  'practice.failed': 'Die Übungsaufträge konnten nicht erzeugt werden: {$why :says}',
  'remark.read-only':
    'In die Bibliothek kann nicht geschrieben werden: Fahrten lassen sich öffnen, nicht aufzeichnen. {$why :says}',
  'remark.closed-now': 'Fahrt {$id} wurde unterbrochen; sie ist jetzt geschlossen und bis dahin vollständig.',
  'remark.not-closed': 'Fahrt {$id} wurde unterbrochen und kann nicht geschlossen werden: {$why :says}',
  'reason.unplugged': 'das Gerät ist nicht mehr da: wurde der Stecker gezogen?',
  'reason.nothing-within': 'innerhalb von {$s :seconds} kam nichts',
  'error.kinds-used': 'Ein anderes Programm ändert gerade die Bauarten in {$path}.',
  'error.kinds-used-hint': 'Es wurde nichts geändert. Gleich noch einmal versuchen.',
  'warn.teaches-nothing':
    '.input {$system :string}\n.match $system\nboost {{sie zeigt für sich allein einen Ladedruckfehler und lehrt deshalb nichts über den Ladedruck.}}\n* {{sie zeigt für sich allein einen Fehler der Kühlung und lehrt deshalb nichts über die Kühlung.}}',
  'warn.of': '{$path}: {$what :says}',
  'check.not-readable': 'NICHT LESBAR  {$why :says}',
  'check.all-well': 'Alles in Ordnung.',
  'check.not-well': 'Etwas ist nicht, wie es aufgezeichnet wurde: siehe oben.',
  'error.no-job-folder': '{$path} ist kein Auftrag: {$file} fehlt.',
  'error.no-run-folder': '{$path} ist keine Fahrt: {$file} fehlt.',
  'reason.no-pdf': 'es hat kein PDF geschrieben',
  'error.disk': `.input {$lost :number}
.match $lost
0 {{Die Aufzeichnung kann nicht geschrieben werden ({$why :says}). Sie wird im Arbeitsspeicher gehalten ({$room :share} voll) und jede Sekunde erneut versucht: Platz auf dem Datenträger schaffen oder den Ordner zurückholen.}}
* {{Die Aufzeichnung kann nicht geschrieben werden ({$why :says}). Sie wird im Arbeitsspeicher gehalten ({$room :share} voll) und jede Sekunde erneut versucht: Platz auf dem Datenträger schaffen oder den Ordner zurückholen. {$lost :num} Datensätze sind bereits verloren.}}`,
  'stopped.recording': 'Die Aufzeichnung endete durch einen Programmfehler ({$why :says}).',
  'stopped.chart': 'Das Diagramm ist stehen geblieben; die Aufzeichnung läuft weiter ({$why :says}).',
  'stopped.spoken':
    'Die Beurteilung ist ausgefallen; die Aufzeichnung läuft weiter, und die Fahrt kann danach beurteilt werden ({$why :says}).',
  'stopped.judging': 'Die Beurteilung ist ausgefallen; die Aufzeichnung läuft weiter ({$why :says}).',
  'remark.not-kept':
    'Der Datenträger hat bis zuletzt verweigert: von {$cameS :seconds finer=1} konnten die letzten {$lostS :seconds finer=1} nicht gespeichert werden.',
  'receiver.searching': 'Satellitenempfänger an {$port} wird gesucht.',
  'receiver.missing':
    'Kein Satellitenempfänger an {$port}: {$why :says} Er wird laufend gesucht und darf während der Aufzeichnung angesteckt werden.',
  'receiver.silent': 'Er sendet nichts Lesbares.',
  'receiver.no-fix': 'Satellitenempfänger an {$port}, noch ohne Standort. Er braucht freien Himmel.',
  'receiver.fix':
    'Satellitenempfänger hat einen Standort aus {$satellites :num} Satelliten; einen Fehler nennt er nicht.',
  'receiver.fix-error':
    'Satellitenempfänger hat einen Standort aus {$satellites :num} Satelliten, auf etwa {$errorM :height} genau.',
  'error.receiver-port': 'Satellitenempfänger und Adapter können nicht beide an {$port} sein.',
  'error.receiver-port-hint': 'Den Anschluss des Empfängers nennen; „handback ports“ zählt sie auf.',
  'error.receiver-no-sim': 'Kein simuliertes Fahrzeug mit Satellitenempfänger ist verbunden.',
  'error.receiver-no-sim-hint': 'Mit einem verbinden, zum Beispiel sim:petrol?route=hill&receiver=5.',
  'link.nothing': 'Nichts ist verbunden. Einen Anschluss wählen oder das simulierte Fahrzeug ausprobieren.',
  'link.looking': 'An {$link} wird ein Adapter gesucht.',
  'link.disconnected': 'Verbindung getrennt.',
  'link.connected': 'Verbunden: {$bus :name of=bus}, Steuergerät {$ecu}, {$n :num} Signale.',
  'link.no-signals': 'Keines der gewünschten Signale wird angeboten.',
  'link.other-car': 'Das ist ein anderes Fahrzeug als zuvor.',
  'link.vin-unsure': 'Die FIN {$vin} wurde gelesen, ist aber nicht sicher.',
  'link.no-contact':
    'Keine Verbindung: {$why :says}. Stecker und Kabel prüfen; die Verbindung wird von selbst wieder aufgebaut.',
  'link.lossy':
    'Es wird nichts abgefragt: Die Leitung zwischen Rechner und Adapter verliert Zeichen, und diese Art Adapter bemerkt es nicht. Stecker nachdrücken, anderes Kabel oder andere USB-Buchse versuchen, oder einen Text-Adapter nehmen. Sobald die Leitung gut ist, geht es von selbst weiter.',
  'link.again': 'Erneuter Verbindungsversuch {$n :num}: {$why :says}',
  'link.garbled':
    'Was ankommt, ist nicht lesbar: {$why :says}. Stecker, Kabel und Leitungsgeschwindigkeit prüfen; es geht von selbst weiter.',
  'link.car-silent':
    'Das Fahrzeug antwortet nicht: {$why :says}. Zündung an? Es geht von selbst weiter, sobald es antwortet.',
  'link.no-supply':
    'Der Adapter antwortet, aber das Fahrzeug versorgt seinen Stecker nicht ({$volts :volt finer=1}): Stecker bis zum Anschlag eindrücken, dann die Sicherung der Diagnosebuchse prüfen. Es geht von selbst weiter.',
  'link.cranking':
    'Die Versorgung am Stecker ist eingebrochen: Der Motor wird gerade gestartet, oder die Batterie ist schwach. Stecker und Kabel sind in Ordnung. Es geht von selbst weiter.',
  'link.ignition-off': `.input {$searched :string}
.match $searched
yes {{Stecker und Kabel sind in Ordnung: Der Adapter antwortet und hat {$volts :volt finer=1}. Er hat jeden Bus abgesucht und niemanden gefunden: Zündung einschalten. Es geht von selbst weiter.}}
* {{Stecker und Kabel sind in Ordnung: Der Adapter antwortet und hat {$volts :volt finer=1}. Das Steuergerät antwortet nicht: Ist die Zündung an? Es geht von selbst weiter.}}`,
  'error.no-adapter-short': 'An {$link} antwortet etwas, aber nicht wie ein Adapter.',
  'error.silent-short': 'An {$link} antwortet nichts.',
  'request.large': 'Das ist größer als die {$most}, die hier angenommen werden.',
  'request.unreadable': 'Die Anfrage war nicht lesbar.',
  'request.slow': 'Die Verbindung ist zu langsam: was gesendet wurde, kam nicht rechtzeitig an.',
  'request.slow-hint': 'Näher am Computer noch einmal senden, oder vom Computer selbst.',
  'error.no-pool': '{$path} ist kein Datenbestand: darin ist keine pool.json.',
  'error.pool-not-empty':
    'In {$path} liegen andere Dateien: ein Datenbestand beginnt in einem eigenen Ordner.',
  'error.pool-no-secret': 'In {$path} steht kein Schlüssel: erwartet werden 64 Zeichen von 0 bis f.',
  'error.pool-other-secret': 'Die Fahrzeuge in {$path} sind mit einem anderen Schlüssel benannt.',
  'error.pool-other-secret-hint':
    'Die Schlüsseldatei von dem Rechner mitnehmen, der den Datenbestand begonnen hat, und mit --secret nennen.',
  'error.pool-later': '{$path} hat eine Spalte, die hier nicht bekannt ist ({$column}).',
  'error.pool-rows':
    'Teil {$part} von {$path} hat {$found :num} Zeilen statt {$wanted :num}: nichts wurde geändert.',
  'error.pool-none': 'Es gibt noch keine Sammlung.',
  'error.pool-used':
    'Die Dateien in {$path} werden gerade zusammengefasst, oder ein Fahrzeug wird herausgenommen.',
  'error.pool-used-hint': 'Das Ende abwarten. Fragen und Aufnehmen gehen unterdessen weiter.',
  'error.pool-path':
    'Ein Datenbestand kann nicht abgefragt werden, wenn sein Ordner * ? [ ] oder Anführungszeichen im Namen hat: {$path}.',
  'error.pool-sql': 'So kann nicht gefragt werden: {$why :says}',
  'error.pool-sql-hint': 'Die Tabellen und ihre Spalten: handback pool tables.',
  'error.pool-select': 'Nur eine Frage auf einmal, ein SELECT: geändert wird damit nichts.',
  'error.pool-engine': 'Das Paket zum Befragen des Datenbestands ist nicht installiert (@duckdb/node-api).',
  'error.pool-engine-hint':
    'Installieren (npm install --include=optional), oder mit einem anderen Programm fragen, das Parquet liest.',
  'error.pool-no-car':
    'Gebraucht wird eine FIN, ein Kennzeichen oder der Name eines Fahrzeugs im Datenbestand.',
  'error.kinds-unlike':
    '„{$from}“ und „{$into}“ werden verschieden aufgeladen oder betankt: sie sind nicht eine Bauart.',
  'error.no-kind': 'Kein Auftrag gehört zur Bauart „{$kind}“.',
  'error.no-kind-hint': 'handback kinds nennt sie alle.',
  'error.share': '„{$text}“ ist kein Anteil.',
  'error.share-hint':
    'Ein Anteil wird als 3/16 geschrieben: der dritte von sechzehn; höchstens {$most :num}.',
  'error.share-out': 'Ein Anteil braucht einen Ordner für das Ergebnis: --out.',
  'error.memory': 'Dafür reicht der Arbeitsspeicher zum Lesen der Fahrten nicht.',
  'error.memory-hint':
    'Die Aufzeichnung ist davon nicht betroffen. Weniger Fahrten auf einmal vergleichen oder drucken.',
  'cost.map_kpa': 'Der Ladedruck lässt sich nicht belegen.',
  'cost.rpm':
    'Volllastbeschleunigungen und das Schließen der Kupplung sind nicht zu erkennen: der Ladedruck lässt sich nicht belegen.',
  'cost.ect_c': 'Die Kühlung lässt sich nicht belegen.',
  'cost.speed_kmh':
    'Gänge, Stand und Fahrt sind nicht zu unterscheiden: Die Bewertungen sind weniger sicher.',
  'cost.baro_kpa':
    'Der Luftdruck kommt vom Saugrohrdruck bei stehendem Motor: Die Aufzeichnung starten, bevor der Motor läuft.',
  'cost.pedal_d_pct':
    'Der Fahrerwunsch wird an der Drosselklappe abgelesen, die das Motorsteuergerät zurücknehmen kann.',
  'cost.ambient_c': 'Die Wärmebilanz kommt ohne das Wetter aus: die Bewertung der Kühlung dauert länger.',
  'cost.maf_gps': 'Die Wärme des Motors wird aus Druck und Drehzahl geschätzt.',
  'cost.voltage_v': 'Das Laden der Batterie lässt sich nicht belegen.',
  'cost.boost_cmd_kpa': 'Der erwartete Ladedruck kommt von einer Ausgangsfahrt oder aus Vorgaben.',
  'cost.helper': 'Nur ein Hilfswert: die Bewertungen kommen ohne ihn aus, mit weiterem Vertrauensbereich.',
  'demo.good': 'Benziner mit Kompressor und Turbolader, alles in Ordnung',
  'demo.clutch-never': 'Benziner mit Kompressor und Turbolader, Kupplung des Kompressors schließt nie',
  'demo.clutch-sometimes': 'Benziner mit Kompressor und Turbolader, Kupplung schließt nur manchmal',
  'demo.no-circulation': 'Benziner mit Kompressor und Turbolader, Kühlmittel zirkuliert nicht',
  'demo.diesel': 'Turbodiesel, alles in Ordnung',
  'asked.anybody': 'ist da jemand, kommt ein Echo',
  'asked.adapter': 'wer bist du (ATI)',
  'asked.afresh': 'von vorn beginnen',
  'asked.voltage': 'welche Spannung liegt an der Diagnosebuchse an',
  'asked.bus': 'welchen Bus hast du gefunden',
  'asked.look': 'Bus suchen',
  'asked.settings': 'Einstellungen',
  'asked.values': 'ans Fahrzeug: welche Werte bietest du (01 00 oder 22 F4 00)',
  'asked.vin': 'ans Fahrzeug: wer bist du (Dienst 09 oder 22 F8 …)',
  'asked.close': 'Kanal schließen',
  'asked.version': 'welche Version bist du (V)',
  'asked.rate': 'Bitrate des Busses einstellen',
  'asked.listen': 'hören, ob auf dem Bus Verkehr ist',
  'asked.open': 'Kanal öffnen',
} as const satisfies Messages<ErrorSays>;
