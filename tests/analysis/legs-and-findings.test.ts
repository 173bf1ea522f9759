/**
 * A leg ticks when what its finding needs is there, and neither before nor later: drives up to just below and just above each
 * need, and of each both the leg and the finding are asked.
 */
import { describe, expect, it } from 'vitest';
import { STOPPED_READINGS } from '../../src/analysis/boost/map-sensor.ts';
import { TAUGHT_PULLS } from '../../src/analysis/boost/needs.ts';
import { NEED_MOVING_S, NEED_SETTLED_S } from '../../src/analysis/coolant/climb-finding.ts';
import { UNASKED_S, UNSEEN_S } from '../../src/analysis/coolant/fan.ts';
import { NEED_ASKED_S } from '../../src/analysis/coolant/too-cold-finding.ts';
import { COLD_C, TO_C } from '../../src/analysis/coolant/warm-up-meter.ts';
import { type Baseline, Judge, learnBaseline } from '../../src/analysis/judge.ts';
import { legsOf } from '../../src/analysis/leg-table.ts';
import type { Profile } from '../../src/core/profile.ts';
import type { Says } from '../../src/core/says.ts';
import type { Sample } from '../../src/core/signals.ts';
import { english } from '../../src/words/spelled.ts';
import { type HandMadeDrive, type HandMadePull, handMade, rise } from './hand-made.ts';
import { driveSamples } from './vehicle.ts';

const TWIN: Profile = { induction: 'twin-charged', fuel: 'petrol' };
const DIESEL: Profile = { induction: 'turbocharger', fuel: 'diesel' };

/** The leg as the guide shows it at the end, and its finding. */
function both(
  samples: Iterable<Sample>,
  leg: string,
  profile: Profile = {},
  baseline: Baseline | null = null,
) {
  const judge = new Judge(profile, baseline);
  for (const s of samples) judge.push(s);
  const { findings, legs } = judge.finish('');
  const shown = judge.view().legs.find((l) => l.leg === leg)!;
  const by = legsOf(profile).find((s) => s.leg === leg)!.by;
  const finding = findings.find((f) => f.id === by)!;
  expect(legs.find((l) => l.leg === leg)!.covered).toBe(shown.covered);
  return {
    ticked: shown.covered,
    over: shown.over,
    left: shown.left === null ? null : english.say(shown.left).replaceAll('\u00a0', ' '),
    how: english.say(shown.how).replaceAll('\u00a0', ' '),
    next: judge.view().nextLeg?.leg ?? null,
    verdict: finding.verdict,
    needs: finding.needs?.id ?? null,
    needsArgs: finding.needs?.args ?? {},
    findings,
  };
}

type Reading = Readonly<Record<string, number>>;

/** A drive drawn second by second. */
class Drawn {
  readonly samples: Sample[] = [];
  #tS = 0;
  for(seconds: number, reading: Reading | ((k: number) => Reading)): this {
    for (let k = 0; k < seconds; k++) {
      const now = typeof reading === 'function' ? reading(k) : reading;
      const tUs = this.#tS++ * 1e6;
      for (const signal of Object.keys(now).sort())
        this.samples.push({ signal, tUs, sentUs: tUs, value: now[signal]! });
    }
    return this;
  }
}

const range = (from: number, to: number, by = 1): number[] =>
  Array.from({ length: Math.floor((to - from) / by) + 1 }, (_, k) => from + k * by);
/** Both sides were met, else the sweep shows nothing. */
const bothSides = (ticked: readonly boolean[]): void => expect(new Set(ticked).size).toBe(2);

