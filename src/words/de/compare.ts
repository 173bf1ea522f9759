/** Deutsch: was ein Vergleich von Fahrten sagt. */
import type { CompareSays } from '../../compare/says.ts';
import type { Messages } from '../statements.ts';

const MORE = '.input {$pulls :number}\n.match $pulls\n';

export const compare = {
  'compare.rule':
    'Jede Veränderung hat ihren {$confidence :share bare=yes}-%-Vertrauensbereich; gezählt wird je Volllastbeschleunigung, und die Streuung zwischen den Tagen ist darin enthalten. Besser: der ganze Bereich liegt über null. Nicht schlechter: der ganze Bereich liegt über −{$margin :share}. Schlechter: der ganze Bereich liegt unter null und reicht unter −{$margin :share}. Alles andere ist nicht belegt. Einzelne Punkte berücksichtigen ihre Anzahl (Holm); die Drehzahlbereiche sind vorher festgelegt und stehen für sich.',
  'compare.run': '{$role :name of=run-role} vom {$at :datetime}',
  'compare.region.all': 'gesamt',
  'compare.region.supercharger': 'Kompressor',
  'compare.region.clutch-band': 'Kupplungsbereich',
  'compare.region.changeover': 'Umschaltung',
  'compare.region.above-changeover': 'oberhalb der Umschaltung',
  'compare.region.turbocharger-low': 'Turbolader unter {$rpm :rpm}',
  'compare.region.turbocharger-high': 'Turbolader über {$rpm :rpm}',
  'compare.day.said':
    'Beide Seiten wurden laut Angabe am selben Tag gefahren; die Streuung zwischen den Tagen entfällt.',
  'compare.day.shared':
    'Beide Seiten liegen laut Datum am selben Tag; die Streuung zwischen den Tagen entfällt insoweit.',
  'compare.day.other':
    'Die beiden Seiten wurden an verschiedenen Tagen gefahren: jeder Vertrauensbereich berücksichtigt eine Streuung von {$sd :share} zwischen den Tagen (KIT-Daten, ein Auto ohne Mängel).',
  'compare.day.unknown':
    'Es ist nicht bekannt, ob beide Seiten am selben Tag gefahren wurden: jeder Vertrauensbereich berücksichtigt eine Streuung von {$sd :share} zwischen den Tagen (KIT-Daten, ein Auto ohne Mängel).',
  'compare.baro.same': 'Der Luftdruck war auf beiden Seiten gleich, {$kpa :pressure finer=1}.',
  'compare.baro.brought':
    'Die Drücke der späteren Fahrten wurden von {$fromKpa :pressure finer=1} auf {$toKpa :pressure finer=1} Luftdruck umgerechnet, den Mittelwert der früheren ({$change :share finer=1 sign=always}).',
  'compare.air':
    'Die Luft hatte bei den früheren Fahrten {$beforeC :temp} und bei den späteren {$afterC :temp}: ihre Dichte weicht dadurch um {$density :share finer=1 sign=always} ab. Wie der Ladedruck dieses Autos ihr folgt, ist nicht bekannt: es wird nicht umgerechnet, die Vertrauensbereiche berücksichtigen, was bei jedem Auto möglich ist.',
  'compare.air-unread':
    'Die Lufttemperatur wurde nicht bei jeder Fahrt gelesen, und nichts besagt, dass alle am selben Tag gefahren wurden: die Vertrauensbereiche berücksichtigen Tage so verschieden wie Sommer und Winter.',
  'compare.gears':
    'Beschleunigungen in denselben Gängen gibt es zu wenige ({$regions :says}): dort wird über die Gänge hinweg verglichen, mit {$allowed :share} Zuschlag.',
  'compare.road.matched':
    '.input {$stretches :number}\n.match $stretches\n1 {{Auf demselben Straßenstück in derselben Richtung, laut Satellitenempfänger: {$before :num} von {$ofBefore :num} Beschleunigungen vorher und {$after :num} von {$ofAfter :num} nachher. Kein Urteil beruht darauf.}}\n* {{Auf denselben {$stretches :num} Straßenstücken in derselben Richtung, laut Satellitenempfänger: {$before :num} von {$ofBefore :num} Beschleunigungen vorher und {$after :num} von {$ofAfter :num} nachher. Kein Urteil beruht darauf.}}',
  'compare.road.none':
    'Keine der {$before :num} Beschleunigungen vorher wurde auf demselben Straßenstück in derselben Richtung gefahren wie eine der {$after :num} nachher, soweit der Satellitenempfänger die Orte angab.',
  'compare.road.few':
    'Bei gleicher Drehzahl und Pedalstellung sind es zu wenige für eine Veränderung mit Vertrauensbereich.',
  'compare.road.effect':
    'Gleiche Straße, {$region :says}: {$effect :share finer=1 sign=always} ({$low :share finer=1 sign=always} bis {$high :share finer=1 sign=always}); alle Beschleunigungen {$allLow :share finer=1 sign=always} bis {$allHigh :share finer=1 sign=always}.',
  'compare.road.effect-alone':
    'Gleiche Straße, {$region :says}: {$effect :share finer=1 sign=always} ({$low :share finer=1 sign=always} bis {$high :share finer=1 sign=always}); aus allen Beschleunigungen kein Vertrauensbereich.',
  'compare.power.effect':
    'Für Beschleunigung und Steigung übrig, {$region :says}: {$before :num finer=1} W/kg vorher ({$pullsBefore :num} Beschleunigungen), {$after :num finer=1} W/kg nachher ({$pullsAfter :num}); Unterschied {$difference :num finer=1 sign=always} W/kg ({$low :num finer=1 sign=always} bis {$high :num finer=1 sign=always}).',
  'compare.power.rests':
    'Das beruht auf Geschwindigkeit über Grund und Höhe des Satellitenempfängers, in denselben Gängen, bereinigt um eine mittlere Steigung von {$before :share finer=1 sign=always} vorher und {$after :share finer=1 sign=always} nachher (je Beschleunigung auf {$sd :share finer=1} bekannt). Es gilt je Kilogramm dessen, was gefahren ist: die Masse ist nicht bekannt, eine Person mehr nimmt etwa 5 %. Wind, Luft und Tag stecken nicht im Vertrauensbereich, Roll- und Luftwiderstand sind nicht hinzugerechnet. Eine Beobachtung: kein Urteil beruht darauf.',
  'compare.no-run':
    '.input {$role :string}\n.match $role\nafter {{Es gibt keine Fahrt nachher.}}\n* {{Es gibt keine Fahrt vorher.}}',
  'compare.nothing': 'Auf einer der beiden Seiten wurde nichts aufgezeichnet.',
  'compare.vehicles':
    'Die Fahrten gehören zu verschiedenen Fahrzeugen: {$which :says} Es wird nichts verglichen.',
  'compare.vehicle': 'FIN {$vin} bei {$run :says}.',
  'compare.inductions':
    'Die Fahrzeugdaten nennen verschiedene Aufladungen: {$which :says} Der Ladedruck wird nicht verglichen. Die Fahrzeugdaten berichtigen oder einen Satz für alle Fahrten angeben.',
  'compare.induction': '{$induction :name of=induction} bei {$run :says}.',
  'compare.no-charger': 'Dieser Motor hat keinen Lader: verglichen wird nur das Kühlmittel.',
  'compare.missing':
    '{$run :says}: es fehlt {$signal :name of=signal}; was darauf beruht, wird nicht verglichen.',
  'compare.unread': `${MORE}1 {{{$run :says}: 1 Volllastbeschleunigung wird nicht verglichen, weil dabei kein glaubhafter Saugrohrdruck kam.}}\n* {{{$run :says}: {$pulls :num} Volllastbeschleunigungen werden nicht verglichen, weil dabei kein glaubhafter Saugrohrdruck kam.}}`,
  'compare.no-baro':
    '{$run :says}: der Luftdruck fehlt, also ist die Höhe unbekannt. Die Drücke werden unverändert verglichen, die Vertrauensbereiche berücksichtigen {$allowedKpa :pressure finer=1}.',
  'compare.how': 'Vollgas von {$fromRpm :rpm bare=yes} bis {$toRpm :rpm} in einem Gang, bis zum Ende halten',
  'compare.how-gear':
    'Vollgas von {$fromRpm :rpm bare=yes} bis {$toRpm :rpm} in dem Gang, der bei {$atRpm :rpm} {$kmh :speed} ergibt, bis zum Ende halten',
  'compare.need.no-pull-before':
    'Die Fahrten vorher enthalten hier keine Volllastbeschleunigung, die sich vergleichen lässt. Vorher: mindestens {$pulls :num} (nur möglich, solange das Auto im alten Zustand ist): {$how :says}. Nachher: ebenso.',
  'compare.need.after': `${MORE}1 {{Noch eine Volllastbeschleunigung: {$how :says}.}}\n* {{Noch {$pulls :num} Volllastbeschleunigungen: {$how :says}.}}`,
  'compare.need.no-common':
    'Beide Seiten enthalten hier Volllastbeschleunigungen, aber bei keiner gemeinsamen Drehzahl und Pedalstellung. Noch {$pulls :num} Beschleunigungen: {$how :says}.',
  'compare.need.few-before':
    'Die Fahrten vorher enthalten zu wenige Beschleunigungen über dieselben Drehzahlen, um ihre Streuung zu kennen. Vorher: mindestens {$pulls :num} (nur möglich, solange das Auto im alten Zustand ist): {$how :says}.',
  'compare.need.hidden':
    '.input {$by :string}\n.match $by\npulls {{Die Beschleunigungen streuen dafür zu stark, auch bei beliebig vielen. Noch {$pulls :num} möglichst gleiche fahren: {$how :says}.}}\nair {{Die andere Luft verdeckt es, auch bei beliebig vielen Beschleunigungen. Bei ähnlicher Luft wie bei den früheren Fahrten fahren, {$pulls :num} Beschleunigungen: {$how :says}.}}\n* {{Die Streuung zwischen den Tagen und die andere Luft verdecken es, auch bei beliebig vielen Beschleunigungen. Zusätzlich an einem anderen Tag bei ähnlicher Luft wie bei den früheren Fahrten fahren, {$pulls :num} Beschleunigungen: {$how :says}.}}',
  'compare.need.too-few': `${MORE}1 {{Die Fahrten vorher enthalten zu wenige Beschleunigungen. Vorher: noch eine (nur möglich, solange das Auto im alten Zustand ist): {$how :says}.}}\n* {{Die Fahrten vorher enthalten zu wenige Beschleunigungen. Vorher: noch {$pulls :num} (nur möglich, solange das Auto im alten Zustand ist): {$how :says}.}}`,
  'compare.need.too-few-both':
    'Die Fahrten vorher enthalten zu wenige Beschleunigungen. Weitere vorher (nur möglich, solange das Auto im alten Zustand ist): {$pulls :num}; nachher: {$after :num}; {$how :says}.',
  'compare.need.past':
    'Die Fahrten des Besuchs davor enthalten dafür zu wenig, und sie lassen sich nicht wiederholen.',
  'compare.need.tip-ins':
    'Auf jeder Seite dreimal schlagartig Vollgas geben und je {$holdS :seconds} halten, immer aus derselben Drehzahl (etwa {$rpm :rpm}).',
  'compare.need.settle':
    '.input {$role :string}\n.match $role\nafter {{Die Kühlmitteltemperatur wurde in den späteren Fahrten nicht stabil: warm noch {$minutes :num} Minuten mit gleichbleibender Geschwindigkeit fahren.}}\n* {{Die Kühlmitteltemperatur wurde in den Fahrten vorher nicht stabil: warm noch {$minutes :num} Minuten mit gleichbleibender Geschwindigkeit fahren (nur möglich, solange das Auto im alten Zustand ist).}}',
  'compare.need.another-run':
    'Diese Fahrten sind zu wenige, um es zu sagen: noch eine, bis die Kühlmitteltemperatur stabil ist.',
  'compare.need.cold':
    '.input {$role :string}\n.match $role\nafter {{In den späteren Fahrten wurde der Motor nicht von kalt an warm: mit dem Motor unter {$fromC :temp} starten und bis {$toC :temp} fahren.}}\n* {{In den Fahrten vorher wurde der Motor nicht von kalt an warm: mit dem Motor unter {$fromC :temp} starten und bis {$toC :temp} fahren.}}',
  'compare.need.heat-signals':
    'Die Wärme wurde auf den beiden Seiten mit verschiedenen Signalen gemessen: auf beiden Seiten die Luftmasse aufzeichnen.',
  'compare.need.air-unknown':
    'Die Lufttemperatur ist nicht auf beiden Seiten bekannt: auch die Außentemperatur aufzeichnen.',
  'compare.need.tip-air-apart':
    'Die Lufttemperaturen liegen {$byC :diff} auseinander, und in kalter Luft baut sich Ladedruck anders auf: bei ähnlicher Lufttemperatur wie beim ersten Mal fahren.',
  'compare.need.air-apart':
    'Die Lufttemperaturen liegen {$byC :diff} auseinander, und kalte Luft nimmt mehr Wärme auf: den Kaltstart bei ähnlicher Lufttemperatur wie beim ersten Mal wiederholen.',
  'compare.need.cold-starts':
    'Kaltstarts streuen von selbst um {$sd :share}: mehrere auf jeder Seite bei ähnlicher Luft schaffen Klarheit.',
} as const satisfies Messages<CompareSays>;
