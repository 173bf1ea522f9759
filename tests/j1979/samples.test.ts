/** From answers to samples: several PIDs, several control units, maxima, hostile bytes. */
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import type { EcuMessage } from '../../src/adapter/adapter.ts';
import { fromHex } from '../../src/core/hex.ts';
import { encodePid } from '../../src/j1979/decode.ts';
import { PIDS } from '../../src/j1979/pids.ts';
import { pidsFor, SampleDecoder } from '../../src/j1979/samples.ts';
import { splitCurrentData, splitFreezeFrame } from '../../src/j1979/split.ts';

const hex = (text: string): Uint8Array => fromHex(text.replaceAll(' ', ''))!;
const message = (ecu: string, payload: string, tUs = 1000): EcuMessage => ({
  ecu,
  payload: hex(payload),
  tUs,
});
const read = (request: string, ...messages: EcuMessage[]): string[] =>
  new SampleDecoder().samples(hex(request), messages, 500).map((s) => `${s.signal} ${s.value}`);
const parts = (payload: string, asked: string): string => {
  const split = splitCurrentData(hex(payload), hex(asked));
  if (!split.ok) return split.why;
  return split.parts.map((p) => `${p.pid.toString(16)}:${Buffer.from(p.data).toString('hex')}`).join(' ');
};

describe('samples', () => {
  it('carry both times and come in the order of the answer', () => {
    const samples = new SampleDecoder().samples(
      hex('01 0C 0B 05'),
      [message('7E8', '41 0B 65 0C 1A F8 05 7B', 7000)],
      5000,
    );
    expect(samples).toEqual([
      { signal: 'map_kpa', tUs: 7000, sentUs: 5000, value: 101 },
      { signal: 'rpm', tUs: 7000, sentUs: 5000, value: 1726 },
      { signal: 'ect_c', tUs: 7000, sentUs: 5000, value: 83 },
    ]);
  });

  it('take the lowest address for each PID, whatever the order of arrival', () => {
    const low = message('7E8', '410D40', 2000);
    const high = message('7E9', '410D41 0C0FA0', 1000);
    expect(read('010D0C', high, low)).toEqual(['rpm 1000', 'speed_kmh 64']);
    expect(read('010D0C', low, high)).toEqual(['speed_kmh 64', 'rpm 1000']);
    expect(
      read('010D', message('?', '410D01'), message('18DAF118', '410D02'), message('18DAF110', '410D03')),
    ).toEqual(['speed_kmh 3']);
  });

  it('take a higher address when the lowest has no valid answer', () => {
    expect(read('010D', message('7E8', '410D'), message('7E9', '410D41'))).toEqual(['speed_kmh 65']);
    expect(read('0167', message('7E8', '41670000 00'), message('7E9', '4167017B00'))).toEqual(['ect_c 83']);
    expect(read('010D', message('7E8', '7F0112'), message('7E9', '410D41'))).toEqual(['speed_kmh 65']);
  });

  it('come from answers to what was asked, and from service 01 only', () => {
    expect(read('010C', message('7E8', '410D40'))).toEqual([]);
    expect(read('0902', message('7E8', '410D40'))).toEqual([]);
    expect(read('010D', message('7E8', '420D0040'))).toEqual([]);
    expect(read('010D', message('7E8', ''), message('7E8', '41'))).toEqual([]);
    expect(read('', message('7E8', '410D40'))).toEqual([]);
    expect(read('0100', message('7E8', '4100BE1FA813'))).toEqual([]);
    // The same control unit twice: the first counts.
    expect(read('010D', message('7E8', '410D40'), message('7E8', '410D41'))).toEqual(['speed_kmh 64']);
  });

  it('remember the maxima of each control unit', () => {
    const decoder = new SampleDecoder();
    const ask = (request: string, ecu: string, payload: string): number[] =>
      decoder.samples(hex(request), [message(ecu, payload)], 0).map((s) => s.value);
    expect(ask('010B', '7E8', '410B64')).toEqual([100]);
    expect(ask('014F', '7E8', '414F00000033')).toEqual([0, 0, 0, 510]);
    expect(ask('010B', '7E8', '410B64')).toEqual([200]);
    expect(ask('010B', '7E9', '410B64')).toEqual([100]);
    expect(ask('014F', '7E8', '414F0000')).toEqual([]); // torn: keeps what it knew
    expect(ask('010B', '7E8', '410B64')).toEqual([200]);
    // In one answer, those before apply to those after.
    expect(
      new SampleDecoder().samples(hex('014F0B'), [message('7E8', '414F000000330B64')], 0).at(-1)!.value,
    ).toBe(200);
  });

  it('named values come as their code', () => {
    expect(read('0103', message('7E8', '41030200'))).toEqual(['fuel_system1 2', 'fuel_system2 0']);
  });
});

