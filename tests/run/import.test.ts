import { gzipSync } from 'node:zlib';
import fc from 'fast-check';
import { parquetWriteBuffer } from 'hyparquet-writer';
import { describe, expect, it } from 'vitest';
import { HandbackError } from '../../src/core/errors.ts';
import { SIGNALS, signalDef } from '../../src/core/signals.ts';
import type { ImportOptions } from '../../src/run/import/builder.ts';
import { importText } from '../../src/run/import/csv.ts';
import { importParquet } from '../../src/run/import/parquet.ts';
import { openRecording } from '../../src/run/recording.ts';
import { de } from '../../src/words/de/de.ts';
import { en } from '../../src/words/en/en.ts';
import { inWords } from '../in-words.ts';
import { plain, put, scratch } from './files.ts';

const folder = scratch();
let n = 0;
const open = (content: string | Uint8Array, options: ImportOptions = {}, ending = '.csv') =>
  openRecording(put(folder, `t${n++}${ending}`, content), options);

async function failure(promise: Promise<unknown>): Promise<HandbackError> {
  const e = await promise.then(
    () => null,
    (e: unknown) => e,
  );
  expect(e).toBeInstanceOf(HandbackError);
  return e as HandbackError;
}

describe('long tables', () => {
  const text = 't_s,signal,value\n0.000,ect_c,30\n0.090,map_kpa,96.5\n0.1234567,rpm,-0.5e1\n';
  const want = [
    ['ect_c', 0, 30],
    ['map_kpa', 90_000, 96.5],
    ['rpm', 123_457, -5],
  ];

  it('gives each row as a sample with whole microseconds', async () => {
    const r = await open(text);
    expect(plain(r.table)).toEqual(want);
    expect(r.table.at(1).sentUs).toBe(90_000);
    expect(r).toMatchObject({ kind: 'table', warnings: [], marks: [], gaps: [], meta: null, profile: null });
  });

  it('reads the same packed, with a byte-order mark, with CRLF, and in UTF-16', async () => {
    expect(plain((await open(gzipSync(text), {}, '.csv.gz')).table)).toEqual(want);
    expect(plain((await open(`\uFEFF${text}`)).table)).toEqual(want);
    expect(plain((await open(text.replaceAll('\n', '\r\n'))).table)).toEqual(want);
    expect(plain((await open(Buffer.from(`\uFEFF${text}`, 'utf16le'))).table)).toEqual(want);
  });

  it('keeps a signal it does not know, and says so', async () => {
    const r = await open('t_s,signal,value\n0,oil_kpa_x,3\n1,oil_kpa_x,4\n2,No Such Thing!,4\n');
    expect(plain(r.table)).toEqual([
      ['oil_kpa_x', 0, 3],
      ['oil_kpa_x', 1e6, 4],
    ]);
    expect(r.warnings.map(inWords).join('\n')).toMatch(/line 2: signal "oil_kpa_x" is not in the catalogue/);
    expect(r.warnings.map(inWords).join('\n')).toMatch(
      /1 cell .* not known: line 4, column 2: "No Such Thing!"/,
    );
  });

  it('converts by a unit column and by units in signal names', async () => {
    const r = await open(
      'time,signal,value,unit\n0,Coolant temperature,212,°F\n0,map,1,bar\n1,speed [mph],100,\n',
    );
    expect(plain(r.table)).toEqual([
      ['ect_c', 0, 100],
      ['map_kpa', 0, 100],
      ['speed_kmh', 1e6, 160.9344],
    ]);
  });
});

