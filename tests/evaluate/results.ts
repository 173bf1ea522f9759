/** The shapes that `npm run evaluate` collects and its document prints. */
import type { boostOpenDrives } from './boost.ts';
import type { ConfusionRow } from './boost-sim.ts';
import type * as coolant from './coolant-cases.ts';
import type { FleetDrive } from './fleet.ts';
import type { NullRate } from './null-streams.ts';

type BoostSets = ReturnType<typeof boostOpenDrives>;

export interface Case {
  readonly what: 'healthy' | 'glitch' | 'climb' | 'cold';
  readonly label: string;
  readonly taught: boolean;
  readonly outcome: coolant.CoolantOutcome;
  /** Climbs: minutes from onset to the first word; null when nothing was said. */
  readonly delayMin: number | null;
}

export interface Results {
  readonly quick: boolean;
  readonly tune: readonly Case[];
  readonly report: readonly Case[];
  readonly assumption: readonly { readonly lambda: number; readonly sum: number; readonly n: number }[];
  readonly nulls: { readonly level: NullRate; readonly delays: readonly number[] };
  readonly fleet: readonly FleetDrive[];
  readonly boostTune: BoostSets;
  readonly boostReport: BoostSets;
  readonly boostAllButOne: BoostSets;
  readonly confusion: readonly Confusion[];
}
export type Confusion = Omit<ConfusionRow, 'named'> & {
  readonly named: readonly (readonly [string, number])[];
};
