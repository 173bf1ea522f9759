/** The PID table walked whole, and vectors written by hand from the standard's formulas (from memory of SAE J1979). */
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { isAbsence } from '../../src/core/absence.ts';
import { fromHex } from '../../src/core/hex.ts';
import { isReceiverSignal, SIGNALS } from '../../src/core/signals.ts';
import { decodeBitmap, decodePid, encodeBitmap, encodePid } from '../../src/j1979/decode.ts';
import { NO_MAXIMA, rawOf, rawOfValue, valueOfRaw } from '../../src/j1979/fields.ts';
import { PIDS, pidText } from '../../src/j1979/pids.ts';

const known = PIDS.flatMap((def, pid) => (def ? [{ pid, def }] : []));
const fields = known.flatMap(({ pid, def }) => def.fields.map((field) => ({ pid, def, field })));

/** Values of an answer by signal; absent ones left out. */
const values = (pid: number, hex: string, maxima = NO_MAXIMA): Record<string, number> =>
  Object.fromEntries(
    decodePid(pid, fromHex(hex)!, maxima).readings.flatMap((r) =>
      r.signal !== null && !isAbsence(r.value) ? [[r.signal, r.value]] : [],
    ),
  );

describe('vectors by hand', () => {
  const vectors: readonly [pid: number, hex: string, expected: Record<string, number>][] = [
    [0x03, '0204', { fuel_system1: 2, fuel_system2: 4 }],
    [0x04, 'FF', { load_pct: 100 }],
    [0x04, '80', { load_pct: 12800 / 255 }],
    [0x05, '00', { ect_c: -40 }],
    [0x05, '7B', { ect_c: 83 }],
    [0x05, 'FF', { ect_c: 215 }],
    [0x06, '00', { stft1_pct: -100 }],
    [0x06, '80', { stft1_pct: 0 }],
    [0x06, 'FF', { stft1_pct: 99.21875 }],
    [0x07, '7860', { ltft1_pct: -6.25, ltft3_pct: -25 }],
    [0x09, '88', { ltft2_pct: 6.25 }],
    [0x0a, '64', { fuel_kpa: 300 }],
    [0x0b, '65', { map_kpa: 101 }],
    [0x0c, '1AF8', { rpm: 1726 }],
    [0x0c, '0001', { rpm: 0.25 }],
    [0x0d, '64', { speed_kmh: 100 }],
    [0x0e, '80', { timing_deg: 0 }],
    [0x0e, '95', { timing_deg: 10.5 }],
    [0x0f, '3C', { iat_c: 20 }],
    [0x10, '01F4', { maf_gps: 5 }],
    [0x11, '33', { throttle_pct: 20 }],
    [0x14, '5AFF', { o2_1_v: 0.45 }],
    [0x15, '5A90', { o2_2_v: 0.45, o2_2_trim_pct: 12.5 }],
    [0x1f, '0E10', { run_time_s: 3600 }],
    [0x22, '0064', { fuel_rail_rel_kpa: 7.9 }],
    [0x23, '0FA0', { fuel_rail_kpa: 40000 }],
    [0x24, '80002000', { o2_1_lambda: 1, o2_1_wide_v: 1 }],
    [0x32, 'FFFC', { evap_pa: -1 }],
    [0x33, '65', { baro_kpa: 101 }],
    [0x34, '80008100', { o2_1_lambda: 1, o2_1_ma: 1 }],
    [0x3c, '1194', { cat11_c: 410 }],
    [0x42, '372B', { voltage_v: 14.123 }],
    [0x43, '00FF', { abs_load_pct: 100 }],
    [0x43, '01FE', { abs_load_pct: 200 }],
    [0x44, '8000', { lambda_cmd: 1 }],
    [0x44, '7333', { lambda_cmd: 29491 / 32768 }],
    [0x45, 'FF', { rel_throttle_pct: 100 }],
    [0x46, '28', { ambient_c: 0 }],
    [0x47, '33', { throttle_b_pct: 20 }],
    [0x49, '66', { pedal_d_pct: 40 }],
    [0x4a, '33', { pedal_e_pct: 20 }],
    [0x4c, 'CC', { cmd_throttle_pct: 80 }],
    [0x5c, '82', { oil_c: 90 }],
    [0x5d, '6900', { injection_deg: 0 }],
    [0x5e, '0014', { fuel_lph: 1 }],
    [0x61, '7D', { torque_demand_pct: 0 }],
    [0x62, '96', { torque_pct: 25 }],
    [0x63, '00FA', { torque_ref_nm: 250 }],
    [
      0x64,
      '7D96AFC8E1',
      {
        torque_idle_pct: 0,
        torque_point1_pct: 25,
        torque_point2_pct: 50,
        torque_point3_pct: 75,
        torque_point4_pct: 100,
      },
    ],
    [0x66, '0100A00140', { maf_gps: 5 }],
    [0x66, '0300A00140', { maf_gps: 5, maf2_gps: 10 }],
    [0x67, '017B82', { ect_c: 83 }],
    [0x67, '027B82', { ect2_c: 90 }],
    [0x67, '037B82', { ect_c: 83, ect2_c: 90 }],
    [0x67, '007B82', {}],
    [0x68, '0B3C3D003E0000', { iat_c: 20, iat2_c: 21, iat4_c: 22 }],
    [0x68, '033C3D', { iat_c: 20, iat2_c: 21 }],
    [0x6f, '016400', { comp_inlet_kpa: 100 }],
    // 0C80 = 3200 / 32 = 100 kPa; 1900 = 200 kPa; status 10 = closed loop
    [0x70, '070C8019000000000002', { boost_cmd_kpa: 100, boost_act_kpa: 200, boost_control: 2 }],
    [
      0x70,
      '3F0C801900190025800A',
      {
        boost_cmd_kpa: 100,
        boost_act_kpa: 200,
        boost2_cmd_kpa: 200,
        boost2_act_kpa: 300,
        boost_control: 2,
        boost2_control: 2,
      },
    ],
    [0x70, '030C80190000000000', { boost_cmd_kpa: 100, boost_act_kpa: 200 }],
    [
      0x75,
      '0F3C781F401F41',
      { turbo_comp_in_c: 20, turbo_comp_out_c: 80, turbo_turb_in_c: 760, turbo_turb_out_c: 760.1 },
    ],
    [0x7a, '01FF9C00000000', { dpf1_delta_kpa: -1 }],
    [0x7f, '01000186A00000000000000000', { total_run_s: 100000 }],
    [0x87, '010CA00000', { map_kpa: 101 }],
    [0x87, '030CA10C80', { map_kpa: 101.03125, map2_kpa: 100 }],
    [0x8e, '87', { friction_pct: 10 }],
    [0xa6, '00012D68', { odometer_km: 7716 }],
  ];
  for (const [pid, hex, expected] of vectors)
    it(`${pidText(pid)} ${hex}`, () => expect(values(pid, hex)).toEqual(expected));

  it('covers every PID that boost and coolant are judged by', () => {
    const judged = [
      0x04, 0x05, 0x06, 0x07, 0x09, 0x0b, 0x0c, 0x0d, 0x0e, 0x0f, 0x10, 0x11, 0x1f, 0x33, 0x42, 0x43, 0x44,
      0x45, 0x46, 0x47, 0x49, 0x4a, 0x4c, 0x5c, 0x61, 0x62, 0x63, 0x66, 0x67, 0x68, 0x6f, 0x70, 0x87,
    ];
    const tried = new Set(vectors.map(([pid]) => pid));
    expect(judged.filter((pid) => !tried.has(pid))).toEqual([]);
  });
});

