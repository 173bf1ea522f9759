/** Deutsch: was die Prüfung einer Aufzeichnung über sie sagt. */
import type { CheckSays } from '../../run/says.ts';
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
} as const satisfies Messages<CheckSays>;
