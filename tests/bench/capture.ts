/**
 * `npx tsx tests/bench/capture.ts [COMMIT [reading]]`: how fast a capture becomes samples, against the program as it was at
 * COMMIT, both compiled as they ship and run in turn in processes of their own. Processor seconds, so that a busy
 * machine shows less; each line of times is one round, and the ratio is taken round by round. The samples of both have to
 * be the same, bit for bit. Then several captures judged one after another and side by side. Where tshark is there it reads the frames of the second capture too, without making samples.
 */
import { execFileSync } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { availableParallelism, loadavg, tmpdir } from 'node:os';
import { join } from 'node:path';
import { readSlcanLine, SlcanSplitter } from '../../src/adapter/slcan/read.ts';
import { readLine } from '../../src/run/capture/format.ts';
import { ROOT, theOneBefore, withBoth } from './versions.ts';

const BEFORE = process.argv[2] ?? theOneBefore();
/** With "reading" behind the commit, side by side is left out. */
const only = process.argv[3];
const ROUNDS = 3;
const HOUR_US = 3600e6;
const scratch = mkdtempSync(join(tmpdir(), 'handback-capture-'));

/** Reads one capture with the program in `root` and says what it took: a warm-up first, then the measured time. */
const READER = `
import { createHash } from 'node:crypto';
const [root, path] = process.argv.slice(1);
const { openRecording } = await import(root + '/src/run/recording.js');
await openRecording(path);
const from = process.cpuUsage();
const { table } = await openRecording(path);
const { user, system } = process.cpuUsage(from);
const hash = createHash('sha256');
for (const s of table) hash.update(s.signal + ' ' + s.tUs + ' ' + s.sentUs + ' ' + s.value + '\\n');
console.log(JSON.stringify({ s: (user + system) / 1e6, samples: table.length, hash: hash.digest('hex') }));`;

/** Judges all captures in one process, with so many threads, and says how long it took by the clock. */
const JUDGES = `
import { createHash } from 'node:crypto';
const [root, most, ...paths] = process.argv.slice(1);
const { beside, sideBySide } = await import(root + '/src/run/threads.js');
const { JudgeOne } = await import(root + '/src/cli/judge-one.js');
const asked = { profile: null, stated: { units: {} }, table: {}, baseline: [], kind: [], out: null };
const during = { signal: new AbortController().signal, progress: () => undefined };
const one = new JudgeOne(asked, { progress() {}, progressDone() {}, during: () => during });
const hash = createHash('sha256');
const from = performance.now();
const entry = beside('file://' + root + '/src/cli/judge.js', 'judge-one');
const here = (task, d) => one.judge(task, d);
const tasks = paths.map((path) => ({ asked, path, content: null }));
for await (const o of sideBySide(tasks, { entry, here, most: Number(most), during })) {
  if ('thrown' in o) throw o.thrown;
  hash.update(JSON.stringify(o));
}
const s = (performance.now() - from) / 1000;
const { user, system } = process.cpuUsage();
console.log(JSON.stringify({ s, cpuS: (user + system) / 1e6, hash: hash.digest('hex') }));`;
const SIX = 6;

/** A recorded capture driven over and over until an hour is full. */
function anHour(capture: string): { path: string; mb: number; lines: readonly string[]; laps: number } {
  const [first, ...rest] = readFileSync(join(ROOT, 'captures', capture, 'capture.txt'), 'utf8')
    .trimEnd()
    .split('\n')
    .filter((line) => !line.includes(' digest '));
  const timed = rest.map((line) => [Number.parseInt(line, 10), line.slice(line.indexOf(' '))] as const);
  const lapUs = timed.at(-1)![0] + 1e5;
  const laps = Math.ceil(HOUR_US / lapUs);
  let text = `${first}\n`;
  for (let k = 0; k < laps; k++) for (const [tUs, line] of timed) text += `${tUs + k * lapUs}${line}\n`;
  const path = join(scratch, `${capture.replace('/', '-')}.txt`);
  writeFileSync(path, text);
  return { path, mb: text.length / 1e6, lines: rest, laps };
}

interface Read {
  readonly s: number;
  readonly samples: number;
  readonly hash: string;
}

const read = (root: string, path: string): Read =>
  JSON.parse(
    execFileSync(process.execPath, ['--input-type=module', '-e', READER, root, path], { encoding: 'utf8' }),
  );

