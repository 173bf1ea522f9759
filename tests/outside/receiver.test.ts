/** What we read of a receiver's sentences against gpsd, which nobody here wrote: fed by its own gpsfake. */
import { execFileSync } from 'node:child_process';
import { writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { expect } from 'vitest';
import { seededRandom } from '../../src/core/random.ts';
import { checksum, readSentence } from '../../src/nmea/sentence.ts';
import { PATIENCE_MS } from '../patience.ts';
import { needs, onPath } from '../require.ts';
import { scratch } from '../run/files.ts';

const sealed = (body: string, wrong = 0): string =>
  `$${body}*${(checksum(body) ^ wrong).toString(16).toUpperCase().padStart(2, '0')}`;

/** An epoch a second, all over the earth; every fifth GGA comes spoilt, and its height must be nobody's. */
function epochs(count: number): { readonly time: string; readonly lines: readonly string[] }[] {
  const r = seededRandom('gpsd');
  return Array.from({ length: count }, (_, i) => {
    const time = `1235${String(i).padStart(2, '0')}`;
    const lat = `${String(Math.floor(r.between(0, 89))).padStart(2, '0')}${r.between(10, 59).toFixed(5)}`;
    const lon = `${String(Math.floor(r.between(0, 179))).padStart(3, '0')}${r.between(10, 59).toFixed(5)}`;
    const place = `${lat},${r.next() < 0.5 ? 'N' : 'S'},${lon},${r.next() < 0.5 ? 'E' : 'W'}`;
    const height = r.between(-300, 4000).toFixed(1);
    const rmc = `GPRMC,${time}.00,A,${place},${r.between(5, 130).toFixed(3)},${r.between(1, 359).toFixed(2)},261126,,,A`;
    const gga = `GPGGA,${time}.00,${place},1,08,0.9,${height},M,46.9,M,,`;
    const gsa = 'GPGSA,A,3,04,05,,09,12,,,24,,,,,2.5,1.3,2.1';
    return { time, lines: [sealed(rmc), sealed(gga, i % 5 === 4 ? 1 : 0), sealed(gsa)] };
  });
}

interface Tpv {
  readonly class: string;
  readonly time?: string;
  readonly lat?: number;
  readonly lon?: number;
  readonly altMSL?: number;
  readonly track?: number;
  readonly speed?: number;
}

/** Null where the tool ended with an error. */
function orNull(run: () => string): string | null {
  try {
    return run();
  } catch {
    return null;
  }
}

needs(onPath('gpsfake') && onPath('gpsd'), 'gpsd and gpsfake (Debian: gpsd gpsd-clients)')(
  'place, height, speed and course as gpsd reads them, and a wrong checksum is read by neither',
  () => {
    const all = epochs(30);
    const log = join(scratch(), 'receiver.nmea');
    writeFileSync(log, `# NMEA\n${all.flatMap((e) => e.lines.map((l) => `${l}\r\n`)).join('')}`);
    const heard = () =>
      execFileSync('gpsfake', ['-1', '-q', '-p', '-c', '0.02', '-W', '240', log], {
        encoding: 'utf8',
        timeout: PATIENCE_MS,
        stdio: ['ignore', 'pipe', 'ignore'],
      });
    const out = orNull(heard) ?? heard(); // its daemon does not always come up, or down, in time
    const newest = new Map<string, Tpv>();
    for (const line of out.split('\n')) {
      if (!line.startsWith('{"class":"TPV"')) continue;
      const tpv = JSON.parse(line) as Tpv;
      if (tpv.time) newest.set(tpv.time.slice(11, 19).replaceAll(':', ''), tpv);
    }
    let compared = 0;
    all.forEach(({ time, lines }, i) => {
      const theirs = newest.get(time);
      const [rmc, gga] = lines.map((l) => readSentence(l));
      if (!rmc?.ok || rmc.sentence.is !== 'RMC') throw new Error(`not read: ${lines[0]}`);
      const ours = rmc.sentence;
      if (i % 5 === 4) expect(gga).toEqual({ ok: false, why: 'wrong checksum' });
      // It holds the last epoch back until the next begins.
      if (!theirs?.speed) return;
      compared++;
      expect(theirs.lat).toBeCloseTo(ours.position!.latDeg, 8);
      expect(theirs.lon).toBeCloseTo(ours.position!.lonDeg, 8);
      expect(theirs.speed).toBeCloseTo(ours.speedKmh! / 3.6, 3);
      expect(theirs.track).toBeCloseTo(ours.courseDeg!, 3);
      if (gga?.ok && gga.sentence.is === 'GGA' && theirs.altMSL !== undefined)
        expect(theirs.altMSL).toBeCloseTo(gga.sentence.heightM!, 3);
      else if (i % 5 === 4) expect(theirs.altMSL).not.toBe(Number(lines[1]!.split(',')[9]));
    });
    expect(compared).toBeGreaterThan(20);
  },
  PATIENCE_MS,
);
