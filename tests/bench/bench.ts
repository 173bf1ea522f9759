/**
 * `npm run bench [-- COMMIT [MINUTES]]`: speed and memory against the program as it was at COMMIT (default: the commit before), then speed of parts as
 * ratios; nothing here passes or fails. `-- COMMIT MINUTES only` leaves the parts out.
 */
import { interpret } from '../../src/adapter/interpret.ts';
import { Judge } from '../../src/analysis/judge.ts';
import type { Sample } from '../../src/core/signals.ts';
import { SampleDecoder } from '../../src/j1979/samples.ts';
import { createVehicle } from '../../src/sim/vehicle/vehicle.ts';
import { driveSamples } from '../analysis/vehicle.ts';
import { againstBefore } from './both.ts';
import { bestPerSecond, CONFIGS, leastMs, onePidAtATime, polled } from './poller.ts';
import { tables } from './tables.ts';
import { theOneBefore } from './versions.ts';

const row = (what: string, figure: string): void => console.log(`${what.padEnd(58)} ${figure}`);
const [commit = theOneBefore(), minutes = '6', only] = process.argv.slice(2);
await againstBefore(commit, Number(minutes));
if (only === 'only') process.exit(0);
console.log();

const secondsOf = (fn: () => void): number => {
  const from = performance.now();
  fn();
  return (performance.now() - from) / 1000;
};

const car = createVehicle({});
row('simulated seconds per second of one core', (600 / secondsOf(() => car.advance(600))).toFixed(0));

// Judging: one simulated road test, driven over and over without a break; laps are made as they are needed.
const drive = [...driveSamples({ hz: 5 })];
const lapUs = (drive.at(-1)?.tUs ?? 0) + 1e6;
function* laps(n: number): Generator<Sample> {
  for (let i = 0; i < n; i++) {
    const s = drive[i % drive.length]!;
    const byUs = Math.floor(i / drive.length) * lapUs;
    yield { ...s, tUs: s.tUs + byUs, sentUs: s.sentUs + byUs };
  }
}
/** Processor seconds of judging alone, so that a loaded machine does not show. */
function judge(samples: Iterable<Sample>): number {
  const j = new Judge({ induction: 'twin-charged', fuel: 'petrol' }, null);
  const from = process.cpuUsage();
  for (const s of samples) j.push(s);
  j.finish('bench');
  const { user, system } = process.cpuUsage(from);
  return (user + system) / 1e6;
}
const TWO_HOURS = 2 * 3600 * 30;
const twoHours = [...laps(TWO_HOURS)];
judge(twoHours.slice(0, 20_000));
const two = judge(twoHours);
row(`judging ${TWO_HOURS} samples (two hours at 30 a second), processor time`, `${two.toFixed(2)} s`);
const again = Math.min(judge(twoHours), judge(twoHours), judge(twoHours));
row('the same again, once the program has warmed up', `${again.toFixed(2)} s`);
row('judging, a sample', `${((1e6 * again) / TWO_HOURS).toFixed(1)} µs`);
const making = (n: number): number => {
  const from = process.cpuUsage();
  for (const _ of laps(n));
  const { user, system } = process.cpuUsage(from);
  return (user + system) / 1e6;
};
for (const times of [1, 5, 25]) {
  const n = TWO_HOURS * times;
  const each = (1e6 * (judge(laps(n)) - making(n))) / n;
  row(`judging ${2 * times} h at 30 a second, a sample (level is linear)`, `${each.toFixed(1)} µs`);
}

const answer = Uint8Array.from('7E8100C410B640C1AF8\r7E8210D3E49800455AA\r\r>', (c) => c.charCodeAt(0));
const payload = Uint8Array.of(0x01, 0x0b, 0x0c, 0x0d, 0x49, 0x04);
const dialect = { family: 'at', bus: 'can11', headers: true } as const;
const decoder = new SampleDecoder();
let values = 0;
const decodeS = secondsOf(() => {
  for (let i = 0; i < 50_000; i++) {
    const { messages } = interpret(dialect, { payload, ecu: '7E8' }, [{ tUs: i, bytes: answer }]);
    values += decoder.samples(payload, messages, i).length;
  }
});
// A figure for an answer that nobody could read would be worth nothing.
if (values !== 5 * 50_000) throw new Error(`${values} values decoded where ${5 * 50_000} were sent`);
row('values decoded from the bytes of a text adapter, a second', (values / decodeS).toFixed(0));

console.log(`
Polling six quick signals; simulated time. Limit: best grouping, from bytes, frames and response time.
Gain: over one PID at a time, asked the same way; plain: over one PID at a time, to all, waiting for others.
Most that grouping can gain: six values in one request cost at least what one does, so it stays below six.`);
const columns = ['link', 'answer', 'values/s', 'of limit', 'busy', 'gain', 'at most', 'plain', 'CPU ms/1000'];
const line = (cells: readonly string[]) =>
  console.log(cells.map((c, i) => c.padEnd(i === 0 ? 16 : 10)).join(''));
line(columns);
for (const config of CONFIGS) {
  const m = await polled(config, 5);
  const single = await onePidAtATime(config, 'addressed', 2);
  const plain = await onePidAtATime(config, 'plain', 2);
  const most = (bestPerSecond(config) * leastMs(config, [0x0b])) / 1000;
  line([
    `${config.front} ${config.baud}`,
    `${config.responseMs} ms`,
    m.perSecond.toFixed(0),
    m.shareOfLimit.toFixed(3),
    m.busy.toFixed(3),
    (m.perSecond / single).toFixed(2),
    most.toFixed(2),
    (m.perSecond / plain).toFixed(1),
    m.cpuMsPerThousand.toFixed(0),
  ]);
}

console.log('\nA text adapter found at a slow line whose speed it lets be raised; values a second.');
for (const config of CONFIGS.filter((c) => c.baud === 38_400)) {
  const before = await polled(config, 5);
  const after = await polled(config, 5, ['wrong-baud', 'line-speed']);
  const gain = (after.perSecond / before.perSecond).toFixed(2);
  row(
    `answers after ${config.responseMs} ms: ${config.baud} bit/s kept, raised, gain`,
    `${before.perSecond.toFixed(0)}, ${after.perSecond.toFixed(0)}, ${gain}`,
  );
}

console.log(
  '\nSerial-line CAN on a busy bus, answers after 8 ms: values a second, processor ms for a thousand.',
);
for (const traffic of [0, 2000, 3000])
  for (const quirks of traffic === 0 ? [[]] : [[], ['no-filter']]) {
    const m = await polled({ front: 'slcan', baud: 1_000_000, responseMs: 8 }, 5, quirks, traffic);
    row(
      `${traffic} frames a second of others${traffic === 0 ? '' : quirks.length > 0 ? ', no filter' : ', filtered in the adapter'}`,
      `${m.perSecond.toFixed(0)}, ${m.cpuMsPerThousand.toFixed(0)}`,
    );
  }

await tables(4);
