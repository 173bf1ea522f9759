/** Deutsch: die Abschnitte der Probefahrt und die Fragen an die Person im Fahrzeug. */
export const legs = {
  'leg.key-on-check': 'Zündung ein, Motor aus',
  'leg.key-on-check.why': 'Liefert den Luftdruck und zeigt, ob die Sensoren zueinander passen.',
  'leg.key-on-check.how': 'Zündung einschalten und fünf Sekunden warten, dann erst den Motor starten.',
  'leg.key-on-check.counts': 'Zählt, wenn bei stehendem Motor {$enoughS :duration} aufgezeichnet sind.',
  'leg.warm-up': 'Kaltstart und Warmlauf',
  'leg.warm-up.why': 'Zeigt, ob der Thermostat schließt und öffnet und wie schnell das Kühlmittel warm wird.',
  'leg.warm-up.how': 'Kalt starten und verhalten fahren, bis die Kühlmitteltemperatur stabil ist.',
  'leg.warm-up.counts': 'Zählt, wenn das Kühlmittel von unter {$fromC :temp} auf {$toC :temp} gekommen ist.',
  'leg.hot-idle': 'Leerlauf heiß, bis der Lüfter läuft',
  'leg.hot-idle.why': 'Ohne Fahrtwind halten nur Lüfter und Pumpe die Kühlmitteltemperatur.',
  'leg.hot-idle.how':
    'Mit warmem Motor im Leerlauf stehen, bis der Lüfter gelaufen ist; Abstand zu Riemen und Lüfter halten.',
  'leg.hot-idle.counts': 'Zählt nach {$enoughS :duration} Leerlauf mit warmem Kühlmittel.',
  'leg.heater-check': 'Heizungsprüfung',
  'leg.heater-check.why':
    'Kalte Heizung bei heißem Motor weist auf Luft im System oder fehlenden Kühlmittelstrom hin.',
  'leg.heater-check.how':
    'Im Stand, Heizung voll aufgedreht: die Luft im Leerlauf fühlen, dann bei {$raisedRpm :rpm}.',
  'leg.heater-check.counts':
    'Zählt nach {$idleS :duration} warmem Leerlauf und {$raisedS :duration} bei {$fromRpm :rpm bare=yes} bis {$toRpm :rpm} im Stand, wenn beide Fragen beantwortet sind.',
  'leg.clutch-band-low': 'Kupplungsbereich, niedrige Drehzahl',
  'leg.clutch-band-middle': 'Kupplungsbereich, mittlere Drehzahl',
  'leg.clutch-band-high': 'Kupplungsbereich, hohe Drehzahl',
  'leg.clutch-band-changeover': 'Kupplungsbereich, nahe der Umschaltung',
  'leg.clutch-band.why': 'Hier muss die Kupplung schließen.',
  'leg.pull-low': 'Volllastbeschleunigung, niedrige Drehzahl',
  'leg.pull-middle': 'Volllastbeschleunigung, mittlere Drehzahl',
  'leg.pull-high': 'Volllastbeschleunigung, hohe Drehzahl',
  'leg.pull.why': 'Zeigt, was der Lader hier bringt.',
  'leg.pull.how':
    'Wo es erlaubt und sicher ist: in einem Gang mit Vollgas von {$fromRpm :rpm bare=yes} bis {$toRpm :rpm}.',
  'leg.pull.counts':
    'Zählt, wenn eine Volllastbeschleunigung diesen Bereich durchlaufen hat, Kühlmittel ab {$warmC :temp}.',
  'leg.above-changeover': 'Volllastbeschleunigung oberhalb der Umschaltung',
  'leg.above-changeover.why': 'Hier muss der Turbolader den Ladedruck allein bringen.',
  'leg.light-demand': 'Fahren mit wenig Gas',
  'leg.light-demand.why': 'Die Kupplung muss hier offen bleiben: Ladedruck würde zeigen, dass sie hängt.',
  'leg.light-demand.how': 'Mit wenig Gas bei niedriger Drehzahl gleichmäßig fahren.',
  'leg.light-demand.counts':
    'Zählt nach {$enoughS :duration} Fahrt im Kupplungsbereich mit weniger als {$share :share} des Pedalwegs, bei dem die Kupplung schließt.',
  'leg.steady-load': 'Gleichmäßige Fahrt unter Last',
  'leg.steady-load.why':
    'Die meiste Wärme über die längste Zeit: eine schwache Pumpe oder ein verstopfter Kühler zeigt sich hier.',
  'leg.steady-load.how': 'Mit warmem Kühlmittel {$kmh :speed} oder mehr halten, möglichst bergauf.',
  'leg.steady-load.counts':
    'Zählt nach {$enoughS :duration} Fahrt mit {$kmh :speed} oder mehr, Kühlmittel ab {$warmC :temp}.',
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
  'leg.stop-first': 'Anhalten, wo es sicher ist. {$how :says}',
  'ask.cabin heat idle': 'Im Leerlauf: Kommt heiße Luft aus der Heizung?',
  'ask.cabin heat 2000 rpm': 'Bei {$raisedRpm :rpm}: Kommt heiße Luft aus der Heizung?',
  'ask.fan': 'Ist der Lüfter gelaufen?',
  'ask.noise': 'Ist das beanstandete Geräusch behoben?',
  'ask.mark.cabin heat idle': 'Heizung im Leerlauf',
  'ask.mark.cabin heat 2000 rpm': 'Heizung bei 2000 1/min',
  'ask.mark.fan': 'Lüfter gelaufen',
  'ask.mark.noise': 'Beanstandetes Geräusch',
  'judge.nothing-recorded':
    'Zu diesem System wurde nichts aufgezeichnet: eine vollständige Probefahrt machen.',
} as const;
