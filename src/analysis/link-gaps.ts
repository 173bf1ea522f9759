/** Holes in the recording: they cost evidence, and are never a fault of the car. */
import type { CleanSample, Detector, Evidence, Finding, Spoken } from './types.ts';

/** Silence of every signal longer than this is a hole. */
const HOLE_S = 5;
const MOST_S = 60;
const MOST_SHARE = 0.05;
const LISTED = 20;
const NONE: readonly Spoken[] = [];

export class LinkGaps implements Detector {
  #firstS = Number.NaN;
  #lastS = Number.NaN;
  #lostS = 0;
  #holes = 0;
  readonly #evidence: Evidence[] = [];

  step(s: CleanSample): readonly Spoken[] {
    const tS = s.tUs / 1e6;
    if (Number.isNaN(this.#firstS)) this.#firstS = tS;
    const silentS = tS - this.#lastS;
    if (silentS > HOLE_S) {
      this.#lostS += silentS;
      this.#holes++;
      if (this.#evidence.length < LISTED)
        this.#evidence.push({
          fromS: this.#lastS,
          toS: tS,
          text: `Nothing recorded for ${Math.round(silentS)} s.`,
        });
    }
    this.#lastS = tS;
    return NONE;
  }

  finish(): readonly Finding[] {
    const any = !Number.isNaN(this.#firstS);
    const spanS = any ? this.#lastS - this.#firstS : 0;
    const most = Math.max(MOST_S, spanS * MOST_SHARE);
    const good = any && this.#lostS <= most;
    const lost = Math.round(this.#lostS * 10) / 10;
    return [
      {
        id: 'link.gaps',
        system: 'link',
        verdict: good ? 'shown good' : 'not shown',
        pointsTo: null,
        saidAtS: null,
        fromS: any ? this.#firstS : null,
        toS: any ? this.#lastS : null,
        measured: any ? { value: lost, unit: 's', interval: [lost, lost] } : null,
        limit: { value: Math.round(most), unit: 's', source: 'default' },
        evidence: this.#evidence,
        needs: good
          ? null
          : any
            ? `The recording misses ${lost} s in ${this.#holes} holes: check plug and cable, then drive the open legs again.`
            : 'Nothing was recorded: check plug, cable and ignition.',
        rule: `Holes are silences of every signal beyond ${HOLE_S} s. Enough was recorded when they sum to at most ${MOST_S} s or ${MOST_SHARE * 100} % of the run. Holes are never a fault of the car.`,
        signals: [],
      },
    ];
  }
}
