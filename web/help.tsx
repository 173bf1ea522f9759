/** The keys, shown with `?`. */
import { useSignal } from '@preact/signals';
import type { JSX } from 'preact';
import { useEffect, useRef } from 'preact/hooks';
import { LANGUAGES, type LanguageId } from '../src/core/languages.ts';
import { KEYS } from './keys.ts';
import { attempt, helpOpen, keysOn, setKeysOn } from './state.ts';
import { chooseLanguage, chooseUnits, language, speakOfMore, t, UNIT_CHOICES, units } from './words.ts';

export function HelpDialog() {
  const dialog = useRef<HTMLDialogElement>(null);
  useEffect(() => {
    if (helpOpen.value) dialog.current?.showModal();
    else dialog.current?.close();
  }, [helpOpen.value]);
  return (
    <dialog ref={dialog} aria-labelledby="help-h" onClose={() => (helpOpen.value = false)}>
      <h2 id="help-h">{t('help.title')}</h2>
      <dl class="keys">
        {KEYS.map((k) => (
          <div key={k.shown}>
            <dt>
              <kbd>{k.shown}</kbd>
            </dt>
            <dd>{k.text()}</dd>
          </div>
        ))}
      </dl>
      <p>
        {t('help.strips')}
        <br />
        {t('help.tones')}
      </p>
      <WordsAndUnits />
      <label class="check">
        <input type="checkbox" checked={keysOn.value} onChange={(e) => setKeysOn(e.currentTarget.checked)} />{' '}
        {t('help.single')}
      </label>
      {helpOpen.value && <Itself />}
      <p class="actions">
        <button type="button" class="main" onClick={() => (helpOpen.value = false)}>
          {t('app.close')}
        </button>
      </p>
    </dialog>
  );
}

/** Fetched when help is opened: a drive needs none of it. */
function Itself() {
  const part = useSignal<{ readonly Show: () => JSX.Element | null } | null>(null);
  useEffect(() => {
    Promise.all([import('./house.tsx'), import('./handbook.tsx'), speakOfMore()]).then(
      ([{ House }, { Handbook }]) => {
        part.value = {
          Show: () => (
            <>
              <Handbook />
              <House />
            </>
          ),
        };
      },
      () => undefined, // the daemon is gone; the page says so already
    );
  }, []);
  return part.value && <part.value.Show />;
}

function WordsAndUnits() {
  return (
    <fieldset class="fields words-and-units">
      <legend>{t('help.words')}</legend>
      <label>
        {t('help.language')}
        <select
          value={language.value}
          onChange={(e) => void attempt(() => chooseLanguage(e.currentTarget.value as LanguageId))}
        >
          {Object.entries(LANGUAGES).map(([id, own]) => (
            <option key={id} value={id} lang={id}>
              {own}
            </option>
          ))}
        </select>
      </label>
      {(['temperature', 'pressure', 'speed'] as const).map((of) => (
        <label key={of}>
          {t(`help.${of}`)}
          <select
            value={units.value[of]}
            onChange={(e) => chooseUnits({ ...units.value, [of]: e.currentTarget.value })}
          >
            {Object.entries(UNIT_CHOICES[of]).map(([id, text]) => (
              <option key={id} value={id}>
                {text}
              </option>
            ))}
          </select>
        </label>
      ))}
    </fieldset>
  );
}
