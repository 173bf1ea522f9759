/** What the pulls of a drive have given a region's finding, by what the finding itself still asks for. */
import { isSays } from '../../core/says.ts';
import type { Given } from '../given.ts';
import { say } from '../leg-says.ts';
import type { Finding } from '../types.ts';
import { lacksOf, type RegionEvidence } from './evidence.ts';
import { TAUGHT_PULLS } from './needs.ts';

/** What the vehicle does not give. */
const SIGNALS: ReadonlySet<string> = new Set(['boost.need.map', 'boost.need.rpm', 'boost.need.demand']);
/** Nothing to hold the pulls against: they may yet teach, and are counted as the finding asks for them. */
const TO_TEACH: ReadonlySet<string> = new Set([
  'boost.need.baseline-pulls',
  'boost.need.baseline-engagements',
]);

/** @param late every signal that comes has come by now */
export function regionGiven(r: RegionEvidence, finding: Finding, late: boolean): Given {
  const { verdict, needs } = finding;
  const id = isSays(needs) ? needs.id : '';
  const pulls = TO_TEACH.has(id) ? r.driven : r.useful;
  const [first, last] = [pulls[0], pulls.at(-1)];
  const over = { fromS: first ? first.fromUs / 1e6 : null, toS: last ? last.toUs / 1e6 : null };
  if (verdict !== 'not shown') return { share: 1, left: null, ...over };
  if (SIGNALS.has(id)) return { share: 0, left: late ? say('leg.left.signal') : null, over: late, ...over };
  if (id === 'boost.need.demand-quicker')
    return { share: 0, left: late ? say('leg.left.findings') : null, over: late, ...over };
  const n = pulls.length;
  const more = TO_TEACH.has(id) ? toTeach(r) : id === 'boost.need.pulls' ? Number(needs!.args?.pulls) : null;
  if (more === 0) return { share: 1, left: null, ...over };
  if (more === null)
    return {
      share: 0,
      left: say(id === 'boost.need.repair-first' ? 'leg.left.repair' : 'leg.left.findings'),
      over: true,
      ...over,
    };
  const { fromRpm, toRpm } = needs!.args as { fromRpm: number; toRpm: number };
  const missing = TO_TEACH.has(id) ? lacksOf(r.driven, r.region).through[0] : null;
  return {
    share: n / (n + more),
    left: n === 0 ? null : say('leg.left.pulls', { n, of: n + more }),
    how: say('leg.pull.how', missing ?? { fromRpm, toRpm }),
    ...over,
  };
}

function toTeach({ driven, region }: RegionEvidence): number {
  const { pulls, warm, through } = lacksOf(driven, region);
  const more = Math.max(pulls, TAUGHT_PULLS - driven.length);
  return more > 0 ? more : warm && through.length === 0 ? 0 : 1;
}
