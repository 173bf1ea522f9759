/** Signals that come late: which, by how much, and who is left alone. */
import { describe, expect, it } from 'vitest';
import { TimingWatch } from '../../src/analysis/boost/timing.ts';
import type { CleanSample } from '../../src/analysis/types.ts';
import { profileSchema } from '../../src/core/profile.ts';
import { seededRandom } from '../../src/core/random.ts';

const DIESEL = profileSchema.parse({ induction: 'turbocharger', fuel: 'diesel' });
const ALL = ['map_kpa', 'maf_gps', 'pedal_d_pct', 'rpm', 'speed_kmh'] as const;
type Signal = (typeof ALL)[number];

interface Drive {
  readonly s?: number;
  /** Of the turbocharger, first order, s. */
  readonly lagS?: number;
  readonly late?: Partial<Record<Signal, number>>;
  readonly signals?: readonly Signal[];
  /** MAP is asked for so seldom, s, and carried on in between. */
  readonly carriedS?: number;
  readonly flatMap?: boolean;
}

/** A pedal that is moved every few seconds, boost that follows it, the air that goes in with it, read once a second. */
function drive(o: Drive = {}): CleanSample[] {
  const { s = 400, lagS = 0.6, late = {}, signals = ALL } = o;
  const random = seededRandom('timing');
  let [pedal, nextS, boost, kmh] = [15, 0, 0, 60];
  const out: CleanSample[] = [];
  const carried = { value: 100, atS: Number.NEGATIVE_INFINITY };
  const due = new Map(signals.map((n) => [n, random.next()]));
  for (let t = 0; t < s; t += 0.05) {
    if (t >= nextS) {
      pedal = random.between(15, 80);
      nextS = t + random.between(3, 9);
    }
    const demand = (pedal - 15) / 65;
    boost += ((120 * demand - boost) * 0.05) / lagS;
    kmh = Math.max(30, kmh + 0.05 * (8 * demand - 0.05 * (kmh - 30)));
    const rpm = 30 * kmh;
    const map = o.flatMap ? 100 : 100 + boost;
    const values: Record<Signal, number> = {
      map_kpa: map,
      maf_gps: (14.7 * rpm * (100 + boost)) / 1e5,
      ...{ pedal_d_pct: pedal, rpm, speed_kmh: kmh },
    };
    for (const signal of signals) {
      if (t < due.get(signal)!) continue;
      due.set(signal, due.get(signal)! + 1);
      let value = values[signal];
      if (signal === 'map_kpa' && o.carriedS !== undefined) {
        if (t - carried.atS >= o.carriedS) Object.assign(carried, { value, atS: t });
        value = carried.value;
      }
      out.push({ signal, value, tUs: Math.round((t + (late[signal] ?? 0)) * 1e6), flag: null });
    }
  }
  return out.sort((a, b) => a.tUs - b.tUs);
}

function watched(o: Drive = {}, profile = DIESEL) {
  const watch = new TimingWatch(profile);
  for (const s of drive(o)) watch.step(s);
  return watch;
}
const lateIn = (o: Drive): string | null => watched(o).late?.signal ?? null;

