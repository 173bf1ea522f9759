/** One line → one sentence: published examples, every form's edges, and lines that are none. */
import fc from 'fast-check';
import { expect, it } from 'vitest';
import { checksum, readSentence, type Sentence } from '../../src/nmea/sentence.ts';

const sealed = (body: string): string =>
  `$${body}*${checksum(body).toString(16).toUpperCase().padStart(2, '0')}`;
const sentence = (line: string): Sentence => {
  const read = readSentence(line);
  if (!read.ok) throw new Error(`${line}: ${read.why}`);
  return read.sentence;
};
const why = (line: string): string => {
  const read = readSentence(line);
  return read.ok ? 'read' : read.why;
};

/** D. DePriest, "NMEA data" (gpsinformation.org), recalled from memory; their checksums hold. */
const DEPRIEST = {
  gga: '$GPGGA,123519,4807.038,N,01131.000,E,1,08,0.9,545.4,M,46.9,M,,*47',
  rmc: '$GPRMC,123519,A,4807.038,N,01131.000,E,022.4,084.4,230394,003.1,W*6A',
  vtg: '$GPVTG,054.7,T,034.4,M,005.5,N,010.2,K*48',
  gsa: '$GPGSA,A,3,04,05,,09,12,,,24,,,,,2.5,1.3,2.1*39',
};
/** E. S. Raymond, "NMEA Revealed" (gpsd.gitlab.io), recalled from memory; their checksums hold. */
const RAYMOND = {
  gga: '$GNGGA,001043.00,4404.14036,N,12118.85961,W,1,12,0.98,1113.0,M,-21.3,M*47',
  rmc: '$GNRMC,001031.00,A,4404.13993,N,12118.86023,W,0.146,,100117,,,A*7B',
  vtg: '$GPVTG,220.86,T,,M,2.550,N,4.724,K,A*34',
  gsa: '$GNGSA,A,3,80,71,73,79,69,,,,,,,,1.83,1.09,1.47*17',
};

it('published examples read as their texts say', () => {
  expect(sentence(DEPRIEST.gga)).toEqual({
    is: 'GGA',
    talker: 'GP',
    utcS: 12 * 3600 + 35 * 60 + 19,
    position: { latDeg: 48 + 7.038 / 60, lonDeg: 11 + 31 / 60 },
    quality: 1,
    satellites: 8,
    hdop: 0.9,
    heightM: 545.4,
  });
  expect(sentence(DEPRIEST.rmc)).toMatchObject({ valid: true, speedKmh: 22.4 * 1.852, courseDeg: 84.4 });
  expect(sentence(DEPRIEST.vtg)).toMatchObject({ valid: true, speedKmh: 10.2, courseDeg: 54.7 });
  expect(sentence(DEPRIEST.gsa)).toEqual({ is: 'GSA', talker: 'GP', fix: 3, hdop: 1.3, vdop: 2.1 });
  expect(sentence(RAYMOND.gga)).toMatchObject({
    talker: 'GN',
    utcS: 643,
    position: { latDeg: 44 + 4.14036 / 60, lonDeg: -(121 + 18.85961 / 60) },
    heightM: 1113,
  });
  expect(sentence(RAYMOND.rmc)).toMatchObject({ valid: true, speedKmh: 0.146 * 1.852, courseDeg: null });
  expect(sentence(RAYMOND.vtg)).toMatchObject({ valid: true, speedKmh: 4.724, courseDeg: 220.86 });
  expect(sentence(RAYMOND.gsa)).toMatchObject({ fix: 3, hdop: 1.09, vdop: 1.47 });
});

it('no fix, estimated and simulated fixes are told as such', () => {
  expect(sentence(sealed('GPGGA,000001,,,,,0,00,,,M,,M,,'))).toMatchObject({
    quality: 0,
    position: null,
    hdop: null,
    heightM: null,
  });
  expect(sentence(sealed('GPRMC,000001,V,,,,,,,010126,,,N'))).toMatchObject({
    valid: false,
    speedKmh: null,
  });
  expect(sentence(sealed('GNRMC,000001,A,4807.038,N,01131.000,E,5.0,84.4,010126,,,E'))).toMatchObject({
    valid: false,
  });
  expect(sentence(sealed('GPVTG,,,,,,,,,N'))).toMatchObject({ valid: false, speedKmh: null });
});