describe('wide tables', () => {
  it.each([
    ['comma', 'Time (s),Coolant temperature (°C),Engine speed\n0.5,90,800\n1,,810\n'],
    ['semicolon and decimal comma', 'Time (s);Coolant temperature (°C);Engine speed\n0,5;90;800\n1;;810,0\n'],
    ['tab', 'Time (s)\tCoolant temperature (°C)\tEngine speed\n0.5\t90\t800\n1\t\t810\n'],
    ['quotes', '"Time (s)","Coolant temperature (°C)","Engine speed"\n"0,5","90","800"\n"1","","810"\n'],
    ['a title before and blank lines', 'A drive\n\nTime (s),ect_c,rpm\n\n0.5,90,800\n\n1,n/a,810\n'],
    ['a row of units', 'Time,ECT,RPM\ns,°C,1/min\n0.5,90,800\n1,-,810\n'],
    ['milliseconds', 't_ms,ect,rpm\n500,90,800\n1000,,810\n'],
    ['minutes', 'Time [min],ect,rpm\n0.00833333333333333,90,800\n0.0166666666666667,,810\n'],
  ])('%s: holes stay holes', async (_, text) => {
    const { table } = await open(text);
    expect(plain(table)).toEqual([
      ['ect_c', 500_000, 90],
      ['rpm', 500_000, 800],
      ['rpm', 1_000_000, 810],
    ]);
  });

  it.each([
    ['2026-03-01T10:00:00Z', '2026-03-01T10:00:01.250000Z'],
    ['2026-03-01 10:00:00', '2026-03-01 10:00:01,25'],
    ['2026-03-01T10:00:00+01:00', '2026-03-01T09:00:01.25Z'],
    ['2026-02-28T23:59:59.5Z', '2026-03-01T00:00:00.75Z'],
    ['10:00:00', '10:00:01.25'],
    ['23:59:59.500', '00:00:00.750'],
    ['1767600000', '1767600001.25'],
    ['1767600000000', '1767600001250'],
  ])('counts from the first time stamp: %s', async (a, b) => {
    const { table } = await open(`time;ect_c\n"${a}";90\n"${b}";91\n`);
    expect(plain(table)).toEqual([
      ['ect_c', 0, 90],
      ['ect_c', 1_250_000, 91],
    ]);
  });

  it.each([
    ['ECT [°F]', 212, 'ect_c', 100],
    ['ect_f', 32, 'ect_c', 0],
    ['Coolant temperature, K', 373.15, 'ect_c', 100],
    ['speed_mph', 50, 'speed_kmh', 80.4672],
    ['Vehicle speed (m/s)', 10, 'speed_kmh', 36],
    ['MAP (bar)', 1.5, 'map_kpa', 150],
    ['MAP (mbar)', 1013, 'map_kpa', 101.3],
    ['Barometric pressure hPa', 1013, 'baro_kpa', 101.3],
    ['map_psi', 14.5, 'map_kpa', 99.974],
    ['MAF (kg/h)', 36, 'maf_gps', 10],
    ['Supply voltage [mV]', 13800, 'voltage_v', 13.8],
    ['Run time (min)', 2, 'run_time_s', 120],
  ])('converts %s', async (header, value, signal, want) => {
    const { table } = await open(`t_s;${header}\n0;${value}\n`);
    expect(table.at(0).signal).toBe(signal);
    expect(table.at(0).value).toBeCloseTo(want, 3);
  });

  it.each([
    ['Drehzahl [U/min]', 800, 'rpm', 800],
    ['Motordrehzahl in 1/min', 800, 'rpm', 800],
    ['Kühlmitteltemperatur (°C)', 90, 'ect_c', 90],
    ['Kuehlmitteltemperatur', 90, 'ect_c', 90],
    ['KÜHLMITTELTEMPERATUR; Grad Celsius', 90, 'ect_c', 90],
    ['Ku\u0308hlmitteltemp. [°C]', 90, 'ect_c', 90],
    ['Ladedruck (Istwert) [mbar]', 1500, 'boost_act_kpa', 150],
    ['Ladedruck Soll in hPa', 1500, 'boost_cmd_kpa', 150],
    ['Saugrohrdruck [mbar absolut]', 1500, 'map_kpa', 150],
    ['Drosselklappe (relativ) [%]', 12, 'rel_throttle_pct', 12],
    ['Öltemperatur', 95, 'oil_c', 95],
    ['Außentemperatur [Grad C]', 12, 'ambient_c', 12],
  ])('understands the German words of the trade: %s', async (header, value, signal, want) => {
    const { table } = await open(`Zeit [Sek];"${header}"\n0,5;${value}\n`);
    expect(plain(table)).toEqual([[signal, 500_000, want]]);
  });

  it('understands each name that the tool gives a signal, in both languages', async () => {
    for (const language of [en, de])
      for (const signal of Object.keys(SIGNALS)) {
        const name = (language.messages as Record<string, string>)[`signal.${signal}`];
        if (name === undefined) continue;
        const { table } = await open(`t_s;"${name}"\n0;1\n`, { units: { [signal]: signalDef(signal).unit } });
        expect([name, table.names]).toEqual([name, [signal]]);
      }
  });

  it('reads a row a value under German headers', async () => {
    const { table } = await open('Zeit;Messgröße;Wert;Einheit\n0,5;Drehzahl;800;U/min\n');
    expect(plain(table)).toEqual([['rpm', 500_000, 800]]);
  });

  it('asks which of two signals a word means, and takes neither', async () => {
    const r = await open('Zeit;Drehzahl;Ladedruck [mbar];Motortemperatur\n0,5;800;1500;90\n');
    expect(plain(r.table)).toEqual([['rpm', 500_000, 800]]);
    const said = r.warnings.map(inWords).join();
    expect(said).toMatch(/"Ladedruck \[mbar\]" \(may be map_kpa, boost_act_kpa: say which/);
    expect(said).toMatch(/"Motortemperatur" \(may be ect_c, oil_c/);
    const told = await open('Zeit;Ladedruck [mbar]\n0,5;1500\n', { map: { 'Ladedruck [mbar]': 'map_kpa' } });
    expect(plain(told.table)).toEqual([['map_kpa', 500_000, 150]]);
    expect((await failure(open('Zeit;Ladedruck [mbar]\n0,5;1500\n'))).message).toMatch(
      /not understood: "Ladedruck/,
    );
  });

  it('takes no air mass for each stroke for air mass in time', async () => {
    const r = await open('Zeit;Drehzahl;Luftmasse [mg/Hub]\n0,5;800;400\n');
    expect(r.table.names).toEqual(['rpm']);
    expect(r.warnings.map(inWords).join()).toMatch(/cannot be converted from mg\/Hub to g\/s/);
  });

  it('does not take a gauge pressure for an absolute one', async () => {
    const r = await open('t_s,MAP [psig],rpm\n0,14,800\n');
    expect(r.table.names).toEqual(['rpm']);
    expect(r.warnings.map(inWords).join()).toMatch(/MAP \[psig\].*cannot be converted from psig to kPa/);
  });

  it('obeys the caller about columns', async () => {
    const text = 'Nr,When,A,B [°F]\n1,0,800,212\n2,0.5,900,32\n';
    const r = await open(text, { time: 'When', map: { A: 'rpm', 'B [°F]': 'ect_c' } });
    expect(plain(r.table)).toEqual([
      ['rpm', 0, 800],
      ['ect_c', 0, 100],
      ['rpm', 500_000, 900],
      ['ect_c', 500_000, 0],
    ]);
    const unit = await open('t_s,P\n0,1.5\n', { map: { P: 'map_kpa[bar]' } });
    expect(plain(unit.table)).toEqual([['map_kpa', 0, 150]]);
    expect((await failure(open(text, { map: { A: 'rpn' } }))).code).toBe('input.usage');
    const absent = await failure(open(text, { time: 'When', map: { A: 'rpm', Z: 'ect_c' } }));
    expect(absent.code).toBe('input.format');
    expect(absent.message).toMatch(/no column "Z"; its headers are "Nr", "When", "A"/);
  });

  it('lists the columns it does not use, and the first of two that mean the same', async () => {
    const r = await open('t_s,ect_c,Coolant temp,Mood\n0,90,91,7\n');
    expect(plain(r.table)).toEqual([['ect_c', 0, 90]]);
    expect(r.warnings.map(inWords).join('\n')).toMatch(/"ect_c" and "Coolant temp" both mean ect_c/);
    expect(r.warnings.map(inWords).join('\n')).toMatch(/not used: "Mood"/);
  });

  it('reads the other mark, a small space and an apostrophe as grouping, and leaves out what is neither', async () => {
    const r = await open(
      "t_s;rpm\n0,5;800,25\n1,5;1.234\n2,5;1.234,5\n3,5;1\u202f235\n4,5;1'236,5\n5,5;0.123\n",
    );
    expect(plain(r.table).map((s) => s[2])).toEqual([800.25, 1234, 1234.5, 1235, 1236.5]);
    expect(r.warnings.map(inWords).join()).toMatch(/line 7, column 2: "0.123"/);
    const quoted = await open('t_s,rpm\n"1,000","800,5"\n"2,000","1.015,5"\n');
    expect(plain(quoted.table).map((s) => s.slice(1))).toEqual([
      [1e6, 800.5],
      [2e6, 1015.5],
    ]);
  });
});

describe('what is wrong with a table is said with its place', () => {
  it('names file and headers when there is no time or no signal', async () => {
    const e = await failure(open('foo,ect_c\n1,2\n'));
    expect(e.code).toBe('input.format');
    expect(e.exitStatus).toBe(2);
    expect(e.message).toMatch(/\.csv: line 1: no time column.*understood: "ect_c"; not understood: "foo"/);
    expect((await failure(open('t_s,foo\n1,2\n'))).message).toMatch(
      /no signal known here.*understood: "t_s"/,
    );
    expect((await failure(open('1,2,3\n4,5,6\n'))).message).toMatch(/no time column/);
  });

  it('empty, without rows, missing, a folder, binary', async () => {
    expect((await failure(open(''))).message).toMatch(/is empty/);
    expect((await failure(open('t_s,signal,value\n'))).message).toMatch(/has headers but no rows/);
    expect((await failure(openRecording(`${folder}/nowhere.csv`))).code).toBe('input.file');
    expect((await failure(openRecording(folder))).code).toBe('input.file');
    const junk = await failure(open(Uint8Array.from({ length: 2000 }, (_, i) => (i * 7919) % 256)));
    expect(junk).toMatchObject({ code: 'input.format' });
    expect(junk.message).toMatch(/binary/);
    expect((await failure(open(Buffer.from('PAR1 and then nothing of the kind'), {}, '.parquet'))).code).toBe(
      'input.format',
    );
    expect((await failure(open(Uint8Array.of(0x1f, 0x8b, 8, 0, 1, 2), {}, '.gz'))).code).toBe('input.format');
  });

  it('counts text in number cells and goes on', async () => {
    const r = await open('t_s,ect_c,rpm\n0,90,800\n1,warm,810\n2,91,fast\nlater,92,820\n3,1e999,830\n');
    expect(plain(r.table).map((s) => s[2])).toEqual([90, 800, 810, 91, 830]);
    const all = r.warnings.map(inWords).join('\n');
    expect(all).toMatch(
      /2 cells without a usable value in "ect_c": line 3, column 2: "warm", line 6, column 2: "1e999"/,
    );
    expect(all).toMatch(/1 cell .* in "rpm": line 4, column 3: "fast"/);
    expect(all).toMatch(/time column "t_s": line 5, column 1: "later"/);
  });

  it('is an error when nothing is a number', async () => {
    const e = await failure(open('t_s,ect_c\n0,warm\n1,hot\n'));
    expect(e.code).toBe('input.format');
    expect(e.message).toMatch(/2 rows but not one usable number.*line 2, column 2: "warm"/);
  });

  it('sorts times and says so; counts repeats once and says so', async () => {
    const r = await open('t_s,ect_c\n0,1\n2,3\n1,2\n2,3\n');
    expect(plain(r.table).map((s) => s[1])).toEqual([0, 1e6, 2e6]);
    expect(r.warnings.map(inWords).join('\n')).toMatch(/times go back once, first at line 4; sorted/);
    expect(r.warnings.map(inWords).join('\n')).toMatch(
      /1 reading repeats the one before it at the same time/,
    );
  });

  it('counts a row that stands twice once', async () => {
    const once = 't_s,ect_c,rpm\n0,80,900\n1,80,910\n2,81,900\n';
    const [head, ...rows] = once.trimEnd().split('\n');
    const twice = [head, ...rows.flatMap((row) => [row, row])].join('\n');
    const r = await open(twice);
    expect(plain(r.table)).toEqual(plain((await open(once)).table));
    expect(r.warnings.map(inWords).join('\n')).toMatch(
      /^6 readings repeat the ones before them at the same time and were left out$/,
    );
  });

  it('spreads rows whose times are cut to whole seconds, whatever the order and layout', async () => {
    const rows = ['0,80,900', '0,80,930', '0,80,960', '1,80,990', '1,80,1020', '1,81,1050', '2,81,1080'];
    const want = [0, 1 / 3, 2 / 3, 1, 4 / 3, 5 / 3, 2].map((s, k) => [
      'rpm',
      Math.round(s * 1e6),
      900 + 30 * k,
    ]);
    const rpm = async (text: string) =>
      plain((await open(text)).table).filter(([signal]) => signal === 'rpm');
    expect(await rpm(`t_s,ect_c,rpm\n${rows.join('\n')}\n`)).toEqual(want);
    expect(await rpm(`t_s,ect_c,rpm\n${rows.toReversed().join('\n')}\n`)).toEqual(want);
    const long = rows.map((row) => row.split(',')).map(([t, , n]) => `${t},rpm,${n}\n`);
    expect(await rpm(`t_s,signal,value\n${long.join('')}`)).toEqual(want);
    const said = (await open(`t_s,ect_c,rpm\n${rows.join('\n')}\n`)).warnings.map(inWords);
    expect(said.join('\n')).toMatch(
      /readings have the time of another; they were spread evenly until the next time/,
    );
  });

  it('leaves signals of one time in a long table where they are', async () => {
    const r = await open('t_s,signal,value\n0,ect_c,80\n0,rpm,900\n1,ect_c,81\n1,rpm,930\n');
    expect(plain(r.table).map((s) => s[1])).toEqual([0, 0, 1e6, 1e6]);
    expect(r.warnings).toEqual([]);
  });

  it('doubts seconds that make a drive of many days', async () => {
    const text = 'time,ect_c\n0,80\n600000,90\n';
    expect((await open(text)).warnings.map(inWords).join()).toMatch(
      /spans 167 h; if its times are milliseconds, say --time-unit ms/,
    );
    expect((await open(text.replace('time', 'time (ms)'))).warnings).toEqual([]);
  });

  it('moves a table that begins before zero', async () => {
    const r = await open('t_s,ect_c\n-1.5,1\n0,2\n');
    expect(plain(r.table).map((s) => s[1])).toEqual([0, 1_500_000]);
    expect(r.warnings.map(inWords).join()).toMatch(/begin at −1.5\s+s/);
  });

  it('keeps what came before a torn end, and never a torn number', async () => {
    const rows = Array.from({ length: 5000 }, (_, i) => `${i}.000,ect_c,${100_000 + i}`);
    const packed = gzipSync(`t_s,signal,value\n${rows.join('\n')}\n`);
    for (const share of [0.3, 0.7, 0.99]) {
      const r = await open(packed.subarray(0, Math.floor(packed.length * share)), {}, '.csv.gz');
      expect(r.table.length).toBeGreaterThan(5000 * share * 0.5);
      for (const s of r.table) expect(s.value).toBe(100_000 + s.tUs / 1e6);
      expect(r.warnings.map(inWords).join()).toMatch(
        /ended early after line \d+: the compressed file is cut off/,
      );
    }
    const hurt = Buffer.from(packed);
    hurt[Math.floor(hurt.length / 2)]! ^= 0xff;
    const r = await openRecording(put(folder, 'hurt.csv.gz', hurt)).catch((e: HandbackError) => e);
    if (r instanceof HandbackError) expect(r.code).toBe('input.format');
    else expect(r.warnings.map(inWords).join()).toMatch(/damaged|cut off/);
  });

  it.each([
    ['among the values', 't_s,signal,value\n0,ect_c,90\n1,ect_c,"91\n2,ect_c,92\n', 3],
    ['among the headers', 't_s,"ect_c,rpm\n0,90,800\n1,91,810\n', 1],
    ['in a title', '"A drive\n\nt_s,ect_c\n0,90\n', 1],
    [
      'above more than one cell may hold',
      `t_s,ect_c,note\n0,90,ok\n1,90,"ok\n${'2,90,ok\n'.repeat(60_000)}`,
      3,
    ],
  ])('refuses a quote that never ends, with its line: %s', async (_, text, line) => {
    const refused = await failure(open(text));
    expect(refused.code).toBe('input.format');
    expect(refused.message).toContain(`line ${line}: a quotation mark opens and is not closed`);
  });

  it('keeps what came before a last line that was cut off in a quoted cell', async () => {
    const r = await open('t_s,signal,value\n0,ect_c,90\n1,ect_c,"9');
    expect(plain(r.table)).toEqual([['ect_c', 0, 90]]);
    expect(r.warnings.map(inWords).join()).toMatch(/ended early after line 2/);
  });
});

describe('columnar tables', () => {
  it('reads long and wide ones, with nulls, whole numbers and time stamps', async () => {
    const long = parquetWriteBuffer({
      columnData: [
        { name: 't_s', data: [0, 0.5], type: 'DOUBLE' },
        { name: 'signal', data: ['ect_c', 'rpm'], type: 'STRING' },
        { name: 'value', data: [90, 800.5], type: 'DOUBLE' },
      ],
    });
    expect(plain((await open(new Uint8Array(long), {}, '.parquet')).table)).toEqual([
      ['ect_c', 0, 90],
      ['rpm', 500_000, 800.5],
    ]);
    const wide = parquetWriteBuffer({
      columnData: [
        { name: 'time', data: [new Date(1_767_600_000_000), new Date(1_767_600_000_250)], type: 'TIMESTAMP' },
        { name: 'ECT (°F)', data: [null, 212], type: 'DOUBLE' },
        { name: 'rpm', data: [800n, 900n], type: 'INT64' },
      ],
    });
    expect(plain((await open(new Uint8Array(wide), {}, '.parquet')).table)).toEqual([
      ['rpm', 0, 800],
      ['ect_c', 250_000, 100],
      ['rpm', 250_000, 900],
    ]);
  });
});

describe('damaged columnar tables', () => {
  it('are refused or read, and never more than that', async () => {
    const good = Buffer.from(
      parquetWriteBuffer({
        columnData: [
          { name: 't_s', data: Float64Array.from({ length: 300 }, (_, i) => i / 10), type: 'DOUBLE' },
          {
            name: 'signal',
            data: Array.from({ length: 300 }, (_, i) => (i % 2 ? 'rpm' : 'ect_c')),
            type: 'STRING',
          },
          { name: 'value', data: Float64Array.from({ length: 300 }, (_, i) => i), type: 'DOUBLE' },
        ],
      }),
    );
    let refused = 0;
    await fc.assert(
      fc.asyncProperty(
        fc.array(fc.tuple(fc.nat(good.length - 1), fc.nat(255)), { minLength: 1, maxLength: 4 }),
        fc.option(fc.nat(good.length), { freq: 4 }),
        async (edits, cut) => {
          const hurt = Buffer.from(good);
          for (const [at, to] of edits) hurt[at] = to;
          try {
            // Some keep their reader busy for ever: three seconds are enough to be sure, and refused is right as well.
            const path = put(folder, 'hurt.parquet', hurt.subarray(0, cut ?? hurt.length));
            const { table } = await importParquet(path, {}, 3000);
            for (const s of table) expect(Number.isSafeInteger(s.tUs) && Number.isFinite(s.value)).toBe(true);
          } catch (e) {
            expect(e).toBeInstanceOf(HandbackError);
            refused++;
          }
        },
      ),
      { numRuns: 40, seed: 13, endOnFailure: true },
    );
    expect(refused).toBeGreaterThan(8);
  });
});

it('a columnar table that takes for ever is given up', async () => {
  const file = parquetWriteBuffer({ columnData: [{ name: 't_s', data: [1], type: 'DOUBLE' }] });
  const e = await failure(importParquet(put(folder, 'slow.parquet', new Uint8Array(file)), {}, 0));
  expect(e.message).toMatch(/did not end within 0 s/);
});

describe('the text reader', () => {
  const text = 'Title\nTime [s];Prüfer;ect_c;"Engine\nspeed"\n0,5;x;90;800\n1,5;y;;"810"\n';
  const read = async (parts: Uint8Array[]) => {
    const { table, warnings } = await importText(
      't.csv',
      (async function* () {
        yield* parts;
      })(),
      {},
    );
    return { samples: plain(table), warnings };
  };

  it('gives the same in any portions', async () => {
    const bytes = Buffer.from(text);
    const whole = await read([bytes]);
    expect(whole.samples).toHaveLength(3);
    expect(await read([...bytes].map((b) => Uint8Array.of(b)))).toEqual(whole);
    for (let at = 1; at < bytes.length; at++)
      expect(await read([bytes.subarray(0, at), bytes.subarray(at)])).toEqual(whole);
  });

  it('never does anything but give samples or say what is wrong', async () => {
    const valid = Buffer.from('t_s,ect_c,rpm\n0,90,800\n0.5,,810\n1;5,91\n2,"x",\t7\n');
    await fc.assert(
      fc.asyncProperty(
        fc.array(fc.tuple(fc.nat(valid.length - 1), fc.nat(255)), { maxLength: 6 }),
        fc.uint8Array({ maxLength: 40 }),
        async (edits, tail) => {
          const bytes = Uint8Array.from(valid);
          for (const [at, to] of edits) bytes[at] = to;
          try {
            const { table } = await importText(
              't.csv',
              (async function* () {
                yield bytes;
                yield tail;
              })(),
              {},
            );
            for (const s of table) {
              expect(Number.isSafeInteger(s.tUs) && s.tUs >= 0).toBe(true);
              expect(Number.isFinite(s.value)).toBe(true);
            }
            expect(table.isSorted()).toBe(true);
          } catch (e) {
            expect(e).toBeInstanceOf(HandbackError);
          }
        },
      ),
      { numRuns: 400, seed: 7 },
    );
  });
});
