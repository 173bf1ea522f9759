/** English: what charging, sensors, the recording and the fault memory say. */
import type { VehicleSays } from '../../analysis/detectors.ts';
import type { Messages } from '../statements.ts';

export const vehicle = {
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
  'codes.points': 'what the codes say',
  'codes.need.read': 'Read the fault memory after the drive.',
  'codes.need.unanswered': 'Some services were not answered: read the fault memory again, ignition on.',
  'codes.need.permanent':
    'A permanent code stays until the control unit has tested the repair itself: drive on, then read again.',
  'codes.need.cleared': 'Codes were cleared less than a drive ago: drive on, then read again.',
  'codes.need.monitors':
    '.input {$n :number}\n.match $n\none {{One monitor is not complete: drive on until it is, then read again.}}\n* {{{$n} monitors are not complete: drive on until they are, then read again.}}',
} as const satisfies Messages<Omit<VehicleSays, `${string}.rule`>>;
