/** Holes in the recording: they cost evidence, and are never a fault of the car. */

import { tenth } from '../core/rounded.ts';
import { BLANK } from './blank.ts';
import { say } from './says.ts';
import type { CleanSample, Detector, Evidence, Finding, Spoken } from './types.ts';

/** Silence of every signal longer than this is a hole (common practice, no source; docs/analysis.md). */
export const SILENT_S = 5;
/** So much may be lost and the run still shows the drive: whichever is more (common practice, no source). */
const MOST_SILENT_S = 60;
const MOST_SHARE = 0.05;
/** Holes told one by one. A bound, chosen by hand. */
const LISTED_HOLES = 20;
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
    if (silentS > SILENT_S) {
      this.#lostS += silentS;
      this.#holes++;
      if (this.#evidence.length < LISTED_HOLES)
        this.#evidence.push({
          fromS: this.#lastS,
          toS: tS,
          text: say('link.hole', { lastedS: silentS }),
        });
    }
    this.#lastS = tS;
    return NONE;
  }

  finish(): readonly Finding[] {
    const any = !Number.isNaN(this.#firstS);
    const spanS = any ? this.#lastS - this.#firstS : 0;
    const most = tenth(Math.max(MOST_SILENT_S, spanS * MOST_SHARE));
    const lost = tenth(this.#lostS);
    const good = any && lost <= most;
    return [
      {
        id: 'link.gaps',
        system: 'link',
        verdict: good ? 'shown good' : 'not shown',
        ...BLANK,
        fromS: any ? this.#firstS : null,
        toS: any ? this.#lastS : null,
        measured: any ? { value: lost, unit: 's', interval: [lost, lost] } : null,
        limit: { value: most, unit: 's', source: say('link.source.default') },
        evidence: this.#evidence,
        needs: good
          ? null
          : any
            ? say('link.need.again', { lostS: lost, holes: this.#holes })
            : say('link.need.nothing'),
        rule: say('link.rule', { holeS: SILENT_S, mostS: MOST_SILENT_S, share: MOST_SHARE }),
        signals: [],
      },
    ];
  }
}
