/** Full screen, and a screen that stays awake while a drive is recorded. */
import { effect, signal } from '@preact/signals';
import { run, say } from './state.ts';
import { t } from './words.ts';

/** 'kept' while recording; 'refused' where the browser cannot, so that the page says what to set by hand. */
export const screenAwake = signal<'idle' | 'kept' | 'refused'>('idle');

let lock: WakeLockSentinel | null = null;

export function startScreen(): void {
  const recording = () => run.value !== null;
  effect(() => void (recording() ? hold() : release()));
  // The browser lets go whenever the page is hidden.
  document.addEventListener('visibilitychange', () => {
    if (!document.hidden && run.peek() !== null) void hold();
  });
}

async function hold(): Promise<void> {
  if (lock && !lock.released) return;
  try {
    // A page from another machine over plain HTTP has no such thing (Screen Wake Lock API: secure contexts only).
    lock = (await navigator.wakeLock?.request('screen')) ?? null;
    screenAwake.value = lock ? 'kept' : 'refused';
  } catch {
    screenAwake.value = 'refused';
  }
}

function release(): void {
  void lock?.release();
  lock = null;
  screenAwake.value = 'idle';
}

export function toggleFullScreen(): void {
  const done = document.fullscreenElement
    ? document.exitFullscreen()
    : document.documentElement.requestFullscreen?.();
  if (!done) say(t('screen.none'), true);
  else done.catch(() => say(t('screen.refused'), true));
}
