/**
 * The detectors that each watch one thing, beside boost and coolant: listed once, with what each says. A new one is a
 * line in either list; what it says it declares in its own file (`sayer` of `core/says.ts`).
 */
import { ChargingDetector } from './charging.ts';
import { LinkGaps } from './link-gaps.ts';
import type { OwnSays } from './says.ts';
import { SensorDetector } from './sensors.ts';
import type { Detector } from './types.ts';

/** What they and the other small rules of the analysis say. */
export interface VehicleSays extends OwnSays {}

export const smallDetectors = (): readonly Detector[] => [
  new ChargingDetector(),
  new SensorDetector(),
  new LinkGaps(),
];
