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
