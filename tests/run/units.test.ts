/** Tables whose values are not in the units of their names: refused with the likely unit; true ones never. */

import { describe, expect, it } from 'vitest';
import { HandbackError } from '../../src/core/errors.ts';
import type { ImportOptions } from '../../src/run/import/builder.ts';
import { checkUnits } from '../../src/run/import/unit-check.ts';
import { openRecording } from '../../src/run/recording.ts';
import { SampleTable } from '../../src/signal/table.ts';
import { CARS as SIMULATED } from '../../src/sim/vehicle/cars.ts';
import { driveSamples } from '../analysis/vehicle.ts';
import { MISTAKES, mistaken, openDrives, outcome } from '../evaluate/units.ts';
import { inWords } from '../in-words.ts';
import { hasShared, needs } from '../require.ts';
import { put, scratch } from './files.ts';

const folder = scratch();
let n = 0;
const open = (content: string, options: ImportOptions = {}) =>
  openRecording(put(folder, `u${n++}.csv`, content), options);
const refused = async (content: string, options: ImportOptions = {}): Promise<string> => {
  const e = await open(content, options).then(
    () => null,
    (thrown: unknown) => thrown,
  );
  expect(e).toBeInstanceOf(HandbackError);
  const { message, hint, exitStatus } = e as HandbackError;
  expect(exitStatus).toBe(2);
  return `${message} ${hint}`;
};

const tableOf = (samples: Iterable<{ signal: string; tUs: number; sentUs: number; value: number }>) => {
  const table = new SampleTable();
  for (const s of samples) table.push(s);
  return table;
};
const long = (table: SampleTable) =>
  `t_s,signal,value\n${[...table].map((s) => `${s.tUs / 1e6},${s.signal},${s.value}`).join('\n')}\n`;

const CARS = ['twin-charged', 'turbo-diesel', 'petrol'] as const;
const simulated = new Map<string, SampleTable>();
function drive(vehicle: string): SampleTable {
  const table = simulated.get(vehicle) ?? tableOf(driveSamples({ vehicle, route: 'road-test', hz: 2 }));
  simulated.set(vehicle, table);
  return table;
}

const gives = (vehicle: string, of: string): boolean =>
  of === 'time' || SIMULATED[vehicle]!.supported.includes(of);

/** A light car's air in kg/h is that of a heavier one in g/s: said, not refused. */
const seen = (vehicle: string, { unit }: { readonly unit: string }): 'named' | 'remarked' =>
  vehicle === 'petrol' && unit === 'kg/h' ? 'remarked' : 'named';

describe('simulated drives', () => {
  for (const vehicle of CARS) {
    it(`${vehicle}: passes as it is, and with any one signal left out`, () => {
      const table = drive(vehicle);
      const all = new Set(table.names);
      expect(checkUnits(table, all, 's').wrong).toEqual([]);
      const samples = [...table];
      for (const left of table.names)
        expect(checkUnits(tableOf(samples.filter((s) => s.signal !== left)), all, 's').wrong).toEqual([]);
    });

    for (const mistake of MISTAKES)
      if (mistake.unit !== 'inHg' && gives(vehicle, mistake.of))
        it(`${vehicle}: ${mistake.name} is ${seen(vehicle, mistake)}`, () => {
          expect(outcome(mistaken(drive(vehicle), mistake), mistake)).toBe(seen(vehicle, mistake));
        });
  }

  it('refuses no fault: coolant that boils, a frozen or dead pressure sensor, a pedal stuck at its stop', () => {
    for (const fault of ['no-circulation', 'map-frozen', 'coolant-sensor-spikes', 'boost-leak', 'fan-dead'])
      expect([
        fault,
        checkUnits(tableOf(driveSamples({ fault, hz: 2 })), new Set(drive('twin-charged').names), 's').wrong,
      ]).toEqual([fault, []]);
    const stuck = (signal: string, value: number) =>
      checkUnits(
        tableOf([...drive('turbo-diesel')].map((s) => (s.signal === signal ? { ...s, value } : s))),
        new Set([signal]),
        's',
      ).wrong;
    for (const [signal, value] of [
      ['map_kpa', 0],
      ['map_kpa', 14],
      ['ect_c', -40],
      ['ect_c', 215],
      ['ect_c', 150],
      ['pedal_d_pct', 0],
      ['speed_kmh', 0],
    ] as const)
      expect([signal, value, stuck(signal, value)]).toEqual([signal, value, []]);
  });

  it('refuses no climb beyond boiling that began at a plateau', () => {
    for (const perMin of [1, 2, 5]) {
      const climbing = [...drive('turbo-diesel')].map((s) =>
        s.signal === 'ect_c' && s.tUs > 600e6
          ? { ...s, value: Math.round(s.value + ((s.tUs / 1e6 - 600) / 60) * perMin) }
          : s,
      );
      expect(checkUnits(tableOf(climbing), new Set(['ect_c']), 's').wrong).toEqual([]);
    }
  });
});

