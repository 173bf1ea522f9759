/** Tables as other programs export them: what in them is a reading, a header, a time, a number. */
import { describe, expect, it } from 'vitest';
import { HandbackError } from '../../src/core/errors.ts';
import { openRecording } from '../../src/run/recording.ts';
import { inWords } from '../in-words.ts';
import { plain, put, scratch } from './files.ts';

const folder = scratch();
let n = 0;
const open = (content: string) => openRecording(put(folder, `r${n++}.csv`, content));
const refused = async (content: string): Promise<string> => {
  const e = await open(content).then(
    () => null,
    (thrown: unknown) => thrown,
  );
  expect(e).toBeInstanceOf(HandbackError);
  return (e as HandbackError).message;
};

interface Row {
  readonly s: number;
  readonly rpm: number;
  readonly map: number;
  readonly ect: number;
}
/** A drive read every 0.8 s: engine speed swings, the manifold follows, the coolant warms up. */
const read: Row[] = Array.from({ length: 600 }, (_, i) => ({
  s: 0.8 * i,
  rpm: Math.round(4 * (2000 + 1200 * Math.sin(i / 9) + 90 * Math.sin(i * 1.7))) / 4,
  map: Math.round(110 + 70 * Math.sin(i / 9 + 0.3)),
  ect: Math.min(92, 20 + Math.floor(i / 6)),
}));
const csv = (rows: readonly Row[]): string =>
  `t_s,rpm,map_kpa,ect_c\n${rows.map((r) => [r.s.toFixed(3), r.rpm, r.map, r.ect].join()).join('\n')}\n`;
const onGrid = (stepS: number, at: (s: number) => Row): Row[] =>
  Array.from({ length: Math.floor((read.length - 1) / (stepS / 0.8)) }, (_, k) => at(k * stepS));
const carried = (s: number): Row => ({ ...read[Math.floor(s / 0.8 + 1e-9)]!, s });
const drawn = (s: number): Row => {
  const i = Math.floor(s / 0.8 + 1e-9);
  const [a, b] = [read[i]!, read[i + 1] ?? read[i]!];
  const mid = (x: number, y: number) => Number((x + ((y - x) * (s - a.s)) / 0.8).toFixed(2));
  return { s, rpm: mid(a.rpm, b.rpm), map: mid(a.map, b.map), ect: mid(a.ect, b.ect) };
};
const counts = (table: Awaited<ReturnType<typeof open>>['table']) =>
  ['rpm', 'map_kpa', 'ect_c'].map((name) => table.series(name).value.length);

