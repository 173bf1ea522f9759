/** Deutsch: Handback selbst auf der Seite: Bibliothek, Hilfe, Ende. */
import type { house as english } from '../en/page-house.ts';

export const house: Readonly<Record<keyof typeof english, string>> = {
  'house.title': 'Handback selbst',
  'house.version': 'Version {$version}. Alles bleibt auf diesem Rechner.',
  'house.library':
    'Aufträge und Fahrten liegen in {$folder}. Eine Kopie dieses Ordners ist eine vollständige Sicherung.',
  'house.library-next':
    'Ab dem nächsten Start ist die Bibliothek {$folder}. Was in der alten liegt, bleibt dort.',
  'house.library-named': 'Dieser Ort wurde beim Start genannt.',
  'house.folder': 'Ein anderer Ordner, ab dem nächsten Start',
  'house.choose': 'Diesen Ordner nehmen',
  'house.quit': 'Handback beenden',
  'house.quit-recording':
    'Es wird eine Fahrt aufgezeichnet. Beenden schließt sie ab; alles bis jetzt bleibt erhalten.',
  'house.quit-end': 'Aufzeichnung abschließen und beenden',
  'house.stay': 'Weiter aufzeichnen',
  'house.ended': 'Handback ist beendet. Alles ist gespeichert; diese Seite kann geschlossen werden.',
  'house.elsewhere': 'Bibliothek, Hilfedateien und das Ende des Programms gibt es am Rechner selbst.',
};
