/** What the control units of a simulated vehicle know: the services of SAE J1979 (from memory), answered from its signals. */
import type { CodeState, Ignition } from '../../core/snapshot.ts';
import { CODE_SERVICES, encodeCodes } from '../../j1979/codes.ts';
import { encodeBitmap, encodePid } from '../../j1979/decode.ts';
import { encodeFreeze, encodeFreezeCode } from '../../j1979/freeze.ts';
import { encodeCounters, encodeInfo, INFO } from '../../j1979/info.ts';
import { encodeNegative, NEGATIVE } from '../../j1979/negative.ts';
import { PIDS } from '../../j1979/pids.ts';
import { encodeMonitors, monitorNames } from '../../j1979/readiness.ts';
import { encodeTests } from '../../j1979/tests.ts';
import type { SimVehicle, TroubleCode } from '../types.ts';

export type UnitName = TroubleCode['ecu'];

/** Answers one request; null = no answer, which is what a functional request gets when nothing in it is supported. */
export type Responder = (request: Uint8Array, functional: boolean) => Uint8Array | null;

/** Europe's on-board diagnostics, PID 1C (from memory of SAE J1979). */
const OBD_STANDARD = 6;
const MAX_PIDS = 6;
const MAX_FREEZE_PIDS = 3;

export function responderOf(name: UnitName, vehicle: SimVehicle): Responder {
  const unit = name === 'engine' ? engine(vehicle) : transmission(vehicle);
  return (request, functional) => {
    const service = request[0];
    if (service === undefined) return null;
    const answer = answerOf(unit, vehicle, service, request.subarray(1));
    if (answer !== 'unknown service' && answer !== 'nothing supported') return answer;
    // ISO 15031-5: to a functional request units stay silent rather than refuse; to a physical one they say why.
    if (functional) return null;
    const { serviceNotSupported, formatWrong } = NEGATIVE;
    return encodeNegative(service, answer === 'unknown service' ? serviceNotSupported : formatWrong);
  };
}

/** One control unit as data for the services. */
interface Unit {
  readonly name: UnitName;
  /** PIDs offered in service 01, in order. */
  readonly pids: readonly number[];
  readonly value: (signal: string) => number | null;
  readonly monitors: boolean;
  readonly info: ReadonlyMap<number, () => Uint8Array>;
  readonly tests: () => readonly TestValue[];
}
type TestValue = Parameters<typeof encodeTests>[0][number];
type Answer = Uint8Array | 'unknown service' | 'nothing supported';

function answerOf(unit: Unit, vehicle: SimVehicle, service: number, rest: Uint8Array): Answer {
  switch (service) {
    case 0x01:
      return currentData(unit, vehicle, rest);
    case 0x02:
      return freezeFrame(unit, vehicle, rest);
    case CODE_SERVICES.stored:
      return codeList(unit, vehicle, 'stored');
    case CODE_SERVICES.pending:
      return codeList(unit, vehicle, 'pending');
    case CODE_SERVICES.permanent:
      return codeList(unit, vehicle, 'permanent');
    case 0x04:
      // Conditions not correct while the engine runs: the one refusal that goes to functional requests too.
      return vehicle.clearCodes() ? Uint8Array.of(0x44) : encodeNegative(0x04, NEGATIVE.conditionsNotCorrect);
    case 0x06:
      return monitorTests(unit, rest);
    case 0x09:
      return vehicleInfo(unit, rest);
    default:
      return 'unknown service';
  }
}

function currentData(unit: Unit, vehicle: SimVehicle, pids: Uint8Array): Answer {
  if (pids.length < 1 || pids.length > MAX_PIDS) return 'nothing supported';
  const out = [0x41];
  for (const pid of pids) {
    const data = pidData(unit, vehicle, pid);
    if (data !== null) out.push(pid, ...data);
  }
  return out.length > 1 ? Uint8Array.from(out) : 'nothing supported';
}

function pidData(unit: Unit, vehicle: SimVehicle, pid: number): Uint8Array | null {
  const supported = unit.pids;
  if (pid % 0x20 === 0)
    return pid === 0 || supported.some((p) => p > pid) ? encodeBitmap(pid, supported) : null;
  if (!supported.includes(pid)) return null;
  if (PIDS[pid]?.kind === 'monitors') return monitorStatus(unit, vehicle, pid);
  return encodePid(pid, unit.value);
}

/** For each signal the first PID that carries it: 05 rather than 67, as most vehicles do. */
function pidsOf(signals: readonly string[], monitors: boolean): number[] {
  const pids = new Set(monitors ? [0x01, 0x41] : [0x01]);
  for (const signal of signals) {
    const pid = FIRST_PID.get(signal);
    if (pid !== undefined) pids.add(pid);
  }
  return [...pids].sort((a, b) => a - b);
}

