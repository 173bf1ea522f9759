/** Deutsch: was Ladung, Sensoren, Aufzeichnung und Fehlerspeicher sagen. */
import type { VehicleSays } from '../../analysis/detectors.ts';
import type { Messages } from '../statements.ts';

export const vehicle = {
  'charging.source.rest': 'Ruhespannung einer vollen Batterie (aus dem Gedächtnis)',
  'charging.seen':
    'Motor läuft: {$lowV :volt finer=1} bis {$highV :volt finer=1} in {$share :share} der Zeit, Median {$middleV :volt finer=1}; {$bandShare :share} der Zeit zwischen {$fromV :volt} und {$toV :volt}, wo die meisten Anlagen laden. Geregelte Ladung darf außerhalb liegen.',
  'charging.flat':
    'Motor läuft: {$lastedS :duration} lang {$lowV :volt finer=1} bis {$highV :volt finer=1} und nie darüber.',
  'charging.points': 'keine Ladung: Riemen, Generator oder seine Leitung',
  'charging.spoken':
    'Keine Ladung: Der Riemen ist vielleicht gerissen, dann steht womöglich auch die Kühlmittelpumpe. Anhalten, sobald es sicher ist, und nachsehen.',
  'charging.need.record': 'Bordspannung und Drehzahl bei laufendem Motor aufzeichnen.',
  'charging.need.run': 'Den Motor {$runS :duration} laufen lassen.',
  'charging.need.battery': 'Die Ladespannung an der Batterie messen: Diese Fahrt klärt es nicht.',
  'sensor.source.practice': 'übliche Praxis, ohne Quelle',
  'sensor.seen':
    '.input {$n :number}\n.input {$kind :string}\n.match $n $kind\none end-stop {{Ein Wert am Anschlag: Unterbrechung oder Kurzschluss.}}\none range {{Ein Wert außerhalb des Möglichen.}}\none stuck {{Ein Wert unverändert, obwohl sich änderte, was ihn bestimmt.}}\none * {{Ein Wert springt schneller als möglich: Stecker und Kontakt prüfen.}}\n* end-stop {{{$n} Werte am Anschlag: Unterbrechung oder Kurzschluss.}}\n* range {{{$n} Werte außerhalb des Möglichen.}}\n* stuck {{{$n} Werte unverändert, obwohl sich änderte, was sie bestimmt.}}\n* * {{{$n} Werte springen schneller als möglich: Stecker und Kontakt prüfen.}}',
  'sensor.unchanged':
    '{$c :temp}, während {$lastedS :duration} Fahrt unverändert: So kalt bleibt kein Motor.',
  'sensor.start': 'Beim Start Kühlmittel {$ectC :temp}, Luft {$airC :temp}.',
  'sensor.start-both':
    'Beim Start Kühlmittel {$ectC :temp}, Ansaugluft {$intakeC :temp}, Außenluft {$outsideC :temp}.',
  'sensor.points.circuit': 'Unterbrechung oder Kurzschluss',
  'sensor.points.wiring': 'Sensor, Stecker oder Leitung',
  'sensor.spoken': 'Sensor für {$signal :name of=signal}: Wert nicht plausibel. Sensor und Stecker prüfen.',
  'sensor.need.left-out':
    '{$n :number} von {$of :number} Werten wurden ausgelassen. Sensor und Stecker prüfen, dann noch einmal fahren.',
  'sensor.need.stand':
    'Nach langem Stand einschalten und vor dem Start Kühlmittel-, Ansaugluft- und Außentemperatur vergleichen.',
  'sensor.need.night':
    'Kühlmittel und Luft weichen voneinander ab: nach einer ganzen Nacht noch einmal vergleichen.',
  'road.speed.seen':
    'Die Fahrzeuggeschwindigkeit liegt {$pct :percent finer=1 sign=always} gegenüber der Geschwindigkeit über Grund ({$lowPct :percent finer=1 sign=always bare=yes} bis {$highPct :percent finer=1 sign=always}), {$stretches :num} gleichmäßige Abschnitte bei im Mittel {$kmh :speed}.',
  'road.speed.need.look':
    'Fahrzeuggeschwindigkeit und Geschwindigkeit über Grund weichen voneinander ab: Reifengröße, Abnutzung und Geschwindigkeitssensor prüfen. Strecken und Beschleunigungen dieser Fahrt sind um ebenso viel falsch.',
  'road.speed.need.more':
    'Die Fahrzeuggeschwindigkeit ist gegen die über Grund nicht belegt: einige Minuten gleichmäßig und schneller fahren, unter freiem Himmel.',
  'link.source.default': 'Voreinstellung',
  'link.hole': '{$lastedS :duration} lang nichts aufgezeichnet.',
  'link.key-off': 'Zündung {$lastedS :duration} lang aus.',
  'link.need.again':
    '.input {$holes :number}\n.match $holes\none {{Der Aufzeichnung fehlen {$lostS :duration} in einer Lücke: Stecker und Kabel prüfen, dann die offenen Abschnitte noch einmal fahren.}}\n* {{Der Aufzeichnung fehlen {$lostS :duration} in {$holes} Lücken: Stecker und Kabel prüfen, dann die offenen Abschnitte noch einmal fahren.}}',
  'link.need.nothing': 'Es wurde nichts aufgezeichnet: Stecker, Kabel und Zündung prüfen.',
  'codes.points': 'was die Fehlercodes besagen',
  'codes.need.read': 'Den Fehlerspeicher nach der Fahrt auslesen.',
  'codes.need.unanswered':
    'Einige Dienste wurden nicht beantwortet: den Fehlerspeicher bei eingeschalteter Zündung noch einmal auslesen.',
  'codes.need.permanent':
    'Ein permanenter Fehlercode bleibt, bis das Steuergerät die Reparatur selbst geprüft hat: weiterfahren, dann noch einmal auslesen.',
  'codes.need.cleared':
    'Der Speicher wurde vor weniger als einer Fahrt gelöscht: weiterfahren, dann noch einmal auslesen.',
  'codes.need.monitors':
    '.input {$n :number}\n.match $n\none {{Eine Prüfung ist nicht beendet: weiterfahren, bis sie es ist, dann noch einmal auslesen.}}\n* {{{$n} Prüfungen sind nicht beendet: weiterfahren, bis sie es sind, dann noch einmal auslesen.}}',
} as const satisfies Messages<Omit<VehicleSays, `${string}.rule`>>;
