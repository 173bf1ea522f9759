/**
 * How well the line to a serial-line CAN adapter carries characters. Nothing is said back there, and a frame that lost
 * some of its first characters can reach the bus with another address (docs/security.md). So nothing is sent over a line
 * that loses more than `MOST_LOST`.
 *
 * A sum of evidence (CUSUM, Page 1954): up by one for an exchange in which something came damaged or only once stayed
 * unacknowledged, down by the allowed share for each character that came well, never below zero. Refusals do not count:
 * a busy adapter refuses, too.
 */

/** Of all characters. Chosen on the table of losses in docs/reliability.md: at twice this one frame in a thousand goes astray. */
export const MOST_LOST = 0.001;
/** At half the loss allowed this is reached once in some hundred thousand requests; at ten times in some twenty. */
const ENOUGH = 8;
/** Of the trial with harmless commands before a channel is opened; the longer one after a refusal. */
const TRIAL = { first: 300, again: 1500 } as const;
/** So many damaged answers end a trial. */
const TRIAL_BAD = 3;

export class LineMeter {
  #evidence = 0;
  #damaged = 0;

  /** Exchanges in which something was damaged. */
  get damaged(): number {
    return this.#damaged;
  }

  /** It loses more than may be. */
  get isBad(): boolean {
    return this.#evidence >= ENOUGH;
  }

  well(characters: number): void {
    this.#evidence = Math.max(0, this.#evidence - MOST_LOST * characters);
  }

  badly(): void {
    this.#damaged++;
    this.#evidence++;
  }
}

/**
 * Asks for the same harmless thing again and again.
 * @param ask the answer as text, '' for none; its command has two characters
 * @param again the line was refused before
 */
export async function carriesWell(ask: () => Promise<string>, again: boolean): Promise<boolean> {
  const answers = new Map<string, number>();
  let asked = 0;
  for (let characters = 0; characters < (again ? TRIAL.again : TRIAL.first); asked++) {
    const answer = await ask();
    characters += 2 + answer.length;
    answers.set(answer, (answers.get(answer) ?? 0) + 1);
    // The most frequent answer is the right one; silence is none.
    const right = Math.max(0, ...[...answers].filter(([text]) => text !== '').map(([, n]) => n));
    if (asked + 1 - right >= TRIAL_BAD) return false;
  }
  return true;
}
