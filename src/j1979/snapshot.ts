/** A code snapshot as it is kept: what every control unit said of codes, lamp, readiness and itself, at one time. */
import type { CodeMeaning } from './dtc.ts';
import type { MessageValue } from './message.ts';
import type { MonitorStatus } from './readiness.ts';

export interface UnitSnapshot {
  readonly ecu: string;
  readonly stored: readonly SnapshotCode[];
  readonly pending: readonly SnapshotCode[];
  readonly permanent: readonly SnapshotCode[];
  readonly mil: boolean | null;
  readonly readiness: MonitorStatus | null;
  /** Warm-ups, distance and time since codes were cleared, as far as the unit counts them. */
  readonly sinceCleared: readonly MessageValue[];
  readonly freezeFrame: readonly MessageValue[];
  readonly information: readonly MessageValue[];
  readonly monitorResults: readonly MessageValue[];
}

interface SnapshotCode extends CodeMeaning {
  readonly code: string;
}

export interface Snapshot {
  readonly schema: 'handback.codes/1';
  readonly vin: string | null;
  readonly units: readonly UnitSnapshot[];
  /** Services that nobody answered: absent is not the same as empty. */
  readonly unanswered: readonly string[];
  /** Why no freeze frame could be read though a code is stored; absent where one was, or where none is kept. */
  readonly frameNotRead?: FrameNotRead;
}

export interface FrameNotRead {
  /** Unasked: over that adapter there is no request for it of which nothing else could become. */
  readonly reason: 'unasked' | 'refused' | 'no answer';
  /** Of a refusal (ISO 14229-1). */
  readonly code: number | null;
}

/** How long ago codes were cleared, by what the control units say; null where none says it. */
export function sinceCleared(
  snapshot: Snapshot,
): { readonly distanceKm: number | null; readonly warmUps: number | null } | null {
  const km = least(snapshot, 'clear_km');
  const warmUps = least(snapshot, 'clear_warmups');
  return km === null && warmUps === null ? null : { distanceKm: km, warmUps };
}

/** Less than a drive: the engine has not once warmed up since (SAE J1979 counts warm-ups in PID 30; from memory). */
export const clearedRecently = (snapshot: Snapshot): boolean => sinceCleared(snapshot)?.warmUps === 0;

/** The unit that was cleared last decides. Snapshots of older versions do not say. */
function least(snapshot: Snapshot, signal: string): number | null {
  const all = snapshot.units
    .flatMap((u) => u.sinceCleared ?? [])
    .flatMap((v) => (v.signal === signal && typeof v.value === 'number' ? [v.value] : []));
  return all.length === 0 ? null : Math.min(...all);
}
