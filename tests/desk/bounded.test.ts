/** What a run being recorded keeps in memory does not grow with its hours: judge, trail of the page, columns. */
import { getHeapCodeStatistics, setFlagsFromString } from 'node:v8';
import { runInNewContext } from 'node:vm';
import { expect, it } from 'vitest';
import { Judge } from '../../src/analysis/judge.ts';
import type { Profile } from '../../src/core/profile.ts';
import { RECORDED, SeriesKeeper } from '../../src/desk/series-keeper.ts';
import { Trail } from '../../src/desk/trail.ts';
import { spelled } from '../../src/words/spelled.ts';
import { steadyCar } from '../torture/steady-car.ts';

const QUICK = ['map_kpa', 'rpm', 'speed_kmh', 'pedal_d_pct'];
const QUICK_HZ = 2;
const SLOW_S = 2;
const VIEW_S = 8;
const PROFILE: Profile = { induction: 'turbocharger', fuel: 'petrol' };

setFlagsFromString('--expose-gc');
const collect = runInNewContext('gc') as () => void;

/**
 * Bytes that are alive, of objects and of what typed arrays hold. Without compiled code: that comes when the computer
 * has time for it.
 */
function alive(): number {
  collect();
  collect();
  const { heapUsed, arrayBuffers } = process.memoryUsage();
  const { code_and_metadata_size, bytecode_and_metadata_size } = getHeapCodeStatistics();
  return heapUsed + arrayBuffers - code_and_metadata_size - bytecode_and_metadata_size;
}

it('once its bounds are reached, hours of steady driving add less than a tenth of what their values would take', () => {
  const judge = new Judge(PROFILE, null);
  const trail = new Trail();
  const columns = new SeriesKeeper(RECORDED);
  let nowS = 0;
  let n = 0;
  let values = 0;
  const car = steadyCar(() => nowS);
  const take = (signals: readonly string[]): void => {
    signals.forEach((signal, i) => {
      const tUs = Math.round(nowS * 1e6) + 100 * i;
      const sample = { signal, tUs, sentUs: tUs, value: Math.round(4 * car.signal(signal)!) / 4 };
      judge.push(sample);
      columns.push(sample);
      values++;
    });
  };
  const slow = car.supported.filter((signal) => !QUICK.includes(signal));
  const driveTo = (hour: number): void => {
    for (; n < 3600 * QUICK_HZ * hour; n++) {
      nowS = n / QUICK_HZ;
      take(QUICK);
      if (n % (QUICK_HZ * SLOW_S) === 0) take(slow);
      if (n % (QUICK_HZ * VIEW_S) === 0) trail.add(spelled(judge.view()));
    }
  };
  // A pull every half minute fills the list of 500 after 4.3 hours.
  driveTo(4.5);
  const [before, first] = [alive(), values];
  driveTo(8);
  const grown = alive() - before;
  // A value and its time, eight bytes each; measured 4 %.
  expect(grown).toBeLessThan(0.1 * 16 * (values - first));
  expect(judge.finish('steady').pulls.length).toBe(500);
  expect(trail.whole().engagements.length).toBe(500);
});
