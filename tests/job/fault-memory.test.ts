/** What a visit's readings of the fault memory say together. */
import { expect, it } from 'vitest';
import { codeRows, memoryTold } from '../../src/job/fault-memory.ts';
import { de } from '../../src/words/de/de.ts';
import { METRIC } from '../../src/words/measures.ts';
import { spelled } from '../../src/words/spelled.ts';
import { Words } from '../../src/words/words.ts';
import { snapshotOf } from '../sheet/jobs.ts';

const german = new Words(de, METRIC, 'UTC');
const listed = (code: string) => ({ code, text: '', source: null });
const frameOf = (code: string, rpm: number) => [
  { pid: '02', signal: null, value: code, unit: null, raw: '' },
  { pid: '0C', signal: 'rpm', value: rpm, unit: 'rpm', raw: '' },
  { pid: '03', signal: null, value: 'closed loop', unit: null, raw: '' },
];

it('keeps a freeze frame beside its own code alone, of the newest reading that has it', () => {
  const rows = codeRows([
    snapshotOf({ stored: [listed('P0299'), listed('P1F42')], freezeFrame: frameOf('P0299', 1500) }),
    snapshotOf({ stored: [listed('P0299')], freezeFrame: frameOf('P0299', 1900) }),
    snapshotOf({ pending: [listed('P0299')] }),
  ]);
  expect(rows.map((r) => [r.code, r.change, r.states, r.frozen])).toEqual([
    ['P0299', 'still', [['stored'], ['stored'], ['pending']], [{ signal: 'rpm', value: 1900, unit: 'rpm' }]],
    ['P1F42', 'gone', [['stored'], [], []], []],
  ]);
});

it('lists the codes of a single reading without a change, and none of no reading', () => {
  const [row, ...others] = codeRows([snapshotOf({ pending: [listed('P0128')] })]);
  expect(others).toEqual([]);
  expect(row).toMatchObject({ code: 'P0128', change: null, states: [['pending']] });
  expect(german.say(row!.text)).toBe('Kühlmitteltemperatur bleibt unter der Regeltemperatur des Thermostats');
  expect(codeRows([])).toEqual([]);
});

it('says lamp, readiness and clearing in words, and what nobody answered', () => {
  const monitors = [
    { name: 'Catalyst', continuous: false, supported: true, complete: false },
    { name: 'Misfire', continuous: true, supported: true, complete: true },
    { name: 'Secondary air', continuous: false, supported: false, complete: false },
  ];
  const told = spelled(
    memoryTold(
      snapshotOf({ mil: true, readiness: { mil: true, codes: 1, ignition: 'spark', monitors } }, [
        'permanent codes (0A)',
      ]),
    ),
  );
  expect({ ...told, says: null }).toEqual({
    lamp: 'on',
    readiness: '1 of 2 self-tests complete; not complete: Catalyst',
    cleared: 'Codes were cleared 410\u00a0km and 12 warm-ups ago.',
    unanswered: 'permanent codes (0A)',
    says: null,
  });
  const silent = spelled(memoryTold(snapshotOf({ mil: null, readiness: null, sinceCleared: [] })));
  expect([silent.lamp, silent.readiness, silent.cleared, silent.unanswered]).toEqual([
    'not answered',
    'not answered',
    'not answered',
    null,
  ]);
  const cleared = [{ pid: '30', signal: 'clear_warmups', value: 0, unit: 'count', raw: '00' }];
  expect(spelled(memoryTold(snapshotOf({ sinceCleared: cleared }))).cleared).toBe(
    'Codes were cleared 0 warm-ups ago. That is less than a drive ago: an empty memory proves nothing yet.',
  );
});
