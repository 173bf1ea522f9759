/** The simulated adapters by dialect: one entry each. */
import type { Clock } from '../../core/clock.ts';
import type { Random } from '../../core/random.ts';
import type { SimBus } from '../ecu/bus.ts';
import type { KLine } from '../ecu/kline.ts';
import { AtFront } from './at.ts';
import type { Front } from './front.ts';
import type { SerialLine } from './line.ts';
import type { Quirks } from './quirks.ts';
import { SlcanFront } from './slcan.ts';

export interface FrontOptions {
  readonly clock: Clock;
  readonly bus: SimBus;
  /** Where the vehicle has a K-line instead: then nobody is on `bus`. */
  readonly kline: KLine | null;
  readonly quirks: Quirks;
  readonly random: Random;
  /** V at the connector. */
  readonly voltage: () => number;
  /** False when the bytes do not fit into what still waits to be sent. */
  readonly send: (bytes: Uint8Array) => boolean;
  /** The line, whose speed it may change. */
  readonly line: SerialLine;
}

interface FrontEntry {
  readonly make: (options: FrontOptions) => Front;
  readonly reachesKline: boolean;
}

export const FRONTS = {
  at: { make: (o) => new AtFront(o), reachesKline: true },
  slcan: { make: (o) => new SlcanFront(o), reachesKline: false },
} as const satisfies Record<string, FrontEntry>;

export type FrontName = keyof typeof FRONTS;
/** Where none is named. */
export const USUAL_FRONT: FrontName = 'at';
export const FRONT_NAMES = Object.keys(FRONTS) as FrontName[];
