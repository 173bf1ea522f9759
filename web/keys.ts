/** One key, one meaning; nothing happens while someone types or with Ctrl, Alt or Meta held. */
import { toggleFullScreen } from './screen.ts';
import { acknowledge, alarm, cycleSound, repeatLast, setVolume, volume } from './sound.ts';
import {
  attempt,
  back,
  chartWanted,
  go,
  helpOpen,
  keysOn,
  mark,
  pan,
  place,
  run,
  setTheme,
  showWhole,
  step,
  theme,
  toggleFollow,
  togglePin,
  zoom,
} from './state.ts';
import { chooseLanguage, MARKS, nextLanguage, t } from './words.ts';

interface Key {
  readonly keys: readonly string[];
  readonly shown: string;
  readonly text: () => string;
  readonly act: () => void;
  /** While it is held down. */
  readonly repeats?: boolean;
}

const markKey = (key: (typeof MARKS)[number]): Key => ({
  keys: [key],
  shown: key,
  text: () => t('key.mark', { what: t(`mark.${key}`) }),
  act: () => {
    if (run.value) void mark(key);
  },
});

const chart = (move: () => void): void => {
  move();
  chartWanted.value++;
};

export const KEYS: readonly Key[] = [
  ...MARKS.map(markKey),
  {
    keys: ['G'],
    shown: 'G',
    text: () => t('key.glance'),
    act: () => go(place.value.name === 'glance' ? 'drive' : 'glance'),
  },
  { keys: ['F'], shown: 'F', text: () => t('key.follow'), act: toggleFollow },
  { keys: ['ARROWLEFT'], shown: '←', text: () => t('key.earlier'), act: () => chart(() => pan(-0.2)) },
  { keys: ['ARROWRIGHT'], shown: '→', text: () => t('key.later'), act: () => chart(() => pan(0.2)) },
  {
    keys: [','],
    shown: ',',
    text: () => t('key.cursor-back'),
    act: () => chart(() => step(-0.01)),
    repeats: true,
  },
  {
    keys: ['.'],
    shown: '.',
    text: () => t('key.cursor-on'),
    act: () => chart(() => step(0.01)),
    repeats: true,
  },
  { keys: ['+', '='], shown: '+', text: () => t('key.less'), act: () => chart(() => zoom(0.5)) },
  { keys: ['-'], shown: '−', text: () => t('key.more'), act: () => chart(() => zoom(2)) },
  { keys: ['W'], shown: 'W', text: () => t('strips.whole'), act: () => chart(showWhole) },
  {
    keys: ['A'],
    shown: 'A',
    text: () => t('key.acknowledge'),
    act: acknowledge,
  },
  { keys: ['R'], shown: 'R', text: () => t('key.again'), act: repeatLast },
  { keys: ['Q'], shown: 'Q', text: () => t('key.sound'), act: cycleSound },
  { keys: ['U'], shown: 'U', text: () => t('key.louder'), act: () => setVolume(volume.value + 1) },
  { keys: ['J'], shown: 'J', text: () => t('key.quieter'), act: () => setVolume(volume.value - 1) },
  { keys: ['X'], shown: 'X', text: () => t('key.screen'), act: toggleFullScreen },
  { keys: ['C'], shown: 'C', text: () => t('key.pin'), act: togglePin },
  { keys: ['B'], shown: 'B', text: () => t('key.back'), act: back },
  { keys: ['D'], shown: 'D', text: () => t('key.theme'), act: () => setTheme(isNight() ? 'day' : 'night') },
  {
    keys: ['L'],
    shown: 'L',
    text: () => t('key.language'),
    act: () => void attempt(() => chooseLanguage(nextLanguage())),
  },
  { keys: ['1'], shown: '1', text: () => t('app.place.jobs'), act: () => go('jobs') },
  { keys: ['2'], shown: '2', text: () => t('app.place.connect'), act: () => go('connect') },
  { keys: ['3'], shown: '3', text: () => t('app.place.drive'), act: () => go('drive') },
  { keys: ['4'], shown: '4', text: () => t('app.place.findings'), act: () => go('findings') },
  { keys: ['5'], shown: '5', text: () => t('app.place.compare'), act: () => go('compare') },
  { keys: ['?'], shown: '?', text: () => t('key.help'), act: () => (helpOpen.value = true) },
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
    if (e.ctrlKey || e.altKey || e.metaKey || !keysOn.value) return;
    if (document.querySelector('dialog[open]')) return;
    if (isTyping(e)) return;
    const pressed = e.key.toUpperCase();
    const found = KEYS.find((k) => k.keys.includes(pressed));
    if (!found || (e.repeat && !found.repeats)) return;
    e.preventDefault();
    found.act();
  });
}

/** A dialog that has just closed keeps the focus until the next frame: nobody types into it any more. */
function isTyping(e: KeyboardEvent): boolean {
  const field =
    e.target instanceof Element && e.target.closest('input:not([type=checkbox]), textarea, select');
  return field instanceof Element && field.closest('dialog:not([open])') === null;
}