describe('key on, engine off, and the pressure sensor', () => {
  const stands = (s: number, baro = true) =>
    new Drawn()
      .for(s, (k) => ({ ...(baro ? { baro_kpa: 100 } : {}), map_kpa: 100 + (k % 2), rpm: 0, speed_kmh: 0 }))
      .for(20, (k) => ({ ...(baro ? { baro_kpa: 100 } : {}), map_kpa: 40 - (k % 2), rpm: 800, speed_kmh: 0 }))
      .samples;

  it('five readings from the fourth second on', () => {
    const at = range(1, 14).map((s) => both(stands(s), 'key-on-check'));
    for (const [k, { ticked, verdict, needs }] of at.entries())
      expect([k, ticked, needs]).toEqual([k, verdict === 'shown good', ticked ? null : 'boost.need.stopped']);
    bothSides(at.map((a) => a.ticked));
    expect(at[at.findIndex((a) => a.ticked) - 1]!.left).toBe(
      `${STOPPED_READINGS - 1} of ${STOPPED_READINGS} readings`,
    );
  });
  it('after the drive as well, and it does not ask for more of it where there is no barometric sensor', () => {
    const late = new Drawn().for(20, { baro_kpa: 100, map_kpa: 40, rpm: 800, speed_kmh: 0 });
    expect(both(late.samples, 'key-on-check')).toMatchObject({
      ticked: false,
      over: false,
      needs: 'boost.need.stopped',
    });
    late.for(12, (k) => ({ baro_kpa: 100, map_kpa: 100 + (k % 2), rpm: 0, speed_kmh: 0 }));
    expect(both(late.samples, 'key-on-check')).toMatchObject({ ticked: true, verdict: 'shown good' });
    const at = range(8, 12).map((s) => both(stands(s, false), 'key-on-check'));
    for (const { ticked, needs } of at) expect(needs).toBe(ticked ? 'boost.need.baro' : 'boost.need.stopped');
    bothSides(at.map((a) => a.ticked));
  });
  it('is left open, in words, by a car without the pressure', () => {
    const without = new Drawn().for(20, { rpm: 800, speed_kmh: 0 }).samples;
    expect(both(without, 'key-on-check')).toMatchObject({
      ...{ ticked: false, over: true, left: 'left open: a signal is missing', needs: 'boost.need.map' },
    });
  });
});

const ROAD: Reading = { ambient_c: 18, maf_gps: 20, rpm: 2000, speed_kmh: 80 };
const STAND: Reading = { ...ROAD, maf_gps: 4, rpm: 800, speed_kmh: 0 };
/** Coolant that moves a little, as a sensor's does. */
const near = (c: number) => (k: number) => c + (Math.floor(k / 20) % 2) * 0.5;
const at = (reading: Reading, ect: (k: number) => number) => (k: number) => ({ ...reading, ect_c: ect(k) });

describe('cold start and warm-up', () => {
  const warms = (fromC: number, toC: number, kmh = 80) =>
    new Drawn()
      .for(
        10,
        at({ ...ROAD, speed_kmh: kmh }, () => fromC),
      )
      .for(
        Math.max(0, (toC - fromC) * 6),
        at({ ...ROAD, speed_kmh: kmh }, (k) => fromC + Math.floor(k / 6)),
      )
      .for(
        20,
        at({ ...ROAD, speed_kmh: kmh }, () => toC),
      ).samples;
  const TAUGHT = 'coolant.needs.warm-up-baseline';

  it('from a cold start, by the same degree', () => {
    const starts = [20, 30, COLD_C - 1, COLD_C, COLD_C + 1, 38, 40, 45, 49, 60].map((c) =>
      both(warms(c, 80), 'warm-up'),
    );
    for (const s of starts) {
      expect(s.needs).toBe(s.ticked ? TAUGHT : 'coolant.needs.cold-start');
      expect([s.over, s.left]).toEqual(
        s.ticked ? [false, null] : [true, `next time, at ${COLD_C} °C or colder`],
      );
      if (!s.ticked) expect(s.needsArgs).toEqual({ fromC: COLD_C });
    }
    expect(starts.map((s) => s.ticked)).toEqual([true, true, true, true, ...Array(6).fill(false)]);
  });
  it('to the same degree', () => {
    const ends = range(TO_C - 3, TO_C + 2).map((c) => both(warms(20, c), 'warm-up'));
    for (const e of ends)
      expect([e.needs, e.over]).toEqual([e.ticked ? TAUGHT : 'coolant.needs.warm-up', false]);
    bothSides(ends.map((e) => e.ticked));
    expect(ends[0]!.left).toBe(`${TO_C - 3} °C of ${TO_C} °C`);
  });
  it('spent standing is none: it is left open', () => {
    const slow = [14, 16].map((kmh) => both(warms(20, 80, kmh), 'warm-up'));
    expect(slow.map((s) => [s.ticked, s.over, s.needs])).toEqual([
      [false, true, 'coolant.needs.warm-up'],
      [true, false, TAUGHT],
    ]);
  });
});

