/** A code snapshot: what every control unit says of codes, lamp, readiness, freeze frame and itself, at one time. */
import type { Exchange } from '../adapter/adapter.ts';
import type { CodeState, FrameNotRead, Snapshot, UnitSnapshot } from '../core/snapshot.ts';
import { decodeCodes } from '../j1979/codes.ts';
import { decodeBitmap } from '../j1979/decode.ts';
import { codeMeaning } from '../j1979/dtc.ts';
import { decodeFreeze } from '../j1979/freeze.ts';
import { decodeInfo, INFO } from '../j1979/info.ts';
import { explainInformation, explainResponse, valuesOfFrame } from '../j1979/message.ts';
import { decodeNegative, NEGATIVE } from '../j1979/negative.ts';
import { NEWER } from '../j1979/newer.ts';
import {
  CODE_REQUESTS,
  decodeFrame,
  decodeReport,
  frameRequest,
  PERMANENT_REQUESTS,
  REPORTS,
  standsIn,
} from '../j1979/newer-codes.ts';
import { PIDS, pidText } from '../j1979/pids.ts';
import { decodeMonitors } from '../j1979/readiness.ts';
import { splitCurrentData, splitFreezeFrame } from '../j1979/split.ts';
import { decodeTests } from '../j1979/tests.ts';

type Draft = { -readonly [K in keyof UnitSnapshot]: UnitSnapshot[K] };
type Ask = (payload: Uint8Array) => Promise<Exchange>;
/** False: the answer does not tell what was asked. */
type Take = (unit: Draft, payload: Uint8Array) => boolean | undefined;
/**
 * Asks all; `take` gets each good answer, `name` is noted when there is none, or one that does not tell (null: not asked
 * for by name).
 * @returns whether all was told
 */
type Each = (name: string | null, request: readonly number[], take: Take) => Promise<boolean>;

/** Where a unit has a frame and no map of what is in it: load, coolant, MAP, engine speed, vehicle speed, intake air. */
const FRAME_PIDS = [0x04, 0x05, 0x0b, 0x0c, 0x0d, 0x0f] as const;
const FRAME_CODE = 0x02;
/** A frame of one unit has some twenty values; more than this many questions would be a map that lies. */
const MAX_FRAME_PIDS = 80;
/** Codes of one unit whose frame is asked for until one is found. */
const MAX_FRAME_CODES = 16;
const PERMANENT = 'permanent codes (0A)';
/** Warm-ups, kilometres and minutes since codes were cleared. */
const CLEARED_PIDS = [0x30, 0x31, 0x4e] as const;
const INFO_TYPES = [
  INFO.vin,
  INFO.calibrationId,
  INFO.calibrationNumber,
  INFO.countersSpark,
  INFO.ecuName,
  INFO.countersCompression,
] as const;
/** Maps of what is supported stand at every 32nd number. */
const MAPS = [0x00, 0x20, 0x40, 0x60, 0x80, 0xa0] as const;

/** @param ask sends one request through the gate */
export async function takeSnapshot(ask: Ask, vin: string | null): Promise<Snapshot> {
  const units = new Map<string, Draft>();
  const unanswered: string[] = [];
  let frameNotRead: FrameNotRead | null = null;
  const each: Each = async (name, request, take) => {
    const payload = Uint8Array.from(request);
    const x = await ask(payload);
    const good = x.messages.filter((m) => m.payload[0] === (request[0]! | 0x40));
    if (good.length === 0 && asksForFrame(request)) frameNotRead ??= whyNoFrame(x);
    const told = good.map((m) => take(unitOf(units, m.ecu), m.payload) !== false);
    const all = told.length > 0 && !told.includes(false);
    if (!all && name !== null) unanswered.push(name);
    return all;
  };
  await each('readiness (01)', [0x01, 0x01], takeReadiness);
  const byStatus = await readLists(each, unanswered);
  for (const pid of CLEARED_PIDS)
    await each(null, [0x01, pid], (unit, payload) => {
      unit.sinceCleared = [...unit.sinceCleared, ...valuesIn(payload, [0x01, pid])];
    });
  for (const pid of byStatus ? [] : await frameContents(each))
    await each(null, [0x02, pid, 0x00], (unit, payload) => {
      unit.freezeFrame = [...unit.freezeFrame, ...valuesIn(payload, [0x02, pid, 0x00])];
    });
  await readInformation(each);
  await readMonitors(each);
  return {
    schema: 'handback.codes/1',
    vin,
    units: [...units.values()].sort((a, b) => (a.ecu < b.ecu ? -1 : 1)),
    unanswered,
    ...(frameNotRead !== null && lacksFrame([...units.values()]) ? { frameNotRead } : {}),
  };
}

