/** Plays a tone into any audio context. */
import type { Tone } from './tones.ts';

const RAMP_S = 0.015;

export function play(audio: BaseAudioContext, into: AudioNode, tone: Tone, atS: number): void {
  tone.hertz.forEach((frequency, i) => {
    const from = atS + i * (tone.noteS + tone.restS);
    const to = from + tone.noteS;
    const voice = new OscillatorNode(audio, { type: tone.shape, frequency });
    const loud = new GainNode(audio, { gain: 0 });
    // Ramps instead of steps: a step clicks, and a click is a noise a technician would look for in the car.
    loud.gain.setValueAtTime(0, from);
    loud.gain.linearRampToValueAtTime(tone.level, from + RAMP_S);
    loud.gain.setValueAtTime(tone.level, to - RAMP_S);
    loud.gain.linearRampToValueAtTime(0, to);
    voice.connect(loud).connect(into);
    voice.start(from);
    voice.stop(to);
  });
}
