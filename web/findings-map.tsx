/** What a drive rules out, by engine speed and demand: a number where it does, and plainly nothing where it does not. */
import type { RunView } from '../src/desk/api.ts';
import type { Finding } from '../src/words/views.ts';
import { number, t } from './words.ts';

type Cell = RunView['map'][number];
type Excluded = NonNullable<Finding['excluded']>[number];

export function ExcludedMap({ cells, findings }: { cells: RunView['map']; findings: readonly Finding[] }) {
  const excluded = findings.flatMap((f) => f.excluded ?? []);
  if (cells.every((c) => c.state === 'empty') && excluded.length === 0) return null;
  const speeds = [...new Set(cells.map((c) => c.rpm[0]))].sort((a, b) => a - b);
  const demands = [...new Set(cells.map((c) => c.demandPct[0]))].sort((a, b) => b - a);
  const at = (rpm: number, demand: number) =>
    cells.find((c) => c.rpm[0] === rpm && c.demandPct[0] === demand);
  return (
    <section class="excluded" aria-labelledby="excluded-h">
      <h2 id="excluded-h">{t('found.excluded')}</h2>
      {/* biome-ignore lint/a11y/noNoninteractiveTabindex: a scrolling region must be reachable by keyboard */}
      <div class="scrolls" tabIndex={0}>
        <table>
          <thead>
            <tr>
              <th scope="col">{t('found.demand-rpm')}</th>
              {speeds.map((rpm) => (
                <th key={rpm} scope="col">
                  {number(rpm)}
                </th>
              ))}
            </tr>
          </thead>
          <tbody>
            {demands.map((demand) => (
              <tr key={demand}>
                <th scope="row">
                  {t('found.demand-from', { from: demand, to: at(speeds[0]!, demand)?.demandPct[1] ?? 100 })}
                </th>
                {speeds.map((rpm) => {
                  const cell = at(rpm, demand);
                  return cell ? <Field key={rpm} cell={cell} excluded={excluded} /> : <td key={rpm} />;
                })}
              </tr>
            ))}
          </tbody>
        </table>
      </div>
      <p class="quiet">{t('found.excluded-key')}</p>
    </section>
  );
}

function Field({ cell, excluded }: { cell: Cell; excluded: readonly Excluded[] }) {
  const [low, high] = cell.rpm;
  const own = excluded.filter(
    (e) => e.fromDemandPct === cell.demandPct[0] && e.fromRpm < high && e.toRpm > low,
  );
  if (cell.state === 'bad')
    return (
      <td class="bad">
        <span class="unseen">{t('found.missing')}</span>
      </td>
    );
  if (own.length === 0)
    return cell.state === 'empty' ? (
      <td class="empty-cell">
        <span class="unseen">{t('found.not-driven')}</span>
      </td>
    ) : (
      <td class="driven">
        <span aria-hidden="true">?</span>
        <span class="unseen">{t('found.driven')}</span>
      </td>
    );
  // The weakest claim of the field; only the speeds that it is made for are filled.
  const worst = Math.max(...own.map((e) => e.lossPct));
  const from = Math.max(low, Math.min(...own.map((e) => e.fromRpm)));
  const to = Math.min(high, Math.max(...own.map((e) => e.toRpm)));
  const share = (rpm: number) => `${(100 * (rpm - low)) / (high - low)}%`;
  return (
    <td class="ruled" style={{ '--from': share(from), '--to': share(to) }}>
      <b>{t('found.loss', { loss: worst })}</b>
      <span class="unseen">{t('found.loss-range', { from, to })}</span>
    </td>
  );
}
