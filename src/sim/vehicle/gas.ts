/** Air as an ideal gas, flow through a restriction, and the standard atmosphere. SI units throughout. */

/** Specific gas constant of dry air, J/(kg K). */
export const R_AIR = 287.05;
/** Specific heat of air at constant pressure, J/(kg K). */
export const CP_AIR = 1005;
/** Specific heat of burnt gas, J/(kg K) (Heywood, from memory). */
export const CP_EXHAUST = 1150;
export const KELVIN = 273.15;

/**
 * Pressure in Pa at `altitudeM` above the level where `seaLevelPa` is read.
 * ISO 2533:1975 standard atmosphere, troposphere: p = p0 (1 − 0.0065 h / 288.15)^5.25588.
 */
export function pressureAtPa(altitudeM: number, seaLevelPa = 101325): number {
  return seaLevelPa * (1 - (0.0065 * altitudeM) / 288.15) ** 5.25588;
}

/** Below this share of pressure drop the flow is laminar in the model: keeps the conductance finite at no flow. */
const LAMINAR = 0.02;
const LAMINAR_SLOPE = Math.sqrt(2 * (1 - LAMINAR) * LAMINAR) / LAMINAR;

/** Result of `restriction`: one object reused, because it is filled half a million times a minute. */
export interface Flow {
  /** kg/s, positive from `up` to `down`. */
  kgps: number;
  /** Conductance: flow over pressure difference, kg/(s Pa). */
  perPa: number;
}

/**
 * Isentropic flow through an effective area, in the short form of Guzzella and Onder (Introduction to
 * Modeling and Control of Internal Combustion Engine Systems; from memory): m = A p / √(R T) · √(2 r (1 − r)),
 * choked below r = 1/2. Flows backwards when the pressures do.
 */
export function restriction(areaM2: number, upPa: number, downPa: number, tempK: number, out: Flow): void {
  const backwards = downPa > upPa;
  const high = backwards ? downPa : upPa;
  const low = backwards ? upPa : downPa;
  const r = low / high;
  const scale = areaM2 / Math.sqrt(R_AIR * tempK);
  if (r >= 1 - LAMINAR) {
    out.perPa = scale * LAMINAR_SLOPE;
    out.kgps = out.perPa * (upPa - downPa);
    return;
  }
  const kgps = scale * high * (r <= 0.5 ? Math.SQRT1_2 : Math.sqrt(2 * r * (1 - r)));
  out.kgps = backwards ? -kgps : kgps;
  out.perPa = kgps / (high - low);
}
