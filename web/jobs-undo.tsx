/** Undo in place of "are you sure": the last thing done, for as long as nothing else was done. */
import { signal } from '@preact/signals';
import { attempt } from './state.ts';
import { t } from './words.ts';

const offered = signal<{ text: string; undo: () => Promise<void> } | null>(null);

export function offerUndo(text: string, undo: () => Promise<void>): void {
  offered.value = { text, undo };
}

export function UndoBar() {
  const offer = offered.value;
  if (!offer) return null;
  return (
    <p class="undo" role="status">
      {offer.text}
      <button
        type="button"
        onClick={() => {
          offered.value = null;
          void attempt(offer.undo);
        }}
      >
        {t('app.undo')}
      </button>
      <button type="button" aria-label={t('app.keep-so')} onClick={() => (offered.value = null)}>
        ×
      </button>
    </p>
  );
}
