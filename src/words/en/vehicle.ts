/** English: what charging, sensors, the recording and the fault memory say. */
import type { VehicleSays } from '../../analysis/detectors.ts';
import type { Messages } from '../statements.ts';

export const vehicle = {
  'charging.rule':
    'Fault shown: engine running and every reading below {$noChargeV :volt}, by more than half a step of {$stepV :volt}, for {$noChargeS :duration}. Shown good: at least {$chargedS :duration} of running with the whole interval above it. The interval holds {$share :share} of the running time; of a fault, every reading of the stretch and half a step.',
  'charging.source.rest': 'rest voltage of a full battery (from memory)',
  'charging.seen':
    'Engine running: {$lowV :volt finer=1} to {$highV :volt finer=1} for {$share :share} of the time, the middle {$middleV :volt finer=1}; {$bandShare :share} of the time between {$fromV :volt} and {$toV :volt}, where most systems charge. Smart charging may leave that band.',
  'charging.flat':
    'Engine running: {$lowV :volt finer=1} to {$highV :volt finer=1} for {$lastedS :duration} and not once above.',
  'charging.points': 'no charge: belt, alternator or its wiring',
  'charging.spoken': 'No charge: the belt may be off, and the coolant pump with it. Stop when safe and look.',
  'charging.need.record': 'Record the supply voltage and engine speed with the engine running.',
  'charging.need.run': 'Let the engine run for {$runS :duration}.',
  'charging.need.battery': 'Measure the charging voltage at the battery: this drive does not settle it.',
  'sensor.rule':
    'Fault shown: readings that no healthy sensor gives (end stop, impossible value or rate, unchanged while what drives it moves) for {$stretchS :duration} in one stretch, or in many separate stretches; coolant below {$belowC :temp} without any change through {$unchangedS :duration} of driving. Single ones are left out, counted and told. Coolant is shown good after a long stand: the difference to the nearest air temperature, with {$readC :diff} on either side, lies wholly within {$apartC :diff}.',
  'sensor.source.practice': 'common practice, no source',
  'sensor.seen':
    '.input {$n :number}\n.input {$kind :string}\n.match $n $kind\none end-stop {{One reading at its end stop: open or short circuit.}}\none range {{One reading outside what is possible.}}\none stuck {{One reading unchanged although what drives it moved.}}\none * {{One reading jumping faster than is possible: look at plug and contact.}}\n* end-stop {{{$n} readings at its end stop: open or short circuit.}}\n* range {{{$n} readings outside what is possible.}}\n* stuck {{{$n} readings unchanged although what drives it moved.}}\n* * {{{$n} readings jumping faster than is possible: look at plug and contact.}}',
  'sensor.unchanged':
    '{$c :temp} without a change through {$lastedS :duration} of driving: no engine stays so cold.',
  'sensor.start': 'At the start coolant {$ectC :temp}, air {$airC :temp}.',
  'sensor.start-both':
    'At the start coolant {$ectC :temp}, intake air {$intakeC :temp}, outside air {$outsideC :temp}.',
  'sensor.points.circuit': 'open or short circuit',
  'sensor.points.wiring': 'sensor, plug or wiring',
  'sensor.spoken':
    'Sensor of {$signal :name of=signal}: the reading cannot be trusted. Check sensor and plug.',
  'sensor.need.left-out':
    '{$n :number} of {$of :number} readings were left out. Check sensor and plug, then drive again.',
  'sensor.need.stand':
    'Switch on after a long stand and compare coolant, intake and outside temperature before the start.',
  'sensor.need.night': 'Coolant and air differ: compare them again after a whole night.',
  'road.speed.rule':
    'An observation, never a fault: vehicle speed against ground speed of the satellite receiver, over stretches of {$steadyS :duration} that are steady, from {$fromKmh :speed} on. The interval includes the {$stepKmh :speed} that the car itself leaves open. Shown good: wholly within {$usualPct :percent} on either side.',
  'road.speed.seen':
    'Vehicle speed reads {$pct :percent finer=1 sign=always} against ground speed ({$lowPct :percent finer=1 sign=always bare=yes} to {$highPct :percent finer=1 sign=always}), {$stretches :num} steady stretches at {$kmh :speed} on average.',
  'road.speed.need.look':
    'Vehicle speed and ground speed differ: look at tyre size, wear and the speed sensor. Distances and accelerations of this run are off by as much.',
  'road.speed.need.more':
    'Vehicle speed is not settled against ground speed: drive steadily at a higher speed for a few minutes, under open sky.',
  'link.rule':
    'Holes are silences of every signal beyond {$holeS :duration}. Enough was recorded when they sum to at most {$mostS :duration} or {$share :share} of the run. Silence between readings of a standing vehicle, the engine standing too before or after it, is a key off and no hole. Holes are never a fault of the car.',
  'link.source.default': 'default',
  'link.hole': 'Nothing recorded for {$lastedS :duration}.',
  'link.key-off': 'Key off for {$lastedS :duration}.',
  'link.need.again':
    '.input {$holes :number}\n.match $holes\none {{The recording misses {$lostS :duration} in one hole: check plug and cable, then drive the open legs again.}}\n* {{The recording misses {$lostS :duration} in {$holes} holes: check plug and cable, then drive the open legs again.}}',
  'link.need.nothing': 'Nothing was recorded: check plug, cable and ignition.',
  'codes.rule':
    'Fault shown: a stored or pending code, or the engine lamp on, in the last snapshot. Shown good: every service was answered, no code, lamp off, every fitted monitor complete, and codes not cleared less than a drive ago. Anything else is not shown.',
  'codes.points': 'what the codes say',
  'codes.need.read': 'Read the fault memory after the drive.',
  'codes.need.unanswered': 'Some services were not answered: read the fault memory again, ignition on.',
  'codes.need.permanent':
    'A permanent code stays until the control unit has tested the repair itself: drive on, then read again.',
  'codes.need.cleared': 'Codes were cleared less than a drive ago: drive on, then read again.',
  'codes.need.monitors':
    '.input {$n :number}\n.match $n\none {{One monitor is not complete: drive on until it is, then read again.}}\n* {{{$n} monitors are not complete: drive on until they are, then read again.}}',
} as const satisfies Messages<VehicleSays>;
