/**
 * How the cases of captures/conformance were made: drives of the simulated vehicle, and captures written by hand. A case
 * that is there already is left alone: an old capture is kept as it was recorded.
 */
import { existsSync, mkdirSync, rmSync, writeFileSync } from 'node:fs';
import { join, resolve } from 'node:path';
import { ManualClock } from '../../src/core/clock.ts';
import { Daemon } from '../../src/desk/daemon.ts';
import { compressRun } from '../../src/run/compress.ts';
import { type SimulationOptions, simLinkFactory } from '../../src/sim/bench.ts';
import { createVehicle } from '../../src/sim/vehicle/vehicle.ts';

const FOLDER = resolve(import.meta.dirname, '../../captures/conformance');
const SIGNALS = ['rpm', 'map_kpa', 'ect_c', 'speed_kmh', 'baro_kpa', 'pedal_d_pct'];

/** A weak text adapter: no headers, one PID a request, echo and spaces as they come. */
const BARE = ['no-headers', 'no-filters', 'no-auto-protocol', 'no-count-digit', 'no-multi-pid'];
const AS_IT_COMES = ['ignores-echo-off', 'ignores-spaces-off', 'no-linefeed-off', 'null-bytes'];

const DRIVES: readonly (readonly [name: string, seconds: number, options: Partial<SimulationOptions>])[] = [
  ['at-can11', 3, { pace: 38_400 }],
  ['at-can29', 3, { pace: 38_400, bus: { extended: true, bitrate: 250_000 } }],
  ['at-bare', 6, { pace: 9600, quirks: [...BARE, ...AS_IT_COMES] }],
  ['at-kline', 8, { pace: 38_400, kline: 'kwp-fast' }],
  ['at-kline-slow', 8, { pace: 38_400, kline: 'kwp-slow' }],
  ['at-kline-iso9141', 8, { pace: 38_400, kline: 'iso9141' }],
  ['at-kline-physical', 8, { pace: 38_400, kline: 'kwp-fast', physicalOnly: true }],
  ['at-j1850-pwm', 4, { pace: 38_400, kline: 'j1850-pwm' }],
  ['at-j1850-vpw', 4, { pace: 38_400, kline: 'j1850-vpw' }],
  ['at-lost-bytes', 4, { pace: 38_400, quirks: ['drop-bytes=0.01'] }],
  ['slcan-can11', 2, { front: 'slcan', pace: 1_000_000 }],
  ['slcan-can29', 2, { front: 'slcan', pace: 1_000_000, bus: { extended: true, bitrate: 250_000 } }],
  ['slcan-busy-bus', 1, { front: 'slcan', pace: 1_000_000, traffic: 500, quirks: ['no-filter'] }],
  ['newer-at-can11', 3, { pace: 38_400, services: 'newer' }],
  ['newer-at-can29', 3, { pace: 38_400, services: 'newer', bus: { extended: true, bitrate: 500_000 } }],
  ['newer-at-pending', 4, { pace: 38_400, services: 'newer', pendingServices: [0x22] }],
  ['newer-slcan-can11', 2, { front: 'slcan', pace: 1_000_000, services: 'newer' }],
  [
    'newer-slcan-can29-busy',
    2,
    {
      front: 'slcan',
      pace: 1_000_000,
      services: 'newer',
      busy: 0.2,
      bus: { extended: true, bitrate: 250_000 },
    },
  ],
  ['compressed', 3, { front: 'slcan', pace: 1_000_000 }],
  ['pending', 2, { pace: 38_400, pendingServices: [9] }],
];

const START = '0 anchor start 2026-01-05T08:00:00.000Z';
const AT = '0 dialect {"family":"at","bus":"can11","headers":true}';
const hex = (text: string): string => Buffer.from(text, 'latin1').toString('hex').toUpperCase();

