/** Which serial ports there are, by an identity that stays when they are plugged elsewhere. */
import { readdir, readlink } from 'node:fs/promises';
import { join, resolve } from 'node:path';
import { SerialPort } from 'serialport';

/** Of a port of which the system tells nothing. */
export const NO_DESCRIPTION = '';

export interface PortInfo {
  readonly path: string;
  /** For people and for remembering: by-id name, or USB ids with serial number, or the system's own words; else empty. */
  readonly identity: string;
  /** A USB or wireless serial port: what adapters are. A guess, no promise. */
  readonly likelyAdapter: boolean;
}

/** What the system's own list says of a port; every field but the path may be missing. */
export interface RawPort {
  readonly path: string;
  readonly manufacturer?: string | undefined;
  readonly serialNumber?: string | undefined;
  readonly pnpId?: string | undefined;
  readonly vendorId?: string | undefined;
  readonly productId?: string | undefined;
}

/** `note` says when the list was made the second-best way; null when all is well. Never rejects. */
export async function listPorts(
  list: () => Promise<readonly RawPort[]> = () => SerialPort.list(),
  dev = '/dev',
): Promise<{ readonly ports: readonly PortInfo[]; readonly note: string | null }> {
  const byId = await namesById(dev);
  let note: string | null = null;
  let raw: readonly RawPort[];
  try {
    raw = await list();
  } catch {
    raw = await portsInDev(dev);
    note =
      'The system tool that describes ports (udevadm) is missing: ports are listed by name, without USB ids.';
  }
  const ports = raw.map((p) => describe(p, byId.get(p.path)));
  ports.sort((a, b) => Number(b.likelyAdapter) - Number(a.likelyAdapter) || a.path.localeCompare(b.path));
  return { ports, note };
}

function describe(p: RawPort, byId: string | undefined): PortInfo {
  const parts: string[] = [];
  if (byId) parts.push(byId);
  else if (p.pnpId) parts.push(p.pnpId);
  if (p.vendorId && p.productId)
    parts.push(`USB ${p.vendorId}:${p.productId}`.toLowerCase().replace('usb', 'USB'));
  if (p.serialNumber && !byId?.includes(p.serialNumber)) parts.push(`serial ${p.serialNumber}`);
  if (parts.length === 0 && p.manufacturer) parts.push(p.manufacturer);
  const wireless = /rfcomm|bluetooth|\/cu\.(?!Bluetooth-Incoming)|bthenum/i;
  const usb = /ttyUSB|ttyACM|usbserial|usbmodem/i;
  return {
    path: p.path,
    identity: parts.join(', ') || NO_DESCRIPTION,
    likelyAdapter:
      p.vendorId !== undefined ||
      byId !== undefined ||
      usb.test(p.path) ||
      wireless.test(`${p.path} ${p.pnpId ?? ''}`),
  };
}

/** Device path → its stable name under /dev/serial/by-id (Linux). */
async function namesById(dev: string): Promise<Map<string, string>> {
  const names = new Map<string, string>();
  const folder = join(dev, 'serial', 'by-id');
  try {
    for (const name of await readdir(folder)) {
      const target = await readlink(join(folder, name)).catch(() => null);
      if (target) names.set(resolve(folder, target), name);
    }
  } catch {
    // No such folder: not Linux, or nothing plugged in.
  }
  return names;
}

async function portsInDev(dev: string): Promise<RawPort[]> {
  try {
    const names = await readdir(dev);
    return names.filter((n) => /^(ttyUSB|ttyACM|rfcomm|cu\.)/.test(n)).map((n) => ({ path: join(dev, n) }));
  } catch {
    return [];
  }
}