const valuesIn = (payload: Uint8Array, request: readonly number[]) =>
  explainResponse(payload, Uint8Array.from(request)).values;

function takeReadiness(unit: Draft, payload: Uint8Array): boolean {
  const split = splitCurrentData(payload, Uint8Array.of(0x01));
  const data = split.ok ? split.parts.find((p) => p.pid === 0x01)?.data : undefined;
  unit.readiness = data ? decodeMonitors(0x01, data) : null;
  unit.mil = unit.readiness?.mil ?? null;
  return unit.readiness !== null;
}

/** @returns whether the codes were told by their status, as SAE J1979-2 has it */
async function readLists(each: Each, unanswered: string[]): Promise<boolean> {
  const stored = await each(null, [0x03], takeList('stored'));
  const byStatus = !stored && (await codesByStatus(each));
  if (!stored && !byStatus) unanswered.push('stored codes (03)');
  if (!byStatus) {
    await each('pending codes (07)', [0x07], takeList('pending'));
    await each(PERMANENT, [0x0a], takeList('permanent'));
  } else if (!(await permanentByStatus(each))) unanswered.push(PERMANENT);
  return byStatus;
}

async function readInformation(each: Each): Promise<void> {
  const offered = new Set<number>();
  await each(null, [0x09, 0x00], (_unit, payload) => {
    const answer = decodeInfo([payload]);
    if (answer.ok) for (const type of answer.info.supported) offered.add(type);
  });
  for (const type of INFO_TYPES) {
    if (offered.size > 0 && !offered.has(type)) continue;
    // Elsewhere than on CAN one answer comes in several messages: they are read together.
    const parts = new Map<Draft, Uint8Array[]>();
    await each(null, [0x09, type], (unit, payload) => {
      parts.set(unit, [...(parts.get(unit) ?? []), payload]);
    });
    for (const [unit, payloads] of parts)
      unit.information = [...unit.information, ...explainInformation(payloads)];
  }
}

async function readMonitors(each: Each): Promise<void> {
  for (const map of MAPS) {
    const ids = new Set<number>();
    await each(null, [0x06, map], (_unit, payload) => {
      const answer = decodeTests(payload);
      if (answer.ok) for (const id of answer.supported) ids.add(id);
    });
    for (const id of ids)
      if (id % 0x20 !== 0)
        await each(null, [0x06, id], (unit, payload) => {
          unit.monitorResults = [...unit.monitorResults, ...valuesIn(payload, [0x06, id])];
        });
    if (!ids.has(map + 0x20)) break;
  }
}

const asksForFrame = ([service, sub]: readonly number[]): boolean =>
  service === 0x02 || (service === NEWER.readCodes && sub === REPORTS.frame);

/** A code is stored, and nothing of a frame was read but perhaps which code stored it. */
const lacksFrame = (units: readonly UnitSnapshot[]): boolean =>
  units.some((u) => u.stored.length > 0) &&
  units.every((u) => u.freezeFrame.every((v) => v.pid === pidText(FRAME_CODE)));