describe('air mass in kg/h', () => {
  const kgPerH = MISTAKES.find((m) => m.unit === 'kg/h')!;
  const told = (table: SampleTable) => {
    const { wrong, open: left } = checkUnits(table, new Set(table.names), 's');
    const of = (list: typeof wrong) => list.filter((d) => d.of === 'maf_gps').map((d) => d.likely);
    return { wrong: of(wrong), open: of(left) };
  };
  const without = (table: SampleTable, ...names: string[]) =>
    tableOf([...table].filter((s) => !names.includes(s.signal)));
  const grown = (table: SampleTable, by: number) =>
    tableOf([...table].map((s) => (s.signal === 'maf_gps' ? { ...s, value: s.value * by } : s)));
  const slow = (table: SampleTable) =>
    tableOf([...table].map((s) => (s.signal === 'speed_kmh' ? { ...s, value: Math.min(s.value, 25) } : s)));
  const constant = (table: SampleTable) =>
    tableOf([...table].map((s) => (s.signal === 'speed_kmh' ? { ...s, value: 60 } : s)));
  const own = () => drive('turbo-diesel');
  const wrong = () => mistaken(own(), kgPerH);

  it.each([
    ['g/s', own, [], [['kg/h']]],
    ['g/s of a smaller engine, which kg/h would make too small for any', () => grown(own(), 0.6), [], []],
    ['g/s, no speed', () => without(own(), 'speed_kmh'), [], [['kg/h']]],
    ['g/s, neither pressure nor engine speed', () => without(own(), 'map_kpa', 'rpm'), [], [['kg/h']]],
    ['g/s of a vehicle twice as heavy', () => grown(own(), 2), [], [['kg/h']]],
    ['kg/h', wrong, [['kg/h']], []],
    ['kg/h, no pressure', () => without(wrong(), 'map_kpa'), [['kg/h']], []],
    ['kg/h, neither pressure nor engine speed', () => without(wrong(), 'map_kpa', 'rpm'), [['kg/h']], []],
    ['kg/h, no speed: an engine of six litres', () => without(wrong(), 'speed_kmh'), [], [['kg/h']]],
    ['kg/h, never faster than 25 km/h', () => slow(wrong()), [], [['kg/h']]],
    ['kg/h of an engine twice as large, no gain of speed', () => constant(grown(wrong(), 2)), [['kg/h']], []],
  ] as const)('%s', (_, table, refusedAs, saidAs) => {
    expect(told(table())).toEqual({ wrong: refusedAs, open: saidAs });
  });

  it('is refused with the option that then works', async () => {
    const said = await refused(long(wrong()));
    expect(said).toMatch(/maf_gps cannot be in g\/s \(as the vehicle speeds up, .* t\) and fits kg\/h/);
    expect(said).toContain('--unit "maf_gps=kg/h"');
    const { table } = await open(long(wrong()), { units: { maf_gps: 'kg/h' } });
    const first = (t: SampleTable) => [...t].find((s) => s.signal === 'maf_gps')!.value;
    expect(first(table)).toBeCloseTo(first(own()), 1);
  });
});

