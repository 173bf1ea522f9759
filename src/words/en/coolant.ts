/** English: coolant. */
export const coolant = {
  'coolant.highest': 'highest {$value}',
  'coolant.median': 'median {$value}',
  'coolant.source.profile': '{$from :name of=coolant-from}',
  'coolant-from.entered': 'entered',
  'coolant-from.handbook': 'handbook',
  'coolant-from.baseline run': 'baseline drives',
  'coolant-from.default': 'default: common practice, no source',
  'coolant.source.default': 'default: common practice, no source',
  'coolant.source.baseline': 'baseline drives',
  'coolant.source.run': 'plateau of this drive',
  'coolant.source.envelope':
    'plateau of {$plateauC :temp finer=1} and {$allowC :diff finer=1} that this driving explains',
  'coolant.source.above': 'plateau of {$plateauC :temp finer=1} and {$aboveC :diff finer=1}',
  'coolant.source.envelope-assumed':
    '{$plateauC :temp finer=1}, where a plateau may lie at most, and {$allowC :diff finer=1} that this driving explains',
  'coolant.source.above-assumed':
    '{$plateauC :temp finer=1}, where a plateau may lie at most, and {$aboveC :diff}',
  'coolant.source.heat-capacity': 'heat capacity of the coolant: common practice, no source',
  'coolant.points.fan-or-flow':
    'fan or airflow through the radiator, or no circulation: it climbs standing, and the drive shows no more',
  'coolant.points.fan': 'fan or airflow through the radiator: it climbs standing or crawling',
  'coolant.points.flow':
    'coolant flow: pump, slipping belt, thermostat or blocked radiator: it had reached its plateau, climbed, and came back as less heat was put in',
  'coolant.points.flow-or-none':
    'coolant flow, or no circulation: pump, slipping belt, thermostat, level or blocked radiator: the drive does not tell the two apart',
  'coolant.points.no-circulation':
    'no circulation or coolant lost: thermostat stuck shut, pump, level: it climbs and reached no plateau',
  'coolant.points.open': 'thermostat stays open',
  'coolant.points.open-or-sensor':
    'thermostat stays open, or a coolant sensor whose reading stands still: check the sensor first',
  'coolant.points.air': 'air in the system or low level; else the sensor’s contact',
  'coolant.points.fan-wiring': 'fan, its wiring or its switch',
  'coolant.points.weeping': 'thermostat weeping, or the heater full on',
  'coolant.points.codes': 'what the code says',
  'coolant.seen.settled':
    'Settled for {$overS :duration}, {$movingS :duration} of it on the move; between {$lowC :temp} and {$highC :temp} since it first reached its plateau.',
  'coolant.seen.settled-stood':
    'Settled for {$overS :duration}, {$movingS :duration} of it on the move; since it first reached its plateau between {$lowC :temp} and {$highC :temp} on the move, slow or at a stand up to {$stoodC :temp}.',
  'coolant.seen.left-out':
    '{$n :num} of {$of :num} readings in all were left out, as no coolant does what they say; this rests on the others.',
  'coolant.seen.limit':
    'Coolant at the limit of {$limitC :temp}: peak {$peakC :temp}, {$slope :says} Stop when safe; never open a hot cooling system.',
  'coolant.seen.climb':
    'Plateau {$plateauC :temp finer=1}; this driving explains {$allowC :diff finer=1} above it. The coolant came to {$saidC :temp finer=1} when it was said and {$peakC :temp finer=1} at most, {$slope :says} Stop when safe; never open a hot cooling system.',
  'coolant.seen.far':
    'Coolant far above its plateau of {$plateauC :temp finer=1}: peak {$peakC :temp finer=1}, {$slope :says} Stop when safe; never open a hot cooling system.',
  'coolant.seen.climb-assumed':
    'Where this engine settles was not proved by then, its plateau is taken to lie at {$plateauC :temp finer=1} at most; this driving explains {$allowC :diff finer=1} above it. The coolant came to {$saidC :temp finer=1} when it was said and {$peakC :temp finer=1} at most, {$slope :says} Stop when safe; never open a hot cooling system.',
  'coolant.seen.far-assumed':
    'Where this engine settles was not proved by then, its plateau is taken to lie at {$plateauC :temp finer=1} at most. Coolant far above that: peak {$peakC :temp finer=1}, {$slope :says} Stop when safe; never open a hot cooling system.',
  'coolant.seen.slope':
    '{$perMinC :diff finer=1}/min ({$lowC :diff finer=1 bare=yes} to {$highC :diff finer=1 bare=yes}) when said.',
  'coolant.seen.too-cold':
    '{$activeS :duration} of driving that warms an engine, and the coolant stands at {$ectC :temp}; the last {$overS :duration} of it changed it by {$riseC :diff finer=1}. Check the thermostat.',
  'coolant.seen.plateau': 'Settled at {$plateauC :temp finer=1}.',
  'coolant.seen.plateau-left': 'Settled at {$plateauC :temp finer=1}, and climbed away from it.',
  'coolant.seen.jumps':
    '{$swings :num} swings of up to {$largestC :diff finer=1}. Let it cool, check the level, bleed the system. Stop when safe; never open a hot cooling system.',
  'coolant.seen.no-fan':
    'Standing, the coolant came to {$ectC :temp} and did not fall; the fan should cut in at {$onC :temp}. Stop when safe; never open a hot cooling system.',
  'coolant.seen.fan': 'Standing, the coolant rose and was cooled down again.',
  'coolant.seen.fan-climbed':
    'Standing, the coolant rose and was cooled down again, but during a climb: that does not show the fan good.',
  'coolant.seen.warm-up':
    '{$fromC :temp} to {$toC :temp} took {$overS :clock} min, started at {$startC :temp}.',
  'coolant.seen.warm-up-air':
    '.input {$drives :number}\n.match $drives\n1 {{{$perC :num} units of heat per kelvin; 1 baseline drive of this vehicle lets one expect {$expected :num} in air of {$airC :temp}.}}\n* {{{$perC :num} units of heat per kelvin; {$drives :num} baseline drives of this vehicle let one expect {$expected :num} in air of {$airC :temp}.}}',
  'coolant.seen.code-alone':
    'Code {$code} is in the fault memory as read after the work; no codes were read before the work.',
  'coolant.seen.code':
    'Code {$code} is in the fault memory as read after the work; no reading before the work shows it.',
  'coolant.needs.signal': 'No coolant temperature was recorded: choose a signal for it.',
  'coolant.needs.climb-first':
    'The coolant climbed: find the cause before this is driven or idled for; then drive again.',
  'coolant.needs.thermostat-first': 'The coolant stays cold: put that right first, then drive again.',
  'coolant.needs.sensor-first':
    'The coolant sensor or its wiring is at fault: put that right first, then drive again.',
  'coolant.needs.settle':
    'The coolant did not settle: drive on until it holds still, then {$moreS :duration asked=yes} more at {$kmh :speed} or above.',
  'coolant.needs.no-plateau':
    'The coolant climbed to {$nowC :temp} and reached no plateau: let it cool down, check level and fan, then drive again and watch it.',
  'coolant.needs.more': 'Drive {$moreS :duration asked=yes} more with the coolant settled.',
  'coolant.needs.moving':
    'With the coolant settled drive {$moreS :duration asked=yes} more at {$kmh :speed} or above.',
  'coolant.needs.restless':
    'The coolant reading is restless: check the level and the sensor, let out air, then drive again.',
  'coolant.needs.frozen': 'The coolant reading did not move at all: check the sensor, then drive again.',
  'coolant.needs.near-limit':
    'The coolant came within {$readingC :diff} of the limit: check the level once it is cold, then drive again and watch it.',
  'coolant.needs.high-plateau':
    'The coolant settled at {$plateauC :temp finer=1}, above the known {$knownC :temp finer=1}: check level, radiator, pump and thermostat, then drive again.',
  'coolant.needs.above-usual':
    'The coolant settled at {$plateauC :temp finer=1}, above where most engines do ({$usualC :temp}), and nothing says where this one does: enter the opening temperature of its thermostat, or give healthy drives of this vehicle.',
  'coolant.needs.unproved':
    'On the move the coolant came to {$highC :temp finer=1}, far above {$plateauC :temp finer=1} where it settled, and the drive did not show that the thermostat lets it: hold {$kmh :speed} or more for {$overS :duration} under steady load, or enter the opening temperature of the thermostat.',
  'coolant.needs.fan-unanswered':
    'A stand brought the coolant to {$highC :temp} or above and it was not seen to come back: let the warm engine idle until the fan has cut in and out, hands and cables clear of belt and fan.',
  'coolant.needs.high-at-end':
    'The coolant stood high when the drive ended: drive on until it is back at its plateau, or the climb is plain.',
  'coolant.needs.hot-at-end':
    'The recording ended with the coolant at {$nowC :temp}: let it cool down, check level and fan, before anything more is driven.',
  'coolant.needs.low-plateau':
    'The coolant settled at {$plateauC :temp finer=1}: enter the thermostat’s opening temperature, or give a healthy drive of this vehicle.',
  'coolant.needs.below-known':
    'The coolant settled at {$plateauC :temp finer=1}, below the known {$knownC :temp finer=1}: drive on at a steady {$kmh :speed} or above.',
  'coolant.needs.asked':
    'With the coolant settled drive {$moreS :duration asked=yes} more at {$kmh :speed} or above, under some load.',
  'coolant.needs.sagged':
    'The coolant sagged below its plateau: drive on at a steady {$kmh :speed} or above until it holds still.',
  'coolant.needs.quicker':
    'Ask for the coolant temperature more often: a reading every {$everyS :seconds finer=1} shows bubbles.',
  'coolant.needs.fan':
    'Fan: not asked. Let the warm engine idle until the fan has cut in and out, hands and cables clear of belt and fan.',
  'coolant.needs.fan-asked':
    'A stand raised the coolant and ended before it came back: let the warm engine idle until the fan has cut in and out, hands and cables clear of belt and fan.',
  'coolant.needs.fan-above-own':
    'Standing, the coolant came to {$highC :temp} and was not seen to come back; in the baseline drives of this vehicle it was turned around at {$ownC :temp} at the latest: look at the fan, its fuse, relay and wiring, then let the warm engine idle and watch the temperature.',
  'coolant.needs.fan-hot':
    'Standing, the coolant came to {$highC :temp}, where a fan is due on most cars, and was not seen to come back: look at the fan, its fuse, relay and wiring, then let the warm engine idle and watch the temperature.',
  'coolant.needs.fan-hot-back':
    'Standing, the coolant came to {$highC :temp}, where a fan is due on most cars, and fell again; that the fan did it these readings do not tell: let the warm engine idle until the fan has cut in and out, hands and cables clear of belt and fan.',
  'coolant.needs.cold-start':
    'The engine was warm at the start: begin with the coolant at {$fromC :temp} or colder to show the warm-up.',
  'coolant.needs.warm-up':
    'Record from a cold start to {$toC :temp}, mostly on the move, with air mass, or with manifold pressure and engine speed.',
  'coolant.needs.warm-up-baseline':
    'Nothing to compare the warm-up with: give healthy cold starts of this vehicle.',
  'coolant.needs.warm-up-more':
    '.input {$drives :number}\n.match $drives\n0 {{The warm-up was not shown to be slow, but no healthy cold start of this vehicle tells closely enough what it should take to exclude {$excluded :num finer=1} times the heat: add one.}}\n1 {{The warm-up was not shown to be slow, but one healthy cold start tells too little of what it should take to exclude {$excluded :num finer=1} times the heat: add another.}}\n* {{The warm-up was not shown to be slow, but {$drives :num} healthy cold starts tell too little of what it should take in this air to exclude {$excluded :num finer=1} times the heat: add another.}}',
  'coolant.needs.warm-up-again':
    'The warm-up was slower than the baseline drives let one expect, not surely so: repeat the cold start with the heater off.',
  'coolant.spoken.limit': 'Coolant at {$nowC :temp}. Stop when safe; never open a hot cooling system.',
  'coolant.spoken.climb': 'Coolant climbs, {$nowC :temp}. Stop when safe; never open a hot cooling system.',
  'coolant.spoken.climb-within':
    'Coolant climbs, {$nowC :temp}. At this rate {$limitC :temp} within {$toMin :num} min. Stop when safe; never open a hot cooling system.',
  'coolant.spoken.climb-soon':
    'Coolant climbs, {$nowC :temp}. At this rate {$limitC :temp} in {$fromMin :num} to {$toMin :num} min. Stop when safe; never open a hot cooling system.',
  'coolant.spoken.watch':
    'Coolant {$nowC :temp} and rising, more than this driving explains. Keep an eye on it.',
  'coolant.spoken.no-plateau':
    'Coolant climbs, {$nowC :temp}, and has reached no plateau. Keep an eye on it.',
  'coolant.spoken.jumps': 'Coolant temperature jumps: look for air in the system. Stop when safe.',
  'coolant.spoken.fan':
    'Coolant {$nowC :temp} and the fan has not brought it down: stop the engine when safe.',
  'coolant.spoken.too-cold':
    'Coolant stays cold at {$nowC :temp}: check the thermostat back in the workshop.',
  'coolant.spoken.warm-up': 'The coolant warmed up too slowly: check the thermostat back in the workshop.',
  'coolant.spoken.watch-high': 'Coolant {$nowC :temp} and rising. Keep an eye on it.',
  'coolant.view.watch-high': 'Coolant {$nowC :temp}. Keep an eye on it.',
  'coolant.view.watch': 'Coolant {$nowC :temp}, more than this driving explains. Keep an eye on it.',
  'coolant.view.no-plateau': 'Coolant {$nowC :temp}, and it has reached no plateau. Keep an eye on it.',
  'coolant.view.near-limit':
    'Coolant {$nowC :temp}, the limit is {$limitC :temp}. Stop where it is safe and let it cool.',
  'coolant.view.jumps': 'The coolant reading jumps, now {$nowC :temp}: look for air in the system.',
  'coolant.view.none': 'No coolant temperature.',
  'coolant.view.state': `.input {$state :string} .match $state cold {{Coolant cold at {$nowC :temp}.}}
warming {{Coolant warming at {$nowC :temp}.}}
opening {{Coolant opening at {$nowC :temp}.}}
settling {{Coolant settling at {$nowC :temp}.}}
settled {{Coolant settled at {$nowC :temp}.}}
* {{Coolant {$nowC :temp}.}}`,
} as const;
