/**
 * The ear of the page: plays the tones, speaks where the machine has a voice, keeps the coolant alarm ringing until
 * it is acknowledged. Quiet means fine; whether this page can sound at all is said on the page.
 */
import { signal } from '@preact/signals';
import type { LiveView } from '../src/words/views.ts';
import { type AlarmPhase, Announcer, CoolantAlarm, type Message, PRIORITY } from './announcer.ts';
import { keep, kept } from './kept.ts';
import { play } from './play.ts';
import { run, say, view } from './state.ts';
import { lengthOf, TONES, type ToneName } from './tones.ts';
import { language, t, told } from './words.ts';

const RING_EVERY_MS = 2500;
const WARN_EVERY_MS = 15_000;
const PUMP_MS = 200;
/** Whatever the volume: a coolant alarm that nobody hears is none. */
const ALARM_VOLUME = 0.7;
const MS_A_LETTER = 65;

export type SoundMode = 'on' | 'tones' | 'off';
const MODES: readonly SoundMode[] = ['on', 'tones', 'off'];
export const soundMode = signal<SoundMode>(kept('sound', MODES, 'on'));
/** 1 to 10. */
export const volume = signal(Number(kept('volume', [...'123456789', '10'], '7')));
/** The browser lets a page sound only after it was touched once (autoplay rule). */
export const awake = signal(false);
export const voice = signal<'unknown' | 'there' | 'none'>('unknown');
/** Of several tabs in one browser one sounds, so that nothing is said twice; null: it is not known yet which. */
export const mine = signal<boolean | null>(navigator.locks ? null : true);
export const alarm = signal<AlarmPhase>('off');
/** What was said last, for the eye and for screen readers. */
export const said = signal<string | null>(null);

const announcer = new Announcer();
const coolant = new CoolantAlarm();
let rangMs = Number.NEGATIVE_INFINITY;
let warnedMs = Number.NEGATIVE_INFINITY;
let audio: AudioContext | null = null;
let quietPath: GainNode | null = null;
let loudPath: GainNode | null = null;

export function startSound(): void {
  addEventListener('pointerdown', wake);
  addEventListener('keydown', wake);
  view.subscribe(() => pump());
  setInterval(pump, PUMP_MS);
  findVoice();
  void takeTurns();
}

function wake(): void {
  if (typeof AudioContext === 'undefined') return;
  if (!audio) {
    audio = new AudioContext();
    quietPath = new GainNode(audio);
    loudPath = new GainNode(audio);
    quietPath.connect(audio.destination);
    loudPath.connect(audio.destination);
    setVolume(volume.peek());
    audio.onstatechange = () => (awake.value = audio?.state === 'running');
  }
  if (audio.state !== 'running') void audio.resume().then(() => (awake.value = audio?.state === 'running'));
  else awake.value = true;
}

/** Only voices of this machine: others would send what is said to somebody else's computer. */
function findVoice(): void {
  if (!('speechSynthesis' in window)) {
    voice.value = 'none';
    return;
  }
  const look = () => (voice.value = localVoice() ? 'there' : 'none');
  speechSynthesis.addEventListener?.('voiceschanged', look);
  language.subscribe(look);
  setTimeout(look, 1500); // lists come late
}

function localVoice(): SpeechSynthesisVoice | null {
  const speaks = (v: SpeechSynthesisVoice) => v.lang.toLowerCase().split(/[-_]/)[0] === language.value;
  const own = speechSynthesis.getVoices().filter((v) => v.localService && speaks(v));
  return own.find((v) => v.default) ?? own[0] ?? null;
}

const LOCK = 'handback.sound';

/** Holds the lock until the tab closes or another one takes over. */
function sounds(options: LockOptions): Promise<unknown> {
  const hold = (got: Lock | null) => {
    mine.value = got !== null;
    return got && new Promise<never>(() => undefined);
  };
  return navigator.locks.request(LOCK, options, hold).catch(() => {
    mine.value = false;
  });
}

async function takeTurns(): Promise<void> {
  if (!navigator.locks) return; // a page from another machine has none, and is alone in its browser as a rule
  await sounds({ ifAvailable: true });
  for (;;) await sounds({}); // another tab has it, or took over: wait until it closes
}

/** Makes this tab the one that sounds. */
export function soundHere(): void {
  wake();
  if (navigator.locks) void sounds({ steal: true });
}