/** Lines of one exchange with a text adapter; null: its end is missing. */
function ask(t: number, payload: string, answer: string, done: string | null = 'answered'): string[] {
  return [
    `${t} request ${payload} null`,
    `${t} tx ${hex(`${payload}\r`)}`,
    `${t + 20_000} rx ${hex(`${answer}\r\r>`)}`,
    ...(done === null ? [] : [`${t + 20_000} done ${done}`]),
  ];
}

const MAP = ask(1000, '0100', '7E8064100BE3FA813');
const RPM = '7E804410C1AF8';
const lines = (...all: (string | string[])[]): string =>
  `${['handback-capture 1', START, AT, ...all.flat()].join('\n')}\n`;
const text = (name: string, content: string, file = 'capture.txt') => ({ name, files: { [file]: content } });

const EARLY_RUN = `${JSON.stringify(
  {
    format: 'handback.run/1',
    id: '20260105-080000-other',
    purpose: 'other',
    vehicle: 'Tarnwick 1.8 twin-charged (invented)',
    vin: null,
    complaint: null,
    profile: { induction: 'turbocharger', fuel: 'petrol' },
    tool: 'handback 0.1.0',
    adapter: null,
    link: 'sim',
    startedAt: '2026-01-05T08:00:00.000Z',
    seconds: 1,
    sha256: null,
    counters: null,
    recovered: false,
  },
  null,
  2,
)}\n`;

const HAND_MADE = [
  text(
    'absences',
    lines(
      MAP, // 2F, the fuel level, is in none of the maps: unsupported; 11 is supported and never asked
      ask(100_000, '010C', RPM),
      ask(200_000, '015C', 'NO DATA', 'no data'),
      ask(300_000, '0142', '7E8037F0112'),
      ask(400_000, '0105', '7E8034105FF'), // 215 °C: kept, and flagged as implausible
      ask(500_000, '010C', '7E803410C1A', 'answered'), // one byte short: malformed
      ask(600_000, '010C', '7E80441', 'garbled'), // cut off
      ask(700_000, '010C', 'UNABLE TO CONNECT', 'bus error'),
      ask(800_000, '010C05', '7E803410564'), // one of two answered
    ),
  ),
  text(
    'two-units',
    lines(
      MAP,
      ask(100_000, '0105', '7E9034105507E8\r7E803410582'), // the first line has swallowed another's beginning
      ask(200_000, '0105', '7E903410550\r7E803410583'),
      ask(300_000, '010D', '7E903410D22'),
      ask(400_000, '010D', `${RPM}\r7E803410D23`), // a late answer to another request
    ),
  ),
  text(
    'long-answer',
    lines(
      ask(100_000, '0902', '7E81014490201544553\r7E82154303030303030\r7E82230303030303031'),
      ask(300_000, '010C0D050B0F', '7E8100C410C1AF80D22\r7E821057D0B650F28AA'),
      ask(500_000, '010C0D050B0F', '7E8100C410C1AF80D22\r7E822057D0B650F28AA', 'garbled'), // out of sequence
    ),
  ),
  text('torn', `${lines(MAP, ask(100_000, '010C', RPM), ask(200_000, '010C', RPM)).slice(0, -20)}`),
  text(
    'damaged-line',
    lines(
      MAP,
      ask(100_000, '010C', RPM),
      '150000 rx 4Z',
      '160000 nothing of this kind',
      ask(200_000, '010C', RPM),
    ),
  ),
  text('missing-end', lines(MAP, ask(100_000, '010C', RPM, null), ask(200_000, '0105', '7E803410582'))),
  text(
    'wrong-digest',
    lines(
      MAP,
      ask(100_000, '010C', RPM),
      `60000000 digest 1 ${'ab'.repeat(32)}`,
      ask(60_100_000, '010C', RPM),
    ),
  ),
  text(
    'gap-link-lost',
    lines(
      MAP,
      ask(100_000, '010C', RPM),
      '3000000 link lost "no answer"',
      '5000000 link reopening "attempt 1"',
      '8000000 link identified "back"',
      ask(8_100_000, '010C', RPM),
      '9000000 mark {"key":"N","text":"noise gone"}',
    ),
  ),
  text(
    'gap-asleep',
    lines(
      MAP,
      ask(100_000, '010C', RPM),
      '3600100000 anchor resume 2026-01-05T09:00:00.100Z',
      ask(3_600_200_000, '010C', RPM),
    ),
  ),
  text('gap-silence', lines(MAP, ask(100_000, '010C', RPM), ask(9_000_000, '010C', RPM))),
  text(
    'imported',
    `${['handback-capture 1', START, '100000 sample rpm 812.5 100000', '200000 sample ect_c -7 190000', '300000 sample x_own 1e-7 300000'].join('\n')}\n`,
  ),
  text(
    'table',
    'Time (s);Engine speed (rpm);Coolant temperature (°C)\n0,0;812,5;90\n0,5;900;\n1,0;1000;91\n',
    'table.csv',
  ),
  {
    name: 'early-run', // its run.json is from before there was a seal
    files: { 'capture.txt': lines(MAP, ask(100_000, '010C', RPM)), 'run.json': EARLY_RUN },
  },
  text(
    'receiver',
    lines(
      MAP,
      '90000 receiver heard "a receiver"',
      // Its first line comes while the car is being asked: it is read after the exchange, in its own place in time.
      ask(100_000, '010C', RPM, null),
      '110000 nmea "$GPRMC,123519,A,4807.038,N,01131.000,E,022.4,084.4,230394,003.1,W*6A"',
      '120000 done answered',
      '150000 nmea "$GPGSA,A,3,04,05,,09,12,,,24,,,,,2.5,1.3,2.1*39"',
      '150000 nmea "$GPGGA,123519,4807.038,N,01131.000,E,1,08,0.9,545.4,M,46.9,M,,*47"',
      '160000 nmea "$GPVTG,054.7,T,034.4,M,005.5,N,010.2,K*48"', // repeats what RMC told
      '170000 nmea "$GPGGA,123520,4807.038,N,01131.000,E,1,08,0.9,999.4,M,46.9,M,,*47"', // wrong checksum
      '180000 nmea "\\u00ff\\u0000noise"',
      '190000 receiver lost "unplugged"',
      ask(200_000, '010C', RPM),
    ).replace('handback-capture 1', 'handback-capture 2'),
  ),
  text('later-version', 'handback-capture 3\n0 anchor start 2026-01-05T08:00:00.000Z\n'),
  text('no-samples', lines(ask(1000, '0100', 'NO DATA', 'no data'))),
];

