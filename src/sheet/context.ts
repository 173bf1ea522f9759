/** What every part of a sheet needs: the words, the measures, and which run stands for before and for after. */
import type { Finding, SystemName, Verdict } from '../analysis/types.ts';
import type { Told } from '../core/says.ts';
import { de as german } from '../words/de/de.ts';
import { en as english } from '../words/en/en.ts';
import type { Measures } from '../words/measures.ts';
import { type Language, Words as Speaker } from '../words/words.ts';
import { type Html, html } from './html.ts';
import { Phrases } from './phrases.ts';
import type { SheetInput, SheetOptions, SheetRun } from './types.ts';
import { de } from './words/de.ts';
import { en, type Words } from './words/en.ts';

const LANGUAGES: Readonly<Record<SheetOptions['language'], Language>> = { en: english, de: german };
const WORDS: Readonly<Record<SheetOptions['language'], Words>> = { en, de };

export class Context {
  readonly input: SheetInput;
  readonly options: SheetOptions;
  readonly words: Words;
  readonly measures: Measures;
  readonly #phrases: Phrases;
  readonly #words: Speaker;
  /** The run before the work; null when there is none. */
  readonly before: SheetRun | null;
  /** The last run after the work; of a single run without a job, that run. Null: nothing is proved yet. */
  readonly after: SheetRun | null;
  /** The run whose findings the sheet is about. */
  readonly subject: SheetRun | null;

  constructor(input: SheetInput, options: SheetOptions) {
    this.input = input;
    this.options = options;
    this.words = WORDS[options.language];
    this.#words = new Speaker(LANGUAGES[options.language], options.units, input.timeZone);
    this.measures = this.#words.measures;
    this.#phrases = new Phrases(en.phrases, this.words.phrases, this.measures);
    const { runs } = input;
    const purpose = (run: SheetRun) => run.meta?.purpose ?? 'other';
    this.before = runs.find((r) => purpose(r) === 'baseline') ?? null;
    const proving = runs.findLast((r) => ['verification', 'come-back'].includes(purpose(r)));
    const last = runs.findLast((r) => purpose(r) !== 'baseline');
    this.after = proving ?? last ?? null;
    this.subject = this.after ?? this.before;
  }

  /** A sentence of the analysis; what the catalogue does not know stays English and says so to readers aloud. */
  say(told: Told): Html {
    if (typeof told !== 'string') return html`${this.#words.say(told)}`;
    const said = this.#phrases.say(told);
    return said.known || this.words.lang === 'en'
      ? html`${said.text}`
      : html`<span lang="en">${said.text}</span>`;
  }

  /** The same for places where no markup can stand: alternative texts of drawings. */
  sayText(told: Told): string {
    return typeof told === 'string' ? this.#phrases.say(told).text : this.#words.say(told);
  }

  /** In English units and language alike: which sentences the catalogue does not know. */
  knows(told: Told): boolean {
    return typeof told !== 'string' || this.#phrases.say(told).known;
  }

  title(finding: Finding): string {
    if (finding.id === 'boost.above-hand-over' && this.#turbochargerAlone())
      return this.words.turbochargerHigh;
    const known = this.plain(finding.id);
    if (known) return known.title;
    const [system = '', ...rest] = finding.id.split('.');
    const name = rest.join('.');
    return system === 'sensor' ? this.words.otherSensor(this.signal(name)) : finding.id;
  }

  #turbochargerAlone(): boolean {
    return this.input.runs.some((r) => r.judgement.findings.some((f) => f.id === 'boost.low-speed'));
  }

  plain(id: string): Words['findings'][keyof Words['findings']] | null {
    return Object.hasOwn(this.words.findings, id) ? this.words.findings[id as keyof Words['findings']] : null;
  }

  signal(name: string): string {
    return Object.hasOwn(this.words.signals, name) ? this.words.signals[name]! : name;
  }

  purpose(run: SheetRun): string {
    return this.words.purposes[run.meta?.purpose ?? 'other'] ?? this.words.purposes.other!;
  }

  runName(run: SheetRun): string {
    const at = run.meta?.startedAt;
    return at ? this.words.tech.runOf(this.purpose(run), this.measures.dateTime(at)) : run.name;
  }

  /** "31 min", "45 s": a span of time for reading, not for reckoning. */
  span(seconds: number): string {
    return this.measures.span(seconds);
  }

  /** Findings of the subject run and of the fault memory. */
  get findings(): readonly Finding[] {
    return [...(this.subject?.judgement.findings ?? []), this.input.codes.finding];
  }
}

/** Verdict of a system by its findings, in the way the judgement sums them up. Null: the system has none. */
export function verdictOf(system: SystemName, context: Context): Verdict | null {
  const summed = context.subject?.judgement.systems;
  if (summed && (system === 'boost' || system === 'coolant'))
    return context.findings.some((f) => f.system === system) ? summed[system].verdict : null;
  const own = context.findings.filter((f) => f.system === system);
  if (own.length === 0) return null;
  if (own.some((f) => f.verdict === 'fault shown')) return 'fault shown';
  return own.every((f) => f.verdict === 'shown good') ? 'shown good' : 'not shown';
}

/** Signals whose temperature readings are differences, by finding id. */
export const isDifference = (id: string): boolean => id === 'coolant.jumps' || id.startsWith('sensor.');
