/**
 * Open drives of two healthy cars: KIT Automotive OBD-II data set (DOI 10.35097/1130, CC BY 4.0) and the data of
 * IEEE document 8891367. Read in place, never copied. Faults are put in here and are invented.
 */
import { join } from 'node:path';
import { describe, expect } from 'vitest';
import { judgeTable } from '../../src/analysis/judge.ts';
import { profileSchema } from '../../src/core/profile.ts';
import type { Sample } from '../../src/core/signals.ts';
import { openRecording } from '../../src/run/recording.ts';
import { hasShared, needs, SHARED } from '../require.ts';

const check = needs(hasShared('drives'), 'the open drives in ../shared/drives');
const diesel = profileSchema.parse({ induction: 'turbocharger', fuel: 'diesel' });
const petrol = profileSchema.parse({ induction: 'naturally aspirated', fuel: 'petrol' });
const TRIPS = ['05', '09', '14', '16', '20', '26', '33', '48', '49', '57', '59', '60', '76', '77'];
const PETROL = ['02', '03', '04', '11', '13', '19', '21', '24', '29', '35', '38', '41', '49', '50', '51'];
const CASES = [
  ...TRIPS.map((n) => [`trip-${n}`, diesel] as const),
  ...PETROL.map((n) => [`petrol-${n}`, petrol] as const),
];

const open = (name: string) => openRecording(join(SHARED, 'drives', `${name}.csv.gz`));

describe('open drives', () => {
  check('of healthy cars accuse nobody: 29 drives, more than 16 hours', async () => {
    let hours = 0;
    for (const [name, profile] of CASES) {
      const { table } = await open(name);
      const j = judgeTable(table, profile, null, name);
      hours += j.spanS / 3600;
      expect([name, j.findings.filter((f) => f.verdict === 'fault shown').map((f) => f.id)]).toEqual([
        name,
        [],
      ]);
    }
    expect(hours).toBeGreaterThan(16);
  });

  // Trips of the half that nothing was tuned on.
  for (const name of ['trip-09', 'trip-26', 'trip-60'])
    check(`with a coolant climb of 25 °C put into ${name}: spoken within two minutes`, async () => {
      const { table } = await open(name);
      const onsetS = 1500;
      const climbing = function* (): Generator<Sample> {
        for (const s of table) {
          const sinceS = s.tUs / 1e6 - onsetS;
          if (s.signal !== 'ect_c' || sinceS < 0) yield s;
          else yield { ...s, value: Math.round(s.value + 25 * (1 - Math.exp(-sinceS / 45))) };
        }
      };
      const j = judgeTable(climbing(), diesel, null, name);
      expect(j.systems.coolant.verdict).toBe('fault shown');
      const afterS = (j.systems.coolant.saidAtS ?? 0) - onsetS;
      expect(afterS).toBeGreaterThan(0);
      expect(afterS).toBeLessThan(120);
    });
});
