/**
 * `handback clear-codes`: the one command that changes something in the vehicle, behind its guard. In this order:
 * snapshot saved, engine off and standstill read from the vehicle, words typed by a person, then service 04 once.
 */

import { mkdir } from 'node:fs/promises';
import { join } from 'node:path';
import { createInterface } from 'node:readline';
import { Command } from 'commander';
import { type Clock, systemClock } from '../core/clock.ts';
import { saying } from '../core/error-says.ts';
import { EXIT, HandbackError, toldOf } from '../core/errors.ts';
import { asIs } from '../core/says.ts';
import { Daemon } from '../desk/daemon.ts';
import { decodeNegative } from '../j1979/negative.ts';
import type { Snapshot } from '../j1979/snapshot.ts';
import { CLEAR_WORDS } from '../poll/gate.ts';
import type { VehicleSession } from '../poll/session.ts';
import { takeSnapshot } from '../poll/snapshot.ts';
import { defaultLibrary } from '../run/library.ts';
import { refuseReadOnly } from '../run/library-format.ts';
import { replaceFile } from '../run/meta.ts';
import { type LinkOptions, printSnapshot } from './codes.ts';
import { ioOf } from './io.ts';
import { withLink } from './record.ts';

export function clearCodesCommand(): Command {
  return withLink(
    new Command('clear-codes').description(
      'clears codes and freeze frames, after a snapshot, with the engine off, when the words are typed',
    ),
  )
    .option('--library <dir>', 'where the snapshots are kept')
    .action(async (options: LinkOptions & { readonly library?: string }, command: Command) => {
      const io = ioOf(command);
      if (io.json)
        throw new HandbackError('input.usage', saying('error.person-only'), {
          hint: saying('error.person-only-hint'),
        });
      const library = options.library ?? defaultLibrary();
      const daemon = new Daemon({ clock: systemClock, library });
      try {
        await daemon.connect({
          link: options.link,
          adapter: options.adapter,
          ...(options.baud === undefined ? {} : { baud: options.baud }),
          signals: [],
        });
        await clearCodes(daemon.session, {
          library,
          clock: systemClock,
          ask: askPerson,
          say: (line) => io.print(line),
          show: (snapshot) => printSnapshot(snapshot, io),
        });
      } finally {
        await daemon.close();
      }
      process.exitCode = EXIT.ok;
    });
}

export interface Surroundings {
  readonly library: string;
  readonly clock: Clock;
  /** What the person types in answer to the question; empty when nobody is there. */
  readonly ask: (question: string) => Promise<string>;
  readonly say: (line: string) => void;
  readonly show: (snapshot: Snapshot) => void;
}

/**
 * @returns where the snapshots of before and after were saved
 * @throws HandbackError library.path or run.write (then nothing was sent), gate.refused, vehicle.silent
 */
export async function clearCodes(
  session: VehicleSession,
  around: Surroundings,
): Promise<{ readonly before: string; readonly after: string }> {
  const { say, show } = around;
  const snapshotNow = () =>
    takeSnapshot((payload) => session.request(payload), session.state.vehicle?.vin ?? null);
  const snapshot = await snapshotNow();
  const before = await save(snapshot, 'before-clearing', around);
  show(snapshot);
  say(`Saved as ${before}`);
  const { rpm, speedKmh } = await session.standstill();
  say(
    `Engine speed: ${told(rpm, 'rpm')}. Vehicle speed: ${told(speedKmh, 'km/h')}. Both must be zero, ignition on.`,
  );
  say('Clearing erases codes and freeze frames and resets readiness: the evidence is then only in the file.');
  const typed = await around.ask(`Type "${CLEAR_WORDS}" to clear, anything else to leave all as it is: `);
  const x = await session.clearCodes({ snapshotSavedAs: before, typed });
  if (x.messages.length === 0)
    throw new HandbackError(
      'vehicle.silent',
      saying('error.clear-unconfirmed', { why: x.why === null ? saying('error.nothing-back') : asIs(x.why) }),
      {
        hint: saying('error.clear-unconfirmed-hint'),
      },
    );
  const refused: string[] = [];
  for (const { ecu, payload } of x.messages) {
    const no = decodeNegative(payload);
    say(`Control unit ${ecu}: ${no ? no.text : 'cleared'}`);
    if (no && no.code !== 0x78) refused.push(`${ecu}: ${no.text}`);
  }
  const left = await snapshotNow();
  const after = await save(left, 'after-clearing', around);
  show(left);
  say(`Saved as ${after}`);
  if (refused.length > 0)
    throw new HandbackError('gate.refused', saying('error.clear-partly', { refused: refused.join('; ') }), {
      hint: saying('error.clear-partly-hint'),
    });
  return { before, after };
}

const told = (value: number, unit: string): string =>
  Number.isNaN(value) ? 'not told by any control unit' : `${value} ${unit}`;

async function save(snapshot: Snapshot, what: string, { library, clock }: Surroundings): Promise<string> {
  const folder = join(library, 'snapshots');
  await refuseReadOnly(library);
  try {
    await mkdir(folder, { recursive: true });
  } catch (thrown) {
    throw new HandbackError(
      'library.path',
      saying('error.folder-not-made', { path: folder, why: toldOf(thrown) }),
    );
  }
  const at = new Date(clock.wallMs()).toISOString();
  const path = join(folder, `${at.replaceAll(':', '-')}-${what}.json`);
  await replaceFile(path, `${JSON.stringify({ ...snapshot, at }, null, 2)}\n`);
  return path;
}

/** One line from standard input; empty at its end. */
function askPerson(question: string): Promise<string> {
  return new Promise((resolve) => {
    const lines = createInterface({ input: process.stdin, output: process.stderr });
    lines.once('close', () => resolve(''));
    lines.question(question, (typed) => {
      resolve(typed);
      lines.close();
    });
  });
}
