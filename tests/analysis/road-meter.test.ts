/** Grade from height over distance: right with its error, deaf to jumps, silent where the road is not measured. */
import { expect, it } from 'vitest';
import type { Bin } from '../../src/analysis/coolant/bins.ts';
import { Envelope } from '../../src/analysis/coolant/envelope.ts';
import { Plausibility } from '../../src/analysis/plausibility.ts';
import { type Road, RoadMeter, slopeOf } from '../../src/analysis/road/road-meter.ts';
import { seededRandom } from '../../src/core/random.ts';

interface Second {
  readonly kmh: number;
  readonly heightM: number | null;
}

/** Both links once a second; heights are what the receiver says. */
function driven(seconds: readonly Second[]): { at: (tS: number) => Road | null } {
  const front = new Plausibility();
  const meter = new RoadMeter();
  const road: (Road | null)[] = [];
  seconds.forEach(({ kmh, heightM }, i) => {
    const tUs = i * 1e6;
    const samples = [{ signal: 'gnss_speed_kmh', tUs, sentUs: tUs, value: kmh }];
    if (heightM !== null) samples.push({ signal: 'gnss_height_m', tUs, sentUs: tUs, value: heightM });
    for (const s of samples) for (const clean of front.push(s)) meter.step(clean);
    road.push(meter.at(i));
  });
  return { at: (tS) => road[tS] ?? null };
}

/** A hill of `pct` at `kmh`, with the wander and the noise of a receiver. */
function hill(pct: number, kmh: number, lasts: number, seed: number): Second[] {
  const r = seededRandom(seed);
  let wander = 4 * r.normal();
  return Array.from({ length: lasts }, (_, i) => {
    const keep = Math.exp(-1 / 150);
    wander = keep * wander + Math.sqrt(1 - keep * keep) * 4 * r.normal();
    return { kmh, heightM: 400 + (i * (kmh / 3.6) * pct) / 100 + wander + 0.3 * r.normal() };
  });
}

it('the grade lies within twice its error about as often as it should', () => {
  let within = 0;
  let n = 0;
  for (let seed = 0; seed < 100; seed++) {
    const pct = -6 + (seed % 13);
    const road = driven(hill(pct, 30 + (seed % 7) * 12, 60, seed)).at(59)!;
    n++;
    if (Math.abs(road.gradePct - pct) <= 2 * road.sdPct) within++;
    expect(road.sdPct).toBeGreaterThan(0.2);
    expect(road.sdPct).toBeLessThan(2.5);
  }
  expect(within / n).toBeGreaterThan(0.88);
});

it('climbing power is g times speed times grade', () => {
  const exact = Array.from({ length: 60 }, (_, i) => ({ kmh: 72, heightM: 100 + i * 20 * 0.05 }));
  const road = driven(exact).at(59)!;
  expect(road.gradePct).toBeCloseTo(5, 6);
  expect(road.climbWkg).toBeCloseTo(9.80665 * 20 * 0.05, 6);
});

it('jumps of a fifth of the heights do not move it', () => {
  const exact = Array.from({ length: 80 }, (_, i) => ({
    kmh: 72,
    heightM: 100 + i * 20 * 0.05 + (i % 10 >= 8 ? 150 : 0),
  }));
  expect(driven(exact).at(79)!.gradePct).toBeCloseTo(5, 1);
});

it('without a fix the road is not measured, nor until the height has settled again', () => {
  const tunnel = Array.from({ length: 160 }, (_, i) => ({
    kmh: 72,
    heightM: i >= 60 && i < 90 ? null : 100 + i * 20 * 0.05 + (i >= 90 ? 15 * Math.exp(-(i - 90) / 10) : 0),
  }));
  const road = driven(tunnel);
  expect(road.at(59)).not.toBeNull();
  for (let t = 67; t < 110; t++) expect([t, road.at(t)]).toEqual([t, null]);
  expect(road.at(159)!.gradePct).toBeCloseTo(5, 0);
});

it('a standing car climbs nothing', () => {
  const stand = Array.from({ length: 60 }, () => ({ kmh: 0, heightM: 100 }));
  expect(driven(stand).at(59)!.climbWkg).toBe(0);
});

/** Speed and height once a second up a hill of 5 %, without a judge of their plausibility; less where `has` says so. */
function climbed(
  seconds: number,
  mps: number | ((t: number) => number),
  {
    has = (_signal: string, _t: number): boolean => true,
    off = (_t: number): number => 0,
    errorM = null as number | null,
  } = {},
) {
  const meter = new RoadMeter();
  const put = (signal: string, t: number, value: number) => {
    if (has(signal, t)) meter.step({ signal, tUs: t * 1e6, value, flag: null });
  };
  let firstS: number | null = null;
  let wayM = 0;
  if (errorM !== null) put('gnss_height_error_m', 0, errorM);
  for (let t = 0; t <= seconds; t++) {
    const now = typeof mps === 'number' ? mps : mps(t);
    wayM += t === 0 ? 0 : now;
    put('gnss_speed_kmh', t, now * 3.6);
    put('gnss_height_m', t, 100 + 0.05 * wayM + off(t));
    if (firstS === null && meter.at(t) !== null) firstS = t;
  }
  return { meter, firstS };
}

