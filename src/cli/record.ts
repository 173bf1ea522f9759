/** `handback record`: a run without the page, until Ctrl-C or for a given time. */

import { Command, Option } from 'commander';
import { sleep, systemClock } from '../core/clock.ts';
import { saying } from '../core/error-says.ts';
import { EXIT, HandbackError } from '../core/errors.ts';
import { SIGNALS } from '../core/signals.ts';
import { adapterKinds } from '../desk/asked.ts';
import { Daemon } from '../desk/daemon.ts';
import { defaultLibrary } from '../run/library.ts';
import { PURPOSES } from '../run/types.ts';
import { behind } from '../words/spelled.ts';
import { type Io, ioOf } from './io.ts';
import { stopRequested } from './stop.ts';
import { numberIn, readProfile } from './values.ts';

interface Options {
  readonly link: string;
  readonly adapter: string;
  readonly baud?: number;
  readonly receiver?: string;
  readonly signals?: string;
  readonly seconds?: number;
  readonly out: string;
  readonly purpose: (typeof PURPOSES)[number];
  readonly profile?: string;
  readonly vehicle?: string;
}

/** The adapter and dialect options that every command with a link takes. */
export function withLink(command: Command): Command {
  return command
    .requiredOption('--link <port>', 'serial port, tcp:HOST:PORT, or sim')
    .addOption(
      new Option('--adapter <kind>', 'what the adapter speaks').choices(adapterKinds()).default('auto'),
    )
    .option('--baud <n>', 'only this line speed, bit/s (default: found out)', numberIn(300, 4_000_000));
}

export function recordCommand(): Command {
  return withLink(new Command('record').description('records a run into a folder'))
    .option(
      '--receiver <port>',
      'satellite receiver (NMEA 0183) as a second link: serial port or tcp:HOST:PORT; may come and go',
    )
    .option('--signals <a,b,c>', 'only these signals (default: all that the road test can use)')
    .option('--seconds <n>', 'stop after this time (default: Ctrl-C)', numberIn(0.1, 1e7, false))
    .requiredOption('--out <dir>', 'run folder; made, must not hold a run')
    .addOption(new Option('--purpose <what>', 'what the run is for').choices(PURPOSES).default('other'))
    .option('--profile <file>', 'what is known of the vehicle (JSON)')
    .option('--vehicle <name>', 'what to call it')
    .action(async (options: Options, command: Command) => {
      process.exitCode = await record(options, ioOf(command));
    });
}

async function record(options: Options, io: Io): Promise<number> {
  const stop = stopRequested();
  const wanted = options.signals?.split(',').map((s) => s.trim());
  for (const name of wanted ?? [])
    if (!(name in SIGNALS))
      throw new HandbackError('input.usage', saying('error.no-signal', { name }), {
        hint: saying('error.no-signal-hint'),
      });
  const profile = options.profile === undefined ? undefined : await readProfile(options.profile);
  const daemon = new Daemon({ clock: systemClock, library: defaultLibrary(), keepJudged: true });
  let lost = false;
  daemon.subscribe((event) => {
    const spoken = event === 'spoken' ? daemon.spoken().at(-1) : undefined;
    if (spoken) io.say(behind(spoken, 'sentence') ?? '');
    if (event !== 'state') return;
    const { connection } = daemon.state();
    if ((connection.phase === 'lost') !== lost) io.say(behind(connection, 'sentence') ?? '');
    lost = connection.phase === 'lost';
  });
  try {
    if (options.receiver !== undefined) await daemon.useReceiver({ port: options.receiver });
    const connecting = daemon.connect({
      link: options.link,
      adapter: options.adapter,
      ...(options.baud === undefined ? {} : { baud: options.baud }),
      ...(wanted === undefined ? {} : { signals: wanted }),
    });
    connecting.catch(() => undefined); // a stop before it is settled is no failure
    if ((await Promise.race([connecting.then(() => 'connected'), stop.then(() => 'stopped')])) === 'stopped')
      return EXIT.ok;
    io.say(behind(daemon.state().connection, 'sentence') ?? '');
    await daemon.startRunIn(options.out, {
      purpose: options.purpose,
      ...(profile === undefined ? {} : { profile }),
      ...(options.vehicle === undefined ? {} : { vehicle: options.vehicle }),
    });
    await Promise.race([
      stop,
      options.seconds === undefined ? stop : sleep(systemClock, options.seconds * 1000),
    ]);
    return await finish(daemon, lost, io);
  } finally {
    await daemon.close();
  }
}

async function finish(daemon: Daemon, lost: boolean, io: Io): Promise<number> {
  const samples = daemon.state().run?.samples ?? 0;
  const c = daemon.counters();
  const { slower, silent } = daemon.state().connection;
  const run = await daemon.stopRun();
  const seconds = run.seconds ?? 0;
  const result = {
    samples,
    seconds,
    perSecond: seconds > 0 ? Math.round((10 * samples) / seconds) / 10 : 0,
    roundTripMs: c?.roundTripMs ?? null,
    sent: c?.sent ?? 0,
    answered: c?.answered ?? 0,
    timeouts: c?.timeouts ?? 0,
    discardedBytes: c?.discardedBytes ?? 0,
    damaged: c?.damaged ?? 0,
    reopened: c?.reopened ?? 0,
    linkLimitPerSecond: c?.linkLimitPerSecond ?? null,
    slower,
    silent,
  };
  io.result(result);
  io.print(
    `${samples} samples in ${seconds.toFixed(1)} s (${result.perSecond} a second; the link carries ${result.linkLimitPerSecond ?? 'an unknown number'}), ${result.reopened} times reopened`,
  );
  const missing = behind(run, 'missing');
  if (missing) io.say(missing);
  return lost || run.missing ? EXIT.stoppedEarly : EXIT.ok;
}
