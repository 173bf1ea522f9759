/** What one complete diagnostic message says: every service, requests too, as JSON-ready values and a sentence. */
import { isAbsence } from '../core/absence.ts';
import { toHex } from '../core/hex.ts';
import type { MessageValue } from '../core/snapshot.ts';
import { decodeCodes } from './codes.ts';
import { decodeBitmap, decodePid, type PidReading } from './decode.ts';
import { codeMeaning, codeText, typedCodeBytes } from './dtc.ts';
import { decodeFreeze } from './freeze.ts';
import { decodeInfo } from './info.ts';
import { decodeNegative } from './negative.ts';
import { classicAnswer, classicRequest, NEWER } from './newer.ts';
import { decodeFrame, decodeReport, type FrameAnswer, REPORTS, standsIn } from './newer-codes.ts';
import { PIDS, pidText } from './pids.ts';
import { decodeMonitors } from './readiness.ts';
import { splitCurrentData } from './split.ts';
import { decodeTests, type TestResult } from './tests.ts';

export interface Explained {
  readonly direction: 'request' | 'response';
  /** Two hex digits, the same in request and response; "7F" for a negative response; null when empty. */
  readonly service: string | null;
  readonly values: readonly MessageValue[];
  readonly codes: readonly string[];
  readonly text: string | null;
  /** What does not add up; null when all is well. */
  readonly problem: string | null;
}

const SERVICE_NAMES: Readonly<Record<number, string>> = {
  1: 'current data',
  2: 'freeze frame data',
  3: 'stored codes',
  4: 'clear codes and freeze frames',
  5: 'oxygen sensor test results',
  6: 'monitor test results',
  7: 'pending codes',
  8: 'control of a component or test',
  9: 'vehicle information',
  10: 'permanent codes',
  [NEWER.readCodes]: 'codes with their status',
  [NEWER.readData]: 'data by identifier',
};

const nothing = { values: [], codes: [], text: null, problem: null } as const;

/** A request as it stands in its message. */
export function explainRequest(payload: Uint8Array): Explained {
  const same = classicRequest(payload);
  if (same !== payload) return { ...explainRequest(same), service: pidText(payload[0]!) };
  const service = payload[0];
  if (service === undefined) return { direction: 'request', service: null, ...nothing, problem: 'empty' };
  const title = SERVICE_NAMES[service];
  const base = { direction: 'request', service: pidText(service), ...nothing } as const;
  if (title === undefined) return { ...base, text: 'Asks for a service that SAE J1979 does not have' };
  const what = [...payload.subarray(1)].filter((_, i) => service !== 0x02 || i % 2 === 0);
  const named = what.map((pid) =>
    service <= 2 ? `${pidText(pid)} ${PIDS[pid]?.name ?? 'unknown'}` : pidText(pid),
  );
  return { ...base, text: `Asks for ${title}${named.length > 0 ? `: ${named.join(', ')}` : ''}` };
}

/** A response; `request` is the payload of the request before it where known, which settles lengths. */
export function explainResponse(payload: Uint8Array, request: Uint8Array | null): Explained {
  const first = payload[0];
  const sent = request ?? new Uint8Array();
  const same = first === 0x7f ? payload : classicAnswer(sent, payload);
  if (same !== payload)
    return { ...explainResponse(same, classicRequest(sent)), service: pidText(first! & 0xbf) };
  if (first === undefined) return { direction: 'response', service: null, ...nothing, problem: 'empty' };
  if (first === 0x7f) return negative(payload);
  const service = first & 0xbf;
  const base = { direction: 'response', service: pidText(service), ...nothing } as const;
  if ((first & 0x40) === 0) return { ...base, problem: `${pidText(first)} is no response` };
  const asked = request !== null && request[0] === service ? request : new Uint8Array();
  switch (service) {
    case 0x01:
      return { ...base, ...currentData(payload, asked) };
    case 0x02:
      return { ...base, ...freezeFrame(payload, asked) };
    case 0x03:
    case 0x07:
    case 0x0a:
      return { ...base, ...codeList(payload) };
    case 0x04:
      return { ...base, text: 'Codes and freeze frames cleared' };
    case 0x06:
      return { ...base, ...testResults(payload) };
    case 0x09:
      return { ...base, ...vehicleInfo(payload) };
    case NEWER.readCodes:
      return { ...base, ...(payload[1] === REPORTS.frame ? snapshotFrame(payload) : statusCodes(payload)) };
    default:
      return {
        ...base,
        text: `${SERVICE_NAMES[service] ?? 'Unknown service'}: ${toHex(payload.subarray(1))}`,
      };
  }
}

