/** The driver's glance: is it recording, is coolant fine, did the last engagement hold, what next. Two seconds. */
import type { Verdict } from '../src/words/views.ts';
import { alarm } from './sound.ts';
import { connection, line, run, second, tape, view } from './state.ts';
import { Mark } from './verdict.tsx';
import { t, told } from './words.ts';

export function Glance() {
  return (
    <div class="glance">
      <h1 class="unseen">{t('app.place.glance')}</h1>
      <Line name={t('glance.coolant')} {...coolant()} />
      <Line name={t('glance.boost')} {...boost()} />
      <Line name={t('glance.next')} verdict={null} text={next()} bad={false} />
      <p class="glance-foot">
        <Beat />
        <a href="#/drive">{t('app.place.drive')}</a>
      </p>
    </div>
  );
}

const FRESH_READING_S = 3;

/**
 * Whether values come, by word, and a slow beat that stands still when they do not: quiet must be seen to mean fine.
 * @param brief the word only when something is wrong
 */
export function Beat({ brief = false }: { brief?: boolean }) {
  void second.value;
  const { arrivedMs } = tape.value;
  const fresh = arrivedMs > 0 && (performance.now() - arrivedMs) / 1000 < FRESH_READING_S;
  const alive = line.value === 'live' && run.value !== null && fresh;
  return (
    <span class={alive ? 'beat' : 'beat still'}>
      <span class={alive && second.value % 2 === 0 ? 'pulse on' : 'pulse'} aria-hidden="true" />
      {alive ? !brief && t('glance.recording') : stillness()}
    </span>
  );
}

function stillness(): string {
  if (line.value === 'cut') return t('glance.cut');
  if (!run.value) return t('glance.not-recording');
  return t(connection.value?.phase === 'connected' ? 'glance.no-new' : 'glance.lost');
}

interface Said {
  readonly verdict: Verdict | null;
  readonly text: string;
  readonly bad: boolean;
}

function Line({ name, verdict, text, bad }: Said & { name: string }) {
  return (
    <p class={bad ? 'glance-line bad' : 'glance-line'}>
      <span class="name">{name}</span>
      <span class={text.length > 14 ? 'what long' : 'what'}>
        {verdict && <Mark verdict={verdict} />} {text}
      </span>
    </p>
  );
}

function coolant(): Said {
  const c = view.value?.coolant;
  if (!c || c.valueC === null) return { verdict: 'not shown', text: t('glance.no-value'), bad: false };
  const bad = c.state === 'climbing' || c.valueC >= c.limitC || alarm.value === 'ringing';
  return {
    verdict: bad ? 'fault shown' : c.state === 'settled' ? 'shown good' : 'not shown',
    text: t('glance.at', { state: t(`coolant-state.${c.state}`), c: c.valueC }),
    bad,
  };
}

function boost(): Said {
  const last = view.value?.boost.last;
  if (!last || last.held === null) return { verdict: 'not shown', text: t('glance.not-yet'), bad: false };
  return last.held
    ? { verdict: 'shown good', text: t('glance.held'), bad: false }
    : { verdict: 'fault shown', text: t('glance.missed'), bad: true };
}

function next(): string {
  const seen = view.value;
  if (!seen) return '–';
  if (alarm.value === 'ringing' || alarm.value === 'acknowledged') return t('glance.stop');
  if (seen.coolant.tooHot) return t('glance.cool-first');
  if (seen.nextLeg) return told(seen.nextLeg, 'title');
  return t(seen.legs.every((l) => l.covered) ? 'glance.all-driven' : 'glance.nothing-more');
}
