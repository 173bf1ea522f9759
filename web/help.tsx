/** The keys, shown with `?`. */
import { useEffect, useRef } from 'preact/hooks';
import { KEYS } from './keys.ts';
import { helpOpen, keysOn, setKeysOn } from './state.ts';

export function HelpDialog() {
  const dialog = useRef<HTMLDialogElement>(null);
  useEffect(() => {
    if (helpOpen.value) dialog.current?.showModal();
    else dialog.current?.close();
  }, [helpOpen.value]);
  return (
    <dialog ref={dialog} aria-labelledby="help-h" onClose={() => (helpOpen.value = false)}>
      <h2 id="help-h">Keys</h2>
      <dl class="keys">
        {KEYS.map((k) => (
          <div key={k.shown}>
            <dt>
              <kbd>{k.shown}</kbd>
            </dt>
            <dd>{k.text}</dd>
          </div>
        ))}
      </dl>
      <p>
        In the strips: wheel or drag to zoom, double click to follow again.
        <br />
        Rising tone: shown good or leg driven. Falling: missed. Two tones again and again: coolant; stop where
        it is safe.
      </p>
      <label class="check">
        <input type="checkbox" checked={keysOn.value} onChange={(e) => setKeysOn(e.currentTarget.checked)} />{' '}
        Single keys work
      </label>
      <p class="actions">
        <button type="button" class="main" onClick={() => (helpOpen.value = false)}>
          Close
        </button>
      </p>
    </dialog>
  );
}