type Content = Partial<Pick<Explained, 'values' | 'codes' | 'text' | 'problem'>>;

function negative(payload: Uint8Array): Explained {
  const base = { direction: 'response', service: '7F', ...nothing } as const;
  const said = decodeNegative(payload);
  if (!said) return { ...base, problem: `negative response of ${payload.length} bytes` };
  return { ...base, text: `Service ${pidText(said.service)} refused: ${said.text} (${pidText(said.code)})` };
}

function currentData(payload: Uint8Array, request: Uint8Array): Content {
  let problem: string | null = null;
  let split = splitCurrentData(payload, request.subarray(1));
  if (!split.ok && request.length > 1) {
    const why = split.why;
    split = splitCurrentData(payload, new Uint8Array());
    if (split.ok) problem = `does not fit the request before it: ${why}`;
  }
  if (!split.ok) {
    // One PID of a wrong length is still worth its bytes.
    const pid = payload[1];
    const values = pid === undefined ? [] : valuesOf(decodePid(pid, payload.subarray(2)));
    return { values: values.map((v) => ({ ...v, signal: null, value: null })), problem: split.why };
  }
  const texts: string[] = [];
  const codes: string[] = [];
  const values = split.parts.flatMap(({ pid, data }) => {
    const special = specialOf(pid, data);
    if (special.text) texts.push(special.text);
    codes.push(...(special.codes ?? []));
    const found = valuesOf(decodePid(pid, data));
    return special.value === undefined
      ? found
      : found.map((v) => ({ ...v, value: v.value ?? special.value! }));
  });
  return { values, codes, text: texts.length > 0 ? texts.join('; ') : null, problem };
}

/** PIDs whose data are no quantities: bitmaps, monitors, a code. */
function specialOf(pid: number, data: Uint8Array): { text?: string; codes?: string[]; value?: string } {
  switch (PIDS[pid]?.kind) {
    case 'bitmap': {
      const list = (decodeBitmap(pid, data) ?? []).map(pidText).join(' ');
      return { text: `${PIDS[pid]!.name}: ${list || 'none'}`, value: list };
    }
    case 'monitors':
      return { text: monitorText(pid, data) };
    case 'code': {
      if (data.length !== 2) return {};
      if (data[0] === 0 && data[1] === 0) return { text: 'No freeze frame stored' };
      const code = codeText(data[0]!, data[1]!);
      return { text: `Freeze frame stored by ${code}`, codes: [code], value: code };
    }
    default:
      return {};
  }
}

function monitorText(pid: number, data: Uint8Array): string {
  const status = decodeMonitors(pid, data);
  if (!status) return '';
  const supported = status.monitors.filter((m) => m.supported);
  const open = supported.filter((m) => !m.complete).map((m) => m.name);
  const lamp = pid === 0x01 ? `Lamp ${status.mil ? 'on' : 'off'}, codes: ${status.codes}; ` : '';
  const done = `${supported.length - open.length} of ${supported.length} monitors complete`;
  return `${lamp}${status.ignition} ignition; ${done}${open.length > 0 ? `, not: ${open.join(', ')}` : ''}`;
}

function freezeFrame(payload: Uint8Array, request: Uint8Array): Content {
  let answer = decodeFreeze(request, payload);
  let problem: string | null = null;
  if (!answer.ok && request.length > 1) {
    problem = `does not fit the request before it: ${answer.why}`;
    answer = decodeFreeze(new Uint8Array(), payload);
  }
  if (!answer.ok) return { problem: answer.why };
  const frames = [...new Set(answer.parts.map((p) => p.frame))];
  const codes = answer.parts.flatMap((p) => p.code ?? []);
  const cause = answer.parts.some((p) => p.code === null)
    ? ': none stored'
    : codes.map((c) => `, stored by ${c}`).join('');
  return {
    values: answer.parts.flatMap((p) =>
      valuesOf(p.reading).map((v) => (typeof p.code === 'string' ? { ...v, value: p.code } : v)),
    ),
    codes,
    text: `Freeze frame ${frames.join(', ')}${cause}`,
    problem,
  };
}

function codeList(payload: Uint8Array): Content {
  const list = decodeCodes(payload);
  if (!list.ok) return { problem: list.why };
  const texts = list.codes.map((code) => {
    const { text, source } = codeMeaning(code);
    return `${code} ${text}${source ? ` (${source})` : ''}`;
  });
  const text = texts.length > 0 ? `${list.state} codes: ${texts.join('; ')}` : `no ${list.state} codes`;
  return { codes: list.codes, text: text.charAt(0).toUpperCase() + text.slice(1), problem: list.problem };
}

