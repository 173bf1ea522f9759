/** English: the rules by which verdicts are found, what other cars of a kind say, and what findings about the vehicle say beside what is said aloud. A drive needs none of them. */

export const rules = {
  'boost.source.kind':
    '.input {$cars :number}\n.match $cars\n1 {{1 other car of this kind (a healthy one may differ from it by {$within :share} either way)}}\n* {{{$cars :num} other cars of this kind (a healthy one may differ from them by {$within :share} either way)}}',
  'boost.source.baseline-and-kind':
    '.input {$cars :number}\n.match $cars\n1 {{baseline run, and 1 other car of this kind}}\n* {{baseline run, and {$cars :num} other cars of this kind}}',
  'boost.source.air-kind':
    '.input {$cars :number}\n.match $cars\n1 {{air mass of 1 other car of this kind (a healthy one may differ from it by {$within :share} either way)}}\n* {{air mass of {$cars :num} other cars of this kind (a healthy one may differ from them by {$within :share} either way)}}',
  'boost.seen.kind':
    '.input {$cars :number}\n.match $cars\n1 {{Held against 1 other car of this kind. How much cars of a kind differ, one cannot tell: what a healthy one gives is taken to lie within {$within :share} either way.}}\n* {{Held against {$cars :num} other cars of this kind. What a healthy one gives may lie within {$within :share} either way of what they gave.}}',
  'boost.seen.baseline-and-kind':
    '.input {$cars :number}\n.match $cars\n1 {{Held against its own baseline, and against 1 other car of this kind where the baseline says little: what is expected may be off by {$within :share} either way.}}\n* {{Held against its own baseline, and against {$cars :num} other cars of this kind where the baseline says little: what is expected may be off by {$within :share} either way.}}',
  'coolant.source.kind':
    '.input {$cars :number}\n.match $cars\n1 {{1 other car of this kind}}\n* {{{$cars :num} other cars of this kind}}',
  'coolant.source.baseline-and-kind':
    '.input {$cars :number}\n.match $cars\n1 {{baseline drives, and 1 other car of this kind}}\n* {{baseline drives, and {$cars :num} other cars of this kind}}',
  'coolant.seen.plateau-kind':
    '.input {$cars :number}\n.match $cars\n1 {{Held against 1 other car of this kind. How much cars of a kind differ, one cannot tell: a healthy one is taken to settle at {$lowC :temp finer=1 bare=yes} to {$highC :temp finer=1}.}}\n* {{Held against {$cars :num} other cars of this kind: a healthy one may settle at {$lowC :temp finer=1 bare=yes} to {$highC :temp finer=1}.}}',
  'coolant.seen.no-fan-kind':
    '.input {$cars :number}\n.match $cars\n1 {{Standing, the coolant came to {$ectC :temp} and did not fall; held against 1 other car of this kind a fan that works turns it around by {$highC :temp} at the latest. Stop when safe; never open a hot cooling system.}}\n* {{Standing, the coolant came to {$ectC :temp} and did not fall; held against {$cars :num} other cars of this kind a fan that works turns it around by {$highC :temp} at the latest. Stop when safe; never open a hot cooling system.}}',
  'coolant.seen.fan-kind':
    '.input {$cars :number}\n.match $cars\n1 {{Held against 1 other car of this kind a fan that works is taken to turn the coolant around at {$lowC :temp finer=1 bare=yes} to {$highC :temp finer=1}.}}\n* {{Held against {$cars :num} other cars of this kind a fan that works may turn the coolant around at {$lowC :temp finer=1 bare=yes} to {$highC :temp finer=1}.}}',
  'coolant.seen.warm-up-kind':
    '.input {$cars :number}\n.match $cars\n1 {{{$perC :num} units of heat per kelvin; 1 other car of this kind lets expect {$expected :num} in air of {$airC :temp}, and a healthy one is taken to need up to {$within :share} more.}}\n* {{{$perC :num} units of heat per kelvin; {$cars :num} other cars of this kind let expect {$expected :num} in air of {$airC :temp}, and a healthy one may need up to {$within :share} more.}}',
  'coolant.seen.warm-up-both':
    '.input {$cars :number}\n.match $cars\n1 {{{$perC :num} units of heat per kelvin; own baseline drives ({$drives :num}) and 1 other car of this kind let expect {$expected :num} in air of {$airC :temp}, and this car may need up to {$within :share} more.}}\n* {{{$perC :num} units of heat per kelvin; own baseline drives ({$drives :num}) and {$cars :num} other cars of this kind let expect {$expected :num} in air of {$airC :temp}, and this car may need up to {$within :share} more.}}',
  'coolant.needs.above-kind':
    '.input {$cars :number}\n.match $cars\n1 {{The coolant settled at {$plateauC :temp finer=1}; held against 1 other car of this kind a healthy one is taken to settle at {$lowC :temp finer=1 bare=yes} to {$highC :temp finer=1}: find out why, then drive again.}}\n* {{The coolant settled at {$plateauC :temp finer=1}; held against {$cars :num} other cars of this kind a healthy one settles at {$lowC :temp finer=1 bare=yes} to {$highC :temp finer=1}: find out why, then drive again.}}',
  'coolant.needs.below-kind':
    '.input {$cars :number}\n.match $cars\n1 {{The coolant settled at {$plateauC :temp finer=1}; held against 1 other car of this kind a healthy one is taken to settle at {$lowC :temp finer=1 bare=yes} to {$highC :temp finer=1}: drive on at a steady {$kmh :speed} or above.}}\n* {{The coolant settled at {$plateauC :temp finer=1}; held against {$cars :num} other cars of this kind a healthy one settles at {$lowC :temp finer=1 bare=yes} to {$highC :temp finer=1}: drive on at a steady {$kmh :speed} or above.}}',
  'boost.rule.region':
    'Fault shown: in some window of engine speed and demand the {$confidence :share} interval ({$side :share} on either side) of the mean deviation from the expected boost lies wholly beyond the limit, the mean more than {$z :num finer=1} standard errors from none among {$looks :num} windows driven or more, and less where fewer were, so that chance brings it no oftener (from {$slowRpm :rpm} on, warmer or colder air counts for no more than the gas law gives any car), over {$samples :num} samples of one pull of {$lastingS :seconds finer=1} (of {$spoolingPulls :num} such pulls up to {$spoolingRpm :rpm}; {$borneOut :num} samples will do where each is short and its air mass rules out by itself that all boost was there) or of {$pulls :num} pulls; or no boost came throughout a settled pull; or more air is measured than the pressure accounts for (by {$air :share finer=1} with the whole interval, and by {$z :num finer=1} standard errors). Shown good: over at least two pulls, or one as long, with a warm engine a loss of {$goodLoss :share} lies outside the interval in each cell of engine speed and demand that the claim covers and in which the pedal itself was, no driven cell speaks against it, no pull plainly brought too little, no readings that say so were left out, and no speed was driven for long of which nothing is known; measured is then where it rules out least. Above the speeds that the baseline drives went to, what they gave last is carried on as far as {$carryRpm :rpm}, where it was level by then, less surely (standard deviation {$carry :share} at the end). Anything between is not shown (JCGM 106:2012).',
  'boost.rule.dip':
    'At the changeover only the mean over all of it counts, against {$limit :share} of the expected boost at least, and only between two regions that are not short themselves.',
  'boost.rule.intermittent':
    'Fault shown: in one region of engine speed some pulls brought nothing (short by more than {$gone :share}, with the whole interval by more than {$surely :share}) while others that asked as much held, at the same speeds, and that boost comes and goes explains the pulls {$times :num} times better than spoilt readings do. Shown good: it came in at least {$pulls :num} pulls of one region and was never missing.',
  'boost.rule.leak':
    'Fault shown: boost is short by more than the limit both at low and at high engine speed but not absent, and the air mass, where measured, exceeds what the pressure accounts for; two machines at once short point to what they share. Or the air mass exceeds what the pressure accounts for by more than the limit ({$confidence :share} interval) and by {$z :num finer=1} standard errors, alike in two regions, while boost is not above the expected.',
  'boost.rule.surplus':
    'Fault shown: the {$confidence :share} interval of the mean deviation lies wholly above {$limits :num} times the limit and the mean more than {$z :num finer=1} standard errors from none.',
  'boost.rule.late':
    'From the tip-in inside the clutch band to {$share :share} of the boost then reached. Shown good: the {$confidence :share} interval lies wholly below the limit, over at least {$goodTips :num} tip-ins. Fault shown: wholly above it by {$z :num finer=1} standard errors, over at least {$faultTips :num}.',
  'boost.rule.clutch-open':
    'With the clutch open nothing presses at steady light demand, and above the changeover boost is not in surplus. Fault shown: pressure at light demand above the limit by {$z :num finer=1} standard errors over at least {$mapStretches :num} stretches in the manifold or {$actStretches :num} ahead of the throttle, or a surplus above the changeover. Shown good: the charge pressure lies below the limit, or the manifold does and the boost above the changeover is as in the baseline.',
  'boost.rule.map':
    'With the engine stopped MAP equals barometric pressure within {$offKpa :pressure}; with the engine at work it never repeats one value for {$frozenS :seconds}.',
  'boost.rule.no-induction': 'The profile does not say how the engine is charged; judged as turbocharged.',
  'boost.rule.guessed':
    'The profile does not say how the engine is charged; judged as turbocharged ({$guess :says}).',
  'coolant.rule.climb':
    'Fault shown: {$holdS :duration} at {$limitC :temp} and above, or {$aboveC :diff} above the plateau from {$farC :temp} on, without falling, by the reading as it is shown; or a sequential test (mean healthy time between false alarms at least {$hours :num} h under its stated assumption) says that the coolant stays above what this driving explains in a healthy car, and the whole reading ({$readingC :diff} either way) lies above it, from {$fromC :temp} on, at a stand from {$standsC :temp} on; below that only while it goes on rising, not where it stands and would meanwhile have risen by {$shortC :diff} more at its rate before, and to more than {$aboveHeldC :diff finer=1} above what the coolant held at {$heldKmh :speed} and above for {$heldS :duration}, {$heldAgoS :duration} before. Shown good: settled for {$settledS :duration}, {$watchedS :duration} of them under the test and {$movingS :duration} at {$movingKmh :speed} and above, every reading and its uncertainty below the limit, and nothing rising when the drive ended.',
  'coolant.rule.too-cold':
    'Fault shown: after {$firstS :duration} of driving that asks the thermostat the coolant stands at {$earlyC :temp} or below and {$windowS :duration} of such driving raise it by {$riseC :diff} at most, held for {$holdS :duration}; after {$longS :duration} at {$lateC :temp} or below, by {$lateRiseC :diff} at most; or, once settled, {$sagS :duration} of it {$sagC :diff} below the plateau and colder than a warm engine runs. In air below {$coolAirC :temp} only heat of {$coolLoad :share} of this drive’s mean asks. Shown good: settled above the limit, and in {$askedS :duration} of such driving 95 % of the readings no further than {$wanderC :diff} below the plateau, or not below {$warmC :temp finer=1}, the interval and a reading’s uncertainty below the coolant limit, and no climb.',
  'coolant.rule.jumps':
    'Fault shown: {$swings :num} swings of {$swingC :diff} and more, out and back within {$mostS :duration}, within {$duringS :duration}. Shown good: settled without them, with a reading every {$everyS :seconds finer=1}. Instant steps are the sensor’s matter.',
  'coolant.rule.fan':
    'Shown good: standing, the settled coolant rose {$aboveC :diff} above the plateau and came back by {$backC :diff}, not during a climb. Fault shown: standing {$beyondS :duration} at {$beyondC :diff} above the entered switching temperature without falling; without that temperature a fan that fails shows as a climb. Asked for by a stand that raises the settled coolant, or brings it to {$dueC :temp} (common practice, no source); a drive that never asked says nothing about it.',
  'coolant.rule.warm-up':
    'Heat burnt per kelvin between {$fromC :temp} and {$toC :temp}, and to {$furtherC :temp} where no baseline drive settled below {$settlesC :temp}, against a regression of baseline drives of this vehicle on the temperature of the air. Fault shown: the whole {$confidence :share} interval lies above {$slow :num finer=2} times the expected. Shown good: the whole interval lies below {$excluded :num finer=1} times. The verdict on the cooling waits for it from {$waits :num finer=2} times on.',
  'coolant.rule.codes':
    'Fault shown: a code for the thermostat, the warm-up or over-temperature (SAE J2012: P0125, P0126, P0128, P0217) that is read after the work and in no reading before it.',
  'coolant.rule.watch':
    'No verdict: the coolant rises by {$perMinC :diff} a minute or more and stands above what this driving explains, or the test has {$evidence :share} of the evidence for an alarm, or the coolant stands at {$highC :temp} and above. It ends by itself.',
  'charging.rule':
    'Fault shown: engine running and every reading below {$noChargeV :volt}, by more than half a step of {$stepV :volt}, for {$noChargeS :duration}. Shown good: at least {$chargedS :duration} of running with the whole interval above it. The interval holds {$share :share} of the running time; of a fault, every reading of the stretch and half a step.',
  'sensor.rule':
    'Fault shown: readings that no healthy sensor gives (end stop, impossible value or rate, unchanged while what drives it moves) for {$stretchS :duration} in one stretch, or in many separate stretches; coolant below {$belowC :temp} without any change through {$unchangedS :duration} of driving. Single ones are left out, counted and told. Coolant is shown good after a long stand: the difference to the nearest air temperature, with {$readC :diff} on either side, lies wholly within {$apartC :diff}.',
  'sensor.late.rule':
    'Fault shown: a signal follows each of those that it moves with at once too late, by more than {$lateS :seconds finer=1} with the whole interval (95 %, each part of the drive left out once, and what cars differ by), where their changes over a second agree best: correlation at least {$agrees :num finer=2}, and {$better :num finer=2} better than where they should.',
  'sensor.late.points':
    'the recording: a table that carries old values on, or a signal asked for too seldom; else its sensor',
  'sensor.late.seen':
    '{$signal :name of=signal} fits {$against :name of=signal} when taken {$lateS :seconds finer=1} earlier ({$lowS :seconds finer=1} to {$highS :seconds finer=1}): their changes then agree by {$agrees :share}, as recorded by {$asIs :share}.',
  'sensor.late.without': 'Boost is judged by the pressure, without {$signal :name of=signal}.',
  'sensor.late.need':
    '{$signal :name of=signal} comes {$lateS :seconds finer=1} late, see there: boost is not judged. Record it at its own times, or leave it out, and drive again.',
  'sensor.late.need-said':
    '{$signal :name of=signal} comes {$lateS :seconds finer=1} late, see there: boost is not judged, and the fault spoken of here at {$atS :clock} of the run is taken back. Record it at its own times, or leave it out, and drive again.',
  'road.speed.rule':
    'An observation, never a fault: vehicle speed against ground speed of the satellite receiver, over stretches of {$steadyS :duration} that are steady, from {$fromKmh :speed} on. The interval includes the {$stepKmh :speed} that the car itself leaves open. Shown good: wholly within {$usualPct :percent} on either side.',
  'link.rule':
    'Holes are silences of every signal beyond {$holeS :duration}. Enough was recorded when they sum to at most {$mostS :duration} or {$share :share} of the run. Silence between readings of a standing vehicle, the engine standing too before or after it, is a key off and no hole. Holes are never a fault of the car.',
  'codes.rule':
    'Fault shown: a stored or pending code, or the engine lamp on, in the last snapshot. Shown good: read after the drive, every service was answered (but that of permanent codes, which not every vehicle knows), no code, lamp off, every fitted monitor complete, and codes not cleared less than a drive ago. Anything else is not shown.',
  'charging.source.rest': 'rest voltage of a full battery (from memory)',
  'charging.seen':
    'Engine running: {$lowV :volt finer=1} to {$highV :volt finer=1} for {$share :share} of the time, the middle {$middleV :volt finer=1}; {$bandShare :share} of the time between {$fromV :volt} and {$toV :volt}, where most systems charge. Smart charging may leave that band.',
  'charging.flat':
    'Engine running: {$lowV :volt finer=1} to {$highV :volt finer=1} for {$lastedS :duration} and not once above.',
  'charging.need.record': 'Record the supply voltage and engine speed with the engine running.',
  'charging.need.run': 'Let the engine run for {$runS :duration}.',
  'charging.need.battery': 'Measure the charging voltage at the battery: this drive does not settle it.',
  'sensor.source.practice': 'common practice, no source',
  'sensor.source.late': 'open drives of one car, delayed',
  'sensor.seen':
    '.input {$n :number}\n.input {$kind :string}\n.match $n $kind\none end-stop {{One reading at its end stop: open or short circuit.}}\none range {{One reading outside what is possible.}}\none stuck {{One reading unchanged although what drives it moved.}}\none * {{One reading jumping faster than is possible: look at plug and contact.}}\n* end-stop {{{$n} readings at its end stop: open or short circuit.}}\n* range {{{$n} readings outside what is possible.}}\n* stuck {{{$n} readings unchanged although what drives it moved.}}\n* * {{{$n} readings jumping faster than is possible: look at plug and contact.}}',
  'sensor.unchanged':
    '{$c :temp} without a change through {$lastedS :duration} of driving: no engine stays so cold.',
  'sensor.start': 'At the start coolant {$ectC :temp}, air {$airC :temp}.',
  'sensor.start-both':
    'At the start coolant {$ectC :temp}, intake air {$intakeC :temp}, outside air {$outsideC :temp}.',
  'sensor.need.left-out':
    '{$n :number} of {$of :number} readings were left out. Check sensor and plug, then drive again.',
  'sensor.need.stand':
    'Switch on after a long stand and compare coolant, intake and outside temperature before the start.',
  'sensor.need.night': 'Coolant and air differ: compare them again after a whole night.',
  'road.speed.seen':
    'Vehicle speed reads {$pct :percent finer=1 sign=always} against ground speed ({$lowPct :percent finer=1 sign=always bare=yes} to {$highPct :percent finer=1 sign=always}), {$stretches :num} steady stretches at {$kmh :speed} on average.',
  'road.speed.need.look':
    'Vehicle speed and ground speed differ: look at tyre size, wear and the speed sensor. Distances and accelerations of this run are off by as much.',
  'road.speed.need.more':
    'Vehicle speed is not settled against ground speed: drive steadily at a higher speed for a few minutes, under open sky.',
  'link.source.default': 'default',
  'link.hole': 'Nothing recorded for {$lastedS :duration}.',
  'link.key-off': 'Key off for {$lastedS :duration}.',
  'link.need.again':
    '.input {$holes :number}\n.match $holes\none {{The recording misses {$lostS :duration} in one hole: check plug and cable, then drive the open legs again.}}\n* {{The recording misses {$lostS :duration} in {$holes} holes: check plug and cable, then drive the open legs again.}}',
  'link.need.nothing': 'Nothing was recorded: check plug, cable and ignition.',
  'codes.need.read': 'Read the fault memory after the drive.',
  'codes.need.unanswered': 'Some services were not answered: read the fault memory again, ignition on.',
  'codes.need.permanent':
    'A permanent code stays until the control unit has tested the repair itself: drive on, then read again.',
  'codes.need.cleared': 'Codes were cleared less than a drive ago: drive on, then read again.',
  'codes.need.monitors':
    '.input {$n :number}\n.match $n\none {{One monitor is not complete: drive on until it is, then read again.}}\n* {{{$n} monitors are not complete: drive on until they are, then read again.}}',
} as const;
