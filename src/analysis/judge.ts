/**
 * From samples to a judgement: one plausibility front, every detector behind it. Live, replay and import of a
 * table all come through here, one sample at a time, so the same samples give the same findings to the last digit.
 */

import { answerIn } from '../core/answers.ts';
import { mistakeIn } from '../core/errors.ts';
import type { Profile } from '../core/profile.ts';
import { inTurn, type Says } from '../core/says.ts';
import { isReceiverSignal, type Sample, signalDef } from '../core/signals.ts';
import { BoostDetector } from './boost/detector.ts';
import { learnKind, withKind } from './boost/kind.ts';
import {
  type BoostBaseline,
  type BoostKind,
  type BoostLesson,
  learnBoost,
  mergeLessons,
} from './boost/lesson.ts';
import {
  type CoolantBaseline,
  type CoolantKind,
  type CoolantLesson,
  learnCoolant,
  mergeCoolant,
} from './coolant/baseline.ts';
import { CoolantDetector } from './coolant/detector.ts';
import { learnCoolantKind, withCoolantKind } from './coolant/kind.ts';
import { say as sayCoolant } from './coolant/says.ts';
import { smallDetectors } from './detectors.ts';
import { say } from './leg-says.ts';
import { LegTracker } from './legs.ts';
import { Plausibility } from './plausibility.ts';
import { RoadMeter } from './road/road-meter.ts';
import { SpeedCheck } from './road/speed-check.ts';
import type {
  CleanSample,
  Detector,
  Finding,
  Judgement,
  LiveView,
  Spoken,
  SystemName,
  Verdict,
} from './types.ts';

/** What healthy drives of the same vehicle taught; JSON. */
export interface Baseline {
  readonly boost: BoostBaseline | null;
  readonly coolant: CoolantBaseline | null;
}

const NOTHING: readonly Spoken[] = [];
/** What is said again within this time goes on; a judgement keeps so many sayings. Chosen by hand, not measured. */
const GOES_ON_S = 120;
const MOST_SPOKEN = 500;

export class Judge {
  readonly #front = new Plausibility();
  readonly #road = new RoadMeter();
  readonly #speed = new SpeedCheck();
  readonly #boost: BoostDetector;
  readonly #coolant: CoolantDetector;
  readonly #detectors: readonly Detector[];
  readonly #legs: LegTracker;
  readonly #counts = new Map<
    string,
    { count: number; fromUs: number; toUs: number; flagged: number; spikes: number }
  >();
  #endUs = 0;
  readonly #charged: boolean;
  readonly #spoken: Judgement['spoken'][number][] = [];
  readonly #lastSaidS = new Map<string, number>();
  /** Findings of which a fault was said aloud. */
  readonly #heard = new Set<string>();

