/** What the control units of a simulated vehicle see of it: physics on one side, diagnostics on the other. */

export interface TroubleCode {
  readonly code: string; // "P1F42"
  readonly ecu: 'engine' | 'transmission';
  /** 'cleared': only the permanent code is left. */
  readonly state: 'pending' | 'stored' | 'cleared';
  readonly permanent: boolean;
  /** Signal values kept at the moment it was set; null for those without a frame. */
  readonly freeze: Readonly<Record<string, number>> | null;
}

/** The road under a vehicle: what a receiver aboard would measure without error. */
export interface SimRoad {
  readonly heightM: number;
  readonly speedMps: number;
  readonly courseDeg: number;
}

export interface SimVehicle {
  readonly road: SimRoad;
  /** Simulated seconds since the start. */
  readonly timeS: number;
  /** Advances the physics by `dtS` (internally in steps of 10 ms or finer). */
  advance(dtS: number): void;
  /** Ignition on; when off no control unit answers. */
  readonly ignition: boolean;
  readonly vin: string;
  /** Sensor reading as the control unit reports it (noise, faults and quantisation of the sensor included). */
  signal(name: string): number | null;
  /** Signals the engine control unit offers, in catalogue names. */
  readonly supported: readonly string[];
  readonly codes: readonly TroubleCode[];
  readonly mil: boolean;
  /** Readiness: monitor name → supported and complete. */
  readonly monitors: readonly {
    readonly name: string;
    readonly continuous: boolean;
    readonly complete: boolean;
  }[];
  /** Since codes were cleared: warm-ups, distance km, minutes. */
  readonly sinceClear: { readonly warmUps: number; readonly distanceKm: number; readonly minutes: number };
  /** Service 04; the vehicle refuses (false) when its engine runs. */
  clearCodes(): boolean;
  readonly route: { readonly name: string; readonly lengthS: number };
}