it('a grade takes six points over 80 m, one each 10 m', () => {
  expect([20, 16.1, 15.9].map((mps) => climbed(20, mps).firstS)).toEqual([5, 5, 6]);
  expect(climbed(20, 10).firstS).toBe(8);
  // A point each fifth second, 12 m.
  expect(climbed(60, 2.4).firstS).toBe(35);
});

it('is of the last 300 m and 90 s, as sure as a height that wanders by 0.6 of its error in 150 s', () => {
  const sdPct = (s: number, m: number, errorM = 8) =>
    ((100 * 0.6 * errorM) / m) * Math.sqrt(2 * (1 - Math.exp(-s / 150)));
  expect(climbed(100, 20).meter.at(100)!.sdPct).toBeCloseTo(sdPct(15, 300), 6);
  expect(climbed(200, 2.4).meter.at(200)!.sdPct).toBeCloseTo(sdPct(90, 216), 6);
  expect(climbed(100, 20, { errorM: 2 }).meter.at(100)!.sdPct).toBeCloseTo(sdPct(15, 300, 2), 6);
});

it('scatter makes it less sure, and beyond 6 m there is none', () => {
  const of = (m: number) => climbed(100, 20, { off: (t) => (t % 2 === 0 ? m : -m) }).meter.at(100);
  expect([4.04, 4.05].map((m) => of(m) !== null)).toEqual([true, false]);
  const points = Array.from({ length: 16 }, (_, k) => ({
    ...{ tS: k, distanceM: 20 * k, heightM: k + (k % 2 === 0 ? 1 : -1) },
  }));
  const { gradePct, scatterM, sdPct } = slopeOf(points, 0);
  expect(gradePct).toBeCloseTo(5, 9);
  expect(scatterM).toBeCloseTo(1.4826, 6);
  expect(sdPct).toBeCloseTo((100 * 1.4826 * Math.sqrt(12 / 16)) / 300, 6);
});

it('below 2 m/s the car climbs nothing, whatever is known of the road', () => {
  const known = { gradePct: expect.closeTo(5, 6), climbWkg: 0, sdWkg: 0.5 };
  const slowed = (mps: number) => climbed(60, (t) => (t < 60 ? 20 : mps)).meter.at(60);
  expect(slowed(1.99)).toMatchObject(known);
  expect(slowed(2)!.climbWkg).toBeCloseTo(9.80665 * 2 * 0.05, 3);
  expect(climbed(20, 1.9).meter.at(20)).toEqual({ gradePct: 0, sdPct: 100, climbWkg: 0, sdWkg: 0.5 });
});

it('is lost 5 s after the last speed or height, and settles 20 s after a height has come back', () => {
  const { meter } = climbed(60, 20);
  expect([65, 65.1].map((t) => meter.at(t) !== null)).toEqual([true, false]);
  const without = (signal: string) =>
    climbed(66, 20, { has: (of, t) => of !== signal || t <= 60 }).meter.at(66) !== null;
  expect(['gnss_speed_kmh', 'gnss_height_m', 'none'].map(without)).toEqual([false, false, true]);
  const back = (hole: number, signal: string, mps: number) => {
    const has = (of: string, t: number) => of !== signal || t <= 60 || t >= 60 + hole;
    for (let s = 60 + hole; s < 120; s++)
      if (climbed(s, mps, { has }).meter.at(s) !== null) return s - 60 - hole;
    return null;
  };
  // A standing car is measured at once, a driving one after five points more.
  expect([5, 6].map((s) => back(s, 'gnss_height_m', 0))).toEqual([0, 20]);
  expect([5, 6].map((s) => back(s, 'gnss_height_m', 20))).toEqual([0, 25]);
  expect([5, 6].map((s) => back(s, 'gnss_speed_kmh', 20))).toEqual([0, 5]);
});

const bin = (tS: number, heat: number | null): Bin => ({
  tS,
  ect: 90,
  fresh: true,
  high: 90,
  low: 90,
  speed: 60,
  rpm: 2000,
  air: 20,
  heat,
  heatSource: heat === null ? null : 'maf_gps',
  running: true,
  unsure: false,
  unstuck: false,
  holeS: 0,
});
/** °C that the envelope allows after eight minutes of the same. */
function allowed(road: Road | null, heat: number | null = null): number {
  const envelope = new Envelope();
  let allowC = 0;
  for (let t = 5; t <= 480; t += 5) allowC = envelope.step(bin(t, heat), road).allowC;
  return allowC;
}
const grade = (gradePct: number, sdPct = 0.4): Road => {
  const perPct = (9.80665 * 60) / 3.6 / 100;
  return { gradePct, sdPct, climbWkg: perPct * gradePct, sdWkg: perPct * sdPct };
};

it('a measured hill explains coolant, a measured flat takes the unseen hill away, and unsure changes nothing', () => {
  const unknown = allowed(null);
  expect(allowed(grade(6))).toBeGreaterThan(unknown + 3);
  expect(allowed(grade(0))).toBeLessThan(unknown - 2);
  expect(allowed(grade(0, 5))).toBe(unknown);
  // Steady heat is the run's own yardstick: a drive that is all hill looks flat by its heat, and is not by its road.
  expect(allowed(grade(6), 20)).toBeGreaterThan(allowed(null, 20) + 3);
  expect(allowed(grade(-5), 20)).toBe(allowed(null, 20));
});
