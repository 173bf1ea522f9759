/** What may be sent: reading services only, service 04 with a one-shot permit, and no way around the gate. */
import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import type { Adapter, DiagnosticRequest } from '../../src/adapter/adapter.ts';
import { toHex } from '../../src/core/hex.ts';
import { seededRandom } from '../../src/core/random.ts';
import { CLEAR_WORDS, type ClearPermit, guarded, permitClear } from '../../src/poll/gate.ts';
import { onlyReads, WireGate } from '../../src/poll/wire-gate.ts';

function spy(): { adapter: Adapter; sent: DiagnosticRequest[] } {
  const sent: DiagnosticRequest[] = [];
  return {
    sent,
    adapter: {
      info: {
        family: 'at',
        identity: 'x',
        baud: null,
        bus: 'x',
        dialect: { family: 'at', bus: 'can11' },
        maxPidsPerRequest: 1,
        voltageV: null,
      },
      damaged: 0,
      formOf: (payload) => payload,
      async request(r) {
        sent.push(r);
        return {
          asked: r.payload,
          sentUs: 0,
          doneUs: 0,
          outcome: 'no data',
          why: null,
          messages: [],
          discards: [],
        };
      },
      async close() {},
    },
  };
}

/** What may be asked, written down once more: whole requests as hex, without spaces. */
const READS =
  /^((01|06|09)(..){1,6}|02(..){2,6}|03|07|0A|22((F4|F6|F8)..){1,3}|19(02..|04.{8}|15|42.{6}|55..))$/;

const good = { snapshotSavedAs: 'before.json', rpm: 0, speedKmh: 0, typed: CLEAR_WORDS };