describe('hot idle and the fan', () => {
  const settled = () => new Drawn().for(600, at(ROAD, near(90)));
  /** Rises at a stand by so much, comes back by so much. */
  const stand = (riseC: number, backC: number) =>
    settled()
      .for(
        riseC * 20,
        at(STAND, (k) => 90 + Math.floor(k / 20)),
      )
      .for(
        20,
        at(STAND, () => 90 + riseC),
      )
      .for(
        30,
        at(STAND, () => 90 + riseC - backC),
      ).samples;

  it('tick when the fan was seen', () => {
    const seen = [2, 3, 4, 5, 6, 7].flatMap((rise) =>
      [0, 1, 2, 3].map((back) => both(stand(rise, back), 'hot-idle')),
    );
    for (const s of seen) expect(s.ticked).toBe(s.verdict === 'shown good');
    bothSides(seen.map((s) => s.ticked));
    for (const s of seen.filter((o) => o.needs === 'coolant.needs.fan-asked'))
      expect(s.left).toBe('fan asked, not seen yet');
  });
  it('a car that does not need it in two minutes is told so, and the guide goes on', () => {
    const stands = [UNASKED_S - 20, UNASKED_S - 5, UNASKED_S + 5, UNASKED_S + 20].map((s) =>
      both(
        settled().for(
          s,
          at(STAND, () => 90),
        ).samples,
        'hot-idle',
      ),
    );
    expect(stands.map((s) => [s.ticked, s.over, s.left])).toEqual([
      ...Array(2).fill([false, false, 'fan not asked yet']),
      ...Array(2).fill([false, true, 'left open: fan not asked']),
    ]);
    for (const s of stands) expect(s.needs).toBe('coolant.needs.fan');
    expect(stands.map((s) => s.next === 'hot-idle')).toEqual([true, true, false, false]);
    // Several short stands are none.
    const town = settled();
    for (let k = 0; k < 5; k++)
      town
        .for(
          60,
          at(STAND, () => 90),
        )
        .for(60, at(ROAD, near(90)));
    expect(both(town.samples, 'hot-idle').over).toBe(false);
  });
  it('one that asks for it is waited for longer, and still ticks after that', () => {
    const asked = (s: number) =>
      settled().for(
        s,
        at(STAND, (k) => Math.min(93, 90 + Math.floor(k / 20))),
      );
    const told = (d: Drawn) => {
      const { ticked, over, left, needs } = both(d.samples, 'hot-idle');
      return [ticked, over, left, needs];
    };
    const needs = 'coolant.needs.fan-asked';
    expect(told(asked(UNASKED_S + 60))).toEqual([false, false, 'fan asked, not seen yet', needs]);
    expect(told(asked(UNSEEN_S + 10))).toEqual([false, true, 'left open: fan not seen', needs]);
    const seen = asked(UNSEEN_S + 10).for(
      40,
      at(STAND, (k) => Math.min(95, 93 + Math.floor(k / 10))),
    );
    expect(
      told(
        seen.for(
          30,
          at(STAND, () => 92),
        ),
      ),
    ).toEqual([true, false, null, null]);
  });
  it('is not named before the coolant has settled', () => {
    const cold = new Drawn().for(60, at(ROAD, near(80))).for(30, at(STAND, near(80))).samples;
    expect(both(cold, 'hot-idle').next).toBe('heater-check');
  });
});

