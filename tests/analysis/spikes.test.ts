/** A single reading that jumps away and is back: each threshold from both sides. */
import { expect, it } from 'vitest';
import { comesBack, jumps } from '../../src/analysis/spikes.ts';

it('jumps by so much for its signal, and more the longer it took', () => {
  const least: Readonly<Record<string, readonly [floor: number, perS: number]>> = {
    ...{ rpm: [500, 1200], speed_kmh: [6, 10], map_kpa: [60, 120], boost_act_kpa: [60, 120] },
    ...{ boost_cmd_kpa: [60, 120], maf_gps: [25, 50], pedal_d_pct: [40, 65], pedal_e_pct: [40, 65] },
    ...{ throttle_pct: [40, 75], rel_throttle_pct: [40, 75], cmd_throttle_pct: [40, 75] },
    ...{ iat_c: [6, 9], ambient_c: [6, 9], oil_c: [6, 9], baro_kpa: [5, 5] },
  };
  for (const [signal, [floor, perS]] of Object.entries(least)) {
    const by = floor + perS;
    expect([jumps(signal, 0, by, 1), jumps(signal, 0, 0.999 * by, 1)], signal).toEqual([true, false]);
    expect([jumps(signal, 0, -floor, 0), jumps(signal, 0, 0.999 * floor, 0)], signal).toEqual([true, false]);
  }
  expect(jumps('ect_c', 0, 1e6, 1)).toBe(false);
});

it('neighbours are 1.5 s apart at the most', () => {
  expect([1.5, 1.51].map((s) => jumps('rpm', 0, 9000, s))).toEqual([true, false]);
});

it('is back where the next lies within three tenths of the jump, on the same side', () => {
  const back = (after: number) => comesBack('rpm', 1000, 3000, after, 0.1);
  expect([1461, 1462].map(back)).toEqual([true, false]); // 0.3 · 1539 of the smaller step is 461.7
  expect(comesBack('rpm', 1000, 3000, 5000, 0.1)).toBe(false);
  expect(comesBack('rpm', 3000, 1000, 3000, 0.1)).toBe(true);
  expect(comesBack('rpm', 1000, 3000, 1000, 1.5)).toBe(false);
});
