/** Pulls on the same stretch of road: which they are, what they say, and that no place leaves the comparison. */
import { beforeAll, describe, expect, it } from 'vitest';
import { compareRuns } from '../../src/compare/compare.ts';
import type { ComparedRun } from '../../src/compare/runs.ts';
import { stretchesOf, type Way, wayOf } from '../../src/compare/same-road.ts';
import { profileSchema } from '../../src/core/profile.ts';
import { seededRandom } from '../../src/core/random.ts';
import { FixReader } from '../../src/nmea/fixes.ts';
import { type Place, Places } from '../../src/nmea/places.ts';
import { withoutPlace } from '../../src/nmea/sentence.ts';
import { english, spelled } from '../../src/words/spelled.ts';
import { placesOf, type ReceiverDrive, receiverDrive } from './receiver-drive.ts';

const M_PER_DEG = 111_195;

/** A way from x, y metres on, in a direction, with the receiver's error, one place a second at 15 m/s. */
function way(x: number, y: number, deg: number, lengthM: number, seed = 0): Way {
  const random = seededRandom(`way/${seed}`);
  const [east, north] = [3 * random.normal(), 3 * random.normal()];
  const out: Place[] = [];
  for (let s = 0; s <= lengthM; s += 15)
    out.push({
      tUs: (s / 15) * 1e6,
      latDeg: 46.5 + (y + north + s * Math.cos((deg * Math.PI) / 180)) / M_PER_DEG,
      lonDeg:
        -30.25 +
        (x + east + s * Math.sin((deg * Math.PI) / 180)) / M_PER_DEG / Math.cos((46.5 * Math.PI) / 180),
    });
  return out;
}

/** Which are on one stretch, by their first. */
const together = (ways: readonly Way[]): number[] => {
  const stretches = stretchesOf(ways);
  return stretches.map((s) => stretches.indexOf(s));
};

describe('a stretch', () => {
  it('is the same where half of the shorter way lies on the longer one, in the same direction', () => {
    const road = way(0, 0, 90, 300);
    expect(together([road, way(60, 0, 90, 200, 1)])).toEqual([0, 0]);
    // the other way round, across it, beside it, further on
    const others = [
      way(300, 0, 270, 300, 2),
      way(150, -100, 0, 200, 3),
      way(0, 60, 90, 290, 4),
      way(220, 0, 90, 290, 5),
    ];
    for (const other of others) expect(together([road, other])).toEqual([0, 1]);
  });

  it('is the same wherever on Earth, and on either side of the date line', () => {
    const moved = (list: Way, lat: number, lon: number): Way =>
      list.map((p) => ({
        ...p,
        latDeg: lat + (p.latDeg - 46.5),
        lonDeg: ((p.lonDeg + lon + 540) % 360) - 180,
      }));
    const ways = [way(0, 0, 90, 300), way(10, 0, 90, 280, 1), way(300, 0, 270, 300, 2)];
    for (const [lat, lon] of [
      [46.5, 0],
      [-46.5, 90],
      [46.5, -149.752],
    ] as const)
      expect(together(ways.map((w) => moved(w, lat, lon)))).toEqual([0, 0, 2]);
  });

  it('does not grow from one to the next: what lies on none by half is another', () => {
    const chain = [0, 1, 2, 3, 4].map((k) => way(k * 150, 0, 90, 300, k));
    expect(together(chain)[4]).not.toBe(0);
  });

  it('is not known where the receiver was silent during the pull', () => {
    const places = placesOf(way(0, 0, 90, 300).filter((p) => p.tUs < 5e6 || p.tUs > 12e6));
    expect(wayOf(places, 0, 4e6)).toHaveLength(5);
    expect(wayOf(places, 2e6, 15e6)).toBeNull();
    expect(wayOf(places, 6e6, 11e6)).toBeNull();
    expect(stretchesOf([])).toEqual([]);
  });
});

const twin = profileSchema.parse({ induction: 'twin-charged', fuel: 'petrol' });
let before: ReceiverDrive;
let after: ReceiverDrive;
beforeAll(async () => {
  before = await receiverDrive({ route: 'road-test', seed: 1, fault: 'clutch-never-closes' });
  after = await receiverDrive({ route: 'road-test', seed: 2, receiverFaults: ['jumps=0.003', 'checksums'] });
}, 120_000);

const run = (role: ComparedRun['role'], drive: ReceiverDrive, places: readonly Place[] | null) => ({
  id: role,
  label: role,
  role,
  startedAt: role === 'before' ? '2026-03-02T08:00:00Z' : '2026-03-05T08:00:00Z',
  vin: null,
  profile: twin,
  samples: drive.samples,
  ...(places ? { places: placesOf(places) } : {}),
});

const roadIds = (c: ReturnType<typeof compareRuns>): string[] =>
  c.observations.map((o) => o.id).filter((id) => id.startsWith('compare.road'));

