/** Times that jump: parts are judged apart; a damaged cell or rows out of order are no jump. */

import { describe, expect, it } from 'vitest';
import { judgeTable } from '../../src/analysis/judge.ts';
import { openRecording } from '../../src/run/recording.ts';
import { JUMP_S, partsOf } from '../../src/signal/parts.ts';
import { SampleTable } from '../../src/signal/table.ts';
import { driveSamples } from '../analysis/vehicle.ts';
import { inWords } from '../in-words.ts';
import { plain, put, scratch } from './files.ts';

const folder = scratch();
let n = 0;
const parts = async (text: string) => {
  const recording = await openRecording(put(folder, `p${n++}.csv`, text));
  return { ...recording, parts: partsOf(recording.table) };
};
const rows = (from: number, count: number, value: (k: number) => string = () => '90') =>
  Array.from({ length: count }, (_, k) => `${from + k},${value(k)}\n`).join('');

describe('parts of a table', () => {
  it('a jump of an hour parts, a second less does not', () => {
    const table = (gapS: number) => {
      const t = new SampleTable();
      for (const tS of [0, 1, 1 + gapS, 2 + gapS])
        t.push({ signal: 'rpm', tUs: tS * 1e6, sentUs: tS * 1e6, value: 1 });
      return t;
    };
    expect(partsOf(table(JUMP_S - 1))).toHaveLength(1);
    const [first, second] = partsOf(table(JUMP_S));
    expect(plain(first!.table)).toEqual([
      ['rpm', 0, 1],
      ['rpm', 1e6, 1],
    ]);
    expect(plain(second!.table)).toEqual([
      ['rpm', 0, 1],
      ['rpm', 1e6, 1],
    ]);
    expect(second!.startsAtS).toBe(JUMP_S + 1);
  });

  it('a clock that starts anew parts, wide and long, also when a long table is ordered by signal', async () => {
    const wide = await parts(`t_s,rpm\n${rows(0, 100)}${rows(3, 50)}`);
    expect(wide.parts.map((p) => p.table.length)).toEqual([100, 50]);
    expect(wide.warnings.map(inWords).join()).toMatch(/clock starts anew once.*judged apart/);
    const signal = (name: string) =>
      [0, 0].map((_, part) => rows(0, part === 0 ? 100 : 70, () => name).replaceAll(/$/gm, '')).join('');
    const text = ['rpm', 'map_kpa'].map((s) => signal(s).replaceAll(`,${s}\n`, `,${s},90\n`)).join('');
    const long = await parts(`t_s,signal,value\n${text}`);
    expect(long.parts.map((p) => p.table.length)).toEqual([200, 140]);
    expect(long.parts.map((p) => [...p.table.names].sort())).toEqual([
      ['map_kpa', 'rpm'],
      ['map_kpa', 'rpm'],
    ]);
  });

  it('ordered by signal, in falling order, shuffled, or with a damaged time it stays one', async () => {
    const bySignal = ['rpm', 'map_kpa'].map((s) => rows(0, 200, () => `${s},90`)).join('');
    expect((await parts(`t_s,signal,value\n${bySignal}`)).parts).toHaveLength(1);
    const falling = rows(0, 200).trim().split('\n').reverse().join('\n');
    expect((await parts(`t_s,rpm\n${falling}\n`)).parts).toHaveLength(1);
    const damaged = `t_s,rpm\n${rows(0, 300)}${rows(3, 2)}${rows(300, 300)}`;
    const one = await parts(damaged);
    expect(one.parts).toHaveLength(1);
    expect(one.table.at(one.table.length - 1).tUs).toBe(599e6);
    const shuffled = rows(0, 900)
      .trim()
      .split('\n')
      .sort((a, b) => ((Number(a.split(',')[0]) * 7919) % 900) - ((Number(b.split(',')[0]) * 7919) % 900))
      .join('\n');
    const sorted = await parts(`t_s,rpm\n${shuffled}\n`);
    expect(sorted.parts).toHaveLength(1);
    expect(sorted.table.at(899).tUs).toBe(899e6);
  });

  it('a coolant that falls in no time at a stand and stays there begins another drive, one that comes back or falls on the move does not', async () => {
    const drive = (from: number, coolant: (k: number) => number, speed: number) =>
      Array.from(
        { length: 120 },
        (_, k) => `${from + k},${coolant(k)},${k < 20 || k >= 100 ? speed : 50}\n`,
      ).join('');
    const two = async (second: (k: number) => number, speed = 0) =>
      parts(`t_s,ect_c,speed_kmh\n${drive(0, () => 92, speed)}${drive(120, second, speed)}`);
    const apart = await two((k) => 31 + Math.floor(k / 10));
    expect(apart.parts.map((p) => [p.table.length, p.table.at(0).value])).toEqual([
      [240, 92],
      [240, 31],
    ]);
    expect(apart.warnings.map(inWords).join()).toMatch(/another drive begins/);
    expect((await two((k) => (k < 30 ? 31 : 92))).parts).toHaveLength(1);
    expect((await two((k) => 31 + Math.floor(k / 10), 50)).parts).toHaveLength(1);
    expect((await two((k) => 70 + Math.floor(k / 10))).parts).toHaveLength(1);
  });

  it('each is judged as if it were alone', async () => {
    const drive = new SampleTable();
    for (const s of driveSamples({ vehicle: 'turbo-diesel', route: 'short', hz: 1 })) drive.push(s);
    const text = (at: number) =>
      [...drive].map((s) => `${s.tUs / 1e6 + at},${s.signal},${s.value}\n`).join('');
    const { parts: two } = await parts(`t_s,signal,value\n${text(0)}${text(20_000)}`);
    const alone = judgeTable(drive, {}, null, 'x');
    expect(judgeTable(two[0]!.table, {}, null, 'x')).toEqual(alone);
    expect(two[1]!.table.length).toBe(drive.length);
  });
});