describe('a signal that comes late', () => {
  it('is named, with by how much, by what it moves with', () => {
    for (const signal of ['map_kpa', 'maf_gps', 'pedal_d_pct'] as const)
      for (const by of [1.2, 2, 3]) {
        const { late } = watched({ late: { [signal]: by } });
        expect(late?.signal).toBe(signal);
        expect(late!.interval[0]).toBeLessThan(by);
        expect(late!.interval[1]).toBeGreaterThan(by);
        expect(late!.interval[1] - late!.interval[0]).toBeLessThan(1);
        expect(late!.agrees - late!.asIs).toBeGreaterThan(0.05);
      }
  });
  it('is another where the air mass, which boost can do without, comes late as well', () => {
    expect(lateIn({ late: { maf_gps: 3, rpm: 0.4 } })).toBe('maf_gps');
    expect(lateIn({ late: { maf_gps: 3, rpm: 2 } })).toBe('rpm');
  });
  it('is not seen where nothing is late, nor half a second', () => {
    expect(lateIn({})).toBeNull();
    for (const signal of ALL) expect(lateIn({ late: { [signal]: 0.5 } })).toBeNull();
    expect(watched().findings()).toEqual([]);
  });
  it('is a value that is carried on until the next is asked for', () => {
    expect(lateIn({ carriedS: 1 })).toBeNull();
    expect(lateIn({ carriedS: 4 })).toBe('map_kpa');
  });
  it('is told from three minutes on', () => {
    const late = { map_kpa: 2 };
    expect(lateIn({ s: 180, late })).toBeNull();
    expect(lateIn({ s: 210, late })).toBe('map_kpa');
  });
  it('is the pedal where boost comes before it, and MAP where it comes long after, with nothing else to ask', () => {
    const signals = ['map_kpa', 'pedal_d_pct'] as const;
    expect(lateIn({ signals })).toBeNull();
    expect(lateIn({ signals, late: { pedal_d_pct: 2 } })).toBe('pedal_d_pct');
    expect(lateIn({ signals, late: { map_kpa: 2 } })).toBe('map_kpa');
  });
  it('is MAP by a second where a throttle tells how soon it comes, but not by a diesel that calls a flap so', () => {
    const samples = drive({ signals: ['map_kpa', 'pedal_d_pct'], lagS: 0.2, late: { map_kpa: 1 } });
    const throttle = samples
      .filter((s) => s.signal === 'pedal_d_pct')
      .map((s) => ({ ...s, signal: 'throttle_pct' }));
    const both = [...samples, ...throttle].sort((a, b) => a.tUs - b.tUs);
    const late = (fuel: 'petrol' | 'diesel'): string | null => {
      const watch = new TimingWatch(profileSchema.parse({ induction: 'turbocharger', fuel }));
      for (const s of both) watch.step(s);
      return watch.late === null ? null : `${watch.late.signal} against ${watch.late.against}`;
    };
    expect(late('petrol')).toBe('map_kpa against throttle_pct');
    expect(late('diesel')).toBeNull();
  });
  it('is no turbocharger that lags, with the air and without', () => {
    const signals = ['map_kpa', 'pedal_d_pct', 'speed_kmh', 'rpm'] as const;
    for (const lagS of [0.2, 1, 2, 3]) {
      expect(lateIn({ lagS })).toBeNull();
      expect(lateIn({ lagS, signals })).toBeNull();
    }
  });
  it('is none where a signal does not move', () => {
    expect(lateIn({ flatMap: true })).toBeNull();
    expect(lateIn({ flatMap: true, late: { map_kpa: 2 } })).toBeNull();
  });
  it('stands as a finding with its interval, and names both signals', () => {
    const [f] = watched({ late: { map_kpa: 2 } }).findings();
    expect(f).toMatchObject({
      ...{ id: 'sensor.late', system: 'sensor', verdict: 'fault shown' },
      ...{ limit: { value: 0.5, unit: 's' }, measured: { unit: 's' } },
    });
    expect(f!.signals).toContain('map_kpa');
    expect(f!.signals.length).toBe(2);
    const said = (late: Signal) =>
      watched({ late: { [late]: 2 } })
        .findings()[0]!
        .evidence.map((e) => e.text.id);
    expect(said('map_kpa')).toEqual(['sensor.late.seen']);
    expect(said('maf_gps')).toEqual(['sensor.late.seen', 'sensor.late.without']);
    expect(f!.evidence[0]!.text).toMatchObject({ id: 'sensor.late.seen', args: { signal: 'map_kpa' } });
    expect(f!.toS! - f!.fromS!).toBeGreaterThan(300);
    const later = new TimingWatch(DIESEL);
    for (const x of drive({ late: { map_kpa: 2 } })) later.step({ ...x, tUs: x.tUs + 5000e6 });
    const [l] = later.findings();
    expect(l!.fromS).toBeGreaterThan(4999);
    expect(l!.toS! - l!.fromS!).toBeCloseTo(f!.toS! - f!.fromS!);
  });
});
