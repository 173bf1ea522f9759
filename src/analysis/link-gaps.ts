/** Holes in the recording: they cost evidence, and are never a fault of the car. */

import { BLANK } from './blank.ts';
import { say } from './says.ts';
import { type CarSilence, CarSilences, SILENT_S } from './silence.ts';
import type { CleanSample, Detector, Finding, Spoken } from './types.ts';

/** So much may be lost and the run still shows the drive: whichever is more (common practice, no source). */
const MOST_SILENT_S = 60;
const MOST_SHARE = 0.05;
/** Silences told one by one. A bound, chosen by hand. */
const LISTED_SILENCES = 20;
const NONE: readonly Spoken[] = [];

export class LinkGaps implements Detector {
  #firstS = Number.NaN;
  #lastS = Number.NaN;
  readonly #finder = new CarSilences();
  /** Of silences that are no longer told one by one. */
  #lostS = 0;
  #holes = 0;
  #offS = 0;
  readonly #listed: CarSilence[] = [];
  /** The newest of the others: what comes after it may still tell that the key was off. */
  #newest: CarSilence | null = null;

  step(s: CleanSample): readonly Spoken[] {
    const tS = s.tUs / 1e6;
    if (Number.isNaN(this.#firstS)) this.#firstS = tS;
    this.#lastS = tS;
    const silence = this.#finder.step(s);
    if (silence === null) return NONE;
    if (this.#listed.length < LISTED_SILENCES) this.#listed.push(silence);
    else {
      this.#count(this.#newest);
      this.#newest = silence;
    }
    return NONE;
  }

  finish(): readonly Finding[] {
    for (const silence of [...this.#listed, this.#newest]) this.#count(silence);
    const any = !Number.isNaN(this.#firstS);
    const spanS = any ? this.#lastS - this.#firstS - this.#offS : 0;
    // As they are printed, to the second: what is said to be no more than the limit is held to be no more.
    const most = Math.round(Math.max(MOST_SILENT_S, spanS * MOST_SHARE));
    const lost = Math.round(this.#lostS);
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
        evidence: this.#listed.map(({ fromS, toS, keyOff }) => ({
          fromS,
          toS,
          text: say(keyOff ? 'link.key-off' : 'link.hole', { lastedS: toS - fromS }),
        })),
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

  #count(silence: CarSilence | null): void {
    if (silence === null) return;
    const lastedS = silence.toS - silence.fromS;
    if (silence.keyOff) this.#offS += lastedS;
    else {
      this.#lostS += lastedS;
      this.#holes++;
    }
  }
}
