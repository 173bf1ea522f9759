/** The simulated fleets in docs/analysis-quality.md: each row beside its goal and the plain rule of the same drives. */
import { type ConfusionCase, type GuidedCase, KNOWN, type Knowledge, RATES } from './boost-sim.ts';
import { exact } from './exact.ts';
import { COOLING_FAULTS, type FleetDrive } from './fleet.ts';

const pct = (x: number): string => `${Math.round(1000 * x) / 10} %`;
const share = (k: number, n: number): string => {
  if (n === 0) return 'none tried';
  const [a, b] = exact(k, n);
  return `${k} of ${n} (${pct(a)} to ${pct(b)})`;
};
const table = (head: readonly string[], rows: readonly (readonly (string | number)[])[]): string =>
  [head, head.map(() => '---'), ...rows].map((cells) => `| ${cells.join(' | ')} |`).join('\n');
const counted = (words: readonly string[]): string =>
  [...new Set(words)]
    .map((w) => [w, words.filter((x) => x === w).length] as const)
    .sort((a, b) => b[1] - a[1])
    .map(([w, n]) => `${w} ${n}`)
    .join(', ');

type Row = readonly [what: string, goal: string, figure: string, short: string];
const MOST_LISTED = 20;

// Coolant

/** Spikes of the sensor are no fault of the cooling. */
const isFaulty = (d: FleetDrive): boolean =>
  COOLING_FAULTS[d.fault] !== 'none' && d.fault !== 'coolant-sensor-spikes';
const accused = (d: FleetDrive): boolean => d.coolant === 'fault shown';
const good = (d: FleetDrive): boolean => d.coolant === 'shown good';
const isCooling = (id: string): boolean => id.startsWith('coolant');
/** What should be named; two named, the right one among them; anything else. */
const named = (d: FleetDrive): 'right' | 'among two' | 'wrong' => {
  const cause = COOLING_FAULTS[d.fault]!;
  if (d.cause === cause) return 'right';
  return d.cause.split(', or ').includes(cause) ? 'among two' : 'wrong';
};
const isProving = (d: FleetDrive): boolean => d.route.includes('proving');

export function fleetGoals(fleet: readonly FleetDrive[]): Row[] {
  const of = (list: readonly FleetDrive[], hit: (d: FleetDrive) => boolean): string =>
    share(list.filter(hit).length, list.length);
  const sound = fleet.filter((d) => !isFaulty(d));
  const faulty = fleet.filter((d) => isFaulty(d) && d.exercised);
  const told = faulty.filter((d) => d.cause !== 'none');
  const proving = fleet.filter((d) => d.fault === 'healthy' && isProving(d));
  const short = (bad: boolean): string => (bad ? 'yes: listed below' : 'no');
  return [
    [
      'coolant, simulated, nothing wrong with the cooling: accused',
      '0',
      `${of(sound, accused)}; plain rule ${of(sound, (d) => d.plain)}`,
      short(sound.some(accused)),
    ],
    [
      'coolant, simulated, nothing wrong with the cooling: told of a fault on the way',
      '0',
      of(sound, (d) => d.spoken.some(isCooling)),
      short(sound.some((d) => d.spoken.some(isCooling))),
    ],
    [
      'coolant, simulated healthy, proving drive: shown good',
      '95 %',
      of(proving, good),
      proving.filter(good).length >= 0.95 * proving.length ? 'no' : 'yes: listed below',
    ],
    [
      'coolant, simulated cooling fault, asked for what it cannot do: found',
      'all',
      `${of(faulty, accused)}; plain rule ${of(faulty, (d) => d.plain)}`,
      faulty.every(accused) ? 'no' : 'yes: by fault below',
    ],
    [
      'coolant, simulated cooling fault found: pattern named right',
      '95 %',
      `${of(told, (d) => named(d) === 'right')}; among two ${told.filter((d) => named(d) === 'among two').length}, wrong ${told.filter((d) => named(d) === 'wrong').length}`,
      told.filter((d) => named(d) === 'right').length >= 0.95 * told.length ? 'no' : 'yes: by fault below',
    ],
    ['coolant shown good, simulated cooling fault', 'never', of(faulty, good), short(faulty.some(good))],
  ];
}

