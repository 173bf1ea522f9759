/** Sentences that some rooms still make, as patterns with holes (src/sheet/phrases.ts). */
export const en = {
  // sources of limits and values
  sourcePractice: 'default (common practice, no source)',
  sourcePractice2: 'common practice, no source',
  sourceMemory: 'from memory of SAE J2012',
  sourceProfile: 'profile ({s:t})',
  sourceCommanded: 'commanded boost of the engine control unit',
  sourceBaseline: 'baseline run',
  sourceEntered: 'entered',
  sourceHandbook: 'handbook',
  sourceDefault: 'default',
  sourcePlateau: 'plateau of this run',
  sourcePlateauDriving: 'plateau of this run and what driving explains',
  sourceHeat: 'heat capacity of the coolant (common practice, no source)',
  // boost: what it points to
  ptClutch: 'clutch does not close, drive or wiring to it, control flap stays open',
  ptClutchSuper: 'clutch does not close or slips, drive or wiring to it, bypass flap stays open',
  ptBelt: 'belt slips, bypass flap stays open, leak on the pressure side',
  ptLateTurbo: 'late turbocharger or control flap',
  ptTurbo: 'turbocharger, its actuator, its pipes',
  ptTurboSlow: 'turbocharger slow to answer, its actuator or vanes, leak before it closes',
  ptLeakAir: 'leak on the pressure side: more air is measured than the manifold pressure accounts for',
  ptLeakAll: 'leak on the pressure side (boost is short at all speeds)',
  ptTurboOrLeak: 'turbocharger, its actuator, its pipes, or a leak on the pressure side',
  ptSlip: 'clutch or belt slips, or control flap does not close fully',
  ptIntermittent: 'intermittent coil, connector, worn clutch',
  ptHangs: 'actuator or control line that hangs, loose pipe',
  ptLeak: 'leak on the pressure side',
  ptOverBoost: 'boost control, over-boost',
  ptOverWeak:
    'boost control, over-boost; or the earlier drive that set the limit was itself weak: check it against the handbook',
  ptLate: 'clutch closes late: slip, low voltage, control flap',
  ptNotOpen: 'clutch does not open: stuck plate, air gap, control',
  ptMap: 'MAP sensor, its wiring or its hose',
  ptMapBaro: 'MAP sensor or barometric sensor',
  // boost: rules
  ruleBoost:
    'Fault shown: in some window of engine speed and demand the {i:n} % interval ({j:n} % on either side) of the mean deviation from the expected boost lies wholly beyond the limit, the mean more than {s:n} standard errors from none, over four samples of one lasting pull or of three pulls; or no boost came throughout a settled pull; or more air is measured than the pressure accounts for (by {a:n} % with the whole interval, and by {b:n} standard errors). Shown good: over at least two pulls with a warm engine a loss of {g:n} % lies outside the interval at each engine speed that the claim covers, and no driven cell speaks against it. Anything between is not shown (JCGM 106:2012).',
  ruleIntermittent:
    'Fault shown: in one region of engine speed boost was missing in some pulls (short by more than half) and came in others that asked as much (short by less than {n:n} %). Shown good: it came in at least six pulls and was never missing.',
  ruleLeak:
    'Fault shown: boost is short by more than the limit both at low and at high engine speed but not absent, and the air mass, where measured, exceeds what the pressure accounts for; two machines at once short point to what they share. Or the air mass exceeds what the pressure accounts for by more than the limit ({n:n} % interval) and by {s:n} standard errors, alike in two regions, while boost is not above the expected.',
  ruleSurplus:
    'Fault shown: the {n:n} % interval of the mean deviation lies wholly above twice the limit and the mean more than {s:n} standard errors from none.',
  ruleLate:
    'From the tip-in inside the clutch band to six tenths of the boost then reached. Shown good: the {i:n} % interval lies wholly below the limit, over at least three tip-ins. Fault shown: wholly above it by {n:n} standard errors, over at least two.',
  ruleClutchOpen:
    'With the clutch open nothing presses at steady light demand, and above the hand-over boost is not in surplus. Fault shown: pressure at light demand above the limit by {n:n} standard errors over at least three stretches, or a surplus above the hand-over. Shown good: the charge pressure lies below the limit, or the manifold does and the boost above the hand-over is as in the baseline.',
  ruleMap:
    'With the engine stopped MAP equals barometric pressure within {p:p}; with the engine at work it never repeats one value for {n:n} s.',
  // boost: evidence
  evPull: '{a:n} to {b:n} rpm in gear {g:n}: boost {p:p}, {e:p} expected ({d:n} %).',
  evPullNoGear: '{a:n} to {b:n} rpm: boost {p:p}, {e:p} expected ({d:n} %).',
  evPullDue: '{a:n} to {b:n} rpm in gear {g:n}: boost {p:p}, at least {e:p} due.',
  evPullDueNoGear: '{a:n} to {b:n} rpm: boost {p:p}, at least {e:p} due.',
  evPullBare: '{a:n} to {b:n} rpm in gear {g:n}: boost {p:p}.',
  evPullBareNoGear: '{a:n} to {b:n} rpm: boost {p:p}.',
  evOnset: 'Boost came {s:n} s after the tip-in.',
  evLightMap: 'Manifold {p:p} against barometric at steady light demand.',
  evLightAct: 'Charge pressure {p:p} against barometric at steady light demand.',
  evFrozen:
    'MAP stayed at {p:p} while engine speed went from {a:n} to {b:n} rpm. Check the sensor before judging boost.',
  evMapAbove: 'Engine stopped: MAP is {p:p} above barometric. Check the sensor before judging boost.',
  evMapBelow: 'Engine stopped: MAP is {p:p} below barometric. Check the sensor before judging boost.',
  // boost: needs
  nNoMap: 'The vehicle gives no MAP: measure boost with a gauge.',
  nRpm: 'Record engine speed as well.',
  nPedal: 'Record pedal position as well: without demand no pull can be told.',
  nSome: 'Boost came at some pulls only: repair that first.',
  nBaseEngagements:
    'Give a healthy drive of this vehicle as baseline (or its expected boost), then drive three engagements: {d:t}.',
  nBasePulls:
    'Give a healthy drive of this vehicle as baseline (or its expected boost), then drive three pulls: {d:t}.',
  nDrive:
    'full pedal (70 % demand or more) for three seconds or longer in one gear, from {a:n} to {b:n} rpm, coolant from {t:temp}',
  nMorePulls: 'Drive {n:n} more pulls: {d:t}.',
  nLacks: 'Drive {l:t}: {d:t}.',
  nList3: '{a:t}, {b:t}, {c:t}',
  nList2: '{a:t}, {b:t}',
  lackPulls: '{n:n} more pulls',
  lackWarm: 'with a warm engine (coolant from {t:temp})',
  lackBelow: 'a pull from below {n:n} rpm',
  lackThrough: 'a pull through {n:n} rpm',
  lackUpTo: 'a pull up to {n:n} rpm',
  nMissing: 'Boost was missing; see the other boost findings.',
  nFullPull: 'Drive 1 more full-demand pull.',
  nFullPulls: 'Drive {n:n} more full-demand pulls.',
  nPressTest: 'Press-test the charge pipes: the data cannot tell a leak from the turbocharger.',
  nTipIns:
    'Drive three sudden tip-ins from light demand to full pedal in the clutch band, hold each for three seconds, with as many samples a second as the link gives.',
  nLight:
    'Hold light demand steady for {s:n} s between {a:n} and {b:n} rpm, then drive two pulls above the hand-over.',
  nKeyOn:
    'Stay with key on and engine stopped for ten seconds, with barometric pressure recorded, then drive.',
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
  ruleNoInduction: 'The profile does not say how the engine is charged; judged as turbocharged.',
  ruleGuess: 'The profile does not say how the engine is charged; judged as turbocharged ({g:t}).',
  nEnter: 'Enter in the profile how the engine is charged.',
  nEnterGuess: 'Enter in the profile how the engine is charged: {g:t}.',
  guessBelt:
    'it looks driven by a belt: boost comes {s:n} s after the tip-in below {n:n} rpm and reaches {p:p}',
  guessTurbo: 'it looks turbocharged: boost reaches {p:p}',
  guessNone:
    'it looks naturally aspirated, or no charger gives anything: no boost in {n:n} pulls at full demand',
  ptSlipOrLeak:
    'clutch or belt slips, or control flap does not close fully, or a leak on the pressure side (pulls from {a:n} to {b:n} rpm tell them apart)',
  ptLeakElse: 'leak on the pressure side; else MAP reads low or the air mass meter high',
  sourceAir: 'air mass of the baseline runs',
  nMoreHealthy:
    'Give more healthy drives as baseline: from day to day boost differs as much as what is to be told apart here. Or compare before and after on one day: five pulls each, {d:t}.',
  nOnePull: 'Drive {n:n} more pull: {d:t}.',
  lackPull: '{n:n} more pull',
  ptFanOnly: 'fan, its wiring or its switch',
  evFanMissing:
    'Standing, the coolant came to {a:temp} and did not fall; the fan should cut in at {b:temp}. Stop when safe; never open a hot cooling system.',
  nFanStand:
    'A stand raised the coolant and ended before it came back: let the warm engine idle until the fan has cut in and out, hands and cables clear of belt and fan.',
  nIdleMore: 'Let it idle {d:t} more straight after the drive, and watch the coolant.',
  ptOpenOrSensor: 'thermostat stays open, or a coolant sensor that does not move: check the sensor first',
  evNeverMoves: '{t:temp} without a change through {n:n} minutes of driving: no engine stays so cold.',
};
