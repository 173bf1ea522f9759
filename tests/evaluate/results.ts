/** The shapes that `npm run evaluate` collects and its document prints. */
import type { BoostCase } from './boost.ts';
import type { HeldOutCase } from './boost-held-out.ts';
import type { ConfusionCase, GuidedCase } from './boost-sim.ts';
import type { ChangedCase } from './changed.ts';
import type { CoolantCase } from './coolant-report.ts';
import type { FleetDrive } from './fleet.ts';
import type { NullRate } from './null-streams.ts';

export interface Results {
  /** What was tried on fewer drives, with fewer tries. */
  readonly quick: 'all' | 'the rest' | null;
  readonly coolant: readonly CoolantCase[];
  readonly assumption: readonly { readonly lambda: number; readonly sum: number; readonly n: number }[];
  readonly nulls: { readonly level: NullRate; readonly delays: readonly number[] };
  readonly fleet: readonly FleetDrive[];
  readonly boost: readonly BoostCase[];
  readonly confusion: readonly ConfusionCase[];
  readonly guided: readonly GuidedCase[];
  readonly heldOut: readonly HeldOutCase[];
  readonly changed: readonly ChangedCase[];
}
