/** `handback codes`: a snapshot of codes, lamp, readiness, freeze frame and identity of every control unit. */
import { Command } from 'commander';
import { systemClock } from '../core/clock.ts';
import type { Unit } from '../core/signals.ts';
import type { Snapshot } from '../core/snapshot.ts';
import { CODE_STATES } from '../core/snapshot.ts';
import { say as visitSay } from '../core/visit-says.ts';
import { Daemon } from '../desk/daemon.ts';
import { codeSays } from '../j1979/dtc.ts';
import { memoryTold } from '../job/fault-memory.ts';
import { takeSnapshot } from '../poll/snapshot.ts';
import { defaultLibrary } from '../run/library.ts';
import { type Io, ioOf, say } from './io.ts';
import { withLink } from './record.ts';

export interface LinkOptions {
  readonly link: string;
  readonly adapter: string;
  readonly baud?: number;
}

export function codesCommand(): Command {
  return withLink(
    new Command('codes').description(
      'codes, lamp, readiness, freeze frame and identity of every control unit',
    ),
  ).action(async (options: LinkOptions, command: Command) => {
    const io = ioOf(command);
    const daemon = new Daemon({ clock: systemClock, library: defaultLibrary() });
    try {
      await daemon.connect({ ...options, signals: [] });
      const { session } = daemon;
      const snapshot = await takeSnapshot((p) => session.request(p), session.state.vehicle?.vin ?? null);
      io.result(snapshot);
      printSnapshot(snapshot, io);
    } finally {
      await daemon.close();
    }
  });
}

/** In-use counters: forty lines that only the JSON carries. */
const COUNTERS: ReadonlySet<string> = new Set(['08', '0B']);

/** What people see of a snapshot. */
export function printSnapshot(snapshot: Snapshot, io: Io): void {
  const { words } = io;
  io.print(snapshot.vin === null ? say('cli.codes.no-vin') : say('cli.codes.vin', { vin: snapshot.vin }));
  for (const unit of snapshot.units) {
    const { lamp } = memoryTold({ ...snapshot, units: [unit] });
    io.print(say('cli.codes.unit', { ecu: unit.ecu, lamp }));
    for (const list of CODE_STATES)
      for (const { code } of unit[list])
        io.print(say('cli.codes.code', { list, code, meaning: codeSays(code) }));
    if (unit.stored.length + unit.pending.length + unit.permanent.length === 0)
      io.print(say('cli.codes.none'));
    const open = unit.readiness?.monitors.filter((m) => m.supported && !m.complete) ?? [];
    const monitors = open.map(({ name: monitor }) => visitSay('memory.monitor', { monitor }));
    if (monitors.length > 0) io.print(say('cli.codes.open', { monitors }));
    for (const v of unit.information)
      if (v.value !== null && !COUNTERS.has(v.pid)) io.print(say('cli.codes.itself', { text: v.value }));
    for (const v of unit.freezeFrame)
      if (v.value !== null)
        io.print(
          say('cli.codes.frozen', {
            what: v.signal === null ? v.pid : words.name('signal', v.signal),
            value:
              typeof v.value === 'number'
                ? words.measures.quantity(v.value, (v.unit ?? '1') as Unit)
                : v.value,
          }),
        );
  }
  for (const service of snapshot.unanswered) io.print(say('cli.codes.unanswered', { service }));
}