describe('maxima of 4F and 50', () => {
  const maxima = (four: string, fifty: string) =>
    new Map([
      [0x4f, fromHex(four)!],
      [0x50, fromHex(fifty)!],
    ]);
  it('rescale lambda, voltage, current, pressure and air mass', () => {
    const m = maxima('04100A33', '50000000'); // 4, 16 V, 10 mA, 510 kPa, 800 g/s
    expect(values(0x0b, 'FF', m)).toEqual({ map_kpa: 510 });
    expect(values(0x0b, '64', m)).toEqual({ map_kpa: 200 });
    expect(values(0x10, 'FFFF', m)).toEqual({ maf_gps: 800 });
    expect(values(0x24, 'FFFFFFFF', m)).toEqual({ o2_1_lambda: 4, o2_1_wide_v: 16 });
    expect(values(0x34, 'FFFF0000', m)).toEqual({ o2_1_lambda: 4, o2_1_ma: -10 });
    expect(values(0x34, '00008000', m)).toEqual({ o2_1_lambda: 0, o2_1_ma: 0 });
  });
  it('zero keeps the default', () => {
    const m = maxima('00000000', '00000000');
    for (const [pid, hex] of [
      [0x0b, '64'],
      [0x10, '1234'],
      [0x24, '80002000'],
      [0x34, '80008100'],
    ] as const)
      expect(values(pid, hex, m)).toEqual(values(pid, hex));
  });
  it('encode takes them too', () => {
    const m = maxima('00000033', '00000000');
    expect(encodePid(0x0b, () => 300, m)).toEqual(Uint8Array.of(150));
    expect(encodePid(0x0b, () => 300)).toEqual(Uint8Array.of(255)); // clipped: a lower bound, not a measurement
  });
});

