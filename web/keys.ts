/** One key, one meaning; nothing happens while someone types or with Ctrl, Alt or Meta held. */
import { toggleSound } from './sound.ts';
import { go, helpOpen, keysOn, mark, pan, place, run, setTheme, theme, toggleFollow, zoom } from './state.ts';

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
  { keys: ['Q'], shown: 'Q', text: 'sound off or on; hush the coolant alarm for a minute', act: toggleSound },
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
    if (e.ctrlKey || e.altKey || e.metaKey || e.repeat || !keysOn.value) return;
    if (document.querySelector('dialog[open]')) return;
    if (e.target instanceof Element && e.target.closest('input:not([type=checkbox]), textarea, select'))
      return;
    const pressed = e.key.toUpperCase();
    const found = KEYS.find((k) => k.keys.includes(pressed));
    if (!found) return;
    e.preventDefault();
    found.act();
  });
}