const FIRST_PID: ReadonlyMap<string, number> = new Map(
  Object.entries(PIDS)
    .map(([key, def]) => [Number(key), def] as const)
    .sort(([a], [b]) => b - a)
    .flatMap(([pid, def]) => (def?.fields ?? []).map((field) => [field.signal, pid] as const)),
);

/** The vehicle's words for its monitors and the standard's. */
const MONITOR_WORDS: Readonly<Record<string, string>> = {
  misfire: 'Misfire',
  'fuel system': 'Fuel system',
  components: 'Comprehensive components',
  catalyst: 'Catalyst',
  'evaporative system': 'Evaporative system',
  'oxygen sensor': 'Oxygen sensor',
  'oxygen sensor heater': 'Oxygen sensor heater',
  'EGR/VVT': 'Exhaust gas recirculation or valve timing',
  'NMHC catalyst': 'Hydrocarbon catalyst',
  'NOx aftertreatment': 'NOx aftertreatment',
  'boost pressure': 'Boost pressure',
  'exhaust gas sensor': 'Exhaust gas sensor',
  'particulate filter': 'Particle filter',
};

function ignitionOf(vehicle: SimVehicle): Ignition {
  return vehicle.monitors.some((m) => m.name === 'NMHC catalyst' || m.name === 'particulate filter')
    ? 'compression'
    : 'spark';
}

function monitorStatus(unit: Unit, vehicle: SimVehicle, pid: number): Uint8Array {
  const ignition = ignitionOf(vehicle);
  const known = monitorNames(ignition);
  const monitors = !unit.monitors
    ? []
    : vehicle.monitors.flatMap(({ name, continuous, complete }) => {
        const word = MONITOR_WORDS[name] ?? name;
        return known.includes(word) ? [{ name: word, continuous, supported: true, complete }] : [];
      });
  const codes = codesOf(unit, vehicle, 'stored').length;
  return encodeMonitors(pid, { mil: vehicle.mil && codes > 0, codes, ignition, monitors });
}

function codesOf(unit: Unit, vehicle: SimVehicle, state: CodeState): string[] {
  return vehicle.codes
    .filter((c) => c.ecu === unit.name && (state === 'permanent' ? c.permanent : c.state === state))
    .map((c) => c.code);
}

function codeList(unit: Unit, vehicle: SimVehicle, state: CodeState): Answer {
  return encodeCodes(state, codesOf(unit, vehicle, state), true)[0] ?? 'nothing supported';
}

/** Frame 0, the one that the regulations ask for: that of the first code that kept one. */
function freezeFrame(unit: Unit, vehicle: SimVehicle, rest: Uint8Array): Answer {
  if (rest.length < 2 || rest.length % 2 !== 0 || rest.length > 2 * MAX_FREEZE_PIDS)
    return 'nothing supported';
  const kept = vehicle.codes.find((c) => c.ecu === unit.name && c.freeze !== null);
  const frame = kept?.freeze ?? {};
  const pids = [0x02, ...pidsOf(Object.keys(frame), false).filter((p) => p > 0x02)];
  const parts: { pid: number; data: Uint8Array }[] = [];
  for (let i = 0; i < rest.length; i += 2) {
    const pid = rest[i] ?? 0;
    if (rest[i + 1] !== 0) continue;
    if (pid === 0x02) parts.push({ pid, data: encodeFreezeCode(kept?.code ?? null) });
    else if (pid === 0 || (pid % 0x20 === 0 && pids.some((p) => p > pid)))
      parts.push({ pid, data: encodeBitmap(pid, pids) });
    else if (pids.includes(pid)) {
      const data = encodePid(pid, (signal) => frame[signal] ?? null);
      if (data !== null) parts.push({ pid, data });
    }
  }
  return parts.length > 0 ? encodeFreeze(parts) : 'nothing supported';
}

function monitorTests(unit: Unit, ids: Uint8Array): Answer {
  const tests = unit.tests();
  const supported = [...new Set(tests.map((t) => t.monitor))];
  if (ids.length < 1 || ids.length > MAX_PIDS || supported.length === 0) return 'nothing supported';
  const bitmaps = [...ids].filter((id) => id % 0x20 === 0);
  if (bitmaps.length > 0) {
    const there = bitmaps.filter((id) => id === 0 || supported.some((m) => m > id));
    if (bitmaps.length < ids.length || there.length === 0) return 'nothing supported';
    return Uint8Array.from([0x46, ...there.flatMap((id) => [id, ...encodeBitmap(id, supported)])]);
  }
  const asked = tests.filter((t) => t.monitor === ids[0]); // one monitor a request
  return ids.length === 1 && asked.length > 0 ? encodeTests(asked) : 'nothing supported';
}

