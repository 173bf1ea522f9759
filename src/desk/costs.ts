/** What a missing signal costs, in the technician's words. */

const COST: Readonly<Record<string, string>> = {
  map_kpa: 'Boost cannot be shown.',
  rpm: 'Pulls and engagements cannot be found: boost cannot be shown.',
  ect_c: 'Coolant cannot be shown.',
  speed_kmh: 'Gears and standing or moving cannot be told apart: verdicts get weaker.',
  baro_kpa:
    'Barometric pressure comes from the manifold with the engine off: start the run before the engine.',
  pedal_d_pct: 'Demand is read from the throttle, which the engine may hold back.',
  ambient_c: 'Heat balance is taken without the weather: the coolant verdict takes longer.',
  maf_gps: 'Heat from the engine is estimated from pressure and speed.',
  voltage_v: 'Charging cannot be shown.',
  boost_cmd_kpa: 'Expected boost comes from a baseline run or from defaults.',
};

export function costOf(signal: string): string {
  return COST[signal] ?? 'A helper only: the verdicts stand without it, with wider intervals.';
}
