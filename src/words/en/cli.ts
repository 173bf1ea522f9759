/** English: what the command line prints of itself. */
export const cli = {
  'cli.next': '    next: {$what :says}',
  'cli.compare.region': '{$verdict}  {$region :says}; {$before :num} and {$after :num} matching pulls',
  'cli.compare.effect':
    '{$verdict}  {$region :says}: {$effect :percent finer=1 sign=always} ({$low :percent finer=1 sign=always bare=yes} to {$high :percent finer=1 sign=always}), {$kpa :pressure finer=1 sign=always}; {$before :num} and {$after :num} matching pulls',
  'cli.compare.tipIn': 'rise at tip-in, after one second',
  'cli.compare.plateau': 'coolant plateau',
  'cli.compare.warmUp': 'warm-up, heat per degree',
  'cli.compare.points':
    '{$n :num} operating points, {$decided :num} of them decided by themselves (--json lists all)',
  'cli.compare.back': 'Come-back against after:',
} as const;
