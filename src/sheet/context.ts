/** What every part of a sheet needs: its words and measures, and which run stands for before and for after. */
import type { Finding, Leg, SystemName } from '../analysis/types.ts';
import { answerIn, markOfAnswer } from '../core/answers.ts';
import type { LanguageId } from '../core/languages.ts';
import type { Profile } from '../core/profile.ts';
import { type Says, sayer } from '../core/says.ts';
import type { SinceRow } from '../core/visit-says.ts';
import { codeSays } from '../j1979/dtc.ts';
import type { Observation } from '../job/job.ts';
import { de as german } from '../words/de/de.ts';
import { sheet as germanSheet } from '../words/de/sheet.ts';
import { en as english } from '../words/en/en.ts';
import type { measurements as englishMeasurements } from '../words/en/measurements.ts';
import { names } from '../words/en/names.ts';
import type { namesMore } from '../words/en/names-more.ts';
import { sheet as englishSheet } from '../words/en/sheet.ts';
import { titleId } from '../words/finding-text.ts';
import type { Measures } from '../words/measures.ts';
import type { Labels } from '../words/statements.ts';
import { type Language, Words } from '../words/words.ts';
import { type Html, html } from './html.ts';
import { notedBack, type SinceRuns, sinceVisit } from './since.ts';
import type { SheetInput, SheetOptions, SheetRun } from './types.ts';
import { provingRun, type ShownInWhole, systemVerdict } from './whole.ts';

/** The sheet's own words are kept apart from those of all faces, so that the page need not carry them. */
const SPOKEN: Readonly<Record<LanguageId, Language>> = {
  en: {
    ...english,
    messages: { ...english.messages, ...englishSheet },
  },
  de: { ...german, messages: { ...german.messages, ...germanSheet } },
};
const ASKED_OF_HEATER = ['cabin heat idle', 'cabin heat 2000 rpm'] as const;

const VENT = { 'cabin heat idle': 'vent-idle', 'cabin heat 2000 rpm': 'vent-2000' } as const;

type SheetSays = Labels<typeof englishSheet & typeof englishMeasurements & typeof names & typeof namesMore>;
const say = sayer<SheetSays>();
export type SheetWord = keyof SheetSays;

export class Context {
  readonly input: SheetInput;
  readonly options: SheetOptions;
  readonly lang: string;
  readonly measures: Measures;
  /** All of the reader's words, for rooms below that say a thing alike on page and sheet. */
  readonly words: Words;
  /** Without those of another car: what that did says nothing of this one. */
  readonly ownRuns: readonly SheetRun[];
  /** The run before the work; null when there is none. */
  readonly before: SheetRun | null;
  /** The last run after the work; of a single run without a job, that run. Null: nothing is proved yet. */
  readonly after: SheetRun | null;
  /** The run whose findings the sheet is about. */
  readonly subject: SheetRun | null;
  /** What is the same, better, worse or new since the visit before; empty where the car did not come back. */
  readonly since: readonly SinceRow[];
  /** What was noted of the visit that the sheet is about: of a car that came back, what was noted then. */
  readonly notes: readonly Observation[];

  constructor(input: SheetInput, options: SheetOptions, language: Language = SPOKEN[options.language]) {
    this.input = input;
    this.options = options;
    this.words = new Words(language, options.units, input.timeZone);
    this.lang = language.lang;
    this.measures = this.words.measures;
    const { runs } = input;
    const purpose = (run: SheetRun) => run.meta?.purpose ?? 'other';
    this.after = provingRun(runs, purpose);
    this.ownRuns = runs.filter((r) => !this.after || sameCar(r, this.after));
    this.before = this.ownRuns.find((r) => purpose(r) === 'baseline') ?? null;
    this.subject = this.after ?? this.before;
    const { job, codes } = input;
    const back = sinceRuns(runs, input.comparison);
    this.since = job ? sinceVisit(job, back, codes.read) : [];
    this.notes = (job?.observations ?? []).filter(this.cameBack ? notedBack(back, codes.read) : () => true);
  }

  /** Words of the sheet itself. */
  readonly t = <Id extends SheetWord>(
    id: Id,
    ...args: Record<never, never> extends SheetSays[Id] ? [] : [args: SheetSays[Id]]
  ): string => this.words.say(say(id, ...(args as [SheetSays[Id]])));

  /** The words of an id of a group, null when there are none. */
  readonly known = (group: string, id: string): string | null => this.words.known(`${group}.${id}`);

  /** The words of an id of a group, the id itself when there are none. */
  readonly name = (group: string, id: string): string => this.known(group, id) ?? id;

  /** What a room below says. */
  say(told: Says): Html {
    return html`${this.words.say(told)}`;
  }

