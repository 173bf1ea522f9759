/** English: the legs of a road test, and the questions to the person in the car. */
export const legs = {
  'leg.key-on-check': 'Key on, engine off',
  'leg.key-on-check.why': 'Gives the barometric pressure and compares the sensors with each other.',
  'leg.key-on-check.how':
    'Ignition on, engine stopped, for {$stopS :duration}; before the start, or when the drive has ended.',
  'leg.key-on-check.counts':
    'Counts when {$readings :num} readings of MAP came once the engine had been stopped for {$afterS :duration}.',
  'leg.warm-up': 'Cold start and warm-up',
  'leg.warm-up.why': 'Shows whether the thermostat closes and opens, and how fast the coolant warms.',
  'leg.warm-up.how': 'Start cold and drive gently until the coolant settles.',
  'leg.warm-up.counts':
    'Counts when the coolant went from {$fromC :temp} or colder to {$toC :temp}, mostly on the move.',
  'leg.hot-idle': 'Hot idle to fan-on',
  'leg.hot-idle.why': 'Without airflow only the fan and the pump keep the coolant down.',
  'leg.hot-idle.how': 'Stand with the warm engine idling until the fan has run; keep clear of belt and fan.',
  'leg.hot-idle.counts':
    'Counts when the settled coolant rose by {$aboveC :diff} and came back by {$backC :diff}. Where {$unaskedS :duration} of standing do not ask for the fan the next leg goes on.',
  'leg.heater-check': 'Heater check',
  'leg.heater-check.why':
    'A cold heater with a hot engine points to air in the system or to coolant that does not flow.',
  'leg.heater-check.how': 'Standing, heater at full: feel the air at idle, then at {$raisedRpm :rpm}.',
  'leg.heater-check.counts':
    'Counts after {$idleS :duration} of warm idle and {$raisedS :duration} at {$fromRpm :rpm bare=yes} to {$toRpm :rpm}, standing, with both questions answered.',
  'leg.clutch-band': 'Clutch band',
  'leg.clutch-band.why': 'Here the clutch must close.',
  'leg.changeover': 'Changeover',
  'leg.changeover.why': 'Here the turbocharger takes over: the boost must not dip.',
  'leg.above-hand-over': 'Above the changeover',
  'leg.above-hand-over.why': 'Here the turbocharger must give the boost alone.',
  'leg.pull': 'Pulls',
  'leg.pull-low': 'Pulls, low engine speed',
  'leg.pull-high': 'Pulls, high engine speed',
  'leg.pull.why': 'Shows what the charger gives here.',
  'leg.pull.how':
    'Where it is legal and safe: one gear, full pedal, from {$fromRpm :rpm bare=yes} to {$toRpm :rpm}.',
  'leg.pull.counts':
    'Counts with {$pulls :num} pulls here, or one that lasted {$lastingS :seconds finer=1}; {$taught :num} where no healthy drive says what is due. Coolant from {$warmC :temp}.',
  'leg.pull.counts-spread':
    'Counts with {$pulls :num} pulls low, middle and high in this range, coolant from {$warmC :temp}.',
  'leg.light-demand': 'Light demand in the band',
  'leg.light-demand.why': 'The clutch must stay open here: boost would show that it sticks.',
  'leg.light-demand.how': 'Cruise with a light, steady pedal at {$fromRpm :rpm bare=yes} to {$toRpm :rpm}.',
  'leg.light-demand.counts':
    'Counts with {$enoughS :duration} of steady demand from {$fromDemandPct :num} to {$toDemandPct :percent} between {$fromRpm :rpm bare=yes} and {$toRpm :rpm}.',
  'leg.steady-load': 'Steady cruise with load',
  'leg.steady-load.why': 'The most heat for the longest time: a weak pump or a blocked radiator shows here.',
  'leg.steady-load.how': 'Hold {$kmh :speed} or more with the coolant warm, uphill if you can.',
  'leg.steady-load.counts':
    'Counts {$enoughS :duration} after the coolant got warm and settled, {$movingS :duration} of it at {$kmh :speed} or more, {$askedS :duration} under load.',
  'leg.idle-after-load': 'Idle after load',
  'leg.idle-after-load.why': 'The heat of the drive comes out when the airflow stops.',
  'leg.idle-after-load.how': 'Stop where it is safe straight after the drive and let it idle.',
  'leg.idle-after-load.counts':
    'Counts when it idled {$enoughS :duration} within {$withinS :duration} of driving.',
  'leg.hot-restart': 'Hot restart',
  'leg.hot-restart.why': 'Heat soaks into the coolant while the pump stands; it must fall again at once.',
  'leg.hot-restart.how': 'Stop the warm engine for {$stopS :duration}, then start it and let it run.',
  'leg.hot-restart.counts':
    'Counts when it ran {$enoughS :duration} after a hot stop of {$stopS :duration}. Optional.',
  'leg.left.readings': '{$n :num} of {$of :num} readings',
  'leg.left.pulls': '{$n :num} of {$of :num} pulls',
  'leg.left.more': '{$moreS :duration} more',
  'leg.left.degrees': '{$nowC :temp} of {$toC :temp}',
  'leg.left.settling': 'coolant not settled yet',
  'leg.left.fan': 'fan not asked yet',
  'leg.left.fan-asked': 'fan asked, not seen yet',
  'leg.left.fan-over': 'left open: fan not asked',
  'leg.left.fan-unseen': 'left open: fan not seen',
  'leg.left.cold-start': 'next time, at {$fromC :temp} or colder',
  'leg.left.signal': 'left open: a signal is missing',
  'leg.left.repair': 'left open: after the repair',
  'leg.left.findings': 'left open: see Findings',
  'leg.stop-first': 'Where it is safe, stop. {$how :says}',
  'ask.cabin heat idle': 'Idling: is the air from the heater hot?',
  'ask.cabin heat 2000 rpm': 'At {$raisedRpm :rpm}: is the air from the heater hot?',
  'ask.fan': 'Has the fan run?',
  'ask.noise': 'Is the noise of the complaint gone?',
  'ask.mark.cabin heat idle': 'Cabin heat idle',
  'ask.mark.cabin heat 2000 rpm': 'Cabin heat 2000 rpm',
  'ask.mark.fan': 'Has the fan run',
  'ask.mark.noise': 'Noise of the complaint',
  'judge.nothing-recorded': 'Nothing about this system was recorded: drive a full road test.',
} as const;
