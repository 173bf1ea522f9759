/** What one cell of a table says, and what it does not. */
import { describe, expect, it } from 'vitest';
import { clockUs, dateTimeUs, isHole, minutesUs, NumberReader } from '../../src/run/import/cells.ts';

const S = 1e6;

describe('numbers', () => {
  const read = (cells: readonly string[], commaSeparates = false): (number | null)[] => {
    const reader = new NumberReader(commaSeparates);
    return cells.map((cell) => reader.read(cell));
  };

  it('the first clear one decides the decimal mark; what fits neither way is refused', () => {
    expect(read(['1.5', '1,250', '1,250.5', '2,5', '1,25,000'])).toEqual([1.5, 1250, 1250.5, null, null]);
    expect(read(['1,5', '1.250', '1.250,5', '2.5'])).toEqual([1.5, 1250, 1250.5, null]);
    expect(read(['0.125', '0,125', '-2,000'])).toEqual([0.125, null, -2000]);
  });

  it('thousands grouped twice are clear whatever came before, and nothing may follow them', () => {
    const twice = ['1,234,567', '1.234.567', '1,234,567.25', '1.234.567,25'];
    for (const first of ['1.5', '1,5'])
      expect(read([first, ...twice]).slice(1)).toEqual([1_234_567, 1_234_567, 1_234_567.25, 1_234_567.25]);
    expect(read(['1,234,567kPa', '1.234.567 kPa', '1.234.56'])).toEqual([null, null, null]);
    expect(read(['1.5', '1,250x', 'x1,250', '12,50'])).toEqual([1.5, null, null, null]);
  });

  it('where commas part the cells a quoted group alone could be either', () => {
    expect(read(['1,234'], true)).toEqual([null]);
    expect(read(['1,234', '1,5'])).toEqual([1.234, 1.5]);
    expect(read(['1,5', '1,234'], true)).toEqual([1.5, 1.234]);
  });

  it('a row that is clear decides for the rows before it', () => {
    const reader = new NumberReader(true);
    reader.learn([null, 3, ' text ', '1,234', ' 0,5 ', '1.5']);
    expect(['1,234', '1.234', '1.5'].map((cell) => reader.read(cell))).toEqual([1.234, 1234, null]);
  });

  it('blanks and apostrophes part thousands beside either mark', () => {
    expect(read(['1 250.5', "1'250.5", '1\u202f250', '1 25'])).toEqual([1250.5, 1250.5, 1250, null]);
    expect(read(['1\u00a0250,5', '-1 250'])).toEqual([1250.5, -1250]);
  });

  it('no number is taken that a computer could not hold', () => {
    expect(read(['1e400', '-1e400', '1e3', '+.5', '.'])).toEqual([null, null, 1000, 0.5, null]);
  });

  it('what says "nothing here" is said in any case', () => {
    expect(['', '-', 'NaN', 'N/A', 'None', '?'].map(isHole)).toEqual(Array(6).fill(true));
    expect(['0', 'x', '----'].map(isHole)).toEqual([false, false, false]);
  });
});

describe('times', () => {
  const at = (text: string) => {
    const us = dateTimeUs(text);
    return us === null ? null : new Date(us / 1000).toISOString();
  };

  it('a date needs a month and a day that there are, from the first to the last of either', () => {
    expect(at('2026-01-01T00:00:00Z')).toBe('2026-01-01T00:00:00.000Z');
    expect(at('2026-12-31 23:59:60')).toBe('2027-01-01T00:00:00.000Z'); // a leap second
    expect(['2026-00-10', '2026-13-10', '2026-10-00', '2026-10-32'].map((d) => at(`${d}T08:00:00`))).toEqual(
      Array(4).fill(null),
    );
  });

  it('a day ends at 24:00:00, a minute at its 59th, and with no more', () => {
    expect(at('2026-03-01T24:00:00')).toBe('2026-03-02T00:00:00.000Z');
    expect(at('2026-03-01T08:59:00')).toBe('2026-03-01T08:59:00.000Z');
    expect(['25:00:00', '30:00:00', '08:60:00', '08:00:61'].map((t) => at(`2026-03-01T${t}`))).toEqual(
      Array(4).fill(null),
    );
  });

  it('a zone is taken off, its minutes too; a fraction counts to the microsecond', () => {
    expect(at('2026-03-01T08:00:00+0530')).toBe('2026-03-01T02:30:00.000Z');
    expect(at('2026-03-01T08:00:00-01:15')).toBe('2026-03-01T09:15:00.000Z');
    expect(dateTimeUs('2026-03-01T00:00:00,123457Z')! % S).toBe(123_457);
    expect(['x2026-03-01T00:00:00', '2026-03-01T00:00:00 ZZ', '2026-03-01T00:00:00+01:000'].map(at)).toEqual(
      Array(3).fill(null),
    );
  });

  it('a time of day may have a day before it, and nothing before that', () => {
    expect(clockUs('1/2/26, 8:05:00')).toEqual({ us: (8 * 3600 + 300) * S, day: '1/2/26' });
    expect(clockUs('11.02.2026 08:05:00')).toEqual({ us: (8 * 3600 + 300) * S, day: '11.02.2026' });
    expect([clockUs('x1/2/26 8:05:00'), clockUs('1/2/20261 8:05:00'), clockUs('1/2/2 8:05:00')]).toEqual(
      Array(3).fill(null),
    );
    expect(clockUs('8:05:00')).toEqual({ us: (8 * 3600 + 300) * S, day: '' });
  });

  it('minutes and seconds of a clock end where they do', () => {
    expect(clockUs('1:59:60')?.us).toBe((3600 + 59 * 60 + 60) * S);
    expect([clockUs('1:60:00'), clockUs('1:59:61')]).toEqual([null, null]);
  });

  it('a half of the day begins at twelve, and has hours from 1 to 12', () => {
    const hours = ['12:00:00 AM', '1:00:00 a.m.', '12:00:00 PM', '11:00:00pm'].map((t) => clockUs(t)?.us);
    expect(hours).toEqual([0, 3600 * S, 12 * 3600 * S, 23 * 3600 * S]);
    expect([clockUs('0:00:00 AM'), clockUs('13:00:00 PM')]).toEqual([null, null]);
  });

  it('minutes and seconds alone need a fraction, two digits of seconds and less than a minute of them', () => {
    expect(minutesUs('61:59.5')).toBe((61 * 60 + 59.5) * S);
    expect(['1:60.0', '1:74.0', '1:05', '1:005.0', '-1:05.0', '1:05.0s'].map(minutesUs)).toEqual(
      Array(6).fill(null),
    );
  });
});
