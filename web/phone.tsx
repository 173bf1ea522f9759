/** The phone as a second screen: an invitation as a QR code when Handback listens on the network, else how to let it. */
import { useSignal } from '@preact/signals';
import { useEffect } from 'preact/hooks';
import type { InviteView, NetworkView } from '../src/desk/api.ts';
import { get, post } from './http.ts';
import { attempt } from './state.ts';
import { t } from './words.ts';

export function Phone() {
  const network = useSignal<NetworkView | null>(null);
  const invite = useSignal<{ urls: readonly string[]; path: string; size: number; validS: number } | null>(
    null,
  );
  useEffect(() => {
    get<NetworkView>('/api/network').then(
      (n) => (network.value = n),
      () => undefined, // the page says already that the daemon is away
    );
  }, []);
  if (!network.value) return null;
  const show = () =>
    attempt(async () => {
      const { urls, validS } = await post<InviteView>('/api/invite');
      const { encode } = await import('uqr'); // needed once in a while
      const { data, size } = encode(`${urls[0]}#/glance`, { border: 3 });
      const path = data
        .flatMap((row, y) => row.map((dark, x) => (dark ? `M${x} ${y}h1v1h-1z` : '')))
        .join('');
      invite.value = { urls, path, size, validS };
    });
  const { addresses } = network.value;
  return (
    <details class="phone">
      <summary>{t('phone.title')}</summary>
      {addresses.length === 0 ? (
        <p>
          {t('phone.laptop-only')} <code>npm start -- --host 0.0.0.0</code>
        </p>
      ) : (
        <>
          <p>{t('phone.how')}</p>
          <button type="button" onClick={show}>
            {t(invite.value ? 'phone.new-code' : 'phone.show-code')}
          </button>
          {invite.value && (
            <>
              <svg
                class="qr"
                viewBox={`0 0 ${invite.value.size} ${invite.value.size}`}
                role="img"
                aria-label={t('phone.code')}
              >
                <rect width={invite.value.size} height={invite.value.size} fill="#fff" />
                <path d={invite.value.path} fill="#000" />
              </svg>
              <p class="quiet">
                {t('phone.valid', { valid: invite.value.validS })}{' '}
                {invite.value.urls.map((u) => (
                  <span key={u} class="address">
                    {u}
                  </span>
                ))}
              </p>
            </>
          )}
        </>
      )}
    </details>
  );
}
