/** Deutsch: die Abschnitte der Probefahrt und die Fragen an die Person im Fahrzeug. */
export const legs = {
  'leg.key-on-check': 'Zündung ein, Motor aus',
  'leg.key-on-check.why': 'Liefert den Luftdruck und zeigt, ob die Sensoren zueinander passen.',
  'leg.key-on-check.how':
    'Zündung ein, Motor aus, für {$stopS :duration}: vor dem Start oder am Ende der Fahrt.',
  'leg.key-on-check.counts':
    'Zählt, wenn {$readings :num} Werte des Saugrohrdrucks kamen, nachdem der Motor {$afterS :duration} gestanden hat.',
  'leg.warm-up': 'Kaltstart und Warmlauf',
  'leg.warm-up.why': 'Zeigt, ob der Thermostat schließt und öffnet und wie schnell das Kühlmittel warm wird.',
  'leg.warm-up.how': 'Kalt starten und verhalten fahren, bis die Kühlmitteltemperatur stabil ist.',
  'leg.warm-up.counts':
    'Zählt, wenn das Kühlmittel von höchstens {$fromC :temp} auf {$toC :temp} gekommen ist, meist in Fahrt.',
  'leg.hot-idle': 'Leerlauf heiß, bis der Lüfter läuft',
  'leg.hot-idle.why': 'Ohne Fahrtwind halten nur Lüfter und Pumpe die Kühlmitteltemperatur.',
  'leg.hot-idle.how':
    'Mit warmem Motor im Leerlauf stehen, bis der Lüfter gelaufen ist; Abstand zu Riemen und Lüfter halten.',
  'leg.hot-idle.counts':
    'Zählt, wenn das stabile Kühlmittel um {$aboveC :diff} gestiegen und um {$backC :diff} zurückgegangen ist. Verlangt es in {$unaskedS :duration} Stand nicht nach dem Lüfter, geht es mit dem nächsten Abschnitt weiter.',
  'leg.heater-check': 'Heizungsprüfung',
  'leg.heater-check.why':
    'Kalte Heizung bei heißem Motor weist auf Luft im System oder fehlenden Kühlmittelstrom hin.',
  'leg.heater-check.how':
    'Im Stand, Heizung voll aufgedreht: die Luft im Leerlauf fühlen, dann bei {$raisedRpm :rpm}.',
  'leg.heater-check.counts':
    'Zählt nach {$idleS :duration} warmem Leerlauf und {$raisedS :duration} bei {$fromRpm :rpm bare=yes} bis {$toRpm :rpm} im Stand, wenn beide Fragen beantwortet sind.',
  'leg.clutch-band': 'Kupplungsbereich',
  'leg.clutch-band.why': 'Hier muss die Kupplung schließen.',
  'leg.changeover': 'Umschaltung',
  'leg.changeover.why': 'Hier übernimmt der Turbolader: der Ladedruck darf nicht einbrechen.',
  'leg.above-hand-over': 'Vollgas oberhalb der Umschaltung',
  'leg.above-hand-over.why': 'Hier muss der Turbolader den Ladedruck allein bringen.',
  'leg.pull': 'Beschleunigen mit Vollgas',
  'leg.pull-low': 'Vollgas, niedrige Drehzahl',
  'leg.pull-high': 'Vollgas, hohe Drehzahl',
  'leg.pull.why': 'Zeigt, was der Lader hier bringt.',
  'leg.pull.how':
    'Wo es erlaubt und sicher ist: in einem Gang mit Vollgas von {$fromRpm :rpm bare=yes} bis {$toRpm :rpm}.',
  'leg.pull.counts':
    'Zählt, wenn hier {$pulls :num}-mal mit Vollgas beschleunigt wurde oder einmal {$lastingS :seconds finer=1} lang; {$taught :num}-mal, wo keine Ausgangsfahrt den Sollwert nennt. Kühlmittel ab {$warmC :temp}.',
  'leg.pull.counts-spread':
    'Zählt, wenn in diesem Bereich {$pulls :num}-mal mit Vollgas beschleunigt wurde, unten, in der Mitte und oben; Kühlmittel ab {$warmC :temp}.',
  'leg.light-demand': 'Fahren mit wenig Gas',
  'leg.light-demand.why': 'Die Kupplung muss hier offen bleiben: Ladedruck würde zeigen, dass sie hängt.',
  'leg.light-demand.how': 'Mit wenig Gas gleichmäßig bei {$fromRpm :rpm bare=yes} bis {$toRpm :rpm} fahren.',
  'leg.light-demand.counts':
    'Zählt mit {$enoughS :duration} gleichmäßiger Anforderung von {$fromDemandPct :num} bis {$toDemandPct :percent} zwischen {$fromRpm :rpm bare=yes} und {$toRpm :rpm}.',
  'leg.steady-load': 'Gleichmäßige Fahrt unter Last',
  'leg.steady-load.why':
    'Die meiste Wärme über die längste Zeit: eine schwache Pumpe oder ein verstopfter Kühler zeigt sich hier.',
  'leg.steady-load.how': 'Mit warmem Kühlmittel {$kmh :speed} oder mehr halten, möglichst bergauf.',
  'leg.steady-load.counts':
    'Zählt {$enoughS :duration} nachdem das Kühlmittel warm und stabil geworden ist, davon {$movingS :duration} mit {$kmh :speed} oder mehr und {$askedS :duration} unter Last.',
  'leg.idle-after-load': 'Leerlauf nach Last',
  'leg.idle-after-load.why': 'Ohne Fahrtwind staut sich nach der Fahrt die Wärme.',
  'leg.idle-after-load.how':
    'Gleich nach der Fahrt anhalten, wo es sicher ist, und den Motor im Leerlauf laufen lassen.',
  'leg.idle-after-load.counts':
    'Zählt nach {$enoughS :duration} Leerlauf, höchstens {$withinS :duration} nach der Fahrt.',
  'leg.hot-restart': 'Heißstart',
  'leg.hot-restart.why':
    'Bei stehender Pumpe staut sich Wärme im Kühlmittel; nach dem Start muss die Temperatur sofort wieder fallen.',
  'leg.hot-restart.how': 'Den warmen Motor für {$stopS :duration} abstellen, dann starten und laufen lassen.',
  'leg.hot-restart.counts':
    'Zählt, wenn der Motor nach {$stopS :duration} heißem Stillstand {$enoughS :duration} gelaufen ist. Freiwillig.',
  'leg.left.readings': '{$n :num} von {$of :num} Werten',
  'leg.left.pulls': '{$n :num} von {$of :num} Beschleunigungen',
  'leg.left.more': 'noch {$moreS :duration asked=yes}',
  'leg.left.degrees': '{$nowC :temp} von {$toC :temp}',
  'leg.left.settling': 'Kühlmittel noch nicht stabil',
  'leg.left.fan': 'Lüfter noch nicht gefordert',
  'leg.left.fan-asked': 'Lüfter gefordert, noch nicht gesehen',
  'leg.left.fan-over': 'bleibt offen: Lüfter nicht gefordert',
  'leg.left.fan-unseen': 'bleibt offen: Lüfter nicht gesehen',
  'leg.left.cold-start': 'nächstes Mal, bei höchstens {$fromC :temp}',
  'leg.left.signal': 'bleibt offen: ein Signal fehlt',
  'leg.left.cool': 'zuerst abkühlen lassen',
  'leg.left.repair': 'bleibt offen: nach der Reparatur',
  'leg.left.sensor': 'bleibt offen: der Druckwert ist gestört',
  'leg.left.doubted': 'bleibt offen: eine spätere Beschleunigung ist zweifelhaft, siehe Befunde',
  'leg.left.taken-back': 'bleibt offen: ein Fehler wurde angesagt, siehe Befunde',
  'leg.left.untaught': 'bleibt offen: dort fuhr keine Ausgangsfahrt',
  'leg.left.differ': 'bleibt offen: spätere Beschleunigungen weichen ab, siehe Befunde',
  'leg.left.differ-pulls': 'spätere Beschleunigungen weichen ab: {$n :num} von {$of :num}',
  'leg.left.findings': 'bleibt offen: siehe Befunde',
  'leg.stop-first': 'Anhalten, wo es sicher ist. {$how :says}',
  'ask.cabin heat idle': 'Im Leerlauf: Kommt heiße Luft aus der Heizung?',
  'ask.cabin heat 2000 rpm': 'Bei {$raisedRpm :rpm}: Kommt heiße Luft aus der Heizung?',
  'ask.fan': 'Ist der Lüfter gelaufen?',
  'ask.noise': 'Ist das beanstandete Geräusch behoben?',
  'ask.mark.cabin heat idle': 'Heizung im Leerlauf',
  'ask.mark.cabin heat 2000 rpm': 'Heizung bei 2000 1/min',
  'ask.mark.fan': 'Lüfter gelaufen',
  'ask.mark.noise': 'Beanstandetes Geräusch',
  'judge.no-charger': 'Dieser Motor hat keinen Lader.',
  'judge.nothing-recorded':
    'Zu diesem System wurde nichts aufgezeichnet: eine vollständige Probefahrt machen.',
} as const;