function statusCodes(payload: Uint8Array): Content {
  const report = decodeReport(payload);
  if (!report.ok) return { problem: report.why };
  const texts = report.codes.map((c) => {
    const states = ['stored', 'pending'] as const;
    const lists = report.permanent ? ['permanent'] : states.filter((state) => standsIn(state, c));
    return `${c.code} ${codeMeaning(c.code).text} (${[...lists, `status ${pidText(c.status)}`].join(', ')})`;
  });
  const codes = report.codes.map((c) => c.code);
  return { codes, text: texts.join('; ') || 'No codes', problem: report.problem };
}

function snapshotFrame(payload: Uint8Array): Content {
  const answer = decodeFrame(payload);
  if (!answer.ok) return { problem: answer.why };
  return {
    values: valuesOfFrame(answer),
    codes: [answer.code],
    text: answer.frame === null ? `No freeze frame of ${answer.code}` : `Freeze frame of ${answer.code}`,
  };
}

/** The code that stored the frame as value of PID 02, then what is in the frame; none where there is no frame. */
export function valuesOfFrame(answer: FrameAnswer): MessageValue[] {
  if (!answer.ok || answer.frame === null) return [];
  const raw = toHex(Uint8Array.from(typedCodeBytes(answer.code) ?? []));
  return [
    { pid: '02', signal: null, value: answer.code, unit: null, raw },
    ...answer.parts.flatMap(({ pid, data }) => valuesOf(decodePid(pid, data))),
  ];
}

function testResults(payload: Uint8Array): Content {
  const answer = decodeTests(payload);
  if (!answer.ok) return { problem: answer.why };
  if (answer.results.length === 0)
    return { text: `Monitors supported: ${answer.supported.map(pidText).join(' ')}` };
  const values = answer.results.map((r, i) => ({
    pid: pidText(r.monitor),
    signal: null,
    value: r.value,
    unit: r.unit,
    raw: toHex(payload.subarray(1 + 9 * i, 10 + 9 * i)),
  }));
  return { values, text: answer.results.map(testText).join('; ') };
}

function testText(r: TestResult): string {
  const monitor = r.monitorName ?? `Monitor ${pidText(r.monitor)}`;
  const test = r.testName ?? `test ${pidText(r.test)}`;
  const unit = r.unit === null ? '' : ` ${r.unit}`;
  const verdict = r.passed === null ? 'not run yet' : r.passed ? 'within limits' : 'outside limits';
  const low = r.low === null ? '' : `, least ${r.low}`;
  const high = r.high === null ? '' : `, most ${r.high}`;
  return `${monitor}, ${test}: ${r.value}${unit}${low}${high}: ${verdict}`;
}

function vehicleInfo(payload: Uint8Array): Content {
  const answer = decodeInfo([payload]);
  if (!answer.ok) return { problem: answer.why };
  const { info } = answer;
  const said = [
    ...info.items,
    ...info.counters.map((c) => `${c.name} ${c.value}`),
    ...(info.supported.length > 0 ? [info.supported.map(pidText).join(' ')] : []),
  ];
  const values = explainInformation([payload]);
  return { values, text: `${info.name}: ${said.join('; ') || 'none'}`, problem: info.problem };
}

/** The items of one information type of service 09, from all messages of one control unit. */
export function explainInformation(payloads: readonly Uint8Array[]): MessageValue[] {
  const answer = decodeInfo(payloads);
  if (!answer.ok) return [];
  const pid = pidText(answer.info.infoType);
  const raw = payloads.map((p) => toHex(p.subarray(2))).join('');
  const { items, counters } = answer.info;
  const said = [...items, ...counters.map((c) => `${c.name} ${c.value}`)];
  return said.map((value) => ({ pid, signal: null, value, unit: null, raw }));
}

function valuesOf(reading: PidReading): MessageValue[] {
  const pid = pidText(reading.pid);
  const raw = toHex(reading.raw);
  if (reading.readings.length === 0) return [{ pid, signal: null, value: null, unit: null, raw }];
  return reading.readings.map(({ signal, unit, value, text }) =>
    isAbsence(value)
      ? { pid, signal, value: null, unit, raw, absent: value.absent }
      : { pid, signal, value: text ?? value, unit: text === null ? unit : null, raw },
  );
}
