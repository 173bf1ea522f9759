/** Deutsch: die Regeln der Urteile, was andere Fahrzeuge der Bauart sagen, und was Befunde zum Fahrzeug sagen und niemand laut hört. Eine Fahrt braucht nichts davon. */

export const rules = {
  'boost.source.kind':
    '.input {$cars :number}\n.match $cars\n1 {{1 anderes Fahrzeug dieser Bauart (ein einwandfreies kann um {$within :share} nach oben oder unten davon abweichen)}}\n* {{{$cars :num} andere Fahrzeuge dieser Bauart (ein einwandfreies kann um {$within :share} nach oben oder unten davon abweichen)}}',
  'boost.source.baseline-and-kind':
    '.input {$cars :number}\n.match $cars\n1 {{Ausgangsfahrt und 1 anderes Fahrzeug dieser Bauart}}\n* {{Ausgangsfahrt und {$cars :num} andere Fahrzeuge dieser Bauart}}',
  'boost.source.air-kind':
    '.input {$cars :number}\n.match $cars\n1 {{Luftmasse von 1 anderen Fahrzeug dieser Bauart (ein einwandfreies kann um {$within :share} nach oben oder unten davon abweichen)}}\n* {{Luftmasse von {$cars :num} anderen Fahrzeugen dieser Bauart (ein einwandfreies kann um {$within :share} nach oben oder unten davon abweichen)}}',
  'boost.seen.kind':
    '.input {$cars :number}\n.match $cars\n1 {{Verglichen mit 1 anderen Fahrzeug dieser Bauart. Wie sehr sich Fahrzeuge einer Bauart unterscheiden, zeigt eines allein nicht: angenommen wird, dass ein einwandfreies um höchstens {$within :share} nach oben oder unten abweicht.}}\n* {{Verglichen mit {$cars :num} anderen Fahrzeugen dieser Bauart. Ein einwandfreies kann um {$within :share} nach oben oder unten davon abweichen.}}',
  'boost.seen.baseline-and-kind':
    '.input {$cars :number}\n.match $cars\n1 {{Verglichen mit der eigenen Ausgangsfahrt und, wo diese wenig aussagt, mit 1 anderen Fahrzeug dieser Bauart: der erwartete Ladedruck kann um {$within :share} nach oben oder unten abweichen.}}\n* {{Verglichen mit der eigenen Ausgangsfahrt und, wo diese wenig aussagt, mit {$cars :num} anderen Fahrzeugen dieser Bauart: der erwartete Ladedruck kann um {$within :share} nach oben oder unten abweichen.}}',
  'coolant.source.kind':
    '.input {$cars :number}\n.match $cars\n1 {{1 anderes Fahrzeug dieser Bauart}}\n* {{{$cars :num} andere Fahrzeuge dieser Bauart}}',
  'coolant.source.baseline-and-kind':
    '.input {$cars :number}\n.match $cars\n1 {{Ausgangsfahrt und 1 anderes Fahrzeug dieser Bauart}}\n* {{Ausgangsfahrt und {$cars :num} andere Fahrzeuge dieser Bauart}}',
  'coolant.seen.plateau-kind':
    '.input {$cars :number}\n.match $cars\n1 {{Verglichen mit 1 anderen Fahrzeug dieser Bauart. Wie sehr sich Fahrzeuge einer Bauart unterscheiden, zeigt eines allein nicht: angenommen wird, dass sich ein einwandfreies bei {$lowC :temp finer=1 bare=yes} bis {$highC :temp finer=1} einpendelt.}}\n* {{Verglichen mit {$cars :num} anderen Fahrzeugen dieser Bauart: ein einwandfreies kann sich bei {$lowC :temp finer=1 bare=yes} bis {$highC :temp finer=1} einpendeln.}}',
  'coolant.seen.no-fan-kind':
    '.input {$cars :number}\n.match $cars\n1 {{Im Stand kam das Kühlmittel auf {$ectC :temp} und fiel nicht; nach 1 anderen Fahrzeug dieser Bauart kehrt ein Lüfter, der arbeitet, spätestens bei {$highC :temp} den Anstieg um. Anhalten, sobald es sicher ist; nie ein heißes Kühlsystem öffnen.}}\n* {{Im Stand kam das Kühlmittel auf {$ectC :temp} und fiel nicht; nach {$cars :num} anderen Fahrzeugen dieser Bauart kehrt ein Lüfter, der arbeitet, spätestens bei {$highC :temp} den Anstieg um. Anhalten, sobald es sicher ist; nie ein heißes Kühlsystem öffnen.}}',
  'coolant.seen.fan-kind':
    '.input {$cars :number}\n.match $cars\n1 {{Nach 1 anderen Fahrzeug dieser Bauart wird angenommen, dass ein Lüfter, der arbeitet, den Anstieg bei {$lowC :temp finer=1 bare=yes} bis {$highC :temp finer=1} umkehrt.}}\n* {{Nach {$cars :num} anderen Fahrzeugen dieser Bauart kann ein Lüfter, der arbeitet, den Anstieg bei {$lowC :temp finer=1 bare=yes} bis {$highC :temp finer=1} umkehren.}}',
  'coolant.seen.warm-up-kind':
    '.input {$cars :number}\n.match $cars\n1 {{{$perC :num} Einheiten Wärme je Kelvin; nach 1 anderen Fahrzeug dieser Bauart sind bei {$airC :temp} Luft {$expected :num} zu erwarten, und für ein einwandfreies werden bis zu {$within :share} mehr angenommen.}}\n* {{{$perC :num} Einheiten Wärme je Kelvin; nach {$cars :num} anderen Fahrzeugen dieser Bauart sind bei {$airC :temp} Luft {$expected :num} zu erwarten, und ein einwandfreies kann bis zu {$within :share} mehr brauchen.}}',
  'coolant.seen.warm-up-both':
    '.input {$cars :number}\n.match $cars\n1 {{{$perC :num} Einheiten Wärme je Kelvin; nach eigenen Ausgangsfahrten ({$drives :num}) und 1 anderen Fahrzeug dieser Bauart sind bei {$airC :temp} Luft {$expected :num} zu erwarten, und dieses Fahrzeug kann bis zu {$within :share} mehr brauchen.}}\n* {{{$perC :num} Einheiten Wärme je Kelvin; nach eigenen Ausgangsfahrten ({$drives :num}) und {$cars :num} anderen Fahrzeugen dieser Bauart sind bei {$airC :temp} Luft {$expected :num} zu erwarten, und dieses Fahrzeug kann bis zu {$within :share} mehr brauchen.}}',
  'coolant.needs.above-kind':
    '.input {$cars :number}\n.match $cars\n1 {{Das Kühlmittel pendelte sich bei {$plateauC :temp finer=1} ein; nach 1 anderen Fahrzeug dieser Bauart wird für ein einwandfreies {$lowC :temp finer=1 bare=yes} bis {$highC :temp finer=1} angenommen: die Ursache suchen, dann noch einmal fahren.}}\n* {{Das Kühlmittel pendelte sich bei {$plateauC :temp finer=1} ein; nach {$cars :num} anderen Fahrzeugen dieser Bauart pendelt sich ein einwandfreies bei {$lowC :temp finer=1 bare=yes} bis {$highC :temp finer=1} ein: die Ursache suchen, dann noch einmal fahren.}}',
  'coolant.needs.below-kind':
    '.input {$cars :number}\n.match $cars\n1 {{Das Kühlmittel pendelte sich bei {$plateauC :temp finer=1} ein; nach 1 anderen Fahrzeug dieser Bauart wird für ein einwandfreies {$lowC :temp finer=1 bare=yes} bis {$highC :temp finer=1} angenommen: mit gleichmäßig {$kmh :speed} oder mehr weiterfahren.}}\n* {{Das Kühlmittel pendelte sich bei {$plateauC :temp finer=1} ein; nach {$cars :num} anderen Fahrzeugen dieser Bauart pendelt sich ein einwandfreies bei {$lowC :temp finer=1 bare=yes} bis {$highC :temp finer=1} ein: mit gleichmäßig {$kmh :speed} oder mehr weiterfahren.}}',
  'boost.rule.region':
    'Fehler nachgewiesen: in einem Fenster von Drehzahl und Pedalstellung liegt das {$confidence :share bare=yes}-%-Intervall ({$side :share} je Seite) der mittleren Abweichung vom erwarteten Ladedruck ganz jenseits der Grenze und das Mittel bei {$looks :num} gefahrenen Fenstern und mehr weiter als {$z :num finer=1} Standardfehler von null, bei wenigeren um so viel näher, dass der Zufall es nicht öfter bringt (wobei ab {$slowRpm :rpm} wärmere oder kältere Luft für nicht mehr zählt, als das Gasgesetz bei jedem Auto hergibt), über {$samples :num} Messwerte einer Volllastbeschleunigung von {$lastingS :seconds finer=1} (bis {$spoolingRpm :rpm} von {$spoolingPulls :num} solchen; {$borneOut :num} Messwerte genügen, wo jeder zu niedrig ist und die Luftmasse für sich ausschließt, dass der ganze Ladedruck da war) oder von {$pulls :num} Volllastbeschleunigungen; oder während einer ganzen eingeschwungenen Volllastbeschleunigung kam kein Ladedruck; oder es wird mehr Luft gemessen, als der Druck erklärt (um {$air :share finer=1} mit dem ganzen Intervall und um {$z :num finer=1} Standardfehler). Nachweislich in Ordnung: über mindestens zwei Volllastbeschleunigungen, oder eine ebenso lange, mit warmem Motor liegt ein Verlust von {$goodLoss :share} in jedem Feld von Drehzahl und Pedalstellung der Aussage, in dem das Pedal selbst stand, außerhalb des Intervalls, kein gefahrenes Feld spricht dagegen, keine Beschleunigung brachte deutlich zu wenig, kein Messwert, der das sagt, blieb außer Betracht, und keine Drehzahl wurde lange gefahren, über die nichts bekannt ist; als Messwert gilt dann die Stelle, an der am wenigsten ausgeschlossen ist. Oberhalb der Drehzahlen, die die Ausgangsfahrten erreichten, gilt ihr letzter Ladedruck bis {$carryRpm :rpm} weiter, wo er dort gleich blieb, weniger sicher (Standardabweichung {$carry :share} am Ende). Alles dazwischen ist nicht belegt (JCGM 106:2012).',
  'boost.rule.dip':
    'Beim Übergang zählt nur das Mittel über den ganzen Bereich, gegen mindestens {$limit :share} des erwarteten Ladedrucks, und nur zwischen zwei Bereichen, die selbst nicht zu wenig bringen.',
  'boost.rule.intermittent':
    'Fehler nachgewiesen: in einem Drehzahlbereich brachten einige Volllastbeschleunigungen nichts (um mehr als {$gone :share} zu niedrig, mit dem ganzen Intervall um mehr als {$surely :share}), während andere, die ebenso viel forderten, ihn bei denselben Drehzahlen brachten; und dass der Ladedruck kommt und geht, erklärt sie {$times :num}-mal besser als gestörte Messwerte. Nachweislich in Ordnung: er kam bei mindestens {$pulls :num} Volllastbeschleunigungen eines Drehzahlbereichs und fehlte nie.',
  'boost.rule.leak':
    'Fehler nachgewiesen: der Ladedruck liegt bei niedriger wie bei hoher Drehzahl um mehr als die Grenze zu tief, ohne ganz zu fehlen, und die Luftmasse übersteigt, wo sie gemessen wird, was der Druck erklärt; bringen beide Lader zugleich zu wenig, liegt es an dem, was sie gemeinsam haben. Oder die Luftmasse übersteigt, was der Druck erklärt, um mehr als die Grenze ({$confidence :share bare=yes}-%-Intervall) und um {$z :num finer=1} Standardfehler, in zwei Bereichen gleich, während der Ladedruck nicht über dem erwarteten liegt.',
  'boost.rule.surplus':
    'Fehler nachgewiesen: das {$confidence :share bare=yes}-%-Intervall der mittleren Abweichung liegt ganz über dem {$limits :num}-Fachen der Grenze und das Mittel mehr als {$z :num finer=1} Standardfehler von null.',
  'boost.rule.late':
    'Vom Gasgeben im Kupplungsbereich bis zu {$share :share} des dann erreichten Ladedrucks. Nachweislich in Ordnung: das {$confidence :share bare=yes}-%-Intervall liegt ganz unter der Grenze, bei mindestens {$goodTips :num}-maligem Gasgeben. Fehler nachgewiesen: um {$z :num finer=1} Standardfehler ganz darüber, bei mindestens {$faultTips :num}-maligem.',
  'boost.rule.clutch-open':
    'Bei offener Kupplung wird mit gleichmäßig wenig Gas nichts verdichtet, und oberhalb der Umschaltung ist der Ladedruck nicht zu hoch. Fehler nachgewiesen: Druck mit wenig Gas um {$z :num finer=1} Standardfehler über der Grenze, über mindestens {$mapStretches :num} Strecken im Saugrohr oder {$actStretches :num} vor der Drosselklappe, oder zu hoher Ladedruck oberhalb der Umschaltung. Nachweislich in Ordnung: der Druck vor der Drosselklappe liegt unter der Grenze, oder der Saugrohrdruck tut es und der Ladedruck oberhalb der Umschaltung ist wie in der Ausgangsfahrt.',
  'boost.rule.map':
    'Bei stehendem Motor stimmt der Saugrohrdruck auf {$offKpa :pressure} mit dem Luftdruck überein; bei arbeitendem Motor bleibt er nie {$frozenS :seconds} lang auf demselben Wert.',
  'boost.rule.no-induction': 'Im Profil steht nicht, wie der Motor aufgeladen ist; bewertet als Turbomotor.',
  'boost.rule.guessed':
    'Im Profil steht nicht, wie der Motor aufgeladen ist; bewertet als Turbomotor ({$guess :says}).',
  'coolant.rule.climb':
    'Fehler nachgewiesen: {$holdS :duration} lang {$limitC :temp} und mehr, oder ab {$farC :temp} {$aboveC :diff} über der Betriebstemperatur, ohne zu fallen, nach dem angezeigten Messwert; oder ein sequenzieller Test (im Mittel mindestens {$hours :num} h zwischen zwei Fehlalarmen unter seiner genannten Annahme) sagt, dass das Kühlmittel über dem bleibt, was diese Fahrweise bei einem einwandfreien Fahrzeug erklärt, und der ganze Messwert (je {$readingC :diff} nach beiden Seiten) liegt darüber, ab {$fromC :temp}, im Stand ab {$standsC :temp}; darunter nur, solange es weiter steigt, nicht wo es steht und inzwischen mit seiner Rate davor um {$shortC :diff} mehr gestiegen wäre, und auf mehr als {$aboveHeldC :diff finer=1} über dem, was das Kühlmittel mit {$heldKmh :speed} und mehr {$heldS :duration} lang hielt, {$heldAgoS :duration} zuvor. Nachweislich in Ordnung: {$settledS :duration} stabil, davon {$watchedS :duration} unter dem Test und {$movingS :duration} mit {$movingKmh :speed} und mehr, jeder Messwert mit seiner Unsicherheit unter der Grenze, und am Ende der Fahrt kein Anstieg.',
  'coolant.rule.too-cold':
    'Fehler nachgewiesen: nach {$firstS :duration} Fahrt, die den Thermostaten fordert, steht das Kühlmittel bei {$earlyC :temp} oder darunter, und {$windowS :duration} solcher Fahrt heben es um höchstens {$riseC :diff}, {$holdS :duration} lang; nach {$longS :duration} bei {$lateC :temp} oder darunter, um höchstens {$lateRiseC :diff}; oder, einmal stabil, {$sagS :duration} davon {$sagC :diff} unter der Betriebstemperatur und kälter, als ein warmer Motor läuft. In Luft unter {$coolAirC :temp} fordert erst Wärme von {$coolLoad :share} des Mittels dieser Fahrt. Nachweislich in Ordnung: über der Grenze stabil, und in {$askedS :duration} solcher Fahrt liegen 95 % der Messwerte höchstens {$wanderC :diff} unter der Betriebstemperatur oder nicht unter {$warmC :temp finer=1}, das Intervall samt Unsicherheit eines Messwerts unter der Kühlmittelgrenze, und kein Anstieg.',
  'coolant.rule.jumps':
    'Fehler nachgewiesen: {$swings :num} Ausschläge von {$swingC :diff} und mehr, hin und zurück binnen {$mostS :duration}, innerhalb von {$duringS :duration}. Nachweislich in Ordnung: stabil ohne solche, mit einem Messwert alle {$everyS :seconds finer=1}. Plötzliche Stufen sind Sache des Sensors.',
  'coolant.rule.fan':
    'Nachweislich in Ordnung: im Stand stieg das stabile Kühlmittel {$aboveC :diff} über die Betriebstemperatur und kam um {$backC :diff} zurück, nicht während eines Anstiegs. Fehler nachgewiesen: im Stand {$beyondS :duration} lang {$beyondC :diff} über der eingetragenen Schalttemperatur, ohne zu fallen; ohne diese Temperatur zeigt sich ein ausgefallener Lüfter als Anstieg. Gefordert ist er durch einen Stand, der das stabile Kühlmittel steigen lässt oder auf {$dueC :temp} bringt (übliche Praxis, ohne Quelle); eine Fahrt, die ihn nie forderte, sagt nichts über ihn.',
  'coolant.rule.warm-up':
    'Wärme je Kelvin zwischen {$fromC :temp} und {$toC :temp} und bis {$furtherC :temp}, wo keine Ausgangsfahrt eine Betriebstemperatur unter {$settlesC :temp} hatte, verglichen mit einer Regression der Ausgangsfahrten dieses Fahrzeugs über die Lufttemperatur. Fehler nachgewiesen: das ganze Intervall von {$confidence :share} liegt über dem {$slow :num finer=2}-Fachen des Erwarteten. Nachweislich in Ordnung: das ganze Intervall liegt unter dem {$excluded :num finer=1}-Fachen. Das Urteil über die Kühlung wartet darauf ab dem {$waits :num finer=2}-Fachen.',
  'coolant.rule.codes':
    'Fehler nachgewiesen: ein Fehlercode für Thermostat, Warmlauf oder Übertemperatur (SAE J2012: P0125, P0126, P0128, P0217), der nach der Reparatur ausgelesen wurde und in keiner Auslesung davor steht.',
  'coolant.rule.watch':
    'Kein Urteil: das Kühlmittel steigt um {$perMinC :diff} je Minute oder mehr und steht über dem, was diese Fahrweise erklärt, oder der Test hat {$evidence :share} dessen, was ein Alarm braucht, oder das Kühlmittel steht bei {$highC :temp} und mehr. Es endet von selbst.',
  'charging.rule':
    'Fehler nachgewiesen: bei laufendem Motor {$noChargeS :duration} lang jeder Messwert um mehr als eine halbe Stufe von {$stepV :volt} unter {$noChargeV :volt}. Nachweislich in Ordnung: mindestens {$chargedS :duration} Motorlauf, das ganze Intervall darüber. Das Intervall umfasst {$share :share} der Laufzeit, bei einem Fehler jeden Messwert der Strecke und eine halbe Stufe.',
  'sensor.rule':
    'Fehler nachgewiesen: Werte, die kein intakter Sensor liefert (Anschlag, unmöglicher Wert oder unmögliche Änderung, unverändert, obwohl sich ändert, was ihn bestimmt), {$stretchS :duration} am Stück oder an vielen einzelnen Stellen; Kühlmittel unter {$belowC :temp} ohne jede Änderung während {$unchangedS :duration} Fahrt. Einzelne werden ausgelassen, gezählt und genannt. Der Kühlmittelsensor ist nach langem Stand nachweislich in Ordnung, wenn der Unterschied zur nächsten Lufttemperatur mit {$readC :diff} nach beiden Seiten ganz innerhalb von {$apartC :diff} liegt.',
  'sensor.late.rule':
    'Fehler nachgewiesen: ein Messwert folgt jedem, mit dem er sich zugleich bewegt, zu spät, um mehr als {$lateS :seconds finer=1} mit dem ganzen Intervall (95 %, jeder Teil der Fahrt einmal weggelassen, und was Fahrzeuge unterscheidet), dort, wo ihre Änderungen über eine Sekunde am besten übereinstimmen: Korrelation mindestens {$agrees :num finer=2}, und um {$better :num finer=2} besser als dort, wo sie es sollten.',
  'sensor.late.points':
    'die Aufzeichnung: eine Tabelle, die alte Werte weiterführt, oder ein zu selten abgefragter Messwert; sonst sein Sensor',
  'sensor.late.seen':
    '{$signal :name of=signal} passt zu {$against :name of=signal}, wenn um {$lateS :seconds finer=1} früher genommen ({$lowS :seconds finer=1} bis {$highS :seconds finer=1}): die Änderungen stimmen dann zu {$agrees :share} überein, wie aufgezeichnet zu {$asIs :share}.',
  'sensor.late.without': 'Der Ladedruck wird am Druck beurteilt, ohne {$signal :name of=signal}.',
  'sensor.late.need':
    '{$signal :name of=signal} kommt um {$lateS :seconds finer=1} zu spät, siehe dort: der Ladedruck wird nicht beurteilt. Zu seinen eigenen Zeiten aufzeichnen oder weglassen und erneut fahren.',
  'sensor.late.need-said':
    '{$signal :name of=signal} kommt um {$lateS :seconds finer=1} zu spät, siehe dort: der Ladedruck wird nicht beurteilt, und der hier bei {$atS :clock} der Fahrt angesagte Fehler ist zurückgenommen. Zu seinen eigenen Zeiten aufzeichnen oder weglassen und erneut fahren.',
  'road.speed.rule':
    'Eine Beobachtung, nie ein Fehler: Fahrzeuggeschwindigkeit gegen Geschwindigkeit über Grund des Satellitenempfängers, über gleichmäßige Abschnitte von {$steadyS :duration}, ab {$fromKmh :speed}. Das Intervall enthält das, was das Fahrzeug mit seinen Stufen von {$stepKmh :speed} selbst offen lässt. Nachweislich in Ordnung: ganz innerhalb von {$usualPct :percent} nach beiden Seiten.',
  'link.rule':
    'Lücken sind Pausen aller Signale von mehr als {$holeS :duration}. Genug wurde aufgezeichnet, wenn sie zusammen höchstens {$mostS :duration} oder {$share :share} der Fahrt ausmachen. Schweigen zwischen Messwerten eines stehenden Fahrzeugs, dessen Motor davor oder danach ebenfalls steht, ist eine ausgeschaltete Zündung und keine Lücke. Lücken sind nie ein Fehler des Autos.',
  'codes.rule':
    'Fehler nachgewiesen: ein gespeicherter oder vorläufiger Fehlercode oder die Motorkontrollleuchte an, in der letzten Auslesung. Nachweislich in Ordnung: nach der Fahrt ausgelesen, alle Dienste beantwortet (außer dem der permanenten Fehlercodes, den nicht jedes Fahrzeug kennt), kein Fehlercode, Leuchte aus, jede vorhandene Prüfung beendet, und seit dem Löschen wurde mindestens einmal gefahren. Alles andere ist nicht belegt.',
  'charging.source.rest': 'Ruhespannung einer vollen Batterie (aus dem Gedächtnis)',
  'charging.seen':
    'Motor läuft: {$lowV :volt finer=1} bis {$highV :volt finer=1} in {$share :share} der Zeit, Median {$middleV :volt finer=1}; {$bandShare :share} der Zeit zwischen {$fromV :volt} und {$toV :volt}, wo die meisten Anlagen laden. Geregelte Ladung darf außerhalb liegen.',
  'charging.flat':
    'Motor läuft: {$lastedS :duration} lang {$lowV :volt finer=1} bis {$highV :volt finer=1} und nie darüber.',
  'charging.need.record': 'Bordspannung und Drehzahl bei laufendem Motor aufzeichnen.',
  'charging.need.run': 'Den Motor {$runS :duration} laufen lassen.',
  'charging.need.battery': 'Die Ladespannung an der Batterie messen: Diese Fahrt klärt es nicht.',
  'sensor.source.practice': 'übliche Praxis, ohne Quelle',
  'sensor.source.late': 'offene Fahrten eines Autos, verzögert',
  'sensor.seen':
    '.input {$n :number}\n.input {$kind :string}\n.match $n $kind\none end-stop {{Ein Wert am Anschlag: Unterbrechung oder Kurzschluss.}}\none range {{Ein Wert außerhalb des Möglichen.}}\none stuck {{Ein Wert unverändert, obwohl sich änderte, was ihn bestimmt.}}\none * {{Ein Wert springt schneller als möglich: Stecker und Kontakt prüfen.}}\n* end-stop {{{$n} Werte am Anschlag: Unterbrechung oder Kurzschluss.}}\n* range {{{$n} Werte außerhalb des Möglichen.}}\n* stuck {{{$n} Werte unverändert, obwohl sich änderte, was sie bestimmt.}}\n* * {{{$n} Werte springen schneller als möglich: Stecker und Kontakt prüfen.}}',
  'sensor.unchanged':
    '{$c :temp}, während {$lastedS :duration} Fahrt unverändert: So kalt bleibt kein Motor.',
  'sensor.start': 'Beim Start Kühlmittel {$ectC :temp}, Luft {$airC :temp}.',
  'sensor.start-both':
    'Beim Start Kühlmittel {$ectC :temp}, Ansaugluft {$intakeC :temp}, Außenluft {$outsideC :temp}.',
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
  'codes.need.read': 'Den Fehlerspeicher nach der Fahrt auslesen.',
  'codes.need.unanswered':
    'Einige Dienste wurden nicht beantwortet: den Fehlerspeicher bei eingeschalteter Zündung noch einmal auslesen.',
  'codes.need.permanent':
    'Ein permanenter Fehlercode bleibt, bis das Steuergerät die Reparatur selbst geprüft hat: weiterfahren, dann noch einmal auslesen.',
  'codes.need.cleared':
    'Der Speicher wurde vor weniger als einer Fahrt gelöscht: weiterfahren, dann noch einmal auslesen.',
  'codes.need.monitors':
    '.input {$n :number}\n.match $n\none {{Eine Prüfung ist nicht beendet: weiterfahren, bis sie es ist, dann noch einmal auslesen.}}\n* {{{$n} Prüfungen sind nicht beendet: weiterfahren, bis sie es sind, dann noch einmal auslesen.}}',
} as const;
