/** Deutsch: Ladedruck. */
export const boost = {
  'boost.good-range':
    '.input {$toDemandPct :number}\n.match $toDemandPct\n100 {{Von {$fromRpm :rpm bare=yes} bis {$toRpm :rpm} ab {$fromDemandPct :percent} Pedal ist im Mittel ein Verlust von {$loss :share} oder mehr ausgeschlossen.}}\n* {{Von {$fromRpm :rpm bare=yes} bis {$toRpm :rpm} bei {$fromDemandPct :percent bare=yes} bis {$toDemandPct :percent} Pedal ist im Mittel ein Verlust von {$loss :share} oder mehr ausgeschlossen.}}',
  'boost.need.pulls':
    '.input {$pulls :number}\n.match $pulls\n1 {{Noch eine Volllastbeschleunigung von {$fromRpm :rpm bare=yes} bis {$toRpm :rpm} ab {$fromDemandPct :percent} Pedal fahren, in einem Gang, {$holdS :duration} gehalten, Kühlmittel ab {$warmC :temp}.}}\n* {{Noch {$pulls :num} Volllastbeschleunigungen von {$fromRpm :rpm bare=yes} bis {$toRpm :rpm} ab {$fromDemandPct :percent} Pedal fahren, in einem Gang, {$holdS :duration} gehalten, Kühlmittel ab {$warmC :temp}.}}',
  'boost.need.one-day':
    'Von Tag zu Tag schwankt der Ladedruck hier so stark wie das, was zu unterscheiden ist. Vorher und nachher am selben Tag vergleichen, je {$pulls :num} Volllastbeschleunigungen von {$fromRpm :rpm bare=yes} bis {$toRpm :rpm} ab {$fromDemandPct :percent} Pedal, in einem Gang, {$holdS :duration} gehalten, Kühlmittel ab {$warmC :temp}.',
  'boost.need.own-baseline':
    '.input {$cars :number}\n.match $cars\n1 {{Von Fahrzeug zu Fahrzeug kann der Ladedruck hier um {$within :share} abweichen, so stark wie das, was zu unterscheiden ist. Gegen 1 anderes Fahrzeug dieser Bauart klären das auch weitere Volllastbeschleunigungen nicht: eine einwandfreie Fahrt dieses Fahrzeugs als Ausgangsfahrt angeben, mit {$pulls :num} Volllastbeschleunigungen von {$fromRpm :rpm bare=yes} bis {$toRpm :rpm} ab {$fromDemandPct :percent} Pedal, {$holdS :duration} gehalten, Kühlmittel ab {$warmC :temp}.}}\n* {{Von Fahrzeug zu Fahrzeug kann der Ladedruck hier um {$within :share} abweichen, so stark wie das, was zu unterscheiden ist. Gegen {$cars :num} andere Fahrzeuge dieser Bauart klären das auch weitere Volllastbeschleunigungen nicht: eine einwandfreie Fahrt dieses Fahrzeugs als Ausgangsfahrt angeben, mit {$pulls :num} Volllastbeschleunigungen von {$fromRpm :rpm bare=yes} bis {$toRpm :rpm} ab {$fromDemandPct :percent} Pedal, {$holdS :duration} gehalten, Kühlmittel ab {$warmC :temp}.}}',
  'boost.need.like-air':
    'Die Luft hatte {$airC :temp}, die der Ausgangsfahrten im Mittel {$taughtC :temp}. Wie stark ein solcher Unterschied den Ladedruck dieses Motors verändert, zeigen sie nicht genau genug: bei ähnlicher Lufttemperatur vergleichen oder einwandfreie Fahrten an wärmeren und kälteren Tagen hinzunehmen.',
  'boost.need.air-unread':
    'Die Lufttemperatur wurde nicht gelesen, hier oder in Ausgangsfahrten, und sie kann den Ladedruck so stark verändern wie das, was zu unterscheiden ist: in allen Fahrten Außen- oder Ansauglufttemperatur lesen und bei ähnlicher Lufttemperatur vergleichen.',
  'boost.need.untaught':
    'Von {$fromRpm :rpm bare=yes} bis {$toRpm :rpm} wurde ab {$fromDemandPct :percent} Pedal gefahren, doch für das meiste davon sagt nichts, welcher Ladedruck zu erwarten war: eine einwandfreie Fahrt hinzunehmen, die dorthin kam.',
  'boost.need.above':
    'Von {$fromRpm :rpm bare=yes} bis {$toRpm :rpm} liegt der Ladedruck ab {$fromDemandPct :percent} Pedal deutlich über dem der Ausgangsfahrten: diese waren schwächer und schließen keinen Verlust aus. Eine weitere einwandfreie Fahrt hinzunehmen, die dorthin kam.',
  'boost.need.left-out':
    'Von {$fromRpm :rpm bare=yes} bis {$toRpm :rpm} wurde ab {$fromDemandPct :percent} Pedal gefahren, doch diese Messwerte sind nicht glaubhaft: Druck oder Pedal standen still, oder das Gas wurde gerade weggenommen. In einer weiteren Fahrt dorthin fahren und das Pedal {$holdS :duration} halten; kommt es wieder, Drucksensor und Pedalwert ansehen.',
  'boost.guess.belt':
    'dem Verlauf nach ein Lader mit Riemenantrieb: unter {$belowRpm :rpm} kommt der Ladedruck {$afterS :seconds finer=1} nach dem Gasgeben und erreicht {$topKpa :pressure}',
  'boost.guess.turbo': 'dem Verlauf nach ein Turbomotor: der Ladedruck erreicht {$topKpa :pressure}',
  'boost.guess.none':
    'dem Verlauf nach ein Saugmotor, oder kein Lader fördert: kein Ladedruck bei {$pulls :num} Volllastbeschleunigungen',
  'boost.source.profile': 'Profil ({$from :name of=profile-source})',
  'boost.source.commanded': 'Ladedruck-Sollwert des Motorsteuergeräts',
  'boost.source.baseline': 'Ausgangsfahrt',
  'boost.source.air': 'Luftmasse der Ausgangsfahrten',
  'boost.source.default': 'Vorgabe: übliche Praxis, ohne Quelle',
  'boost.points.clutch': 'Kupplung schließt nicht, ihr Antrieb oder ihre Leitung, Regelklappe bleibt offen',
  'boost.points.clutch-or-late':
    'Kupplung schließt nicht oder zu spät, ihr Antrieb oder ihre Leitung, Regelklappe bleibt offen',
  'boost.points.clutch-or-slip':
    'Kupplung schließt nicht oder rutscht, ihr Antrieb oder ihre Leitung, Umluftklappe bleibt offen',
  'boost.points.belt': 'Riemen rutscht, Umluftklappe bleibt offen, Undichtigkeit auf der Druckseite',
  'boost.points.changeover': 'Turbolader oder Regelklappe kommt zu spät',
  'boost.points.turbo': 'Turbolader, sein Steller, seine Ladeluftrohre',
  'boost.points.turbo-slow': 'Turbolader spricht träge an, sein Steller oder seine Leitschaufeln',
  'boost.points.turbo-slow-or-leak':
    'Turbolader spricht träge an, sein Steller oder seine Leitschaufeln, oder eine Undichtigkeit auf der Druckseite',
  'boost.points.turbo-or-leak':
    'Turbolader, sein Steller, seine Ladeluftrohre oder eine Undichtigkeit auf der Druckseite',
  'boost.points.leak': 'Undichtigkeit auf der Druckseite',
  'boost.points.leak-air':
    'Undichtigkeit auf der Druckseite: es wird mehr Luft gemessen, als der Saugrohrdruck erklärt',
  'boost.points.leak-everywhere':
    'Undichtigkeit auf der Druckseite (Ladedruck bei allen Drehzahlen zu niedrig)',
  'boost.points.leak-or-sensor':
    'Undichtigkeit auf der Druckseite; sonst misst der Saugrohrdrucksensor zu wenig oder der Luftmassenmesser zu viel',
  'boost.points.slip': 'Kupplung oder Riemen rutscht, oder die Regelklappe schließt nicht ganz',
  'boost.points.slip-or-late':
    'Kupplung oder Riemen rutscht, die Kupplung schließt zu spät, oder die Regelklappe schließt nicht ganz',
  'boost.points.slip-or-leak-alone':
    'Kupplung oder Riemen rutscht, oder die Regelklappe schließt nicht ganz, oder eine Undichtigkeit auf der Druckseite',
  'boost.points.slip-late-or-leak':
    'Kupplung oder Riemen rutscht, die Kupplung schließt zu spät, oder die Regelklappe schließt nicht ganz, oder eine Undichtigkeit auf der Druckseite (Volllastbeschleunigungen von {$fromRpm :rpm bare=yes} bis {$toRpm :rpm} zeigen, ob es eine Undichtigkeit ist, plötzliches Vollgas bei häufigem Abfragen das Übrige)',
  'boost.points.slip-or-leak':
    'Kupplung oder Riemen rutscht, oder die Regelklappe schließt nicht ganz, oder eine Undichtigkeit auf der Druckseite (Volllastbeschleunigungen von {$fromRpm :rpm bare=yes} bis {$toRpm :rpm} unterscheiden das)',
  'boost.points.contact': 'Spule mit Wackelkontakt, Stecker, verschlissene Kupplung',
  'boost.points.hangs': 'hängender Steller, Steuerleitung, loses Ladeluftrohr',
  'boost.points.control': 'Ladedruckregelung, zu hoher Ladedruck',
  'boost.points.control-or-teacher':
    'Ladedruckregelung, zu hoher Ladedruck; oder die frühere Fahrt, die die Grenze setzte, war selbst zu schwach: mit der Herstellerangabe vergleichen',
  'boost.points.closes-late': 'Kupplung schließt spät: Schlupf, zu niedrige Spannung, Regelklappe',
  'boost.points.does-not-open': 'Kupplung öffnet nicht: klebende Scheibe, Luftspalt, Ansteuerung',
  'boost.points.map': 'Saugrohrdrucksensor, seine Leitung oder sein Schlauch',
  'boost.points.map-or-baro': 'Saugrohrdrucksensor oder Luftdrucksensor',
  'boost.seen.range': '{$fromRpm :rpm bare=yes} bis {$toRpm :rpm}',
  'boost.seen.range-in-gear':
    '{$fromRpm :rpm bare=yes} bis {$toRpm :rpm} in dem Gang, der bei {$atRpm :rpm} {$kmh :speed} ergibt',
  'boost.seen.pull': '{$range :says}: Ladedruck {$boostKpa :pressure}.',
  'boost.seen.pull-due':
    '{$range :says}: Ladedruck {$boostKpa :pressure}; mindestens {$leastKpa :pressure} bringt dort jeder einwandfreie Motor.',
  'boost.seen.pull-due-by-demand':
    '{$range :says}: Ladedruck {$boostKpa :pressure}; mindestens {$lowKpa :pressure} bringt dort jeder einwandfreie Motor, ab {$highFromPct :percent} Pedal {$highKpa :pressure}: hier im Mittel {$leastKpa :pressure}.',
  'boost.seen.pull-expected':
    '{$range :says}: Ladedruck {$boostKpa :pressure}, erwartet {$expectedKpa :pressure} ({$deviation :share sign=always}).',
  'boost.seen.shape':
    'Bei Vollgas war der Ladedruck von {$fromRpm :rpm bare=yes} bis {$toRpm :rpm} {$share :share} von dem zwischen {$belowRpm :rpm bare=yes} und {$belowToRpm :rpm} ({$low :share} bis {$high :share}). Ein intakter Turbodiesel kam auf {$usual :share} (Standardabweichung {$usualSd :share} zwischen Fahrten); andere Motoren nehmen ihn weiter oben vielleicht zurück, daher ist das kein Urteil.',
  'boost.seen.surest':
    '.input {$pulls :number}\n.match $pulls\n1 {{Am deutlichsten von {$fromRpm :rpm bare=yes} bis {$toRpm :rpm} ab {$fromDemandPct :percent} Pedal: {$byKpa :pressure sign=always} gegenüber erwarteten {$expectedKpa :pressure} ({$deviation :share sign=always}), in einer Volllastbeschleunigung.}}\n* {{Am deutlichsten von {$fromRpm :rpm bare=yes} bis {$toRpm :rpm} ab {$fromDemandPct :percent} Pedal: {$byKpa :pressure sign=always} gegenüber erwarteten {$expectedKpa :pressure} ({$deviation :share sign=always}), über {$pulls :num} Volllastbeschleunigungen.}}',
  'boost.seen.onset': 'Der Ladedruck kam {$afterS :seconds finer=1} nach dem Gasgeben.',
  'boost.seen.light-manifold':
    'Saugrohr {$gaugeKpa :pressure sign=always} gegen den Luftdruck bei gleichmäßig wenig Gas.',
  'boost.seen.light-charge':
    'Druck vor der Drosselklappe {$gaugeKpa :pressure sign=always} gegen den Luftdruck bei gleichmäßig wenig Gas.',
  'boost.seen.map-frozen':
    'Der Saugrohrdruck blieb bei {$mapKpa :pressure}, während die Drehzahl von {$fromRpm :rpm bare=yes} auf {$toRpm :rpm} ging. Erst den Sensor prüfen, dann den Ladedruck beurteilen.',
  'boost.seen.map-above':
    'Motor steht: der Saugrohrdruck liegt {$byKpa :pressure finer=1} über dem Luftdruck. Erst den Sensor prüfen, dann den Ladedruck beurteilen.',
  'boost.seen.map-below':
    'Motor steht: der Saugrohrdruck liegt {$byKpa :pressure finer=1} unter dem Luftdruck. Erst den Sensor prüfen, dann den Ladedruck beurteilen.',
  'boost.need.baseline-pulls':
    '.input {$pulls :number}\n.match $pulls\n1 {{Eine Fahrt dieses Fahrzeugs in einwandfreiem Zustand als Ausgangsfahrt angeben (oder seinen erwarteten Ladedruck eintragen) und noch eine Volllastbeschleunigung fahren: Vollgas ({$fromDemandPct :percent} Pedal oder mehr), mindestens {$holdS :duration} gehalten, in einem Gang, von {$fromRpm :rpm bare=yes} bis {$toRpm :rpm}, Kühlmittel ab {$warmC :temp}.}}\n* {{Eine Fahrt dieses Fahrzeugs in einwandfreiem Zustand als Ausgangsfahrt angeben (oder seinen erwarteten Ladedruck eintragen) und noch {$pulls :num} Volllastbeschleunigungen fahren: Vollgas ({$fromDemandPct :percent} Pedal oder mehr), mindestens {$holdS :duration} gehalten, in einem Gang, von {$fromRpm :rpm bare=yes} bis {$toRpm :rpm}, Kühlmittel ab {$warmC :temp}.}}',
  'boost.need.baseline-engagements':
    '.input {$pulls :number}\n.match $pulls\n1 {{Eine Fahrt dieses Fahrzeugs in einwandfreiem Zustand als Ausgangsfahrt angeben (oder seinen erwarteten Ladedruck eintragen) und die Kupplung noch einmal zuschalten lassen: Vollgas ({$fromDemandPct :percent} Pedal oder mehr), mindestens {$holdS :duration} gehalten, in einem Gang, von {$fromRpm :rpm bare=yes} bis {$toRpm :rpm}, Kühlmittel ab {$warmC :temp}.}}\n* {{Eine Fahrt dieses Fahrzeugs in einwandfreiem Zustand als Ausgangsfahrt angeben (oder seinen erwarteten Ladedruck eintragen) und die Kupplung noch {$pulls :num}-mal zuschalten lassen: Vollgas ({$fromDemandPct :percent} Pedal oder mehr), mindestens {$holdS :duration} gehalten, in einem Gang, von {$fromRpm :rpm bare=yes} bis {$toRpm :rpm}, Kühlmittel ab {$warmC :temp}.}}',
  'boost.need.baseline':
    'Nichts sagt, wie viel Ladedruck fällig war. Eine Fahrt dieses Fahrzeugs in einwandfreiem Zustand als Ausgangsfahrt angeben (oder seinen erwarteten Ladedruck eintragen): die Volllastbeschleunigungen dieser Fahrt lassen sich dann daran messen.',
  'boost.need.full-pulls':
    '.input {$pulls :number}\n.match $pulls\n1 {{Noch eine Volllastbeschleunigung von {$fromRpm :rpm bare=yes} bis {$toRpm :rpm} fahren.}}\n* {{Noch {$pulls :num} Volllastbeschleunigungen von {$fromRpm :rpm bare=yes} bis {$toRpm :rpm} fahren.}}',
  'boost.need.map': 'Das Fahrzeug liefert keinen Saugrohrdruck: den Ladedruck mit einem Manometer messen.',
  'boost.need.rpm': 'Auch die Motordrehzahl aufzeichnen.',
  'boost.need.demand':
    'Auch die Pedalstellung aufzeichnen: ohne sie ist keine Volllastbeschleunigung zu erkennen.',
  'boost.need.demand-quicker':
    'Das Pedal wurde zu selten abgefragt, um neben dem Saugrohrdruck zu stehen: weniger Größen abfragen, sodass Saugrohrdruck, Drehzahl und Pedalstellung jeweils alle {$everyS :seconds finer=1} oder öfter kommen.',
  'boost.need.repair-first':
    'Der Ladedruck kam nicht bei jeder Volllastbeschleunigung: zuerst das reparieren.',
  'boost.need.elsewhere': 'Der Ladedruck fehlte; siehe die anderen Befunde zum Ladedruck.',
  'boost.need.again':
    'Bei {$atS :clock} der Fahrt brachte eine Beschleunigung von {$fromRpm :rpm bare=yes} bis {$toRpm :rpm} {$boostKpa :pressure}, wo {$expectedKpa :pressure} zu erwarten waren: allein zu wenig für einen Fehler, und zu wenig Druck für einen Gutbefund. Dieselbe Beschleunigung in einer weiteren Fahrt länger halten.',
  'boost.need.sensor': 'Der Druckmesswert ist fehlerhaft, siehe dort; danach neu fahren.',
  'boost.need.sensor-said':
    'Bei {$atS :clock} der Fahrt wurde hier ein Fehler angesagt, nach einem Druckwert, der stillstand: das ist zurückgenommen. Siehe den Druckwert; dann erneut fahren.',
  'boost.need.told-otherwise':
    '{$needs :says} Der hier bei {$atS :clock} der Fahrt angesagte Fehler ist zurückgenommen.',
  'boost.need.taken-back':
    'Bei {$atS :clock} der Fahrt wurde hier ein Fehler gemeldet; die ganze Fahrt belegt ihn nicht. Vor dem Gutbefund dasselbe in einer weiteren Fahrt aufzeichnen.',
  'boost.need.press-test':
    'Die Ladeluftstrecke abdrücken: aus den Daten ist eine Undichtigkeit nicht vom Turbolader zu unterscheiden.',
  'boost.need.tip-ins':
    'Im Kupplungsbereich {$tips :num}-mal schlagartig von wenig Gas auf Vollgas gehen und jeweils {$holdS :duration} halten, mit so vielen Messwerten je Sekunde, wie die Verbindung hergibt.',
  'boost.need.light':
    '.input {$pulls :number}\n.match $pulls\n1 {{{$holdS :duration} lang gleichmäßig wenig Gas zwischen {$fromRpm :rpm bare=yes} und {$toRpm :rpm} geben, dann eine Volllastbeschleunigung oberhalb der Umschaltung fahren.}}\n* {{{$holdS :duration} lang gleichmäßig wenig Gas zwischen {$fromRpm :rpm bare=yes} und {$toRpm :rpm} geben, dann {$pulls :num} Volllastbeschleunigungen oberhalb der Umschaltung fahren.}}',
  'boost.need.stopped':
    '{$stopS :duration} lang bei eingeschalteter Zündung und stehendem Motor warten, mit aufgezeichnetem Luftdruck, dann fahren.',
  'boost.need.baro':
    'Das Fahrzeug gibt keinen Luftdruck aus, an dem sich der Saugrohrdruck messen ließe: mit einem Manometer prüfen.',
  'boost.need.map-moves': 'Nun fahren: der Saugrohrdruck hat sich noch nicht bewegt.',
  'boost.need.map-near':
    'Bei stehendem Motor liegen Saugrohrdruck und Luftdruck fast zu weit auseinander: beide mit einem Manometer prüfen.',
  'boost.need.induction': 'Im Profil eintragen, wie der Motor aufgeladen ist.',
  'boost.need.induction-guessed': 'Im Profil eintragen, wie der Motor aufgeladen ist ({$guess :says}).',
  'boost.spoken.clutch-band': 'Im Kupplungsbereich fehlt Ladedruck.',
  'boost.spoken.changeover': 'Ladedruck bricht beim Umschalten ein.',
  'boost.spoken.above-changeover': 'Bei hoher Drehzahl ist der Ladedruck zu niedrig.',
  'boost.spoken.low-speed': 'Bei niedriger Drehzahl ist der Ladedruck zu niedrig.',
  'boost.spoken.intermittent': 'Ladedruck kommt nicht jedes Mal.',
  'boost.spoken.leak': 'Ladedruck ist bei allen Drehzahlen zu niedrig.',
  'boost.spoken.surplus': 'Ladedruck ist zu hoch: Gas wegnehmen.',
  'boost.spoken.late': 'Ladedruck kommt spät.',
  'boost.spoken.clutch-open': 'Der Kompressor läuft mit, wo er nicht sollte.',
  'boost.spoken.map': 'Der Saugrohrdruck ist nicht plausibel.',
  'boost.spoken.check': 'Prüfen: {$points :says}.',
  'boost.view.no-charger': 'Dieser Motor hat keinen Lader.',
  'boost.view.no-pull': 'Noch keine Volllastbeschleunigung.',
  'boost.view.missing-now': 'Kein Ladedruck bei dieser Volllastbeschleunigung.',
  'boost.last.missed':
    '.input {$kind :string}\n.match $kind\nengagement {{Letztes Zuschalten ohne Ladedruck: {$boostKpa :pressure}.}}\n* {{Letzte Volllastbeschleunigung ohne Ladedruck: {$boostKpa :pressure}.}}',
  'boost.last.held':
    '.input {$kind :string}\n.match $kind\nengagement {{Letztes Zuschalten: Ladedruck kam.}}\n* {{Letzte Volllastbeschleunigung: Ladedruck kam.}}',
  'boost.last.short':
    '.input {$kind :string}\n.match $kind\nengagement {{Letztes Zuschalten: {$shortfall :share} Ladedruck zu wenig.}}\n* {{Letzte Volllastbeschleunigung: {$shortfall :share} Ladedruck zu wenig.}}',
  'boost.last.open':
    '.input {$kind :string}\n.match $kind\nengagement {{Letztes Zuschalten: nicht zu beurteilen.}}\n* {{Letzte Volllastbeschleunigung: nicht zu beurteilen.}}',
} as const;
