/** Deutsch: was die Prüfung einer Aufzeichnung über sie sagt. */
import type { CheckSays } from '../../core/check-says.ts';
import type { Messages } from '../statements.ts';

export const check = {
  'check.meta-changed': '{$file} ist nicht, wie sie geschrieben wurde.',
  'check.no-seal': '{$file} trägt kein Siegel: eine ältere Version hat sie geschrieben.',
  'check.recovered': 'Die Fahrt war unterbrochen und wurde nachträglich geschlossen.',
  'check.recording': 'Die Fahrt wird gerade aufgezeichnet.',
  'check.open': 'Die Fahrt wurde unterbrochen und ist noch nicht geschlossen.',
  'check.hash': 'Die Aufzeichnung ist nicht mehr, wie sie beim Schließen war: ihr SHA-256 ist ein anderer.',
  'check.end-missing': 'Was da ist, passt zusammen: das Ende hinter Zeile {$line :num} fehlt.',
  'check.unreadable': 'Zeile {$line :num} ist nicht lesbar: {$why}.',
  'check.between':
    'Zwischen den Zeilen {$fromLine :num} und {$toLine :num} ist etwas nicht, wie es aufgezeichnet wurde.',
  'check.torn': 'Die letzte Zeile ist abgerissen: die Aufzeichnung wurde beim Schreiben unterbrochen.',
  'check.packed': '{$why :says}: hinter Zeile {$line :num} fehlt etwas; das Übrige wurde gelesen.',
  'check.empty': 'Es steht kein Datensatz darin.',
  'check.cache.absent': 'Nicht vorhanden; wird bei Bedarf neu angelegt.',
  'check.cache.altered':
    'Nicht so, wie das Programm dieses Benutzers sie geschrieben hat: beschädigt, bearbeitet oder von einem anderen Rechner. Ihr wird nicht geglaubt, sie wird neu angelegt.',
  'check.cache.large':
    'Zu groß, um benutzt zu werden. Was sie enthält, wird bei Bedarf jedes Mal neu aus den Aufzeichnungen gewonnen.',
  'check.cache.unvouched':
    'Keine judgement.json, der geglaubt wird, steht für sie ein; wer sie geschrieben hat, ist daher offen. Ihr wird nicht geglaubt, sie wird neu angelegt.',
  'check.cache.seal-only':
    'So, wie das Programm dieses Benutzers sie geschrieben hat. Von welcher Aufzeichnung und welchem Stand des Programms sie ist, wurde nicht geprüft; nur für diese wird ihr geglaubt.',
  'check.cache.other':
    'Von einem anderen Stand des Programms oder für einen anderen Ordner angelegt. Ihr wird nicht geglaubt, sie wird neu angelegt.',
  'check.cache.stale':
    'Einträge, die nicht zu den Dateien von jetzt gehören: {$n :num}. Ihnen wird nicht geglaubt; die übrigen stimmen überein: {$agree :num}.',
  'check.cache.differs':
    'Einträge, denen geglaubt würde und die etwas anderes sagen als die Dateien: {$n :num}. Bitte löschen; es geht nichts verloren.',
  'check.cache.agrees': 'Stimmt Eintrag für Eintrag mit dem überein, woraus es gemacht ist: {$n :num}.',
  'check.cache.sealed':
    'So, wie das Programm dieses Benutzers sie geschrieben hat; geglaubt wird ihr nur für das, woraus sie gemacht ist.',
  'check.cache.old':
    'Die dekodierten Werte sind von einer anderen Aufzeichnung oder einem anderen Stand des Programms. Ihnen wird nicht geglaubt, sie werden neu gewonnen.',
  'check.cache.same': 'Enthält, was die Aufzeichnung jetzt ergibt.',
  'check.cache.other-found':
    'Ihr würde geglaubt, sie enthält aber etwas anderes, als die Aufzeichnung ergibt. Bitte löschen; es geht nichts verloren.',
} as const satisfies Messages<CheckSays>;
