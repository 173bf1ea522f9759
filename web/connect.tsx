/** Connect: is the car talking; each failure with its next step. Without an adapter the simulated car comes first. */
import { useSignal } from '@preact/signals';
import { useEffect } from 'preact/hooks';
import type { ConnectRequest, PortView } from '../src/desk/api.ts';
import { Search } from './connect-search.tsx';
import { get, post, sentenceOf } from './http.ts';
import { Phone } from './phone.tsx';
import { Receiver } from './receiver.tsx';
import {
  attempt,
  connected,
  connection,
  daemon,
  go,
  jobAtHand,
  readOnly,
  run,
  say,
  startOpen,
  trySimulated,
} from './state.ts';
import { name, number, signalsText, signalText, t, told } from './words.ts';

export function Connect() {
  const ports = useSignal<readonly PortView[] | null>(null);
  const portTrouble = useSignal<string | null>(null);
  const failure = useSignal<string | null>(null);
  const busy = useSignal<string | null>(null);
  const last = useSignal<ConnectRequest | null>(null);

  const look = async () => {
    try {
      ports.value = await get<PortView[]>('/api/ports');
      portTrouble.value = null;
    } catch (error) {
      portTrouble.value = sentenceOf(error);
      ports.value = [];
    }
  };
  useEffect(() => void look(), []);

  const join = async (request: ConnectRequest | null) => {
    if (!request) return;
    busy.value = request.link;
    last.value = request;
    failure.value = null;
    try {
      await post('/api/connect', request);
    } catch (error) {
      failure.value = sentenceOf(error);
    }
    busy.value = null;
  };
  const stop = async () => {
    await attempt(async () => void (await post('/api/disconnect')));
    failure.value = null;
    say(t('connect.stopped'));
  };

  const link = connection.value;
  const searching = busy.value !== null || link?.phase === 'connecting';
  const failed = link?.search?.failed;
  const trouble = searching
    ? null
    : failed
      ? [told(failed, 'sentence'), told(failed, 'hint')].filter(Boolean).join(' ')
      : failure.value;
  const adapters = (ports.value ?? []).some((p) => p.likelyAdapter);
  const practice = <Practice key="practice" />;
  const plugged = (
    <section key="ports" aria-labelledby="ports-h">
      <h2 id="ports-h">{t('connect.adapters')}</h2>
      {portTrouble.value && <p class="trouble">{portTrouble.value}</p>}
      {ports.value === null && <p>{t('app.looking')}</p>}
      {ports.value?.length === 0 && !portTrouble.value && <p>{t('connect.no-port')}</p>}
      {ports.value !== null && ports.value.length > 0 && !adapters && <p>{t('connect.no-adapter')}</p>}
      <ul class="ports">
        {ports.value?.map((p) => (
          <li key={p.path}>
            <div>
              <b>{p.path}</b> <span class="quiet">{p.identity}</span>
              <br />
              {t(p.likelyAdapter ? 'connect.likely' : 'connect.unlikely')}
            </div>
            <button type="button" disabled={searching} onClick={() => join({ link: p.path })}>
              {t(busy.value === p.path ? 'connect.trying' : 'connect.connect')}
            </button>
          </li>
        ))}
      </ul>
      <button type="button" onClick={look}>
        {t('connect.look-again')}
      </button>
      <ByHand join={join} />
    </section>
  );
  return (
    <div class="page connect">
      <h1>{t('connect.title')}</h1>
      <p class="lead" role="status">
        {searching ? (
          <>
            {t('connect.reaching')}{' '}
            <button type="button" onClick={stop}>
              {t('connect.stop')}
            </button>
          </>
        ) : failed ? (
          t('connect.not-yet')
        ) : (
          (link && told(link, 'sentence')) || t('drive.looking')
        )}
      </p>
      {trouble && (
        <p class="trouble" role="alert">
          {trouble}
        </p>
      )}
      {link && (
        <Search link={link} again={() => void join(last.value ?? (link.link ? { link: link.link } : null))} />
      )}
      {link && (link.phase === 'connected' || link.phase === 'lost') && <Talking />}
      {!connected.value && !searching && (adapters || failed ? [plugged, practice] : [practice, plugged])}
      <Receiver ports={ports.value ?? []} />
      <Phone />
    </div>
  );
}

function Practice() {
  const busy = useSignal(false);
  const demos = daemon.value?.demos ?? [];
  if (demos.length === 0 || readOnly.value) return null; // a practice drive is recorded, too
  const start = async (link: string, title: string) => {
    busy.value = true;
    await trySimulated(link, title);
    busy.value = false;
  };
  return (
    <section aria-labelledby="practice-h">
      <h2 id="practice-h">{t('connect.practice')}</h2>
      <p class="quiet">{t(jobAtHand.value ? 'connect.practice-job' : 'connect.practice-drive')}</p>
      <ul class="demos">
        {demos.map((d, i) => (
          <li key={d.link}>
            <button
              type="button"
              class={i === 0 ? 'main' : ''}
              disabled={busy.value}
              onClick={() => start(d.link, told(d, 'title'))}
            >
              {t(i === 0 ? 'drive.simulated' : 'connect.try-this')}
            </button>
            <span>{told(d, 'title')}</span>
          </li>
        ))}
      </ul>
    </section>
  );
}

