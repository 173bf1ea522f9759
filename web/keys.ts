/** One key, one meaning; nothing happens while someone types or with Ctrl, Alt or Meta held. */
import { toggleFullScreen } from './screen.ts';
import { acknowledge, alarm, cycleSound, repeatLast, setVolume, volume } from './sound.ts';
import {
  back,
  go,
  helpOpen,
  keysOn,
  mark,
  pan,
  place,
  run,
  setTheme,
  theme,
  toggleFollow,
  togglePin,
  zoom,
} from './state.ts';

interface Key {
  readonly keys: readonly string[];
  readonly shown: string;
  readonly text: string;
  readonly act: () => void;
}

const markKey = (key: string, text: string): Key => ({
  keys: [key],
  shown: key,
  text,
  act: () => {
    if (run.value) void mark(key);
  },
});

export const KEYS: readonly Key[] = [
  markKey('N', 'mark: noise'),
  markKey('S', 'mark: smell'),
  markKey('H', 'mark: heater warm'),
  markKey('V', 'mark: vibration'),
  markKey('M', 'mark: look here'),
  {
    keys: ['G'],
    shown: 'G',
    text: "driver's glance and back",
    act: () => go(place.value.name === 'glance' ? 'drive' : 'glance'),
  },
  { keys: ['F'], shown: 'F', text: 'follow or hold the strips', act: toggleFollow },
  { keys: ['ARROWLEFT'], shown: '←', text: 'earlier', act: () => pan(-0.2) },
  { keys: ['ARROWRIGHT'], shown: '→', text: 'later', act: () => pan(0.2) },
  { keys: ['+', '='], shown: '+', text: 'less time', act: () => zoom(0.5) },
  { keys: ['-'], shown: '−', text: 'more time', act: () => zoom(2) },
  {
    keys: ['A'],
    shown: 'A',
    text: 'acknowledge the coolant alarm (also the space bar while it sounds)',
    act: acknowledge,
  },
  { keys: ['R'], shown: 'R', text: 'say the last sentence again', act: repeatLast },
  { keys: ['Q'], shown: 'Q', text: 'tones and voice, tones only, off', act: cycleSound },
  { keys: ['U'], shown: 'U', text: 'louder', act: () => setVolume(volume.value + 1) },
  { keys: ['J'], shown: 'J', text: 'quieter', act: () => setVolume(volume.value - 1) },
  { keys: ['X'], shown: 'X', text: 'full screen and back', act: toggleFullScreen },
  { keys: ['C'], shown: 'C', text: 'keep this time to compare with', act: togglePin },
  { keys: ['B'], shown: 'B', text: 'back to where you jumped from', act: back },
  { keys: ['D'], shown: 'D', text: 'day or night', act: () => setTheme(isNight() ? 'day' : 'night') },
  { keys: ['1'], shown: '1', text: 'Jobs', act: () => go('jobs') },
  { keys: ['2'], shown: '2', text: 'Connect', act: () => go('connect') },
  { keys: ['3'], shown: '3', text: 'Drive', act: () => go('drive') },
  { keys: ['4'], shown: '4', text: 'Findings', act: () => go('findings') },
  { keys: ['?'], shown: '?', text: 'this list', act: () => (helpOpen.value = true) },
];

export function isNight(): boolean {
  return (
    theme.value === 'night' || (theme.value === 'auto' && matchMedia('(prefers-color-scheme: dark)').matches)
  );
}

export function startKeys(): void {
  addEventListener('keydown', (e) => {
    // Whatever else is going on, the one key that answers the alarm works, and the space bar is the largest.
    if (e.key === ' ' && alarm.value === 'ringing' && !isTyping(e)) {
      e.preventDefault();
      return acknowledge();
    }
    if (e.ctrlKey || e.altKey || e.metaKey || e.repeat || !keysOn.value) return;
    if (document.querySelector('dialog[open]')) return;
    if (isTyping(e)) return;
    const pressed = e.key.toUpperCase();
    const found = KEYS.find((k) => k.keys.includes(pressed));
    if (!found) return;
    e.preventDefault();
    found.act();
  });
}

function isTyping(e: KeyboardEvent): boolean {
  return (
    e.target instanceof Element && e.target.closest('input:not([type=checkbox]), textarea, select') !== null
  );
}