describe('splitting', () => {
  it('uses the whole answer to settle lengths that editions differ in', () => {
    expect(parts('41 06 80 0B 65', '060B')).toBe('6:80 b:65');
    expect(parts('41 06 80 0B 0B 65', '060B')).toBe('6:800b b:65');
    expect(parts('41 70 07 0C80 1900 0000 0000 02 05 7B', '7005')).toBe('70:070c8019000000000002 5:7b');
    expect(parts('41 70 03 0C80 1900 0000 0000 05 7B', '7005')).toBe('70:030c80190000000000 5:7b');
    expect(parts('41 68 03 3C 3D 0D 40', '680D')).toBe('68:033c3d d:40');
  });
  it('lets unknown PIDs be as long as they must', () => {
    expect(parts('41 96 01 02 03', '96')).toBe('96:010203');
    expect(parts('41 96 01 02 03 0C 1A F8', '960C')).toBe('96:010203 c:1af8');
    expect(parts('41 0C 1A F8 96 01', '960C')).toBe('c:1af8 96:01');
  });
  it('refuses what does not fit, saying where', () => {
    expect(parts('41 0C 1A', '0C')).toContain('PID 0C');
    expect(parts('41 0C 1A F8 00', '0C')).toContain('PID 00 that was asked');
    expect(parts('41 0C 1A F8 0C 1A F8', '0C')).toContain('PID 0C');
    expect(splitCurrentData(hex('41 0C 1A F8 05'), hex('0C05'))).toMatchObject({ ok: false, at: 4 });
  });
  it('freeze frames carry a frame number after each PID', () => {
    expect(splitFreezeFrame(hex('42 02 00 10AA 0C 00 1AF8'), hex('020C'))).toEqual({
      ok: true,
      parts: [
        { pid: 2, frame: 0, data: hex('10AA') },
        { pid: 12, frame: 0, data: hex('1AF8') },
      ],
    });
    expect(splitFreezeFrame(hex('42 02'), hex('02')).ok).toBe(false);
  });
  it('gives back any six PIDs that were put together', () => {
    const usable = PIDS.flatMap((def, pid) =>
      def && def.lengths.length > 0 && def.fields.length > 0 ? [pid] : [],
    );
    fc.assert(
      fc.property(
        fc.uniqueArray(fc.constantFrom(...usable), { minLength: 1, maxLength: 6 }),
        fc.infiniteStream(fc.nat(255)),
        (pids, noise) => {
          const bytes: number[] = [0x41];
          const sent = new Map<number, string>();
          for (const pid of pids) {
            const data = Array.from({ length: PIDS[pid]!.lengths[0]! }, () => noise.next().value as number);
            sent.set(pid, Buffer.from(data).toString('hex'));
            bytes.push(pid, ...data);
          }
          const split = splitCurrentData(Uint8Array.from(bytes), Uint8Array.from(pids));
          expect(split.ok).toBe(true);
          // Parts of another edition's length may fit as well; the whole must be used up by asked PIDs all the same.
          if (split.ok) {
            const back = split.parts.flatMap((p) => [p.pid, ...p.data]);
            expect([0x41, ...back]).toEqual(bytes);
            if (pids.every((p) => PIDS[p]!.lengths.length === 1))
              for (const p of split.parts) expect(Buffer.from(p.data).toString('hex')).toBe(sent.get(p.pid));
          }
        },
      ),
      { numRuns: 2000, seed: 11 },
    );
  });
  it('any bytes, asked or not: no throw, no hang, never a PID that was not asked', () => {
    fc.assert(
      fc.property(fc.uint8Array({ maxLength: 300 }), fc.uint8Array({ maxLength: 8 }), (tail, asked) => {
        const payload = Uint8Array.from([0x41, ...tail]);
        const split = splitCurrentData(payload, asked);
        if (!split.ok) {
          expect(split.at).toBeLessThanOrEqual(payload.length);
          return;
        }
        for (const p of split.parts) if (asked.length > 0) expect(asked).toContain(p.pid);
      }),
      { numRuns: 1500, seed: 12 },
    );
    // Built to make a search explode: unknown PIDs that all fit each other.
    const nasty = new Uint8Array(4095).map((_, i) =>
      i === 0 ? 0x41 : [0x95, 0x96, 0x97, 0xb1, 0xb2, 0xb3][i % 6]!,
    );
    // An exploding search would not come back at all.
    splitCurrentData(nasty, Uint8Array.of(0x95, 0x96, 0x97, 0xb1, 0xb2, 0xb3));
    splitCurrentData(nasty, new Uint8Array());
  });
});

