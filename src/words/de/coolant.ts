/** Deutsch: Kühlmittel. */
export const coolant = {
  'coolant.highest': 'Höchstwert {$value}',
  'coolant.median': 'im Median {$value}',
  'coolant.source.profile': '{$from :name of=coolant-from}',
  'coolant-from.entered': 'eingetragen',
  'coolant-from.handbook': 'Herstellerangabe',
  'coolant-from.baseline run': 'Ausgangsfahrt',
  'coolant-from.default': 'Vorgabe: übliche Praxis, ohne Quelle',
  'coolant.source.default': 'Vorgabe: übliche Praxis, ohne Quelle',
  'coolant.source.baseline': 'Ausgangsfahrt',
  'coolant.source.run': 'Betriebstemperatur dieser Fahrt',
  'coolant.source.envelope':
    'Betriebstemperatur {$plateauC :temp finer=1} und {$allowC :diff finer=1}, die diese Fahrweise erklärt',
  'coolant.source.above': 'Betriebstemperatur {$plateauC :temp finer=1} und {$aboveC :diff finer=1}',
  'coolant.source.envelope-assumed':
    '{$plateauC :temp finer=1}, wo eine Betriebstemperatur höchstens liegt, und {$allowC :diff finer=1}, die diese Fahrweise erklärt',
  'coolant.source.above-assumed':
    '{$plateauC :temp finer=1}, wo eine Betriebstemperatur höchstens liegt, und {$aboveC :diff}',
  'coolant.source.heat-capacity': 'Wärmekapazität des Kühlmittels: übliche Praxis, ohne Quelle',
  'coolant.points.fan-or-flow':
    'Lüfter oder Luftstrom durch den Kühler, oder das Kühlmittel zirkuliert nicht: die Temperatur steigt im Stand, mehr zeigt die Fahrt nicht',
  'coolant.points.fan':
    'Lüfter oder Luftstrom durch den Kühler: die Temperatur steigt im Stand oder im Schritttempo',
  'coolant.points.flow':
    'Kühlmittelumlauf: Pumpe, rutschender Riemen, Thermostat oder zugesetzter Kühler: die Betriebstemperatur war erreicht, die Temperatur stieg und kam mit weniger Wärme zurück',
  'coolant.points.flow-or-none':
    'Kühlmittelumlauf, oder das Kühlmittel zirkuliert nicht: Pumpe, rutschender Riemen, Thermostat, Füllstand oder zugesetzter Kühler: die Fahrt trennt beides nicht',
  'coolant.points.no-circulation':
    'Kühlmittel zirkuliert nicht oder geht verloren: Thermostat bleibt geschlossen, Pumpe, Füllstand: die Temperatur steigt und erreichte keine stabile Betriebstemperatur',
  'coolant.points.open': 'Thermostat bleibt offen',
  'coolant.points.open-or-sensor':
    'Thermostat bleibt offen, oder ein Kühlmittelsensor, dessen Wert stehen bleibt: zuerst den Sensor prüfen',
  'coolant.points.air': 'Luft im System oder niedriger Füllstand; sonst der Kontakt des Sensors',
  'coolant.points.fan-wiring': 'Lüfter, seine Leitung oder sein Schalter',
  'coolant.points.weeping': 'Thermostat schließt nicht ganz, oder die Heizung war voll aufgedreht',
  'coolant.points.codes': 'was der Fehlercode besagt',
  'coolant.seen.settled':
    '{$overS :duration} stabil, davon {$movingS :duration} in Fahrt; seit dem ersten Erreichen der Betriebstemperatur zwischen {$lowC :temp} und {$highC :temp}.',
  'coolant.seen.settled-stood':
    '{$overS :duration} stabil, davon {$movingS :duration} in Fahrt; seit dem ersten Erreichen der Betriebstemperatur in Fahrt zwischen {$lowC :temp} und {$highC :temp}, langsam oder im Stand bis {$stoodC :temp}.',
  'coolant.seen.left-out':
    '{$n :num} von {$of :num} Messwerten der ganzen Fahrt blieben weg, weil kein Kühlmittel tut, was sie sagen; dies stützt sich auf die übrigen.',
  'coolant.seen.limit':
    'Kühlmittel an der Grenze von {$limitC :temp}: Höchstwert {$peakC :temp}, {$slope :says} Anhalten, sobald es sicher ist; nie ein heißes Kühlsystem öffnen.',
  'coolant.seen.climb':
    'Betriebstemperatur {$plateauC :temp finer=1}; diese Fahrweise erklärt {$allowC :diff finer=1} darüber. Das Kühlmittel stand bei {$saidC :temp finer=1}, als es gesagt wurde, und stieg bis {$peakC :temp finer=1}, {$slope :says} Anhalten, sobald es sicher ist; nie ein heißes Kühlsystem öffnen.',
  'coolant.seen.far':
    'Kühlmittel weit über seiner Betriebstemperatur von {$plateauC :temp finer=1}: Höchstwert {$peakC :temp finer=1}, {$slope :says} Anhalten, sobald es sicher ist; nie ein heißes Kühlsystem öffnen.',
  'coolant.seen.climb-assumed':
    'Wo dieser Motor seine Betriebstemperatur hat, war bis dahin nicht belegt, sie wird bei höchstens {$plateauC :temp finer=1} angenommen; diese Fahrweise erklärt {$allowC :diff finer=1} darüber. Das Kühlmittel stand bei {$saidC :temp finer=1}, als es gesagt wurde, und stieg bis {$peakC :temp finer=1}, {$slope :says} Anhalten, sobald es sicher ist; nie ein heißes Kühlsystem öffnen.',
  'coolant.seen.far-assumed':
    'Wo dieser Motor seine Betriebstemperatur hat, war bis dahin nicht belegt, sie wird bei höchstens {$plateauC :temp finer=1} angenommen. Kühlmittel weit darüber: höchstens {$peakC :temp finer=1}, {$slope :says} Anhalten, sobald es sicher ist; nie ein heißes Kühlsystem öffnen.',
  'coolant.seen.slope':
    '{$perMinC :diff finer=1}/min ({$lowC :diff finer=1 bare=yes} bis {$highC :diff finer=1 bare=yes}), als es gesagt wurde.',
  'coolant.seen.too-cold':
    'Nach {$activeS :duration} Fahrt, in der ein Motor warm wird, hat das Kühlmittel {$ectC :temp}; in den letzten {$overS :duration} davon änderte es sich um {$riseC :diff finer=1}. Thermostat prüfen.',
  'coolant.seen.plateau': 'Stabil bei {$plateauC :temp finer=1}.',
  'coolant.seen.plateau-left': 'Stabil bei {$plateauC :temp finer=1}, dann darüber hinaus gestiegen.',
  'coolant.seen.jumps':
    '{$swings :num} Ausschläge bis {$largestC :diff finer=1}. Abkühlen lassen, Füllstand prüfen, System entlüften. Anhalten, sobald es sicher ist; nie ein heißes Kühlsystem öffnen.',
  'coolant.seen.no-fan':
    'Im Stand kam das Kühlmittel auf {$ectC :temp} und fiel nicht; der Lüfter sollte bei {$onC :temp} einschalten. Anhalten, sobald es sicher ist; nie ein heißes Kühlsystem öffnen.',
  'coolant.seen.fan': 'Im Stand stieg das Kühlmittel und wurde wieder heruntergekühlt.',
  'coolant.seen.fan-climbed':
    'Im Stand stieg das Kühlmittel und wurde wieder heruntergekühlt, aber während eines Anstiegs: das zeigt den Lüfter nicht in Ordnung.',
  'coolant.seen.warm-up':
    '{$fromC :temp} bis {$toC :temp} dauerten {$overS :clock} min, begonnen bei {$startC :temp}.',
  'coolant.seen.warm-up-air':
    '.input {$drives :number}\n.match $drives\n1 {{{$perC :num} Einheiten Wärme je Kelvin; nach 1 Ausgangsfahrt dieses Fahrzeugs sind bei {$airC :temp} Lufttemperatur {$expected :num} zu erwarten.}}\n* {{{$perC :num} Einheiten Wärme je Kelvin; nach {$drives :num} Ausgangsfahrten dieses Fahrzeugs sind bei {$airC :temp} Lufttemperatur {$expected :num} zu erwarten.}}',
  'coolant.seen.code-alone':
    'Der Fehlercode {$code} steht im Fehlerspeicher, wie er nach der Reparatur ausgelesen wurde; davor wurde nicht ausgelesen.',
  'coolant.seen.code':
    'Der Fehlercode {$code} steht im Fehlerspeicher, wie er nach der Reparatur ausgelesen wurde; keine Auslesung davor zeigt ihn.',
  'coolant.needs.signal': 'Es wurde keine Kühlmitteltemperatur aufgezeichnet: ein Signal dafür wählen.',
  'coolant.needs.climb-first':
    'Das Kühlmittel wurde zu heiß: vor weiterem Fahren oder Leerlauf die Ursache finden, dann noch einmal fahren.',
  'coolant.needs.thermostat-first':
    'Das Kühlmittel bleibt kalt: zuerst das beheben, dann noch einmal fahren.',
  'coolant.needs.sensor-first':
    'Der Kühlmittelsensor oder seine Leitung ist fehlerhaft: zuerst das beheben, dann noch einmal fahren.',
  'coolant.needs.settle':
    'Die Kühlmitteltemperatur wurde nicht stabil: weiterfahren, bis sie es ist, dann noch {$moreS :duration asked=yes} mit {$kmh :speed} oder mehr.',
  'coolant.needs.no-plateau':
    'Das Kühlmittel stieg auf {$nowC :temp} und erreichte keine stabile Betriebstemperatur: abkühlen lassen, Füllstand und Lüfter prüfen, dann noch einmal fahren und beobachten.',
  'coolant.needs.more': 'Noch {$moreS :duration asked=yes} bei stabiler Temperatur fahren.',
  'coolant.needs.moving':
    'Bei stabiler Temperatur noch {$moreS :duration asked=yes} mit {$kmh :speed} oder mehr fahren.',
  'coolant.needs.restless':
    'Die Kühlmittelanzeige ist unruhig: Füllstand und Sensor prüfen, entlüften, dann noch einmal fahren.',
  'coolant.needs.frozen':
    'Der Messwert des Kühlmittels bewegte sich gar nicht: den Sensor prüfen, dann noch einmal fahren.',
  'coolant.needs.near-limit':
    'Das Kühlmittel kam der Grenze auf {$readingC :diff} nahe: nach dem Abkühlen den Stand prüfen, dann noch einmal fahren und beobachten.',
  'coolant.needs.high-plateau':
    'Das Kühlmittel pendelte sich bei {$plateauC :temp finer=1} ein, über den bekannten {$knownC :temp finer=1}: Füllstand, Kühler, Pumpe und Thermostat prüfen, dann noch einmal fahren.',
  'coolant.needs.above-usual':
    'Das Kühlmittel pendelte sich bei {$plateauC :temp finer=1} ein, höher als bei den meisten Motoren ({$usualC :temp}), und nichts sagt, wo es dieser tut: die Öffnungstemperatur seines Thermostaten eintragen oder Fahrten dieses Fahrzeugs in einwandfreiem Zustand angeben.',
  'coolant.needs.unproved':
    'In Fahrt erreichte das Kühlmittel {$highC :temp finer=1}, weit über {$plateauC :temp finer=1}, wo es sich einpendelte, und die Fahrt zeigte nicht, dass der Thermostat es zulässt: {$overS :duration} lang unter gleichmäßiger Last mit {$kmh :speed} oder mehr fahren oder die Öffnungstemperatur des Thermostaten eintragen.',
  'coolant.needs.fan-unanswered':
    'Im Stand erreichte das Kühlmittel {$highC :temp} oder mehr, und es war nicht zu sehen, dass es zurückkam: den warmen Motor im Leerlauf lassen, bis der Lüfter ein- und wieder ausgeschaltet hat; Hände und Kabel weg von Riemen und Lüfter.',
  'coolant.needs.high-at-end':
    'Die Kühlmitteltemperatur war am Ende der Fahrt erhöht: weiterfahren, bis sie die Betriebstemperatur wieder erreicht oder eindeutig steigt.',
  'coolant.needs.hot-at-end':
    'Die Aufzeichnung endete bei {$nowC :temp} Kühlmitteltemperatur: abkühlen lassen, Füllstand und Lüfter prüfen, bevor weitergefahren wird.',
  'coolant.needs.low-plateau':
    'Das Kühlmittel pendelte sich bei {$plateauC :temp finer=1} ein: die Öffnungstemperatur des Thermostaten eintragen oder eine Fahrt dieses Fahrzeugs in einwandfreiem Zustand angeben.',
  'coolant.needs.below-known':
    'Das Kühlmittel pendelte sich bei {$plateauC :temp finer=1} ein, unter den bekannten {$knownC :temp finer=1}: weiterfahren, gleichmäßig mit {$kmh :speed} oder mehr.',
  'coolant.needs.asked':
    'Bei stabiler Temperatur noch {$moreS :duration asked=yes} mit {$kmh :speed} oder mehr fahren, mit etwas Last.',
  'coolant.needs.sagged':
    'Die Kühlmitteltemperatur fiel unter die Betriebstemperatur: gleichmäßig mit {$kmh :speed} oder mehr weiterfahren, bis sie stabil ist.',
  'coolant.needs.quicker':
    'Die Kühlmitteltemperatur öfter abfragen: ein Messwert alle {$everyS :seconds finer=1} zeigt Blasen.',
  'coolant.needs.fan':
    'Lüfter: nicht gefordert. Den warmen Motor im Leerlauf lassen, bis der Lüfter ein- und wieder ausgeschaltet hat; Hände und Kabel weg von Riemen und Lüfter.',
  'coolant.needs.fan-asked':
    'Im Stand stieg die Kühlmitteltemperatur, und die Fahrt ging weiter, bevor sie wieder fiel: den warmen Motor im Leerlauf lassen, bis der Lüfter ein- und wieder ausgeschaltet hat; Hände und Kabel weg von Riemen und Lüfter.',
  'coolant.needs.fan-above-own':
    'Im Stand kam das Kühlmittel auf {$highC :temp} und ging nicht erkennbar zurück; in den Ausgangsfahrten dieses Fahrzeugs kehrte es spätestens bei {$ownC :temp} um: Lüfter, Sicherung, Relais und Leitungen prüfen, dann den warmen Motor im Leerlauf lassen und die Temperatur beobachten.',
  'coolant.needs.fan-hot':
    'Im Stand erreichte das Kühlmittel {$highC :temp}, wo der Lüfter bei den meisten Autos laufen muss, und es war nicht zu sehen, dass es zurückkam: Lüfter, Sicherung, Relais und Leitung prüfen, dann den warmen Motor im Leerlauf lassen und die Temperatur beobachten.',
  'coolant.needs.fan-hot-back':
    'Im Stand erreichte das Kühlmittel {$highC :temp}, wo der Lüfter bei den meisten Autos laufen muss, und fiel wieder; dass es der Lüfter war, sagen diese Messwerte nicht: den warmen Motor im Leerlauf lassen, bis der Lüfter ein- und wieder ausgeschaltet hat; Hände und Kabel weg von Riemen und Lüfter.',
  'coolant.needs.cold-start':
    'Der Motor war beim Start warm: mit höchstens {$fromC :temp} Kühlmitteltemperatur beginnen, um den Warmlauf zu zeigen.',
  'coolant.needs.warm-up':
    'Vom Kaltstart bis {$toC :temp} aufzeichnen, überwiegend in Fahrt, mit Luftmasse oder mit Saugrohrdruck und Drehzahl.',
  'coolant.needs.warm-up-baseline':
    'Kein Vergleich für den Warmlauf: Kaltstarts dieses Fahrzeugs in einwandfreiem Zustand angeben.',
  'coolant.needs.warm-up-more':
    '.input {$drives :number}\n.match $drives\n0 {{Ein langsamer Warmlauf ist nicht nachgewiesen, aber kein Kaltstart dieses Fahrzeugs in einwandfreiem Zustand sagt genau genug, was er brauchen darf, um das {$excluded :num finer=1}-Fache an Wärme auszuschließen: einen hinzufügen.}}\n1 {{Ein langsamer Warmlauf ist nicht nachgewiesen, aber ein einziger Kaltstart in einwandfreiem Zustand sagt zu wenig darüber, was er brauchen darf, um das {$excluded :num finer=1}-Fache an Wärme auszuschließen: einen weiteren hinzufügen.}}\n* {{Ein langsamer Warmlauf ist nicht nachgewiesen, aber {$drives :num} Kaltstarts in einwandfreiem Zustand sagen zu wenig darüber, was er in dieser Luft brauchen darf, um das {$excluded :num finer=1}-Fache an Wärme auszuschließen: einen weiteren hinzufügen.}}',
  'coolant.needs.warm-up-again':
    'Der Warmlauf war langsamer, als nach den Ausgangsfahrten zu erwarten, aber nicht sicher: den Kaltstart mit abgestellter Heizung wiederholen.',
  'coolant.spoken.limit':
    'Kühlmittel bei {$nowC :temp}. Anhalten, sobald es sicher ist; nie ein heißes Kühlsystem öffnen.',
  'coolant.spoken.climb':
    'Kühlmittel steigt, {$nowC :temp}. Anhalten, sobald es sicher ist; nie ein heißes Kühlsystem öffnen.',
  'coolant.spoken.climb-within':
    'Kühlmittel steigt, {$nowC :temp}. So weiter sind {$limitC :temp} binnen {$toMin :num} min erreicht. Anhalten, sobald es sicher ist; nie ein heißes Kühlsystem öffnen.',
  'coolant.spoken.climb-soon':
    'Kühlmittel steigt, {$nowC :temp}. So weiter sind {$limitC :temp} in {$fromMin :num} bis {$toMin :num} min erreicht. Anhalten, sobald es sicher ist; nie ein heißes Kühlsystem öffnen.',
  'coolant.spoken.watch':
    'Kühlmittel {$nowC :temp} und steigend, mehr als diese Fahrweise erklärt. Im Auge behalten.',
  'coolant.spoken.no-plateau':
    'Kühlmittel steigt, {$nowC :temp}, und hat noch keine stabile Betriebstemperatur erreicht. Im Auge behalten.',
  'coolant.spoken.jumps':
    'Kühlmitteltemperatur springt: auf Luft im Kühlsystem prüfen. Anhalten, sobald es sicher ist.',
  'coolant.spoken.fan':
    'Kühlmittel {$nowC :temp}, und der Lüfter hat es nicht heruntergekühlt: den Motor abstellen, sobald es sicher ist.',
  'coolant.spoken.too-cold':
    'Kühlmittel bleibt kalt, {$nowC :temp}: in der Werkstatt den Thermostaten prüfen.',
  'coolant.spoken.warm-up': 'Das Kühlmittel wurde zu langsam warm: in der Werkstatt den Thermostaten prüfen.',
  'coolant.spoken.watch-high': 'Kühlmittel {$nowC :temp} und steigend. Im Auge behalten.',
  'coolant.view.watch-high': 'Kühlmittel {$nowC :temp}. Im Auge behalten.',
  'coolant.view.watch': 'Kühlmittel {$nowC :temp}, mehr als diese Fahrweise erklärt. Im Auge behalten.',
  'coolant.view.no-plateau':
    'Kühlmittel {$nowC :temp}, noch keine stabile Betriebstemperatur erreicht. Im Auge behalten.',
  'coolant.view.near-limit':
    'Kühlmittel {$nowC :temp}, die Grenze ist {$limitC :temp}. Anhalten, wo es sicher ist, und abkühlen lassen.',
  'coolant.view.jumps':
    'Die Kühlmitteltemperatur springt, jetzt {$nowC :temp}: auf Luft im Kühlsystem prüfen.',
  'coolant.view.none': 'Keine Kühlmitteltemperatur.',
  'coolant.view.state': `.input {$state :string} .match $state cold {{Kühlmittel kalt, {$nowC :temp}.}}
warming {{Kühlmittel wird warm, {$nowC :temp}.}}
opening {{Thermostat öffnet, {$nowC :temp}.}}
settling {{Kühlmittel wird stabil, {$nowC :temp}.}}
settled {{Kühlmittel stabil bei {$nowC :temp}.}}
* {{Kühlmittel {$nowC :temp}.}}`,
} as const;