/** For a port that the list does not know, such as a pseudo-terminal. */
function ByHand({ join }: { join: (request: ConnectRequest) => Promise<void> }) {
  const submit = (e: SubmitEvent) => {
    e.preventDefault();
    const form = new FormData(e.currentTarget as HTMLFormElement);
    const link = String(form.get('link') ?? '').trim();
    const baud = Number(form.get('baud'));
    if (link === '') return;
    const adapter = String(form.get('adapter')) as NonNullable<ConnectRequest['adapter']>;
    void join({ link, adapter, ...(baud > 0 ? { baud } : {}) });
  };
  return (
    <details>
      <summary>{t('connect.by-hand')}</summary>
      <form onSubmit={submit} class="fields">
        <label>
          {t('connect.port')}
          <input name="link" autocomplete="off" spellcheck={false} maxLength={300} required />
        </label>
        <label>
          {t('connect.dialect')}
          <select name="adapter">
            <option value="auto">{t('connect.find-out')}</option>
            {(daemon.value?.dialects ?? []).map((d) => (
              <option key={d.family} value={d.family}>
                {told(d, 'title')}
              </option>
            ))}
          </select>
        </label>
        <label>
          {t('connect.baud')}
          <input name="baud" type="number" min="300" max="4000000" placeholder={t('connect.find-out')} />
        </label>
        <button type="submit">{t('connect.connect')}</button>
      </form>
    </details>
  );
}

function Talking() {
  const link = connection.value!;
  const { adapter, vehicle, health } = link;
  const job = jobAtHand.value;
  return (
    <section aria-labelledby="talking-h" class="talking">
      <h2 id="talking-h">{t(link.simulated ? 'connect.simulated' : 'connect.car')}</h2>
      <dl>
        <Row name={t('connect.port')} value={link.simulated ? t('connect.inside') : link.link} />
        <Row name={t('connect.adapter')} value={adapter?.identity ?? null} />
        <Row
          name={t('connect.bus')}
          value={
            adapter?.baud
              ? t('connect.bus-at', { bus: name('bus', adapter.bus), baud: adapter.baud })
              : adapter && name('bus', adapter.bus)
          }
        />
        <Row name={t('connect.vin')} value={vehicle?.vin ?? null} />
        <Row
          name={t('connect.units')}
          value={vehicle ? vehicle.controlUnits.join(', ') || t('connect.none-answered') : null}
        />
        <Row
          name={t('connect.speed')}
          value={
            health.roundTripMs
              ? t('connect.pace', { perS: health.samplesPerS, ms: health.roundTripMs.p50 })
              : null
          }
        />
        <Row name={t('connect.signals')} value={signalsText(link.signals) || null} />
      </dl>
      {link.silent.length > 0 && (
        <>
          <h3>{t('connect.silent')}</h3>
          <ul class="missing">
            {link.silent.map((s) => (
              <li key={s.signals.join()}>
                <b>{signalsText(s.signals) || t('connect.a-scale')}</b>: {told(s, 'why')}
              </li>
            ))}
          </ul>
        </>
      )}
      {link.slower.length > 0 && (
        <p>
          {t('connect.slower', {
            list: link.slower
              .filter((s) => s.signals.length > 0)
              .map((s) =>
                t('connect.slower-one', {
                  what: signalsText(s.signals),
                  rate: plainly(s.perS),
                  wanted: plainly(s.wantedPerS),
                }),
              )
              .join('; '),
          })}
        </p>
      )}
      {link.missing.length > 0 && (
        <>
          <h3>{t('connect.missing')}</h3>
          <ul class="missing">
            {link.missing.map((m) => (
              <li key={m.signal}>
                <b>{signalText(m.signal)}</b>: {told(m, 'cost')}
              </li>
            ))}
          </ul>
        </>
      )}
      <p class="actions">
        {run.value ? (
          <button type="button" class="main" onClick={() => go('drive')}>
            {t('app.to-drive')}
          </button>
        ) : (
          connected.value && (
            <>
              {job && (
                <button type="button" class="main" onClick={() => go('jobs', job.id)}>
                  {t('connect.back-to-job', { vehicle: job.vehicle || t('app.unnamed') })}
                </button>
              )}
              {!readOnly.value && (
                <button type="button" class={job ? '' : 'main'} onClick={() => (startOpen.value = true)}>
                  {t(job ? 'connect.without-job' : 'start.title')}
                </button>
              )}
            </>
          )
        )}
        {!run.value && (
          <button type="button" onClick={() => attempt(async () => void (await post('/api/disconnect')))}>
            {t('connect.disconnect')}
          </button>
        )}
      </p>
    </section>
  );
}

/** A rate as it came, at most one decimal. */
const plainly = (perS: number) => number(perS, Number.isInteger(perS) ? 0 : 1);

function Row({ name, value }: { name: string; value: string | null }) {
  return (
    <div>
      <dt>{name}</dt>
      <dd>{value ?? <span class="quiet">{t('app.not-known')}</span>}</dd>
    </div>
  );
}