describe('values that are no readings', () => {
  it('keeps all of a table as it was read', async () => {
    const r = await open(csv(read));
    expect(counts(r.table)).toEqual([600, 600, 600]);
    expect(r.warnings).toEqual([]);
  });

  it.each([0.1, 0.2, 0.4])('carried forward every %s s: no more samples than were read', async (stepS) => {
    const r = await open(csv(onGrid(stepS, carried)));
    for (const count of counts(r.table)) {
      expect(count).toBeLessThanOrEqual(605);
      expect(count).toBeGreaterThan(480);
    }
    const known = new Set(read.map((row) => row.rpm));
    expect([...r.table.series('rpm').value].every((v) => known.has(v))).toBe(true);
    expect(r.warnings.map(inWords).join()).toMatch(/carried forward .* of \S+ samples \S+ can be readings/);
  });

  it('carried forward through a hole: a hole', async () => {
    const until = (s: number): Row => carried(s > 200 && s < 240 ? 200 : s);
    const r = await open(csv(onGrid(0.1, (s) => ({ ...until(s), s }))));
    for (const name of ['rpm', 'map_kpa', 'ect_c']) {
      const inside = [...r.table.series(name).tS].filter((t) => t > 202 && t < 239);
      expect(inside).toEqual([]);
    }
  });

  it('standing still for a quarter of a minute, with ten values of engine speed meanwhile: a hole', async () => {
    /** Samples gone of a table of rows so far apart of which so many repeat the one before. */
    const gone = async (stepS: number, repeated: number): Promise<number> => {
      const rows = read.map((r, i) => {
        const { rpm, map, ect } = i > 200 && i <= 200 + repeated ? read[200]! : r;
        return { s: stepS * i, rpm, map, ect };
      });
      return 1800 - (await open(csv(rows))).table.length;
    };
    expect(await gone(1, 13)).toBe(0);
    expect(await gone(1, 14)).toBe(3 * 14);
    expect(await gone(1.5, 10)).toBe(3 * 10);
    expect(await gone(1.6, 9)).toBe(0);
  });

  it('carried forward to the end of the table: it ends where it was last read', async () => {
    const ended = [
      ...read.slice(0, 300),
      ...Array.from({ length: 900 }, (_, i) => ({ ...read[299]!, s: 240 + i })),
    ];
    const r = await open(csv(ended));
    expect(r.table.at(r.table.length - 1).tUs).toBeLessThan(242e6);
    // An engine that idles, of which nothing is read that breathes, may stand still.
    const idle = Array.from({ length: 300 }, (_, i) => `${i},800,${40 + Math.floor(i / 20)}`);
    expect((await open(`t_s,rpm,ect_c\n${idle.join('\n')}\n300,850,55\n`)).table.length).toBe(602);
  });

  it('drawn on straight lines every 0.1 s: where they bend', async () => {
    const r = await open(csv(onGrid(0.1, drawn)));
    const [rpm, map, ect] = counts(r.table);
    for (const count of [rpm!, map!, ect!]) expect(count).toBeLessThan(900);
    expect(rpm).toBeGreaterThan(450);
    expect(ect).toBeGreaterThan(300);
    expect(r.warnings.map(inWords).join()).toMatch(/straight lines between readings/);
  });

  it('refuses lines drawn so seldom that no reading can be told from what lies between', async () => {
    const steps = read.map((r, i) => ({ ...r, map: Math.round(60 + 40 * Math.sin(i / 14)) }));
    const table = (rows: readonly (readonly number[])[]) =>
      `t_s,rpm,speed_kmh,map_kpa\n${rows.map((row) => row.join()).join('\n')}\n`;
    const of = (i: number) => [steps[i]!.rpm, steps[i]!.map, steps[i]!.map + 40];
    const halves = Array.from({ length: 950 }, (_, k) => {
      const i = Math.floor((k * 0.5) / 0.8 + 1e-9);
      const share = (k * 0.5) / 0.8 - i;
      return [k * 0.5, ...of(i).map((v, n) => Number((v + (of(i + 1)[n]! - v) * share).toFixed(2)))];
    });
    expect(await refused(table(halves))).toMatch(/drawn in between readings/);
    // As read, and with speed and pressure as fine as they are written, it is taken as it is.
    const asRead = steps.map((r, i) => [r.s, ...of(i)]);
    expect((await open(table(asRead))).table.length).toBe(1800);
    const fine = asRead.map(([s, rpm, speed, map], i) => [
      s,
      rpm,
      speed! + 0.37 * Math.cos(i),
      map! + 0.41 * Math.sin(i),
    ]);
    expect((await open(table(fine as number[][]))).table.length).toBe(1800);
  });

  it('refuses zeros that stand for holes', async () => {
    const holes = read.map((r, i) =>
      [r.s.toFixed(3), i % 2 ? 0 : r.rpm, i % 2 ? 0 : r.map, i % 2 ? r.ect : 0].join(),
    );
    expect(await refused(`t_s,rpm,map_kpa,ect_c\n${holes.join('\n')}\n`)).toMatch(
      /map_kpa is 0 in 300 of 600 samples .* zeros stand where nothing was read/,
    );
  });
});

describe('zeros that are none for holes', () => {
  it('are the boost between pulls as gauge pressure, and air about freezing', async () => {
    const gauge = read.map((r, i) => `${r.s.toFixed(3)},${r.rpm},${i % 2 ? 0 : 0.5},${i % 3 ? 0 : 1}`);
    const path = put(folder, `r${n++}.csv`, `t_s,rpm,map_kpa,iat_c\n${gauge.join('\n')}\n`);
    const r = await openRecording(path, { units: { map_kpa: 'bar gauge', iat_c: 'degC' }, baroKpa: 99 });
    expect([...new Set(r.table.series('map_kpa').value)].sort()).toEqual([149, 99]);
  });
});