describe('what the refusal says, and what is stated', () => {
  const imperial = MISTAKES.find((m) => m.name.startsWith('temperatures'))!;
  const psiGauge = MISTAKES.find((m) => m.unit === 'psi gauge')!;
  const ms = MISTAKES.find((m) => m.unit === 'ms')!;
  const good = () => drive('turbo-diesel');

  it('names every signal, why, the likely unit and the options; which then work', async () => {
    const text = long(mistaken(good(), imperial));
    const said = await refused(text);
    expect(said).toMatch(/ect_c cannot be in degC \(.*\) and fits degF/);
    expect(said).toMatch(/map_kpa cannot be in kPa .* and fits psi/);
    expect(said).toMatch(/speed_kmh cannot be in km\/h .* and fits mph/);
    expect(said).toContain('--unit ect_c=degF');
    const units = Object.fromEntries(
      [...said.matchAll(/--unit "?(\w+)=([\w /]+?)"?(?= --|\. Where)/g)].map((m) => [m[1]!, m[2]!]),
    );
    const { table } = await open(text, { units });
    const want = [...good()].filter((s) => s.signal === 'ect_c').map((s) => s.value);
    const got = [...table].filter((s) => s.signal === 'ect_c').map((s) => s.value);
    expect(got.length).toBe(want.length);
    for (const [i, v] of got.entries()) expect(v).toBeCloseTo(want[i]!, 0);
  });

  it('gauge pressure: named, made absolute with the barometric pressure of the table or the stated one', async () => {
    const gauge = mistaken(good(), psiGauge);
    const without = tableOf([...gauge].filter((s) => s.signal !== 'baro_kpa'));
    expect(await refused(long(without))).toMatch(/map_kpa cannot be in kPa .* psi gauge/);
    const units = { map_kpa: 'psi gauge' };
    expect(await refused(long(without), { units })).toMatch(/no barometric pressure.*--baro 98/);
    const { table } = await open(long(without), { units, baroKpa: 100 });
    expect(table.at(0)).toMatchObject({ signal: 'baro_kpa', value: 100 });
    const want = [...good()].filter((s) => s.signal === 'map_kpa');
    const got = [...table].filter((s) => s.signal === 'map_kpa');
    for (const [i, s] of got.entries()) expect(Math.abs(s.value - want[i]!.value)).toBeLessThan(0.4);
    const own = await open(long(gauge), { units });
    const baro = [...own.table].find((s) => s.signal === 'baro_kpa')!.value;
    const first = [...own.table].find((s) => s.signal === 'map_kpa')!.value;
    expect(Math.abs(first - want[0]!.value - (baro - 100))).toBeLessThan(1.5);
  });

  it('times: named, and read as stated', async () => {
    const text = long(mistaken(good(), ms));
    expect(await refused(text)).toMatch(
      /time is not in s \(one signal would be read every .* s\) and fits ms.*--time-unit ms/,
    );
    const { table } = await open(text, { timeUnit: 'ms' });
    expect(table.at(table.length - 1).tUs).toBe(good().at(good().length - 1).tUs);
  });

  it('times written m.ss, minutes and seconds: named, and read as stated; also under a header of minutes', async () => {
    const dotted = mistaken(good(), MISTAKES.find((m) => m.unit === 'm.ss')!);
    const text = long(dotted);
    expect(await refused(text)).toMatch(
      /time is not in s \(no fraction reaches \.60, .*m\.ss\) and fits m\.ss\b.*--time-unit m\.ss\..*--time-unit s\b/,
    );
    const inMinutes = text.replace('t_s,', 'time (min),');
    expect(await refused(inMinutes)).toMatch(/time is not in min \(.*m\.ss\) and fits m\.ss\b/);
    for (const table of [text, inMinutes]) {
      const read = (await open(table, { timeUnit: 'm.ss' })).table;
      expect(read.length).toBe(good().length);
      // Several readings of one second are spread over it.
      for (let i = 0; i < read.length; i += 997)
        expect(Math.floor(read.tUs(i) / 1e6)).toBe(Math.floor(good().tUs(i) / 1e6));
    }
    // What is no second of a minute is no time.
    const rows = '0.58,90\n0.59,90\n0.60,91\n1.00,92\n1.30,93\n';
    const odd = await open(`t_s,ect_c\n${rows}`, { timeUnit: 'm.ss' });
    expect([...odd.table].map((s) => s.tUs / 1e6)).toEqual([58, 59, 60, 90]);
    expect(odd.warnings.map(inWords).join()).toMatch(/0\.60/);
  });

  it('times that are no m.ss: rounds of readings that end before .60 of each second, minutes, too little to tell', () => {
    const at = (times: readonly number[], signalOf: (i: number) => string = () => 'ect_c') =>
      checkUnits(
        tableOf(
          times.map((t, i) => ({ signal: signalOf(i), tUs: t * 1e6, sentUs: t * 1e6, value: 80 + (i % 9) })),
        ),
        new Set(),
        's',
      ).wrong.flatMap((d) => d.likely);
    const count = (n: number) => Array.from({ length: n }, (_, i) => i);
    const written = (s: number) => Math.floor(s / 60) + (s % 60) / 100;
    expect(at(count(200).map(written))).toEqual(['m.ss']);
    expect(at(count(60).map((i) => written(5 * i)))).toEqual(['m.ss']);
    // Twelve signals one after the other, each once a second.
    const signals = ['ect_c', 'iat_c', 'oil_c', 'ambient_c', 'rpm', 'map_kpa', 'baro_kpa', 'load_pct'];
    const round = (i: number) => Math.floor(i / 8) + (i % 8) * 0.07;
    expect(at(count(800).map(round), (i) => signals[i % 8]!)).toEqual([]);
    // One signal six times a second, and a pause.
    expect(at(count(600).map((i) => Math.floor(i / 6) + (i % 6) * 0.1))).toEqual([]);
    // Every second hundredth of seconds that go on.
    expect(at(count(200).map((i) => i / 50))).toEqual([]);
    // One minute passed, not two.
    expect(at(count(110).map(written))).toEqual([]);
  });

  it('believes the caller who says that the values are right, and a header that says its unit', async () => {
    const text = long(mistaken(good(), MISTAKES.find((m) => m.of === 'ect_c' && m.unit === 'degF')!));
    expect((await open(text, { units: { ect_c: 'degC' } })).table.length).toBe(good().length);
    const { table } = await open(text.replaceAll(',ect_c,', ',ect_f,'));
    expect([...table].find((s) => s.signal === 'ect_c')!.value).toBeLessThan(60);
  });

  it('refuses what is no signal, no unit of it, no unit of time', async () => {
    const text = 't_s,ect_c\n0,90\n1,91\n';
    expect(await refused(text, { units: { nonsense: 'psi' } })).toMatch(/"nonsense" is no signal/);
    expect(await refused(text, { units: { ect_c: 'psi' } })).toMatch(
      /"psi" is no unit of ect_c, which is in degC/,
    );
    expect(await refused(text, { timeUnit: 'psi' })).toMatch(/"psi" is no unit of time/);
    expect((await open(text, { units: { map_kpa: 'psi' } })).warnings.map(inWords).join()).toMatch(
      /no map_kpa in the table/,
    );
  });

  it('says so when nothing shows the unit', async () => {
    const rows = Array.from({ length: 60 }, (_, i) => `${i},${20 + (i % 9) / 2}`).join('\n');
    expect((await open(`t_s,iat_c\n${rows}\n`)).warnings.map(inWords).join()).toMatch(
      /iat_c in degC \(it could be degF\)/,
    );
  });

  it('values that are in no unit at all are refused without a guess', async () => {
    const rows = Array.from({ length: 60 }, (_, i) => `${i},${5e6 + i}`).join('\n');
    expect(await refused(`t_s,baro_kpa\n${rows}\n`)).toMatch(
      /baro_kpa cannot be in kPa .* fits no other unit/,
    );
  });
});