export function setVolume(next: number): void {
  volume.value = Math.min(10, Math.max(1, Math.round(next)));
  keep('volume', String(volume.value));
  // Loudness is heard in ratios: each step is about 3 dB.
  const gain = 10 ** ((volume.value - 10) * 0.15);
  if (quietPath) quietPath.gain.value = gain;
  if (loudPath) loudPath.gain.value = Math.max(ALARM_VOLUME, gain);
}

export function cycleSound(): void {
  soundMode.value = MODES[(MODES.indexOf(soundMode.value) + 1) % MODES.length]!;
  keep('sound', soundMode.value);
  say(modeText());
  if (soundMode.value !== 'on') stopSpeaking();
}

export function modeText(): string {
  if (soundMode.value === 'off') return t('sound.off');
  if (mine.value === false) return t('sound.elsewhere-short');
  if (!awake.value) return t('sound.waits');
  if (soundMode.value === 'tones') return t('sound.tones');
  return t(voice.value === 'none' ? 'sound.no-voice' : 'sound.on');
}

export function tell(...messages: readonly Message[]): void {
  for (const m of messages) announcer.push(m, performance.now());
  if (messages.length > 0) pump();
}

export function repeatLast(): void {
  const sentence = announcer.last ?? t('sound.nothing-said');
  say(sentence);
  if (canSpeak()) speak(sentence, 0);
}

export function acknowledge(): void {
  if (coolant.phase === 'off') return;
  const before = coolant.phase;
  alarm.value = coolant.acknowledge(performance.now());
  if (before === 'ringing') stopSpeaking();
}

export function silence(): void {
  coolant.reset();
  alarm.value = 'off';
}

/** Called often and by everything that comes in, since a hidden tab's timers run late. */
function pump(): void {
  const nowMs = performance.now();
  watchCoolant(nowMs);
  const sounding = announcer.next(nowMs, lengthMs);
  if (!sounding) return;
  const { tone, sentence, cut } = sounding;
  if (sentence) said.value = sentence;
  if (!mine.value) return;
  const urgent = tone === 'coolant';
  if (cut) stopSpeaking();
  if (soundMode.value === 'off' && !urgent) return;
  const toneMs = tone ? tones(tone) : 0;
  if (sentence && (urgent || canSpeak())) speak(sentence, toneMs);
}

function watchCoolant(nowMs: number): void {
  const c = view.peek()?.coolant ?? null;
  const known = c !== null && c.valueC !== null && c.state !== 'no data';
  const hot = known ? c.state === 'climbing' || c.valueC! >= c.limitC : null;
  if (run.peek() === null) coolant.reset();
  alarm.value = coolant.step(hot, c?.valueC ?? null, nowMs);
  if (alarm.value !== 'ringing' || nowMs - rangMs < RING_EVERY_MS) return;
  rangMs = nowMs;
  const warn = nowMs - warnedMs >= WARN_EVERY_MS;
  if (warn) warnedMs = nowMs;
  announcer.push(
    {
      tone: 'coolant',
      sentence: warn ? warning(c) : null,
    },
    nowMs,
  );
}

/** A climb is told with what to do; what is only at the limit is told so here. */
function warning(c: LiveView['coolant'] | null): string {
  const sentence = c ? told(c, 'sentence') : t('alarm.too-hot');
  return c?.state === 'climbing' ? sentence : `${sentence} ${t('alarm.stop-short')}`;
}

function lengthMs({ tone, sentence }: { tone: ToneName | null; sentence: string | null }): number {
  return (
    (tone ? lengthOf(TONES[tone]) * 1000 : 0) +
    (sentence && canSpeak() ? 400 + sentence.length * MS_A_LETTER : 0)
  );
}

/** @returns how long it takes, ms */
function tones(name: ToneName): number {
  if (audio?.state !== 'running') return 0;
  play(audio, PRIORITY[name] === 3 ? loudPath! : quietPath!, TONES[name], audio.currentTime + 0.01);
  return lengthOf(TONES[name]) * 1000;
}

const canSpeak = () => soundMode.value === 'on' && voice.value === 'there';

function speak(sentence: string, afterMs: number): void {
  const chosen = voice.value === 'there' ? localVoice() : null;
  if (!chosen) return;
  const words = new SpeechSynthesisUtterance(sentence);
  words.voice = chosen;
  words.lang = chosen.lang;
  words.volume = Math.max(0.3, volume.value / 10);
  setTimeout(() => speechSynthesis.speak(words), afterMs);
}

function stopSpeaking(): void {
  if ('speechSynthesis' in window) speechSynthesis.cancel();
}
