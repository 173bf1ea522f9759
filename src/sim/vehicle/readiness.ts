/** Readiness of the monitors and what has happened since codes were cleared (SAE J1979 service 01, PIDs 01, 30, 31, 4E). */

interface MonitorDef {
  readonly name: string;
  readonly continuous: boolean;
  /** Seconds of warm driving that complete it; null: not within one drive (needs a cold stand). */
  readonly needsS: number | null;
}

const CONTINUOUS: readonly MonitorDef[] = [
  { name: 'misfire', continuous: true, needsS: 60 },
  { name: 'fuel system', continuous: true, needsS: 60 },
  { name: 'components', continuous: true, needsS: 5 },
];
const SPARK: readonly MonitorDef[] = [
  ...CONTINUOUS,
  { name: 'catalyst', continuous: false, needsS: 480 },
  { name: 'evaporative system', continuous: false, needsS: null },
  { name: 'oxygen sensor', continuous: false, needsS: 240 },
  { name: 'oxygen sensor heater', continuous: false, needsS: 30 },
  { name: 'EGR/VVT', continuous: false, needsS: 300 },
];
const COMPRESSION: readonly MonitorDef[] = [
  ...CONTINUOUS,
  { name: 'NMHC catalyst', continuous: false, needsS: 600 },
  { name: 'NOx aftertreatment', continuous: false, needsS: null },
  { name: 'boost pressure', continuous: false, needsS: 240 },
  { name: 'exhaust gas sensor', continuous: false, needsS: 240 },
  { name: 'particulate filter', continuous: false, needsS: null },
  { name: 'EGR/VVT', continuous: false, needsS: 300 },
];

export class Readiness {
  readonly #defs: readonly MonitorDef[];
  /** Warm driving seconds since the clear; starts as a car that was last cleared weeks ago. */
  #warmS = 1e5;
  #neverCleared = true;
  #warmUps = 14;
  #distanceKm = 412;
  #minutes = 640;
  #startC = 90;
  #counted = true;

  constructor(fuel: 'petrol' | 'diesel') {
    this.#defs = fuel === 'diesel' ? COMPRESSION : SPARK;
  }

  beginTrip(startC: number): void {
    this.#startC = startC;
    this.#counted = false;
  }

  step(dtS: number, x: { running: boolean; ectC: number; vehicleMps: number }): void {
    if (!x.running) return;
    this.#minutes = Math.min(65535, this.#minutes + dtS / 60);
    this.#distanceKm = Math.min(65535, this.#distanceKm + (x.vehicleMps * dtS) / 1000);
    if (x.ectC > 60 && x.vehicleMps > 5) this.#warmS += dtS;
    // A warm-up cycle: at least 22 °C warmer than at the start, and 70 °C reached (SAE J1979, from memory).
    if (!this.#counted && x.ectC >= 70 && x.ectC - this.#startC >= 22) {
      this.#counted = true;
      this.#warmUps = Math.min(255, this.#warmUps + 1);
    }
  }

  clear(): void {
    this.#warmS = 0;
    this.#neverCleared = false;
    this.#warmUps = 0;
    this.#distanceKm = 0;
    this.#minutes = 0;
  }

  list(): { name: string; continuous: boolean; complete: boolean }[] {
    return this.#defs.map(({ name, continuous, needsS }) => ({
      name,
      continuous,
      complete: needsS === null ? this.#neverCleared : this.#warmS >= needsS,
    }));
  }

  sinceClear(): { warmUps: number; distanceKm: number; minutes: number } {
    return {
      warmUps: this.#warmUps,
      distanceKm: Math.floor(this.#distanceKm),
      minutes: Math.floor(this.#minutes),
    };
  }
}