describe('steady cruise, and what the climb and the plateau want of it', () => {
  /** What more driving would answer. */
  const WANTS: readonly (string | undefined)[] = ['settle', 'more', 'moving', 'asked'].map(
    (n) => `coolant.needs.${n}`,
  );
  const cruise = (d: Drawn) => {
    const b = both(d.samples, 'steady-load');
    const needs = ['coolant.climb', 'coolant.too-cold'].map(
      (id) => b.findings.find((f) => f.id === id)?.needs?.id,
    );
    expect([b.ticked, ...needs]).toEqual([needs.every((n) => !WANTS.includes(n)), ...needs]);
    return b;
  };
  it('as long as they want it', () => {
    const ticked = range(NEED_SETTLED_S - 20, NEED_SETTLED_S + 120, 5).map((s) =>
      cruise(new Drawn().for(s, at(ROAD, near(90)))),
    );
    bothSides(ticked.map((t) => t.ticked));
    expect(ticked.at(-1)).toMatchObject({ verdict: 'shown good', left: null });
    expect(cruise(new Drawn().for(200, at(ROAD, near(90)))).left).toBe('coolant not settled yet');
    expect(cruise(new Drawn().for(400, at(ROAD, near(90)))).left).toMatch(/^\d+ (s|min) more$/);
  });
  it('at the speed that they want, and asking the thermostat', () => {
    const slow = (movingS: number) =>
      new Drawn()
        .for(330, at(STAND, near(90)))
        .for(movingS, at(ROAD, near(90)))
        .for(200, at(STAND, near(90)));
    const moving = range(NEED_MOVING_S - 10, NEED_MOVING_S + 15, 5).map((s) => cruise(slow(s)));
    bothSides(moving.map((m) => m.ticked));
    // Rolling along without heat asks nothing.
    const rolls = { ...ROAD, maf_gps: 0 };
    const asks = (s: number) => cruise(new Drawn().for(600, at(rolls, near(90))).for(s, at(ROAD, near(90))));
    bothSides(range(NEED_ASKED_S - 10, NEED_ASKED_S + 15, 5).map((s) => asks(s).ticked));
  });
  it('end with a fault, and nothing else of the coolant is asked for then', () => {
    const climbs = new Drawn().for(600, at(ROAD, near(90))).for(
      200,
      at(ROAD, (k) => Math.min(118, 90 + k / 5)),
    ).samples;
    expect(both(climbs, 'steady-load')).toMatchObject({ ticked: true, verdict: 'fault shown' });
    expect(both(climbs, 'hot-idle')).toMatchObject({
      ...{
        ticked: false,
        over: true,
        left: 'left open: after the repair',
        needs: 'coolant.needs.climb-first',
      },
    });
  });
});

const LOW: readonly HandMadePull[] = [
  { fromRpm: 1150, toRpm: 2250, s: 6, boost: rise(75, 0.15) },
  { fromRpm: 1300, toRpm: 2350, s: 6, boost: rise(75, 0.15) },
  { fromRpm: 1600, toRpm: 2350, s: 5, boost: rise(75, 0.15) },
];
const HIGH: readonly HandMadePull[] = [
  { fromRpm: 3600, toRpm: 4900, s: 6, boost: rise(110, 0.4) },
  { fromRpm: 3600, toRpm: 4700, s: 6, boost: rise(110, 0.4) },
];
const taught = (profile: Profile, drive: HandMadeDrive): Baseline =>
  learnBaseline(
    [11, 12, 13].map((seed) => handMade({ ...drive, seed })),
    profile,
  );
