/** English: boost. */
export const boost = {
  'boost.good-range':
    'From {$fromRpm :rpm bare=yes} to {$toRpm :rpm} at {$fromDemandPct :percent} demand and more, a loss of {$loss :share} or more is excluded.',
  'boost.need.pulls':
    '.input {$pulls :number}\n.match $pulls\n1 {{Drive one more pull from {$fromRpm :rpm bare=yes} to {$toRpm :rpm} at {$fromDemandPct :percent} demand and more, in one gear, held for {$holdS :duration}, coolant from {$warmC :temp}.}}\n* {{Drive {$pulls :num} more pulls from {$fromRpm :rpm bare=yes} to {$toRpm :rpm} at {$fromDemandPct :percent} demand and more, in one gear, held for {$holdS :duration}, coolant from {$warmC :temp}.}}',
  'boost.need.one-day':
    'From day to day boost differs here as much as what is to be told apart. Compare before and after on one day, {$pulls :num} pulls each, from {$fromRpm :rpm bare=yes} to {$toRpm :rpm} at {$fromDemandPct :percent} demand and more, in one gear, held for {$holdS :duration}, coolant from {$warmC :temp}.',
} as const;
