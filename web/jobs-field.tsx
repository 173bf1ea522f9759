/**
 * A field of a job that loses no letter: what is typed stays shown and is kept in this browser until the daemon has it,
 * is saved on leaving the field and while one rests, and never overwrites what somebody else wrote without asking.
 */
import { useSignal, useSignalEffect } from '@preact/signals';
import { useEffect, useRef } from 'preact/hooks';
import { draftOf, dropDraft, keepDraft } from './drafts.ts';
import type { Part, Saved } from './jobs-part.ts';
import { line } from './state.ts';
import { t } from './words.ts';

/** A reading of what was typed that says what is wrong with it. */
export interface Wrong {
  readonly wrong: string;
}
const isWrong = (value: unknown): value is Wrong =>
  typeof value === 'object' && value !== null && 'wrong' in value;

export interface FieldProps<T> {
  readonly part: Pick<Part, 'view' | 'set'>;
  /** "complaint", "profile.fanOnC" */
  readonly field: string;
  readonly value: T;
  readonly label: string;
  readonly show: (value: T) => string;
  readonly parse: (text: string) => T | Wrong;
  /** Rows of a text of several lines. */
  readonly rows?: number;
  readonly most?: number;
  readonly numeric?: 'numeric' | 'decimal';
  /** The label is read aloud and not shown. */
  readonly bare?: boolean;
}

const REST_MS = 1500;
const AGAIN_MS = 3000;
const same = (a: unknown, b: unknown): boolean => JSON.stringify(a) === JSON.stringify(b);

type State = Saved | { readonly is: 'typed' | 'saving' };

export function Field<T>(props: FieldProps<T>) {
  const { field, value, label, show, rows, most, numeric, bare } = props;
  const page = props.part.view.job.id;
  const kept = useRef(draftOf(page, field)).current;
  /** What is shown in place of the job's value. */
  const typed = useSignal<string | null>(kept?.text ?? null);
  const state = useSignal<State>({ is: 'typed' });
  const was = useRef<T>(kept ? (kept.was as T) : value);
  const now = useRef(props);
  now.current = props;
  const busy = useRef(false);
  const focused = useRef(false);
  const timer = useRef<ReturnType<typeof setTimeout> | null>(null);
  /** In a browser that keeps nothing only this page does. */
  const unkept = useSignal(false);

  const after = (ms: number) => {
    if (timer.current) clearTimeout(timer.current);
    timer.current = setTimeout(() => void save(), ms);
  };
  const done = () => {
    if (timer.current) clearTimeout(timer.current);
    timer.current = null;
    dropDraft(page, field);
    if (!focused.current) typed.value = null;
  };
  const save = async (): Promise<void> => {
    const text = typed.value;
    if (text === null || busy.current || state.value.is === 'conflict') return;
    const next = now.current.parse(text);
    if (isWrong(next)) {
      state.value = { is: 'refused', why: next.wrong };
      return;
    }
    if (same(next, was.current)) {
      state.value = { is: 'typed' };
      return done();
    }
    busy.current = true;
    state.value = { is: 'saving' };
    const saved = await now.current.part.set(field, next, was.current);
    busy.current = false;
    state.value = saved;
    if (saved.is === 'lost') after(AGAIN_MS);
    if (saved.is !== 'saved') return;
    was.current = next;
    if (typed.value === text) return done();
    // Typed on meanwhile: that is another change, of what was just saved.
    unkept.value = !keepDraft(page, field, { text: typed.value ?? '', was: next });
    after(focused.current ? REST_MS : 0);
  };
  useEffect(() => {
    if (kept) void save(); // brought back: the daemon is to have it
    return () => {
      if (timer.current) clearTimeout(timer.current);
      void save();
    };
  }, []);
  useSignalEffect(() => {
    if (line.value === 'live' && state.peek().is === 'lost') void save();
  });

  const input = (text: string) => {
    if (typed.value === null) was.current = now.current.value;
    typed.value = text;
    unkept.value = !keepDraft(page, field, { text, was: was.current });
    if (state.value.is === 'refused') state.value = { is: 'typed' };
    after(REST_MS);
  };
  const leave = () => {
    focused.current = false;
    void save();
  };
  const shown = typed.value ?? show(value);
  const common = {
    value: shown,
    maxLength: most,
    'aria-invalid': state.value.is === 'refused',
    onFocus: () => {
      focused.current = true;
    },
    onBlur: leave,
    onInput: (e: { currentTarget: { value: string } }) => input(e.currentTarget.value),
  };
  const control = rows ? (
    <textarea rows={rows} {...common} aria-label={bare ? label : undefined} />
  ) : (
    <input
      {...common}
      class={numeric === 'decimal' ? 'number' : undefined}
      inputMode={numeric}
      autocomplete="off"
      aria-label={bare ? label : undefined}
    />
  );
  const mine = () => {
    was.current = now.current.value;
    state.value = { is: 'typed' };
    void save();
  };
  const theirs = () => {
    state.value = { is: 'typed' };
    typed.value = null;
    done();
  };
  const note = noteOf(state.value, unkept.value);
  return (
    <div class={`field${rows ? ' wide' : ''}`}>
      {bare ? (
        control
      ) : (
        // biome-ignore lint/a11y/noLabelWithoutControl: the control is the input or the text made above
        <label>
          {label}
          {control}
        </label>
      )}
      {note && (
        <p class="not-saved" role="status">
          {note}
        </p>
      )}
      {state.value.is === 'conflict' && (
        <div class="not-saved" role="status">
          <p>{t('field.conflict')}</p>
          <blockquote>{show(value) || t('field.empty')}</blockquote>
          <p class="actions">
            <button type="button" onClick={mine}>
              {t('field.mine')}
            </button>
            <button type="button" onClick={theirs}>
              {t('field.theirs')}
            </button>
          </p>
        </div>
      )}
    </div>
  );
}

function noteOf(state: State, unkept: boolean): string | null {
  if (state.is === 'lost') return t(unkept ? 'field.lost-unkept' : 'field.lost');
  if (state.is === 'refused') return t('field.refused', { why: state.why });
  return null;
}

/** What is typed for something that is not there yet, an observation or a caption: kept until it is used. */
export function useUnsent(page: string, field: string) {
  const text = useSignal(draftOf(page, field)?.text ?? '');
  const set = (next: string) => {
    text.value = next;
    if (next === '') dropDraft(page, field);
    else keepDraft(page, field, { text: next, was: null });
  };
  return {
    text,
    set,
    /** It was used: what was typed on behind it stays. */
    used: (sent: string) => {
      if (text.value.startsWith(sent)) set(text.value.slice(sent.length).trimStart());
    },
  };
}