/** Null where the answer is that there is none: out of range, for service 19. */
function whyNoFrame(x: Exchange): FrameNotRead | null {
  const no = x.messages.map((m) => decodeNegative(m.payload)).find((n) => n !== null);
  if (no) {
    const none = no.service === NEWER.readCodes && no.code === NEGATIVE.outOfRange;
    return none ? null : { reason: 'refused', code: no.code };
  }
  return { reason: x.why?.id === 'wire.not-asked' ? 'unasked' : 'no answer', code: null };
}

const takeList =
  (state: CodeState): Take =>
  (unit, payload) => {
    const list = decodeCodes(payload);
    if (list.ok) unit[state] = [...unit[state], ...list.codes.map(named)];
    return list.ok && !list.short;
  };

const named = (code: string): UnitSnapshot['stored'][number] => ({ code, ...codeMeaning(code) });

/**
 * Stored and pending codes and a freeze frame of each unit over service 19, where nobody answers service 03. Units need
 * not know the same reports: all are asked, and the first answer of a unit that adds up counts, else the first.
 * @returns false when no unit lists codes in this way
 */
async function codesByStatus(each: Each): Promise<boolean> {
  const listed = new Map<string, string[]>();
  const whole = new Set<string>();
  for (const request of CODE_REQUESTS)
    await each(null, request, (unit, payload) => {
      const report = decodeReport(payload);
      if (!report.ok || whole.has(unit.ecu)) return;
      if (report.problem === null) whole.add(unit.ecu);
      else if (listed.has(unit.ecu)) return;
      for (const state of ['stored', 'pending'] as const)
        unit[state] = report.codes.filter((c) => standsIn(state, c)).map((c) => named(c.code));
      listed.set(unit.ecu, [...new Set([...unit.stored, ...unit.pending].map((c) => c.code))]);
    });
  // One frame a unit, that of the first code that kept one, as service 02 has it.
  const framed = new Set<string>();
  for (const [ecu, codes] of listed)
    for (const code of codes.slice(0, MAX_FRAME_CODES)) {
      if (framed.has(ecu)) break;
      await each(null, frameRequest(code), (unit, payload) => {
        if (framed.has(unit.ecu)) return;
        unit.freezeFrame = valuesOfFrame(decodeFrame(payload));
        if (unit.freezeFrame.length > 0) framed.add(unit.ecu);
      });
    }
  return listed.size > 0;
}

async function permanentByStatus(each: Each): Promise<boolean> {
  const listed = new Set<string>();
  for (const request of PERMANENT_REQUESTS)
    await each(null, request, (unit, payload) => {
      const report = decodeReport(payload);
      if (!report.ok || listed.has(unit.ecu)) return;
      listed.add(unit.ecu);
      unit.permanent = report.codes.map((c) => named(c.code));
    });
  return listed.size > 0;
}

/** The PIDs of all freeze frames there are, the code first; empty when every unit says that it has none. */
async function frameContents(each: Each): Promise<readonly number[]> {
  let frames = 0;
  let none = 0;
  await each(null, [0x02, FRAME_CODE, 0x00], (_unit, payload) => {
    const answer = decodeFreeze(Uint8Array.of(0x02, FRAME_CODE, 0x00), payload);
    if (!answer.ok) return;
    for (const { code } of answer.parts)
      if (code === null) none++;
      else if (code !== undefined) frames++;
  });
  if (frames === 0 && none > 0) return [];
  const pids = new Set<number>();
  for (const map of MAPS) {
    await each(null, [0x02, map, 0x00], (_unit, payload) => {
      const split = splitFreezeFrame(payload, Uint8Array.of(map));
      if (!split.ok) return;
      for (const part of split.parts)
        if (part.pid === map) for (const pid of decodeBitmap(map, part.data) ?? []) pids.add(pid);
    });
    if (!pids.has(map + 0x20)) break;
  }
  const known = [...pids].filter((pid) => pid % 0x20 !== 0 && pid !== FRAME_CODE && PIDS[pid]);
  return [FRAME_CODE, ...(known.length > 0 ? known.slice(0, MAX_FRAME_PIDS) : FRAME_PIDS)];
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
