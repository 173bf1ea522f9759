/**
 * The tones: one per meaning, told apart by direction, number of notes and pitch, so that they need no learning.
 * Rising = done, falling = missed, level and low = link, two tones to and fro = coolant and nothing else. Played by
 * `play.ts`; the tests render them offline and measure them.
 */

export type ToneName = 'coolant' | 'missed' | 'lost' | 'back' | 'covered' | 'held' | 'ask' | 'noted';

export interface Tone {
  /** Pitches in Hz, one after the other. */
  readonly hertz: readonly number[];
  readonly noteS: number;
  /** Silence after each note. */
  readonly restS: number;
  readonly shape: 'triangle' | 'square';
  /** Peak of the wave, of 1. */
  readonly level: number;
}

/**
 * Fundamentals between 150 and 1000 Hz with overtones, and pulses of at least 0.1 s for what must be acted on: from
 * memory of IEC 60601-1-8, which speaks of other alarms; small loudspeakers and road noise ask for the same.
 */
export const TONES: Readonly<Record<ToneName, Tone>> = {
  coolant: { hertz: [880, 660, 880, 660], noteS: 0.2, restS: 0, shape: 'square', level: 0.5 },
  missed: { hertz: [587, 392], noteS: 0.24, restS: 0, shape: 'triangle', level: 0.5 },
  lost: { hertz: [330, 330, 330], noteS: 0.15, restS: 0.1, shape: 'triangle', level: 0.5 },
  back: { hertz: [330, 440], noteS: 0.12, restS: 0, shape: 'triangle', level: 0.35 },
  covered: { hertz: [523, 659, 784], noteS: 0.14, restS: 0, shape: 'triangle', level: 0.4 },
  held: { hertz: [659, 988], noteS: 0.09, restS: 0, shape: 'triangle', level: 0.4 },
  ask: { hertz: [784, 784], noteS: 0.08, restS: 0.08, shape: 'triangle', level: 0.3 },
  noted: { hertz: [988], noteS: 0.06, restS: 0, shape: 'triangle', level: 0.3 },
};

export const lengthOf = (tone: Tone): number => tone.hertz.length * (tone.noteS + tone.restS);
