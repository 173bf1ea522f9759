/** A host at the other end of a simulated adapter, on a clock that moves only when told to. */
import { ManualClock } from '../../src/core/clock.ts';
import { type SimulationOptions, startSimulation } from '../../src/sim/bench.ts';
import type { UnitAnswer } from '../../src/sim/ecu/unit.ts';
import type { SimVehicle, TroubleCode } from '../../src/sim/types.ts';

/** A vehicle whose every reading a test can set. */
export class FakeVehicle implements SimVehicle {
  readonly road = { heightM: 120, speedMps: 0, courseDeg: 90 };
  timeS = 0;
  ignition = true;
  vin = '1HB00000000000017';
  readonly values: Record<string, number> = {
    load_pct: 40,
    ect_c: 88,
    map_kpa: 180,
    rpm: 1750,
    speed_kmh: 62,
    iat_c: 31,
    baro_kpa: 99,
    voltage_v: 14.1,
    pedal_d_pct: 80,
    pedal_e_pct: 40,
    boost_cmd_kpa: 185,
  };
  codes: TroubleCode[] = [];
  mil = false;
  engineRuns = true;
  cleared = 0;
  monitors = [
    { name: 'misfire', continuous: true, complete: true },
    { name: 'fuel system', continuous: true, complete: true },
    { name: 'components', continuous: true, complete: true },
    { name: 'catalyst', continuous: false, complete: false },
    { name: 'oxygen sensor', continuous: false, complete: true },
  ];
  sinceClear = { warmUps: 7, distanceKm: 310, minutes: 400 };
  route = { name: 'none', lengthS: 100 };

  get supported(): readonly string[] {
    return Object.keys(this.values);
  }
  advance(dtS: number): void {
    this.timeS += dtS;
  }
  signal(name: string): number | null {
    return this.values[name] ?? null;
  }
  clearCodes(): boolean {
    if (this.engineRuns) return false;
    this.cleared++;
    this.codes = [];
    return true;
  }
}

export interface Heard {
  readonly tUs: number;
  readonly bytes: Uint8Array;
}

export class Host {
  readonly clock = new ManualClock();
  readonly vehicle: FakeVehicle;
  readonly answers: UnitAnswer[] = [];
  readonly heard: Heard[] = [];
  readonly simulation: ReturnType<typeof startSimulation>;
  #read = 0;

  constructor(options: Partial<SimulationOptions> = {}, vehicle = new FakeVehicle()) {
    this.vehicle = vehicle;
    this.simulation = startSimulation({
      vehicle,
      clock: this.clock,
      pace: null,
      onAnswer: (answer) => this.answers.push(answer),
      ...options,
    });
    this.simulation.attach({
      write: (bytes) => this.heard.push({ tUs: this.clock.nowUs(), bytes }),
      hostBaud: () => null,
    });
  }

  send(text: string): void {
    this.simulation.fromHost(new TextEncoder().encode(text));
  }

  /** Everything heard so far, one character a byte. */
  get all(): string {
    return this.heard.map(({ bytes }) => String.fromCharCode(...bytes)).join('');
  }

  /** Sends a line, lets time pass, and returns what came since the last call. */
  async ask(line: string, ms = 2000): Promise<string> {
    this.send(`${line}\r`);
    await this.clock.advance(ms);
    return this.fresh();
  }

  fresh(): string {
    const text = this.all.slice(this.#read);
    this.#read += text.length;
    return text;
  }
}
