/**
 * The program as it was at a commit against the program as it is, in one run: judging, an hour's run opened and judged,
 * and a daemon that records over a line which carries 200 values a second while five pages watch. Both are compiled as they ship and take turns in
 * processes of their own; a ratio above one is a gain. Processor seconds, so that a busy machine shows less.
 */
import { execFileSync } from 'node:child_process';
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { loadavg, tmpdir } from 'node:os';
import { join } from 'node:path';
import { driveSamples } from '../analysis/vehicle.ts';
import { LEAST_MIN, type Watched, watched } from '../torture/watched.ts';
import { anHour } from './hour.ts';
import { ROOT, withBoth } from './versions.ts';

const ROUNDS = 3;
const PAGES = 5;
const LAPS = 4;

const timed = (body: string): string => `
const [root, path] = process.argv.slice(1);
const { Judge } = await import(root + '/src/analysis/judge.js');
const profile = { induction: 'twin-charged', fuel: 'petrol' };
const judged = (samples) => {
  const judge = new Judge(profile, null);
  for (const s of samples) judge.push(s);
  return judge.finish('bench').findings.length;
};
${body}
await once();
const from = process.cpuUsage();
const findings = await once();
const { user, system } = process.cpuUsage(from);
if (!(findings > 0)) throw new Error('nothing was judged');
console.log((user + system) / 1e6);`;

const JUDGING = timed(`
const { readFileSync } = await import('node:fs');
const samples = JSON.parse(readFileSync(path, 'utf8'));
const once = () => judged(samples);`);
const OPENING = timed(`
const { openRecording } = await import(root + '/src/run/recording.js');
const once = async () => judged((await openRecording(path)).table);`);

const row = (what: string, figure: string): void => console.log(`${what.padEnd(66)} ${figure}`);

function inTurn(what: string, script: string, old: string, now: string, path: string): void {
  const took = (root: string): number =>
    Number(
      execFileSync(process.execPath, ['--input-type=module', '-e', script, root, path], { encoding: 'utf8' }),
    );
  const rounds = Array.from({ length: ROUNDS }, () => [took(old), took(now)] as const);
  row(`${what}, before and now`, rounds.map(([a, b]) => `${a.toFixed(2)} s, ${b.toFixed(2)} s`).join('; '));
  row('  before over now, round by round', rounds.map(([a, b]) => (a / b).toFixed(2)).join(', '));
}

/** @param minutes how long the two daemons are watched, beside each other; fewer than LEAST_MIN: they are not */
export async function againstBefore(commit: string, minutes: number): Promise<void> {
  const scratch = mkdtempSync(join(tmpdir(), 'handback-both-'));
  try {
    await withBoth(commit, scratch, async (old, now) => {
      const samples = join(scratch, 'samples.json');
      const drive = [...driveSamples({ hz: 5 })];
      const lapUs = drive.at(-1)!.tUs + 1e6;
      const laps = Array.from({ length: LAPS }, (_, k) =>
        drive.map((s) => ({ ...s, tUs: s.tUs + k * lapUs, sentUs: s.sentUs + k * lapUs })),
      ).flat();
      writeFileSync(samples, JSON.stringify(laps));
      inTurn(`judging ${laps.length} samples`, JUDGING, old, now, samples);
      const hour = join(scratch, await anHour(scratch, 'an-hour'));
      inTurn('an hour of a text adapter opened and judged', OPENING, old, now, hour);

      if (!(minutes >= LEAST_MIN)) {
        row(
          'recording in real time',
          `not watched: the first minute does not count, give ${LEAST_MIN} minutes or more`,
        );
        return;
      }
      const car = ['--import', 'tsx', join(ROOT, 'tests/torture/steady-port-child.ts')];
      const [before, after] = (await Promise.all(
        [old, now].map((program) => watched({ program, car, flags: [], minutes, pages: PAGES })),
      )) as [Watched, Watched];
      const perSecond = (w: Watched): string => (w.samples / w.minutes / 60).toFixed(0);
      const pair = (what: string, of: (w: Watched) => number, unit: string): void =>
        row(
          `recording in real time, ${PAGES} pages: ${what}, before and now`,
          `${of(before).toFixed(1)} ${unit}, ${of(after).toFixed(1)} ${unit}; ratio ${(of(before) / of(after)).toFixed(2)}`,
        );
      pair(`resident after ${minutes} min`, (w) => w.rssMb.at(-1)!, 'MB');
      pair('highest', (w) => w.highestMb, 'MB');
      pair('of one core', (w) => w.cpuPct, '%');
      pair('of one core for each 100 values a second', (w) => (6000 * w.cpuPct * w.minutes) / w.samples, '%');
      row('  values a second, before and now', `${perSecond(before)}, ${perSecond(after)}`);
    });
    row('load of the machine', loadavg()[0]!.toFixed(1));
  } finally {
    rmSync(scratch, { recursive: true, force: true });
  }
}
