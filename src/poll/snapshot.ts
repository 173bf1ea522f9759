/** A code snapshot: what every control unit says of codes, lamp, readiness, freeze frame and itself, at one time. */
import type { Exchange } from '../adapter/adapter.ts';
import { decodeCodes } from '../j1979/codes.ts';
import { codeMeaning } from '../j1979/dtc.ts';
import { explainInformation, explainResponse } from '../j1979/message.ts';
import { decodeMonitors } from '../j1979/readiness.ts';
import type { Snapshot, UnitSnapshot } from '../j1979/snapshot.ts';
import { splitCurrentData } from '../j1979/split.ts';
import { decodeTests } from '../j1979/tests.ts';

export type { Snapshot };

type Draft = { -readonly [K in keyof UnitSnapshot]: UnitSnapshot[K] };
type Ask = (payload: Uint8Array) => Promise<Exchange>;

/** What a freeze frame is asked for first: code, load, coolant, MAP, engine speed, vehicle speed, intake air. */
const FRAME_PIDS = [0x02, 0x04, 0x05, 0x0b, 0x0c, 0x0d, 0x0f] as const;
/** Warm-ups, kilometres and minutes since codes were cleared. */
const CLEARED_PIDS = [0x30, 0x31, 0x4e] as const;
const INFO_TYPES = [0x02, 0x04, 0x06, 0x0a] as const;
/** Monitors are asked by the maps of supported ones: at every 32nd. */
const MONITOR_MAPS = [0x00, 0x20, 0x40, 0x60, 0x80, 0xa0] as const;

/** @param ask sends one request through the gate */
export async function takeSnapshot(ask: Ask, vin: string | null): Promise<Snapshot> {
  const units = new Map<string, Draft>();
  const unanswered: string[] = [];
  const each = async (
    name: string | null,
    request: readonly number[],
    take: (unit: Draft, payload: Uint8Array) => void,
  ) => {
    const payload = Uint8Array.from(request);
    const { messages } = await ask(payload);
    const good = messages.filter((m) => m.payload[0] === (request[0]! | 0x40));
    if (good.length === 0 && name !== null) unanswered.push(name);
    for (const m of good) take(unitOf(units, m.ecu), m.payload);
  };
  const values = (payload: Uint8Array, request: readonly number[]) =>
    explainResponse(payload, Uint8Array.from(request)).values;

  await each('readiness (01)', [0x01, 0x01], (unit, payload) => {
    const split = splitCurrentData(payload, Uint8Array.of(0x01));
    const data = split.ok ? split.parts.find((p) => p.pid === 0x01)?.data : undefined;
    unit.readiness = data ? decodeMonitors(0x01, data) : null;
    unit.mil = unit.readiness?.mil ?? null;
  });
  for (const [state, service] of [
    ['stored', 0x03],
    ['pending', 0x07],
    ['permanent', 0x0a],
  ] as const)
    await each(
      `${state} codes (${service.toString(16).toUpperCase().padStart(2, '0')})`,
      [service],
      (unit, payload) => {
        const list = decodeCodes(payload);
        if (list.ok)
          unit[state] = [...unit[state], ...list.codes.map((code) => ({ code, ...codeMeaning(code) }))];
      },
    );
  for (const pid of CLEARED_PIDS)
    await each(null, [0x01, pid], (unit, payload) => {
      unit.sinceCleared = [...unit.sinceCleared, ...values(payload, [0x01, pid])];
    });
  for (const pid of FRAME_PIDS)
    await each(null, [0x02, pid, 0x00], (unit, payload) => {
      unit.freezeFrame = [...unit.freezeFrame, ...values(payload, [0x02, pid, 0x00])];
    });
  for (const type of INFO_TYPES) {
    // Elsewhere than on CAN one answer comes in several messages: they are read together.
    const parts = new Map<string, Uint8Array[]>();
    await each(null, [0x09, type], (unit, payload) => {
      parts.set(unit.ecu, [...(parts.get(unit.ecu) ?? []), payload]);
    });
    for (const [ecu, payloads] of parts) {
      const unit = unitOf(units, ecu);
      unit.information = [...unit.information, ...explainInformation(payloads)];
    }
  }
  for (const map of MONITOR_MAPS) {
    const ids = new Set<number>();
    await each(null, [0x06, map], (_unit, payload) => {
      const answer = decodeTests(payload);
      if (answer.ok) for (const id of answer.supported) ids.add(id);
    });
    for (const id of ids)
      if (id % 0x20 !== 0)
        await each(null, [0x06, id], (unit, payload) => {
          unit.monitorResults = [...unit.monitorResults, ...values(payload, [0x06, id])];
        });
    if (!ids.has(map + 0x20)) break;
  }
  return {
    schema: 'handback.codes/1',
    vin,
    units: [...units.values()].sort((a, b) => (a.ecu < b.ecu ? -1 : 1)),
    unanswered,
  };
}

function unitOf(units: Map<string, Draft>, ecu: string): Draft {
  let unit = units.get(ecu);
  if (!unit) {
    unit = {
      ecu,
      stored: [],
      pending: [],
      permanent: [],
      mil: null,
      readiness: null,
      sinceCleared: [],
      freezeFrame: [],
      information: [],
      monitorResults: [],
    };
    units.set(ecu, unit);
  }
  return unit;
}
