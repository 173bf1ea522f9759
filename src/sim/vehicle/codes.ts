/**
 * Trouble codes: one table of monitors, one interpreter. A monitor that fails long enough sets a pending code;
 * failing on in the same trip, or again in a later one, makes it stored with lamp and freeze frame.
 * Code numbers and texts: SAE J2012 from memory; those for clutch and supercharger are common practice, no source.
 */
import type { TroubleCode } from '../types.ts';

/** What the control unit itself measures and commands: pressures Pa, temperatures °C, shares 0 to 1. */
export interface Watched {
  readonly running: boolean;
  readonly runTimeS: number;
  readonly rpm: number;
  readonly pedal: number;
  readonly ectC: number;
  readonly mapPa: number;
  readonly baroPa: number;
  /** Between the chargers and before the throttle. */
  readonly midPa: number;
  readonly chargePa: number;
  readonly chargeTargetPa: number;
  readonly boosting: boolean;
  readonly clutchCommand: boolean;
  /** Seconds since the command last changed. */
  readonly clutchSinceS: number;
  readonly clutchCircuitOpen: boolean;
  readonly voltageV: number;
  readonly fanOn: boolean;
  readonly fanTurns: boolean;
  /** Fuel burnt since start, kg, and what should have been enough to reach working temperature. */
  readonly fuelKg: number;
  readonly warmFuelKg: number;
  /** Largest steps seen lately: coolant reading within 1 s, manifold reading and its target within 10 s. */
  readonly ectJumpC: number;
  readonly mapSpanPa: number;
  readonly targetSpanPa: number;
}

interface Monitor {
  readonly code: string;
  /** true fails, false passes, null cannot tell now. */
  readonly fails: (x: Watched) => boolean | null;
  /** Seconds of failure until pending, and until stored within the same trip. */
  readonly pendingS: number;
  readonly storedS: number;
  /** Seconds of failure forgiven by one second of passing. */
  readonly forgives: number;
}

const boostOf = (x: Watched): number => x.chargePa - x.baroPa;
const wantedOf = (x: Watched): number => x.chargeTargetPa - x.baroPa;

const MONITORS: readonly Monitor[] = [
  // Supercharger clutch does not open.
  {
    code: 'P1F41',
    fails: (x) =>
      !x.running || x.clutchCommand || x.clutchSinceS < 1.5 || x.rpm < 1500 ? null : x.midPa - x.baroPa > 4e3,
    pendingS: 5,
    storedS: 25,
    forgives: 0.1,
  },
  // Supercharger clutch does not close.
  {
    code: 'P1F42',
    fails: (x) =>
      !x.clutchCommand || x.clutchSinceS < 0.9 || x.rpm > 2300 || wantedOf(x) < 30e3
        ? null
        : boostOf(x) < 0.45 * wantedOf(x),
    pendingS: 1.2,
    storedS: 6,
    forgives: 0.3,
  },
  // Supercharger clutch circuit open.
  {
    code: 'P1F43',
    fails: (x) => (x.clutchCommand ? x.clutchCircuitOpen : null),
    pendingS: 0.3,
    storedS: 2,
    forgives: 0.3,
  },
  // Turbocharger boost pressure not detected, mechanical.
  {
    code: 'P2262',
    fails: (x) =>
      !x.running || wantedOf(x) < 50e3 || x.rpm < 2600 || x.clutchCommand ? null : boostOf(x) < 12e3,
    pendingS: 2.5,
    storedS: 8,
    forgives: 1,
  },
  // Turbocharger/supercharger A underboost.
  {
    code: 'P0299',
    fails: (x) =>
      !x.running || wantedOf(x) < 50e3 || x.rpm < 2700 || x.pedal < 0.6
        ? null
        : wantedOf(x) - boostOf(x) > 28e3,
    pendingS: 2.2,
    storedS: 7,
    forgives: 0.5,
  },
  // Turbocharger/supercharger A overboost.
  {
    code: 'P0234',
    fails: (x) => (!x.running || !x.boosting ? null : x.chargePa - x.chargeTargetPa > 35e3),
    pendingS: 3,
    storedS: 10,
    forgives: 2,
  },
  // Coolant thermostat: below its regulating temperature after enough fuel has been burnt to get there.
  {
    code: 'P0128',
    fails: (x) => (!x.running || x.fuelKg < x.warmFuelKg ? null : x.ectC < 75),
    pendingS: 30,
    storedS: 300,
    forgives: 5,
  },
  // Engine over temperature.
  { code: 'P0217', fails: (x) => x.ectC > 116, pendingS: 8, storedS: 25, forgives: 1 },
  // Coolant sensor: circuit low, circuit high, intermittent.
  { code: 'P0117', fails: (x) => x.ectC > 150, pendingS: 1, storedS: 5, forgives: 0.05 },
  { code: 'P0118', fails: (x) => x.ectC < -38, pendingS: 1, storedS: 5, forgives: 0.02 },
  { code: 'P0119', fails: (x) => x.ectJumpC > 8, pendingS: 4, storedS: 25, forgives: 0.02 },
  // Manifold pressure sensor: does not move when it must.
  {
    code: 'P0106',
    fails: (x) => (!x.running || x.targetSpanPa < 25e3 ? null : x.mapSpanPa < 1.5e3),
    pendingS: 8,
    storedS: 30,
    forgives: 2,
  },
  // Fan 1 control circuit.
  { code: 'P0480', fails: (x) => (x.fanOn ? !x.fanTurns : null), pendingS: 10, storedS: 60, forgives: 1 },
  // System voltage low.
  {
    code: 'P0562',
    fails: (x) => (!x.running || x.runTimeS < 20 ? null : x.voltageV < 12.4),
    pendingS: 30,
    storedS: 180,
    forgives: 1,
  },
];