describe('decimal commas among commas', () => {
  it.each([
    ['wide', 't_s,ect_c,rpm\n0,5,90,5,800\n1,5,91,0,810\n2,5,92,5,820\n'],
    ['long', 't_s,signal,value\n0,5,ect_c,90,5\n1,0,ect_c,91,5\n'],
    ['some cells whole', 't_s,ect_c\n0,90,5\n1,91\n2,92,5\n3,93,5\n'],
  ])('%s: refused with the place and what to do', async (_, text) => {
    expect(await refused(text)).toMatch(
      /more cells than headers, first line 2 with \d cells.*decimal comma.*semicolons/,
    );
  });

  it('an empty cell at the end of a row is none', async () => {
    expect((await open('t_s,ect_c\n0,90,\n1,91,\n')).table.length).toBe(2);
  });
});

describe('open drives of two healthy cars', () => {
  const check = needs(hasShared('drives') && hasShared('more-drives'), 'the open drives in ../shared');

  check('all 80 pass as they are, and every mistake is recognised on drives in turn', async () => {
    const files = openDrives();
    expect(files).toHaveLength(80);
    let tried = 0;
    let silent = 0;
    for (const [i, file] of files.entries()) {
      const { table } = await openRecording(file);
      expect([file, checkUnits(table, new Set(table.names), 's').wrong]).toEqual([file, []]);
      for (let k = 0; k < 2; k++) {
        const mistake = MISTAKES[(2 * i + k) % MISTAKES.length]!;
        if (mistake.of !== 'time' && !table.names.includes(mistake.of)) continue;
        tried++;
        if (['silent', 'remarked'].includes(outcome(mistaken(table, mistake), mistake))) silent++;
      }
    }
    // Seldom anything tells inHg from kPa (docs/tables.md).
    expect(silent / tried).toBeLessThan(0.08);
  });
});
