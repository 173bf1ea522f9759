/** Deutsch: Liste der Tasten, und ein Telefon als zweiter Bildschirm. */
import type { help as english } from '../en/page-help.ts';

export const help = {
  'help.title': 'Tasten',
  'help.strips': 'In den Kurven: Mausrad oder Ziehen zoomt, Doppelklick folgt wieder.',
  'help.tones':
    'Steigender Ton: in Ordnung oder Abschnitt gefahren. Fallender Ton: nicht erreicht. Zwei Töne im Wechsel: Kühlmittel; anhalten, wo es sicher ist.',
  'help.single': 'Einzelne Tasten wirken',
  'help.words': 'Sprache und Einheiten',
  'help.language': 'Sprache',
  'help.temperature': 'Temperatur',
  'help.pressure': 'Druck',
  'help.speed': 'Geschwindigkeit',
  'key.mark': 'Markierung: {$what}',
  'key.glance': 'Fahrerblick und zurück',
  'key.follow': 'Kurven mitlaufen lassen oder anhalten',
  'key.earlier': 'früher',
  'key.later': 'später',
  'key.cursor-back': 'Zeiger zurück (gedrückt halten)',
  'key.cursor-on': 'Zeiger weiter (gedrückt halten)',
  'key.less': 'kürzerer Zeitraum',
  'key.more': 'längerer Zeitraum',
  'key.acknowledge': 'Kühlmittelalarm quittieren (auch mit der Leertaste, solange er ertönt)',
  'key.again': 'letzte Ansage wiederholen',
  'key.sound': 'Töne und Stimme, nur Töne, aus',
  'key.louder': 'lauter',
  'key.quieter': 'leiser',
  'key.screen': 'Vollbild und zurück',
  'key.pin': 'Zeitpunkt merken und vergleichen',
  'key.back': 'zurück zum Ausgangspunkt',
  'key.theme': 'Tag oder Nacht',
  'key.language': 'nächste Sprache',
  'key.help': 'diese Liste',
  'phone.title': 'Telefon oder Tablet als zweiter Bildschirm',
  'phone.laptop-only':
    'Handback ist nur auf diesem Laptop erreichbar. Um ein Telefon im selben Netz zuzulassen, so starten:',
  'phone.how':
    'Laptop und Telefon müssen im selben Netz sein, zum Beispiel im Hotspot des Telefons. Ein Code lässt ein Gerät zu. Den Bildschirm des Telefons auf „immer an“ stellen: Eine unverschlüsselte Seite kann ihn nicht wach halten.',
  'phone.new-code': 'Neuer Code',
  'phone.show-code': 'Code zeigen',
  'phone.code': 'QR-Code mit der Adresse des Fahrerblicks für das Telefon',
  'phone.valid': 'Gültig für ein Gerät und {$valid :duration}. Von Hand:',
} as const satisfies Readonly<Record<keyof typeof english, string>>;
