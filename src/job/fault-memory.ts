/** The fault memory over a visit: each code with its lists and its freeze frame, lamp and readiness in words. */
import { asIs, type Says } from '../core/says.ts';
import {
  type CodeChange,
  type CodeState,
  type FrameNotRead,
  type Snapshot,
  sinceCleared,
} from '../core/snapshot.ts';
import { say } from '../core/visit-says.ts';
import { codeChanges, statesOf } from '../j1979/code-changes.ts';
import { refusalOf } from '../j1979/negative.ts';

/** A value of a freeze frame, in the unit of the signal catalogue. */
export interface FrozenValue {
  readonly signal: string;
  readonly value: number;
  readonly unit: string;
}

export interface CodeRow {
  readonly ecu: string;
  readonly code: string;
  readonly text: Says;
  /** In which lists it stands, snapshot by snapshot. */
  readonly states: readonly (readonly CodeState[])[];
  /** From the first snapshot to the last; null with one alone. */
  readonly change: CodeChange['change'] | null;
  /** What the control unit kept when it stored this code, of the newest snapshot that has it; empty where none has. */
  readonly frozen: readonly FrozenValue[];
}

export interface MemoryTold {
  readonly lamp: Says;
  /** How many of the fitted monitors are complete, and which are not. */
  readonly readiness: Says;
  readonly cleared: Says;
  /** What no control unit answered; null when all did. */
  readonly unanswered: Says | null;
}

/** PID 02 of service 02 names the code that stored the frame (from memory of SAE J1979). */
const FRAME_CODE = '02';

/** @param read snapshots in order of time */
export function codeRows(read: readonly Snapshot[]): CodeRow[] {
  const [first] = read;
  if (!first) return [];
  // One alone is compared with itself: that finds its codes and no change.
  const changes = codeChanges(read.length > 1 ? read : [first, first]);
  return changes.map(({ ecu, code, text, change }) => ({
    ecu,
    code,
    text,
    states: read.map((s) => statesOf(s, ecu, code)),
    change: read.length > 1 ? change : null,
    frozen: read.toReversed().flatMap((s) => frameOf(s, ecu, code) ?? [])[0] ?? [],
  }));
}

/** A list of one frame, so that a snapshot without it is passed over. */
function frameOf(snapshot: Snapshot, ecu: string, code: string): [readonly FrozenValue[]] | null {
  const unit = snapshot.units.find(
    (u) => u.ecu === ecu && u.freezeFrame.some((v) => v.pid === FRAME_CODE && v.value === code),
  );
  if (!unit) return null;
  return [
    unit.freezeFrame.flatMap(({ signal, value, unit }) =>
      signal === null || typeof value !== 'number' ? [] : [{ signal, value, unit: unit ?? '1' }],
    ),
  ];
}

/** Null when no control unit says it. */
export function lampOn(snapshot: Snapshot): boolean | null {
  const said = snapshot.units.flatMap((u) => (u.mil === null ? [] : [u.mil]));
  return said.length === 0 ? null : said.includes(true);
}

export function memoryTold(snapshot: Snapshot): MemoryTold {
  const on = lampOn(snapshot);
  const { unanswered, frameNotRead } = snapshot;
  const open = [
    ...unanswered.map((service) => say('memory.service', { service })),
    ...(frameNotRead ? [frameTold(frameNotRead)] : []),
  ];
  return {
    lamp: say('memory.lamp', { lamp: on === null ? 'unknown' : on ? 'on' : 'off' }),
    readiness: readinessTold(snapshot),
    cleared: clearedTold(snapshot),
    unanswered: open.length === 0 ? null : say('memory.unanswered', { what: open }),
  };
}

const frameTold = ({ reason, code }: FrameNotRead): Says =>
  say('memory.frame', { reason, why: code === null ? asIs('') : refusalOf({ code }) });

function readinessTold(snapshot: Snapshot): Says {
  const fitted = snapshot.units.flatMap((u) => (u.readiness?.monitors ?? []).filter((m) => m.supported));
  if (fitted.length === 0) return say('memory.readiness-unknown');
  const open = [...new Set(fitted.filter((m) => !m.complete).map((m) => m.name))];
  const of = fitted.length;
  if (open.length === 0) return say('memory.readiness-complete', { of });
  return say('memory.readiness-open', {
    complete: fitted.filter((m) => m.complete).length,
    of,
    open: open.map((monitor) => say('memory.monitor', { monitor })),
  });
}

function clearedTold(snapshot: Snapshot): Says {
  const since = sinceCleared(snapshot);
  if (!since) return say('memory.cleared-unknown');
  const { distanceKm: km, warmUps } = since;
  if (km === null) return say('memory.cleared-warm-ups', { warmUps: warmUps! });
  return warmUps === null ? say('memory.cleared-km', { km }) : say('memory.cleared', { km, warmUps });
}
