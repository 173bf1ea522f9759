/** Service 06, results of on-board monitors with their limits, both ways. From memory of SAE J1979 / J1979-DA. */
import { decodeBitmap } from './decode.ts';
import { pidText } from './pids.ts';
import { MONITOR_IDS, TEST_IDS, UNIT_IDS, type UnitId } from './tests-table.ts';

export interface TestResult {
  /** Monitor id; on buses other than CAN the test id, which then is the maker's own. */
  readonly monitor: number;
  /** "Catalyst, bank 1"; null where the table does not know. */
  readonly monitorName: string | null;
  readonly test: number;
  readonly testName: string | null;
  /** Unit-and-scaling id; null on buses other than CAN, where numbers are raw. */
  readonly scaling: number | null;
  readonly unit: string | null;
  readonly value: number;
  /** Null: this answer has no such limit. */
  readonly low: number | null;
  readonly high: number | null;
  /** Null when the control unit has not run the test yet (all numbers zero). */
  readonly passed: boolean | null;
}

export type TestAnswer =
  | { readonly ok: true; readonly results: readonly TestResult[]; readonly supported: readonly number[] }
  | { readonly ok: false; readonly why: string; readonly at: number };

/**
 * On CAN: 46, then nine bytes a result (monitor, test, scaling, value, least, most), or five a support bitmap
 * (00, 20, … and four bytes). Elsewhere: 46 and six bytes (test, limit type and component, value, limit), or a
 * bitmap with FF after its number.
 */
export function decodeTests(payload: Uint8Array): TestAnswer {
  if (payload[0] !== 0x46) return { ok: false, why: 'not an answer of service 06', at: 0 };
  const rest = payload.subarray(1);
  const isBitmap = rest.length > 0 && rest[0]! % 0x20 === 0;
  if (isBitmap && rest.length === 6 && rest[1] === 0xff)
    return { ok: true, results: [], supported: decodeBitmap(rest[0]!, rest.subarray(2)) ?? [] };
  if (isBitmap && rest.length % 5 === 0) {
    const supported: number[] = [];
    for (let i = 0; i < rest.length; i += 5)
      supported.push(...(decodeBitmap(rest[i]!, rest.subarray(i + 1, i + 5)) ?? []));
    return { ok: true, results: [], supported };
  }
  if (rest.length > 0 && rest.length % 9 === 0) {
    const results: TestResult[] = [];
    for (let i = 0; i < rest.length; i += 9) results.push(canResult(rest.subarray(i, i + 9)));
    return { ok: true, results, supported: [] };
  }
  if (rest.length === 6) return { ok: true, results: [otherResult(rest)], supported: [] };
  return { ok: false, why: `${rest.length} bytes are no whole number of results`, at: 1 };
}

function canResult(b: Uint8Array): TestResult {
  const scaling = b[2]!;
  const unit = UNIT_IDS[scaling];
  const [value, low, high] = [3, 5, 7].map((i) => scaled(unit, scaling, b[i]! * 256 + b[i + 1]!)) as [
    number,
    number,
    number,
  ];
  const notRun = b.subarray(3).every((x) => x === 0);
  return {
    monitor: b[0]!,
    monitorName: MONITOR_IDS[b[0]!] ?? null,
    test: b[1]!,
    testName: TEST_IDS[b[1]!] ?? null,
    scaling,
    unit: unit?.unit ?? null,
    value,
    low,
    high,
    passed: notRun ? null : value >= low && value <= high,
  };
}

/** The limit is a least value when the top bit of the second byte is set, else a greatest. */
function otherResult(b: Uint8Array): TestResult {
  const value = b[2]! * 256 + b[3]!;
  const limit = b[4]! * 256 + b[5]!;
  const isLeast = b[1]! >= 0x80;
  return {
    monitor: b[0]!,
    monitorName: null,
    test: b[1]! & 0x7f,
    testName: null,
    scaling: null,
    unit: null,
    value,
    low: isLeast ? limit : null,
    high: isLeast ? null : limit,
    passed: value === 0 && limit === 0 ? null : isLeast ? value >= limit : value <= limit,
  };
}

/** Ids from 80 up are signed; an unknown id gives the bare number. */
function scaled(unit: UnitId | undefined, scaling: number, raw: number): number {
  const count = scaling >= 0x80 && raw >= 0x8000 ? raw - 0x10000 : raw;
  return unit ? ((count - (unit.zero ?? 0)) * unit.mul) / unit.div : count;
}

/** One answer on CAN; value and limits in the unit of `scaling`. Throws RangeError for an unknown scaling. */
export function encodeTests(
  results: readonly {
    readonly monitor: number;
    readonly test: number;
    readonly scaling: number;
    readonly value: number;
    readonly low: number;
    readonly high: number;
  }[],
): Uint8Array {
  const word = (scaling: number, value: number): [number, number] => {
    const unit = UNIT_IDS[scaling];
    if (!unit) throw new RangeError(`unit-and-scaling id ${pidText(scaling)} is not in the table`);
    const [least, most] = scaling >= 0x80 ? [-0x8000, 0x7fff] : [0, 0xffff];
    const count = Math.round((value * unit.div) / unit.mul + (unit.zero ?? 0));
    const raw = Math.min(most, Math.max(least, count)) & 0xffff;
    return [raw >> 8, raw & 0xff];
  };
  return Uint8Array.from([
    0x46,
    ...results.flatMap((r) => [
      r.monitor,
      r.test,
      r.scaling,
      ...word(r.scaling, r.value),
      ...word(r.scaling, r.low),
      ...word(r.scaling, r.high),
    ]),
  ]);
}
