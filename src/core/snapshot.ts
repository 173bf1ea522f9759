/** A code snapshot as it is kept: what every control unit said of codes, lamp, readiness and itself, at one time. */
import type { Says } from './says.ts';

/** The lists of trouble codes that a control unit keeps. */
export const CODE_STATES = ['stored', 'pending', 'permanent'] as const;
export type CodeState = (typeof CODE_STATES)[number];

export interface CodeMeaning {
  readonly text: string;
  /** Where the text comes from; null where nothing is known and nothing is guessed. */
  readonly source: 'from memory of SAE J2012' | null;
}

export interface MessageValue {
  /** Two hex digits: the PID; in service 06 the monitor, in service 09 the information type. */
  readonly pid: string;
  /** Catalogue name; null for what is no signal. */
  readonly signal: string | null;
  /** The name where values are named; null where there is none, `absent` then says why. */
  readonly value: number | string | null;
  readonly unit: string | null;
  /** Data bytes of the whole PID in hex. */
  readonly raw: string;
  readonly absent?: string;
}

export type Ignition = 'spark' | 'compression';

export interface Monitor {
  readonly name: string;
  readonly continuous: boolean;
  /** PID 01: fitted. PID 41: enabled for the rest of this drive. */
  readonly supported: boolean;
  readonly complete: boolean;
}

export interface MonitorStatus {
  /** PID 01 only; false and 0 in PID 41, which does not carry them. */
  readonly mil: boolean;
  readonly codes: number;
  readonly ignition: Ignition;
  /** Every monitor that the standard names for this kind of ignition. */
  readonly monitors: readonly Monitor[];
}

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

/** What became of a code from one snapshot to a later one. */
export interface CodeChange {
  readonly ecu: string;
  readonly code: string;
  /** What the code says. */
  readonly text: Says;
  /** In which lists it stood, in the first snapshot and in the last. */
  readonly before: readonly CodeState[];
  readonly after: readonly CodeState[];
  /**
   * gone: answered again, without it. new: was not there before. back: was away in between and is there again.
   * still: there throughout. not told: one of the two has no answer of that unit or list.
   */
  readonly change: 'gone' | 'new' | 'back' | 'still' | 'not told';
}