const DIESEL_PULLS: readonly HandMadePull[] = [
  { fromRpm: 1300, toRpm: 1950, s: 8, boost: rise(100, 0.7) },
  { fromRpm: 1400, toRpm: 1980, s: 8, boost: rise(100, 0.7) },
  { fromRpm: 1500, toRpm: 1980, s: 8, boost: rise(100, 0.7) },
  { fromRpm: 2100, toRpm: 3200, s: 7, boost: rise(125, 0.4) },
  { fromRpm: 2100, toRpm: 3000, s: 7, boost: rise(125, 0.4) },
];

describe('pulls and the findings of their range', () => {
  const TWIN_BASELINE = taught(TWIN, { pulls: [...LOW, ...HIGH], chargePipeKpa: 0 });
  const band = (
    pulls: readonly HandMadePull[],
    more: Partial<HandMadeDrive> = {},
    baseline: Baseline | null = TWIN_BASELINE,
  ) => both(handMade({ pulls, chargePipeKpa: 0, ...more }), 'clutch-band', TWIN, baseline);

  it('in a clutch band three, counted as they come', () => {
    const driven = [0, 1, 2, 3].map((n) => band(LOW.slice(0, n)));
    for (const [n, d] of driven.entries()) {
      expect([n, d.ticked]).toEqual([n, d.verdict === 'shown good']);
      if (!d.ticked) expect([d.needs, d.needsArgs.pulls]).toEqual(['boost.need.pulls', 3 - n]);
    }
    expect(driven.map((d) => d.left)).toEqual([null, '1 of 3 pulls', '2 of 3 pulls', null]);
    expect(driven.map((d) => d.ticked)).toEqual([false, false, false, true]);
  });
  it('low, middle and high in it: the leg says where', () => {
    const low: HandMadePull[] = [0, 1, 2].map((k) => ({
      fromRpm: 1150 + k,
      toRpm: 1500,
      s: 5,
      boost: rise(75, 0.15),
    }));
    const d = band(low);
    expect([d.ticked, d.needs]).toEqual([false, 'boost.need.pulls']);
    const { fromRpm, toRpm } = d.needsArgs;
    expect(d.how).toContain(`from ${fromRpm} to ${toRpm} rpm`);
    expect(d.left).toBe('3 of 4 pulls');
  });
  it('warm enough', () => {
    const warm = [69, 70].map((ectC) => band(LOW, { ectC }));
    expect(warm.map((d) => [d.ticked, d.needs])).toEqual([
      [false, 'boost.need.pulls'],
      [true, null],
    ]);
  });
  it('a fault needs no more pulls', () => {
    const dead = LOW.map((p) => ({ ...p, boost: () => 0 }));
    expect(band(dead.slice(0, 2))).toMatchObject({ ticked: true, verdict: 'fault shown' });
  });
  it('with nothing to hold them against as many as the finding asks for', () => {
    const driven = [0, 1, 2, 3].map((n) => band(LOW.slice(0, n), {}, null));
    for (const [n, d] of driven.slice(0, 3).entries())
      expect([d.needs, d.needsArgs.pulls]).toEqual(['boost.need.baseline-engagements', TAUGHT_PULLS - n]);
    // Then no more are asked for, but something to hold them against.
    expect(driven[3]!.needs).toBe('boost.need.baseline');
    expect(driven.map((d) => [d.ticked, d.left])).toEqual([
      [false, null],
      [false, '1 of 3 pulls'],
      [false, '2 of 3 pulls'],
      [true, null],
    ]);
    const cold = band(LOW, { ectC: 69 }, null);
    expect([cold.ticked, cold.left, cold.needsArgs.pulls]).toEqual([false, '3 of 4 pulls', 1]);
  });
  it('of a turbocharger: each range by itself', () => {
    const baseline = taught(DIESEL, { pulls: DIESEL_PULLS, lightKpa: 8 });
    for (const leg of ['pull-low', 'pull-high'])
      for (const n of [0, 1, 2, 3, 4, 5]) {
        const d = both(handMade({ pulls: DIESEL_PULLS.slice(0, n), lightKpa: 8 }), leg, DIESEL, baseline);
        expect([leg, n, d.ticked, d.needs === 'boost.need.pulls']).toEqual([
          leg,
          n,
          d.verdict === 'shown good',
          !d.ticked,
        ]);
        if (n === 0 || n === 5) expect(d.ticked).toBe(n === 5);
      }
  });
  it('where this drive cannot settle it the leg is left open, in words', () => {
    // Taught low down alone.
    const low = DIESEL_PULLS.slice(0, 3).map((p) => ({ ...p, toRpm: 1600 }));
    const baseline = taught(DIESEL, { pulls: low, lightKpa: 8 });
    const d = both(handMade({ pulls: DIESEL_PULLS, lightKpa: 8 }), 'pull-high', DIESEL, baseline);
    expect(d).toMatchObject({
      ticked: false,
      over: true,
      left: 'left open: see Findings',
      needs: 'boost.need.untaught',
    });
    const blind = handMade({ pulls: LOW }).filter((s) => s.signal !== 'map_kpa');
    expect(both(blind, 'clutch-band', TWIN)).toMatchObject({
      ...{ ticked: false, over: true, left: 'left open: a signal is missing', needs: 'boost.need.map' },
    });
  });
});

