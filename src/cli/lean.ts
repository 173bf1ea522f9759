/**
 * A daemon sets limits for the collector before anything else is loaded: 107 MB resident, in place of 137, while values
 * are recorded and five pages watch (`npm run torture -- watched`). Read with each collection, so they need not be
 * there from the start. Whoever gives Node.js limits of his own has those.
 */
import { setFlagsFromString } from 'node:v8';

/** These run for hours; whatever else is typed is over in seconds, and has work to do. */
const LONG = ['serve', 'start', 'record'];
/** Where they were tried, Node.js 20, 22 and 24: an engine that does not know a flag ends the program. */
const TRIED = /^(11\.3|12\.4|13\.6)\./;

const given = [...process.execArgv, process.env.NODE_OPTIONS ?? ''].join(' ');
const command = process.argv.slice(2).find((arg) => !arg.startsWith('-')) ?? '';
if (TRIED.test(process.versions.v8) && LONG.includes(command)) {
  // Of a megabyte of young objects next to none are alive: waking threads for each few dozen milliseconds of them costs
  // more than they help.
  setFlagsFromString('--no-parallel-scavenge');
  if (!given.includes('-space-size')) {
    // Young objects keep the megabyte that they begin with; old ones may grow by 30 % before the dead are collected.
    const youngStaySmall = (): void => setFlagsFromString('--semi-space-growth-factor=1');
    youngStaySmall();
    // With each thread that begins the engine doubles the young objects' room of all again: 33 MB in place of 2.
    process.on('worker', (thread) => thread.once('online', youngStaySmall));
    setFlagsFromString('--heap-growing-percent=30');
    // Threads that begin later read and judge whole runs: they have the room for young objects that they would have had.
    // The 30 % hold for them, too.
    setFlagsFromString('--min-semi-space-size=16');
  }
}
