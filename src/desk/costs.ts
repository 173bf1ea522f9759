/** What a missing signal costs, in the technician's words. */
import { saying } from '../core/error-says.ts';
import type { Says } from '../core/says.ts';

const COST: Readonly<Record<string, Says>> = {
  map_kpa: saying('cost.map_kpa'),
  rpm: saying('cost.rpm'),
  ect_c: saying('cost.ect_c'),
  speed_kmh: saying('cost.speed_kmh'),
  baro_kpa: saying('cost.baro_kpa'),
  pedal_d_pct: saying('cost.pedal_d_pct'),
  ambient_c: saying('cost.ambient_c'),
  maf_gps: saying('cost.maf_gps'),
  voltage_v: saying('cost.voltage_v'),
  boost_cmd_kpa: saying('cost.boost_cmd_kpa'),
};

export const costOf = (signal: string): Says =>
  Object.hasOwn(COST, signal) ? COST[signal]! : saying('cost.helper');