/** A monitor that has run this long without failing has passed. */
const PASSED_S = 10;

interface Entry {
  failedS: number;
  state: 'none' | 'pending' | 'stored';
  trip: number;
  failedThisTrip: boolean;
  passedS: number;
  permanent: boolean;
  freeze: Readonly<Record<string, number>> | null;
}

export class TroubleCodes {
  #trip = 0;
  #entries = MONITORS.map(
    (): Entry => ({
      failedS: 0,
      state: 'none',
      trip: 0,
      failedThisTrip: false,
      passedS: 0,
      permanent: false,
      freeze: null,
    }),
  );

  /** A trip begins with every engine start. */
  beginTrip(): void {
    this.#trip++;
    for (const e of this.#entries) {
      if (e.state === 'pending' && !e.failedThisTrip && e.trip < this.#trip - 1) e.state = 'none';
      // A permanent code outlives a clear; only a trip in which its monitor ran and passed removes it.
      if (e.state === 'none' && !e.failedThisTrip && e.passedS >= PASSED_S) e.permanent = false;
      e.failedThisTrip = false;
      e.failedS = 0;
      e.passedS = 0;
    }
  }

  step(dtS: number, x: Watched, freeze: () => Readonly<Record<string, number>>): void {
    for (let i = 0; i < MONITORS.length; i++) {
      const m = MONITORS[i]!;
      const e = this.#entries[i]!;
      const fails = m.fails(x);
      if (fails === null) continue;
      if (!fails) {
        e.passedS += dtS;
        e.failedS = Math.max(0, e.failedS - m.forgives * dtS);
        continue;
      }
      e.failedS += dtS;
      if (e.failedS < m.pendingS) continue;
      e.failedThisTrip = true;
      if (e.state === 'none') {
        e.state = 'pending';
        e.trip = this.#trip;
        e.freeze = freeze();
      } else if (e.state === 'pending' && (e.trip < this.#trip || e.failedS >= m.storedS)) {
        e.state = 'stored';
        e.freeze = freeze();
        e.permanent = true;
      }
    }
  }

  get lamp(): boolean {
    return this.#entries.some((e) => e.state === 'stored');
  }

  list(): TroubleCode[] {
    const out: TroubleCode[] = [];
    MONITORS.forEach((m, i) => {
      const e = this.#entries[i]!;
      if (e.state !== 'none' || e.permanent)
        out.push({
          code: m.code,
          ecu: 'engine',
          state: e.state === 'none' ? 'cleared' : e.state,
          permanent: e.permanent,
          freeze: e.freeze,
        });
    });
    return out;
  }

  clear(): void {
    for (const e of this.#entries) {
      e.state = 'none';
      e.failedS = 0;
      e.failedThisTrip = false;
      e.passedS = 0;
      e.freeze = null;
    }
  }
}
