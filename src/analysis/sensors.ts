/** Findings about sensors, from what the plausibility front flagged; manifold pressure belongs to boost. */

import { hundredth, tenth } from '../core/rounded.ts';
import { BLANK } from './blank.ts';
import { say } from './says.ts';
import type { CleanSample, Detector, Evidence, Finding, Spoken } from './types.ts';

type Flag = NonNullable<CleanSample['flag']>;
type Judged = 'range' | 'rate' | 'end stop' | 'stuck';

/**
 * Sure of a broken sensor, wiring or contact: this long in one stretch, or this many separate stretches. No stretch of
 * a healthy open drive lasts a tenth of it (docs/analysis.md).
 */
const SURE_S = 60;
const SURE_STRETCHES: Readonly<Record<Judged, number>> = { 'end stop': 60, range: 60, stuck: 30, rate: 60 };
/** Fewer flagged readings than this are noise of the link and no finding (common practice, no source). */
export const WORTH_TELLING = 3;
/** Two flagged readings further apart belong to two stretches (common practice, no source). */
const SAME_STRETCH_S = 5;
/** Stretches told one by one. A bound, chosen by hand. */
const LISTED_STRETCHES = 10;
/** What is read so soon is of before the engine warmed anything (common practice, no source). */
const KEY_ON_S = 60;
/** After a long stand engine, intake and outside air agree (common practice, no source). */
const STOOD_BELOW_C = 40;
const AGREE_C = 15;
/** Two readings of 1 °C steps, each with its sensor's tolerance (common practice, no source). */
const READ_C = 2;
/** No engine drives this long without warming up at all while it is colder than this (common practice, no source). */
const NEVER_MOVES_S = 600;
const NEVER_MOVES_BELOW_C = 60;
/** Faster than this it drives (common practice, no source). */
const DRIVES_KMH = 5;
const NONE: readonly Spoken[] = [];

interface Tally {
  readonly stretches: Record<Judged, number>;
  readonly evidence: Evidence[];
  total: number;
  flagged: number;
  firstS: number;
  kind: Judged | null;
  fromS: number;
  toS: number;
  inStretch: number;
  sure: { kind: Judged; atS: number } | null;
}

export class SensorDetector implements Detector {
  readonly #tallies = new Map<string, Tally>();
  readonly #keyOn = new Map<string, number>();
  #firstS: number | null = null;
  #speed = 0;
  #stillC = Number.NaN;
  #stillFromS = 0;
  #stillS = 0;
  #lastEctS = 0;

  step(s: CleanSample): readonly Spoken[] {
    const tS = s.tUs / 1e6;
    this.#firstS ??= tS;
    const t = this.#tally(s.signal);
    t.total++;
    // One changed digit on the line says nothing about a sensor.
    if (s.flag === null || s.flag === 'time' || s.flag === 'spike') {
      if (
        s.flag === null &&
        tS - this.#firstS <= KEY_ON_S &&
        TEMPERATURES.has(s.signal) &&
        !this.#keyOn.has(s.signal)
      )
        this.#keyOn.set(s.signal, s.value);
      if (s.flag === null && s.signal === 'speed_kmh') this.#speed = s.value;
      if (s.flag !== null || s.signal !== 'ect_c' || !this.#neverMoves(s.value, tS) || t.sure !== null)
        return NONE;
      t.evidence.unshift({
        fromS: this.#stillFromS,
        toS: tS,
        text: say('sensor.unchanged', { c: s.value, lastedS: NEVER_MOVES_S }),
      });
      return this.#sure(s.signal, t, 'stuck', tS);
    }
    this.#flag(t, s.flag, tS);
    if (s.signal === 'map_kpa' || t.sure !== null || !isSure(t, s.flag)) return NONE;
    return this.#sure(s.signal, t, s.flag, tS);
  }

  #sure(signal: string, t: Tally, kind: Judged, atS: number): readonly Spoken[] {
    t.sure = { kind, atS };
    return [
      {
        atS,
        finding: finding(signal, t),
        sentence: say('sensor.spoken', { signal }),
      },
    ];
  }

  /** True at the sample that makes it sure: a cold reading that does not change while the vehicle drives. */
  #neverMoves(ect: number, tS: number): boolean {
    const dtS = tS - this.#lastEctS;
    this.#lastEctS = tS;
    if (ect !== this.#stillC || ect >= NEVER_MOVES_BELOW_C) {
      this.#stillC = ect;
      this.#stillFromS = tS;
      this.#stillS = 0;
      return false;
    }
    if (this.#speed < DRIVES_KMH || dtS > 2 * SAME_STRETCH_S) return false;
    const before = this.#stillS;
    this.#stillS += dtS;
    return before < NEVER_MOVES_S && this.#stillS >= NEVER_MOVES_S;
  }

