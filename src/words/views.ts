/** What judging produces, as it travels to the page and to scripts: statements spelt out, with `says` beside them. */
import type * as judged from '../analysis/types.ts';
import type * as compared from '../compare/types.ts';
import type { Spelled } from './spelled.ts';

export type Finding = Spelled<judged.Finding>;
export type Verdict = Finding['verdict'];
export type Comparison = Spelled<compared.Comparison>;
export type RegionComparison = Comparison['overall'][number];
export type Shift = Comparison['tipIn'];
export type RunTraces = Comparison['runs'][number];
export type Judgement = Spelled<judged.Judgement>;
export type LiveView = Spelled<judged.LiveView>;
export type Spoken = Spelled<judged.Spoken>;
export type Leg = Spelled<judged.Leg>;
export type Ask = Spelled<judged.Ask>;