describe('the table', () => {
  it('has every field inside the longest answer and no two fields on the same bits', () => {
    for (const { pid, def } of known) {
      const seen = new Set<string>();
      const supports = new Set<number>();
      for (const field of def.fields) {
        expect(field.at + field.size, pidText(pid)).toBeLessThanOrEqual(Math.max(...def.lengths));
        for (let i = 0; i < field.size; i++)
          for (let b = 0; b < 8; b++) {
            const shifted = (field.mask ?? 0xff) << (field.mask === undefined ? 0 : (field.shift ?? 0));
            if (((shifted >> b) & 1) === 0) continue;
            const key = `${field.at + i}.${b}`;
            expect(seen.has(key), `${pidText(pid)} ${field.signal} ${key}`).toBe(false);
            seen.add(key);
          }
        if (field.support !== undefined) {
          expect(field.at, `${pidText(pid)} ${field.signal}`).toBeGreaterThan(0);
          expect(supports.has(field.support), `${pidText(pid)} ${field.signal}`).toBe(false);
          supports.add(field.support);
        }
      }
    }
  });

  it('uses every byte of an answer that has fields, or the byte holds support bits', () => {
    // Bytes the standard leaves without a quantity of ours, by PID.
    const spare: Record<string, readonly number[]> = { '01': [1, 2, 3], '50': [1, 2, 3], A4: [0, 1] };
    for (const { pid, def } of known) {
      if (def.fields.length === 0) continue;
      const used = new Set(spare[pidText(pid)] ?? []);
      for (const field of def.fields) {
        for (let i = 0; i < field.size; i++) used.add(field.at + i);
        if (field.support !== undefined) used.add(0);
      }
      expect([...used].length, pidText(pid)).toBe(Math.max(...def.lengths));
    }
  });

  it('carries every signal of the catalogue but those of a satellite receiver, and each has a plausible range inside what can be carried', () => {
    const carried = new Set(fields.map(({ field }) => field.signal));
    const others = Object.keys(SIGNALS).filter((s) => !carried.has(s as never));
    expect(others.filter((s) => !isReceiverSignal(s))).toEqual([]);
    expect(others.length).toBeGreaterThan(0);
    for (const [name, def] of Object.entries(SIGNALS))
      expect(def.plausible[0], name).toBeLessThan(def.plausible[1]);
  });

  it('gives the same signal in the same unit scale from every PID that carries it', () => {
    // 05/67, 0B/87, 0F/68, 10/66: a middle value must survive going out by one PID and the same by the other.
    const by = new Map<string, number[]>();
    for (const { pid, field } of fields) by.set(field.signal, [...(by.get(field.signal) ?? []), pid]);
    const shared = [...by].filter(([, pids]) => pids.length > 1);
    expect(shared.map(([s]) => s).sort()).toEqual(
      [
        'cmd_throttle_pct',
        'ect_c',
        'egr_cmd_pct',
        'egr_error_pct',
        'iat_c',
        'maf_gps',
        'map_kpa',
        'pto',
        'rel_throttle_pct',
      ]
        .concat(Array.from({ length: 8 }, (_, i) => `o2_${i + 1}_lambda`))
        .sort(),
    );
    for (const [signal, pids] of shared)
      for (const pid of pids) {
        const sent = signal === 'pto' ? 1 : 1.5;
        const data = encodePid(pid, (s) => (s === signal ? sent : null))!;
        const back = decodePid(pid, data).readings.find((r) => r.signal === signal)!.value as number;
        expect(Math.abs(back - sent), `${signal} by ${pidText(pid)}`).toBeLessThanOrEqual(0.5);
      }
  });

  it('every raw count survives value and back', () => {
    const lost: string[] = [];
    for (const { pid, field } of fields) {
      const span = field.mask === undefined ? 2 ** (8 * field.size) : field.mask + 1;
      const low = field.signed ? -span / 2 : 0;
      const step = Math.max(1, Math.floor(span / 8192));
      for (let raw = low; raw < low + span; raw += step)
        if (raw !== field.notUsed && rawOfValue(field, valueOfRaw(field, raw, NO_MAXIMA), NO_MAXIMA) !== raw)
          lost.push(`${pidText(pid)} ${field.signal} ${raw}`);
    }
    expect(lost.slice(0, 10)).toEqual([]);
  });
});