describe('pulls that were enough', () => {
  const baseline = taught(DIESEL, { pulls: DIESEL_PULLS, lightKpa: 8 });
  const HIGH_PULLS = DIESEL_PULLS.slice(3);
  const left = (share: number): HandMadePull => ({ ...HIGH_PULLS[0]!, boost: rise(125 * share, 0.4) });
  /** What the leg shows whenever it changes. */
  const shown = (samples: Iterable<Sample>, by: Baseline | null = baseline) => {
    const judge = new Judge(DIESEL, by);
    const out: string[] = [];
    let nextUs = 0;
    const look = () => {
      const { covered, left: why } = judge.view().legs.find((l) => l.leg === 'pull-high')!;
      const now = covered ? 'ticked' : why === null ? '' : english.say(why).replaceAll('\u00a0', ' ');
      if (out.at(-1) !== now) out.push(now);
    };
    for (const s of samples) {
      judge.push(s);
      if (s.tUs < nextUs) continue;
      nextUs = s.tUs + 1e6;
      look();
    }
    judge.finish('');
    look();
    return out;
  };
  const drive = (...pulls: HandMadePull[]) => handMade({ pulls, lightKpa: 8 });
  it('stay so, whatever sound ones come after', () => {
    expect(shown(drive(...HIGH_PULLS, ...HIGH_PULLS, ...HIGH_PULLS))).toEqual(['', 'ticked']);
  });
  it('stay so where they show a fault, and where boost comes and goes', () => {
    const short = Array.from({ length: 6 }, () => left(0.5));
    expect(shown(drive(...HIGH_PULLS, ...short)).at(-1)).toBe('ticked');
    const gone = drive(...HIGH_PULLS, ...HIGH_PULLS, left(0), left(0));
    expect([baseline, null].map((by) => shown(gone, by).at(-1))).toEqual(['ticked', 'ticked']);
  });
  it('or it is said why they are so no longer', () => {
    expect(shown(drive(...HIGH_PULLS, left(0.7), left(0.7), left(0.7))).at(-1)).toMatch(
      /^later pulls differ: 5 of \d+$/,
    );
    const still = drive(...HIGH_PULLS, ...Array.from({ length: 6 }, () => HIGH_PULLS[0]!));
    const fromUs = still.at(-1)!.tUs - 150e6;
    const stuck = still.map((s) => (s.signal === 'map_kpa' && s.tUs > fromUs ? { ...s, value: 93 } : s));
    const legs = shown(stuck);
    expect([legs[1], legs.at(-1)]).toEqual(['ticked', 'left open: the pressure reading is at fault']);
  });
});

