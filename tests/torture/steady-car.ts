/** A car that costs next to nothing to simulate, for measuring what the recorder costs: slow waves on every signal. */
import type { SimVehicle, TroubleCode } from '../../src/sim/types.ts';

const LEVELS: Readonly<Record<string, readonly [low: number, high: number, periodS: number]>> = {
  rpm: [800, 4200, 17],
  speed_kmh: [0, 110, 97],
  map_kpa: [32, 210, 19],
  baro_kpa: [98, 100, 900],
  ect_c: [88, 92, 240],
  iat_c: [22, 34, 300],
  load_pct: [12, 95, 19],
  throttle_pct: [10, 92, 19],
  pedal_d_pct: [0, 90, 19],
  maf_gps: [3, 140, 18],
  timing_deg: [2, 32, 13],
  voltage_v: [13.9, 14.3, 60],
};

export function steadyCar(nowS: () => number, codes: readonly TroubleCode[] = []): SimVehicle {
  return {
    road: { heightM: 120, speedMps: 0, courseDeg: 90 },
    get timeS() {
      return nowS();
    },
    advance: () => undefined,
    ignition: true,
    vin: 'ZZZSTEADY00000001',
    signal(name) {
      const level = LEVELS[name];
      if (!level) return null;
      const [low, high, period] = level;
      return low + (high - low) * 0.5 * (1 + Math.sin((2 * Math.PI * nowS()) / period));
    },
    supported: Object.keys(LEVELS),
    codes,
    mil: false,
    monitors: [],
    sinceClear: { warmUps: 40, distanceKm: 900, minutes: 4000 },
    clearCodes: () => true,
    route: { name: 'for ever', lengthS: Number.POSITIVE_INFINITY },
  };
}
