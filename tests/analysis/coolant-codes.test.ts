/** A code of the cooling stored in a drive cannot stand beside a cooling shown good. */
import { describe, expect, it } from 'vitest';
import { coolantCodes } from '../../src/analysis/coolant/codes.ts';
import { judgeTable, withFinding } from '../../src/analysis/judge.ts';
import { snapshotOf } from '../sheet/jobs.ts';

const coded = (code: string) =>
  snapshotOf({ stored: [{ code, text: 'a code', source: 'from memory of SAE J2012' }] });

describe('codes of the cooling', () => {
  it.each(['P0125', 'P0126', 'P0128', 'P0217'])(
    '%s that came in the drive is a fault of the cooling',
    (code) => {
      const finding = coolantCodes(snapshotOf(), coded(code))!;
      expect(finding.verdict).toBe('fault shown');
      const judged = withFinding(judgeTable([], {}, null, 'drive'), finding);
      expect(judged.systems.coolant.verdict).toBe('fault shown');
      expect(judged.findings).toContain(finding);
    },
  );
  it('is told with each code once, in order, pending ones as well, of no time in the drive', () => {
    const unit = (...codes: string[]) =>
      codes.map((code) => ({ code, text: '', source: 'from memory of SAE J2012' as const }));
    const after = snapshotOf({ stored: unit('P0217', 'P0234'), pending: unit('P0128', 'P0217') });
    const { evidence, ...finding } = coolantCodes(snapshotOf(), after)!;
    expect(evidence.map(({ text, ...at }) => [text.args, at])).toEqual([
      [{ code: 'P0128' }, { fromS: 0, toS: 0 }],
      [{ code: 'P0217' }, { fromS: 0, toS: 0 }],
    ]);
    expect(finding).toMatchObject({ id: 'coolant.codes', system: 'coolant', signals: [], fromS: null });
  });
  it('one that was there before, or of another system, is none', () => {
    expect(coolantCodes(coded('P0128'), coded('P0128'))).toBeNull();
    expect(coolantCodes(snapshotOf(), coded('P0234'))).toBeNull();
    expect(coolantCodes(null, coded('P0128'))!.evidence[0]!.text.id).toBe('coolant.seen.code-alone');
    expect(coolantCodes(snapshotOf(), coded('P0128'))!.evidence[0]!.text.id).toBe('coolant.seen.code');
    expect(coolantCodes(snapshotOf(), null)).toBeNull();
  });
});
