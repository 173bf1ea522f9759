import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import type { WireEvent } from '../../src/adapter/adapter.ts';
import { HandbackError } from '../../src/core/errors.ts';
import type { Sample } from '../../src/core/signals.ts';
import { WireReader } from '../../src/j1979/reader.ts';
import { type CaptureRecord, linesOf, VERSION_LINE } from '../../src/run/capture/format.ts';
import { openRecording } from '../../src/run/recording.ts';
import { inWords } from '../in-words.ts';
import { plain, put, scratch, tableOf } from '../run/files.ts';

const AT: WireEvent = { kind: 'dialect', tUs: 0, dialect: { family: 'at', bus: 'can11', headers: true } };

function exchange(tUs: number, request: string, parts: readonly string[], done = true): WireEvent[] {
  return [
    { kind: 'request', tUs, payload: Buffer.from(request, 'hex'), ecu: null },
    { kind: 'tx', tUs, bytes: Buffer.from(`${request}\r`) },
    ...parts.map((p, i): WireEvent => ({ kind: 'rx', tUs: tUs + 100 * (i + 1), bytes: Buffer.from(p) })),
    ...(done ? [{ kind: 'done', tUs: tUs + 1000, outcome: 'answered' } as const] : []),
  ];
}

function samplesOf(events: readonly WireEvent[]): Sample[] {
  const reader = new WireReader();
  return events.flatMap((event) => reader.read(event).samples);
}

describe('replay of exchanges', () => {
  it('gives samples with the times of the bytes that completed them', () => {
    const events = [AT, ...exchange(5000, '010C05', ['7E8064', '10C1AF80582\r\r', '>'])];
    expect(samplesOf(events)).toEqual([
      { signal: 'rpm', tUs: 5200, sentUs: 5000, value: 1726 },
      { signal: 'ect_c', tUs: 5200, sentUs: 5000, value: 90 },
    ]);
  });

  it('gives nothing for bytes outside an exchange, without a dialect, or while unfinished', () => {
    const ask = exchange(10, '0105', ['7E803410582\r\r>']);
    expect(samplesOf(ask)).toEqual([]);
    expect(samplesOf([AT, ask[2]!, ask[3]!])).toEqual([]);
    expect(samplesOf([AT, ...ask.slice(0, -1)])).toEqual([]);
  });

  it('gives nothing for an answer that whoever asked took for a late one', () => {
    const late = exchange(10, '0105', ['7E803410582\r\r>']).map((e) =>
      e.kind === 'done' ? { ...e, outcome: 'no data' as const } : e,
    );
    expect(samplesOf([AT, ...late])).toEqual([]);
  });

  it('survives a lost end of an exchange', () => {
    const events = [
      AT,
      ...exchange(10, '0105', ['7E803410582\r\r>'], false),
      ...exchange(5000, '0105', ['7E803410583\r\r>']),
    ];
    expect(samplesOf(events).map((s) => s.value)).toEqual([90, 91]);
  });
});

describe('gaps of a capture', () => {
  it('are the lost link, sleep, and silences that nothing explains; a clock that was set is none', async () => {
    const ask = (s: number) => exchange(s * 1e6, '0105', ['7E803410582\r\r>']);
    const wall = Date.UTC(2026, 0, 5, 8);
    const records: CaptureRecord[] = [
      { kind: 'anchor', tUs: 0, why: 'start', wallMs: wall },
      AT,
      ...ask(1),
      { kind: 'link', tUs: 2e6, state: 'lost', text: 'unplugged' },
      { kind: 'link', tUs: 4e6, state: 'reopening', text: 'again' },
      { kind: 'link', tUs: 9e6, state: 'identified', text: 'back' },
      ...ask(9),
      ...ask(20),
      { kind: 'anchor', tUs: 21e6, why: 'resume', wallMs: wall + 21_000 + 90_000_000 }, // the clock set
      ...ask(22),
      { kind: 'anchor', tUs: 322e6, why: 'resume', wallMs: wall + 322_000 + 90_000_000 },
      ...ask(322),
      { kind: 'link', tUs: 323e6, state: 'lost', text: 'key off' },
      { kind: 'note', tUs: 325e6, text: 'end' },
    ];
    const text = [VERSION_LINE, ...records.flatMap(linesOf)].map((l) => `${l}\n`).join('');
    const { gaps } = await openRecording(put(scratch(), 'c.txt', text));
    expect(gaps).toEqual([
      { fromUs: 1_000_100, toUs: 9e6, why: 'link lost: unplugged' }, // from the last byte on
      { fromUs: 9_000_100, toUs: 20_000_100, why: 'no samples' },
      { fromUs: 22_001_000, toUs: 322e6, why: 'computer asleep: 300 s' },
      { fromUs: 322_000_100, toUs: 325e6, why: 'link lost: key off' },
    ]);
  });

  it('samples kept in a capture come back as they were', async () => {
    const table = tableOf([
      { signal: 'ect_c', tUs: 0, value: -0 },
      { signal: 'own', tUs: 1, value: 0.1 + 0.2 },
    ]);
    const records: CaptureRecord[] = [...table].map((s) => ({ kind: 'sample', ...s }));
    const text = [VERSION_LINE, ...records.flatMap(linesOf)].map((l) => `${l}\n`).join('');
    expect(plain((await openRecording(put(scratch(), 'c.txt', text))).table)).toEqual(plain(table));
  });
});

describe('a damaged capture', () => {
  it('is opened with what is left of it, or refused, and never more than that', async () => {
    const records: CaptureRecord[] = [{ kind: 'anchor', tUs: 0, why: 'start', wallMs: 0 }, AT];
    for (let i = 0; i < 8; i++)
      records.push(...exchange(i * 1e6, '010C05', ['7E8064', '10C1AF80582\r\r', '>']));
    records.push({ kind: 'mark', tUs: 9e6, key: 'N', text: 'x' });
    const whole = Buffer.from([VERSION_LINE, ...records.flatMap(linesOf)].map((l) => `${l}\n`).join(''));
    const folder = scratch();
    await fc.assert(
      fc.asyncProperty(
        fc.array(fc.tuple(fc.nat(whole.length - 1), fc.nat(255)), { minLength: 1, maxLength: 5 }),
        fc.nat(whole.length),
        async (edits, cut) => {
          const hurt = Buffer.from(whole);
          for (const [at, to] of edits) hurt[at] = to;
          try {
            const r = await openRecording(put(folder, 'c.txt', hurt.subarray(0, cut)));
            expect(r.table.isSorted()).toBe(true);
            expect(r.table.length).toBeLessThanOrEqual(16);
          } catch (e) {
            expect(e).toBeInstanceOf(HandbackError);
          }
        },
      ),
      { numRuns: 300, seed: 17 },
    );
  });

  it('loses only the exchange whose bytes were hurt', async () => {
    const events = [
      AT,
      ...Array.from({ length: 20 }, (_, i) => exchange(i * 1e6, '0105', ['7E803410582\r\r>'])).flat(),
    ];
    const lines = [VERSION_LINE, ...events.flatMap(linesOf)];
    const folder = scratch();
    for (let k = 2; k < lines.length; k++) {
      const text = lines.map((l, i) => `${i === k ? `?${l}` : l}\n`).join('');
      const { table, warnings } = await openRecording(put(folder, 'c.txt', text));
      expect(table.length, lines[k]).toBeGreaterThanOrEqual(19);
      expect(warnings.map(inWords)).toEqual([expect.stringContaining(`line ${k + 1} cannot be read`)]);
    }
  });
});
