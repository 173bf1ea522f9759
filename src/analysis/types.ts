/** The shapes that judging produces: findings with evidence, and the live view the page draws. */
import type { AskId } from '../core/answers.ts';
import type { Says } from '../core/says.ts';
import type { Unit } from '../core/signals.ts';

export type Verdict = 'shown good' | 'fault shown' | 'not shown';
export type SystemName = 'boost' | 'coolant' | 'fan' | 'charging' | 'codes' | 'sensor' | 'link';

export interface Evidence {
  readonly fromS: number;
  readonly toS: number;
  readonly text: Says;
}

/** A loss of boost that a drive rules out over a cell: this much of the expected boost, or more, is not missing there. */
export interface Excluded {
  readonly fromRpm: number;
  readonly toRpm: number;
  readonly fromDemandPct: number;
  readonly toDemandPct: number;
  readonly lossPct: number;
}

/** One statement about one system. Times are run time in seconds. */
export interface Finding {
  readonly id: string;
  readonly system: SystemName;
  readonly verdict: Verdict;
  /** A hint for a technician, never a diagnosis; null unless a fault is shown. */
  readonly pointsTo: Says | null;
  /** When the live detector spoke; null unless a fault is shown. */
  readonly saidAtS: number | null;
  readonly fromS: number | null;
  readonly toS: number | null;
  /** `interval`: 95 % unless the rule says otherwise. */
  readonly measured: {
    readonly value: number;
    readonly unit: Unit;
    readonly interval: [number, number];
  } | null;
  readonly limit: { readonly value: number; readonly unit: Unit; readonly source: Says } | null;
  readonly evidence: readonly Evidence[];
  /** What to drive next, when not shown. */
  readonly needs: Says | null;
  /** The decision rule, printed on the sheet. */
  readonly rule: Says;
  /** Signals that carried it. */
  readonly signals: readonly string[];
  /** Boost: the losses that this drive rules out, by engine speed and demand. */
  readonly excluded?: readonly Excluded[];
  /** True when the system's verdict does not wait for this one: left out of the sum while not shown. */
  readonly aside?: boolean;
}

/** A sample after the plausibility front. Flagged samples are kept and counted, and no detector may use them. */
export interface CleanSample {
  readonly signal: string;
  readonly tUs: number;
  readonly value: number;
  readonly flag: null | 'range' | 'rate' | 'end stop' | 'stuck' | 'time' | 'spike';
}

/** What a detector says the moment it is sure; `finding.id` may be said again when its evidence grows. */
export interface Spoken {
  readonly atS: number;
  readonly finding: Finding;
  /** One short sentence for ear and page: what happened and what to do. */
  readonly sentence: Says;
}

/** A pure stepper: no I/O, no clock, no randomness; the same samples give the same findings to the last digit. */
export interface Detector {
  /** Samples arrive in time order; samples of one time in alphabetical order of signal. */
  step(sample: CleanSample): readonly Spoken[];
  /** All of the detector's findings, one per id it is responsible for, *not shown* included. Ends the run at `endUs`. */
  finish(endUs: number): readonly Finding[];
}

export interface Pull {
  readonly fromS: number;
  readonly toS: number;
  /** Counted from the shortest gear seen, which need not be the first; after the drive one ratio is one number. */
  readonly gear: number | null;
  /** What names the gear for certain: speed at 1000 rpm, km/h; null where no speed is known. */
  readonly kmhAt1000Rpm: number | null;
  readonly rpmFrom: number;
  readonly rpmTo: number;
  /** Demand and engine speed say that the clutch must be closed. */
  readonly engagement: boolean;
  /** Measured boost at each pressure sample of the pull, gauge kPa; empty where barometric pressure is not known. */
  readonly boostKpa: readonly number[];
  /** No manifold pressure came that is believed: driven by demand and engine speed, and not judged. */
  readonly unread?: boolean;
  /** Mean shortfall, % of the expected; null without an expectation. */
  readonly shortfallPct: number | null;
  /** Engagements: whether the boost came; null when it cannot be told. */
  readonly held: boolean | null;
}

