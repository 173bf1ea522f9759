/** What judging finds out about a run, sample by sample: of the run being recorded and of an ended one the same. */
import { type Baseline, Judge } from '../analysis/judge.ts';
import type { BoostView, Judgement, LiveView, Spoken } from '../analysis/types.ts';
import type { Profile } from '../core/profile.ts';
import type { Sample } from '../core/signals.ts';
import { type MarkEdits, withEdits } from '../job/marks.ts';
import type { RunMeta } from '../run/meta.ts';
import type { RecordingFacts } from '../run/recording.ts';
import { isJump } from '../signal/parts.ts';
import { spelled } from '../words/spelled.ts';
import type { ExpectedBand, RunTrail } from './api.ts';
import { keyOf } from './kept-judgement.ts';
import { Levels } from './trail.ts';

/** JSON; kept beside the run. */
export interface FoundInRun extends Pick<RunTrail, 'corridor' | 'baro' | 'demand'> {
  readonly facts: Pick<RecordingFacts, 'marks' | 'gaps' | 'warnings'>;
  readonly judgement: Judgement;
  /** Its time jumps by an hour or more. */
  readonly jumps: boolean;
  readonly expected: readonly ExpectedBand[];
  readonly baroKpa: number | null;
  readonly map: BoostView['map'];
  readonly legs: LiveView['legs'];
}

/** What people said of a run. */
export interface Said {
  readonly edits: MarkEdits;
  readonly answers: readonly string[];
}

/**
 * Under which it is kept.
 * @param whole SHA-256 of the capture
 * @param taught which runs taught what; null: none
 */
export const foundKey = (
  { id, profile }: Pick<RunMeta, 'id' | 'profile'>,
  whole: string | null,
  taught: string | null,
  said: Said,
): string => keyOf([id, whole, profile, taught, said]);

/** What changes slowly, the coolant corridor, is looked at so often. */
const SLOW_LOOK_EVERY_US = 5e6;

export class Pass {
  readonly #judge: Judge;
  readonly #levels = new Levels();
  #lookAtUs = 0;
  #lastUs: number | null = null;
  #jumps = false;

  constructor(profile: Profile, baseline: Baseline | null) {
    this.#judge = new Judge(profile, baseline);
  }

  /** As `Judge.push`. */
  push(sample: Sample): readonly Spoken[] {
    this.#jumps ||= this.#lastUs !== null && isJump(this.#lastUs, sample.tUs);
    this.#lastUs = sample.tUs;
    const said = this.#judge.push(sample);
    if (sample.tUs >= this.#lookAtUs) {
      this.#lookAtUs = sample.tUs + SLOW_LOOK_EVERY_US;
      this.#levels.add(spelled(this.#judge.view()));
    }
    return said;
  }

  view(): LiveView {
    return this.#judge.view();
  }

  /** As `Judge.marked`, while it is recorded. */
  marked(texts: readonly string[]): void {
    this.#judge.marked(texts);
  }

  /** Ends the run; call once. */
  finish(id: string, { marks, gaps, warnings }: FoundInRun['facts'], { edits, answers }: Said): FoundInRun {
    const judge = this.#judge;
    const worded = marks.map((m) => ({ tS: m.tUs / 1e6, key: m.key, text: m.text }));
    const { map } = judge.view().boost;
    judge.marked([...withEdits(worded, edits).map((m) => m.text), ...answers]);
    this.#levels.add(spelled(judge.view()));
    const { corridor, baro, demand } = this.#levels;
    return {
      facts: { marks, gaps, warnings },
      judgement: judge.finish(id),
      jumps: this.#jumps,
      expected: judge.expectedBands(),
      baroKpa: judge.view().boost.baroKpa,
      corridor,
      baro,
      demand,
      map,
      legs: judge.view().legs,
    };
  }
}
