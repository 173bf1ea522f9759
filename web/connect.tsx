/** Connect: is the car talking; each failure with its next step. Without an adapter the simulated car comes first. */
import { useSignal } from '@preact/signals';
import { useEffect } from 'preact/hooks';
import type { ConnectRequest, PortView } from '../src/desk/api.ts';
import { Search } from './connect-search.tsx';
import { get, post, sentenceOf } from './http.ts';
import { Phone } from './phone.tsx';
import {
  attempt,
  connected,
  connection,
  daemon,
  go,
  jobAtHand,
  run,
  say,
  startOpen,
  trySimulated,
} from './state.ts';
import { number, signalText } from './words.ts';

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
    say('The search is stopped. Nothing is connected.');
  };

  const link = connection.value;
  const searching = busy.value !== null || link?.phase === 'connecting';
  const failed = link?.search?.failed;
  const trouble = searching
    ? null
    : failed
      ? `${failed.sentence}${failed.hint ? ` ${failed.hint}` : ''}`
      : failure.value;
  const adapters = (ports.value ?? []).some((p) => p.likelyAdapter);
  const practice = <Practice key="practice" />;
  const plugged = (
    <section key="ports" aria-labelledby="ports-h">
      <h2 id="ports-h">Adapters on this laptop</h2>
      {portTrouble.value && <p class="trouble">{portTrouble.value}</p>}
      {ports.value === null && <p>Looking…</p>}
      {ports.value?.length === 0 && !portTrouble.value && (
        <p>
          No serial port is there. Plug the adapter in, wait for its light, and look again. If it stays away,
          try another cable or socket.
        </p>
      )}
      {ports.value !== null && ports.value.length > 0 && !adapters && (
        <p>None of these looks like an adapter. Plug it in, wait for its light, and look again.</p>
      )}
      <ul class="ports">
        {ports.value?.map((p) => (
          <li key={p.path}>
            <div>
              <b>{p.path}</b> <span class="quiet">{p.identity}</span>
              <br />
              {p.likelyAdapter
                ? 'Probably a diagnostic adapter'
                : 'Seldom an adapter: a port of the laptop itself'}
            </div>
            <button type="button" disabled={searching} onClick={() => join({ link: p.path })}>
              {busy.value === p.path ? 'Trying…' : 'Connect'}
            </button>
          </li>
        ))}
      </ul>
      <button type="button" onClick={look}>
        Look again
      </button>
      <ByHand join={join} />
    </section>
  );
  return (
    <div class="page connect">
      <h1>Is the car talking?</h1>
      <p class="lead" role="status">
        {searching ? (
          <>
            Trying to reach the car…{' '}
            <button type="button" onClick={stop}>
              Stop the search
            </button>
          </>
        ) : failed ? (
          'Not yet.'
        ) : (
          (link?.sentence ?? 'Looking for Handback…')
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
      <Phone />
    </div>
  );
}

function Practice() {
  const busy = useSignal(false);
  const demos = daemon.value?.demos ?? [];
  if (demos.length === 0) return null;
  const start = async (link: string, title: string) => {
    busy.value = true;
    await trySimulated(link, title);
    busy.value = false;
  };
  return (
    <section aria-labelledby="practice-h">
      <h2 id="practice-h">No car at hand? Try it on the simulated car</h2>
      <p class="quiet">
        {jobAtHand.value
          ? 'One click connects and leads back to the job, to record in it.'
          : 'One click connects, starts a recording and shows the drive.'}{' '}
        Every value in it is made up.
      </p>
      <ul class="demos">
        {demos.map((d, i) => (
          <li key={d.link}>
            <button
              type="button"
              class={i === 0 ? 'main' : ''}
              disabled={busy.value}
              onClick={() => start(d.link, d.title)}
            >
              {i === 0 ? 'Try it on the simulated car' : 'Try this one'}
            </button>
            <span>{d.title}</span>
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
      <summary>Another port, dialect or speed</summary>
      <form onSubmit={submit} class="fields">
        <label>
          Port
          <input name="link" autocomplete="off" spellcheck={false} maxLength={300} required />
        </label>
        <label>
          Dialect
          <select name="adapter">
            <option value="auto">find out</option>
            <option value="at">AT-command text</option>
            <option value="slcan">serial-line CAN</option>
          </select>
        </label>
        <label>
          Speed, bit/s
          <input name="baud" type="number" min="300" max="4000000" placeholder="find out" />
        </label>
        <button type="submit">Connect</button>
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
      <h2 id="talking-h">{link.simulated ? 'Simulated car' : 'Car'}</h2>
      <dl>
        <Row name="Port" value={link.simulated ? 'inside Handback' : link.link} />
        <Row name="Adapter" value={adapter?.identity ?? null} />
        <Row
          name="Bus"
          value={adapter ? `${adapter.bus}${adapter.baud ? `, line at ${adapter.baud} bit/s` : ''}` : null}
        />
        <Row name="Vehicle identification" value={vehicle?.vin ?? null} />
        <Row
          name="Control units"
          value={vehicle ? vehicle.controlUnits.join(', ') || 'none answered' : null}
        />
        <Row
          name="Speed"
          value={
            health.roundTripMs
              ? `${number(health.samplesPerS)} samples a second, round trip ${number(health.roundTripMs.p50)} ms`
              : null
          }
        />
        <Row name="Signals" value={link.signals.map(signalText).join(', ') || null} />
      </dl>
      {link.silent.length > 0 && (
        <>
          <h3>Stopped answering</h3>
          <ul class="missing">
            {link.silent.map((s) => (
              <li key={s.signals.join()}>
                <b>{s.signals.map(signalText).join(', ') || 'a scale'}</b>: {s.why}
              </li>
            ))}
          </ul>
        </>
      )}
      {link.slower.length > 0 && (
        <p>
          Slower than wanted, the link carries no more:{' '}
          {link.slower
            .filter((s) => s.signals.length > 0)
            .map((s) => `${s.signals.map(signalText).join(', ')} ${s.perS} of ${s.wantedPerS} a second`)
            .join('; ')}
          .
        </p>
      )}
      {link.missing.length > 0 && (
        <>
          <h3>Not offered by this car</h3>
          <ul class="missing">
            {link.missing.map((m) => (
              <li key={m.signal}>
                <b>{signalText(m.signal)}</b>: {m.cost}
              </li>
            ))}
          </ul>
        </>
      )}
      <p class="actions">
        {run.value ? (
          <button type="button" class="main" onClick={() => go('drive')}>
            To the drive
          </button>
        ) : (
          connected.value && (
            <>
              {job && (
                <button type="button" class="main" onClick={() => go('jobs', job.id)}>
                  Back to the job: {job.vehicle || 'vehicle not named'}
                </button>
              )}
              <button type="button" class={job ? '' : 'main'} onClick={() => (startOpen.value = true)}>
                {job ? 'Record without a job' : 'Start recording'}
              </button>
            </>
          )
        )}
        {!run.value && (
          <button type="button" onClick={() => attempt(async () => void (await post('/api/disconnect')))}>
            Disconnect
          </button>
        )}
      </p>
    </section>
  );
}

function Row({ name, value }: { name: string; value: string | null }) {
  return (
    <div>
      <dt>{name}</dt>
      <dd>{value ?? <span class="quiet">not known</span>}</dd>
    </div>
  );
}