export interface Leg {
  /** Stable id, e.g. "hot-idle". */
  readonly leg: string;
  readonly title: Says;
  /** What it is good for. */
  readonly why: Says;
  /** One short sentence: how to drive it. */
  readonly how: Says;
  readonly counts: Says;
  readonly covered: boolean;
  /** Open, and this drive cannot give the rest: the guide goes on without it. */
  readonly over: boolean;
  /** 0 to 1. */
  readonly progress: number;
  /** How much is there or missing, or why it stays open, in a few words; null when there is nothing to say. */
  readonly left: Says | null;
  readonly fromS: number | null;
  readonly toS: number | null;
}

/** A question to the person in the car, at the moment when it can be answered. */
export interface Ask {
  readonly id: AskId;
  readonly question: Says;
  /** Ids of the group `answer`. */
  readonly answers: readonly string[];
}

export interface Judgement {
  readonly schema: 'handback.judgement/1';
  readonly path: string;
  readonly spanS: number;
  readonly signals: readonly {
    readonly name: string;
    readonly unit: Unit;
    readonly count: number;
    readonly fromS: number;
    readonly toS: number;
    readonly flagged: number;
    /** Of these, single readings that jumped and were back with the next one; absent where there was none. */
    readonly spikes?: number;
  }[];
  readonly pulls: readonly Pull[];
  readonly legs: readonly Pick<Leg, 'leg' | 'covered' | 'fromS' | 'toS'>[];
  readonly systems: Readonly<
    Record<
      'boost' | 'coolant',
      { readonly verdict: Verdict; readonly saidAtS: number | null; readonly needs: Says | null }
    >
  > & {
    readonly fan: {
      readonly verdict: Verdict;
      readonly saidAtS: number | null;
      readonly needs: Says | null;
      /** False where the drive never called for the fan. */
      readonly asked: boolean;
    };
  };
  readonly findings: readonly Finding[];
  /** What the live detectors said in turn; an alarm that goes on only once. A watch has no verdict and stands only here. */
  readonly spoken: readonly { readonly atS: number; readonly finding: string; readonly sentence: Says }[];
}

/** What coolant and boost look like this moment, for the page. */
export interface CoolantView {
  readonly state:
    | 'no data'
    | 'cold'
    | 'warming'
    | 'opening'
    | 'settling'
    | 'no plateau'
    | 'settled'
    | 'rising'
    | 'climbing';
  readonly valueC: number | null;
  readonly plateauC: number | null;
  readonly corridorC: readonly [number, number] | null;
  readonly limitC: number;
  readonly minutesToLimit: readonly [number, number] | null;
  /** No leg is driven now: an alarm is on, the limit is near, or it stands high without a plateau. */
  readonly tooHot: boolean;
  /** Short, for the large sentence: "Coolant settled at 90 °C." */
  readonly sentence: Says;
}

export interface BoostView {
  /** The signal that stands for the driver's demand; null while none came that may. */
  readonly demandName: string | null;
  /** Barometric pressure that gauge pressures stand on; null when it is not known, and with it what stands on it. */
  readonly baroKpa: number | null;
  /** Expected gauge pressure at the present operating point, kPa, while a pull is on. */
  readonly expectedKpa: readonly [number, number] | null;
  readonly boostKpa: number | null;
  readonly pulling: boolean;
  readonly engagement: boolean;
  readonly last: {
    readonly fromS: number;
    readonly toS: number;
    readonly held: boolean | null;
    readonly text: Says;
  } | null;
  readonly engagements: { readonly held: number; readonly missed: number };
  /** Cells of the evidence map: engine speed × demand. */
  readonly map: readonly {
    readonly rpm: readonly [number, number];
    readonly demandPct: readonly [number, number];
    readonly pulls: number;
    readonly state: 'empty' | 'some' | 'enough' | 'bad';
  }[];
  readonly sentence: Says;
}

export interface LiveView {
  readonly tS: number;
  readonly coolant: CoolantView;
  readonly boost: BoostView;
  readonly legs: readonly Leg[];
  /** Null when all are driven or left open, and while the coolant is too hot. */
  readonly nextLeg: Leg | null;
  /** None while the coolant is too hot. */
  readonly asks: readonly Ask[];
}
