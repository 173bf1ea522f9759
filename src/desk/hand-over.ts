/** What speaks against handing a car over. Pure: judged and read already. */
import { coolantCodes } from '../analysis/coolant/codes.ts';
import { withFinding } from '../analysis/judge.ts';
import type { Judgement } from '../analysis/types.ts';
import type { Doubt } from '../core/visit-says.ts';
import type { Job } from '../job/job.ts';
import type { SheetCodes } from '../sheet/types.ts';
import {
  failedByHand,
  faultsBeside,
  type ShownInWhole,
  SYSTEMS,
  systemVerdict,
  wholeOf,
} from '../sheet/whole.ts';
import type { HandOverView } from './jobs-api.ts';

/** Said of coolant as a fault. The end of the warm-up, and a rise that is only watched, are said too and are none of them. */
const ALARMS: ReadonlySet<string> = new Set([
  'coolant.climb',
  'coolant.jumps',
  'coolant.fan',
  'coolant.too-cold',
]);
/** The fault memory was not read, or not all of it answered. */
const UNREAD: ReadonlySet<string> = new Set(['codes.need.read', 'codes.need.unanswered']);

/** @param judgement of the run whose findings the sheet is about; null when nothing was driven after the work */
export function handOverNow(job: Job, judgement: Judgement | null, codes: SheetCodes): HandOverView {
  const cooling = coolantCodes(codes.before?.snapshot ?? null, codes.after?.snapshot ?? null);
  const judged = judgement && cooling ? withFinding(judgement, cooling) : judgement;
  const shown: ShownInWhole = { judgement: judged, findings: [...(judged?.findings ?? []), codes.finding] };
  const doubts: Doubt[] = [
    ...(judged === null ? ['no-drive' as const] : []),
    ...SYSTEMS.filter(
      (s) =>
        systemVerdict(s, shown) === 'fault shown' ||
        (s === 'coolant' && faultsBeside(shown, 'fan').length > 0),
    ).map((s): Doubt => `fault-${s}`),
    ...(faultsBeside(shown, 'sensor').length > 0 ? ['fault-sensor' as const] : []),
    ...(judged?.spoken.some((s) => ALARMS.has(s.finding)) ? ['coolant-alarm' as const] : []),
    ...(UNREAD.has(codes.finding.needs?.id ?? '') ? ['codes-not-read' as const] : []),
    ...(complains(job) ? ['complaint' as const] : []),
    ...(failedByHand(job) ? ['measured-fail' as const] : []),
  ];
  return { whole: wholeOf(shown, job), doubts };
}

/** By the last word on each complaint, and on the noise. */
function complains({ observations }: Job): boolean {
  const last = new Map(
    observations
      .filter((o) => o.kind === 'complaint' || o.kind === 'noise gone')
      .map((o) => [o.kind === 'complaint' ? o.text.trim() : o.kind, o.answer]),
  );
  return [...last].some(([, answer]) => answer === 'still there' || answer === 'no');
}
