/** Sentences that some rooms still make, as patterns with holes (src/sheet/phrases.ts). */
export const en = {
  // sources of limits and values
  sourcePractice: 'default (common practice, no source)',
  sourcePractice2: 'common practice, no source',
  sourceMemory: 'from memory of SAE J2012',
  sourceProfile: 'profile ({s:t})',
  sourceBaseline: 'baseline run',
  sourceEntered: 'entered',
  sourceHandbook: 'handbook',
  sourceDefault: 'default',
  sourcePlateau: 'plateau of this run',
  sourcePlateauDriving: 'plateau of this run and what driving explains',
  sourceHeat: 'heat capacity of the coolant (common practice, no source)',
  // coolant: rules
  ruleClimb:
    'Fault shown: a sequential test (mean healthy time between false alarms at least {h:n} h under its stated assumption) says that the settled coolant rises more than a healthy circuit lets it; or {s:n} s at {t:temp} and above, or {d:diff} above the plateau. Shown good: at its plateau for at least {a:n} minutes, {b:n} of them under the test, {c:n} s of these under load at {v:v} and above or {e:n} minutes at {w:v} and above, {f:n} s below {u:v}, every reading and its uncertainty below the limit, {p:n} % of them no further than {q:diff} below the plateau, and no climb under suspicion when the drive ended.',
  ruleTooCold:
    'Fault shown: after at least {a:n} minutes of driving the coolant stays {k:diff} below the known plateau (with none known, at or below {l:temp}) and {b:n} minutes of driving under power raise it by {d:diff} at most, held for a minute; or heat that had raised it by {h:diff} in this warm-up raises it by {o:diff} at most; after {i:n} minutes {m:diff} below ({t:temp}), with a rise of {j:diff} at most; or, once settled, {c:n} minutes of driving {e:diff} below the plateau. Shown good: settled above the limit, and held there at {v:v} and above for {f:n} minutes or at {w:v} and above for {g:n}.',
  ruleJumps:
    "Fault shown: five swings of {d:diff} and more, out and back within {s:n} s, within {m:n} minutes. Shown good: settled without them, with a reading every {r:n} s. Instant steps are the sensor's matter.",
  ruleFan:
    "Shown good: standing, the settled coolant rose {a:diff} above the plateau and came back by {b:diff}. Fault shown: standing {s:n} s at {c:diff} above the profile's switching temperature without falling; without that temperature a fan that fails shows as a climb. The system's verdict waits for it when the profile names the switching temperature, or when a stand raised the coolant by {d:diff} and ended before it came back.",
  ruleWarmUp:
    "Heat burnt per °C between {a:tempn} and {b:temp} against healthy drives of this vehicle begun at most {c:diff} warmer. Fault shown: more than {d:n} times the largest of them, uncertainty of {e:n} % included. Shown good: at most {f:n} times. The system's verdict does not wait for it.",
  // coolant: what it points to
  ptFanOrFlow:
    'fan or airflow through the radiator, or no circulation: it climbs standing, and the drive shows no more',
  ptFan: 'fan or airflow through the radiator: it climbs standing or crawling',
  ptFlow: 'coolant flow: pump, slipping belt, thermostat or blocked radiator: it climbs with load at speed',
  ptCirculation:
    'no circulation or coolant lost: thermostat stuck shut, pump, level: it climbs whatever the driving',
  ptOpen: 'thermostat stays open',
  ptAir: "air in the system or low level; else the sensor's contact",
  ptSlow: 'thermostat weeping, or the heater full on',
  // coolant: evidence
  evSettled: 'Settled for {d:t} between {a:tempn} and {b:temp}, {l:t} of it under load at speed.',
  evClimb:
    'Coolant {how:t}: plateau {p:t}, peak {k:temp}, {r:diff}/min ({a:diffn} to {b:diffn}) when said. Stop when safe; never open a hot cooling system.',
  howLimit: 'at the limit of {t:temp}',
  howFar: 'far above its plateau',
  howRising: 'rising more than driving explains',
  plateauUnknown: 'not known',
  plainTemp: '{t:temp}',
  evCold:
    '{d:t} of driving, and the coolant stands at {t:temp}; the last {m:n} minutes of driving changed it by {r:diff}. Check the thermostat.',
  evPlateau: 'Settled at {t:temp}.',
  evPlateauMoving: 'Settled at {t:temp}; mean at {v:v} and above {m:temp}.',
  evJumps:
    '{n:n} swings of up to {d:diff}. Let it cool, check the level, bleed the system. Stop when safe; never open a hot cooling system.',
  evFan: 'Standing, the coolant rose and was cooled down again.',
  evWarmUp: '{a:tempn} to {b:temp} took {d:t}, started at {s:temp}.',
  evWarmUpAir: '{a:tempn} to {b:temp} took {d:t} and {g:n} g of air per °C, started at {s:temp}.',
  seconds: '{n:n} s',
  minutes: '{n:n} min',
  // coolant: needs
  nNoCoolant: 'No coolant temperature was recorded: choose a signal for it.',
  nNotSettled:
    'The coolant did not settle: drive on until it holds still, then {m:n} minutes more with some load at {v:v} or above.',
  nSettledMore: 'Drive {d:t} more with the coolant settled.',
  nRestless:
    'The coolant reading is restless: check the level and the sensor, let out air, then drive again.',
  nFrozen: 'The coolant reading did not move at all: check the sensor, then drive again.',
  nLoad: 'Drive at {v:v} or above under load for {d:t} more with the coolant settled.',
  nNearLimit: 'The coolant came within {d:diff} of the limit: drive on and watch it.',
  nHighPlateau: 'The coolant settled at {a:temp}, above the known {b:temp}: find out why, then drive again.',
  nStoodHigh:
    'The coolant stood high when the drive ended: drive on until it is back at its plateau, or the climb is plain.',
  nNotSettled2: 'The coolant did not settle: drive on until it holds still.',
  nLowPlateau:
    "The coolant settled at {t:temp}: enter the thermostat's opening temperature, or give a healthy drive of this vehicle.",
  nSpeed: 'With the coolant settled drive {d:t} more at {v:v} or above.',
  nSagged: 'The coolant sagged below its plateau: drive on at a steady {v:v} or above until it holds still.',
  nSettled8: 'Drive until the coolant has been settled for {n:n} minutes.',
  nOften: 'Ask for the coolant temperature more often: a reading every {n:n} s shows bubbles.',
  nFan: 'Let the warm engine idle until the fan has cut in and out, hands and cables clear of belt and fan.',
  nWarmStart: 'The engine was warm at the start: begin with a cold engine to show the warm-up.',
  nColdStart:
    'Record from a cold start to {t:temp}, with air mass, or with manifold pressure and engine speed.',
  nNoWarmUps:
    'Nothing to compare the warm-up with: give two healthy cold starts of this vehicle in like weather.',
  nSlower: 'The warm-up was slower than before, not surely so: repeat the cold start with the heater off.',
  chkPhoto: 'The photo {f:x} is missing from the job folder.',
  chkHash: 'The capture is not as it was when the run was closed: its SHA-256 differs.',
  chkBetween: 'Between lines {a:n} and {b:n} something is not as it was recorded.',
  chkTorn: 'The last line is torn: the recording was interrupted while it was written.',
  chkEmpty: 'There is no record in it.',
  chkRecovered: 'The run had been interrupted and was closed afterwards.',
  chkRecording: 'The run is being recorded.',
  chkOpen: 'The run was interrupted and is not closed yet.',
  ptFanOnly: 'fan, its wiring or its switch',
  evFanMissing:
    'Standing, the coolant came to {a:temp} and did not fall; the fan should cut in at {b:temp}. Stop when safe; never open a hot cooling system.',
  nFanStand:
    'A stand raised the coolant and ended before it came back: let the warm engine idle until the fan has cut in and out, hands and cables clear of belt and fan.',
  nIdleMore: 'Let it idle {d:t} more straight after the drive, and watch the coolant.',
  ptOpenOrSensor: 'thermostat stays open, or a coolant sensor that does not move: check the sensor first',
  evNeverMoves: '{t:temp} without a change through {n:n} minutes of driving: no engine stays so cold.',
};
