/** Which control units there are, what they support, and which vehicle it is. */
import type { DiagnosticRequest, EcuMessage, Exchange } from '../adapter/adapter.ts';
import { decodeBitmap } from '../j1979/decode.ts';
import { decodeInfo, vinOf } from '../j1979/info.ts';
import { splitCurrentData } from '../j1979/split.ts';
import { isVin } from './vin.ts';

export interface ControlUnit {
  /** Response address, "?" when the adapter does not tell. */
  readonly ecu: string;
  readonly supported: readonly number[];
}

export interface Vehicle {
  readonly vin: string | null;
  /** Twice the same, and made as such numbers are. */
  readonly vinCertain: boolean;
  readonly units: readonly ControlUnit[];
}

type Ask = (request: DiagnosticRequest) => Promise<Exchange>;

/** Bitmaps of service 01 stand at every 32nd PID; SAE J1979, from memory. */
const LAST_BITMAP = 0xe0;
const TRIES = 3;

/** Null when no control unit answers. */
export async function identifyVehicle(ask: Ask): Promise<Vehicle | null> {
  const found = new Map<string, Set<number>>();
  for (let i = 0; i < TRIES; i++) {
    const first = await ask({ payload: Uint8Array.of(0x01, 0x00) });
    for (const m of first.messages) addBitmap(found, m, 0x00);
    // A unit whose answer was damaged, or that was busy, must not go unnoticed beside one that answered.
    const whole = first.discards.length === 0 && first.messages.every((m) => m.payload[0] !== 0x7f);
    if (found.size > 0 && whole) break;
  }
  if (found.size === 0) return null;
  for (const [ecu, pids] of found)
    for (let base = 0x20; base <= LAST_BITMAP && pids.has(base); base += 0x20)
      await readBitmap(ask, found, ecu, base);
  const units = [...found].map(([ecu, pids]) => ({ ecu, supported: [...pids].sort((a, b) => a - b) }));
  units.sort((a, b) => (a.ecu < b.ecu ? -1 : 1));
  return { ...(await readVin(ask)), units };
}

/** A damaged answer must not cost the vehicle half of its signals: asked again. */
async function readBitmap(
  ask: Ask,
  found: Map<string, Set<number>>,
  ecu: string,
  base: number,
): Promise<void> {
  for (let i = 0; i < TRIES; i++) {
    const x = await ask({ payload: Uint8Array.of(0x01, base), ...(ecu === '?' ? {} : { ecu }) });
    const answers = x.messages.filter((m) => m.ecu === ecu && m.payload[0] === 0x41);
    for (const m of answers) addBitmap(found, m, base);
    if (answers.length > 0) return;
  }
}

/** Several units without names ("?") are taken together: they are all asked at once anyway. */
function addBitmap(found: Map<string, Set<number>>, m: EcuMessage, base: number): void {
  const split = splitCurrentData(m.payload, Uint8Array.of(base));
  const part = split.ok ? split.parts.find((p) => p.pid === base) : undefined;
  const pids = part ? decodeBitmap(base, part.data) : null;
  if (!pids) return;
  const known = found.get(m.ecu) ?? new Set<number>();
  for (const pid of pids) known.add(pid);
  found.set(m.ecu, known);
}

/** On a link that damages much of what it carries the longest answer comes through last. */
const VIN_TRIES = 8;

/**
 * Service 09, information type 02. On CAN: one message with a count byte. On K-line and J1850: five messages, each
 * with its number and four bytes, zeros in front. SAE J1979, from memory.
 */
async function readVin(ask: Ask): Promise<Pick<Vehicle, 'vin' | 'vinCertain'>> {
  const read: string[] = [];
  for (let i = 0; i < VIN_TRIES; i++) {
    const x = await ask({ payload: Uint8Array.of(0x09, 0x02) });
    const vin = vinIn(x);
    if (vin !== null && read.includes(vin)) return { vin, vinCertain: isVin(vin) };
    if (vin !== null) read.push(vin);
    const damaged = x.outcome === 'garbled' || x.outcome === 'timeout' || x.discards.length > 0;
    if (vin === null && !damaged && i > 0) break; // not a matter of damage: this vehicle does not say it
  }
  return { vin: read.find(isVin) ?? read[0] ?? null, vinCertain: false };
}

function vinIn(x: Exchange): string | null {
  const answers = x.messages.filter((m) => m.payload[0] === 0x49);
  for (const ecu of new Set(answers.map((m) => m.ecu))) {
    const answer = decodeInfo(answers.filter((m) => m.ecu === ecu).map((m) => m.payload));
    const vin = answer.ok ? vinOf(answer.info) : null;
    if (vin !== null) return vin;
  }
  return null;
}
