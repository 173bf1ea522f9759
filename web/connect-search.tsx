/** How far the search for a car got: four stages, what was tried, and at the one that failed what to do next. */
import type { ConnectionState, SearchStage, SearchView } from '../src/desk/api.ts';
import { Mark } from './verdict.tsx';
import { t, told } from './words.ts';

const STAGES: readonly SearchStage[] = ['port', 'adapter', 'vehicle', 'values'];

/** In the order in which they are worth trying (common practice, no source). */
const NEXT = {
  port: ['next.port.1', 'next.port.2', 'next.port.3'],
  adapter: ['next.adapter.1', 'next.adapter.2', 'next.adapter.3', 'next.adapter.4'],
  vehicle: ['next.vehicle.1', 'next.vehicle.2', 'next.vehicle.3', 'next.vehicle.4'],
  values: ['next.values.1'],
} as const satisfies Readonly<Record<SearchStage, readonly string[]>>;

export function Search({ link, again }: { link: ConnectionState; again: () => void }) {
  const { search } = link;
  if (!search || link.phase === 'connected' || link.phase === 'lost') return null;
  const at = STAGES.indexOf(search.stage);
  const { failed } = search;
  return (
    <section aria-labelledby="search-h" class="search">
      <h2 id="search-h">{t(failed ? 'search.failed' : 'search.looking')}</h2>
      <ol class="stages">
        {STAGES.map((stage, i) => (
          <li key={stage} class={i === at ? 'now' : ''}>
            <Mark verdict={i < at ? 'shown good' : i === at && failed ? 'fault shown' : 'not shown'} />
            <span>
              {t(`stage.${stage}`)}
              {i === at && !failed && <span class="quiet"> {t('search.trying')}</span>}
              {i === at && failed && <span class="quiet"> {t('search.here')}</span>}
            </span>
          </li>
        ))}
      </ol>
      {failed ? (
        <>
          <h3>{t('search.next')}</h3>
          <ul class="next-steps">
            {NEXT[search.stage].map((id) => (
              <li key={id}>{t(id)}</li>
            ))}
          </ul>
          <p class="actions">
            <button type="button" class="main" onClick={again}>
              {t('search.again')}
            </button>
          </p>
        </>
      ) : null}
      <Tries search={search} />
    </section>
  );
}

/** Said once: the search ends such a try in these words too. */
const NOTHING = 'nothing came back';

/** Newest first while it is looked for; afterwards folded up. */
function Tries({ search }: { search: SearchView }) {
  if (search.tries.length === 0) return null;
  const newest = [...search.tries].reverse();
  return (
    <details open={search.failed === null}>
      <summary>{t('search.tries', { n: search.tries.length })}</summary>
      <ul class="tries">
        {newest.map((tried, i) => (
          <li key={search.tries.length - i}>
            <b>{tried.what}</b>
            {tried.sent && ` · ${t('search.asked', { what: told(tried, 'sent') ?? '' })}`}
            {' · '}
            {tried.heard ? (
              <>
                {t('search.came')} <code>{tried.heard}</code>
              </>
            ) : (
              t(tried.result ? 'search.nothing' : 'search.nothing-yet')
            )}
            {tried.result && tried.result !== NOTHING && (
              <span class="quiet"> · {told(tried, 'result')}</span>
            )}
          </li>
        ))}
      </ul>
    </details>
  );
}
