/**
 * `npm run torture [-- PART…]`: does to the recorder what roads, laptops and strangers do, and writes what was lost
 * into docs/reliability.md. Parts: power, kills, faults, tamper, attacks, memory, pace (all take about an hour). What is not
 * run again keeps its figures, which stand in docs/reliability.json.
 */
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join, resolve } from 'node:path';
import { ManualClock } from '../../src/core/clock.ts';
import { startServer } from '../../src/server/server.ts';
import { FakeDaemon } from '../server/fake-daemon.ts';
import { type AttackAnswer, attack } from './attacks.ts';
import { buildChildren } from './build.ts';
import { faultRows } from './faults.ts';
import { killRows, kills } from './kills.ts';
import { type MemoryResult, memoryCurve, type PaceResult, realPace } from './memory.ts';
import { powerRows } from './power.ts';
import type { Row } from './row.ts';
import { tamperRows } from './tamper.ts';

interface Store {
  rows: Record<string, readonly Row[]>;
  attacks: readonly Omit<AttackAnswer, 'whole'>[];
  memory: MemoryResult | null;
  pace: PaceResult | null;
}

const DOCS = resolve(import.meta.dirname, '../../docs');
const FILE = join(DOCS, 'reliability.json');

const PARTS: Readonly<Record<string, (store: Store) => Promise<void>>> = {
  power: async (s) => {
    s.rows.power = await powerRows();
  },
  kills: async (s) => {
    s.rows.kills = killRows(await kills([process.execPath, join(buildChildren(), 'kill-child.js')], 75, 4));
  },
  faults: async (s) => {
    s.rows.faults = await faultRows(10);
  },
  tamper: async (s) => {
    s.rows.tamper = await tamperRows();
  },
  attacks: async (s) => {
    const webRoot = mkdtempSync(join(tmpdir(), 'handback-attacks-'));
    writeFileSync(join(webRoot, 'index.html'), '<!doctype html><title>page</title>');
    const clock = new ManualClock();
    const api = new FakeDaemon({ clock });
    const server = await startServer({ api, host: '127.0.0.1', port: 0, webRoot, clock });
    const answers = await attack('127.0.0.1', Number(new URL(server.url).port));
    await server.close();
    rmSync(webRoot, { recursive: true });
    s.attacks = answers.map(({ what, answer, held }) => ({ what, answer, held }));
  },
  memory: async (s) => {
    s.memory = await memoryCurve(join(buildChildren(), 'memory-child.js'), 8);
  },
  pace: async (s) => {
    s.pace = await realPace(join(buildChildren(), 'memory-child.js'), 60);
  },
};

const chosen = process.argv.slice(2);
const unknown = chosen.find((part) => !(part in PARTS));
if (unknown) {
  console.error(`There is no part "${unknown}". Parts: ${Object.keys(PARTS).join(', ')}.`);
  process.exit(2);
}
let store: Store = { rows: {}, attacks: [], memory: null, pace: null };
try {
  store = JSON.parse(readFileSync(FILE, 'utf8')) as Store;
} catch {
  // the first time
}
for (const part of chosen.length > 0 ? chosen : Object.keys(PARTS)) {
  console.log(`${part} …`);
  await PARTS[part]!(store);
  writeFileSync(FILE, `${JSON.stringify(store, null, 2)}\n`);
  writeFileSync(join(DOCS, 'reliability.md'), documentOf(store));
}
const broken = Object.values(store.rows)
  .flat()
  .filter((r) => !r.kept).length;
const through = store.attacks.filter((a) => !a.held).length;
console.log(`${broken} promises broken, ${through} attacks not held`);
process.exit(broken + through === 0 ? 0 : 1);

function documentOf(s: Store): string {
  const rows = Object.values(s.rows).flat();
  return `# Reliability: what was done to the recorder, and what was lost

Written by \`npm run torture\`; a short version of each part is among the tests. How each fault is made stands in
\`tests/torture/\` and \`tests/run/faults.test.ts\`.

| fault | how it is provoked | times | what was lost | promise kept |
|---|---|---|---|---|
${rows.map((r) => `| ${r.fault} | ${r.how} | ${r.times} | ${r.lost} | ${r.kept ? 'yes' : '**no**'} |`).join('\n')}

The promise: everything received more than a second before is on the disk, in order; what is there opens, is told to
have been interrupted, and is closed with a hash at the next start. The disk is believed when it says that it has
written: a drive that lies about that loses what it lied about.

## Memory

${s.memory ? memoryOf(s.memory) : 'Not measured yet.'}

${s.pace ? `In real time, ${s.pace.seconds.toFixed(0)} s with 20 pages open: ${(s.pace.samples / s.pace.seconds).toFixed(0)} samples a second, ${s.pace.cpuPct.toFixed(1)} % of one core (the simulated car and adapter included), event-loop delay p99 ${s.pace.delayP99Ms.toFixed(1)} ms (longest ${s.pace.delayMaxMs.toFixed(0)} ms), resident ${s.pace.rssMb.toFixed(0)} MB.` : ''}

## Attacks on the server

| attack | answer | held |
|---|---|---|
${s.attacks.map((a) => `| ${a.what} | ${a.answer} | ${a.held ? 'yes' : '**no**'} |`).join('\n')}

"Held" also means that the answer holds no path and no stack. The threats and the defences are in
[security.md](security.md).
`;
}

function memoryOf(m: MemoryResult): string {
  const line = m.hours
    .filter((h) => h.hour < 1 || Math.abs(h.hour - Math.round(h.hour)) < 0.01)
    .map((h) => `| ${h.hour.toFixed(1)} | ${h.rssMb.toFixed(0)} | ${h.heapMb.toFixed(0)} | ${h.samples} |`);
  const last = m.hours.at(-1);
  return `A recording of ${last?.hour.toFixed(1)} simulated hours, run as fast as the machine allows (dozens of times faster than real time, so
garbage is collected later than it would be), with 20 pages coming and going (${m.clientsSeen} connections), two of which never read:

| hour | resident MB | heap MB | samples |
|---|---|---|---|
${line.join('\n')}

${m.answersGiven} answers of the car, ${m.answersKept} in the capture of ${m.captureMb.toFixed(0)} MB (one exchange may be under way at each end);
${m.recordedSamples} samples read back from it, ${last?.samples} counted live at the last full mark.`;
}