for (const [name, seconds, options] of DRIVES) {
  const folder = join(FOLDER, name);
  if (existsSync(folder)) continue;
  const clock = new ManualClock();
  const daemon = new Daemon({
    clock,
    library: join(FOLDER, '.library'),
    linkFactory: () =>
      simLinkFactory({ vehicle: createVehicle({ route: 'warm-road-test' }), seed: name, ...options, clock }),
  });
  await clock.until(daemon.connect({ link: 'sim', signals: SIGNALS }));
  await clock.until(
    daemon.startRunIn(folder, { purpose: 'other', vehicle: 'Tarnwick 1.8 twin-charged (invented)' }),
  );
  await clock.advance(seconds * 1000);
  await clock.until(daemon.stopRun());
  await clock.until(daemon.close());
  if (name === 'compressed')
    await compressRun(folder, { signal: new AbortController().signal, progress: () => undefined });
  console.log(`driven: ${name}`);
}
rmSync(join(FOLDER, '.library'), { recursive: true, force: true });
for (const { name, files } of HAND_MADE) {
  const folder = join(FOLDER, name);
  if (existsSync(folder)) continue;
  mkdirSync(folder, { recursive: true });
  for (const [file, content] of Object.entries(files)) writeFileSync(join(folder, file), content);
  console.log(`written: ${name}`);
}