  constructor(profile: Profile, baseline: Baseline | null) {
    this.#charged = profile.induction !== 'naturally aspirated';
    this.#boost = new BoostDetector({ profile, baseline: baseline?.boost ?? null });
    this.#coolant = new CoolantDetector({
      profile,
      baseline: baseline?.coolant ?? null,
      measured: this.#road,
    });
    this.#detectors = [this.#boost, this.#coolant, ...smallDetectors()];
    this.#legs = new LegTracker(
      profile,
      () => new Map([...this.#boost.given(), ...this.#coolant.given()]),
      () => this.#coolant.legsWait,
    );
  }

  /** Samples in time order; returns what the detectors say because of this one. */
  push(sample: Sample): readonly Spoken[] {
    const said = this.#take(this.#front.push(sample));
    for (const { atS, finding, sentence } of said) {
      this.#note({ atS, finding: finding.id, sentence });
      if (finding.verdict === 'fault shown') this.#heard.add(finding.id);
    }
    return said;
  }

  /** Texts of all marks of the run, those taken back left out: some legs need a person's answers. */
  marked(texts: readonly string[]): void {
    this.#legs.answered(new Set(texts.flatMap((text) => answerIn(text)?.id ?? [])));
  }

  view(): LiveView {
    return {
      tS: this.#endUs / 1e6,
      coolant: this.#coolant.view(),
      boost: this.#boost.view(),
      legs: this.#legs.view(),
      nextLeg: this.#coolant.tooHot ? null : this.#legs.next(),
      // Who has to stop now, or stands there to let it cool, is asked nothing.
      asks: this.#coolant.tooHot ? [] : this.#legs.asks(),
    };
  }

  /** Ends the run; call once. */
  finish(path: string): Judgement {
    // What the end of the run adds nobody hears any more.
    this.#take(this.#front.finish());
    const speed = this.#speed.finding();
    const own = this.#detectors.flatMap((d) => finishOf(d, this.#endUs));
    const waits = this.#coolant.drivingWaits;
    const findings = sensorFirst([
      ...(waits === null ? own : boostLater(own, waits)),
      ...(speed === null ? [] : [speed]),
    ]).map((f) => ({
      ...f,
      saidAtS: this.#heard.has(f.id) ? f.saidAtS : null,
      signals: f.signals.filter((s) => this.#counts.has(s)),
    }));
    this.#legs.finish(this.#endUs);
    return {
      schema: 'handback.judgement/1',
      path,
      spanS: this.#endUs / 1e6,
      signals: [...this.#counts]
        .sort(([a], [b]) => (a < b ? -1 : 1))
        .map(([name, c]) => ({
          name,
          unit: signalDef(name).unit,
          count: c.count,
          fromS: c.fromUs / 1e6,
          toS: c.toUs / 1e6,
          flagged: c.flagged,
          ...(c.spikes > 0 ? { spikes: c.spikes } : {}),
        })),
      pulls: this.#boost.pulls(),
      legs: this.#legs.view().map(({ leg, covered, fromS, toS }) => ({ leg, covered, fromS, toS })),
      systems: {
        boost: this.#charged
          ? summed('boost', findings)
          : { verdict: 'not shown', saidAtS: null, needs: say('judge.no-charger') },
        coolant: summed('coolant', findings),
        fan: { ...summed('fan', findings), asked: this.#coolant.fanAsked },
      },
      findings,
      spoken: this.#spoken,
    };
  }

  /** Expected boost band of each pull, for drawing behind the measured line. */
  expectedBands(): ReturnType<BoostDetector['expectedBands']> {
    return this.#boost.expectedBands();
  }

  #take(samples: readonly CleanSample[]): readonly Spoken[] {
    let spoken: Spoken[] | null = null;
    for (const s of samples) {
      this.#count(s);
      this.#road.step(s);
      this.#speed.step(s);
      // What a receiver says is about the road; it neither fills a hole in what the car said nor moves its steps on.
      if (isReceiverSignal(s.signal)) {
        if (s.signal === 'gnss_height_m') this.#boost.height(s);
        continue;
      }
      for (const d of this.#detectors) {
        const said = stepOf(d, s);
        if (said.length === 0) continue;
        spoken ??= [];
        spoken.push(...said);
      }
      this.#legs.step(s);
    }
    return spoken ?? NOTHING;
  }

  /** An alarm that goes on is said every minute; noted is that it began. */
  #note(said: Judgement['spoken'][number]): void {
    const lastS = this.#lastSaidS.get(said.finding) ?? Number.NEGATIVE_INFINITY;
    this.#lastSaidS.set(said.finding, said.atS);
    if (said.atS - lastS > GOES_ON_S && this.#spoken.length < MOST_SPOKEN) this.#spoken.push(said);
  }

  #count(s: CleanSample): void {
    if (!isReceiverSignal(s.signal)) this.#endUs = Math.max(this.#endUs, s.tUs);
    let c = this.#counts.get(s.signal);
    if (!c) {
      c = { count: 0, fromUs: s.tUs, toUs: s.tUs, flagged: 0, spikes: 0 };
      this.#counts.set(s.signal, c);
    }
    c.count++;
    c.toUs = s.tUs;
    if (s.flag !== null) c.flagged++;
    if (s.flag === 'spike') c.spikes++;
  }
}

/** Who comes after one that fails could not tell which it was. */
function stepOf(detector: Detector, s: CleanSample): readonly Spoken[] {
  try {
    return detector.step(s);
  } catch (thrown) {
    throw mistakeIn(`${detector.constructor.name}, with ${s.signal} at ${s.tUs / 1e6} s,`, thrown);
  }
}

function finishOf(detector: Detector, endUs: number): readonly Finding[] {
  try {
    return detector.finish(endUs);
  } catch (thrown) {
    throw mistakeIn(`${detector.constructor.name}, at the end,`, thrown);
  }
}

/** No pull is asked for with an engine that gets too hot. */
const boostLater = (findings: readonly Finding[], needs: Says): readonly Finding[] =>
  findings.map((f) => (f.system === 'boost' && f.verdict === 'not shown' ? { ...f, needs } : f));

