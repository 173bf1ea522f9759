/** Legs tick themselves off from the data alone, the next is one that can be driven now, and questions come in time. What the findings were given is made up here; that both agree is shown in `legs-and-findings.test.ts`. */
import { describe, expect, it } from 'vitest';
import { GOOD_FROM_C } from '../../src/analysis/boost/witness.ts';
import { NEED_SETTLED_S } from '../../src/analysis/coolant/climb-finding.ts';
import type { Given } from '../../src/analysis/given.ts';
import { say } from '../../src/analysis/leg-says.ts';
import { LegTracker } from '../../src/analysis/legs.ts';
import type { CleanSample } from '../../src/analysis/types.ts';
import { answerIn, markOfAnswer } from '../../src/core/answers.ts';
import type { Says } from '../../src/core/says.ts';
import { de } from '../../src/words/de/de.ts';
import { en } from '../../src/words/en/en.ts';
import { METRIC } from '../../src/words/measures.ts';
import { Words } from '../../src/words/words.ts';

interface Reading {
  readonly rpm: number;
  readonly speed_kmh: number;
  readonly ect_c?: number;
  readonly pedal_d_pct?: number;
}

/** Feeds one reading of each signal a second. */
class Drive {
  readonly legs: LegTracker;
  readonly #given = new Map<string, Given>();
  #tS = 0;
  constructor(profile: ConstructorParameters<typeof LegTracker>[0] = { induction: 'twin-charged' }) {
    this.legs = new LegTracker(
      profile,
      () => this.#given,
      () => this.waits,
    );
  }
  /** Why nothing is driven by now. */
  waits: Says | null = null;
  /** What a finding was given. */
  gave(finding: string, given: Partial<Given>): this {
    this.#given.set(finding, { share: 1, left: null, fromS: 1, toS: 2, ...given });
    return this;
  }
  for(seconds: number, reading: Reading): this {
    for (let k = 0; k < seconds; k++) {
      for (const [signal, value] of Object.entries(reading)) {
        const s: CleanSample = { signal, tUs: this.#tS * 1e6, value, flag: null };
        this.legs.step(s);
      }
      this.#tS++;
    }
    return this;
  }
  /** Nothing is read for so long. */
  silent(seconds: number): this {
    this.#tS += seconds;
    return this;
  }
  leg(id: string) {
    return this.legs.view().find((l) => l.leg === id)!;
  }
  get next(): string | null {
    return this.legs.next()?.leg ?? null;
  }
}

const english = new Words(en, METRIC, 'UTC');
const german = new Words(de, METRIC, 'UTC');

const KEY_ON: Reading = { rpm: 0, speed_kmh: 0, ect_c: 20 };
const IDLE: Reading = { rpm: 800, speed_kmh: 0, ect_c: 90 };
const CRUISE: Reading = { rpm: 2000, speed_kmh: 60, ect_c: 90, pedal_d_pct: 20 };
describe('legs tick themselves off', () => {
  it('where they serve a finding by what it was given, with how much is there', () => {
    const d = new Drive().gave('coolant.climb', { share: 0.25, left: say('leg.left.more', { moreS: 360 }) });
    expect(d.leg('steady-load')).toMatchObject({
      ...{ covered: false, over: false, progress: 0.25, fromS: 1, toS: 2 },
      left: { id: 'leg.left.more', args: { moreS: 360 } },
    });
    d.gave('coolant.climb', { left: say('leg.left.more', { moreS: 0 }) });
    expect(d.leg('steady-load')).toMatchObject({ covered: true, progress: 1, left: null });
    d.gave('coolant.climb', { over: true });
    expect(d.leg('steady-load').over).toBe(false);
    d.gave('coolant.climb', { share: 0.5, over: true });
    expect(d.leg('steady-load')).toMatchObject({ covered: false, over: true });
    expect(d.leg('warm-up')).toMatchObject({ covered: false, over: false, progress: 0, left: null });
  });

  it('key on before the start, else when the rest is driven', () => {
    expect(new Drive().for(1, KEY_ON).next).toBe('key-on-check');
    const late = new Drive({ induction: 'naturally aspirated' })
      .for(1, KEY_ON)
      .for(5, { ...KEY_ON, rpm: 900 });
    expect(late.next).toBe('warm-up');
    for (const id of ['coolant.warm-up', 'coolant.climb', 'coolant.fan']) late.gave(id, {});
    late
      .for(125, CRUISE)
      .for(95, IDLE)
      .for(9, { ...IDLE, rpm: 2000 });
    late.legs.answered(new Set(['cabin heat idle', 'cabin heat 2000 rpm']));
    expect(late.next).toBe('key-on-check');
    expect(english.say(late.for(2, CRUISE).legs.next()!.how)).toMatch(/^Where it is safe, stop. Ignition on/);
    expect(late.gave('sensor.map_kpa', {}).next).toBeNull();
  });

  it('the heater check at idle and at 2000 rpm, in either order and with breaks', () => {
    const d = new Drive().for(10, { ...IDLE, rpm: 2000 }).for(5, CRUISE);
    expect(d.leg('heater-check').progress).toBeCloseTo(0.5 * (8 / 23), 9);
    d.for(17, IDLE);
    expect(d.leg('heater-check')).toMatchObject({ covered: false, progress: 0.5 });
  });

  it('the heater check only with both answers, and no longer when one is taken back', () => {
    const d = new Drive().for(17, IDLE).for(10, { ...IDLE, rpm: 2000 });
    d.legs.answered(new Set(['cabin heat idle', 'fan', 'noise']));
    expect(d.leg('heater-check')).toMatchObject({ covered: false, progress: 0.75 });
    d.legs.answered(new Set(['cabin heat idle', 'cabin heat 2000 rpm']));
    expect(d.leg('heater-check')).toMatchObject({ covered: true, progress: 1 });
    d.legs.answered(new Set(['cabin heat idle']));
    expect(d.leg('heater-check').covered).toBe(false);
    const undriven = new Drive().for(3, CRUISE);
    undriven.legs.answered(new Set(['cabin heat idle', 'cabin heat 2000 rpm']));
    expect(undriven.leg('heater-check').covered).toBe(false);
  });

  it('a hot restart by a stop with the key off, in which nothing is read', () => {
    const d = new Drive()
      .for(125, CRUISE)
      .for(5, IDLE)
      .silent(120)
      .for(4, { ...IDLE, rpm: 0 });
    expect(d.for(70, IDLE).leg('hot-restart').covered).toBe(true);
    const short = new Drive()
      .for(125, CRUISE)
      .for(5, IDLE)
      .silent(40)
      .for(4, { ...IDLE, rpm: 0 });
    expect(short.for(70, IDLE).leg('hot-restart').progress).toBe(0);
    const lost = new Drive().for(125, CRUISE).for(5, IDLE).silent(120);
    expect(lost.for(70, IDLE).leg('hot-restart').progress).toBe(0);
    const cold = new Drive()
      .for(30, { ...IDLE, ect_c: 60 })
      .silent(120)
      .for(4, { ...IDLE, rpm: 0, ect_c: 60 });
    expect(cold.for(70, IDLE).leg('hot-restart').progress).toBe(0);
  });

  it('a mark answers the question it names, and no other', () => {
    expect(answerIn('Cabin heat idle: hot')).toEqual({ id: 'cabin heat idle', answer: 'hot' });
    expect(answerIn('cabin heat 2000 rpm: cold')?.id).toBe('cabin heat 2000 rpm');
    expect(answerIn('Noise: gone')).toEqual({ id: 'noise', answer: 'gone' });
    expect(answerIn(markOfAnswer('fan', 'not heard'))).toEqual({ id: 'fan', answer: 'not heard' });
    for (const text of ['', 'Heater warm', 'Cabin heat idle', 'Cabin heat idle: ', 'Cabin heat: hot'])
      expect(answerIn(text)).toBeNull();
  });

  it('driven or idled, none goes on while the coolant forbids it; what was driven stays', () => {
    const d = new Drive().for(62, IDLE).for(125, CRUISE).for(95, IDLE);
    d.waits = say('leg.left.repair');
    const open = d.legs.view().filter((l) => !l.covered);
    expect(open.filter((l) => l.left?.id !== 'leg.left.repair' || !l.over).map((l) => l.leg)).toEqual([
      'key-on-check',
    ]);
    expect(open.map((l) => l.leg)).toContain('heater-check');
    expect(d.leg('idle-after-load')).toMatchObject({ covered: true, left: null });
    expect(d.legs.next()?.leg).toBe('key-on-check');
  });

  it('a leg that was left open does not tick of itself, and one that only waited is driven afterwards', () => {
    const d = new Drive().for(62, IDLE).for(125, CRUISE);
    const asked = ['cabin heat idle', 'cabin heat 2000 rpm'] as const;
    d.legs.answered(new Set(asked));
    d.waits = say('leg.left.cool');
    d.for(95, IDLE).for(20, { ...IDLE, rpm: 2000 });
    for (const leg of ['idle-after-load', 'heater-check'])
      expect(d.leg(leg)).toMatchObject({ covered: false, over: true });
    d.waits = null;
    d.for(125, CRUISE)
      .for(95, IDLE)
      .for(20, { ...IDLE, rpm: 2000 });
    for (const leg of ['idle-after-load', 'heater-check']) expect(d.leg(leg).covered).toBe(true);
  });

  it('idle after load only after driving', () => {
    expect(new Drive().for(100, IDLE).leg('idle-after-load').progress).toBe(0);
    expect(new Drive().for(125, CRUISE).for(95, IDLE).leg('idle-after-load').covered).toBe(true);
  });

  it('a hot restart of a stop of a minute', () => {
    const d = new Drive()
      .for(10, IDLE)
      .for(62, { ...IDLE, rpm: 0 })
      .for(62, IDLE);
    expect(d.leg('hot-restart').covered).toBe(true);
  });
});

describe('what legs say', () => {
  const said = (profile: ConstructorParameters<typeof LegTracker>[0], words: Words) =>
    new LegTracker(
      profile,
      () => new Map(),
      () => null,
    )
      .view()
      .map((l) => [l.title, l.why, l.how, l.counts].map((s) => words.say(s)));

  it('names the constants that count', () => {
    const text = said({ induction: 'twin-charged', handOverRpm: { value: 3400, source: 'entered' } }, english)
      .flat()
      .join('\n')
      .replaceAll('\u00a0', ' ');
    for (const part of [
      'for 10 s; before the start',
      '5 readings of MAP came once the engine had been stopped for 4 s',
      'from 35 °C or colder to 70 °C',
      'rose by 4 °C and came back by 2 °C. If 2 min of standing',
      'after 15 s of warm idle and 8 s at 1700 to 2500 rpm',
      'one gear, full pedal, from 1200 to 2400 rpm',
      'with 3 pulls low, middle and high in this range',
      'with 2 pulls here, or one that lasted',
      `oolant from ${GOOD_FROM_C} °C`,
      'with 20 s of steady demand from 3 to 32 % between 1500 and 4000 rpm',
      `Counts ${NEED_SETTLED_S / 60} min after the coolant got warm and settled, 3 min of it at 30 km/h`,
    ])
      expect(text).toContain(part);
  });

  it('has words for every kind of engine in both languages', () => {
    for (const induction of [
      'twin-charged',
      'supercharger',
      'turbocharger',
      'naturally aspirated',
    ] as const) {
      const [inEnglish, inGerman] = [said({ induction }, english).flat(), said({ induction }, german).flat()];
      expect(inGerman).toHaveLength(inEnglish.length);
      for (const [i, text] of inGerman.entries()) {
        expect(text).not.toBe(inEnglish[i]);
        // An id without words is spelt with its args.
        expect(`${text} ${inEnglish[i]}`).not.toMatch(/\{|leg\./);
      }
    }
  });
});

describe('the next leg', () => {
  const started = (profile?: ConstructorParameters<typeof LegTracker>[0]) =>
    new Drive(profile).gave('sensor.map_kpa', {}).gave('coolant.warm-up', { share: 0, over: true });

  it('wants no standing while the car moves, and no pull while the engine is cold, or nobody knows', () => {
    const { ect_c: _, ...unknown } = CRUISE;
    expect(started().for(20, CRUISE).next).toBe('clutch-band');
    expect(started().for(20, { ...CRUISE, ect_c: GOOD_FROM_C }).next).toBe('clutch-band');
    expect(started().for(20, { ...CRUISE, ect_c: GOOD_FROM_C - 1 }).next).toBe('light-demand');
    expect(started().for(20, unknown).next).toBe('light-demand');
    // a reading of more than a minute ago is none
    expect(started().for(5, CRUISE).for(60, unknown).next).toBe('clutch-band');
    expect(started().for(5, CRUISE).for(70, unknown).next).toBe('light-demand');
  });

  it('is a standing one when the car has halted warm, but not at a junction', () => {
    expect(started().for(60, CRUISE).for(4, IDLE).next).toBe('clutch-band');
    expect(started().for(60, CRUISE).for(12, IDLE).next).toBe('hot-idle');
  });

  it('is not one that would give nothing yet, while there is another', () => {
    const early = started().gave('coolant.fan', { share: 0, early: true }).for(60, CRUISE).for(12, IDLE);
    expect(early.next).toBe('heater-check');
    const alone = started({}).gave('coolant.fan', { share: 0, early: true }).gave('coolant.climb', {});
    alone
      .for(125, CRUISE)
      .for(125, IDLE)
      .for(9, { ...IDLE, rpm: 2000 });
    alone.legs.answered(new Set(['cabin heat idle', 'cabin heat 2000 rpm']));
    expect(alone.next).toBe('hot-idle');
  });

  it('goes on past what this drive leaves open, and says how what is left is driven', () => {
    const how = say('leg.pull.how', { fromRpm: 2000, toRpm: 2400 });
    const d = started().gave('boost.clutch-band', { share: 0.75, how }).for(20, CRUISE);
    expect(d.legs.next()).toMatchObject({ leg: 'clutch-band', how });
    expect(d.gave('boost.clutch-band', { share: 0.75, over: true }).next).toBe('above-hand-over');
  });

  it('is the changeover only when nothing else is open, and it was begun', () => {
    const d = started()
      .for(125, CRUISE)
      .for(100, IDLE)
      .for(10, { ...IDLE, rpm: 2000 })
      .for(5, CRUISE);
    d.legs.answered(new Set(['cabin heat idle', 'cabin heat 2000 rpm']));
    for (const id of ['coolant.climb', 'coolant.fan', 'boost.clutch-band', 'boost.above-hand-over'])
      d.gave(id, {});
    expect(d.next).toBe('light-demand');
    expect(d.gave('boost.clutch-open', {}).next).toBeNull();
    expect(d.gave('boost.hand-over-dip', { share: 0.5 }).next).toBe('changeover');
  });

  it('names standing legs when nothing else is left, and nothing when all are driven', () => {
    const d = started({ induction: 'naturally aspirated' }).for(125, CRUISE);
    expect(d.next).toBe('steady-load');
    d.gave('coolant.climb', {});
    expect(d.next).toBe('hot-idle');
    expect(english.say(d.legs.next()!.how)).toMatch(/^Where it is safe, stop\. Stand with/);
    expect(german.say(d.legs.next()!.how)).toMatch(/^Anhalten, wo es sicher ist\. Mit warmem Motor/);
    expect(english.say(new Drive().for(12, IDLE).gave('sensor.map_kpa', {}).legs.next()!.how)).not.toMatch(
      /^Where it is safe/,
    );
    d.gave('coolant.fan', {})
      .for(125, IDLE)
      .for(9, { ...IDLE, rpm: 2000 });
    expect(d.next).toBe('heater-check');
    d.legs.answered(new Set(['cabin heat idle', 'cabin heat 2000 rpm']));
    expect(d.next).toBeNull();
    expect(d.leg('hot-restart').covered).toBe(false);
  });
});

describe('questions', () => {
  const asked = (d: Drive) => d.legs.asks().map((a) => a.id);

  it('come at warm idle and at raised idle, not on the move and not while cold', () => {
    expect(asked(new Drive().for(15, IDLE))).toEqual([]); // 14 s between 15 readings
    expect(asked(new Drive().for(18, IDLE))).toEqual(['cabin heat idle']);
    expect(asked(new Drive().for(18, IDLE).for(10, { ...IDLE, rpm: 2050 }))).toEqual(['cabin heat 2000 rpm']);
    expect(asked(new Drive().for(90, CRUISE))).toEqual([]);
    expect(asked(new Drive().for(90, { ...IDLE, ect_c: 60 }))).toEqual([]);
  });

  it('ask for fan and noise where they can be heard', () => {
    expect(asked(new Drive().for(130, CRUISE).for(70, IDLE))).toEqual(['cabin heat idle', 'fan', 'noise']);
  });
});

describe('from both sides of each limit', () => {
  /** Of 90 s of idle after load, how many are there; a second after the car last moved passes before they begin. */
  const idled = (d: Drive) => Math.round(90 * d.leg('idle-after-load').progress);
  const driven = (s = 120, kmh = 40) => new Drive().for(s, { ...CRUISE, speed_kmh: kmh });
  it.each([
    ['two minutes of driving', driven(120).for(11, IDLE), 10],
    ['a second less', driven(119).for(11, IDLE), 0],
    ['as slow as 40 km/h', driven(130, 40).for(11, IDLE), 10],
    ['slower', driven(130, 39.9).for(11, IDLE), 0],
    ['the engine just running', driven().for(11, { ...IDLE, rpm: 401 }), 10],
    ['the engine turning no faster than cranked', driven().for(11, { ...IDLE, rpm: 400 }), 0],
    ['just idle', driven().for(11, { ...IDLE, rpm: 1299 }), 10],
    ['no idle', driven().for(11, { ...IDLE, rpm: 1300 }), 0],
    ['just warm', driven().for(11, { ...IDLE, ect_c: 78 }), 10],
    ['not warm', driven().for(11, { ...IDLE, ect_c: 77.9 }), 0],
    ['creeping', driven().for(11, { ...IDLE, speed_kmh: 0.5 }), 0],
    [
      'within five minutes',
      driven()
        .for(296, { ...IDLE, rpm: 1500 })
        .for(20, IDLE),
      5,
    ],
    [
      'not after them',
      driven()
        .for(301, { ...IDLE, rpm: 1500 })
        .for(20, IDLE),
      0,
    ],
    [
      'readings of ten seconds ago',
      driven()
        .for(11, IDLE)
        .for(30, { ect_c: 90 } as Reading),
      20,
    ],
    ['five seconds of silence', driven().for(11, IDLE).silent(4).for(1, IDLE), 15],
    ['more of it', driven().for(11, IDLE).silent(5).for(1, IDLE), 10],
  ])('idle after load: %s', (_, d, seconds) => {
    expect(idled(d)).toBe(seconds);
  });
  it('idle after load is 90 s, begun where it began', () => {
    expect(driven().for(90, IDLE).leg('idle-after-load').covered).toBe(false);
    expect(driven().for(91, IDLE).leg('idle-after-load')).toMatchObject({
      covered: true,
      fromS: 120,
      toS: 210,
    });
    expect(driven().for(95, IDLE).leg('idle-after-load')).toMatchObject({ progress: 1, toS: 210 });
  });
  it.each([
    ['a minute and a minute', 60, 90, 60, true],
    ['a second less of standing', 59, 90, 60, false],
    ['a second less of running', 60, 90, 59, false],
    ['not warm', 60, 77.9, 60, false],
  ])('hot restart: %s', (_, stoppedS, ectC, ranS, covered) => {
    const d = new Drive().for(10, IDLE).for(stoppedS, { ...IDLE, rpm: 0, ect_c: ectC });
    expect(d.for(ranS, IDLE).leg('hot-restart').covered).toBe(covered);
  });
  it('hot restart counts the stop from when it was warm', () => {
    const off = { ...IDLE, rpm: 0 };
    const of = (s: number) =>
      new Drive()
        .for(10, IDLE)
        .for(5, { ...off, ect_c: 70 })
        .for(s, off)
        .for(61, IDLE)
        .leg('hot-restart').covered;
    expect([of(61), of(60)]).toEqual([true, false]);
  });
  it('hot restart is none where the engine was stopped in two parts, and ends with the next stop', () => {
    const off = { ...IDLE, rpm: 0 };
    const twice = new Drive().for(10, IDLE).for(40, off).for(5, IDLE).for(40, off).for(61, IDLE);
    expect(twice.leg('hot-restart').progress).toBe(0);
    const again = new Drive().for(10, IDLE).for(60, off).for(30, IDLE).for(10, off).for(30, IDLE);
    expect(again.leg('hot-restart')).toMatchObject({ covered: true, fromS: 69, toS: 139 });
  });
  it.each([
    ['fan', 61, 60, 0],
    ['noise', 6, 5, 120],
    ['cabin heat idle', 16, 15, 0],
  ])('asks for %s', (id, enough, less, drivenS) => {
    const of = (s: number) =>
      driven(drivenS)
        .for(s, IDLE)
        .legs.asks()
        .map((a) => a.id);
    expect([of(enough).includes(id as never), of(less).includes(id as never)]).toEqual([true, false]);
  });
  it('asks for noise after two minutes of driving, not a second less', () => {
    const of = (s: number) =>
      driven(s)
        .for(10, IDLE)
        .legs.asks()
        .map((a) => a.id);
    expect([of(120), of(119)]).toEqual([['noise'], []]);
  });
  it.each([
    ['from 1700 rpm', 1700, 9, true],
    ['not below', 1699, 9, false],
    ['up to 2500 rpm', 2500, 9, true],
    ['not above', 2501, 9, false],
    ['for 8 s and no less', 2000, 8, false],
  ])('raised idle counts %s', (_, rpm, s, asked) => {
    const d = new Drive().for(s, { ...IDLE, rpm });
    expect(d.legs.asks().map((a) => a.id)).toEqual(asked ? ['cabin heat 2000 rpm'] : []);
    d.legs.answered(new Set(['cabin heat idle', 'cabin heat 2000 rpm']));
    expect(d.for(17, IDLE).leg('heater-check').covered).toBe(asked);
  });
  it('the heater check grows with the best of each, and knows since when', () => {
    const d = new Drive()
      .for(6, IDLE)
      .for(3, { ...IDLE, rpm: 1500 })
      .for(6, IDLE);
    expect(d.leg('heater-check').progress).toBeCloseTo(0.5 * (6 / 23), 9);
    expect(d.leg('heater-check')).toMatchObject({ fromS: 0, toS: 14 });
    expect(d.for(40, IDLE).leg('heater-check').progress).toBeCloseTo(0.5 * (15 / 23), 9);
    expect(d.leg('heater-check').toS).toBe(23);
  });
  const started = () =>
    new Drive().gave('sensor.map_kpa', {}).gave('coolant.warm-up', { share: 0, over: true });
  it('a halt lasts eight seconds, below 3 km/h', () => {
    const halted = (s: number, kmh = 0) =>
      started()
        .for(60, CRUISE)
        .for(s, { ...IDLE, speed_kmh: kmh }).next;
    expect([halted(9), halted(8)]).toEqual(['hot-idle', 'clutch-band']);
    expect([halted(20, 2.9), halted(20, 3)]).toEqual(['hot-idle', 'clutch-band']);
    expect(
      started()
        .for(60, CRUISE)
        .for(20, { ...IDLE, ect_c: 77 }).next,
    ).not.toBe('hot-idle');
  });
  it('a pull is named for a minute after the coolant was last read, and no longer after it was read cold', () => {
    const { ect_c: _, ...unknown } = CRUISE;
    const next = (s: number) => started().for(5, CRUISE).for(s, unknown).next;
    expect([next(60), next(61)]).toEqual(['clutch-band', 'light-demand']);
    expect(
      started()
        .for(5, CRUISE)
        .for(5, { ...CRUISE, ect_c: 60 }).next,
    ).toBe('light-demand');
  });
});
