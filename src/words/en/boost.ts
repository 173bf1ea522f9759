/** English: boost. */
export const boost = {
  'boost.good-range':
    '.input {$toDemandPct :number}\n.match $toDemandPct\n100 {{From {$fromRpm :rpm bare=yes} to {$toRpm :rpm} at {$fromDemandPct :percent} demand and more, a loss of {$loss :share} or more in the mean is excluded.}}\n* {{From {$fromRpm :rpm bare=yes} to {$toRpm :rpm} at {$fromDemandPct :percent bare=yes} to {$toDemandPct :percent} demand, a loss of {$loss :share} or more in the mean is excluded.}}',
  'boost.need.pulls':
    '.input {$pulls :number}\n.match $pulls\n1 {{Drive one more pull from {$fromRpm :rpm bare=yes} to {$toRpm :rpm} at {$fromDemandPct :percent} demand and more, in one gear, held for {$holdS :duration}, coolant from {$warmC :temp}.}}\n* {{Drive {$pulls :num} more pulls from {$fromRpm :rpm bare=yes} to {$toRpm :rpm} at {$fromDemandPct :percent} demand and more, in one gear, held for {$holdS :duration}, coolant from {$warmC :temp}.}}',
  'boost.need.one-day':
    'From day to day boost differs here as much as what is to be told apart. Compare before and after on one day, {$pulls :num} pulls each, from {$fromRpm :rpm bare=yes} to {$toRpm :rpm} at {$fromDemandPct :percent} demand and more, in one gear, held for {$holdS :duration}, coolant from {$warmC :temp}.',
  'boost.need.own-baseline':
    '.input {$cars :number}\n.match $cars\n1 {{From car to car boost may differ by {$within :share} here, as much as what is to be told apart. Against 1 other car of this kind no number of pulls settles it: give a healthy drive of this vehicle as baseline, with {$pulls :num} pulls from {$fromRpm :rpm bare=yes} to {$toRpm :rpm} at {$fromDemandPct :percent} demand and more, held for {$holdS :duration}, coolant from {$warmC :temp}.}}\n* {{From car to car boost may differ by {$within :share} here, as much as what is to be told apart. Against {$cars :num} other cars of this kind no number of pulls settles it: give a healthy drive of this vehicle as baseline, with {$pulls :num} pulls from {$fromRpm :rpm bare=yes} to {$toRpm :rpm} at {$fromDemandPct :percent} demand and more, held for {$holdS :duration}, coolant from {$warmC :temp}.}}',
  'boost.need.like-air':
    'The air was at {$airC :temp}, in the healthy drives it is compared with at {$taughtC :temp} on average. They do not tell well enough how much such a difference moves the boost of this engine: drive again in air like theirs, or add healthy drives on warmer and colder days.',
  'boost.need.air-unread':
    'The temperature of the air was not read, here or in the healthy drives this one is compared with, and it may move boost by as much as is to be told apart: read ambient or intake air temperature in all of them, and compare drives in air of like temperature.',
  'boost.need.untaught':
    'From {$fromRpm :rpm bare=yes} to {$toRpm :rpm} it was driven at {$fromDemandPct :percent} demand and more, but for most of it nothing says how much boost was due: add a healthy drive that went there.',
  'boost.need.above':
    'From {$fromRpm :rpm bare=yes} to {$toRpm :rpm} at {$fromDemandPct :percent} demand and more boost lies well above what the drives gave that teach: these were weaker, and rule out no loss. Add another healthy drive that went there.',
  'boost.need.left-out':
    'From {$fromRpm :rpm bare=yes} to {$toRpm :rpm} it was driven at {$fromDemandPct :percent} demand and more, but those readings were not believed: pressure or pedal stood still, or the driver was lifting off. Go there in another drive and hold the demand for {$holdS :duration}; if it comes again, look at the pressure sensor and the pedal readings.',
  'boost.guess.belt':
    'it looks driven by a belt: boost comes {$afterS :seconds finer=1} after the tip-in below {$belowRpm :rpm} and reaches {$topKpa :pressure}',
  'boost.guess.turbo': 'it looks turbocharged: boost reaches {$topKpa :pressure}',
  'boost.guess.none':
    'it looks naturally aspirated, or no charger gives anything: no boost in {$pulls :num} pulls at full demand',
  'boost.source.profile': 'profile ({$from :name of=profile-source})',
  'boost.source.commanded': 'commanded boost of the engine control unit',
  'boost.source.baseline': 'baseline run',
  'boost.source.air': 'air mass of the baseline runs',
  'boost.source.default': 'default: common practice, no source',
  'boost.points.clutch': 'clutch does not close, drive or wiring to it, control flap stays open',
  'boost.points.clutch-or-late':
    'clutch does not close or closes late, drive or wiring to it, control flap stays open',
  'boost.points.clutch-or-slip':
    'clutch does not close or slips, drive or wiring to it, bypass flap stays open',
  'boost.points.belt': 'belt slips, bypass flap stays open, leak on the pressure side',
  'boost.points.changeover': 'late turbocharger or control flap',
  'boost.points.turbo': 'turbocharger, its actuator, its pipes',
  'boost.points.turbo-slow': 'turbocharger slow to answer, its actuator or vanes',
  'boost.points.turbo-slow-or-leak':
    'turbocharger slow to answer, its actuator or vanes, or a leak on the pressure side',
  'boost.points.turbo-or-leak': 'turbocharger, its actuator, its pipes, or a leak on the pressure side',
  'boost.points.leak': 'leak on the pressure side',
  'boost.points.leak-air':
    'leak on the pressure side: more air is measured than the manifold pressure accounts for',
  'boost.points.leak-everywhere': 'leak on the pressure side (boost is short at all speeds)',
  'boost.points.leak-or-sensor': 'leak on the pressure side; else MAP reads low or the air mass meter high',
  'boost.points.slip': 'clutch or belt slips, or control flap does not close fully',
  'boost.points.slip-or-late':
    'clutch or belt slips, clutch closes late, or control flap does not close fully',
  'boost.points.slip-or-leak-alone':
    'clutch or belt slips, or control flap does not close fully, or a leak on the pressure side',
  'boost.points.slip-late-or-leak':
    'clutch or belt slips, clutch closes late, or control flap does not close fully, or a leak on the pressure side (pulls from {$fromRpm :rpm bare=yes} to {$toRpm :rpm} tell the leak apart, sudden tip-ins read often the rest)',
  'boost.points.slip-or-leak':
    'clutch or belt slips, or control flap does not close fully, or a leak on the pressure side (pulls from {$fromRpm :rpm bare=yes} to {$toRpm :rpm} tell them apart)',
  'boost.points.contact': 'intermittent coil, connector, worn clutch',
  'boost.points.hangs': 'actuator or control line that hangs, loose pipe',
  'boost.points.control': 'boost control, over-boost',
  'boost.points.control-or-teacher':
    'boost control, over-boost; or the earlier drive that set the limit was itself weak: check it against the handbook',
  'boost.points.closes-late': 'clutch closes late: slip, low voltage, control flap',
  'boost.points.does-not-open': 'clutch does not open: stuck plate, air gap, control',
  'boost.points.map': 'MAP sensor, its wiring or its hose',
  'boost.points.map-or-baro': 'MAP sensor or barometric sensor',
  'boost.seen.range': '{$fromRpm :rpm bare=yes} to {$toRpm :rpm}',
  'boost.seen.range-in-gear':
    '{$fromRpm :rpm bare=yes} to {$toRpm :rpm} in the gear that makes {$kmh :speed} at {$atRpm :rpm}',
  'boost.seen.pull': '{$range :says}: boost {$boostKpa :pressure}.',
  'boost.seen.pull-due':
    '{$range :says}: boost {$boostKpa :pressure}; any healthy engine brings {$leastKpa :pressure} or more there.',
  'boost.seen.pull-due-by-demand':
    '{$range :says}: boost {$boostKpa :pressure}; any healthy engine brings {$lowKpa :pressure} or more there, and {$highKpa :pressure} from {$highFromPct :percent} demand on: {$leastKpa :pressure} in the mean of this pull.',
  'boost.seen.pull-expected':
    '{$range :says}: boost {$boostKpa :pressure}, {$expectedKpa :pressure} expected ({$deviation :share sign=always}).',
  'boost.seen.shape':
    'At full demand boost from {$fromRpm :rpm bare=yes} to {$toRpm :rpm} was {$share :share} of that from {$belowRpm :rpm bare=yes} to {$belowToRpm :rpm} ({$low :share} to {$high :share}). One sound turbo-diesel gave {$usual :share} (standard deviation {$usualSd :share} between drives); other engines may take it back higher up, so this is no verdict.',
  'boost.seen.surest':
    '.input {$pulls :number}\n.match $pulls\n1 {{Surest from {$fromRpm :rpm bare=yes} to {$toRpm :rpm} at {$fromDemandPct :percent} demand and more: {$byKpa :pressure sign=always} against {$expectedKpa :pressure} expected ({$deviation :share sign=always}), in one pull.}}\n* {{Surest from {$fromRpm :rpm bare=yes} to {$toRpm :rpm} at {$fromDemandPct :percent} demand and more: {$byKpa :pressure sign=always} against {$expectedKpa :pressure} expected ({$deviation :share sign=always}), over {$pulls :num} pulls.}}',
  'boost.seen.onset': 'Boost came {$afterS :seconds finer=1} after the tip-in.',
  'boost.seen.light-manifold':
    'Manifold {$gaugeKpa :pressure sign=always} against barometric at steady light demand.',
  'boost.seen.light-charge':
    'Charge pressure {$gaugeKpa :pressure sign=always} against barometric at steady light demand.',
  'boost.seen.map-frozen':
    'MAP stayed at {$mapKpa :pressure} while engine speed went from {$fromRpm :rpm bare=yes} to {$toRpm :rpm}. Check the sensor before judging boost.',
  'boost.seen.map-above':
    'Engine stopped: MAP is {$byKpa :pressure finer=1} above barometric. Check the sensor before judging boost.',
  'boost.seen.map-below':
    'Engine stopped: MAP is {$byKpa :pressure finer=1} below barometric. Check the sensor before judging boost.',
  'boost.need.baseline-pulls':
    '.input {$pulls :number}\n.match $pulls\n1 {{Give a healthy drive of this vehicle as baseline (or its expected boost), and drive one more pull: full pedal ({$fromDemandPct :percent} demand or more) for {$holdS :duration} or longer in one gear, from {$fromRpm :rpm bare=yes} to {$toRpm :rpm}, coolant from {$warmC :temp}.}}\n* {{Give a healthy drive of this vehicle as baseline (or its expected boost), and drive {$pulls :num} more pulls: full pedal ({$fromDemandPct :percent} demand or more) for {$holdS :duration} or longer in one gear, from {$fromRpm :rpm bare=yes} to {$toRpm :rpm}, coolant from {$warmC :temp}.}}',
  'boost.need.baseline-engagements':
    '.input {$pulls :number}\n.match $pulls\n1 {{Give a healthy drive of this vehicle as baseline (or its expected boost), and drive one more engagement: full pedal ({$fromDemandPct :percent} demand or more) for {$holdS :duration} or longer in one gear, from {$fromRpm :rpm bare=yes} to {$toRpm :rpm}, coolant from {$warmC :temp}.}}\n* {{Give a healthy drive of this vehicle as baseline (or its expected boost), and drive {$pulls :num} more engagements: full pedal ({$fromDemandPct :percent} demand or more) for {$holdS :duration} or longer in one gear, from {$fromRpm :rpm bare=yes} to {$toRpm :rpm}, coolant from {$warmC :temp}.}}',
  'boost.need.baseline':
    'Nothing says how much boost was due. Give a healthy drive of this vehicle as baseline (or its expected boost): the pulls of this drive can then be held against it.',
  'boost.need.full-pulls':
    '.input {$pulls :number}\n.match $pulls\n1 {{Drive 1 more full-demand pull from {$fromRpm :rpm bare=yes} to {$toRpm :rpm}.}}\n* {{Drive {$pulls :num} more full-demand pulls from {$fromRpm :rpm bare=yes} to {$toRpm :rpm}.}}',
  'boost.need.map': 'The vehicle gives no MAP: measure boost with a gauge.',
  'boost.need.rpm': 'Record engine speed as well.',
  'boost.need.demand': 'Record pedal position as well: without demand no pull can be told.',
  'boost.need.demand-quicker':
    'The pedal was read too seldom to stand beside MAP: ask for fewer signals, so that MAP, engine speed and pedal position each come every {$everyS :seconds finer=1} or more often.',
  'boost.need.repair-first': 'Boost came at some pulls only: repair that first.',
  'boost.need.elsewhere': 'Boost was missing; see the other boost findings.',
  'boost.need.again':
    'At {$atS :clock} of the run a pull from {$fromRpm :rpm bare=yes} to {$toRpm :rpm} brought {$boostKpa :pressure} where {$expectedKpa :pressure} were due: alone not enough for a fault, and too little to call it good. Hold the same pull for longer in another drive.',
  'boost.need.sensor': 'The pressure reading is at fault, see there; then drive again.',
  'boost.need.sensor-said':
    'At {$atS :clock} of the run a fault was spoken of here by a pressure reading that stood still: it is taken back. See the pressure reading; then drive again.',
  'boost.need.told-otherwise':
    '{$needs :says} The fault spoken of here at {$atS :clock} of the run is taken back.',
  'boost.need.taken-back':
    'At {$atS :clock} of the run a fault was spoken of here; the drive as a whole does not show it. Record the same in another drive before calling it good.',
  'boost.need.press-test': 'Press-test the charge pipes: the data cannot tell a leak from the turbocharger.',
  'boost.need.tip-ins':
    'Drive {$tips :num} sudden tip-ins from light demand to full pedal in the clutch band, hold each for {$holdS :duration}, with as many samples a second as the link gives.',
  'boost.need.light':
    '.input {$pulls :number}\n.match $pulls\n1 {{Hold light demand steady for {$holdS :duration} between {$fromRpm :rpm bare=yes} and {$toRpm :rpm}, then drive one pull above the changeover.}}\n* {{Hold light demand steady for {$holdS :duration} between {$fromRpm :rpm bare=yes} and {$toRpm :rpm}, then drive {$pulls :num} pulls above the changeover.}}',
  'boost.need.stopped':
    'Stay with key on and engine stopped for {$stopS :duration}, with barometric pressure recorded, then drive.',
  'boost.need.baro': 'The vehicle gives no barometric pressure to hold MAP against: check MAP with a gauge.',
  'boost.need.map-moves': 'Then drive: MAP has not moved yet.',
  'boost.need.map-near':
    'With the engine stopped MAP and barometric pressure differ nearly too much: check both with a gauge.',
  'boost.need.induction': 'Enter in the profile how the engine is charged.',
  'boost.need.induction-guessed': 'Enter in the profile how the engine is charged: {$guess :says}.',
  'boost.spoken.clutch-band': 'Boost is missing in the clutch band.',
  'boost.spoken.changeover': 'Boost dips at the changeover.',
  'boost.spoken.above-changeover': 'Boost is short at high engine speed.',
  'boost.spoken.low-speed': 'Boost is short at low engine speed.',
  'boost.spoken.intermittent': 'Boost comes at some pulls only.',
  'boost.spoken.leak': 'Boost is short at all speeds.',
  'boost.spoken.surplus': 'Boost is too high: lift off.',
  'boost.spoken.late': 'Boost comes late.',
  'boost.spoken.clutch-open': 'The supercharger runs when it should not.',
  'boost.spoken.map': 'The MAP reading cannot be trusted.',
  'boost.spoken.check': 'Check: {$points :says}.',
  'boost.view.no-charger': 'No charger on this engine.',
  'boost.view.no-pull': 'No pull yet.',
  'boost.view.missing-now': 'No boost in this pull.',
  'boost.last.missed':
    '.input {$kind :string}\n.match $kind\nengagement {{Last engagement missed: {$boostKpa :pressure}.}}\n* {{Last pull missed: {$boostKpa :pressure}.}}',
  'boost.last.held':
    '.input {$kind :string}\n.match $kind\nengagement {{Last engagement held.}}\n* {{Last pull held.}}',
  'boost.last.short':
    '.input {$kind :string}\n.match $kind\nengagement {{Last engagement short by {$shortfall :share}.}}\n* {{Last pull short by {$shortfall :share}.}}',
  'boost.last.open':
    '.input {$kind :string}\n.match $kind\nengagement {{Last engagement could not be judged.}}\n* {{Last pull could not be judged.}}',
} as const;