function vehicleInfo(unit: Unit, ids: Uint8Array): Answer {
  const [id] = ids;
  if (id === undefined || ids.length > 1) return 'nothing supported';
  if (id === 0) return Uint8Array.from([0x49, 0, ...encodeBitmap(0, unit.info.keys())]);
  return unit.info.get(id)?.() ?? 'nothing supported';
}

function engine(vehicle: SimVehicle): Unit {
  const own: Readonly<Record<string, () => number>> = {
    clear_warmups: () => vehicle.sinceClear.warmUps,
    clear_km: () => vehicle.sinceClear.distanceKm,
    clear_min: () => vehicle.sinceClear.minutes,
    obd_standard: () => OBD_STANDARD,
  };
  const spark = ignitionOf(vehicle) === 'spark';
  return {
    name: 'engine',
    pids: pidsOf([...vehicle.supported, ...Object.keys(own)], true),
    value: (signal) => own[signal]?.() ?? vehicle.signal(signal),
    monitors: true,
    info: new Map([
      [INFO.vin, () => encodeInfo(INFO.vin, [vehicle.vin])],
      ...identity('PRACTICE-ENG-01', 'ECM\0-EngineControl', vehicle.vin),
      [
        spark ? INFO.countersSpark : INFO.countersCompression,
        () => inUseCounters(vehicle, spark ? INFO.countersSpark : INFO.countersCompression),
      ],
    ]),
    tests: () => testsOf(vehicle, spark),
  };
}

function transmission(vehicle: SimVehicle): Unit {
  return {
    name: 'transmission',
    pids: pidsOf(
      ['speed_kmh', 'voltage_v', 'obd_standard'].filter(
        (signal) => signal === 'obd_standard' || vehicle.supported.includes(signal),
      ),
      false,
    ),
    value: (signal) => (signal === 'obd_standard' ? OBD_STANDARD : vehicle.signal(signal)),
    monitors: false,
    info: new Map(identity('PRACTICE-TCU-01', 'TCM\0-TransmisCtrl', vehicle.vin)),
    tests: () => [],
  };
}

/** Calibration, its check sum and the unit's name; invented, with a check sum that depends on the vehicle. */
function identity(calibration: string, name: string, vin: string): [number, () => Uint8Array][] {
  let sum = 0x811c9dc5;
  for (const c of calibration + vin) sum = Math.imul(sum ^ c.charCodeAt(0), 0x01000193) >>> 0;
  const check = Uint8Array.of(sum >>> 24, (sum >>> 16) & 0xff, (sum >>> 8) & 0xff, sum & 0xff);
  return [
    [INFO.calibrationId, () => encodeInfo(INFO.calibrationId, [calibration])],
    [INFO.calibrationNumber, () => encodeInfo(INFO.calibrationNumber, [check])],
    [INFO.ecuName, () => encodeInfo(INFO.ecuName, [name])],
  ];
}

/** Twenty counters: drives and ignition cycles, then completed and possible for each monitor; ordinary figures. */
function inUseCounters(vehicle: SimVehicle, infoType: number): Uint8Array {
  const drives = 180 + vehicle.sinceClear.warmUps;
  const pairs = Array.from({ length: 9 }, (_, i) => [Math.floor(drives * (0.4 + 0.03 * i)), drives - 7 * i]);
  return encodeCounters(infoType, [drives, 2 * drives, ...pairs.flat()]);
}

const BOOST_CODES = ['P0299', 'P0234', 'P2262', 'P1F41', 'P1F42'];

/** Results with invented limits; all zero, as the standard asks, while the monitor has not run. */
function testsOf(vehicle: SimVehicle, spark: boolean): TestValue[] {
  const complete = (name: string) => vehicle.monitors.some((m) => m.name === name && m.complete);
  const ran = (done: boolean, test: TestValue): TestValue =>
    done ? test : { ...test, value: 0, low: 0, high: 0 };
  const boostBad = vehicle.codes.some((c) => BOOST_CODES.includes(c.code));
  const misfire = ran(complete('misfire'), {
    monitor: 0xa1,
    test: 0x0c,
    scaling: 0x24,
    value: 2,
    low: 0,
    high: 600,
  });
  const boost = ran(complete('components'), {
    monitor: 0x85,
    test: 0x80,
    scaling: 0x1a,
    value: boostBad ? 31 : 4,
    low: 0,
    high: 15,
  });
  if (!spark) return [boost];
  const oxygen = { monitor: 0x01, test: 0x07, scaling: 0x0b, value: 0.085, low: 0, high: 0.3 };
  const catalyst = { monitor: 0x21, test: 0x80, scaling: 0x20, value: 0.25, low: 0, high: 0.75 };
  return [ran(complete('oxygen sensor'), oxygen), ran(complete('catalyst'), catalyst), boost, misfire];
}