/** Frames that came over a serial-line CAN adapter, `laps` times, as a file that tshark reads (SocketCAN, link type 227). */
function pcapOf(lines: readonly string[], laps: number): { packets: Buffer; frames: number } {
  const splitter = new SlcanSplitter();
  const once = lines.flatMap((line) => {
    const read = readLine(line);
    if (!read.ok || read.record.kind !== 'rx') return [];
    return splitter.push(read.record).flatMap((l) => {
      const meaning = readSlcanLine(l);
      if (meaning.kind !== 'frame') return [];
      const packet = Buffer.alloc(16 + 8 + meaning.data.length);
      packet.writeUInt32LE(8 + meaning.data.length, 8);
      packet.writeUInt32LE(8 + meaning.data.length, 12);
      packet.writeUInt32BE(Number.parseInt(meaning.id, 16), 16);
      packet[20] = meaning.data.length;
      packet.set(meaning.data, 24);
      return [packet];
    });
  });
  const head = Buffer.alloc(24);
  head.writeUInt32LE(0xa1b2c3d4, 0);
  head.writeUInt16LE(2, 4);
  head.writeUInt16LE(4, 6);
  head.writeUInt32LE(65_535, 16);
  head.writeUInt32LE(227, 20);
  const lap = Buffer.concat(once);
  return {
    packets: Buffer.concat([head, ...Array.from({ length: laps }, () => lap)]),
    frames: once.length * laps,
  };
}

function tshark(path: string): number | null {
  const args = ['-n', '-r', path, '-d', 'can.subdissector,iso15765', '-T', 'fields'];
  const from = performance.now();
  try {
    execFileSync('tshark', [...args, '-e', 'iso15765.message_type', '-e', 'data.data'], {
      stdio: ['ignore', 'ignore', 'ignore'],
      env: { ...process.env, HOME: scratch },
    });
  } catch {
    return null;
  }
  return (performance.now() - from) / 1000;
}

const row = (what: string, figure: string): void => console.log(`${what.padEnd(66)} ${figure}`);

try {
  await withBoth(BEFORE, scratch, (old, now) => {
    const judged = (most: number, paths: readonly string[]): { s: number; cpuS: number; hash: string } =>
      JSON.parse(
        execFileSync(process.execPath, ['--input-type=module', '-e', JUDGES, now, String(most), ...paths], {
          encoding: 'utf8',
        }),
      );
    if (only !== 'reading') {
      const { path, mb } = anHour('clutch-never-closes');
      const paths = Array.from({ length: SIX }, () => path);
      const ratios: number[] = [];
      for (let round = 0; round < ROUNDS; round++) {
        const [one, all] = [judged(1, paths), judged(availableParallelism(), paths)];
        if (one.hash !== all.hash) throw new Error('side by side other judgements');
        ratios.push(one.s / all.s);
        row(
          `${SIX} captures of ${mb.toFixed(0)} MB judged, by the clock: one after another, side by side`,
          `${one.s.toFixed(1)} s, ${all.s.toFixed(1)} s (of a processor ${one.cpuS.toFixed(1)}, ${all.cpuS.toFixed(1)})`,
        );
      }
      row(
        `  times as fast on ${availableParallelism()} cores, round by round`,
        ratios.map((r) => r.toFixed(2)).join(', '),
      );
    }
    for (const capture of ['clutch-never-closes', 'conformance/slcan-busy-bus']) {
      const { path, mb, lines, laps } = anHour(capture);
      const ratios: number[] = [];
      for (let round = 0; round < ROUNDS; round++) {
        const [a, b] = [read(old, path), read(now, path)];
        if (a.hash !== b.hash || a.samples === 0) throw new Error(`${capture}: not the same samples`);
        ratios.push(a.s / b.s);
        row(
          `${capture}: ${mb.toFixed(0)} MB to ${b.samples} samples, at ${BEFORE} and now`,
          `${a.s.toFixed(2)} s, ${b.s.toFixed(2)} s`,
        );
      }
      row('  times as fast, round by round', ratios.map((r) => r.toFixed(1)).join(', '));
      if (!capture.includes('slcan')) continue;
      const { packets, frames } = pcapOf(lines, laps);
      const pcap = join(scratch, 'frames.pcap');
      writeFileSync(pcap, packets);
      const tookS = tshark(pcap);
      const figure = tookS === null ? 'not installed' : `${tookS.toFixed(1)} s on the clock`;
      row(`  tshark over the same ${frames} frames, ISO-TP alone`, figure);
    }
  });
  row('load of the machine', loadavg()[0]!.toFixed(1));
} finally {
  rmSync(scratch, { recursive: true, force: true });
}