it('what is not right is refused with its reason', () => {
  const { gga } = DEPRIEST;
  expect(why('')).toBe('no sentence');
  expect(why('$GPGGA')).toBe('no sentence');
  expect(why(`x${gga}`)).toBe('no sentence');
  expect(why(`${gga} `)).toBe('no sentence');
  expect(why(gga.slice(0, -3))).toBe('no checksum');
  expect(why(gga.replace('545.4', '645.4'))).toBe('wrong checksum');
  expect(why(sealed('GPGLL,4916.45,N,12311.12,W,225444,A'))).toBe('other');
  expect(why(sealed(`GPGGA,${'1'.repeat(200)}`))).toBe('no sentence');
  for (const [from, to] of [
    ['4807.038', '4867.038'],
    ['4807.038', '9107.038'],
    ['01131.000', '18131.000'],
    [',N,', ',E,'],
    [',E,', ',,'],
    ['123519', '243519'],
    ['123519', '126019'],
    [',08,', ',8a,'],
    ['0.9', '-0.9'],
    ['545.4', '5 45.4'],
    ['545.4', '1e3'],
    [',1,08', ',,08'],
    [',1,08', ',x,08'],
  ] as const)
    expect([from, to, why(sealed(gga.slice(1, -3).replace(from, to)))]).toEqual([from, to, 'malformed']);
  expect(why(sealed('GPRMC,123519,B,4807.038,N,01131.000,E,022.4,084.4,230394,003.1,W'))).toBe('malformed');
  expect(why(sealed('GPGSA,A,4,04,05,,09,12,,,24,,,,,2.5,1.3,2.1'))).toBe('malformed');
});

it('a height that is not in metres is no height', () => {
  expect(sentence(sealed('GPGGA,123519,4807.038,N,01131.000,E,1,08,0.9,545.4,F,46.9,M,,'))).toMatchObject({
    heightM: null,
  });
});

it('one changed character is never read as another value', () => {
  const lines = [...Object.values(DEPRIEST), ...Object.values(RAYMOND)];
  fc.assert(
    fc.property(fc.constantFrom(...lines), fc.nat(), fc.integer({ min: 0, max: 255 }), (line, at, code) => {
      const i = at % line.length;
      const spoilt = line.slice(0, i) + String.fromCharCode(code) + line.slice(i + 1);
      const read = readSentence(spoilt);
      // Only the checksum's own letters may be written small.
      if (read.ok) expect(spoilt.toUpperCase()).toBe(line.toUpperCase());
    }),
    { numRuns: 5000, seed: 1 },
  );
});

it('no text makes it throw, and what is read lies in its range', () => {
  const field = fc.oneof(
    fc.constantFrom('', 'A', 'N', 'E', 'M', 'T', 'K', '1', '3', '08', '4807.038', '01131.000', '-5.5', '0.9'),
    fc.string({ maxLength: 12 }),
    fc.double({ noNaN: true }).map(String),
  );
  const body = fc
    .tuple(
      fc.constantFrom('GPGGA', 'GNRMC', 'GAVTG', 'BDGSA'),
      fc.array(field, { minLength: 0, maxLength: 20 }),
    )
    .map(([address, fields]) => sealed(`${address},${fields.join(',')}`));
  fc.assert(
    fc.property(fc.oneof(body, fc.string({ maxLength: 200 })), (line) => {
      const read = readSentence(line);
      if (!read.ok) return;
      const s = read.sentence;
      if ('position' in s && s.position) {
        expect(Math.abs(s.position.latDeg)).toBeLessThanOrEqual(90);
        expect(Math.abs(s.position.lonDeg)).toBeLessThanOrEqual(180);
      }
      for (const value of Object.values(s))
        if (typeof value === 'number') expect(Number.isFinite(value)).toBe(true);
    }),
    { numRuns: 5000, seed: 2 },
  );
});