/** By a coolant sensor that is at fault nothing is shown good, and nothing is driven for before it is put right. */
function sensorFirst(findings: readonly Finding[]): readonly Finding[] {
  if (!findings.some((f) => f.id === 'sensor.ect_c' && f.verdict === 'fault shown')) return findings;
  return findings.map((f) =>
    (f.system === 'coolant' || f.system === 'fan') && f.verdict !== 'fault shown'
      ? { ...f, verdict: 'not shown', needs: sayCoolant('coolant.needs.sensor-first') }
      : f,
  );
}

/** Two findings may ask for the same drive: it is asked for once. */
const toldOnce = (needs: readonly Says[]): Says =>
  inTurn([...new Map(needs.map((n) => [JSON.stringify(n), n])).values()]);

/** A fault in any finding is the system's; good needs every finding the system rests on; anything else is not shown. */
function summed(
  system: SystemName,
  findings: readonly Finding[],
): { verdict: Verdict; saidAtS: number | null; needs: Says | null } {
  const own = findings.filter((f) => f.system === system && !(f.aside === true && f.verdict === 'not shown'));
  const faults = own.filter((f) => f.verdict === 'fault shown');
  if (faults.length > 0) {
    const times = faults.flatMap((f) => (f.saidAtS === null ? [] : [f.saidAtS]));
    return { verdict: 'fault shown', saidAtS: times.length > 0 ? Math.min(...times) : null, needs: null };
  }
  const open = own.filter((f) => f.verdict === 'not shown');
  if (own.length > 0 && open.length === 0) return { verdict: 'shown good', saidAtS: null, needs: null };
  const needs = open.flatMap((f) => (f.needs === null ? [] : [f.needs]));
  return {
    verdict: 'not shown',
    saidAtS: null,
    needs: needs.length > 0 ? toldOnce(needs) : say('judge.nothing-recorded'),
  };
}

/** The judgement with one finding more, its system summed up anew. */
export function withFinding(judgement: Judgement, finding: Finding): Judgement {
  const findings = [...judgement.findings, finding];
  const systems = { ...judgement.systems, coolant: summed('coolant', findings) };
  return { ...judgement, findings, systems };
}

/** A whole recording at once. `path` is only repeated in the answer; `marks` are the texts of the run's marks. */
export function judgeTable(
  table: Iterable<Sample>,
  profile: Profile,
  baseline: Baseline | null,
  path: string,
  marks: readonly string[] = [],
): Judgement {
  const judge = new Judge(profile, baseline);
  judge.marked(marks);
  for (const sample of table) judge.push(sample);
  return judge.finish(path);
}

/** What one drive teaches; JSON. */
export interface Lesson {
  readonly boost: BoostLesson;
  readonly coolant: CoolantLesson;
}

export function lessonOf(drive: Iterable<Sample>, profile: Profile): Lesson {
  return { boost: learnBoost(clean(drive), profile), coolant: learnCoolant(clean(drive), profile) };
}

/** Learns from healthy drives of one vehicle. */
export function learnBaseline(drives: readonly Iterable<Sample>[], profile: Profile): Baseline {
  const lessons = drives.map((drive) => lessonOf(drive, profile));
  return {
    boost: mergeLessons(lessons.map((l) => l.boost)),
    coolant: mergeCoolant(lessons.map((l) => l.coolant)),
  };
}

/** What other cars of a kind teach. */
export interface Kind {
  readonly boost: BoostKind | null;
  readonly coolant: CoolantKind | null;
}

/** Each car by what its own healthy drives taught; null where that is nothing. */
export function learnFromKind(cars: readonly Baseline[]): Kind | null {
  const boost = learnKind(cars.flatMap((c) => c.boost ?? []));
  const coolant = learnCoolantKind(cars.flatMap((c) => c.coolant ?? []));
  return boost === null && coolant === null ? null : { boost, coolant };
}

/** The car's own healthy drives and, where they say little, other cars of its kind. Without those nothing changes. */
export function besideKind(own: Baseline | null, kind: Kind | null): Baseline | null {
  if (kind === null) return own;
  return {
    boost: withKind(own?.boost ?? null, kind.boost),
    coolant: withCoolantKind(own?.coolant ?? null, kind.coolant),
  };
}

function* clean(drive: Iterable<Sample>): Generator<CleanSample> {
  const front = new Plausibility();
  // What is learned is of the car alone.
  for (const sample of drive) if (!isReceiverSignal(sample.signal)) yield* front.push(sample);
  yield* front.finish();
}
