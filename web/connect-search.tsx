/** How far the search for a car got: four stages, what was tried, and at the one that failed what to do next. */
import type { ConnectionState, SearchStage, SearchView } from '../src/desk/api.ts';
import { Mark } from './verdict.tsx';

const STAGES: readonly (readonly [SearchStage, string])[] = [
  ['port', 'The port opens'],
  ['adapter', 'An adapter answers'],
  ['vehicle', 'The car answers'],
  ['values', 'Values come'],
];

/** In the order in which they are worth trying (common practice, no source). */
const NEXT: Readonly<Record<SearchStage, readonly string[]>> = {
  port: [
    'Plug the adapter into the laptop again and look again: the list says what is there now.',
    'Close other programs that use the port; one at a time may have it.',
    'On Linux your account must be allowed to open serial ports (often the group dialout).',
  ],
  adapter: [
    'Is it home in the car’s connector, its lamp lit? Most adapters are fed by the car.',
    'Is it this port? Unplug the adapter, look again, plug it in, look again: the new one is it.',
    'Another cable or socket; unplug it from car and laptop for ten seconds.',
    'Does its leaflet name a line speed? Give it below under “Another port, dialect or speed”.',
  ],
  vehicle: [
    'Ignition on; the engine may stay off. Wait five seconds, then try again.',
    'Push the adapter fully home in the connector.',
    'Unplug other devices from the car’s connector.',
    'Try it on a car that is known to answer: that tells adapter from car.',
  ],
  values: ['Leave the ignition on, then try again.'],
};

export function Search({ link, again }: { link: ConnectionState; again: () => void }) {
  const { search } = link;
  if (!search || link.phase === 'connected' || link.phase === 'lost') return null;
  const at = STAGES.findIndex(([stage]) => stage === search.stage);
  const { failed } = search;
  return (
    <section aria-labelledby="search-h" class="search">
      <h2 id="search-h">{failed ? 'How far it got' : 'Looking for the car'}</h2>
      <ol class="stages">
        {STAGES.map(([stage, text], i) => (
          <li key={stage} class={i === at ? 'now' : ''}>
            <Mark verdict={i < at ? 'shown good' : i === at && failed ? 'fault shown' : 'not shown'} />
            <span>
              {text}
              {i === at && !failed && <span class="quiet"> trying</span>}
              {i === at && failed && <span class="quiet"> here it stopped</span>}
            </span>
          </li>
        ))}
      </ol>
      {failed ? (
        <>
          <h3>Next</h3>
          <ul class="next-steps">
            {NEXT[search.stage].map((text) => (
              <li key={text}>{text}</li>
            ))}
          </ul>
          <p class="actions">
            <button type="button" class="main" onClick={again}>
              Try again
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
      <summary>What was tried ({search.tries.length})</summary>
      <ul class="tries">
        {newest.map((t, i) => (
          <li key={search.tries.length - i}>
            <b>{t.what}</b>
            {t.sent && <> · asked: {t.sent}</>}
            {' · '}
            {t.heard ? (
              <>
                came back: <code>{t.heard}</code>
              </>
            ) : (
              `${NOTHING}${t.result ? '' : ' yet'}`
            )}
            {t.result && t.result !== NOTHING && <span class="quiet"> · {t.result}</span>}
          </li>
        ))}
      </ul>
    </details>
  );
}
