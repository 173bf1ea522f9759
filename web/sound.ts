/** One tone per meaning: rising = done, falling = missed, two tones again and again = coolant, and only coolant. */
import { effect, signal } from '@preact/signals';
import type { Spoken } from '../src/analysis/types.ts';
import { keep, kept, view } from './state.ts';

/** The coolant alarm can be hushed for this long and no longer. */
const HUSH_MS = 60_000;
const REPEAT_MS = 2500;

export const soundOn = signal(kept('sound', ['on', 'off'], 'on') === 'on');
/** The browser lets a page sound only after it was touched once. */
export const awake = signal(false);
export const alarm = signal(false);
const hushedUntilMs = signal(0);

let audio: AudioContext | null = null;

export function startSound(): void {
  const wake = () => {
    audio ??= typeof AudioContext === 'undefined' ? null : new AudioContext();
    void audio?.resume().then(() => {
      awake.value = audio?.state === 'running';
    });
  };
  addEventListener('pointerdown', wake);
  addEventListener('keydown', wake);
  effect(() => {
    const coolant = view.value?.coolant;
    const hot = coolant !== undefined && coolant.valueC !== null && coolant.valueC >= coolant.limitC;
    const on = coolant?.state === 'climbing' || hot;
    if (on && !alarm.peek()) ring();
    alarm.value = on;
  });
  setInterval(() => {
    if (alarm.value) ring();
  }, REPEAT_MS);
}

/** Mutes everything but the coolant alarm; while that sounds, hushes it for a minute. */
export function toggleSound(): void {
  if (alarm.value && !hushed()) {
    hushedUntilMs.value = performance.now() + HUSH_MS;
    return;
  }
  soundOn.value = !soundOn.value;
  keep('sound', soundOn.value ? 'on' : 'off');
}

export function hushed(): boolean {
  return performance.now() < hushedUntilMs.value;
}

export function heard(what: Spoken | 'done'): void {
  if (what === 'done') {
    if (soundOn.value) tones([523, 784]);
    return;
  }
  const { system, verdict } = what.finding;
  if (verdict === 'fault shown' && system === 'coolant') {
    ring();
    speak(what.sentence);
    return;
  }
  if (!soundOn.value) return;
  if (verdict === 'fault shown') tones([587, 392]);
  else if (verdict === 'shown good') tones([523, 784]);
  speak(what.sentence);
}

function ring(): void {
  if (!hushed()) tones([880, 660, 880, 660], 'square');
}

function tones(hertz: readonly number[], shape: OscillatorType = 'triangle'): void {
  if (audio?.state !== 'running') return;
  const lengthS = 0.18;
  hertz.forEach((f, i) => {
    const at = audio!.currentTime + i * lengthS;
    const voice = new OscillatorNode(audio!, { type: shape, frequency: f });
    const volume = new GainNode(audio!, { gain: 0 });
    // Ramps instead of steps: a step clicks, and a click is a noise a technician would look for in the car.
    volume.gain.setValueAtTime(0, at);
    volume.gain.linearRampToValueAtTime(0.25, at + 0.02);
    volume.gain.linearRampToValueAtTime(0, at + lengthS);
    voice.connect(volume).connect(audio!.destination);
    voice.start(at);
    voice.stop(at + lengthS);
  });
}

function speak(sentence: string): void {
  if (!('speechSynthesis' in window)) return;
  speechSynthesis.cancel(); // the newest counts; a queue of old sentences would mislead
  speechSynthesis.speak(new SpeechSynthesisUtterance(sentence));
}
