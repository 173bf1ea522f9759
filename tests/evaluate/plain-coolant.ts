/** The plain rule of ANALYSIS section 4, in the same run as the detector: what any cleverness must beat. */
import { BIN_S, BinMaker } from '../../src/analysis/coolant/bins.ts';
import type { CleanSample } from '../../src/analysis/types.ts';

const SETTLE_S = 300;
const WARM_C = 80;
const HOLD_S = 10;
const COLD_AFTER_S = 720;
const COLD_C = 80;

/** Run seconds at which it would have spoken; null when it stays silent. */
export function plainCoolant(samples: Iterable<CleanSample>): {
  readonly climbS: number | null;
  readonly coldS: number | null;
} {
  const maker = new BinMaker();
  const warm: number[] = [];
  const recent: number[] = [];
  let plateau: number | null = null;
  let [atSpeedS, farS, overS, drivenS, coldS] = [0, 0, 0, 0, 0];
  let said: number | null = null;
  let cold: number | null = null;
  for (const s of samples) {
    const bin = maker.push(s);
    if (!bin || bin.ect === null || bin.unsure || !bin.running) continue;
    const { ect, tS } = bin;
    recent.push(ect);
    if (recent.length > SETTLE_S / BIN_S) recent.shift();
    const hold = (yes: boolean, heldS: number): number => (yes ? heldS + BIN_S : 0);
    if (plateau === null && ect >= WARM_C) {
      warm.push(ect);
      if (warm.length >= SETTLE_S / BIN_S) plateau = [...warm].sort((a, b) => a - b)[warm.length >> 1]!;
    }
    atSpeedS = hold(plateau !== null && ect >= plateau + 6 && (bin.speed ?? 0) >= 60, atSpeedS);
    farS = hold(plateau !== null && ect >= plateau + 13, farS);
    overS = hold(ect >= 105, overS);
    if (atSpeedS >= HOLD_S || farS >= HOLD_S || overS >= HOLD_S) said ??= tS;
    if ((bin.speed ?? 0) >= 30) drivenS += BIN_S;
    const slope = ((recent[recent.length - 1]! - recent[0]!) / Math.max(1, recent.length - 1)) * (60 / BIN_S);
    coldS = hold(drivenS >= COLD_AFTER_S && ect <= COLD_C && slope <= 0.5 && (bin.speed ?? 0) >= 30, coldS);
    if (coldS >= 60) cold ??= tS;
  }
  return { climbS: said, coldS: cold };
}
