/** English: what the command line prints of itself. */
export const cli = {
  'cli.at': 'Handback is at {$url}',
  'cli.runs-already': 'Handback runs already, at {$url}',
  'cli.elsewhere': 'From another device on this network: {$url}',
  'cli.report': '{$path}: read it before you send it.',
  'cli.open': 'Open {$url} in a browser.',
  'cli.port-taken':
    '.input {$who :string}\n.match $who\nhandback {{Port {$port} is held by another Handback, with another library: the next free one is taken.}}\n* {{Port {$port} is held by another program: the next free one is taken.}}',
  'cli.next': '      next: {$what :says}',
  'cli.judge.run':
    '.input {$pulls :number}\n.match $pulls\none {{{$path}: {$min :num finer=1} min, {$pulls} pull}}\n* {{{$path}: {$min :num finer=1} min, {$pulls} pulls}}',
  'cli.judge.system': '  {$system :name of=system}: {$verdict :name of=verdict}',
  'cli.judge.not-asked': '  {$system :name of=system}: not asked',
  'cli.judge.finding': '  {$verdict}  {$id}',
  'cli.judge.points': '  {$verdict}  {$id}: points to {$to :says}',
  'cli.judge.spoken': '      spoken at {$at :clock}',
  'cli.judge.measured': '      measured {$value} ({$low} to {$high})',
  'cli.judge.limit': '      limit {$limit} ({$source :says})',
  'cli.judge.evidence': '      {$from :clock} to {$to :clock}: {$text :says}',
  'cli.judge.more': '      … and {$n :num} more (--json lists all)',
  'cli.judge.part': 'Part {$number :num} of {$of :num}, from {$startsAtS :clock} on:',
  'cli.clear.saved': 'Saved as {$path}',
  'cli.clear.rpm': 'Engine speed: {$rpm :rpm}.',
  'cli.clear.no-rpm': 'Engine speed: not told by any control unit.',
  'cli.clear.speed': 'Vehicle speed: {$kmh :speed}.',
  'cli.clear.no-speed': 'Vehicle speed: not told by any control unit.',
  'cli.clear.both-zero': 'Both must be zero, ignition on.',
  'cli.clear.erases':
    'Clearing erases codes and freeze frames and resets readiness: the evidence is then only in the file.',
  'cli.clear.ask': 'Type "{$words}" to clear, anything else to leave all as it is:',
  'cli.clear.unit': 'Control unit {$ecu}: {$end :says}',
  'cli.clear.cleared': 'cleared',
  'cli.ports.none': 'No serial port found. Plug the adapter in, or practise with --link sim.',
  'cli.ports.likely': 'likely an adapter',
  'cli.codes.vin': 'VIN {$vin}',
  'cli.codes.no-vin': 'VIN not given',
  'cli.codes.unit': 'Control unit {$ecu}, lamp: {$lamp :says}',
  'cli.codes.code': '  {$list :name of=list} {$code}  {$meaning :says}',
  'cli.codes.none': '  no codes',
  'cli.codes.open':
    '  not complete: {$monitors :says list=yes}. “No codes” shows nothing about these: drive on until they are complete.',
  'cli.codes.itself': '  says of itself: {$text}',
  'cli.codes.frozen': '  freeze frame: {$what} {$value}',
  'cli.codes.unanswered': 'Nobody answered: {$service :name of=service}. That is not the same as none.',
  'cli.sheet.changed': 'Not as it was recorded: {$runs}. The sheet says so.',
  'cli.sheet.made': 'Hand-over sheet in {$file}',
  'cli.jobs.nothing': '    nothing driven yet',
  'cli.jobs.loose':
    '.input {$n :number}\n.match $n\none {{One run belongs to no job.}}\n* {{{$n} runs belong to no job.}}',
  'cli.jobs.taken-in': 'Job {$id} is in the library.',
  'cli.sim.route': 'Route {$route}, {$min :num} min. Ctrl-C ends it.',
  'cli.compare.region': '{$verdict}  {$region :says}; {$before :num} and {$after :num} matching pulls',
  'cli.compare.effect':
    '{$verdict}  {$region :says}: {$effect :percent finer=1 sign=always} ({$low :percent finer=1 sign=always bare=yes} to {$high :percent finer=1 sign=always}), {$kpa :pressure finer=1 sign=always}; {$before :num} and {$after :num} matching pulls',
  'cli.compare.tipIn': 'rise at tip-in, after one second',
  'cli.compare.plateau': 'coolant plateau',
  'cli.compare.warmUp': 'warm-up, heat per degree',
  'cli.compare.points':
    '{$n :num} operating points, {$decided :num} of them decided by themselves (--json lists all)',
  'cli.compare.back': 'Come-back against after:',
  'cli.left': '{$left :duration} left',
  'cli.compress.doing': 'Compressing',
  'cli.doing.judge': 'Judging',
  'cli.doing.read': 'Reading',
  'cli.doing.learn': 'Learning from baseline runs',
  'cli.doing.kind': 'Learning from other cars of the kind',
  'cli.doing.check': 'Checking',
  'cli.doing.check-kept': 'Checking what was kept',
  'cli.check.kept':
    'Caches that agree: {$agree :num} of {$n :num}. Only the seal was looked at: {$sealed :num}.',
  'cli.doing.pack': 'Packing',
  'cli.doing.unpack': 'Taking in',
  'cli.doing.sheet': 'Making the sheet',
  'cli.doing.practice': 'Driving the practice jobs',
  'cli.compress.done':
    'Compressed: {$compressed :num} ({$plainMb :num finer=1} MB, now {$mb :num finer=1} MB). Before already: {$already :num}. Being recorded or never closed: {$open :num}. Not as recorded, left alone: {$changed :num}.',
  'cli.pool.leaves': 'What leaves the library. Jobs: {$cases :num}. Drives: {$runs :num}.',
  'cli.pool.never':
    'What does not: plates, names of people, places, hours of the day, photos, notes, complaints. The VIN leaves as a name made with a secret that stays on this computer, and as its positions 1 to 8 and 10.',
  'cli.pool.columns': '{$table}: {$columns}',
  'cli.pool.texts': 'What was typed and leaves as it stands here:',
  'cli.pool.no-texts': 'Nothing that was typed leaves.',
  'cli.pool.text': '    {$text}',
  'cli.pool.not-yet': 'Nothing has been taken in. If that is what shall leave, say it again with --yes.',
  'cli.pool.taken':
    'Taken in. Jobs: {$cases :num}. Drives: {$runs :num}. There already, unchanged: {$unchanged :num}. Of cars taken out for good: {$forgotten :num}.',
  'cli.pool.tidied': 'Files: {$before :num} before, {$after :num} now.',
  'cli.pool.forgotten':
    'Taken out. Jobs: {$cases :num}. Drives: {$runs :num}. Files searched: {$files :num}, all of them. Rows of the car left: {$left :num}.',
  'cli.pool.no-rows': 'No rows.',
  'cli.judge.shared':
    'Judged: {$judged :num}. There already: {$there :num}. In other shares: {$others :num}.',
  'cli.kinds.kind': `.input {$jobs :number}
.match $jobs
one {{{$kind}: {$jobs :num} job}}
* {{{$kind}: {$jobs :num} jobs}}`,
  'cli.kinds.none': `.input {$jobs :number}
.match $jobs
one {{no engine stated: {$jobs :num} job}}
* {{no engine stated: {$jobs :num} jobs}}`,
  'cli.kinds.descriptor': '    VIN {$descriptor}: {$jobs :num}',
  'cli.kinds.suggested': '    {$job}: others alike say {$engine} ({$jobs :num})',
  'cli.kinds.merge': 'Merged: {$from} counts as {$into}.',
  'cli.kinds.split': 'Split: of {$from} those with VIN {$descriptor} count as {$into}.',
  'cli.kinds.undone': 'Taken back.',
  'cli.kinds.nothing': 'There is nothing to take back or to do again.',
  'cli.kinds.stated': '{$job} is of the kind {$kind}.',
} as const;
