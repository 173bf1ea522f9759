/**
 * What one version of the program (a folder with its compiled `src`, the first argument) makes of ugly adapters, in
 * simulated time: how busy the machine is does not show. Car, control units and adapter are those of today, whichever
 * version asks. Prints a line of JSON for each case.
 */
import { pathToFileURL } from 'node:url';
import type { CleanSample } from '../../src/analysis/types.ts';
import { ManualClock } from '../../src/core/clock.ts';
import { seededRandom } from '../../src/core/random.ts';
import type { Sample } from '../../src/core/signals.ts';
import type { LinkEvent, LinkFactory } from '../../src/link/link.ts';
import { type SimulationOptions, simLinkFactory } from '../../src/sim/bench.ts';
import type { SimVehicle } from '../../src/sim/types.ts';
import { ADAPTERS, type Asking, loseCharacters } from '../torture/loss.ts';
import { steadyCar } from '../torture/steady-car.ts';

const of = <T>(module: string): Promise<T> => import(pathToFileURL(`${process.argv[2]}/src/${module}`).href);
const { VehicleSession } = await of<typeof import('../../src/poll/session.ts')>('poll/session.js');
const { takeSnapshot } = await of<typeof import('../../src/poll/snapshot.ts')>('poll/snapshot.js');
const { Plausibility } =
  await of<typeof import('../../src/analysis/plausibility.ts')>('analysis/plausibility.js');
const asking: Asking = { VehicleSession, takeSnapshot };

const WANTED = ['map_kpa', 'rpm', 'speed_kmh', 'pedal_d_pct', 'load_pct', 'timing_deg'];
/** Every value stays as it is. */
const STILL = steadyCar(() => 0);
const SETTLES_MS = 12_000;
const GIVEN_UP_MS = 120_000;

interface Asked {
  readonly session: InstanceType<typeof VehicleSession>;
  readonly clock: ManualClock;
  readonly car: SimVehicle;
}

type AskedOptions = Partial<SimulationOptions> & {
  /** Every value goes up and down in slow waves. */
  readonly moving?: boolean;
  /** Of the car. */
  readonly changes?: object;
  readonly through?: (factory: LinkFactory, clock: ManualClock) => LinkFactory;
};

/** Connected to a car with this adapter; null where the version finds no car there. */
async function asked<T>(
  { changes, moving, through, ...options }: AskedOptions,
  use: (asked: Asked) => Promise<T>,
): Promise<T | null> {
  const clock = new ManualClock();
  const car: SimVehicle = Object.create(
    moving ? steadyCar(() => clock.nowUs() / 1e6) : STILL,
    Object.getOwnPropertyDescriptors(changes ?? {}),
  );
  const factory = simLinkFactory({
    vehicle: car,
    clock,
    pace: 115_200,
    responseMs: 5,
    jitterMs: 1,
    ...options,
  });
  const session = new VehicleSession({
    factory: through?.(factory, clock) ?? factory,
    family: options.front ?? 'at',
    clock,
    wanted: WANTED,
    fastRestUs: 0,
    tap: () => undefined,
  });
  try {
    const found = session.start().then(
      () => true,
      () => false,
    );
    if (!(await clock.until(found, 20, GIVEN_UP_MS))) return null;
    return await use({ session, clock, car });
  } finally {
    await clock.until(session.stop(), 20);
    factory.close();
  }
}

/** Values a second; 0 where no car is found. */
async function pace(options: AskedOptions, seconds = 30): Promise<number> {
  const found = await asked(options, async ({ session, clock }) => {
    await clock.advance(SETTLES_MS);
    let n = 0;
    session.samples$.subscribe(() => n++);
    await clock.advance(1000 * seconds);
    return n / seconds;
  });
  return found ?? 0;
}

/** Six connections while every value may be one more at each reading: the slowest. */
async function flickering(): Promise<number> {
  const paces = [];
  for (let seed = 1; seed <= 6; seed++) {
    const random = seededRandom(`flicker/${seed}`);
    const changes = { signal: (name: string) => withCoin(STILL.signal(name), random.next()) };
    paces.push(await pace({ seed, changes }, 10));
  }
  return Math.min(...paces);
}
const withCoin = (value: number | null, coin: number): number | null =>
  value === null ? null : value + (coin < 0.5 ? 0 : 1);

/** What comes from the adapter is held back now and then, with all behind it. */
const heldBack =
  (share: number, ms: number) =>
  (inner: LinkFactory, clock: ManualClock): LinkFactory => ({
    name: inner.name,
    baudRates: inner.baudRates,
    open: async (options) => {
      const link = await inner.open(options);
      const random = seededRandom('held back');
      let dueUs = 0;
      const listen = (listener: (event: LinkEvent) => void): void =>
        link.listen((event) => {
          const nowUs = clock.nowUs();
          if (event.kind === 'data' && nowUs > 10e6 && nowUs > dueUs && random.next() < share)
            dueUs = nowUs + 1000 * ms;
          if (nowUs >= dueUs) listener(event);
          else clock.after((dueUs - nowUs) / 1000, () => listener({ ...event, tUs: clock.nowUs() }));
        });
      return { name: link.name, write: (b) => link.write(b), close: () => link.close(), listen };
    },
  });

