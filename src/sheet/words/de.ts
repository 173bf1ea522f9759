/** Die Sätze aus en.ts auf Deutsch. */
import type { en } from './en.ts';

export const de: typeof en = {
  sourcePractice: 'Vorgabe (übliche Praxis, ohne Quelle)',
  sourcePractice2: 'übliche Praxis, ohne Quelle',
  sourceMemory: 'aus dem Gedächtnis nach SAE J2012',
  sourceProfile: 'Profil ({s})',
  sourceBaseline: 'Ausgangsfahrt',
  sourceEntered: 'eingegeben',
  sourceHandbook: 'Handbuch',
  sourceDefault: 'Vorgabe',
  sourcePlateau: 'Plateau dieser Fahrt',
  sourcePlateauDriving: 'Plateau dieser Fahrt und was die Fahrweise erklärt',
  sourceHeat: 'Wärmekapazität des Kühlmittels (übliche Praxis, ohne Quelle)',
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
