/** Deutsch: das Handbuch in der Seite: die Probefahrt, was man sieht und tut, was man verschickt. */
import type { handbook as english } from '../en/page-handbook.ts';

export const handbook: Readonly<Record<keyof typeof english, string>> = {
  'handbook.title': 'Handbuch',
  'handbook.guide': 'Die erste Probefahrt, Schritt für Schritt',
  'handbook.step.1':
    'Zu zweit: Einer fährt, einer hat den Laptop. Allein: Ton an, Fahrerblick, und niemand fasst den Laptop an, solange das Fahrzeug rollt.',
  'handbook.step.2':
    'Zündung aus: Adapter einstecken, Kabel fern von Pedalen, Riemen und Lüftern verlegen. Zündung ein, verbinden, Aufzeichnung starten; zehn Sekunden warten, dann erst den Motor starten. Der stehende Motor liefert den Luftdruck und den Vergleich der Sensoren.',
  'handbook.step.3':
    'Fahren, was genannt wird. Beim nächsten Abschnitt steht, wie er gefahren wird, wozu, und wann er zählt; er hakt sich mit drei steigenden Tönen selbst ab. Volllastbeschleunigung nur, wo sie erlaubt und sicher ist.',
  'handbook.step.4':
    'Zwei kurze steigende Töne: Das Zuschalten hat gehalten. Fallende Töne: Es blieb aus. Im Fahrerblick heißt Ruhe, dass alles stimmt; das schlagende Quadrat zeigt, dass die Seite lebt.',
  'handbook.step.5':
    'Zwei Töne im Wechsel, immer wieder: Kühlmittel. Anhalten, wo es sicher ist. Nie ein heißes Kühlsystem öffnen. A oder die Leertaste schaltet den Ton für eine Minute stumm.',
  'handbook.step.6':
    'Drei tiefe Töne: Die Verbindung ist weg. Während der Fahrt nichts tun: Sie kommt von selbst wieder, und die Lücke bleibt eine Lücke.',
  'handbook.step.7':
    'Im warmen Leerlauf und noch einmal bei erhöhter Drehzahl fragt die Seite nach Heizung, Lüfter und Geräusch: was kein Sensor meldet.',
  'handbook.step.8':
    'Anhalten, zweimal drücken. Die Befunde beginnen mit der ganzen Fahrt in einem Satz; dann jeder Fehler mit seiner Ursache, was nachweislich in Ordnung ist, und was nicht belegt ist, mit der Fahrt, die dafür fehlt.',
  'handbook.symptoms': 'Was man sieht, und was zu tun ist',
  'handbook.see.1': 'Der Anschluss fehlt oder ist belegt',
  'handbook.do.1':
    'Adapter einstecken, einen drahtlosen zuerst im System koppeln, das andere Programm schließen: Nur eines kann einen seriellen Anschluss halten. Darf dieser Benutzer ihn nicht öffnen, nennt die Meldung den einen Befehl dafür.',
  'handbook.see.2': 'Nichts antwortet',
  'handbook.do.2':
    'Kein Strom: Sitzt der Adapter ganz, leuchtet seine Lampe? Falscher Anschluss: abziehen, Liste ansehen, einstecken, wieder ansehen. Eingeschlafen: zehn Sekunden von Fahrzeug und Laptop trennen.',
  'handbook.see.3': 'Etwas antwortet, aber nicht wie ein Adapter',
  'handbook.do.3':
    'Ein anderes Gerät oder eine andere Übertragungsrate: anderen Anschluss wählen oder die Rate angeben. Von einem anderen Programm mittendrin verlassen: Adapter abziehen und wieder einstecken.',
  'handbook.see.4': 'Der Adapter antwortet, das Fahrzeug nicht',
  'handbook.do.4':
    'Zündung ein, Motor darf aus bleiben, fünf Sekunden warten. Schlafendes Gateway: eine Tür öffnen. Zu wenig Spannung am Stecker: dessen Sicherung, Pins 4, 5 und 16. Andere Geräte abziehen. Ein Fahrzeug, das sicher antwortet, trennt Adapter- von Fahrzeugfehler.',
  'handbook.see.5': 'Ein Messwert fehlt',
  'handbook.do.5':
    'Die Seite sagt, warum: nicht angeboten, abgelehnt oder keine Antwort; gefragt wird von selbst wieder. Ein unplausibler Wert wird aufbewahrt, gekennzeichnet und nicht verwendet: den Sensor ansehen.',
  'handbook.see.6': 'Es ist langsam',
  'handbook.do.6':
    'Unter Verbinden die Werte je Sekunde mit der Grenze der Verbindung vergleichen. An der Grenze helfen nur ein schnellerer Adapter, eine höhere Übertragungsrate oder weniger Messwerte.',
  'handbook.see.7': 'Verworfene Bytes nehmen zu',
  'handbook.do.7':
    'Schlechtes Kabel, Übertragungsrate oder Funk an der Grenze: kürzeres Kabel, niedrigere Rate, näher heran, andere Buchse. Sie werden mit ihrem Grund aufbewahrt und nie zu einem Wert.',
  'handbook.see.8': 'Die Verbindung bricht immer wieder ab',
  'handbook.do.8':
    'Beim Anlassen: Batterie laden, nach dem Start verbinden. Auf Unebenheiten: lockerer Stecker. Nach ruhigen Minuten: USB-Energiesparen ausschalten, Deckel offen lassen. Stumm bis zum Abziehen: ein anderer Adapter.',
  'handbook.see.9': 'Fehlercodes lassen sich nicht löschen',
  'handbook.do.9':
    'Zündung ein, Motor aus. Permanente Codes bleiben, bis das Fahrzeug selbst die Reparatur bestätigt hat. Ein Code, der sofort wiederkommt, ist ein Fehler, der jetzt da ist.',
  'handbook.see.10': 'Kein Ton',
  'handbook.do.10':
    'Der Browser lässt keine Seite klingen, die nicht einmal berührt wurde: eine Taste drücken oder die Seite antippen. Sind zwei Tabs offen, klingt einer.',
  'handbook.see.11': 'Ein Abschnitt bleibt offen, obwohl er gefahren wurde',
  'handbook.do.11':
    'Nachlesen, wann er zählt. Am häufigsten: Kühlmittel noch nicht warm, Pedal nicht weit genug durchgetreten, mehr als ein Gang in der Beschleunigung.',
  'handbook.see.12': 'Diese Seite hat Handback verloren',
  'handbook.do.12':
    'Nachsehen, ob das Programm noch läuft. Was es aufzeichnet, hängt nicht an der Seite; sie schließt sich von selbst wieder an und zeichnet alles nach.',
  'handbook.licences': 'Lizenzen der Bestandteile',
  'handbook.report': 'Wenn etwas nicht stimmt',
  'handbook.report-lead':
    'Eine Datei für den, der helfen soll: Versionen, Protokoll, Stand der Verbindung, und was der Adapter seit dem letzten Verbinden gesagt hat. Kennzeichen, FIN, Namen, Orte und Ordner fehlen darin. Verschickt wird nichts: erst lesen, dann selbst verschicken.',
  'handbook.report-show': 'Datei zeigen',
  'handbook.report-save': 'Datei sichern',
};