describe('headers in the middle', () => {
  it('are read again where columns stand in another order, with the units below them', async () => {
    const r = await open(
      't_s,ect_c,rpm\n0,90,800\n1,91,810\nt_s,ect_c,rpm\n2,91,820\nt_s,rpm,ect_c\n(s),(rpm),(°F)\n3,830,203\n',
    );
    expect(plain(r.table)).toEqual([
      ['ect_c', 0, 90],
      ['rpm', 0, 800],
      ['ect_c', 1e6, 91],
      ['rpm', 1e6, 810],
      ['ect_c', 2e6, 91],
      ['rpm', 2e6, 820],
      ['rpm', 3e6, 830],
      ['ect_c', 3e6, 95],
    ]);
    expect(r.warnings.map(inWords).join()).toMatch(/line 6 is headers again, other than the first/);
  });
});

describe('times and numbers as spreadsheets write them', () => {
  const at = async (times: readonly string[]) =>
    plain((await open(`Time;ect_c\n${times.map((t, i) => `${t};${i}`).join('\n')}\n`)).table).map(
      (s) => s[1],
    );

  it.each([
    ['day with points', ['03.04.2026 23:59:59,5', '04.04.2026 00:00:01', '04.04.2026 00:00:02']],
    [
      'day with slashes, AM and PM',
      ['4/3/2026 11:59:59.5 PM', '4/4/2026 12:00:01 AM', '4/4/2026 12:00:02 AM'],
    ],
    ['time of day with AM and PM', ['11:59:59.5 am', '12:00:01 pm', '12:00:02 pm']],
    ['minutes and seconds that begin anew each hour', ['59:59.5', '00:01.0', '00:02.0']],
    ['minutes, then hours', ['59:59.5', '1:00:01.0', '1:00:02.0']],
    ['minutes beyond an hour', ['59:59.5', '60:01.0', '60:02.0']],
  ])('%s', async (_, times) => {
    expect(await at(times)).toEqual([0, 1_500_000, 2_500_000]);
  });

  it('a day that was written before is that day again; from its end a table goes back over midnight', async () => {
    const days = ['03.04.2026 23:59:59', '04.04.2026 00:00:01', '03.04.2026 23:59:58', '04.04.2026 00:00:02'];
    expect(await at(days)).toEqual([0, 1e6, 3e6, 4e6]);
    expect(await at(['04.04.2026 00:00:01', '03.04.2026 23:59:59', '03.04.2026 23:59:58'])).toEqual([
      0, 1e6, 3e6,
    ]);
    expect(await refused('Time,ect_c\n2026-04-03 13:05,90\n2026-04-03 13:06,91\n')).toMatch(
      /not one usable number/,
    );
  });

  it('refuses a column in which too many cells have digits and are no numbers', async () => {
    const rows = Array.from({ length: 100 }, (_, i) => `${i}.5,90,${i % 2 ? '800' : '12/3'}`);
    expect(await refused(`t_s,ect_c,rpm\n${rows.join('\n')}\n`)).toMatch(
      /50 of 100 cells in "rpm" have digits and are no numbers .* line 2, column 3: "12\/3"/,
    );
  });

  it('refuses times that may be numbers of rows where values stand still over several rows, unless they are said to be seconds', async () => {
    const rows = onGrid(0.2, carried).map(({ rpm, map, ect }, k) => [k, rpm, map, ect].join());
    const table = (header: string) => `${header},rpm,map_kpa,ect_c\n${rows.join('\n')}\n`;
    expect(await refused(table('Time'))).toMatch(/may be seconds, or numbers of rows/);
    const path = put(folder, `r${n++}.csv`, table('Time'));
    expect((await openRecording(path, { timeUnit: 's' })).table.length).toBeGreaterThan(1400);
    expect((await open(table('Time (s)'))).table.length).toBeGreaterThan(1400);
    const eachRead = read.map(({ rpm, map, ect }, k) => [k, rpm, map, ect].join());
    expect((await open(`Time,rpm,map_kpa,ect_c\n${eachRead.join('\n')}\n`)).table.length).toBe(1800);
  });

  it('says that times without a unit may be numbers of rows', async () => {
    const rows = Array.from({ length: 120 }, (_, i) => `${i},${60 + i / 10}`).join('\n');
    const said = async (header: string) => (await open(`${header}\n${rows}\n`)).warnings.map(inWords).join();
    expect(await said('Time,ect_c')).toMatch(/exactly one more than the one before/);
    expect(await said('Time (s),ect_c')).not.toMatch(/exactly one more/);
  });
});
