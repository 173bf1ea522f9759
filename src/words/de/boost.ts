/** Deutsch: Ladedruck. */
export const boost = {
  'boost.good-range':
    'Von {$fromRpm :rpm bare=yes} bis {$toRpm :rpm} ab {$fromDemandPct :percent} Pedal ist ein Verlust von {$loss :share} oder mehr ausgeschlossen.',
  'boost.need.pulls':
    '.input {$pulls :number}\n.match $pulls\n1 {{Noch eine Volllastbeschleunigung von {$fromRpm :rpm bare=yes} bis {$toRpm :rpm} ab {$fromDemandPct :percent} Pedal fahren, in einem Gang, {$holdS :duration} gehalten, Kühlmittel ab {$warmC :temp}.}}\n* {{Noch {$pulls :num} Volllastbeschleunigungen von {$fromRpm :rpm bare=yes} bis {$toRpm :rpm} ab {$fromDemandPct :percent} Pedal fahren, in einem Gang, {$holdS :duration} gehalten, Kühlmittel ab {$warmC :temp}.}}',
  'boost.need.one-day':
    'Von Tag zu Tag schwankt der Ladedruck hier so stark wie das, was zu unterscheiden ist. Vorher und nachher am selben Tag vergleichen, je {$pulls :num} Volllastbeschleunigungen von {$fromRpm :rpm bare=yes} bis {$toRpm :rpm} ab {$fromDemandPct :percent} Pedal, in einem Gang, {$holdS :duration} gehalten, Kühlmittel ab {$warmC :temp}.',
} as const;