it('any messages: samples only of asked PIDs, finite, in any case no throw, and the same twice', () => {
  const ecu = fc.constantFrom('7E8', '7E9', '?', '18DAF110', '');
  const exchange = fc.record({
    request: fc.uint8Array({ maxLength: 7 }),
    messages: fc.array(fc.record({ ecu, payload: fc.uint8Array({ maxLength: 40 }), tUs: fc.nat() }), {
      maxLength: 5,
    }),
  });
  fc.assert(
    fc.property(fc.array(exchange, { maxLength: 6 }), fc.boolean(), (exchanges, force) => {
      const run = () => {
        const decoder = new SampleDecoder();
        return exchanges.flatMap(({ request, messages }) => {
          // Half of the runs are made to look like answers, so that the inside is reached.
          const asked = force ? Uint8Array.from([0x01, ...request]) : request;
          const answers = force
            ? messages.map((m) => ({
                ...m,
                payload: Uint8Array.from([0x41, request[0] ?? 0x0c, ...m.payload]),
              }))
            : messages;
          return decoder.samples(asked, answers, 0);
        });
      };
      const samples = run();
      for (const s of samples) expect(Number.isFinite(s.value)).toBe(true);
      expect(run()).toEqual(samples);
    }),
    { numRuns: 1500, seed: 13 },
  );
});

describe('which PID to ask', () => {
  const all = Array.from({ length: 256 }, (_, i) => i);
  it('finer wins, then shorter', () => {
    expect(pidsFor('map_kpa', all)).toEqual([0x87, 0x0b]);
    expect(pidsFor('ect_c', all)).toEqual([0x05, 0x67]);
    expect(pidsFor('iat_c', all)).toEqual([0x0f, 0x68]);
    expect(pidsFor('maf_gps', all)).toEqual([0x10, 0x66]);
    expect(pidsFor('boost_act_kpa', all)).toEqual([0x70]);
  });
  it('of the supported ones only', () => {
    expect(pidsFor('map_kpa', [0x0b, 0x0c])).toEqual([0x0b]);
    expect(pidsFor('map_kpa', new Set([0x0c]))).toEqual([]);
    expect(pidsFor('no such signal', all)).toEqual([]);
  });
  it('every PID given for a signal does give it', () => {
    for (const pid of all)
      for (const field of PIDS[pid]?.fields ?? []) {
        expect(pidsFor(field.signal, all)).toContain(pid);
        expect(encodePid(pid, (s) => (s === field.signal ? 1 : null))).not.toBeNull();
      }
  });
});
