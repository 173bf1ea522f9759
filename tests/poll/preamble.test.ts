/** What a capture is begun with: enough to read what follows, the newest of each thing, however long it took to begin. */
import { describe, expect, it } from 'vitest';
import type { Outcome, WireEvent } from '../../src/adapter/adapter.ts';
import { WireReader } from '../../src/j1979/reader.ts';
import { Preamble } from '../../src/poll/preamble.ts';

const dialect = (headers: boolean): WireEvent => ({
  kind: 'dialect',
  tUs: 0,
  dialect: { family: 'at', bus: 'can11', headers },
});

function exchange(request: string, answer: string, outcome: Outcome = 'answered'): WireEvent[] {
  return [
    { kind: 'request', tUs: 0, payload: Buffer.from(request, 'hex'), ecu: null },
    { kind: 'rx', tUs: 1, bytes: Buffer.from(`${answer}\r\r>`) },
    { kind: 'done', tUs: 2, outcome },
  ];
}

const shown = (events: readonly WireEvent[]): string[] =>
  events.flatMap((e) =>
    e.kind === 'rx' ? [Buffer.from(e.bytes).toString().trim()] : e.kind === 'dialect' ? ['dialect'] : [],
  );

describe('the preamble of a capture', () => {
  it('keeps what tells of the vehicle, and no measured value', () => {
    const p = new Preamble();
    for (const e of [
      dialect(true),
      ...exchange('0100', '7E8064100BE3FA813'),
      ...exchange('010C', '7E804410C1AF8'),
      ...exchange('010C4F', '7E80A410C1AF84F0A0B0C0D'),
      ...exchange('0902', 'NO DATA', 'no data'),
    ])
      p.add(e);
    expect(shown(p.events())).toEqual(['dialect', '7E8064100BE3FA813\r\r>'.trim()]);
  });

  it('still knows the dialect after hours of asking whether the vehicle is there', () => {
    const p = new Preamble();
    p.add(dialect(true));
    for (let i = 0; i < 20_000; i++) for (const e of exchange('0100', '7E8064100BE3FA813')) p.add(e);
    expect(p.events()).toHaveLength(4);
    const reader = new WireReader();
    for (const e of p.events()) reader.read(e);
    const after = exchange('0105', '7E803410582').flatMap((e) => reader.read(e).samples);
    expect(after.map((s) => s.value)).toEqual([90]);
  });

  it('keeps an earlier dialect only while something is to be read in it', () => {
    const p = new Preamble();
    const add = (events: readonly WireEvent[]) => events.forEach((e) => void p.add(e));
    add([
      dialect(true),
      ...exchange('0100', '7E8064100BE3FA813'),
      dialect(false),
      ...exchange('0902', '4902'),
    ]);
    expect(shown(p.events())).toHaveLength(4);
    add(exchange('0100', '4100BE3FA813'));
    expect(shown(p.events()).map((s) => s.slice(0, 7))).toEqual(['dialect', '4902\r\r>', '4100BE3']);
  });
});