export function fleetText(fleet: readonly FleetDrive[]): string {
  const hours = fleet.reduce((a, d) => a + d.hours, 0);
  const causes = [
    ...['fan or airflow', 'fan or airflow, or no circulation', 'flow', 'flow, or no circulation'],
    ...['no circulation', 'thermostat open', 'air', 'sensor', 'none'],
  ];
  const rows = Object.entries(COOLING_FAULTS).map(([fault, cause]) => {
    const all = fleet.filter((d) => d.fault === fault);
    const own = all.filter((d) => d.exercised);
    return [
      ...[fault, cause, own.length, all.length - own.length],
      ...causes.map((c) => own.filter((d) => d.cause === c).length),
      share(own.filter(accused).length, own.length),
      share(own.filter((d) => d.plain).length, own.length),
      own.filter(good).length,
    ];
  });
  const list = (ds: readonly FleetDrive[], more: (d: FleetDrive) => string): string =>
    ds
      .slice(0, MOST_LISTED)
      .map(
        (d) =>
          `- ${d.fault}, seed ${d.seed}: ${d.vehicle}, ${d.route}, ${d.ambientC} °C, ${d.hz} samples/s, highest ${d.highestC} °C${more(d)}`,
      )
      .join('\n');
  const sound = fleet.filter((d) => !isFaulty(d));
  const alarmed = sound.filter((d) => accused(d) || d.spoken.some((id) => !/^(link|sensor)/.test(id)));
  const bad = fleet.filter((d) => isFaulty(d) && d.exercised && good(d));
  const unasked = fleet.filter((d) => isFaulty(d) && !d.exercised);
  const shy = fleet.filter((d) => d.fault === 'healthy' && isProving(d) && !good(d));
  return [
    `${fleet.length} drives, ${hours.toFixed(1)} h; samples a second in all (1 to 30, spread evenly over their logarithm), noise (to 0.8 °C) and step (1 or 0.75 °C) of the coolant sensor are drawn as well. Two drives in three are cold starts of 40 minutes with hills to 9 %, the third is any route of the simulated car. No baseline.`,
    table(
      [
        ...['fault', 'pattern', 'drives', 'not exercised', ...causes],
        ...['coolant fault shown', 'plain rule', 'coolant shown good'],
      ],
      rows,
    ),
    'Columns: the pattern that the first coolant finding points to, of the drives that asked the faulty part for what it cannot do. "Not exercised", by the simulated truth: the coolant did not stand at 101 °C or more for half a minute (fan: up to 100 °C a sound one may still be off, and a reading is good to 1 °C), was warm for less than a minute (no circulation, shut thermostat) or for less than five minutes after the pump had faded, or less than ten minutes were driven (open thermostat; five for bubbles and spikes), or the coolant was read less often than every 2.5 s, as bubbles need.',
    ...(alarmed.length > 0
      ? [
          'Nothing wrong with the cooling, a fault of any system shown or said on the way (sensor spikes aside):',
          list(alarmed, (d) => `: shown ${d.alarms.join(', ') || 'none'}, said ${d.spoken.join(', ')}`),
        ]
      : ['Nothing wrong with the cooling, a fault of any system shown or said on the way: none.']),
    ...(bad.length > 0 ? ['Faulty, asked, and shown good:', list(bad, () => '')] : []),
    `Not asked, and the coolant shown good: ${unasked.filter(good).length} of ${unasked.length}; the sheet then says that the part was not needed on this drive.`,
    ...(shy.length > 0 ? ['Healthy on a proving drive, not shown good:', list(shy, () => '')] : []),
  ].join('\n\n');
}

// Boost

