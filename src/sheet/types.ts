/** What a hand-over sheet is made from: judged, checked and thinned already. Plain data; rendering computes no finding. */

import type { PullOutcome } from '../analysis/boost/witness.ts';
import type { Finding, Judgement, Leg } from '../analysis/types.ts';
import type { Comparison } from '../compare/types.ts';
import type { LanguageId } from '../core/languages.ts';
import type { Says } from '../core/says.ts';
import type { Snapshot } from '../core/snapshot.ts';
import type { Job, SnapshotRef } from '../job/job.ts';
import type { RunMeta } from '../run/meta.ts';
import type { Points } from '../signal/thin.ts';
import type { UnitChoice } from '../words/measures.ts';

export interface SheetInput {
  /** Null: the sheet of a single run. */
  readonly job: Job | null;
  /** In order of time. */
  readonly runs: readonly SheetRun[];
  readonly codes: SheetCodes;
  readonly comparison: Comparison | null;
  /** As many as a sheet can carry; the others are counted. */
  readonly photos: { readonly shown: readonly SheetPhoto[]; readonly more: number };
  /** What could not be read, as sentences. */
  readonly troubles: readonly Says[];
  /** "handback 0.1.0" */
  readonly tool: string;
  /** ISO 8601. */
  readonly madeAt: string;
  /** IANA name, for the times of day. */
  readonly timeZone: string;
}

export interface Band {
  readonly t: readonly number[];
  readonly low: readonly number[];
  readonly high: readonly number[];
}

export interface SheetRun {
  /** Null for a bare capture or a table. */
  readonly meta: RunMeta | null;
  /** Folder or file name, without the path. */
  readonly name: string;
  readonly judgement: Judgement;
  /** What each pull came to, in order. */
  readonly pullsCame: readonly PullOutcome[];
  readonly legs: readonly Leg[];
  readonly series: Readonly<Record<string, Points>>;
  /** Expected boost of each pull, gauge kPa. */
  readonly expected: readonly Band[];
  /** The corridor as it was learned, °C; each entry holds until the next. */
  readonly corridor: readonly { readonly fromS: number; readonly lowC: number; readonly highC: number }[];
  readonly marks: readonly { readonly tS: number; readonly key: string; readonly text: string }[];
  readonly gaps: readonly { readonly fromS: number; readonly toS: number; readonly why: string }[];
  readonly conditions: Conditions;
  readonly check: SheetCheck;
}

/** As long as it was recorded, seconds; of a table or a recording that was not closed, to its last sample. */
export const lengthS = ({ meta, judgement }: Pick<SheetRun, 'meta' | 'judgement'>): number =>
  meta?.seconds ?? judgement.spanS;

/** Where nothing was recorded, but for stops with the key off. */
export function holesOf({ gaps, judgement }: Pick<SheetRun, 'gaps' | 'judgement'>): SheetRun['gaps'] {
  const stops = judgement.findings.flatMap((f) => f.evidence.filter((e) => e.text.id === 'link.key-off'));
  return gaps.filter((g) => !stops.some((s) => g.fromS < s.toS && s.fromS < g.toS));
}

/** Under which conditions a run was driven, as far as its samples tell. */
export interface Conditions {
  /** Integrated over the vehicle's own speed; holes are not bridged. */
  readonly distanceKm: number | null;
  readonly topSpeedKmh: number | null;
  readonly coolantC: { readonly start: number; readonly highest: number } | null;
  /** Readings above that highest which stood alone, both neighbours far below; null when there were none. */
  readonly coolantLone: { readonly n: number; readonly highestC: number } | null;
  readonly ambientC: readonly [number, number] | null;
  readonly intakeC: readonly [number, number] | null;
  /** The largest step of the intake air between neighbouring readings, °C, where no air outside makes it; else null. */
  readonly intakeLeapC: number | null;
  /** Lowest and highest that the vehicle told; else as the judge knows it. */
  readonly baroKpa: readonly [number, number] | null;
  readonly samples: number;
}

/** Is the capture as it was recorded? */
export interface SheetCheck {
  readonly ok: boolean;
  /** A table from elsewhere: nothing was written down when it was recorded that it could be held against. */
  readonly table: boolean;
  /** Of the capture file as it is now; null when it cannot be read. */
  readonly sha256: string | null;
  /** As it was written down when the run was closed; null while open, and where there is no run.json. */
  readonly recorded: string | null;
  readonly remarks: readonly Says[];
}

export interface DatedSnapshot {
  readonly when: SnapshotRef['when'];
  /** ISO 8601; null when not known. */
  readonly at: string | null;
  readonly snapshot: Snapshot;
}

export interface SheetPhoto {
  readonly caption: string;
  /** ISO 8601. */
  readonly at: string;
  readonly type: string;
  readonly base64: string;
}

export interface SheetCodes {
  /** All that were read, in order of time. */
  readonly read: readonly DatedSnapshot[];
  readonly before: DatedSnapshot | null;
  readonly after: DatedSnapshot | null;
  readonly finding: Finding;
}

export interface SheetOptions {
  readonly language: LanguageId;
  readonly units: UnitChoice;
  readonly hide: readonly Hidden[];
  readonly show: readonly Shown[];
  /** Written into the sheet for a PDF; null lets the printer decide. */
  readonly paper: 'A4' | 'Letter' | null;
}

/** Printed only when asked for: the highest speed of a drive can be held against its driver. */
export const SHOWN = ['speed'] as const;
export type Shown = (typeof SHOWN)[number];
export const HIDDEN = ['plate', 'vin'] as const;
export type Hidden = (typeof HIDDEN)[number];
