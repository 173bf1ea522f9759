/** The conditions that a sheet prints of a drive. */
import { expect, it } from 'vitest';
import { conditionsOf } from '../../src/desk/sheet-figures.ts';
import { SampleTable } from '../../src/signal/table.ts';

function conditions(intake: readonly (readonly [tS: number, c: number])[]) {
  const table = new SampleTable();
  for (const [tS, value] of intake) table.push({ signal: 'iat_c', tUs: tS * 1e6, sentUs: tS * 1e6, value });
  const { intakeC, intakeLeapC } = conditionsOf(table, null);
  return [intakeC, intakeLeapC];
}

it('tells by how much intake air leaps where no air outside does', () => {
  expect(conditions([])).toEqual([null, null]);
  expect(conditions([0, 1, 2].map((k) => [k, 20 + 14.9 * k]))).toEqual([[20, 49.8], null]);
  const compressed = [19, 84, 120, 139, 105].map((c, k) => [0.9 * k, c] as const);
  expect(conditions(compressed)).toEqual([[19, 139], 65]);
  expect(conditions([...compressed].reverse().map(([, c], k) => [k, c]))[1]).toBe(65);
});

it('says nothing of what it did in a hole', () => {
  const apart = (s: number) =>
    conditions([
      [0, 20],
      [s, 35],
    ])[1];
  expect([3, 3.1].map(apart)).toEqual([15, null]);
});

it('tells the barometric pressures of a road that climbs, else the one that is known', () => {
  const table = new SampleTable();
  for (const [k, value] of [97, 94, 89, 91].entries())
    table.push({ signal: 'baro_kpa', tUs: k * 60e6, sentUs: k * 60e6, value });
  expect(conditionsOf(table, 91).baroKpa).toEqual([89, 97]);
  expect(conditionsOf(new SampleTable(), 91).baroKpa).toEqual([91, 91]);
  expect(conditionsOf(new SampleTable(), null).baroKpa).toBeNull();
});

it('tells as the highest coolant what more than one reading reached, else what no neighbour contradicts', () => {
  const coolant = (readings: readonly (readonly [tS: number, c: number])[]) => {
    const table = new SampleTable();
    for (const [tS, value] of readings)
      table.push({ signal: 'ect_c', tUs: tS * 1e6, sentUs: tS * 1e6, value });
    return conditionsOf(table, null).coolantC;
  };
  const each5s = (values: readonly number[]) => coolant(values.map((c, k) => [5 * k, c]));
  expect(each5s([24, 26, 125, 27, 90, 109, 90, 91, 35, 91])).toEqual({ start: 24, highest: 91 });
  expect(each5s([24, 90, 99, 91])).toEqual({ start: 24, highest: 99 });
  expect(each5s([24, 90, 110, 112, 90])).toEqual({ start: 24, highest: 112 });
  // The heat of a stop is there although it goes as soon as the coolant flows again.
  const soaked = [90, 106, 94].map((c, k) => [[0, 120, 125][k]!, c] as const);
  expect(coolant(soaked)).toEqual({ start: 90, highest: 106 });
  expect(coolant([])).toBeNull();
});

it('tells of readings that stood alone how many were left out above the highest, and how high', () => {
  const lone = (values: readonly number[]) => {
    const table = new SampleTable();
    values.forEach((value, k) => {
      table.push({ signal: 'ect_c', tUs: 5e6 * k, sentUs: 5e6 * k, value });
    });
    return conditionsOf(table, null).coolantLone;
  };
  expect(lone([88, 94, 94, 108, 92, 96, 98, 111, 98, 98])).toEqual({ n: 2, highestC: 111 });
  expect(lone([24, 90, 60, 91, 91])).toBeNull(); // below: no heat that was reached
  expect(lone([24, 90, 99, 91])).toBeNull();
  expect(lone([])).toBeNull();
});
