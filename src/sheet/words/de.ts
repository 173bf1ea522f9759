/** Die Sätze aus en.ts auf Deutsch. */
import type { en } from './en.ts';

export const de: typeof en = {
  sourcePractice: 'Vorgabe (übliche Praxis, ohne Quelle)',
  sourcePractice2: 'übliche Praxis, ohne Quelle',
  sourceMemory: 'aus dem Gedächtnis nach SAE J2012',
  sourceProfile: 'Profil ({s})',
  sourceCommanded: 'Ladedruck-Sollwert des Motorsteuergeräts',
  sourceBaseline: 'Ausgangsfahrt',
  sourceEntered: 'eingegeben',
  sourceHandbook: 'Handbuch',
  sourceDefault: 'Vorgabe',
  sourcePlateau: 'Plateau dieser Fahrt',
  sourcePlateauDriving: 'Plateau dieser Fahrt und was die Fahrweise erklärt',
  sourceHeat: 'Wärmekapazität des Kühlmittels (übliche Praxis, ohne Quelle)',
  ptClutch: 'Kupplung schließt nicht, Antrieb oder Leitung dorthin, Regelklappe bleibt offen',
  ptClutchSuper:
    'Kupplung schließt nicht oder rutscht, Antrieb oder Leitung dorthin, Umluftklappe bleibt offen',
  ptBelt: 'Riemen rutscht, Umluftklappe bleibt offen, Leck auf der Druckseite',
  ptLateTurbo: 'später Turbolader oder Regelklappe',
  ptTurbo: 'Turbolader, sein Steller, seine Rohre',
  ptTurboSlow: 'träger Turbolader, sein Steller oder seine Schaufeln, Leck, bevor es sich schließt',
  ptLeakAir: 'Leck auf der Druckseite: es wird mehr Luft gemessen, als der Saugrohrdruck erklärt',
  ptLeakAll: 'Leck auf der Druckseite (Ladedruck fehlt bei allen Drehzahlen)',
  ptTurboOrLeak: 'Turbolader, sein Steller, seine Rohre oder ein Leck auf der Druckseite',
  ptSlip: 'Kupplung oder Riemen rutscht, oder die Regelklappe schließt nicht ganz',
  ptIntermittent: 'Spule mit Wackelkontakt, Stecker, verschlissene Kupplung',
  ptHangs: 'hängender Steller oder Steuerleitung, loses Rohr',
  ptLeak: 'Leck auf der Druckseite',
  ptOverBoost: 'Ladedruckregelung, Überladung',
  ptOverWeak:
    'Ladedruckregelung, Überladung; oder die frühere Fahrt, die die Grenze setzte, war selbst zu schwach: am Werkstatthandbuch prüfen',
  ptLate: 'Kupplung schließt spät: Schlupf, niedrige Spannung, Regelklappe',
  ptNotOpen: 'Kupplung öffnet nicht: klebende Scheibe, Luftspalt, Ansteuerung',
  ptMap: 'Saugrohrdrucksensor, seine Leitung oder sein Schlauch',
  ptMapBaro: 'Saugrohrdrucksensor oder Luftdrucksensor',
  ruleBoost:
    'Fehler nachgewiesen: in einem Fenster von Drehzahl und Pedal liegt das {i}-%-Intervall ({j} % je Seite) der mittleren Abweichung vom erwarteten Ladedruck ganz jenseits der Grenze und das Mittel mehr als {s} Standardfehler von null, über vier Messwerte einer anhaltenden oder dreier Volllastbeschleunigungen; oder während einer ganzen eingeschwungenen Volllastbeschleunigung kam kein Ladedruck; oder es wird mehr Luft gemessen, als der Druck erklärt (um {a} % mit dem ganzen Intervall, und um {b} Standardfehler). Nachweislich in Ordnung: über mindestens zwei Volllastbeschleunigungen mit warmem Motor liegt ein Verlust von {g} % bei jeder Drehzahl der Aussage außerhalb des Intervalls, und kein gefahrenes Feld spricht dagegen. Alles dazwischen ist nicht belegt (JCGM 106:2012).',
  ruleIntermittent:
    'Fehler nachgewiesen: in einem Drehzahlbereich fehlte der Ladedruck bei einigen Zügen (um mehr als die Hälfte) und kam bei anderen, die ebenso viel forderten (weniger als {n} % zu wenig). Als gut nachgewiesen: er kam bei mindestens sechs Zügen und fehlte nie.',
  ruleLeak:
    'Fehler nachgewiesen: der Ladedruck liegt bei niedriger wie bei hoher Drehzahl um mehr als die Grenze zu tief, ohne ganz zu fehlen, und die Luftmasse übersteigt, wo sie gemessen wird, was der Druck erklärt; fehlt es an zwei Ladern zugleich, liegt es an dem, was sie teilen. Oder die Luftmasse übersteigt, was der Druck erklärt, um mehr als die Grenze ({n}-%-Intervall) und um {s} Standardfehler, in zwei Bereichen gleich, während der Ladedruck nicht über dem erwarteten liegt.',
  ruleSurplus:
    'Fehler nachgewiesen: das {n}-%-Intervall der mittleren Abweichung liegt ganz über dem Doppelten der Grenze und das Mittel mehr als {s} Standardfehler von null.',
  ruleLate:
    'Vom Gasstoß im Kupplungsbereich bis zu sechs Zehnteln des dann erreichten Ladedrucks. Als gut nachgewiesen: das {i}-%-Intervall liegt ganz unter der Grenze, über mindestens drei Gasstöße. Fehler nachgewiesen: um {n} Standardfehler ganz darüber, über mindestens zwei.',
  ruleClutchOpen:
    'Bei offener Kupplung drückt bei stetiger leichter Anforderung nichts, und oberhalb der Übergabe ist der Ladedruck nicht zu hoch. Fehler nachgewiesen: Druck bei leichter Anforderung um {n} Standardfehler über der Grenze, über mindestens drei Strecken, oder zu hoher Ladedruck oberhalb der Übergabe. Als gut nachgewiesen: der Ladedruck vor der Drosselklappe liegt unter der Grenze, oder der Saugrohrdruck tut es und der Ladedruck oberhalb der Übergabe ist wie in der Ausgangsfahrt.',
  ruleMap:
    'Bei stehendem Motor gleicht der Saugrohrdruck dem Luftdruck auf {p}; bei arbeitendem Motor wiederholt er nie {n} s lang denselben Wert.',
  evPull: '{a} bis {b} 1/min im Gang {g}: Ladedruck {p}, erwartet {e} ({d} %).',
  evPullNoGear: '{a} bis {b} 1/min: Ladedruck {p}, erwartet {e} ({d} %).',
  evPullDue: '{a} bis {b} 1/min im Gang {g}: Ladedruck {p}, fällig mindestens {e}.',
  evPullDueNoGear: '{a} bis {b} 1/min: Ladedruck {p}, fällig mindestens {e}.',
  evPullBare: '{a} bis {b} 1/min im Gang {g}: Ladedruck {p}.',
  evPullBareNoGear: '{a} bis {b} 1/min: Ladedruck {p}.',
  evOnset: 'Der Ladedruck kam {s} s nach dem Gasstoß.',
  evLightMap: 'Saugrohr {p} gegen den Luftdruck bei stetiger leichter Anforderung.',
  evLightAct: 'Ladedruck vor der Drosselklappe {p} gegen den Luftdruck bei stetiger leichter Anforderung.',
  evFrozen:
    'Der Saugrohrdruck blieb bei {p}, während die Drehzahl von {a} auf {b} 1/min ging. Erst den Sensor prüfen, dann den Ladedruck beurteilen.',
  evMapAbove:
    'Motor steht: der Saugrohrdruck liegt {p} über dem Luftdruck. Erst den Sensor prüfen, dann den Ladedruck beurteilen.',
  evMapBelow:
    'Motor steht: der Saugrohrdruck liegt {p} unter dem Luftdruck. Erst den Sensor prüfen, dann den Ladedruck beurteilen.',
  nNoMap: 'Das Fahrzeug gibt keinen Saugrohrdruck: den Ladedruck mit einem Manometer messen.',
  nRpm: 'Auch die Motordrehzahl aufzeichnen.',
  nPedal: 'Auch die Pedalstellung aufzeichnen: ohne Anforderung ist kein Volllastzug zu erkennen.',
  nSome: 'Der Ladedruck kam nur bei manchen Zügen: zuerst das reparieren.',
  nBaseEngagements:
    'Eine gesunde Fahrt dieses Fahrzeugs als Ausgangsfahrt geben (oder seinen erwarteten Ladedruck), dann dreimal zuschalten lassen: {d}.',
  nBasePulls:
    'Eine gesunde Fahrt dieses Fahrzeugs als Ausgangsfahrt geben (oder seinen erwarteten Ladedruck), dann drei Züge fahren: {d}.',
  nDrive:
    'Vollgas (Anforderung 70 % oder mehr) drei Sekunden oder länger in einem Gang, von {a} bis {b} 1/min, Kühlmittel ab {t}',
  nMorePulls: 'Noch {n} Züge fahren: {d}.',
  nLacks: 'Noch zu fahren: {l}. So: {d}.',
  nList3: '{a}, {b}, {c}',
  nList2: '{a}, {b}',
  lackPulls: '{n} weitere Züge',
  lackWarm: 'mit warmem Motor (Kühlmittel ab {t})',
  lackBelow: 'ein Zug von unter {n} 1/min an',
  lackThrough: 'ein Zug durch {n} 1/min',
  lackUpTo: 'ein Zug bis {n} 1/min',
  nMissing: 'Der Ladedruck fehlte; siehe die anderen Befunde zum Ladedruck.',
  nFullPull: 'Noch einen Zug mit Vollgas fahren.',
  nFullPulls: 'Noch {n} Züge mit Vollgas fahren.',
  nPressTest: 'Die Ladeluftrohre abdrücken: die Daten können ein Leck nicht vom Turbolader unterscheiden.',
  nTipIns:
    'Drei plötzliche Gasstöße von leichter Anforderung auf Vollgas im Kupplungsbereich fahren, jeden drei Sekunden halten, mit so vielen Messwerten je Sekunde, wie die Verbindung gibt.',
  nLight:
    'Leichte Anforderung {s} s lang zwischen {a} und {b} 1/min ruhig halten, dann zwei Züge oberhalb der Übergabe fahren.',
  nKeyOn:
    'Zehn Sekunden bei eingeschalteter Zündung und stehendem Motor bleiben, mit aufgezeichnetem Luftdruck, dann fahren.',
  ruleClimb:
    'Fehler nachgewiesen: ein sequentieller Test (mittlere gesunde Zeit zwischen Fehlalarmen mindestens {h} h unter der genannten Annahme) sagt, dass das eingeschwungene Kühlmittel stärker steigt, als ein gesunder Kreislauf es zulässt; oder {s} s bei {t} und mehr, oder {d} über dem Plateau. Als gut nachgewiesen: mindestens {a} Minuten auf dem Plateau, davon {b} unter dem Test, davon {c} s unter Last bei {v} und mehr oder {e} Minuten bei {w} und mehr, {f} s unter {u}, jeder Wert samt Unsicherheit unter der Grenze, {p} % von ihnen höchstens {q} unter dem Plateau, und kein Anstieg unter Verdacht, als die Fahrt endete.',
  ruleTooCold:
    'Fehler nachgewiesen: nach mindestens {a} Minuten Fahrt bleibt das Kühlmittel {k} unter dem bekannten Plateau (ist keines bekannt, bei höchstens {l}), und {b} Minuten Fahrt unter Kraft heben es um höchstens {d}, eine Minute lang; oder Wärme, die es in diesem Warmlauf um {h} gehoben hatte, hebt es um höchstens {o}; nach {i} Minuten {m} darunter ({t}), mit einem Anstieg von höchstens {j}; oder, einmal eingeschwungen, {c} Minuten Fahrt {e} unter dem Plateau. Als gut nachgewiesen: über der Grenze eingeschwungen und dort gehalten, bei {v} und mehr {f} Minuten oder bei {w} und mehr {g} Minuten.',
  ruleJumps:
    'Fehler nachgewiesen: fünf Ausschläge von {d} und mehr, hin und zurück binnen {s} s, innerhalb von {m} Minuten. Als gut nachgewiesen: eingeschwungen ohne sie, mit einem Wert alle {r} s. Augenblickliche Stufen sind Sache des Sensors.',
  ruleFan:
    'Als gut nachgewiesen: im Stand stieg das eingeschwungene Kühlmittel {a} über das Plateau und kam um {b} zurück. Fehler nachgewiesen: {s} s im Stand {c} über der Schalttemperatur des Profils, ohne zu fallen; ohne diese Temperatur zeigt sich ein Lüfter, der ausfällt, als Anstieg. Das Urteil über die Kühlung wartet darauf, wenn das Profil die Schalttemperatur nennt oder wenn ein Stand das Kühlmittel um {d} hob und endete, bevor es zurückkam.',
  ruleWarmUp:
    'Verbrauchte Wärme je °C zwischen {a} und {b} gegen gesunde Fahrten dieses Fahrzeugs, die höchstens {c} wärmer begannen. Fehler nachgewiesen: mehr als das {d}-Fache der größten, Unsicherheit von {e} % eingerechnet. Als gut nachgewiesen: höchstens das {f}-Fache. Das Urteil über die Kühlung wartet nicht darauf.',
  ptFanOrFlow:
    'Lüfter oder Luftstrom durch den Kühler, oder kein Umlauf: es steigt im Stand, und mehr zeigt die Fahrt nicht',
  ptFan: 'Lüfter oder Luftstrom durch den Kühler: es steigt im Stand oder Schritttempo',
  ptFlow:
    'Kühlmittelstrom: Pumpe, rutschender Riemen, Thermostat oder verstopfter Kühler: es steigt mit der Last in Fahrt',
  ptCirculation:
    'kein Umlauf oder Kühlmittel verloren: Thermostat geschlossen verklemmt, Pumpe, Stand: es steigt, wie auch gefahren wird',
  ptOpen: 'Thermostat bleibt offen',
  ptAir: 'Luft im System oder zu wenig Kühlmittel; sonst der Kontakt des Sensors',
  ptSlow: 'Thermostat undicht oder Heizung voll an',
  evSettled: '{d} eingeschwungen zwischen {a} und {b}, davon {l} unter Last in Fahrt.',
  evClimb:
    'Kühlmittel {how}: Plateau {p}, höchster Wert {k}, {r}/min ({a} bis {b}), als es gesagt wurde. Anhalten, wo es sicher ist; nie ein heißes Kühlsystem öffnen.',
  howLimit: 'an der Grenze von {t}',
  howFar: 'weit über seinem Plateau',
  howRising: 'steigt stärker, als die Fahrweise erklärt',
  plateauUnknown: 'nicht bekannt',
  plainTemp: '{t}',
  evCold:
    '{d} Fahrt, und das Kühlmittel steht bei {t}; die letzten {m} Minuten Fahrt änderten es um {r}. Den Thermostat prüfen.',
  evPlateau: 'Eingeschwungen bei {t}.',
  evPlateauMoving: 'Eingeschwungen bei {t}; Mittel bei {v} und mehr {m}.',
  evJumps:
    '{n} Ausschläge von bis zu {d}. Abkühlen lassen, Stand prüfen, System entlüften. Anhalten, wo es sicher ist; nie ein heißes Kühlsystem öffnen.',
  evFan: 'Im Stand stieg das Kühlmittel und wurde wieder gekühlt.',
  evWarmUp: '{a} bis {b} dauerten {d}, begonnen bei {s}.',
  evWarmUpAir: '{a} bis {b} dauerten {d} und {g} g Luft je °C, begonnen bei {s}.',
  seconds: '{n} s',
  minutes: '{n} min',
  nNoCoolant: 'Es wurde keine Kühlmitteltemperatur aufgezeichnet: ein Signal dafür wählen.',
  nNotSettled:
    'Das Kühlmittel kam nicht zur Ruhe: weiterfahren, bis es still hält, dann noch {m} Minuten mit etwas Last bei {v} oder mehr.',
  nSettledMore: 'Noch {d} mit eingeschwungenem Kühlmittel fahren.',
  nRestless:
    'Die Kühlmittelanzeige ist unruhig: Stand und Sensor prüfen, entlüften, dann noch einmal fahren.',
  nFrozen: 'Die Kühlmittelanzeige hat sich gar nicht bewegt: den Sensor prüfen, dann noch einmal fahren.',
  nLoad: 'Mit eingeschwungenem Kühlmittel noch {d} unter Last bei {v} oder mehr fahren.',
  nNearLimit: 'Das Kühlmittel kam der Grenze auf {d} nahe: weiterfahren und beobachten.',
  nHighPlateau:
    'Das Kühlmittel kam bei {a} zur Ruhe, über den bekannten {b}: den Grund finden, dann noch einmal fahren.',
  nStoodHigh:
    'Das Kühlmittel stand hoch, als die Fahrt endete: weiterfahren, bis es wieder auf seinem Plateau ist oder der Anstieg deutlich wird.',
  nNotSettled2: 'Das Kühlmittel kam nicht zur Ruhe: weiterfahren, bis es still hält.',
  nLowPlateau:
    'Das Kühlmittel kam bei {t} zur Ruhe: die Öffnungstemperatur des Thermostats eintragen oder eine gesunde Fahrt dieses Fahrzeugs geben.',
  nSpeed: 'Mit eingeschwungenem Kühlmittel noch {d} bei {v} oder mehr fahren.',
  nSagged:
    'Das Kühlmittel sank unter sein Plateau: bei stetigen {v} oder mehr weiterfahren, bis es still hält.',
  nSettled8: 'Fahren, bis das Kühlmittel {n} Minuten lang eingeschwungen ist.',
  nOften: 'Die Kühlmitteltemperatur öfter abfragen: ein Wert alle {n} s zeigt Blasen.',
  nFan: 'Den warmen Motor im Leerlauf lassen, bis der Lüfter ein- und ausgeschaltet hat, Hände und Kabel weg von Riemen und Lüfter.',
  nWarmStart: 'Der Motor war beim Start warm: mit kaltem Motor beginnen, um den Warmlauf zu zeigen.',
  nColdStart: 'Vom Kaltstart bis {t} aufzeichnen, mit Luftmasse oder mit Saugrohrdruck und Drehzahl.',
  nNoWarmUps:
    'Nichts, womit der Warmlauf zu vergleichen wäre: zwei gesunde Kaltstarts dieses Fahrzeugs bei ähnlichem Wetter geben.',
  nSlower:
    'Der Warmlauf war langsamer als früher, aber nicht sicher: den Kaltstart mit ausgeschalteter Heizung wiederholen.',
  chkPhoto: 'Das Foto {f} fehlt im Auftragsordner.',
  chkHash: 'Die Aufzeichnung ist nicht mehr, wie sie beim Schließen war: ihr SHA-256 ist ein anderer.',
  chkBetween: 'Zwischen den Zeilen {a} und {b} ist etwas nicht, wie es aufgezeichnet wurde.',
  chkTorn: 'Die letzte Zeile ist abgerissen: die Aufzeichnung wurde beim Schreiben unterbrochen.',
  chkEmpty: 'Es steht kein Datensatz darin.',
  chkRecovered: 'Die Fahrt war unterbrochen und wurde nachträglich geschlossen.',
  chkRecording: 'Die Fahrt wird gerade aufgezeichnet.',
  chkOpen: 'Die Fahrt wurde unterbrochen und ist noch nicht geschlossen.',
  ruleNoInduction: 'Das Profil sagt nicht, wie der Motor aufgeladen ist; beurteilt als Turbomotor.',
  ruleGuess: 'Das Profil sagt nicht, wie der Motor aufgeladen ist; beurteilt als Turbomotor ({g}).',
  nEnter: 'Im Profil eintragen, wie der Motor aufgeladen ist.',
  nEnterGuess: 'Im Profil eintragen, wie der Motor aufgeladen ist: {g}.',
  guessBelt:
    'er sieht nach Riemenantrieb aus: der Ladedruck kommt {s} s nach dem Gasstoß unter {n} 1/min und erreicht {p}',
  guessTurbo: 'er sieht nach Turbolader aus: der Ladedruck erreicht {p}',
  guessNone:
    'er sieht nach Saugmotor aus, oder kein Lader gibt etwas: kein Ladedruck in {n} Zügen mit Vollgas',
  ptSlipOrLeak:
    'Kupplung oder Riemen rutscht, oder die Regelklappe schließt nicht ganz, oder ein Leck auf der Druckseite (Züge von {a} bis {b} 1/min unterscheiden sie)',
  ptLeakElse:
    'Leck auf der Druckseite; sonst misst der Saugrohrdrucksensor zu wenig oder der Luftmassenmesser zu viel',
  sourceAir: 'Luftmasse der Ausgangsfahrten',
  nMoreHealthy:
    'Mehr gesunde Fahrten als Ausgangsfahrt geben: von Tag zu Tag weicht der Ladedruck so weit ab wie das, was hier zu unterscheiden ist. Oder vorher und nachher an einem Tag vergleichen: je fünf Züge, {d}.',
  nOnePull: 'Noch {n} Zug fahren: {d}.',
  lackPull: '{n} weiterer Zug',
  ptFanOnly: 'Lüfter, seine Leitung oder sein Schalter',
  evFanMissing:
    'Im Stand kam das Kühlmittel auf {a} und fiel nicht; der Lüfter soll bei {b} einschalten. Anhalten, wo es sicher ist; nie ein heißes Kühlsystem öffnen.',
  nFanStand:
    'Ein Stand hob das Kühlmittel und endete, bevor es zurückkam: den warmen Motor im Leerlauf lassen, bis der Lüfter ein- und ausgeschaltet hat, Hände und Kabel weg von Riemen und Lüfter.',
  nIdleMore: 'Gleich nach der Fahrt noch {d} im Leerlauf lassen und das Kühlmittel beobachten.',
  ptOpenOrSensor:
    'Thermostat bleibt offen, oder der Kühlmittelsensor bewegt sich nicht: zuerst den Sensor prüfen',
  evNeverMoves: '{t} ohne Änderung während {n} Minuten Fahrt: so kalt bleibt kein Motor.',
};
