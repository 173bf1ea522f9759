/** Legs tick themselves off from the data alone, the next is one that can be driven now, and questions come in time. */
import { describe, expect, it } from 'vitest';
import { GOOD_FROM_C } from '../../src/analysis/boost/witness.ts';
import { NEED_SETTLED_S } from '../../src/analysis/coolant/findings.ts';
import { LegTracker } from '../../src/analysis/legs.ts';
import type { CleanSample, Pull } from '../../src/analysis/types.ts';
import { answerIn, markOfAnswer } from '../../src/core/answers.ts';
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
  #tS = 0;
  constructor(profile: ConstructorParameters<typeof LegTracker>[0] = { induction: 'twin-charged' }) {
    this.legs = new LegTracker(profile);
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
const pull = (rpmFrom: number, rpmTo: number): Pull => ({
  fromS: 0,
  toS: 5,
  gear: 3,
  kmhAt1000Rpm: 35.2,
  rpmFrom,
  rpmTo,
  engagement: true,
  boostKpa: [],
  shortfallPct: 0,
  held: true,
});

describe('legs tick themselves off', () => {
  it('key-on in three seconds, and it is not asked for again once the engine has turned', () => {
    const d = new Drive().for(3, KEY_ON);
    expect(d.leg('key-on-check').covered).toBe(true);
    const late = new Drive().for(1, KEY_ON).for(5, { ...KEY_ON, rpm: 900 });
    expect(late.leg('key-on-check').covered).toBe(false);
    expect(late.next).toBe('warm-up');
  });

  it('warm-up from cold only, with live progress', () => {
    const d = new Drive();
    for (const ect of [22, 36, 50]) d.for(60, { rpm: 1500, speed_kmh: 50, ect_c: ect });
    expect(d.leg('warm-up').progress).toBeCloseTo(28 / 56, 9);
    expect(d.for(2, { ...CRUISE, ect_c: 79 }).leg('warm-up').covered).toBe(true);
    expect(new Drive().for(60, IDLE).leg('warm-up').progress).toBe(0);
  });

  it('light demand only inside the clutch band and with a light pedal', () => {
    expect(new Drive().for(60, CRUISE).leg('light-demand').progress).toBeCloseTo(59 / 60, 9);
    expect(new Drive().for(90, { ...CRUISE, rpm: 3900 }).leg('light-demand').progress).toBe(0);
    expect(new Drive().for(90, { ...CRUISE, pedal_d_pct: 45 }).leg('light-demand').progress).toBe(0);
    // whatever tells demand will do
    for (const signal of ['pedal_e_pct', 'rel_throttle_pct', 'throttle_pct']) {
      const { pedal_d_pct: demand, ...rest } = CRUISE;
      const other = (value: number) => ({ ...rest, [signal]: value });
      expect(new Drive().for(61, other(demand!)).leg('light-demand').covered).toBe(true);
      expect(new Drive().for(61, other(30)).leg('light-demand').progress).toBe(0);
    }
    expect(new Drive({ induction: 'turbocharger' }).legs.view().map((l) => l.leg)).not.toContain(
      'light-demand',
    );
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

  it('a mark answers the question it names, and no other', () => {
    expect(answerIn('Cabin heat idle: hot')).toEqual({ id: 'cabin heat idle', answer: 'hot' });
    expect(answerIn('cabin heat 2000 rpm: cold')?.id).toBe('cabin heat 2000 rpm');
    expect(answerIn('Noise: gone')).toEqual({ id: 'noise', answer: 'gone' });
    expect(answerIn(markOfAnswer('fan', 'not heard'))).toEqual({ id: 'fan', answer: 'not heard' });
    for (const text of ['', 'Heater warm', 'Cabin heat idle', 'Cabin heat idle: ', 'Cabin heat: hot'])
      expect(answerIn(text)).toBeNull();
  });

  it('idle after load only after driving', () => {
    expect(new Drive().for(100, IDLE).leg('idle-after-load').progress).toBe(0);
    expect(new Drive().for(125, CRUISE).for(95, IDLE).leg('idle-after-load').covered).toBe(true);
  });

  it('a pull through its range, but not one of an engine too cold for its finding, or of which nobody knows', () => {
    const { ect_c: _, ...unknown } = CRUISE;
    const colder = { ...CRUISE, ect_c: GOOD_FROM_C - 1 };
    for (const reading of [{ ...CRUISE, ect_c: 60 }, colder, unknown]) {
      const cold = new Drive().for(5, reading);
      cold.legs.pull(pull(1100, 1900));
      expect(cold.leg('clutch-band-low').covered).toBe(false);
      expect(cold.next).not.toBe('clutch-band-low');
    }
    // warm only when the pull was over
    const late = new Drive().for(5, colder).for(2, CRUISE);
    late.legs.pull({ ...pull(1100, 1900), fromS: 3, toS: 6 });
    expect(late.leg('clutch-band-low').covered).toBe(false);
    // a reading of more than a minute ago is none
    const old = new Drive().for(5, CRUISE).for(70, unknown);
    old.legs.pull({ ...pull(1100, 1900), fromS: 72, toS: 74 });
    expect(old.leg('clutch-band-low').covered).toBe(false);
    const just = new Drive().for(1, { ...CRUISE, ect_c: GOOD_FROM_C });
    just.legs.pull(pull(1100, 1900));
    expect(just.leg('clutch-band-low').covered).toBe(true);
    const warm = new Drive().for(5, CRUISE);
    warm.legs.pull(pull(1100, 1900));
    expect(warm.leg('clutch-band-low').covered).toBe(true);
    expect(warm.leg('clutch-band-high').covered).toBe(false);
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
    new LegTracker(profile).view().map((l) => [l.title, l.why, l.how, l.counts].map((s) => words.say(s)));

  it('names the constants that count', () => {
    const text = said({ induction: 'twin-charged', handOverRpm: { value: 3400, source: 'entered' } }, english)
      .flat()
      .join('\n')
      .replaceAll('\u00a0', ' ');
    for (const part of [
      'from below 50 °C to 78 °C',
      'after 15 s of warm idle and 8 s at 1700 to 2500 rpm',
      'one gear, full pedal, from 1000 to 1800 rpm',
      'Clutch band, near the changeover',
      'Above the changeover',
      `coolant from ${GOOD_FROM_C} °C`,
      `${NEED_SETTLED_S / 60} min were driven at 40 km/h or more, coolant from 78 °C`,
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
  it('wants no standing while the car moves, and no pull while the engine is cold', () => {
    expect(new Drive().for(20, CRUISE).next).toBe('clutch-band-low');
    expect(new Drive().for(20, { ...CRUISE, ect_c: 62 }).next).toBe('light-demand');
  });

  it('is a standing one when the car has halted warm, but not at a junction', () => {
    expect(new Drive().for(60, CRUISE).for(4, IDLE).next).toBe('clutch-band-low');
    expect(new Drive().for(60, CRUISE).for(12, IDLE).next).toBe('hot-idle');
  });

  it('names standing legs when nothing else is left, and nothing when all are driven', () => {
    const d = new Drive({ induction: 'naturally aspirated' }).for(3, KEY_ON).for(2, { ...CRUISE, ect_c: 30 });
    d.for(NEED_SETTLED_S, CRUISE);
    expect(d.next).toBe('steady-load');
    d.for(2, CRUISE);
    expect(d.next).toBe('hot-idle');
    expect(english.say(d.legs.next()!.how)).toMatch(/^Where it is safe, stop\. Stand with/);
    expect(german.say(d.legs.next()!.how)).toMatch(/^Anhalten, wo es sicher ist\. Mit warmem Motor/);
    expect(english.say(new Drive().for(12, IDLE).legs.next()!.how)).not.toMatch(/^Where it is safe/);
    d.for(125, IDLE).for(9, { ...IDLE, rpm: 2000 });
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
