/** What the pulls of a drive have given a region's finding, by what the finding itself still asks for. */
import { isSays, type Says } from '../../core/says.ts';
import type { Given } from '../given.ts';
import { say } from '../leg-says.ts';
import type { Finding } from '../types.ts';
import type { RegionEvidence } from './evidence.ts';

/** What the vehicle does not give. */
const SIGNALS: ReadonlySet<string> = new Set(['boost.need.map', 'boost.need.rpm', 'boost.need.demand']);
/** Nothing to hold the pulls against: they may yet teach, and are counted as the finding asks for them. */
const TO_TEACH: ReadonlySet<string> = new Set([
  'boost.need.baseline',
  'boost.need.baseline-pulls',
  'boost.need.baseline-engagements',
]);
/** The pulls showed what they had to: another finding says it, and more of them are not asked for. */
const TOLD: ReadonlySet<string> = new Set(['boost.need.elsewhere', 'boost.need.repair-first']);
/** Why a leg that was ticked is open again. */
const WITHDRAWN: ReadonlyMap<string, Says> = new Map([
  ['boost.need.sensor', say('leg.left.sensor')],
  ['boost.need.sensor-said', say('leg.left.sensor')],
  ['boost.need.again', say('leg.left.doubted')],
  ['boost.need.left-out', say('leg.left.doubted')],
  ['boost.need.taken-back', say('leg.left.taken-back')],
  ['boost.need.untaught', say('leg.left.untaught')],
]);

/** What is asked for, without what else is said beside it. */
function askedBy(needs: Says | null): Says | null {
  const of = needs?.id === 'boost.need.told-otherwise' ? needs.args?.needs : needs;
  return isSays(of) ? of : null;
}

/**
 * @param late every signal that comes has come by now
 * @param ticked the pulls had been enough before
 */
export function regionGiven(r: RegionEvidence, finding: Finding, late: boolean, ticked: boolean): Given {
  const { verdict } = finding;
  const needs = askedBy(finding.needs);
  const id = needs?.id ?? '';
  const pulls = TO_TEACH.has(id) ? r.driven : TOLD.has(id) ? r.all : r.useful;
  const [first, last] = [pulls[0], pulls.at(-1)];
  const over = { fromS: first ? first.fromUs / 1e6 : null, toS: last ? last.toUs / 1e6 : null };
  if (verdict !== 'not shown') return { share: 1, left: null, ...over };
  if (SIGNALS.has(id)) return { share: 0, left: late ? say('leg.left.signal') : null, over: late, ...over };
  if (id === 'boost.need.demand-quicker')
    return { share: 0, left: late ? say('leg.left.findings') : null, over: late, ...over };
  const n = pulls.length;
  if (id === 'boost.need.baseline' || (TOLD.has(id) && n > 0)) return { share: 1, left: null, ...over };
  // A hill in town is not yet what the leg asks for: as many pulls as the finding names first.
  const named = id === 'boost.need.one-day' && !ticked ? Number(needs!.args?.pulls) : 0;
  if (r.driven.length < named) {
    const { fromRpm, toRpm } = needs!.args as { fromRpm: number; toRpm: number };
    const counted = { n: r.driven.length, of: named };
    const left = counted.n === 0 ? null : say('leg.left.pulls', counted);
    return { share: counted.n / named, left, how: say('leg.pull.how', { fromRpm, toRpm }), ...over };
  }
  const more = TO_TEACH.has(id) || id === 'boost.need.pulls' ? Number(needs!.args?.pulls) : null;
  if (more === null)
    return {
      share: 0,
      left: ticked ? (WITHDRAWN.get(id) ?? say('leg.left.differ')) : say('leg.left.findings'),
      over: true,
      ...over,
    };
  const { fromRpm, toRpm } = needs!.args as { fromRpm: number; toRpm: number };
  const counted = { n, of: n + more };
  return {
    share: n / (n + more),
    left: ticked ? say('leg.left.differ-pulls', counted) : n === 0 ? null : say('leg.left.pulls', counted),
    how: say('leg.pull.how', { fromRpm, toRpm }),
    ...over,
  };
}
