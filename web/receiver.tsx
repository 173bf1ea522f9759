/** Connect: a satellite receiver beside the adapter, for hills and ground speed. Never a must. */
import { useSignal } from '@preact/signals';
import type { PortView } from '../src/desk/api.ts';
import { post, sentenceOf } from './http.ts';
import { daemon, run } from './state.ts';
import { t, told } from './words.ts';

export function Receiver({ ports }: { ports: readonly PortView[] }) {
  const trouble = useSignal<string | null>(null);
  const receiver = daemon.value?.receiver ?? null;
  const use = async (port: string | null) => {
    trouble.value = null;
    try {
      await post('/api/receiver', { port });
    } catch (error) {
      trouble.value = sentenceOf(error);
    }
  };
  const submit = (e: SubmitEvent) => {
    e.preventDefault();
    const port = String(new FormData(e.currentTarget as HTMLFormElement).get('port') ?? '').trim();
    if (port !== '') void use(port);
  };
  return (
    <details class="receiver" open={receiver !== null}>
      <summary>{t('connect.receiver')}</summary>
      <p class="quiet">{t('connect.receiver-why')}</p>
      {trouble.value && (
        <p class="trouble" role="alert">
          {trouble.value}
        </p>
      )}
      {receiver && <p role="status">{told(receiver, 'sentence')}</p>}
      {run.value ? (
        <p>{t('connect.receiver-not-now')}</p>
      ) : receiver ? (
        <button type="button" onClick={() => void use(null)}>
          {t('connect.receiver-without')}
        </button>
      ) : (
        <form onSubmit={submit} class="fields">
          <label>
            {t('connect.receiver-port')}
            <input
              name="port"
              list="receiver-ports"
              autocomplete="off"
              spellcheck={false}
              maxLength={300}
              required
            />
          </label>
          <datalist id="receiver-ports">
            {ports.map((p) => (
              <option key={p.path} value={p.path}>
                {p.identity}
              </option>
            ))}
          </datalist>
          <button type="submit">{t('connect.receiver-use')}</button>
        </form>
      )}
    </details>
  );
}
