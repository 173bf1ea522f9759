/**
 * What became of trouble codes from one snapshot to the next. Silence is never taken for absence: a code is gone
 * only where the same control unit answered the same question again without it.
 */
import { CODE_STATES, type CodeChange, type CodeState } from '../core/snapshot.ts';
import { codeSays } from './dtc.ts';

/** What is compared of a snapshot, so that this layer needs no other. */
export interface CodesOfUnits {
  readonly units: readonly ({ readonly ecu: string } & {
    readonly [S in CodeState]: readonly { readonly code: string }[];
  })[];
  /** Sentences naming services that nobody answered, e.g. "pending codes (07)". */
  readonly unanswered: readonly string[];
}

/**
 * @param snapshots in order of time, at least two; the first is "before", the last "after"
 * @returns one entry a code and control unit, in order of unit and code
 */
export function codeChanges(snapshots: readonly CodesOfUnits[]): CodeChange[] {
  const first = snapshots[0];
  const last = snapshots.at(-1);
  if (!first || !last || snapshots.length < 2) return [];
  const seen = new Map<string, { ecu: string; code: string }>();
  for (const snapshot of snapshots)
    for (const unit of snapshot.units)
      for (const state of CODE_STATES)
        for (const { code } of unit[state]) seen.set(`${unit.ecu} ${code}`, { ecu: unit.ecu, code });
  return [...seen.values()]
    .sort((a, b) => (`${a.ecu} ${a.code}` < `${b.ecu} ${b.code}` ? -1 : 1))
    .map(({ ecu, code }) => {
      const lists = snapshots.map((s) => statesOf(s, ecu, code));
      const before = lists[0]!;
      const after = lists.at(-1)!;
      return { ecu, code, text: codeSays(code), before, after, change: changeOf(snapshots, lists, ecu) };
    });
}

function changeOf(
  snapshots: readonly CodesOfUnits[],
  lists: readonly (readonly CodeState[])[],
  ecu: string,
): CodeChange['change'] {
  /** Whether the snapshot would have shown a code that stood in these lists. */
  const asked = (i: number, states: readonly CodeState[]): boolean =>
    states.every((state) => answered(snapshots[i]!, ecu, state));
  const end = lists.length - 1;
  const seenAt = lists.findIndex((states) => states.length > 0);
  const latest = lists[lists.findLastIndex((states) => states.length > 0)]!;
  if (lists[end]!.length === 0) return asked(end, latest) ? 'gone' : 'not told';
  if (seenAt === end) return asked(0, latest) ? 'new' : 'not told';
  const away = lists.some((states, i) => i > seenAt && states.length === 0 && asked(i, lists[seenAt]!));
  return away ? 'back' : 'still';
}

/** In which lists the code stands. */
export const statesOf = (snapshot: CodesOfUnits, ecu: string, code: string): CodeState[] =>
  CODE_STATES.filter((state) =>
    snapshot.units.some((u) => u.ecu === ecu && u[state].some((c) => c.code === code)),
  );

function answered(snapshot: CodesOfUnits, ecu: string, state: CodeState): boolean {
  return (
    snapshot.units.some((u) => u.ecu === ecu) && !snapshot.unanswered.some((name) => name.startsWith(state))
  );
}