const CHARACTERS = [...'0123456789ABCDEFGHJKLMNPRSTUVWXYZ'];
/** Connections, of so many, that show a number which is not the car's and do not say that it is uncertain. */
async function wrongNumbers(connections: number): Promise<number> {
  let wrong = 0;
  for (let seed = 1; seed <= connections; seed++) {
    const random = seededRandom(`number/${seed}`);
    const right = 'ZZZSTEADY00000001';
    const changes = {
      get vin() {
        if (random.next() >= 1 / 3) return right;
        const at = Math.floor(random.next() * right.length);
        const other = CHARACTERS.filter((c) => c !== right[at])[
          Math.floor(random.next() * (CHARACTERS.length - 1))
        ];
        return `${right.slice(0, at)}${other}${right.slice(at + 1)}`;
      },
    };
    await asked({ seed, changes }, async ({ session }) => {
      const { sentence, vehicle } = session.state;
      if (vehicle?.vin && vehicle.vin !== right && !/vin-unsure/.test(sentence)) wrong++;
    });
  }
  return wrong;
}

/** A bit of one character in two thousand is another: of the values that are far from the car's, the share flagged. */
async function flagged(): Promise<{ share: number; wrong: number; ofGood: number }> {
  const shares = await asked({ quirks: ['garble=0.001'], moving: true }, async ({ session, clock, car }) => {
    const samples: Sample[] = [];
    session.samples$.subscribe((s) => samples.push(s));
    const far = new Map<Sample, boolean>();
    for (let ms = 0; ms < 600_000; ms += 10) {
      await clock.advance(10);
      for (const s of samples.slice(far.size)) {
        const is = car.signal(s.signal)!;
        far.set(s, Math.abs(s.value - is) > FAR * (RANGES[s.signal] ?? Number.POSITIVE_INFINITY));
      }
    }
    const front = new Plausibility();
    const clean: CleanSample[] = [...samples.flatMap((s) => front.push(s)), ...front.finish()];
    const flags = new Set(clean.filter((c) => c.flag !== null).map((c) => `${c.signal} ${c.tUs}`));
    const wrong = samples.filter((s) => far.get(s));
    const good = samples.filter((s) => !far.get(s));
    const seen = (list: readonly Sample[]): number =>
      list.filter((s) => flags.has(`${s.signal} ${s.tUs}`)).length / list.length;
    return { share: seen(wrong), wrong: wrong.length, ofGood: seen(good) };
  });
  if (!shares || shares.wrong === 0) throw new Error('no value came out wrong');
  return shares;
}
/** A fifth of what the signal goes through counts as far; the answer to one request is no older than its round trip. */
const FAR = 0.2;
const RANGES: Readonly<Record<string, number>> = {
  map_kpa: 178,
  rpm: 3400,
  speed_kmh: 110,
  pedal_d_pct: 90,
  load_pct: 83,
  timing_deg: 30,
};

const [text, slcan, loose] = ADAPTERS;
const LOSS = 0.005;
const REQUESTS = 20_000;
const late = { share: 0.05, ms: 300, inTurn: true };
const fast = { pace: 1_000_000 };
const can = { front: 'slcan' } as const;

async function lost(adapter: (typeof ADAPTERS)[number]) {
  const { forbidden, requests, values, simulatedS } = await loseCharacters(
    adapter,
    LOSS,
    REQUESTS,
    5,
    asking,
  );
  return { forbidden: forbidden.length, requests, values: values / simulatedS };
}

const CASES: Readonly<Record<string, () => Promise<unknown>>> = {
  'quiet at': () => pace({}),
  'quiet slcan': () => pace(can),
  'quiet fast at': () => pace(fast),
  'quiet fast slcan': () => pace({ ...can, ...fast }),
  flicker: flickering,
  'busy 1500': () => pace({ ...can, traffic: 1500 }, 10),
  'busy 3500': () => pace({ ...can, traffic: 3500 }, 10),
  'late at': () => pace({ ...fast, late }, 60),
  'late slcan': () => pace({ ...can, ...fast, late }, 60),
  'passed over at': () => pace({ ...fast, late: { ...late, inTurn: false } }, 60),
  'passed over slcan': () => pace({ ...can, ...fast, late: { ...late, inTurn: false } }, 60),
  'held at': () => pace({ ...fast, through: heldBack(0.02, 300) }, 60),
  'held slcan': () => pace({ ...can, ...fast, through: heldBack(0.02, 300) }, 60),
  'refused 50': () => pace({ ...can, ...fast, quirks: ['refuses-frames=0.02'] }),
  'refused 3': () => pace({ ...can, ...fast, quirks: ['refuses-frames=0.33'] }),
  'pending at': () => pace({ ...fast, pendingServices: [1] }),
  'pending slcan': () => pace({ ...can, ...fast, pendingServices: [1] }),
  numbers: () => wrongNumbers(30),
  flagged,
  'lost at': () => lost(text),
  'lost slcan': () => lost(slcan),
  'lost loose slcan': () => lost(loose),
};

const only = process.argv.slice(3);
for (const [name, measure] of Object.entries(CASES)) {
  if (only.length > 0 && !only.includes(name)) continue;
  console.log(JSON.stringify([name, await measure()]));
}
process.exit(); // what a version left running is of no account here