const [FAST, SLOW] = RATES;
const healthy = (c: ConfusionCase): boolean => c.fault === 'healthy';
const isBoost = (id: string): boolean => id.startsWith('boost');
/** Several causes named, the right one among them, where nothing that was seen tells them apart. */
const amongThem = (c: ConfusionCase): boolean => !right(c) && c.named.split(/, | or /).includes(c.cause);
const right = (c: ConfusionCase): boolean => c.named === c.cause;
const wrong = (c: ConfusionCase): boolean => c.named !== 'none' && !right(c) && !amongThem(c);
/** The reading alone is at fault; the boost may well be good. */
const isBoostFault = (c: ConfusionCase): boolean => !healthy(c) && c.cause !== 'sensor';

export function simBoostGoals(all: readonly ConfusionCase[]): Row[] {
  const of = (list: readonly ConfusionCase[], hit: (c: ConfusionCase) => boolean): string =>
    share(list.filter(hit).length, list.length);
  const short = (bad: boolean): string => (bad ? 'yes: below' : 'no');
  const sound = all.filter(healthy);
  const faulty = all.filter(isBoostFault);
  const byOne = (list: readonly ConfusionCase[]): ConfusionCase[] =>
    list.filter((c) => c.knowledge === 'one drive');
  const taught = (list: readonly ConfusionCase[]): ConfusionCase[] => list.filter((c) => c.plain !== null);
  const plainOf = (list: readonly ConfusionCase[]): string => of(taught(list), (c) => c.plain === true);
  const apart = (vehicle: string, knowledge: Knowledge, hz: number): Row => {
    const own = all.filter(
      (c) => c.vehicle === vehicle && !healthy(c) && c.knowledge === knowledge && c.hz === hz,
    );
    const told = own.filter((c) => c.named !== 'none');
    return [
      `boost, simulated ${vehicle}, ${knowledge}, ${hz} Hz: cause named right, of all`,
      '95 %',
      `${of(own, right)}; among those named ${own.filter(amongThem).length}, another ${own.filter(wrong).length}, nothing ${own.length - told.length}`,
      own.filter(right).length >= 0.95 * own.length ? 'no' : 'yes: by fault below',
    ];
  };
  const vehicles = [...new Set(all.map((c) => c.vehicle))];
  return [
    [
      'boost, simulated healthy: accused, of judgements',
      '0',
      `${of(sound, (c) => c.faults.some(isBoost))}; plain rule ${plainOf(sound)}`,
      short(sound.some((c) => c.faults.some(isBoost))),
    ],
    [
      'boost, simulated healthy: told of a fault on the way',
      '0',
      of(sound, (c) => c.spoken.some(isBoost)),
      short(sound.some((c) => c.spoken.some(isBoost))),
    ],
    [
      'boost, simulated healthy, one drive teaches: accused',
      '0',
      `${of(byOne(sound), (c) => c.faults.some(isBoost))}; told on the way ${of(byOne(sound), (c) => c.spoken.some(isBoost))}`,
      short(byOne(sound).some((c) => c.faults.some(isBoost))),
    ],
    [
      'boost, simulated fault, one drive teaches: any fault shown',
      'all',
      of(byOne(faulty), (c) => c.named !== 'none'),
      byOne(faulty).every((c) => c.named !== 'none') ? 'no' : 'yes: by fault below',
    ],
    [
      'boost, simulated fault, three drives that teach: any fault shown',
      'all',
      `${of(taught(faulty), (c) => c.named !== 'none')}; plain rule ${plainOf(faulty)}`,
      taught(faulty).every((c) => c.named !== 'none') ? 'no' : 'yes: by fault below',
    ],
    ...vehicles.flatMap((v) => [apart(v, 'baseline', FAST), apart(v, 'commanded', FAST)]),
    [
      'boost, simulated fault shown good',
      'never',
      of(faulty, (c) => c.good),
      short(faulty.some((c) => c.good)),
    ],
  ];
}