describe('gate', () => {
  it('lets nothing through but the reading services, whatever is asked', async () => {
    const allowed = new Set([1, 2, 3, 6, 7, 9, 10]);
    await fc.assert(
      fc.asyncProperty(fc.uint8Array({ maxLength: 10 }), async (payload) => {
        const { adapter, sent } = spy();
        const ok = await guarded(adapter, new WireGate())
          .request({ payload })
          .then(
            () => true,
            (e) => e.code !== 'gate.refused',
          );
        expect(sent.length).toBe(ok ? 1 : 0);
        if (ok) {
          expect(allowed.has(payload[0]!)).toBe(true);
          expect(payload.length).toBeLessThanOrEqual(7);
          expect([...sent[0]!.payload]).toEqual([...payload]);
        }
      }),
      { numRuns: 2000, seed: 3 },
    );
    for (let service = 0; service < 256; service++) {
      const results = [1, 2, 3].map(async (n) => {
        const { adapter, sent } = spy();
        await guarded(adapter, new WireGate())
          .request({ payload: Uint8Array.of(service, ...Array(n - 1).fill(0)) })
          .catch(() => undefined);
        return sent.length;
      });
      expect((await Promise.all(results)).some((n) => n > 0)).toBe(allowed.has(service));
    }
  });

  it('of a million requests, random and nearly right ones, lets exactly those through that read', () => {
    const random = seededRandom('gate');
    const byte = () => Math.floor(random.next() * 256);
    const oneOf = (list: readonly number[]) => list[Math.floor(random.next() * list.length)]!;
    let passed = 0;
    let refused = 0;
    for (let i = 0; i < 1_000_000; i++) {
      const payload = Uint8Array.from({ length: Math.floor(random.next() * 9) }, byte);
      if (i % 2 === 0 && payload.length > 1) {
        payload[0] = oneOf([0x22, 0x19, 0x01, 0x02, 0x2e, 0x14]);
        if (payload[0] === 0x19) payload[1] = oneOf([0x02, 0x04, 0x06, 0x0a, 0x15, 0x42, 0x55, 0x82]);
        else
          for (let at = 1; at < payload.length; at += 2)
            payload[at] = oneOf([0xf4, 0xf4, 0xf6, 0xf8, 0xf1, 0xf5]);
      }
      const reads = READS.test(toHex(payload));
      if (onlyReads(payload) !== reads) throw new Error(toHex(payload));
      if (reads) passed++;
      else refused++;
    }
    expect(passed).toBeGreaterThan(50_000);
    expect(refused).toBeGreaterThan(500_000);
  });

  it('clears codes over service 14 with the same permit, and only those about emissions', async () => {
    const { adapter, sent } = spy();
    const g = guarded(adapter, new WireGate());
    const clear = (payload: number[], permit?: ClearPermit) =>
      g.request({ payload: Uint8Array.from(payload) }, permit).then(
        () => true,
        () => false,
      );
    const group = [0x14, 0xff, 0xff, 0x33];
    expect(await clear(group)).toBe(false);
    expect(await clear([0x14, 0xff, 0xff, 0xff], permitClear(good))).toBe(false);
    expect(await clear([0x14], permitClear(good))).toBe(false);
    const permit = permitClear(good);
    expect(await clear(group, permit)).toBe(true);
    expect(await clear(group, permit)).toBe(false);
    expect(sent).toHaveLength(1);
  });

  it('sends what was checked, even when the caller changes its bytes meanwhile', async () => {
    const { adapter, sent } = spy();
    const payload = Uint8Array.of(1, 0x0c);
    const done = guarded(adapter, new WireGate()).request({ payload });
    payload[0] = 0x2f;
    await done;
    expect([...sent[0]!.payload]).toEqual([1, 0x0c]);
  });

  it('lets one service 04 through for each permit, and no forged permit', async () => {
    const { adapter, sent } = spy();
    const g = guarded(adapter, new WireGate());
    const clear = (permit?: ClearPermit) =>
      g.request({ payload: Uint8Array.of(4) }, permit).then(
        () => true,
        () => false,
      );
    expect(await clear()).toBe(false);
    const permit = permitClear(good);
    expect(await clear({ ...permit })).toBe(false);
    expect(await clear(permit)).toBe(true);
    expect(await clear(permit)).toBe(false);
    expect(sent).toHaveLength(1);
    const other = permitClear(good);
    await expect(g.request({ payload: Uint8Array.of(0x2f, 1, 2) }, other)).rejects.toThrow(
      'Not sent: 2F0102 is',
    );
    expect(await clear(other)).toBe(false); // used up, sent or not
    await expect(g.request({ payload: Uint8Array.of() })).rejects.toThrow('Not sent: an empty request is');
    await expect(g.request({ payload: Uint8Array.of(4, 0) }, permitClear(good))).rejects.toThrow();
    expect(sent).toHaveLength(1);
  });

  it.each([
    [{ snapshotSavedAs: ' ' }, /snapshot/],
    [{ rpm: 800 }, /turns at 800\.00\srpm/],
    [{ rpm: 400 }, /400\.00\srpm/],
    [{ rpm: 1 }, / 1\.00\srpm/],
    [{ rpm: 0.25 }, / 0\.25\srpm/],
    [{ rpm: -1 }, /−1\.00\srpm/],
    [{ rpm: Number.NaN }, /engine off; its speed could not be read/],
    [{ speedKmh: 3 }, / 3\skm\/h/],
    [{ speedKmh: 1 }, / 1\skm\/h/],
    [{ speedKmh: -1 }, /−1\skm\/h/],
    [{ speedKmh: Number.NaN }, /standstill; the speed could not be read/],
    [{ typed: 'yes' }, /typed/],
    [{ typed: '' }, /typed/],
    [{ typed: 'clear' }, /typed/],
  ])('gives no permit with %j', (change, why) => {
    expect(() => permitClear({ ...good, ...change })).toThrow(why);
  });

  it('takes the words as they are typed by hand', () => {
    for (const typed of [' clear codes ', 'Clear Codes'])
      expect(permitClear({ ...good, typed })).toEqual({ allows: 'one clearing of codes' });
  });

  it.each([
    [1, 2, 7],
    [2, 3, 7],
    [3, 1, 1],
    [6, 2, 7],
    [7, 1, 1],
    [9, 2, 7],
    [10, 1, 1],
  ])('lets service %d through with %d to %d bytes', (service, least, most) => {
    for (let n = 1; n <= 9; n++) {
      const payload = Uint8Array.of(service, ...Array(n - 1).fill(0));
      expect([n, onlyReads(payload)]).toEqual([n, n >= least && n <= most]);
    }
    expect(onlyReads(Uint8Array.of())).toBe(false);
  });

  it('opens the wire for service 04 while the permitted request runs, and for nothing else', async () => {
    const wire = new WireGate();
    const passed: boolean[] = [];
    const link = wire.guard(
      { name: 'x', listen: () => undefined, close: async () => undefined, write: async () => undefined },
      'slcan',
    );
    const { adapter } = spy();
    const clearOnTheWire: Adapter = {
      ...adapter,
      info: adapter.info,
      async request(r) {
        await link.write(Buffer.from('t7DF80104000000000000\r')).then(
          () => passed.push(true),
          () => passed.push(false),
        );
        return adapter.request(r);
      },
    };
    const g = guarded(clearOnTheWire, wire);
    await g.request({ payload: Uint8Array.of(3) });
    await g.request({ payload: Uint8Array.of(4) }, permitClear(good));
    await g.request({ payload: Uint8Array.of(3) });
    await g.request({ payload: Uint8Array.of(3) }, permitClear(good));
    expect(passed).toEqual([false, true, false, false]);
  });

  it('is the only way to an adapter: nobody else imports a driver or the search', () => {
    const root = join(import.meta.dirname, '../../src');
    const importers = readdirSync(root, { recursive: true, encoding: 'utf8' })
      .filter((f) => f.endsWith('.ts'))
      .map((f) => f.replaceAll('\\', '/'))
      .filter((f) => !f.startsWith('adapter/') && f !== 'poll/gate.ts')
      .filter((f) =>
        /from '[^']*(adapter\/find|at\/driver|slcan\/driver)\.ts'/.test(readFileSync(join(root, f), 'utf8')),
      );
    expect(importers).toEqual([]);
    expect(readFileSync(join(root, 'poll/gate.ts'), 'utf8')).toContain('adapter/find.ts');
  });
});
