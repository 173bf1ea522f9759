/** `handback sim`: a simulated vehicle behind a pseudo-terminal, for this tool or any other program. */
import { Command, Option } from 'commander';
import { systemClock } from '../core/clock.ts';
import { type SimulationOptions, servePty } from '../sim/bench.ts';
import { faultOf } from '../sim/demos.ts';
import { KLINE_KINDS } from '../sim/ecu/kline.ts';
import { FRONT_NAMES, type FrontName, USUAL_FRONT } from '../sim/front/fronts.ts';
import { QUIRKS } from '../sim/front/quirks.ts';
import { RECEIVER_FAULTS } from '../sim/receiver.ts';
import { createVehicle, FAULTS, ROUTES, VEHICLES } from '../sim/vehicle/vehicle.ts';
import { ioOf, say } from './io.ts';
import { stopRequested } from './stop.ts';
import { collect, numberIn } from './values.ts';

interface Options {
  readonly front: FrontName;
  readonly pace?: number;
  readonly vehicle?: string;
  readonly fault: readonly string[];
  readonly route?: string;
  readonly seed: number;
  readonly speedup: number;
  readonly at?: string;
  readonly quirk: readonly string[];
  readonly bus: string;
  readonly receiver?: number;
  readonly receiverFault: readonly string[];
  readonly receiverAt?: string;
  readonly services: 'classic' | 'newer';
}

/** What the vehicle's diagnostic line is. */
const BUSES: Readonly<Record<string, Pick<SimulationOptions, 'bus' | 'kline' | 'physicalOnly'>>> = {
  'can11-500': {},
  'can29-500': { bus: { extended: true, bitrate: 500_000 } },
  'can11-250': { bus: { extended: false, bitrate: 250_000 } },
  'can29-250': { bus: { extended: true, bitrate: 250_000 } },
  ...Object.fromEntries(KLINE_KINDS.map((kind) => [kind, { kline: kind }])),
  // units that answer only when each is called by its own address
  'kwp-slow-physical': { kline: 'kwp-slow', physicalOnly: true },
  'kwp-fast-physical': { kline: 'kwp-fast', physicalOnly: true },
};

export function simCommand(): Command {
  return new Command('sim')
    .description('a simulated vehicle behind a pseudo-terminal; prints {"port": …}')
    .addOption(
      new Option('--front <dialect>', 'what the adapter speaks').choices(FRONT_NAMES).default(USUAL_FRONT),
    )
    .option('--pace <baud>', 'line speed in bit/s, 300 to 4000000 (default 115200)', numberIn(300, 4_000_000))
    .addOption(
      new Option('--bus <kind>', "the vehicle's diagnostic line")
        .choices(Object.keys(BUSES))
        .default('can11-500'),
    )
    .addOption(
      new Option(
        '--services <kind>',
        'what control units answer: SAE J1979, or ISO 14229 as SAE J1979-2 uses it',
      )
        .choices(['classic', 'newer'])
        .default('classic'),
    )
    .option('--vehicle <name>', 'which vehicle')
    .option('--fault <name[=value]>', 'a fault; may be repeated', collect, [])
    .option('--route <name>', 'which drive')
    .option('--seed <n>', 'same seed, same drive', numberIn(0, 4_294_967_295), 1)
    .option('--speedup <k>', 'vehicle seconds in each second, 0.1 to 100', numberIn(0.1, 100, false), 1)
    .option('--at <path>', 'symbolic link that keeps pointing at the port')
    .option(
      '--receiver <hz>',
      'a satellite receiver behind a port of its own, 1 to 10 fixes a second',
      numberIn(1, 10, false),
    )
    .option('--receiver-fault <name[=value]>', 'an oddity of the receiver; may be repeated', collect, [])
    .option('--receiver-at <path>', "symbolic link that keeps pointing at the receiver's port")
    .option('--quirk <name[=value]>', 'an oddity of the adapter; may be repeated', collect, [])
    .addHelpText('after', names)
    .action(simulate);
}

async function simulate(options: Options, command: Command): Promise<void> {
  const io = ioOf(command);
  const stop = stopRequested();
  const vehicle = createVehicle({
    ...(options.vehicle === undefined ? {} : { vehicle: options.vehicle }),
    ...(options.route === undefined ? {} : { route: options.route }),
    faults: options.fault.map(faultOf),
    seed: options.seed,
  });
  const bench = await servePty({
    vehicle,
    clock: systemClock,
    front: options.front,
    seed: options.seed,
    speedup: options.speedup,
    quirks: options.quirk,
    services: options.services,
    ...BUSES[options.bus],
    ...(options.receiver === undefined
      ? {}
      : { receiver: { hz: options.receiver, faults: options.receiverFault } }),
    ...(options.receiverAt === undefined ? {} : { receiverAt: options.receiverAt }),
    ...(options.pace === undefined ? {} : { pace: options.pace }),
    ...(options.at === undefined ? {} : { at: options.at }),
  });
  // the one line that scripts wait for, with and without --json
  const receiver = bench.receiverPort;
  process.stdout.write(
    `${JSON.stringify({ port: options.at ?? bench.port, ...(receiver === null ? {} : { receiver }) })}\n`,
  );
  io.say(say('cli.sim.route', { route: vehicle.route.name, min: vehicle.route.lengthS / 60 }));
  await stop;
  await bench.close();
}

/** What the options choose from. */
function names(): string {
  const list = (title: string, items: readonly (readonly [name: string, text: string])[]): string =>
    `\n${title}:\n${items.map(([name, text]) => `  ${name.padEnd(24)} ${text}`).join('\n')}`;
  const titled = (table: Readonly<Record<string, { readonly title: string }>>) =>
    Object.entries(table).map(([name, { title }]) => [name, title] as const);
  return [
    list(
      'Vehicles',
      VEHICLES.map((v) => [v.name, v.description]),
    ),
    list(
      'Routes',
      ROUTES.map((r) => [r.name, `${r.description} (${Math.round(r.lengthS / 60)} min)`]),
    ),
    list(
      'Faults',
      FAULTS.map((f) => [f.name, f.description]),
    ),
    list('Quirks', titled(QUIRKS)),
    list('Receiver faults', titled(RECEIVER_FAULTS)),
  ].join('\n');
}
