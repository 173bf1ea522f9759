/** English: what a comparison of runs says. */
import type { CompareSays } from '../../compare/says.ts';
import type { Messages } from '../statements.ts';

const MORE = '.input {$pulls :number}\n.match $pulls\n';

export const compare = {
  'compare.rule':
    'Each effect carries its {$confidence :share} interval; pulls are the unit of evidence and the spread between days is in it. Better: the whole interval lies above no change. No worse: the whole interval lies above −{$margin :share}. Worse: the whole interval lies below no change, and reaches below −{$margin :share}. Anything else is not shown. Single points allow for their number (Holm); the regions were named beforehand and stand for themselves.',
  'compare.run': '{$role :name of=run-role} of {$at :datetime}',
  'compare.region.all': 'all',
  'compare.region.supercharger': 'supercharger',
  'compare.region.clutch-band': 'clutch band',
  'compare.region.changeover': 'changeover',
  'compare.region.above-changeover': 'above the changeover',
  'compare.region.turbocharger-low': 'turbocharger below {$rpm :rpm}',
  'compare.region.turbocharger-high': 'turbocharger above {$rpm :rpm}',
  'compare.day.said': 'Both sides were driven on one day, as said; the spread between days cancels.',
  'compare.day.shared':
    'Both sides share a day, by their dates; the spread between days cancels as far as they do.',
  'compare.day.other':
    'The two sides were driven on different days: every interval allows for a spread of {$sd :share} between days (KIT data, one healthy car).',
  'compare.day.unknown':
    'Nothing says that both sides were driven on one day: every interval allows for a spread of {$sd :share} between days (KIT data, one healthy car).',
  'compare.baro.same': 'Barometric pressure was the same on both sides, {$kpa :pressure finer=1}.',
  'compare.baro.brought':
    'Pressures of the later drives were brought from {$fromKpa :pressure finer=1} to {$toKpa :pressure finer=1} barometric, the mean of the earlier ones ({$change :share finer=1 sign=always}).',
  'compare.air':
    'The air was {$beforeC :temp} on the earlier drives and {$afterC :temp} on the later ones: its density by temperature differs by {$density :share finer=1 sign=always}. How this car’s boost moves with it is not known: it is not corrected, and the intervals allow for what any car’s may do.',
  'compare.air-unread':
    'The temperature of the air was not read on every drive, and nothing says that they were of one day: the intervals allow for days as unlike as summer and winter.',
  'compare.gears':
    'Pulls in the same gears are too few ({$regions :says}): they are compared across gears there, with {$allowed :share} allowed for it.',
  'compare.road.matched':
    '.input {$stretches :number}\n.match $stretches\n1 {{On the same stretch of road, in the same direction: {$before :num} of {$ofBefore :num} pulls before and {$after :num} of {$ofAfter :num} after, by satellite receiver. No verdict rests on it.}}\n* {{On the same {$stretches :num} stretches of road, in the same direction: {$before :num} of {$ofBefore :num} pulls before and {$after :num} of {$ofAfter :num} after, by satellite receiver. No verdict rests on it.}}',
  'compare.road.none':
    'None of the {$before :num} pulls before was driven on the same stretch of road, in the same direction, as one of the {$after :num} after, as far as the satellite receiver told the places.',
  'compare.road.few': 'They are too few at the same engine speed and demand for an effect with an interval.',
  'compare.road.effect':
    'Same road, {$region :says}: {$effect :share finer=1 sign=always} ({$low :share finer=1 sign=always} to {$high :share finer=1 sign=always}); all pulls {$allLow :share finer=1 sign=always} to {$allHigh :share finer=1 sign=always}.',
  'compare.road.effect-alone':
    'Same road, {$region :says}: {$effect :share finer=1 sign=always} ({$low :share finer=1 sign=always} to {$high :share finer=1 sign=always}); no interval from all pulls.',
  'compare.power.effect':
    'Left for accelerating and climbing, {$region :says}: {$before :num finer=1} W/kg before (pulls: {$pullsBefore :num}), {$after :num finer=1} W/kg after (pulls: {$pullsAfter :num}); difference {$difference :num finer=1 sign=always} W/kg ({$low :num finer=1 sign=always} to {$high :num finer=1 sign=always}).',
  'compare.power.rests':
    'This rests on ground speed and height of the satellite receiver, in the same gears, corrected for a mean grade of {$before :share finer=1 sign=always} before and {$after :share finer=1 sign=always} after (each pull’s known to {$sd :share finer=1}). It is per kilogram of whatever drove: the mass is not known, and one person more takes some 5 %. Wind, air and the day are not in its interval, what rolling and air take is not added. An observation: no verdict rests on it.',
  'compare.no-run':
    '.input {$role :string}\n.match $role\nafter {{There is no run after.}}\n* {{There is no run before.}}',
  'compare.nothing': 'Nothing was recorded on one of the sides.',
  'compare.vehicles': 'The runs are of different vehicles: {$which :says} Nothing is compared.',
  'compare.vehicle': 'VIN {$vin} in {$run :says}.',
  'compare.inductions':
    'The profiles name different kinds of charging: {$which :says} Boost is not compared. Correct the profile, or give one for all runs.',
  'compare.induction': '{$induction :name of=induction} in {$run :says}.',
  'compare.no-charger': 'This engine has no charger: coolant alone is compared.',
  'compare.missing': '{$run :says}: no {$signal :name of=signal}, and what rests on it is not compared.',
  'compare.unread': `${MORE}1 {{{$run :says}: 1 pull is not compared, as no manifold pressure came with it that is believed.}}\n* {{{$run :says}: {$pulls :num} pulls are not compared, as no manifold pressure came with them that is believed.}}`,
  'compare.no-baro':
    '{$run :says} does not tell barometric pressure, so its altitude is not known: pressures are compared as they are, and the intervals allow for {$allowedKpa :pressure finer=1}.',
  'compare.how': 'full pedal from {$fromRpm :rpm bare=yes} to {$toRpm :rpm} in one gear, held to the end',
  'compare.how-gear':
    'full pedal from {$fromRpm :rpm bare=yes} to {$toRpm :rpm} in the gear that makes {$kmh :speed} at {$atRpm :rpm}, held to the end',
  'compare.need.no-pull-before':
    'The runs before have no full-pedal pull here that can be compared. Before: {$pulls :num} pulls at least (only possible while the car is as it was): {$how :says}. After: the same.',
  'compare.need.after': `${MORE}1 {{One more pull: {$how :says}.}}\n* {{{$pulls :num} more pulls: {$how :says}.}}`,
  'compare.need.no-common':
    'Both sides have pulls here, but at no common engine speed and demand. Drive {$pulls :num} pulls: {$how :says}.',
  'compare.need.few-before':
    'The runs before have too few pulls over the same engine speeds to tell how well they repeat. Before: {$pulls :num} pulls at least (only possible while the car is as it was): {$how :says}.',
  'compare.need.hidden':
    '.input {$by :string}\n.match $by\npulls {{The pulls differ too much from one another for it, however many. Drive {$pulls :num} more, each alike: {$how :says}.}}\nair {{The different air hides it, however many pulls. Drive it in air like that of the earlier drives, {$pulls :num} pulls: {$how :says}.}}\n* {{The spread between days and the different air hide it, however many pulls. Drive it on another day as well, in air like that of the earlier drives, {$pulls :num} pulls: {$how :says}.}}',
  'compare.need.too-few': `${MORE}1 {{The runs before have too few pulls for it. Before: one more (only possible while the car is as it was): {$how :says}.}}\n* {{The runs before have too few pulls for it. Before: {$pulls :num} more (only possible while the car is as it was): {$how :says}.}}`,
  'compare.need.too-few-both':
    'The runs before have too few pulls for it. More pulls before (only possible while the car is as it was): {$pulls :num}; after: {$after :num}; {$how :says}.',
  'compare.need.past':
    'The drives of the visit before hold too little for it, and they cannot be driven again.',
  'compare.need.tip-ins':
    'Three sudden full-pedal tip-ins on each side, each held for {$holdS :seconds}, from the same engine speed (about {$rpm :rpm}).',
  'compare.need.settle':
    '.input {$role :string}\n.match $role\nafter {{The coolant did not settle in the later runs: drive warm for {$minutes :num} minutes more at steady speed.}}\n* {{The coolant did not settle in the runs before: drive warm for {$minutes :num} minutes more at steady speed (only possible while the car is as it was).}}',
  'compare.need.another-run': 'These runs are too few to tell: another one, until the coolant has settled.',
  'compare.need.cold':
    '.input {$role :string}\n.match $role\nafter {{The later runs do not warm up from cold: start with the engine below {$fromC :temp} and drive until {$toC :temp}.}}\n* {{The runs before do not warm up from cold: start with the engine below {$fromC :temp} and drive until {$toC :temp}.}}',
  'compare.need.heat-signals':
    'Heat was measured by different signals on the two sides: record air mass on both sides.',
  'compare.need.air-unknown':
    'The temperature of the air is not known on both sides: record ambient temperature as well.',
  'compare.need.tip-air-apart':
    'The air was {$byC :diff} apart, and boost rises otherwise in cold air: drive it on a day like the first.',
  'compare.need.air-apart':
    'The air was {$byC :diff} apart, and cold air takes more heat: warm up on a day like the first.',
  'compare.need.cold-starts':
    'Cold starts differ by {$sd :share} of themselves: several on each side, in like air, would tell.',
} as const satisfies Messages<CompareSays>;
