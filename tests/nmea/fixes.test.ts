/** Sentences → samples, and bytes → lines: one source a quantity, nothing without a measurement. */
import fc from 'fast-check';
import { expect, it } from 'vitest';
import { LineCutter } from '../../src/nmea/cutter.ts';
import { FixReader } from '../../src/nmea/fixes.ts';
import { checksum } from '../../src/nmea/sentence.ts';

const sealed = (body: string): string =>
  `$${body}*${checksum(body).toString(16).toUpperCase().padStart(2, '0')}`;
const gga = (talker: string, heightM: number, quality = 1, hdop = '0.9'): string =>
  sealed(`${talker}GGA,123519,4807.038,N,01131.000,E,${quality},08,${hdop},${heightM},M,46.9,M,,`);
const rmc = (talker: string, knots: number, mode = 'A'): string =>
  sealed(`${talker}RMC,123519,A,4807.038,N,01131.000,E,${knots},084.4,230394,,,${mode}`);
const vtg = (kmh: number): string => sealed(`GPVTG,054.7,T,,M,,N,${kmh},K,A`);
const gsa = (fix: number, vdop: string): string => sealed(`GPGSA,A,${fix},04,,,,,,,,,,,,2.5,1.3,${vdop}`);

/** "signal value" of all samples; lines come a tenth of a second apart. */
function said(lines: readonly string[], reader = new FixReader()): string[] {
  return lines.flatMap((line, i) => reader.read(line, i * 100_000).map((s) => `${s.signal} ${s.value}`));
}
const of = (signal: string, all: readonly string[]): string[] =>
  all.filter((s) => s.startsWith(`${signal} `));

it('a fix gives height, quality and the error that its dilution stands for', () => {
  expect(said([gsa(3, '2.1'), gga('GP', 545.4)])).toEqual([
    'gnss_quality 1',
    'gnss_satellites 8',
    'gnss_error_m 4.5',
    'gnss_height_m 545.4',
    'gnss_height_error_m 10.5',
  ]);
  expect(said([gga('GP', 545.4)])).toContain('gnss_height_error_m 6.75');
});

it('a fix of two dimensions has no height, and no fix gives nothing', () => {
  expect(of('gnss_height_m', said([gsa(2, ''), gga('GP', 545.4)]))).toEqual([]);
  expect(said([gga('GP', 545.4, 0)])).toEqual(['gnss_quality 0', 'gnss_satellites 8']);
  expect(of('gnss_height_m', said([gga('GP', 545.4, 6)]))).toEqual([]);
  expect(of('gnss_height_m', said([gsa(1, ''), gga('GP', 545.4)]))).toEqual([]);
  expect(said([rmc('GP', 10, 'E')])).toEqual([]);
});

it('a speed without a word about its mode is none while another sentence says that there is no fix', () => {
  const old = sealed('GPVTG,054.7,T,,M,000.0,N,000.0,K');
  const without = sealed('GPRMC,123519,V,,,,,,,230394,,');
  expect(said([without, old])).toEqual([]);
  expect(said([gga('GP', 545.4, 0), old])).toEqual(['gnss_quality 0', 'gnss_satellites 8']);
  expect(of('gnss_speed_kmh', said([old]))).toHaveLength(1);
  expect(of('gnss_speed_kmh', said([without, rmc('GP', 10)]))).toHaveLength(1);
});

it('two sentences of the same speed give one, and the second steps in when the first falls silent', () => {
  expect(of('gnss_speed_kmh', said([rmc('GP', 10), vtg(18.5), rmc('GP', 10), vtg(18.5)]))).toHaveLength(2);
  expect(of('gnss_speed_kmh', said([vtg(18.5), vtg(18.6)]))).toHaveLength(2);
  const reader = new FixReader();
  reader.read(rmc('GP', 10), 0);
  expect(reader.read(vtg(18.5), 4_000_000)).toEqual([]);
  expect(reader.read(vtg(18.5), 5_100_000).map((s) => s.value)).toEqual([18.5, 54.7]);
});

it('of several talkers one is followed: the joint one, else the first until it falls silent', () => {
  expect(of('gnss_height_m', said([gga('GP', 100), gga('GL', 200), gga('GN', 300), gga('GP', 400)]))).toEqual(
    ['gnss_height_m 100', 'gnss_height_m 300'],
  );
  const reader = new FixReader();
  reader.read(gga('GP', 100), 0);
  expect(reader.read(gga('GL', 200), 6_000_000).length).toBeGreaterThan(0);
});

it('what cannot be read is counted by reason', () => {
  const reader = new FixReader();
  said(
    ['', 'noise', gga('GP', 1).replace('*', ''), `${gga('GP', 1).slice(0, -2)}ZZ`, sealed('GPZDA,1')],
    reader,
  );
  expect(reader.unread).toEqual({
    'no sentence': 3,
    'no checksum': 1,
    'wrong checksum': 0,
    malformed: 0,
    other: 1,
  });
});

it('lines are the same however their bytes are parted', () => {
  const text = `${gga('GP', 1)}\r\n${rmc('GP', 2)}\n\n\xff\xfe\r\n${vtg(3)}\r\n`;
  const bytes = Buffer.from(text, 'latin1');
  const whole = text
    .split('\n')
    .slice(0, -1)
    .map((l) => l.replace(/\r$/, ''))
    .filter((l) => l !== '');
  fc.assert(
    fc.property(fc.array(fc.nat(bytes.length), { maxLength: 20 }), (cuts) => {
      const lines: string[] = [];
      const cutter = new LineCutter((line) => lines.push(line));
      let from = 0;
      for (const to of [...cuts.sort((a, b) => a - b), bytes.length]) {
        cutter.push(bytes.subarray(from, to));
        from = to;
      }
      expect(lines).toEqual(whole);
    }),
    { numRuns: 300, seed: 3 },
  );
});

it('megabytes without a line end are not held, and the line after them is read', () => {
  const lines: string[] = [];
  const cutter = new LineCutter((line) => lines.push(line));
  for (let i = 0; i < 2000; i++) cutter.push(new Uint8Array(1000).fill(65));
  cutter.push(Buffer.from(`rest of the long one\n${vtg(3)}\r\n`));
  expect(lines).toEqual([vtg(3)]);
});
