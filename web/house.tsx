/** Handback itself, under Help: where the library is, and the end of the program, which asks while a drive is recorded. */
import { useSignal } from '@preact/signals';
import { useEffect } from 'preact/hooks';
import type { HouseView } from '../src/desk/house-api.ts';
import { Report } from './handbook.tsx';
import { get, post } from './http.ts';
import { attempt, ending, helpOpen, run } from './state.ts';
import { t } from './words.ts';

export function House() {
  const house = useSignal<HouseView | null>(null);
  const elsewhere = useSignal(false);
  useEffect(() => {
    void attempt(async () => {
      house.value = await get<HouseView | null>('/api/house');
      elsewhere.value = house.value === null;
    });
  }, []);
  if (elsewhere.value) return <p class="quiet">{t('house.elsewhere')}</p>;
  if (house.value === null) return null;
  const { version, library, licences } = house.value;
  return (
    <section aria-labelledby="house-h">
      <h3 id="house-h">{t('house.title')}</h3>
      <p>
        {t('house.version', { version })}{' '}
        {licences && (
          <a href="/api/house/licences" target="_blank" rel="noreferrer">
            {t('handbook.licences')}
          </a>
        )}
      </p>
      <p class="folder">{t('house.library', { folder: library.folder })}</p>
      {library.next !== null && <p role="status">{t('house.library-next', { folder: library.next })}</p>}
      {library.changeable ? (
        <Choose chosen={(view) => (house.value = view)} />
      ) : (
        <p class="quiet">{t('house.library-named')}</p>
      )}
      <Report />
      <Quit />
    </section>
  );
}

function Choose({ chosen }: { chosen: (view: HouseView) => void }) {
  const submit = (e: SubmitEvent) => {
    e.preventDefault();
    const folder = String(new FormData(e.currentTarget as HTMLFormElement).get('folder') ?? '').trim();
    if (folder !== '')
      void attempt(async () => chosen(await post<HouseView>('/api/house/library', { folder })));
  };
  return (
    <form class="fields" onSubmit={submit}>
      <label class="wide">
        {t('house.folder')}
        <input name="folder" autocomplete="off" spellcheck={false} maxLength={4096} />
      </label>
      <button type="submit">{t('house.choose')}</button>
    </form>
  );
}

function Quit() {
  const asking = useSignal(false);
  const quit = async () => {
    ending.value = 'asked'; // the line that is cut now is no trouble
    const done = await attempt(
      async () => void (await post('/api/house/quit', { endRecording: asking.value })),
    );
    ending.value = done ? 'over' : null;
    if (done) helpOpen.value = false;
  };
  const ask = () => {
    if (run.value) asking.value = true;
    else void quit();
  };
  if (!asking.value)
    return (
      <p class="actions">
        <button type="button" onClick={ask}>
          {t('house.quit')}
        </button>
      </p>
    );
  return (
    <div role="alert">
      <p>{t('house.quit-recording')}</p>
      <p class="actions">
        <button type="button" class="main" onClick={() => (asking.value = false)}>
          {t('house.stay')}
        </button>
        <button type="button" onClick={() => void quit()}>
          {t('house.quit-end')}
        </button>
      </p>
    </div>
  );
}