/** How often a sound car's guided road test ends in boost shown good. */
export function guidedGoals(all: readonly GuidedCase[]): Row[] {
  const vehicles = [...new Set(all.map((c) => c.vehicle))];
  const row = (vehicle: string, oneDay: boolean): Row => {
    const by = (taught: number): GuidedCase[] =>
      all.filter((c) => c.vehicle === vehicle && c.oneDay === oneDay && c.taught === taught);
    const of = (taught: number, hit: (c: GuidedCase) => boolean): string =>
      share(by(taught).filter(hit).length, by(taught).length);
    const high = (c: GuidedCase): boolean => c.goodIds.includes('boost.above-hand-over');
    const enough = by(3).filter((c) => c.good).length >= 0.93 * by(3).length;
    return [
      `boost, simulated healthy ${vehicle}, the guided road test, ${oneDay ? 'all on one day' : 'days of any season'}, three such that teach: shown good`,
      '93 %',
      `${of(3, (c) => c.good)}, its highest region ${of(3, high)}; one teaches ${of(1, (c) => c.good)}, ${of(1, high)}`,
      enough ? 'no' : 'yes: speeds in which the car does not repeat itself well enough',
    ];
  };
  const accused = all.filter((c) => c.faults.some(isBoost)).length;
  const told = all.filter((c) => c.spoken.some(isBoost)).length;
  return [
    ...vehicles.flatMap((v) => [row(v, true), row(v, false)]),
    [
      'boost, simulated healthy, the guided road test: accused',
      '0',
      `${share(accused, all.length)}; told on the way ${told}`,
      accused > 0 ? 'yes' : 'no',
    ],
  ];
}

export function simBoostText(all: readonly ConfusionCase[]): string {
  const cells = [...new Set(all.map((c) => `${c.vehicle}/${c.fault}`))];
  const rowsAt = (hz: number): (string | number)[][] =>
    cells.flatMap((cell) =>
      KNOWN.map((knowledge) => {
        const own = all.filter(
          (c) => `${c.vehicle}/${c.fault}` === cell && c.knowledge === knowledge && c.hz === hz,
        );
        const first = own[0]!;
        return [
          ...[first.vehicle, first.fault, knowledge],
          share(own.filter(right).length, own.length),
          counted(own.map((c) => c.named)),
          own.some((c) => c.plain !== null) ? own.filter((c) => c.plain === true).length : '–',
          healthy(first) ? `(${own.filter((c) => c.good).length})` : own.filter((c) => c.good).length,
        ];
      }),
    );
  const head = ['car', 'fault', 'known', 'cause named', 'all that was named', 'plain rule', 'shown good'];
  const seeds = new Set(all.map((c) => c.seed)).size;
  const list = (cs: readonly ConfusionCase[], more: (c: ConfusionCase) => string): string =>
    cs
      .slice(0, MOST_LISTED)
      .map((c) => `- ${c.vehicle}, ${c.fault}, seed ${c.seed}, ${c.hz} Hz, ${c.knowledge}: ${more(c)}`)
      .join('\n');
  const spoken = all.filter((c) => healthy(c) && (c.spoken.some(isBoost) || c.faults.some(isBoost)));
  const bad = all.filter((c) => isBoostFault(c) && c.good);
  return [
    `${seeds} cars of each kind, each with three healthy drives that teach, one healthy drive and one with each fault, all eleven minutes with twelve pulls of 75 to 100 % pedal on slopes of −6 to 7 %, each drive on its own road and day. What is known: these three drives, one of them, the commanded boost, or only how the engine is charged. The plain rule is that of the open drives, with the same three drives. In brackets: of the healthy ones.`,
    `### Read ${FAST} times a second`,
    table(head, rowsAt(FAST)),
    `### Read once a second, as the open drives`,
    table(head, rowsAt(SLOW)),
    ...(spoken.length > 0
      ? [
          'Healthy, a boost fault shown or said on the way:',
          list(spoken, (c) => `shown ${c.faults.join(', ') || 'none'}, said ${c.spoken.join(', ')}`),
        ]
      : ['Healthy, a boost fault shown or said on the way: none.']),
    ...(bad.length > 0
      ? ['A fault of the boost, and shown good:', list(bad, (c) => `named ${c.named}`)]
      : []),
  ].join('\n\n');
}
