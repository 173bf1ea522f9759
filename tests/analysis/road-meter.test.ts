/** Grade from height over distance: right with its error, deaf to jumps, silent where the road is not measured. */
import { expect, it } from 'vitest';
import type { Bin } from '../../src/analysis/coolant/bins.ts';
import { Envelope } from '../../src/analysis/coolant/envelope.ts';
import { Plausibility } from '../../src/analysis/plausibility.ts';
import { type Road, RoadMeter } from '../../src/analysis/road/road-meter.ts';
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
/** °C that the envelope allows after five minutes of the same. */
function allowed(road: Road | null, heat: number | null = null): number {
  const envelope = new Envelope();
  let allowC = 0;
  for (let t = 5; t <= 300; t += 5) allowC = envelope.step(bin(t, heat), road).allowC;
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