it('light demand as long as the finding of the clutch wants it', () => {
  const light = (s: number) =>
    new Drawn()
      .for(12, {
        baro_kpa: 100,
        boost_act_kpa: 100,
        ect_c: 88,
        map_kpa: 100,
        pedal_d_pct: 15,
        rpm: 0,
        speed_kmh: 0,
      })
      .for(5, {
        baro_kpa: 100,
        boost_act_kpa: 100,
        ect_c: 88,
        map_kpa: 35,
        pedal_d_pct: 15,
        rpm: 800,
        speed_kmh: 0,
      })
      .for(3, {
        baro_kpa: 100,
        boost_act_kpa: 100,
        ect_c: 88,
        map_kpa: 110,
        pedal_d_pct: 80,
        rpm: 1900,
        speed_kmh: 50,
      })
      .for(6, {
        baro_kpa: 100,
        boost_act_kpa: 100,
        ect_c: 88,
        map_kpa: 30,
        pedal_d_pct: 15,
        rpm: 1400,
        speed_kmh: 45,
      })
      .for(s, (k) => ({
        ...{ baro_kpa: 100, boost_act_kpa: 100, ect_c: 88, pedal_d_pct: 25 },
        ...{ map_kpa: 60 + (k % 3), rpm: 2000 + (k % 7), speed_kmh: 50 },
      })).samples;
  const driven = range(2, 40, 2).map((s) => both(light(s), 'light-demand', TWIN));
  for (const d of driven)
    expect([d.ticked, d.needs]).toEqual([d.verdict === 'shown good', d.ticked ? null : 'boost.need.light']);
  bothSides(driven.map((d) => d.ticked));
  expect(driven.some((d) => d.left === '5 s more')).toBe(true);
});

describe('a simulated drive, wherever it is cut', () => {
  /** What a finding asks of this drive. */
  const ASKS: readonly RegExp[] = [
    /^boost\.need\.(stopped|pulls|baseline-pulls|baseline-engagements|light)$/,
    /^coolant\.needs\.(settle|more|moving|asked|fan|fan-asked|warm-up|cold-start)$/,
  ];
  const asks = (id: string | undefined) => id !== undefined && ASKS.some((a) => a.test(id));

  it.each([undefined, 'clutch-never-closes', 'no-circulation'])('fault %s', (fault) => {
    const drive = [...driveSamples({ seed: 7, hz: 2, ...(fault === undefined ? {} : { fault }) })];
    const uncommanded = drive.filter((s) => s.signal !== 'boost_cmd_kpa');
    let [ticked, open] = [0, 0];
    for (const samples of [drive, uncommanded])
      for (const untilS of range(100, 1200, 100)) {
        const judge = new Judge(TWIN, null);
        for (const s of samples) if (s.tUs < untilS * 1e6) judge.push(s);
        const { findings } = judge.finish('');
        for (const l of judge.view().legs) {
          const by = legsOf(TWIN).find((s) => s.leg === l.leg)!.by;
          if (typeof by === 'number') continue;
          const asked = findings.find((f) => f.id === by)!.needs;
          const needs = (asked?.id === 'boost.need.told-otherwise' ? (asked.args.needs as Says) : asked)?.id;
          const where = [untilS, l.leg, l.covered, l.over, needs];
          if (l.covered) {
            ticked++;
            // What more lights would not answer is not of this drive.
            const more = asks(needs) && needs !== 'boost.need.light';
            expect([...where, more]).toEqual([...where, false]);
          } else if (!l.over) {
            open++;
            const wanted = asks(needs) || by === 'coolant.climb' || needs === 'boost.need.demand';
            expect([...where, wanted]).toEqual([...where, true]);
          } else expect(l.left).not.toBeNull();
        }
      }
    expect(Math.min(ticked, open)).toBeGreaterThan(10);
  });
});