  finish(): readonly Finding[] {
    const out: Finding[] = [];
    for (const [signal, t] of [...this.#tallies].sort(([a], [b]) => (a < b ? -1 : 1))) {
      if (signal === 'map_kpa') continue;
      if (signal === 'ect_c')
        out.push(t.sure !== null || t.flagged >= WORTH_TELLING ? finding(signal, t) : this.#coolantSensor(t));
      else if (t.flagged >= WORTH_TELLING) out.push(finding(signal, t));
    }
    return out;
  }

  /** Nothing flagged: good when a cold start let it be compared with the air, else said as such. */
  #coolantSensor(t: Tally): Finding {
    const ect = this.#keyOn.get('ect_c');
    const iat = this.#keyOn.get('iat_c');
    const ambient = this.#keyOn.get('ambient_c');
    const others = [iat, ambient].filter((v): v is number => v !== undefined);
    const base = plain('ect_c', t, [
      'ect_c',
      ...(iat === undefined ? [] : ['iat_c']),
      ...(ambient === undefined ? [] : ['ambient_c']),
    ]);
    if (ect === undefined || others.length === 0 || ect > STOOD_BELOW_C)
      return {
        ...base,
        needs: say('sensor.need.stand'),
      };
    const nearest = others.reduce((a, b) => (Math.abs(b - ect) < Math.abs(a - ect) ? b : a));
    const apart = Math.abs(nearest - ect);
    const interval: [number, number] = [Math.max(0, apart - READ_C), apart + READ_C];
    const agrees = interval[1] <= AGREE_C;
    return {
      ...base,
      verdict: agrees ? 'shown good' : 'not shown',
      measured: { value: tenth(apart), unit: 'degC', interval: [tenth(interval[0]), tenth(interval[1])] },
      limit: { value: AGREE_C, unit: 'degC', source: say('sensor.source.practice') },
      evidence: [
        {
          fromS: t.firstS,
          toS: t.firstS + KEY_ON_S,
          text:
            iat !== undefined && ambient !== undefined
              ? say('sensor.start-both', { ectC: ect, intakeC: iat, outsideC: ambient })
              : say('sensor.start', { ectC: ect, airC: nearest }),
        },
      ],
      needs: agrees ? null : say('sensor.need.night'),
    };
  }

  #flag(t: Tally, flag: Judged, tS: number): void {
    t.flagged++;
    if (t.kind === flag && tS - t.toS <= SAME_STRETCH_S) {
      t.inStretch++;
      t.toS = tS;
      return;
    }
    keep(t);
    t.kind = flag;
    t.stretches[flag]++;
    t.fromS = tS;
    t.toS = tS;
    t.inStretch = 1;
  }

  #tally(signal: string): Tally {
    let t = this.#tallies.get(signal);
    if (!t) {
      t = {
        stretches: { range: 0, rate: 0, 'end stop': 0, stuck: 0 },
        evidence: [],
        total: 0,
        flagged: 0,
        firstS: this.#firstS ?? 0,
        kind: null,
        fromS: 0,
        toS: 0,
        inStretch: 0,
        sure: null,
      };
      this.#tallies.set(signal, t);
    }
    return t;
  }
}

const TEMPERATURES: ReadonlySet<string> = new Set(['ect_c', 'iat_c', 'ambient_c']);

function isSure(t: Tally, flag: Flag): flag is Judged {
  if (flag === 'time' || flag === 'spike') return false;
  return t.toS - t.fromS >= SURE_S || t.stretches[flag] >= SURE_STRETCHES[flag];
}

/** Puts the stretch that ended on the list. */
function keep(t: Tally): void {
  if (t.kind !== null && t.evidence.length < LISTED_STRETCHES) t.evidence.push(stretch(t, t.kind));
}

function stretch(t: Tally, kind: Judged): Evidence {
  return {
    fromS: t.fromS,
    toS: t.toS,
    text: say('sensor.seen', { n: t.inStretch, kind: kind.replace(' ', '-') }),
  };
}

function finding(signal: string, t: Tally): Finding {
  const evidence = [...t.evidence];
  if (t.kind !== null && evidence.length < LISTED_STRETCHES) evidence.push(stretch(t, t.kind));
  const base = plain(signal, t, [signal]);
  const share = hundredth((100 * t.flagged) / t.total);
  const filled: Finding = {
    ...base,
    fromS: evidence[0]?.fromS ?? null,
    toS: Math.max(t.toS, ...evidence.map((e) => e.toS)),
    measured: { value: share, unit: '%', interval: [share, share] },
    evidence,
  };
  if (!t.sure)
    return {
      ...filled,
      needs: say('sensor.need.left-out', { n: t.flagged, of: t.total }),
    };
  return {
    ...filled,
    verdict: 'fault shown',
    pointsTo: say(t.sure.kind === 'end stop' ? 'sensor.points.circuit' : 'sensor.points.wiring'),
    saidAtS: t.sure.atS,
  };
}

function plain(signal: string, t: Tally, signals: readonly string[]): Finding {
  return {
    id: `sensor.${signal}`,
    system: 'sensor',
    verdict: 'not shown',
    ...BLANK,
    fromS: t.firstS,
    rule: say('sensor.rule', {
      stretchS: SURE_S,
      belowC: NEVER_MOVES_BELOW_C,
      unchangedS: NEVER_MOVES_S,
      apartC: AGREE_C,
      readC: READ_C,
    }),
    signals,
  };
}
