/** Steps of the coolant rules made by hand: a car on the road at 80 km/h in mild air. */
import { BIN_S, type Bin } from '../../src/analysis/coolant/bins.ts';
import type { Regime } from '../../src/analysis/coolant/envelope.ts';

/** The `k`-th step; its reading stands still to the bit unless `more` says otherwise. */
export const step = (k: number, ect: number | null, more: Partial<Bin> = {}): Bin => ({
  ...{ tS: BIN_S * (k + 1), ect, fresh: true, high: ect ?? 0, low: ect ?? 0, speed: 80, rpm: 2000 },
  ...{ air: 20, heat: 20, heatSource: 'maf_gps', running: true, unsure: false, unstuck: false, holeS: 0 },
  ...more,
});

export const road: Regime = {
  name: 'light at speed',
  allowC: 2.8,
  kmh: 80,
  load: 1,
  steep: false,
  unseen: false,
};

export const level = (c: number, n: number): number[] => Array.from({ length: n }, () => c);

export const rising = (from: number, perStep: number, n: number): number[] =>
  Array.from({ length: n }, (_, k) => from + perStep * k);
