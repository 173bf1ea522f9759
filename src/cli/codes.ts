/** `handback codes`: a snapshot of codes, lamp, readiness, freeze frame and identity of every control unit. */
import { Command } from 'commander';
import { systemClock } from '../core/clock.ts';
import { Daemon } from '../desk/daemon.ts';
import type { Snapshot } from '../j1979/snapshot.ts';
import { takeSnapshot } from '../poll/snapshot.ts';
import { defaultLibrary } from '../run/library.ts';
import { type Io, ioOf } from './io.ts';
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
  io.print(`VIN ${snapshot.vin ?? 'not given'}`);
  for (const unit of snapshot.units) {
    io.print(`Control unit ${unit.ecu}: lamp ${unit.mil === null ? 'not told' : unit.mil ? 'ON' : 'off'}`);
    for (const state of ['stored', 'pending', 'permanent'] as const)
      for (const c of unit[state]) io.print(`  ${state.padEnd(9)} ${c.code}  ${c.text}`);
    if (unit.stored.length + unit.pending.length + unit.permanent.length === 0) io.print('  no codes');
    const open = unit.readiness?.monitors.filter((m) => m.supported && !m.complete) ?? [];
    if (open.length > 0)
      io.print(
        `  not complete: ${open.map((m) => m.name).join(', ')}. "No codes" shows nothing about these: drive on until they are complete.`,
      );
    for (const v of unit.information)
      if (v.value !== null && !COUNTERS.has(v.pid)) io.print(`  says of itself: ${v.value}`);
    for (const v of unit.freezeFrame)
      if (v.value !== null)
        io.print(`  freeze frame: ${v.signal ?? v.pid} ${v.value} ${v.unit ?? ''}`.trimEnd());
  }
  for (const name of snapshot.unanswered) io.print(`Nobody answered: ${name}. That is not the same as none.`);
}
