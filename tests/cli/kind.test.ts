/** Other cars of a kind from files: one a car, or a folder with its drives; what shows a fault by itself teaches nothing. */
import { mkdirSync } from 'node:fs';
import { join } from 'node:path';
import { expect, it } from 'vitest';
import { besideKind, judgeTable } from '../../src/analysis/judge.ts';
import { drivesOf, readKind } from '../../src/cli/inputs.ts';
import type { Io } from '../../src/cli/io.ts';
import { profileSchema } from '../../src/core/profile.ts';
import type { Says } from '../../src/core/says.ts';
import type { Sample } from '../../src/core/signals.ts';
import { english } from '../../src/words/spelled.ts';
import { handMade, rise } from '../analysis/hand-made.ts';
import { put, scratch } from '../run/files.ts';

const PROFILE = profileSchema.parse({ induction: 'turbocharger', fuel: 'diesel' });

const drive = (kpa: number, seed: number): Sample[] =>
  handMade({
    seed,
    pulls: [1, 2, 3].map(() => ({ fromRpm: 2100, toRpm: 3600, s: 6, boost: rise(kpa, 0.5) })),
  });
const csv = (samples: readonly Sample[]): string =>
  ['t_s,signal,value', ...samples.map((s) => `${s.tUs / 1e6},${s.signal},${s.value}`)].join('\n');

it('judges a car never seen against other cars that are given, and leaves out a drive that shows a fault', async () => {
  const home = scratch();
  const cars = [118, 121, 124, 119, 122, 120].map((kpa, k) => {
    const car = join(home, `car-${k}`);
    mkdirSync(car);
    for (const n of [1, 2]) put(car, `drive-${n}.csv`, csv(drive(kpa, 10 * k + n)));
    return car;
  });
  const dead = put(home, 'dead.csv', csv(drive(0, 77)));
  expect((await drivesOf(cars[0]!)).map((p) => p.slice(cars[0]!.length + 1))).toEqual([
    'drive-1.csv',
    'drive-2.csv',
  ]);
  expect(await drivesOf(dead)).toEqual([dead]);
  const said: string[] = [];
  const io = {
    progress: () => undefined,
    progressDone: () => undefined,
    say: (s: Parameters<Io['say']>[0]) => said.push(english.say(s as Says)),
    during: () => ({ signal: new AbortController().signal, progress: () => undefined }),
  } as unknown as Io;
  const kind = await readKind([...cars, dead], PROFILE, { timeUnit: 's', units: { ambient_c: 'degC' } }, io);
  expect(said).toEqual([`${dead}: it shows a boost fault by itself, so it teaches nothing about boost.`]);
  expect(kind?.boost?.cars).toBe(6);
  const high = (kpa: number) =>
    judgeTable(drive(kpa, 99), PROFILE, besideKind(null, kind), 'new').findings.find(
      (f) => f.id === 'boost.above-hand-over',
    )!;
  const healthy = high(123);
  expect(healthy.verdict).toBe('shown good');
  expect(english.say(healthy.limit!.source as Says)).toMatch(/^6 other cars of this kind/);
  expect(high(60).verdict).toBe('fault shown');
  expect(await readKind([], PROFILE, {}, io)).toBeNull();
});