describe('two drives over the same road', () => {
  it('match most pulls, and say beside the interval of all pulls what those alone give', () => {
    const c = compareRuns([run('before', before, before.places), run('after', after, after.places)]);
    const { sameRoad } = c;
    expect(sameRoad!.before.matched).toBeGreaterThan(sameRoad!.before.pulls / 2);
    expect(sameRoad!.after.matched).toBeGreaterThan(sameRoad!.after.pulls / 2);
    expect(sameRoad!.stretches).toBeGreaterThan(4);
    const said = c.observations.map((o) => english.say(o)).join(' ');
    expect(said).toContain(
      `${sameRoad!.before.matched} of ${sameRoad!.before.pulls} pulls before and ${sameRoad!.after.matched} of ${sameRoad!.after.pulls} after`,
    );
    const band = c.overall[0]!;
    expect(band.verdict).toBe('better');
    expect(band.sameRoad!.effectPct).toBeGreaterThan(30);
    // Each stretch was driven once a side: the stretches are pairs, and both intervals hold the same change.
    expect(band.sameRoad).toMatchObject({ pairs: true, before: expect.any(Number) });
    expect(band.sameRoad!.interval![0]).toBeLessThan(band.interval![1]);
    expect(band.sameRoad!.interval![1]).toBeGreaterThan(band.interval![0]);
    expect(said).toContain('Same road, clutch band: +');
  });

  it('driven twice a side tell their scatter on each stretch', () => {
    const again = (drive: ReceiverDrive, by: number) => ({
      ...drive,
      samples: drive.samples.map((s) => (s.signal === 'map_kpa' ? { ...s, value: by * s.value } : s)),
    });
    const c = compareRuns([
      run('before', before, before.places),
      { ...run('before', again(before, 1.02), before.places), id: 'before again' },
      run('after', after, after.places),
      { ...run('after', again(after, 0.98), after.places), id: 'after again' },
    ]);
    const band = c.overall[0]!;
    expect(band.sameRoad!.pairs).toBe(false);
    expect(band.sameRoad!.interval![0]).toBeGreaterThan(40);
    expect(band.sameRoad!.interval![1]).toBeLessThan(90);
  });

  it('change nothing else: without places it is the comparison that it was', () => {
    const drop = (c: ReturnType<typeof compareRuns>) => ({
      ...c,
      sameRoad: null,
      observations: [],
      power: null,
      overall: c.overall.map((r) => ({ ...r, sameRoad: null, power: null })),
    });
    const without = compareRuns([run('before', before, null), run('after', after, null)]);
    expect(without.sameRoad).toBeNull();
    expect(roadIds(without)).toEqual([]);
    for (const places of [before.places, null]) {
      const c = compareRuns([run('before', before, places), run('after', after, after.places)]);
      expect(drop(c)).toEqual(drop(without));
    }
  });

  it('say the same of a road anywhere else on Earth: no place is in what leaves the comparison', () => {
    const elsewhere = (list: readonly Place[]) =>
      list.map((p) => ({ tUs: p.tUs, latDeg: -p.latDeg, lonDeg: p.lonDeg + 101.3 }));
    const compared = (of: (list: readonly Place[]) => readonly Place[]) =>
      JSON.stringify(
        spelled(
          compareRuns([
            run('before', before, of(before.places)),
            run('after', after, of(after.places)),
            run('come-back', before, of(before.places)),
          ]),
        ),
      );
    const here = compared((list) => list);
    expect(compared(elsewhere)).toBe(here);
    expect(here).not.toMatch(/"(lat|lon|places|way)/i);
  });

  it('have no match on another road, and say so', () => {
    const away = after.places.map((p) => ({ ...p, lonDeg: p.lonDeg + 1 }));
    const c = compareRuns([run('before', before, before.places), run('after', after, away)]);
    expect(c.sameRoad).toMatchObject({ stretches: 0, before: { matched: 0 }, after: { matched: 0 } });
    expect(roadIds(c)).toEqual(['compare.road.none']);
    expect(c.overall.every((r) => r.sameRoad === null)).toBe(true);
  });
});

describe('places', () => {
  const GGA = '$GPGGA,123519,4807.038,N,01131.000,E,1,08,0.9,545.4,M,46.9,M,,*47';
  const POOR = '$GPGGA,123519,4807.038,N,01131.000,E,1,04,5.0,545.4,M,46.9,M,,*47';
  const RMC = '$GPRMC,123519,A,4807.038,N,01131.000,E,022.4,084.4,230394,003.1,W*6A';
  const read = (...lines: string[]) => {
    const places = new Places();
    const fixes = new FixReader(places);
    for (const [i, line] of lines.entries()) fixes.read(line, i * 1e6);
    return places;
  };

  it('come of a fix that is good enough, else of a receiver that tells them alone', () => {
    const [place] = read(GGA, POOR, RMC).between(0, 9e6);
    expect(place).toEqual({ tUs: 0, latDeg: 48 + 7.038 / 60, lonDeg: 11 + 31 / 60 });
    expect(read(GGA, POOR, RMC).between(0, 9e6)).toHaveLength(1);
    expect(read(RMC).between(0, 9e6)).toEqual([place]);
    expect(read(POOR).between(0, 9e6)).toEqual([]);
  });

  it('are not in a capture from which they were left out, nor in anything that is written', () => {
    expect(read(withoutPlace(GGA)!, withoutPlace(RMC)!).between(0, 9e6)).toEqual([]);
    const places = read(GGA);
    expect(JSON.stringify({ places })).toBe('{"places":{}}');
    expect(structuredClone(places)).toEqual({});
  });
});
