/** What became of codes between snapshots, and that silence is never taken for "gone". */
import { describe, expect, it } from 'vitest';
import { type CodesOfUnits, codeChanges } from '../../src/j1979/code-changes.ts';

const codes = (...names: string[]) => names.map((code) => ({ code, text: `text of ${code}` }));
const snapshot = (
  lists: { stored?: string[]; pending?: string[]; permanent?: string[] },
  unanswered: string[] = [],
  ecu = '7E8',
): CodesOfUnits => ({
  units: [
    {
      ecu,
      stored: codes(...(lists.stored ?? [])),
      pending: codes(...(lists.pending ?? [])),
      permanent: codes(...(lists.permanent ?? [])),
    },
  ],
  unanswered,
});
const said = (...snapshots: CodesOfUnits[]) =>
  Object.fromEntries(codeChanges(snapshots).map((c) => [`${c.ecu} ${c.code}`, c.change]));

describe('codes before and after', () => {
  it('are gone, new or still there', () => {
    const changes = codeChanges([
      snapshot({ stored: ['P0299', 'P0300'], permanent: ['P0299'] }),
      snapshot({ stored: ['P0300'], pending: ['P0117'] }),
    ]);
    expect(changes.map((c) => [c.code, c.change, c.before, c.after])).toEqual([
      ['P0117', 'new', [], ['pending']],
      ['P0299', 'gone', ['stored', 'permanent'], []],
      ['P0300', 'still', ['stored'], ['stored']],
    ]);
    expect(changes[1]?.text).toEqual({ id: 'code.P0299', args: {} });
  });

  it('are back when they were away in between', () => {
    expect(said(snapshot({ stored: ['P0299'] }), snapshot({}), snapshot({ pending: ['P0299'] }))).toEqual({
      '7E8 P0299': 'back',
    });
  });

  it('were not away where nobody answered in between', () => {
    const silent = snapshot({}, ['stored codes (03)', 'pending codes (07)', 'permanent codes (0A)']);
    expect(said(snapshot({ stored: ['P0299'] }), silent, snapshot({ stored: ['P0299'] }))).toEqual({
      '7E8 P0299': 'still',
    });
  });

  it('are not told of where the list or the control unit did not answer', () => {
    const stored = snapshot({ stored: ['P0299'] });
    expect(said(stored, snapshot({}, ['stored codes (03)']))).toEqual({ '7E8 P0299': 'not told' });
    expect(said(stored, snapshot({}, [], '7E9'))).toEqual({ '7E8 P0299': 'not told' });
    expect(said(stored, snapshot({}, ['permanent codes (0A)']))).toEqual({ '7E8 P0299': 'gone' });
    expect(said(snapshot({}, ['stored codes (03)']), stored)).toEqual({ '7E8 P0299': 'not told' });
  });

  it('of two control units are kept apart', () => {
    const both = (a: string[], b: string[]): CodesOfUnits => ({
      units: [...snapshot({ stored: a }).units, ...snapshot({ stored: b }, [], '7E9').units],
      unanswered: [],
    });
    expect(said(both(['P0700'], ['P0700']), both([], ['P0700']))).toEqual({
      '7E8 P0700': 'gone',
      '7E9 P0700': 'still',
    });
  });

  it('need two snapshots', () => {
    expect(codeChanges([snapshot({ stored: ['P0299'] })])).toEqual([]);
  });
});
