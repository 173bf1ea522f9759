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
import { inTurn, listed, type Says } from '../core/says.ts';
import type { Snapshot } from '../core/snapshot.ts';
import { say as wireSay } from '../core/wire-says.ts';
import { Daemon } from '../desk/daemon.ts';
import { decodeNegative, NEGATIVE, refusalOf } from '../j1979/negative.ts';
import { CLEAR_WORDS } from '../poll/gate.ts';
import type { VehicleSession } from '../poll/session.ts';
import { takeSnapshot } from '../poll/snapshot.ts';
import { defaultLibrary } from '../run/library.ts';
import { refuseReadOnly } from '../run/library-format.ts';
import { replaceFile } from '../run/meta.ts';
import { type LinkOptions, printSnapshot } from './codes.ts';
import { ioOf, say } from './io.ts';
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
          ask: (question) => askPerson(`${io.words.say(question)} `),
          tell: (line) => io.print(line),
          show: (snapshot) => printSnapshot(snapshot, io),
        });
      } finally {
        await daemon.close();
      }
      process.exitCode = EXIT.ok;
    });
}

export interface ClearSurroundings {
  readonly library: string;
  readonly clock: Clock;
  /** What the person types in answer to the question; empty when nobody is there. */
  readonly ask: (question: Says) => Promise<string>;
  readonly tell: (line: Says) => void;
  readonly show: (snapshot: Snapshot) => void;
}

/**
 * @returns where the snapshots of before and after were saved
 * @throws HandbackError library.path or run.write (then nothing was sent), gate.refused, vehicle.silent
 */
export async function clearCodes(
  session: VehicleSession,
  around: ClearSurroundings,
): Promise<{ readonly before: string; readonly after: string }> {
  const { tell, show } = around;
  const snapshotNow = () =>
    takeSnapshot((payload) => session.request(payload), session.state.vehicle?.vin ?? null);
  const snapshot = await snapshotNow();
  const before = await save(snapshot, 'before-clearing', around);
  show(snapshot);
  tell(say('cli.clear.saved', { path: before }));
  const { rpm, speedKmh } = await session.standstill();
  tell(
    inTurn([
      Number.isNaN(rpm) ? say('cli.clear.no-rpm') : say('cli.clear.rpm', { rpm }),
      Number.isNaN(speedKmh) ? say('cli.clear.no-speed') : say('cli.clear.speed', { kmh: speedKmh }),
      say('cli.clear.both-zero'),
    ]),
  );
  tell(say('cli.clear.erases'));
  const typed = await around.ask(say('cli.clear.ask', { words: CLEAR_WORDS }));
  const x = await session.clearCodes({ snapshotSavedAs: before, typed });
  if (x.messages.length === 0)
    throw new HandbackError(
      'vehicle.silent',
      saying('error.clear-unconfirmed', { why: x.why ?? saying('error.nothing-back') }),
      {
        hint: saying('error.clear-unconfirmed-hint'),
      },
    );
  const refused: Says[] = [];
  for (const { ecu, payload } of x.messages) {
    const no = decodeNegative(payload);
    tell(say('cli.clear.unit', { ecu, end: no ? refusalOf(no) : say('cli.clear.cleared') }));
    if (no && no.code !== NEGATIVE.pending)
      refused.push(wireSay('wire.of-unit', { ecu, what: refusalOf(no) }));
  }
  const left = await snapshotNow();
  const after = await save(left, 'after-clearing', around);
  show(left);
  tell(say('cli.clear.saved', { path: after }));
  if (refused.length > 0)
    throw new HandbackError('gate.refused', saying('error.clear-partly', { refused: listed(refused) }), {
      hint: saying('error.clear-partly-hint'),
    });
  return { before, after };
}

async function save(
  snapshot: Snapshot,
  what: string,
  { library, clock }: ClearSurroundings,
): Promise<string> {
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
