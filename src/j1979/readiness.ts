/** Monitor status of PIDs 01 and 41: named monitors, supported and complete. From memory of SAE J1979. */
import type { Ignition, Monitor, MonitorStatus } from '../core/snapshot.ts';

/** Bits 0–2 of byte B: supported; bits 4–6: not complete. */
const CONTINUOUS = ['Misfire', 'Fuel system', 'Comprehensive components'] as const;

/** Bits 0–7 of byte C: supported; of byte D: not complete. Null: reserved. */
const ONCE: Readonly<Record<Ignition, readonly (string | null)[]>> = {
  spark: [
    'Catalyst',
    'Heated catalyst',
    'Evaporative system',
    'Secondary air',
    'Air conditioning refrigerant',
    'Oxygen sensor',
    'Oxygen sensor heater',
    'Exhaust gas recirculation or valve timing',
  ],
  compression: [
    'Hydrocarbon catalyst',
    'NOx aftertreatment',
    null,
    'Boost pressure',
    null,
    'Exhaust gas sensor',
    'Particle filter',
    'Exhaust gas recirculation or valve timing',
  ],
};

/** Names of the monitors of one kind of ignition, continuous ones first. */
export function monitorNames(ignition: Ignition): string[] {
  return [...CONTINUOUS, ...ONCE[ignition].filter((name) => name !== null)];
}

/** @param pid 01 or 41; null when the data are not four bytes. */
export function decodeMonitors(pid: number, data: Uint8Array): MonitorStatus | null {
  if (data.length !== 4) return null;
  const [a, b, c, d] = data as unknown as [number, number, number, number];
  const ignition: Ignition = b & 0x08 ? 'compression' : 'spark';
  const monitors: Monitor[] = CONTINUOUS.map((name, i) => ({
    name,
    continuous: true,
    supported: bit(b, i),
    complete: !bit(b, i + 4),
  }));
  ONCE[ignition].forEach((name, i) => {
    if (name !== null) monitors.push({ name, continuous: false, supported: bit(c, i), complete: !bit(d, i) });
  });
  const withLamp = pid === 0x01;
  return { mil: withLamp && bit(a, 7), codes: withLamp ? a & 0x7f : 0, ignition, monitors };
}

/** Names that the standard does not know for this ignition are left out. */
export function encodeMonitors(pid: number, status: MonitorStatus): Uint8Array {
  const data = new Uint8Array(4);
  if (pid === 0x01) data[0] = (status.mil ? 0x80 : 0) | Math.min(127, Math.max(0, status.codes));
  data[1] = status.ignition === 'compression' ? 0x08 : 0;
  for (const { name, supported, complete } of status.monitors) {
    const i = (CONTINUOUS as readonly string[]).indexOf(name);
    const j = ONCE[status.ignition].indexOf(name);
    if (i >= 0) data[1] |= (supported ? 1 << i : 0) | (complete ? 0 : 0x10 << i);
    else if (j >= 0) {
      data[2] = data[2]! | (supported ? 1 << j : 0);
      data[3] = data[3]! | (complete ? 0 : 1 << j);
    }
  }
  return data;
}

function bit(byte: number, i: number): boolean {
  return ((byte >> i) & 1) === 1;
}