  title(finding: Finding): string {
    if (finding.id === 'codes.after' && this.input.codes.after?.when === 'come-back')
      return this.t('tech.codesBack');
    const known = this.words.known(titleId(finding.id, this.#judged));
    if (known !== null) return known;
    const [system = '', ...rest] = finding.id.split('.');
    return system === 'sensor' ? this.t('sheet.otherSensor', { signal: rest.join('.') }) : finding.id;
  }

  get #judged(): readonly Finding[] {
    return this.input.runs.flatMap((r) => r.judgement.findings);
  }

  /** What a customer reads of a finding; null when that has no words. */
  plain(kind: 'good' | 'fault' | 'open', id: string): string | null {
    const { induction } = this.profile;
    // A belt-driven compressor alone owes its boost at all engine speeds.
    if (induction === 'supercharger' && id === 'boost.clutch-band')
      return this.known(`plain-${kind}`, 'boost.belt');
    if (induction === undefined && kind === 'open' && id.startsWith('boost.'))
      return this.t('plain-open.boost.unknown');
    return this.known(`plain-${kind}`, id);
  }

  /** A mark in its maker's own words; one that was left as its key gives it, or answers a question, in the reader's. */
  markText(mark: { readonly key: string; readonly text: string }): string {
    const { id, answer } = answerIn(mark.text) ?? {};
    if (id && answer && markOfAnswer(id, answer) === mark.text && this.known('answer', answer) !== null)
      return `${this.name('ask.mark', id)}: ${this.name('answer', answer)}`;
    const given = `mark.${mark.key}` as keyof typeof names;
    return names[given] === mark.text ? this.name('mark', mark.key) : mark.text;
  }

  /** Makers' own codes are given no meaning: what they mean is the maker's to say. */
  meaning(code: string): string {
    return this.words.say(codeSays(code));
  }

  /** As it was when the run was recorded: that one judged it. */
  get profile(): Profile {
    return this.subject?.meta?.profile ?? this.input.job?.profile ?? {};
  }

  /** A leg that asks the person in the car something is driven only when it was answered. */
  driven(leg: Leg): boolean {
    return (
      leg.covered && (leg.leg !== 'heater-check' || ASKED_OF_HEATER.every((kind) => this.#answered(kind)))
    );
  }

  /** The car came back: what was noted, measured and answered before is no answer now. */
  get cameBack(): boolean {
    return this.since.length > 0;
  }

  /** What was noted on the drive that the sheet is about or since; what was noted before it, or not checked, is no answer to it. */
  answers(): Observation[] {
    const { id, startedAt = '' } = this.subject?.meta ?? {};
    return this.notes.filter(
      (o) => o.answer !== 'not checked' && (o.runId === null ? o.at >= startedAt : o.runId === id),
    );
  }

  /** Felt and noted, or measured at the vent. */
  #answered(kind: (typeof ASKED_OF_HEATER)[number]): boolean {
    const { measurements = [] } = this.input.job ?? {};
    const times = this.cameBack ? ['come-back'] : ['during', 'after'];
    return (
      this.answers().some((o) => o.kind === kind) ||
      measurements.some((m) => m.what === VENT[kind] && m.value !== null && times.includes(m.when))
    );
  }

  /** The last drive of the same purpose before this one that shows a fault in what this one does not; null: there is none. */
  earlierFault(system: SystemName): SheetRun | null {
    const { after } = this;
    const faulty = (run: SheetRun) =>
      systemVerdict(system, { judgement: run.judgement, findings: run.judgement.findings }) === 'fault shown';
    if (!after?.meta || faulty(after)) return null;
    const { purpose, startedAt } = after.meta;
    return (
      this.ownRuns.findLast(
        (r) => r.meta?.purpose === purpose && r.meta.startedAt < startedAt && faulty(r),
      ) ?? null
    );
  }

  purpose(run: SheetRun): string {
    return this.name('purpose', run.meta?.purpose ?? 'other');
  }

  runName(run: SheetRun): string {
    const { meta } = run;
    return meta ? this.t('tech.runOf', { purpose: meta.purpose, at: meta.startedAt }) : run.name;
  }

  get shown(): ShownInWhole {
    return { judgement: this.subject?.judgement ?? null, findings: this.findings };
  }

  /** Findings of the subject run and of the fault memory. */
  get findings(): readonly Finding[] {
    return [...(this.subject?.judgement.findings ?? []), this.input.codes.finding];
  }
}

/** A VIN that was not read tells no two cars apart. */
const sameCar = ({ meta: a }: SheetRun, { meta: b }: SheetRun): boolean =>
  !a?.vin || !b?.vin || a.vin === b.vin;

function sinceRuns(runs: readonly SheetRun[], comparison: SheetInput['comparison']): SinceRuns {
  const back = runs.filter((r) => r.meta?.purpose === 'come-back');
  return {
    before: runs.findLast((r) => r.meta?.purpose === 'verification')?.judgement ?? null,
    now: back.at(-1)?.judgement ?? null,
    backAt: back[0]?.meta?.startedAt ?? null,
    backIds: new Set(back.flatMap((r) => r.meta?.id ?? [])),
    comparison: comparison?.comeBack ?? null,
  };
}