describe('any bytes', () => {
  it('any length: a value for each field, or malformed, never a throw', () => {
    fc.assert(
      fc.property(fc.nat(255), fc.uint8Array({ maxLength: 48 }), (pid, data) => {
        const { readings, raw } = decodePid(pid, data);
        expect(raw).toEqual(data);
        const def = PIDS[pid];
        if (!def) {
          expect(readings).toEqual([]);
          return;
        }
        if (def.lengths.length > 0 && !def.lengths.includes(data.length)) {
          expect(readings.map((r) => (isAbsence(r.value) ? r.value.absent : 0))).toEqual(['malformed']);
          return;
        }
        expect(readings.map((r) => r.signal)).toEqual(PIDS[pid]!.fields.map((f) => f.signal));
        for (const r of readings) if (!isAbsence(r.value)) expect(Number.isFinite(r.value)).toBe(true);
      }),
      { numRuns: 5000, seed: 1979 },
    );
  });

  it('support bits decide: a field is there if and only if its bit is set', () => {
    fc.assert(
      fc.property(
        fc.constantFrom(...fields.filter(({ field }) => field.support !== undefined)),
        fc.uint8Array({ minLength: 48, maxLength: 48 }),
        ({ pid, def, field }, bytes) => {
          const data = bytes.slice(0, Math.max(...def.lengths));
          const r = decodePid(pid, data).readings.find((x) => x.signal === field.signal)!;
          expect(isAbsence(r.value)).toBe(((data[0]! >> field.support!) & 1) === 0);
        },
      ),
      { numRuns: 3000, seed: 7 },
    );
  });

  it('encode and decode agree to half a count for any values, with any signals missing', () => {
    const encodable = known.filter(({ def }) => def.fields.length > 0);
    fc.assert(
      fc.property(
        fc.constantFrom(...encodable),
        fc.array(fc.option(fc.double({ min: 0, max: 1, noNaN: true })), { minLength: 12, maxLength: 12 }),
        ({ pid, def }, shares) => {
          const wanted = new Map<string, number>();
          def.fields.forEach((field, i) => {
            const share = shares[i % shares.length];
            if (share === null || share === undefined) return;
            const span = field.mask === undefined ? 2 ** (8 * field.size) - 2 : field.mask;
            const raw = Math.round(share * span) + (field.signed ? -(2 ** (8 * field.size - 1)) : 0);
            wanted.set(field.signal, valueOfRaw(field, raw, NO_MAXIMA));
          });
          const data = encodePid(pid, (signal) => wanted.get(signal) ?? null);
          if (wanted.size === 0) {
            expect(data).toBeNull();
            return;
          }
          expect(def.lengths).toContain(data!.length);
          const read = decodePid(pid, data!).readings;
          for (const [i, r] of read.entries()) {
            const want = wanted.get(r.signal!);
            if (want !== undefined) expect(r.value).toBeCloseTo(want, 9);
            else if (def.fields[i]!.support !== undefined) expect(isAbsence(r.value)).toBe(true);
          }
          return;
        },
      ),
      { numRuns: 3000, seed: 8 },
    );
  });

  it('holds values beyond the scale at its ends, and never writes "not used" for a measurement', () => {
    expect(encodePid(0x05, () => 999)).toEqual(Uint8Array.of(255));
    expect(encodePid(0x05, () => -999)).toEqual(Uint8Array.of(0));
    expect(encodePid(0x0c, () => 1e9)).toEqual(Uint8Array.of(255, 255));
    expect(encodePid(0x32, () => -1e9)).toEqual(Uint8Array.of(0x80, 0));
    expect(encodePid(0x14, () => 99.21875)![1]).toBe(0xfe);
    expect(encodePid(0x14, (s) => (s === 'o2_1_v' ? 0.45 : null))).toEqual(Uint8Array.of(90, 255));
    expect(encodePid(0x05, () => Number.NaN)).toBeNull();
    expect(encodePid(0x96, () => 1)).toBeNull();
  });
});

describe('bitmaps', () => {
  it('agree with the standard way of counting', () => {
    expect(decodeBitmap(0x00, fromHex('BE1FA813')!)!.map(pidText)).toEqual(
      '01 03 04 05 06 07 0C 0D 0E 0F 10 11 13 15 1C 1F 20'.split(' '),
    );
    expect(decodeBitmap(0x20, fromHex('80000001')!)!.map(pidText)).toEqual(['21', '40']);
    expect(decodeBitmap(0xe0, fromHex('FFFFFFFF')!)!.at(-1)).toBe(0xff);
    expect(decodeBitmap(0, fromHex('BE1FA8')!)).toBeNull();
  });
  it('round trip any set of PIDs through the chain 00, 20, 40, …', () => {
    fc.assert(
      fc.property(fc.uniqueArray(fc.integer({ min: 1, max: 255 })), (pids) => {
        const supported = pids.filter((p) => p % 0x20 !== 0);
        const found: number[] = [];
        for (let base = 0; base <= 0xe0; base += 0x20) {
          const part = decodeBitmap(base, encodeBitmap(base, supported))!;
          found.push(...part.filter((p) => p % 0x20 !== 0));
          if (!part.includes(base + 0x20)) break;
        }
        expect(found).toEqual(supported.toSorted((a, b) => a - b));
      }),
      { numRuns: 500, seed: 9 },
    );
  });
});

it('no value is taken from beyond the data', () => {
  expect(rawOf(PIDS[0x0c]!.fields[0]!, Uint8Array.of(1))).toBeNull();
});
